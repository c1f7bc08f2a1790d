"""How tightly a chain bends: all along, and at one joint."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.lattice_kind import LOOP
from ringwright.geometry.vectors import cross, lengths
from ringwright.solver.climb import Climb, Unit, climbs, farthest, shaken

# A chain bends "up" about an axis across it, "sideways" about one that stands on the table.
AXES = {"up": np.array([0.0, 1.0, 0.0]), "sideways": np.array([0.0, 0.0, 1.0])}

# How many repeats close a bent chain into a ring, where it is open, and where only the two
# repeats of one joint are looked at: as in a ring of two, each has one neighbour.
_OPEN, _ONE_JOINT = 1, 2
_SEEDS, _SENSES = (0, 1), (1, -1)
# Of a core circle, of which one is nearest to the axis.
_POINTS = 4000


@dataclass(frozen=True, eq=False)
class Bend:
    """The tightest bend of a chain in one direction.

    Attributes
    ----------
    direction : a key of ``AXES``
    turn : angle from one repeat to the next at the tightest, radians
    inner_radius : from the axis to the nearest metal there, in core radii
    converged : whether the solver came to an end
    """

    direction: str
    turn: float
    inner_radius: float
    converged: bool

    @property
    def degrees(self) -> float:
        """The turn in degrees."""
        return math.degrees(self.turn)

    @property
    def fewest_repeats(self) -> int:
        """The fewest whole repeats that such a bend takes all the way round."""
        return math.ceil(2 * math.pi / self.turn - 1e-6)


def tightest_bend(unit: Unit, direction: str) -> Bend:
    """The tightest bend in one direction; see :func:`tightest_bends`."""
    return tightest_bends(unit, [direction])[0]


def tightest_bends(unit: Unit, directions: Sequence[str], even: bool = False) -> list[Bend]:
    """Bend a straight chain evenly about an axis until its rings allow no more.

    The repeat is turned about a far axis and the turn per repeat made as large as it
    gets; how far the axis then is follows. All repeats of half a circle, and three of them at
    least, keep clear of each other. Both senses of the bend are tried and
    the tighter one is reported, since a chain can be turned over.

    Parameters
    ----------
    unit : a settled unit of a chain
    directions : ``"up"`` or ``"sideways"``, or both
    even : whether the unit is alike to both sides of each; then it is itself bent to one alone
    """
    starts = _starts(unit)
    ways = [(start, sense) for sense in _SENSES for start in starts]
    if even:
        ways.remove((unit, _SENSES[1]))
    return _tighter(directions, _bent(ways, directions, _OPEN))


def joint_bend(unit: Unit, direction: str) -> Bend:
    """The bend of one joint in one direction; see :func:`joint_bends`."""
    return joint_bends(unit, [direction])[0]


def joint_bends(unit: Unit, directions: Sequence[str], even: bool = False) -> list[Bend]:
    """The same of one joint: of one repeat against the next, whatever the others would do."""
    ways = [(start, sense) for start in _starts(unit) for sense in _SENSES]
    if even:
        ways.remove((unit, _SENSES[1]))
    return _tighter(directions, _bent(ways, directions, _ONE_JOINT))


def bent_tightly(unit: Unit, direction: str, sense: int) -> Climb:
    """A chain bent evenly in one sense: 1 to the side that the direction names, or -1."""
    (ends,) = _bent([(start, sense) for start in _starts(unit)], [direction], _OPEN)
    return _tightest(ends)


def _starts(unit: Unit) -> list[Unit]:
    """The unit itself and as shaken: what is symmetric can be stuck on a ridge."""
    return [shaken(unit, seed, steps=2) if seed else unit for seed in _SEEDS]


def _bent(
    ways: Sequence[tuple[Unit, int]], directions: Sequence[str], closes: int
) -> list[list[Climb]]:
    """Straight units bent as far as they go, each in its sense: the ends for each direction."""
    straight = [
        bent_unit(start, sense * AXES[direction], 0.0, closes)
        for direction in directions
        for start, sense in ways
    ]
    starts = [(one, farthest(one, 1)) for one in straight]
    # Folded flat on itself is the most that a joint can do.
    ends = climbs(starts, rounds=300, tolerance=1e-7, enough=math.pi)
    return [ends[at : at + len(ways)] for at in range(0, len(ends), len(ways))]


def _tightest(ends: Sequence[Climb]) -> Climb:
    return max(ends, key=lambda end: round(float(end.unit.lattice.values[1]), 9))


def _tighter(directions: Sequence[str], found: Sequence[list[Climb]]) -> list[Bend]:
    bends = []
    for direction, ends in zip(directions, found, strict=True):
        best = _tightest(ends)
        turn = min(float(best.unit.lattice.values[1]), math.pi)
        bends.append(Bend(direction, turn, inner_radius(best.unit), best.converged))
    return bends


def bent_unit(unit: Unit, axis: Floats, turn: float, closes: int = _OPEN) -> Unit:
    """The unit as one repeat of a chain that bends about ``axis`` by ``turn`` a repeat.

    ``closes`` repeats make a closed ring; 1 stands for a chain that stays open.
    """
    values = np.array([unit.repeat, turn])
    return Unit(unit.rings, Lattice(LOOP, values, around=closes, axis=axis))


def bend_axis(unit: Unit) -> Floats:
    """The direction of the axis that a unit is bent about."""
    return np.zeros(3) if unit.lattice.axis is None else unit.lattice.axis


def from_axis(unit: Unit, points: Floats) -> Floats:
    """The part of points that leads straight away from the bend's axis, (..., 3)."""
    lattice, axis = unit.lattice, bend_axis(unit)
    inward = cross(axis, np.array([1.0, 0.0, 0.0]))
    middle = inward * (lattice.values[0] / lattice.values[1])
    away = points - middle
    return np.asarray(away - (away @ axis)[..., None] * axis)


def inner_radius(unit: Unit) -> float:
    """Distance from the bend's axis to the nearest metal."""
    rings = unit.rings
    away = lengths(from_axis(unit, rings.core_points(_POINTS)))
    return float((away - rings.wire_radii[:, None]).min())
