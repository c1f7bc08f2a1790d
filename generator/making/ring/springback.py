r"""What wire does when it comes off the mandrel.

A round wire of radius r is bent to the curvature 1 / R (R to the middle of the wire). Plane
sections stay plane, so a fibre at the height y above the middle is strained by y / R. Up to the
yield strain e_0, at the height c = e_0 R, it is elastic; beyond, it hardens as

    s = E' b (y / (0.1 R))^n,

E' being the modulus with which the wire unbends again (:mod:`ringwright.metals.flow`), b its flow
stress over that at a strain of a tenth, and l E' the modulus with which it was bent first.
The section is 2 sqrt(r^2 - y^2) wide at y. With I = pi r^4 / 4 and u = (y / r)^2 both parts of
the moment are beta functions, complete up to the surface and incomplete up to c:

    M / (E' I) = l / R  I_w(3/2, 3/2)
                 + 8 b / (pi r) (10 r / R)^n B(1 + n/2, 3/2) (1 - I_w(1 + n/2, 3/2)),

w = (c / r)^2 and I_w the regularised incomplete beta function. Let go, the wire unbends
elastically by that much:

    R0 / R1 = 1 - M R0 / (E' I),

R1 being the radius after springback. Without hardening (n = 0, l = 1) and with all of the section
plastic it is 1 - 16 / (3 pi) b R0 / r: the plastic moment is 1.70 times the elastic one. The same
steps for a sheet of thickness t, whose section is equally wide everywhere, give Gardiner's R0 / R1
= 4 x^3 - 3 x + 1 with x = R0 s / (E t) (F. J. Gardiner, Trans. ASME 79, 1957, as in sheet-metal
handbooks).

Left out: that fibres inside are bent shorter and sharper than the formula of a slender bar has it
(by up to half a per cent of the springback, as the tests' fibre model tells), and
that some give way again before the wire has come to rest. Trial rings set them right with all else.
"""

from __future__ import annotations

import math

from ringwright.base.errors import BadInput
from ringwright.base.sizes import format_mm
from ringwright.metals.flow import REFERENCE, Flow

# Rings that spring open to more than double are none.
_LEAST_KEPT = 0.5


def plastic_moment_nmm(wire_mm: float, stress_mpa: float) -> float:
    """Bending moment at which a round wire gives way altogether, N mm: d^3 s / 6.

    It is also the torque that winding takes at the mandrel, before friction and the pull on
    the wire: a turn of the mandrel by an angle bends so much wire that the work is moment
    times angle.
    """
    return wire_mm**3 * stress_mpa / 6.0


def relaxed_inner_mm(mandrel_mm: float, wire_mm: float, flow: Flow) -> float:
    """Inner diameter of a coil that was wound on a mandrel and let go.

    Parameters
    ----------
    mandrel_mm, wire_mm : diameters

    Raises
    ------
    BadInput
        When the wire would spring back straight: it is hardly bent beyond its elastic range.
    """
    core_mm = mandrel_mm + wire_mm
    sprung = sprung_share(core_mm, wire_mm, flow)
    if sprung >= 1.0:
        raise BadInput(
            f"wire of {format_mm(wire_mm)} springs back straight from a mandrel of "
            f"{format_mm(mandrel_mm)}: take a thinner mandrel, thicker or softer wire"
        )
    return core_mm / (1.0 - sprung) - wire_mm


def mandrel_mm_for(inner_mm: float, wire_mm: float, flow: Flow) -> float:
    """The mandrel on which a coil of an inner diameter is wound; undoes `relaxed_inner_mm`.

    Raises
    ------
    BadInput
        When no mandrel is thin enough, as the wire springs back too far.
    """
    wanted_mm = inner_mm + wire_mm
    if flow.at_tenth == 0.0:
        return inner_mm

    def too_wide_by(core_mm: float) -> float:
        # R1 itself grows without bound; its inverse is tame.
        return core_mm / wanted_mm - (1.0 - min(1.0, sprung_share(core_mm, wire_mm, flow)))

    from scipy.optimize import brentq

    least_mm = 1e-6 * wanted_mm
    core_mm = float(brentq(too_wide_by, least_mm, wanted_mm, xtol=1e-13 * wanted_mm, rtol=1e-14))
    if core_mm <= wire_mm:
        raise BadInput(
            f"wire of {format_mm(wire_mm)} springs back too far for a ring of "
            f"{format_mm(inner_mm)} inside: take softer wire or a wider ring"
        )
    return core_mm - wire_mm


def check_trial(wire_mm: float, mandrel_mm: float, relaxed_mm: float, error_mm: float) -> None:
    """Refuse a coil that cannot have been wound and measured so.

    Parameters
    ----------
    wire_mm, mandrel_mm : diameters
    relaxed_mm : inner diameter of the coil, or of a ring whose kerf was added again
    error_mm : by how much that may be wrong

    Raises
    ------
    BadInput
        When the coil is narrower than its mandrel, or so much wider that the model cannot
        hold: one of the measures is wrong.
    """
    if relaxed_mm + error_mm < mandrel_mm:
        raise BadInput(
            f"a trial ring of {format_mm(relaxed_mm)} inside cannot come from a mandrel of "
            f"{format_mm(mandrel_mm)}, as wire only springs open: measure both again, and say "
            "whether the ring was sawn"
        )
    if (mandrel_mm + wire_mm) / (relaxed_mm + wire_mm) < _LEAST_KEPT:
        raise BadInput(
            f"a trial ring of {format_mm(relaxed_mm)} inside from a mandrel of "
            f"{format_mm(mandrel_mm)} would have sprung back to more than double: measure both "
            "again"
        )


def sprung_share(core_mm: float, wire_mm: float, flow: Flow) -> float:
    """The share of the wound curvature that is lost: 0 for none, 1 and more for all of it.

    Parameters
    ----------
    core_mm : diameter to the middle of the wire, as wound
    """
    if flow.at_tenth == 0.0:
        return 0.0
    from scipy.special import beta, betainc

    n = flow.hardening
    core_of_wire = core_mm / wire_mm
    elastic = min(1.0, flow.yield_strain * core_of_wire) ** 2
    stiff = flow.loading * betainc(1.5, 1.5, elastic)
    reach = (1.0 / (REFERENCE * core_of_wire)) ** n
    whole = beta(1.0 + n / 2.0, 1.5) * (1.0 - betainc(1.0 + n / 2.0, 1.5, elastic))
    return float(stiff + 8.0 / math.pi * flow.at_tenth * core_of_wire * reach * whole)
