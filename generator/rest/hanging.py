"""How a sheet hangs flat by one of its edges: its own weight draws it long, and so narrower."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import WEIGHT, Goal
from ringwright.geometry.contact import Rings, in_images
from ringwright.geometry.lattice import Lattice
from ringwright.rest.start import nudged
from ringwright.rest.unit import lying_unit
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import HUNG_BY_ENDS, HUNG_BY_ROW, RestState

# A sheet that is pressed from the sides and drawn apart by a hundredth of its pull is as wide
# either way, to this share; else only friction would keep it from folding.
_AS_WIDE = 0.02
# What has not come to rest in so many rounds folds on and on.
_ROUNDS = 60
# Places of a sheet's values: along its rows, and across them.
_ALONG, _ACROSS = 0, 2

HANGINGS = (HUNG_BY_ROW, HUNG_BY_ENDS)
UNTOLD = (
    "how wide it hangs cannot be told: nothing but friction keeps it from folding like a curtain, "
    "and friction is not counted here"
)


@dataclass(frozen=True, eq=False)
class HangingUnit:
    """A unit of a sheet that hangs flat, as it is far from the edges.

    Attributes
    ----------
    unit : in units of the core radius, in the plane of the sheet
    told : whether its weight alone says how wide it hangs
    residual, settled : as of a unit that lies (:class:`ringwright.rest.unit.LyingUnit`)
    """

    unit: Unit
    told: bool
    residual: float
    settled: bool


@lru_cache(maxsize=16)
def hanging_unit(unit: Unit, state: RestState) -> HangingUnit:
    """A unit drawn as long as it gets by what hangs from it; the sides are left free.

    Whether that says how wide it hangs is asked of two units side by side, which can fold where
    one cannot: they are pressed together and drawn apart by next to nothing.

    Parameters
    ----------
    unit : of a sheet, settled
    state : one of ``HANGINGS``
    """
    pulled, side = (_ACROSS, _ALONG) if state == HUNG_BY_ROW else (_ALONG, _ACROSS)
    start = lying_unit(unit).unit
    scale = float(start.rings.core_radii.mean())
    lattice = start.lattice.with_values(start.lattice.values / scale)
    rings = start.rings.scaled(1.0 / scale)
    rest = _drawn(rings, lattice, pulled, side, 0.0)
    hangs = Unit(rest.rings.scaled(scale), lattice.with_values(rest.lattice.values * scale))
    widths = [float(rest.lattice.values[side])]
    told = rest.settled
    both = _side_by_side(rings, lattice, side)
    for press in (-WEIGHT, WEIGHT):
        if told:
            moved = _drawn(*both, pulled, side, press)
            widths.append(float(moved.lattice.values[side]) / 2.0)
            told = moved.settled and max(widths) <= (1.0 + _AS_WIDE) * min(widths)
    return HangingUnit(hangs, told, rest.residual, rest.settled)


def _drawn(rings: Rings, lattice: Lattice, pulled: int, side: int, press: float) -> Rest:
    stretch = np.zeros(len(lattice.values))
    stretch[pulled], stretch[side] = 1.0, press
    goal = Goal(np.zeros_like(rings.centres), stretch=stretch)
    return fallen(nudged(rings), goal, lattice=lattice, rounds=_ROUNDS)


def _side_by_side(rings: Rings, lattice: Lattice, side: int) -> tuple[Rings, Lattice]:
    """Two units side by side as one."""
    values = lattice.values.copy()
    if side == _ALONG:
        beside = (1, 0)
        values[_ALONG] *= 2.0
    else:
        beside = (0, 1)
        values[1:] *= 2.0
    both = in_images(rings, np.array([(0, 0), beside]), lattice)
    return both, lattice.with_values(values)
