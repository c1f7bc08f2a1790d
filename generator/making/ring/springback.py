r"""What wire does when it comes off the mandrel.

Bending a round wire of radius r and Young's modulus E, elastic and then perfectly plastic
at the stress s, to the curvature 1 / R (R to the middle of the wire). Plane sections stay
plane, so a fibre at the height y above the middle is strained by y / R. Up to the height

    c = e R,    e = s / E,

it is elastic with the stress s y / c; beyond, the stress is s. The section is 2 sqrt(r^2 -
y^2) wide at y, so the moment is, with rho = c / r,

    M = 4 s / c int_0^c y^2 sqrt(r^2 - y^2) dy  +  4 s int_c^r y sqrt(r^2 - y^2) dy
      = 4/3 s r^3 m(rho),
    m(rho) = (1 - rho^2)^(3/2)
             + 3 / (8 rho) [asin(rho) + rho (2 rho^2 - 1) sqrt(1 - rho^2)].

The first integral is y (2 y^2 - r^2) sqrt(r^2 - y^2) / 8 + r^4 / 8 asin(y / r). m is 1
where all is plastic (rho = 0) and 3 pi / 16 where the surface just begins to yield (rho =
1), so the plastic moment is 16 / (3 pi) = 1.70 times the elastic one.

Let go, the wire unbends elastically by M / (E I) with I = pi r^4 / 4:

    R0 / R1 = 1 - M R0 / (E I) = 1 - 16 / (3 pi) rho m(rho).

R1 is the radius after springback. The same steps for a sheet of thickness t, whose section
is equally wide everywhere, give Gardiner's R0 / R1 = 4 x^3 - 3 x + 1 with x = R0 s / (E t)
(F. J. Gardiner, Trans. ASME 79, 1957, as in sheet-metal handbooks).

Left out: the pull on the wire while it is wound, which makes springback a little smaller;
that fibres inside are bent shorter and sharper than the formula of a slender bar has it;
and hardening, for which one stress stands (:attr:`ringwright.metals.metal.Temper.
bending_mpa`). A trial ring sets all of them right at once.
"""

from __future__ import annotations

import math

from ringwright.base.errors import BadInput
from ringwright.base.sizes import format_mm

_PLASTIC_TO_ELASTIC = 16.0 / (3.0 * math.pi)


def plastic_moment_nmm(wire_mm: float, stress_mpa: float) -> float:
    """Bending moment at which a round wire gives way altogether, N mm: d^3 s / 6.

    It is also the torque that winding takes at the mandrel, before friction and the pull on
    the wire: a turn of the mandrel by an angle bends so much wire that the work is moment
    times angle.
    """
    return wire_mm**3 * stress_mpa / 6.0


def relaxed_inner_mm(mandrel_mm: float, wire_mm: float, bending_strain: float) -> float:
    """Inner diameter of a coil that was wound on a mandrel and let go.

    Parameters
    ----------
    mandrel_mm, wire_mm : diameters
    bending_strain : flow stress over Young's modulus

    Raises
    ------
    BadInput
        When the wire would spring back straight: it is never bent beyond its elastic range.
    """
    core_mm = mandrel_mm + wire_mm
    rho = bending_strain * core_mm / wire_mm
    if rho >= 1.0:
        raise BadInput(
            f"wire of {format_mm(wire_mm)} springs back straight from a mandrel of "
            f"{format_mm(mandrel_mm)}: take a thinner mandrel, thicker or softer wire"
        )
    return core_mm / (1.0 - _sprung(rho)) - wire_mm


def mandrel_mm_for(inner_mm: float, wire_mm: float, bending_strain: float) -> float:
    """The mandrel on which a coil of an inner diameter is wound; undoes `relaxed_inner_mm`.

    Raises
    ------
    BadInput
        When no mandrel is thin enough, as the wire springs back too far.
    """
    wanted_mm = inner_mm + wire_mm
    if bending_strain == 0.0:
        return inner_mm

    def too_wide_by(core_mm: float) -> float:
        # R1 itself grows without bound; its inverse is tame.
        rho = min(1.0, bending_strain * core_mm / wire_mm)
        return core_mm / wanted_mm - (1.0 - _sprung(rho))

    from scipy.optimize import brentq

    top_mm = min(wanted_mm, wire_mm / bending_strain)
    core_mm = float(brentq(too_wide_by, 0.0, top_mm, xtol=1e-13 * wanted_mm, rtol=1e-14))
    if core_mm <= wire_mm:
        raise BadInput(
            f"wire of {format_mm(wire_mm)} springs back too far for a ring of "
            f"{format_mm(inner_mm)} inside: take softer wire or a wider ring"
        )
    return core_mm - wire_mm


def calibrated_strain(wire_mm: float, mandrel_mm: float, relaxed_mm: float) -> float:
    """The bending strain of a wire from one coil that was wound and measured.

    It takes the place of the table's: whatever the wire really is, and however it was
    held, wound on a like mandrel it springs back like the trial.

    Parameters
    ----------
    wire_mm, mandrel_mm : diameters
    relaxed_mm : inner diameter of the coil, or of a ring whose kerf was added again

    Raises
    ------
    BadInput
        When the coil is narrower than its mandrel, or so much wider that the model cannot
        hold: one of the measures is wrong.
    """
    kept = (mandrel_mm + wire_mm) / (relaxed_mm + wire_mm)
    if kept > 1.0:
        raise BadInput(
            f"a trial ring of {format_mm(relaxed_mm)} inside cannot come from a mandrel of "
            f"{format_mm(mandrel_mm)}, as wire only springs open: measure both again, and say "
            "whether the ring was sawn"
        )
    if kept < 0.5:
        raise BadInput(
            f"a trial ring of {format_mm(relaxed_mm)} inside from a mandrel of "
            f"{format_mm(mandrel_mm)} would have sprung back to more than double: measure both "
            "again"
        )
    if kept == 1.0:
        return 0.0
    from scipy.optimize import brentq

    rho = float(brentq(lambda rho: _sprung(rho) - (1.0 - kept), 0.0, 1.0, xtol=1e-15))
    return rho * wire_mm / (mandrel_mm + wire_mm)


def _sprung(rho: float) -> float:
    """The share of the wound curvature that is lost, 0 to 1."""
    return _PLASTIC_TO_ELASTIC * rho * _share_of_plastic(rho)


def _share_of_plastic(rho: float) -> float:
    """The moment as a share of the plastic one, from 1 at rho = 0 to 3 pi / 16 at 1."""
    if rho < 1e-4:
        # The closed form loses its digits here; the next term is below 1e-16.
        return 1.0 - rho**2 / 2.0
    root = math.sqrt(max(0.0, 1.0 - rho**2))
    return root**3 + 3.0 / (8.0 * rho) * (math.asin(rho) + rho * (2.0 * rho**2 - 1.0) * root)
