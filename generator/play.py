"""How far a settled weave moves without force: pulled straight, pushed together, stretched."""

from __future__ import annotations

from dataclasses import dataclass

from generator.climb import Climb, Unit, climb, farthest, shaken

# Pushing together has several dead ends; so many shaken starts besides the settled state.
_STARTS = 4


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


def play(unit: Unit, value: int = 0) -> Play:
    """The longest and shortest of one of the lattice's lengths, everything else free.

    Parameters
    ----------
    unit : a settled unit, from which nothing overlaps
    value : 0 for the repeat along x; for a sheet, 2 for the rows' distance along y
    """
    longest = _reached(climb(unit, farthest(unit, value)), value)
    ends = [float(end.lattice.values[value]) for end in pushed(unit, value)]
    shortest = ends[0] if ends else longest
    return Play(longest, shortest, 1 + _STARTS, sum(end - shortest < 1e-4 for end in ends))


def pushed(unit: Unit, value: int = 0) -> list[Unit]:
    """The states that pushing together ends in, from all starts, the shortest first.

    Parameters are as for :func:`play`.
    """
    starts = [unit, *(shaken(unit, seed, steps=2) for seed in range(1, _STARTS + 1))]
    ends = [climb(start, farthest(start, value, -1.0)) for start in starts]
    return sorted(
        (end.unit for end in ends if end.converged), key=lambda one: one.lattice.values[value]
    )


def _reached(end: Climb, value: int) -> float:
    return float(end.unit.lattice.values[value])
