"""How far a settled weave gives without force: guided straight, and crumpled."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.arrays import Floats
from ringwright.solver.climb import Goal, Unit, all_shaken, climb, climbs, farthest, thickest

# Crumpling has several dead ends; so many starts besides the settled state: shaken, and
# crumpled in thinner wire first.
_SHAKEN, _THINNED = 2, 8
_STEPS_SHAKEN, _STEPS_THINNED = 2, 15
# How thin that wire is, and how far it is crumpled, as shares.
_THIN, _SHORT = 0.3, 0.55
_SAME = 1e-4


@dataclass(frozen=True)
class Play:
    """One length of a weave and how far it gives.

    Attributes
    ----------
    longest, shortest : in units of the core radius
    starts, agreed : starting states tried for the shortest, and how many reached it to 1e-4
    """

    longest: float
    shortest: float
    starts: int
    agreed: int

    @property
    def percent(self) -> float:
        """How much shorter than its longest it can be pushed, in per cent."""
        return 100.0 * (self.longest - self.shortest) / self.longest


class _Untilted(Goal):
    """A goal for rings that may move but keep their tilt."""

    def freedom(self, unit: Unit) -> Floats:
        """As of every goal, without the tilts."""
        free = super().freedom(unit)
        free[: 5 * len(unit.rings.centres)].reshape(-1, 5)[:, 3:] = 0.0
        return free


def guided(unit: Unit, value: int = 0) -> Play:
    """The play of a weave that is guided straight while it is pushed.

    Every ring keeps its tilt and gives way only by moving; a chain that turns as it goes on
    keeps its turn. So it is pushed until rings meet in line: one-in-one chain from twice the
    inner diameter to the outer one. A weave whose rings lean on each other has no such play.

    Parameters
    ----------
    unit : a settled unit, from which nothing overlaps
    value : 0 for the repeat along x; for a sheet, 2 for the rows' distance along y
    """
    push = farthest(unit, value, -1.0)
    free = (True, False) if unit.lattice.kind.turns else push.values_free
    goal = _Untilted(push.value, push.slope, values_free=free)
    longest = _longest(unit, value)
    end = climb(unit, goal, tolerance=1e-9).unit
    return Play(longest, min(longest, float(end.lattice.values[value])), 1, 1)


def crumpled(unit: Unit, value: int = 0) -> Play:
    """The play of a weave whose rings may fall over as they like, all repeats alike.

    There are many dead ends, so the shortest that is found is no shorter than the shortest
    there is. Parameters are as for :func:`guided`.
    """
    longest = _longest(unit, value)
    ends = [float(end.lattice.values[value]) for end in pushed(unit, value)]
    shortest = min(longest, ends[0]) if ends else longest
    agreed = sum(end - shortest < _SAME for end in ends)
    return Play(longest, shortest, 1 + _SHAKEN + _THINNED, agreed)


def pushed(unit: Unit, value: int = 0) -> list[Unit]:
    """The states that crumpling ends in, from all starts, the shortest first.

    Parameters are as for :func:`guided`.
    """
    starts = [unit, *all_shaken(unit, range(1, _SHAKEN + 1), _STEPS_SHAKEN)]
    starts += _thinned(unit, value)
    ends = climbs([(start, farthest(start, value, -1.0)) for start in starts], tolerance=1e-7)
    return sorted(
        (end.unit for end in ends if end.converged), key=lambda one: one.lattice.values[value]
    )


def _thinned(unit: Unit, value: int) -> list[Unit]:
    """Shaken units crumpled in thinner wire and grown again, less those that do not grow back."""
    wire = unit.rings.wire_radii
    thin = unit.with_wire_radii(_THIN * wire)
    loose = all_shaken(thin, range(1, _THINNED + 1), _STEPS_THINNED)
    short = _SHORT * float(unit.lattice.values[value])
    pushes = [(one, farthest(one, value, -1.0)) for one in loose]
    crumpled = [end.unit for end in climbs(pushes, tolerance=1e-6, enough=-short)]
    wanted = float(wire.mean())
    grown = climbs([(one, thickest(one)) for one in crumpled], tolerance=1e-6, enough=wanted)
    return [
        end.unit.with_wire_radii(wire)
        for end in grown
        if end.unit.rings.wire_radii.mean() >= wanted * (1.0 - 1e-7)
    ]


def _longest(unit: Unit, value: int) -> float:
    return float(climb(unit, farthest(unit, value)).unit.lattice.values[value])
