"""Units of many rings pulled and tidied: the same as a climb, by the sparse core."""

from __future__ import annotations

import numpy as np

from ringwright.falling.at_rest import AT_REST
from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import Goal
from ringwright.geometry.contact import Rings
from ringwright.solver.climb import Climb, Unit

# Rings that are only tidied are brought to rest afterwards; more rounds would change nothing seen.
_TIDY_ROUNDS = 25


def pulled_straight(unit: Unit) -> Climb:
    """A unit in a lattice drawn out along x as far as it goes; overlaps are undone on the way."""
    stretch = np.zeros(len(unit.lattice.values))
    stretch[0] = 1.0
    goal = Goal(np.zeros_like(unit.rings.centres), stretch=stretch)
    return _as_climb(fallen(unit.rings, goal, lattice=unit.lattice))


def pulled_apart(unit: Unit, first: tuple[int, ...], last: tuple[int, ...]) -> Climb:
    """A piece whose ends are drawn apart along x as far as they go."""
    forces = np.zeros_like(unit.rings.centres)
    forces[list(first), 0] -= 1.0 / len(first)
    forces[list(last), 0] += 1.0 / len(last)
    return _as_climb(fallen(unit.rings, Goal(forces), lattice=unit.lattice))


def brought_near(unit: Unit, target: Rings, held: tuple[int, ...] = ()) -> Climb:
    """Rings as near to others as they get, in centres and axes, in the same lattice.

    Parameters
    ----------
    held : rings that stay where they are
    """
    values = np.zeros(len(unit.lattice.values))
    goal = Goal(np.zeros_like(unit.rings.centres), stretch=values, target=target)
    kept = np.isin(np.arange(len(unit.rings.centres)), held)
    return _as_climb(
        fallen(
            unit.rings,
            goal,
            held=kept,
            rounds=_TIDY_ROUNDS,
            lattice=unit.lattice,
            lattice_held=True,
        )
    )


def _as_climb(rest: Rest) -> Climb:
    return Climb(Unit(rest.rings, rest.lattice), rest.residual <= AT_REST, rest.rounds)
