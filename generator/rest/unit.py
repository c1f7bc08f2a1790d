"""One unit of an endless chain or sheet at rest on a table, all of its images with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ringwright.falling.fall import fallen
from ringwright.falling.goal import WEIGHT, Goal, weights
from ringwright.geometry.contact import carried
from ringwright.piece.piece import Piece, place_in_weave
from ringwright.rest.start import nudged, rolled_low, set_down
from ringwright.rest.table import table
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rule import WeaveRule

_Y, _UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class LyingUnit:
    """A unit at rest on a table, the chain pulled straight or the sheet spread.

    Attributes
    ----------
    unit : in units of the core radius; the table is z = 0
    residual : how far contact forces are from balancing, per unit of the pull
    rounds : how many programmes it took
    settled : whether the residual is at most 1e-6
    """

    unit: Unit
    residual: float
    rounds: int
    settled: bool

    def width(self) -> float:
        """Of a chain: across, over all, in units of the core radius."""
        low, high = extent(self.unit.rings, _Y)
        return high - low

    def thickness(self) -> float:
        """From the table up to the highest point, in units of the core radius."""
        return extent(self.unit.rings, _UP)[1]


def can_lie(unit: Unit) -> bool:
    """Whether all images of a unit can lie on a table alike: none of them is turned."""
    return unit.lattice.kind.repeats and unit.lattice.kind.is_flat


@lru_cache(maxsize=8)
def lying_unit(unit: Unit) -> LyingUnit:
    """A unit that is drawn out first, and then lies as low as it will.

    Chains are pulled along x, a hundred times as hard as a ring weighs; sheets are spread to
    their largest area, as hard a ring of the unit's edge.

    Parameters
    ----------
    unit : of a lattice whose images are only moved (:func:`can_lie`)
    """
    scale = float(unit.rings.core_radii.mean())
    start = unit.rings.scaled(1.0 / scale)
    if not unit.lattice.kind.has_rows:
        start = rolled_low(start)
    start = set_down(nudged(start))
    lattice = unit.lattice.with_values(unit.lattice.values / scale)
    rest = fallen(start, goal_of(Unit(start, lattice)), (table,), lattice=lattice)
    lying = Unit(rest.rings.scaled(scale), lattice.with_values(rest.lattice.values * scale))
    return LyingUnit(lying, rest.residual, rest.rounds, rest.settled)


def goal_of(unit: Unit) -> Goal:
    """What draws out and weighs down a unit on a table, in units of its mean core radius."""
    weight = np.outer(-WEIGHT * weights(unit.rings), _UP)
    values = np.zeros(len(unit.lattice.values))
    if unit.lattice.kind.has_rows:
        cell = abs(float(unit.lattice.values[0] * unit.lattice.values[2]))
        return Goal(weight, tension=1.0 / np.sqrt(cell), stretch=values)
    values[0] = 1.0
    return Goal(weight, stretch=values)


def as_the_unit_lies(rule: WeaveRule, piece: Piece, unit: Unit) -> Piece:
    """The rings of a piece where they are in a unit and its images.

    Parameters
    ----------
    piece : some repeats of the weave, by the names of its rings
    unit : in units of the core radius of the rule's main ring
    """
    index = {ring.name: place for place, ring in enumerate(rule.rings)}
    placed = [place_in_weave(name) for name in piece.names]
    at = np.array([index[name] for name, _ in placed])
    images = np.array([image for _, image in placed], np.intp)
    rings = unit.rings
    centres, axes = carried(rings.centres[at], rings.axes[at], images, unit.lattice)
    scale = float(piece.core_radii_mm[0] / rings.core_radii[at[0]])
    return replace(piece, centres_mm=centres * scale, axes=axes)
