"""Between which widths a chain on a table is as good as at rest: a touch of a finger moves it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.falling.fall import fallen
from ringwright.falling.goal import WEIGHT, Goal
from ringwright.geometry.contact import Rings
from ringwright.rest.table import table
from ringwright.rest.unit import LyingUnit, goal_of
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent

# A touch: as if every ring were lifted by a hundredth of its core radius.
_TOUCH = 0.01 * WEIGHT
# Rings of both sides are pressed together or drawn apart so hard, one after the other, in shares
# of what a ring weighs.
_PRESSED = (1 / 16, 1 / 4, 1.0, 4.0)
# Each for so many rounds: what rings would do in more is not next to nothing.
_ROUNDS = 60
# Rings nearer to the middle than this, in core radii, are on neither side.
_MIDDLE = 0.1
_Y, _UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Ranges:
    """From the least to the most of what was seen; true ranges are no smaller.

    Attributes
    ----------
    width : across the chain, in units of the core radius
    thickness : from the table up, likewise
    """

    width: tuple[float, float]
    thickness: tuple[float, float]


def ranges_within_a_touch(lying: LyingUnit) -> Ranges:
    """How far width and thickness of a chain on a table change by next to nothing.

    The rings of both sides are pressed together and drawn apart ever harder, as long as weight
    and pull lose no more than a touch a ring.

    Parameters
    ----------
    lying : a unit of a chain, from :func:`ringwright.rest.unit.lying_unit`
    """
    scale = float(lying.unit.rings.core_radii.mean())
    lattice = lying.unit.lattice
    start = Unit(lying.unit.rings.scaled(1.0 / scale), lattice.with_values(lattice.values / scale))
    goal = goal_of(start)
    rest_energy = goal.energy(start.rings, start.lattice)
    enough = _TOUCH * len(start.rings.centres)
    seen = [_sizes(start.rings)]
    for side in (-1.0, 1.0):
        now = start
        for press in _PRESSED:
            now = _pressed(now, goal, side * press * WEIGHT)
            if goal.energy(now.rings, now.lattice) - rest_energy > enough:
                break
            seen.append(_sizes(now.rings))
    width, thickness = (scale * np.array(seen)).T
    return Ranges(_ends(width), _ends(thickness))


def _pressed(unit: Unit, goal: Goal, force: float) -> Unit:
    """The rings of both sides drawn apart, or together where the force is below zero."""
    across = unit.rings.centres[:, 1]
    across = across - 0.5 * (across.max() + across.min())
    side = np.where(np.abs(across) > _MIDDLE, np.sign(across), 0.0)
    more = replace(goal, forces=goal.forces + force * np.outer(side, _Y))
    rest = fallen(unit.rings, more, (table,), lattice=unit.lattice, rounds=_ROUNDS)
    return Unit(rest.rings, rest.lattice)


def _sizes(rings: Rings) -> tuple[float, float]:
    low, high = extent(rings, _Y)
    return high - low, extent(rings, _UP)[1]


def _ends(values: Floats) -> tuple[float, float]:
    return float(values.min()), float(values.max())
