"""One unit of an endless chain or sheet at rest on a table, all of its images with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import WEIGHT, Goal, weights
from ringwright.geometry.contact import carried
from ringwright.piece.piece import Piece, place_in_weave
from ringwright.rest.start import mirrored, nudged, own_side, rolled_low, set_down
from ringwright.rest.table import table
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rule import WeaveRule

_Y, _UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
# A chain that is not at rest after so many rounds is pressed flat first; and so many are spent on
# that, and on drawing it out again.
_SOON, _PRESSED_ROUNDS = 80, 60
# A chain's repeat vector tells which way is along it, so it is mirrored across alone.
_ACROSS = (1,)
# Pressed flat, a ring weighs as much as the chain is pulled.
_PRESSED = 1.0
# Energies that differ by no more, a ring, are equal; sizes that differ by more, as a share, are
# not.
_EQUAL, _OTHERWISE = 1e-5, 0.01


@dataclass(frozen=True, eq=False)
class LyingUnit:
    """A unit at rest on a table, the chain pulled straight or the sheet spread.

    Attributes
    ----------
    unit : in units of the core radius; the table is z = 0
    residual : how far contact forces are from balancing, per unit of the pull
    rounds : how many programmes its last fall took
    settled : whether the residual is at most 1e-6
    other : of a chain that can be at rest in two ways, the other one, of less length or lying less
        low; None where none was found
    """

    unit: Unit
    residual: float
    rounds: int
    settled: bool
    other: LyingUnit | None = None

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
    their largest area, as hard a ring of the unit's edge. A chain is then pressed flat and drawn
    out again: of the two ways in which it comes to rest, that of less energy is how it lies.

    Parameters
    ----------
    unit : of a lattice whose images are only moved (:func:`can_lie`)
    """
    scale = float(unit.rings.core_radii.mean())
    start = unit.rings.scaled(1.0 / scale)
    lattice = unit.lattice.with_values(unit.lattice.values / scale)
    if lattice.kind.has_rows:
        start = set_down(nudged(start))
        goal = goal_of(Unit(start, lattice))
        return _in_units(fallen(start, goal, (table,), lattice=lattice), scale)
    side = own_side(start, _ACROSS)
    start = set_down(nudged(rolled_low(mirrored(start, side))))
    goal = goal_of(Unit(start, lattice))
    let_down = fallen(start, goal, (table,), lattice=lattice, rounds=_SOON)
    drawn_out = _pressed_flat(let_down, goal)
    if not (let_down.settled or drawn_out.settled):
        let_down = fallen(let_down.rings, goal, (table,), lattice=let_down.lattice)
    ways = [way for way in (let_down, drawn_out) if way.settled] or [let_down]
    first, last = (goal.energy(way.rings, way.lattice) for way in (ways[0], ways[-1]))
    # Where both are as good the first is taken, so that no rounding decides.
    if last < first - _EQUAL * len(start.centres):
        ways.reverse()
    found, other = (
        _in_units(replace(way, rings=mirrored(way.rings, side)), scale)
        for way in (ways[0], ways[-1])
    )
    return replace(found, other=other if _lies_otherwise(found, other) else None)


def _pressed_flat(rest: Rest, goal: Goal) -> Rest:
    """A chain pressed flat on the table, and drawn out again as it was before.

    Rings that stand and hold one another up, as on a ridge, come to lie so.
    """
    down = goal.forces * (_PRESSED / WEIGHT)
    flat = fallen(
        rest.rings,
        replace(goal, forces=down),
        (table,),
        lattice=rest.lattice,
        rounds=_PRESSED_ROUNDS,
    )
    return fallen(flat.rings, goal, (table,), lattice=flat.lattice, rounds=_PRESSED_ROUNDS)


def _in_units(rest: Rest, scale: float) -> LyingUnit:
    """What came to rest in its mean core radius, in one that is ``scale`` of these."""
    lattice = rest.lattice.with_values(rest.lattice.values * scale)
    return LyingUnit(
        Unit(rest.rings.scaled(scale), lattice), rest.residual, rest.rounds, rest.settled
    )


def _lies_otherwise(one: LyingUnit, other: LyingUnit) -> bool:
    """Whether two chains at rest are as two to a ruler."""
    sizes, others = (
        np.array([way.width(), way.thickness(), way.unit.repeat]) for way in (one, other)
    )
    return bool((np.abs(others / sizes - 1.0) > _OTHERWISE).any())


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
