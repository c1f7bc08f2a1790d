"""The pull at which a plain closed ring, not soldered, spreads open.

The ring is pulled at two ends of a diameter with its seam half way between, where it is
worst: the seam carries nothing, so the pull P and the moment P R all go through the wire
opposite, R being the radius to the middle of the wire. (With the seam under one of the
pulls both halves share, and the largest moment is half as much.)

In a bar so strongly curved stress is no straight line over the section. With plane
sections it is a hyperbola with its zero at the neutral radius

    R_n = A / int dA / rho = (R + sqrt(R^2 - r^2)) / 2,     e = R - R_n,

and at the inside of the ring, rho = R - r,

    stress = P / A + P R (r - e) / (A e (R - r)).

(Winkler and Bach; as in Roark's Formulas for Stress and Strain, curved beams, from memory.)
Where that reaches the yield stress the ring begins to spread. At a somewhat greater pull the
whole section flows and the ring opens without end: with the neutral line moved by y0 for the
pull, P = 2 s (y0 sqrt(r^2 - y0^2) + r^2 asin(y0 / r)) and P R = 4/3 s (r^2 - y0^2)^(3/2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.base.sizes import RingSize
from ringwright.making.ring.cautions import JEWELLERY_ONLY

NOT_FOR_LOADS = f"{JEWELLERY_ONLY}, whatever the factor says."
# Winding leaves the inside of the ring pulled; of the way from one yield to the other, twice
# the elastic moment, springback has used up the plastic one.
_LEFT_AFTER_WINDING = 2.0 - 16.0 / (3.0 * math.pi)


@dataclass(frozen=True)
class RingStrength:
    """What a plain closed ring holds; pulls in newtons.

    Attributes
    ----------
    begins_n : the ring begins to spread, free of stresses to begin with
    begins_as_wound_n : the same with the stresses that winding leaves in a ring that was not
        annealed: the first, unseen widening
    opens_n : the wire flows through and through and the ring comes open
    """

    begins_n: float
    begins_as_wound_n: float
    opens_n: float

    def safety_factor(self, load_n: float) -> float:
        """How many times a load fits into the pull at which a ring begins to spread."""
        return self.begins_n / load_n


def curvature_factor(size: RingSize) -> float:
    """How many times larger the stress inside a bent ring is than in a straight bar.

    Bending alone: stress = factor * M r / I with I = pi r^4 / 4.
    """
    core, wire = size.core_radius_mm, size.wire_radius_mm
    e = _neutral_shift_mm(size)
    return (wire - e) * wire / (4.0 * e * (core - wire))


def ring_strength(size: RingSize, yield_mpa: float) -> RingStrength:
    """What a plain closed ring, seam to the side, holds.

    Parameters
    ----------
    yield_mpa : yield stress of the wire; winding hardens soft wire, which adds to it
    """
    core, wire = size.core_radius_mm, size.wire_radius_mm
    area = math.pi * wire**2
    bending = curvature_factor(size) * 4.0 * core / (math.pi * wire**3)
    begins = yield_mpa / (1.0 / area + bending)
    return RingStrength(begins, _LEFT_AFTER_WINDING * begins, _opens_n(core, wire, yield_mpa))


def _neutral_shift_mm(size: RingSize) -> float:
    core, wire = size.core_radius_mm, size.wire_radius_mm
    # (R - sqrt(R^2 - r^2)) / 2, written so that thin rings keep their digits.
    return wire**2 / (2.0 * (core + math.sqrt(core**2 - wire**2)))


def _opens_n(core: float, wire: float, yield_mpa: float) -> float:
    def pull(shift: float) -> float:
        # In units of yield_mpa; shift is the neutral line's way from the middle.
        root = math.sqrt(max(0.0, wire**2 - shift**2))
        return 2.0 * (shift * root + wire**2 * math.asin(min(1.0, shift / wire)))

    def too_strong(shift: float) -> float:
        root = math.sqrt(max(0.0, wire**2 - shift**2))
        return pull(shift) * core - 4.0 / 3.0 * root**3

    from scipy.optimize import brentq

    return yield_mpa * pull(float(brentq(too_strong, 0.0, wire, xtol=1e-13 * wire)))
