"""Rest to the last digits: Newton's method on the contacts that carry force.

A climb's quadratic programmes take the part of the curvature that bends down, which is
safe from anywhere and slow near rest. Here every round solves for the curvature as it is,
made convex by a weight on the loaded gaps, which changes neither the step nor the forces
of a state at rest (an augmented Lagrangian; Nocedal and Wright, *Numerical Optimization*,
2nd ed., 2006, chapters 17 and 18). What is left of both conditions of rest, that forces
balance the pull and that loaded gaps are zero, is about squared in every round, however
ill the contacts are conditioned.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.falling.at_rest import AT_REST
from ringwright.geometry.contact import close_pairs
from ringwright.geometry.linearise import Rows, gap_curvature, gap_gradients, gap_rows, valley_depth
from ringwright.geometry.quadratic import convex_model, quadratic_programme
from ringwright.solver.certify import Certificate, certify
from ringwright.solver.climb import Goal, Unit, stepped

# Rest at which there is nothing left to gain, per unit of the largest force.
_EXACT = 1e-11
# A residual that needs no comparing with what it was before.
_GOOD = 1e-9
_ROUNDS = 20
# Rounds without anything better after which no more is to be hoped for.
_PATIENCE = 4
# How far any unknown may change, in wire radii of the thinnest ring: for the first look at the
# forces, in a round, and in all. Two rings that touch are two such radii apart, and at the most
# one of these is used up, so none can pass through another.
_FIRST_LOOK, _FARTHEST, _FARTHEST_IN_ALL = 5e-3, 5e-2, 0.15
# How straight the first look takes the goal to be.
_LOOK = 1e-2
# Contacts are looked for up to this gap.
_NEAR = 2e-3
# Where the valley of the distance is shallower than this, rings lie along each other: points
# fixed to the first ring stand for its lowest point, which may be anywhere.
_LEVEL = 1e-7
# Directions that cost nothing are held by this share of the stiffest one.
_HELD = 1e-9
# Newton's method may lead to another state: of a goal lower by more than this, it is not
# the one that was climbed to.
_LOWER = 1e-7


@dataclass(frozen=True, eq=False)
class Polished:
    """A unit, and how far it is from rest."""

    unit: Unit
    certificate: Certificate


@dataclass(frozen=True, eq=False)
class _State:
    """A unit with the places where rings touch or nearly do, and the forces there."""

    unit: Unit
    rows: Rows
    gradients: Floats
    forces: Floats
    error: float


def polished(unit: Unit, goal: Goal) -> Polished:
    """The unit moved by the little that is missing to rest.

    Where that does not lead to a better balance of forces at the same goal, the unit as it was.

    Parameters
    ----------
    unit : rings near rest
    goal : what they were moved for; its slope must not change as rings move, as for a
        repeat or a wire
    """
    found = _nearest_rest(unit, goal)
    after = _certified(found, goal, _GOOD)
    overlap = -float(_places(unit).gap.min(initial=0.0))
    lower = goal.value(unit) - goal.value(found.unit)
    same = lower <= _LOWER + 2.0 * overlap * float(found.forces.sum())
    if same and after.certificate.residual <= _GOOD:
        return after
    before = Polished(unit, certify(unit, goal))
    better = after.certificate.residual < before.certificate.residual
    return after if same and better else before


def as_it_is(unit: Unit, goal: Goal) -> Polished:
    """The unit where it stands, and how far it is from rest."""
    return _certified(_looked_at(unit, goal), goal, AT_REST)


def _certified(state: _State, goal: Goal, enough: float) -> Polished:
    """A state with its certificate: by the forces it was found with, if the rest is no more."""
    explained = state.error if state.error <= enough else None
    return Polished(state.unit, certify(state.unit, goal, explained))


def _nearest_rest(unit: Unit, goal: Goal) -> _State:
    state = best = _looked_at(unit, goal)
    held, moved, refused = _HELD, 0.0, 0
    farthest = _FARTHEST_IN_ALL * float(unit.rings.wire_radii.min())
    for _ in range(_ROUNDS):
        if best.error <= _EXACT * max(1.0, float(best.forces.max(initial=0.0))):
            break
        step = _correction(state, goal, held)
        if step is None:
            break
        moved += float(np.abs(step).max(initial=0.0))
        if moved > farthest:
            break
        state = _looked_at(stepped(state.unit, step, goal), goal)
        if state.error < best.error:
            best, refused = state, 0
            continue
        refused += 1
        if refused % 2 == 0:
            state, held = best, 1e3 * held
        if refused == _PATIENCE:
            break
    return best


def _looked_at(unit: Unit, goal: Goal) -> _State:
    """The forces as a first-order model of the contacts has them."""
    rows = _places(unit)
    gradients = _gradients(unit, goal, rows)
    slope, count = _slope(unit, goal), gradients.shape[1]
    limit = np.full(count, _FIRST_LOOK * unit.rings.wire_radii.min())
    solved = quadratic_programme(slope, _LOOK * np.eye(count), gradients, -rows.gap, limit)
    forces = np.zeros(len(rows.gap)) if solved is None else solved[1]
    return _State(unit, rows, gradients, forces, _error(slope, gradients, rows, forces))


def _correction(state: _State, goal: Goal, held: float) -> Floats | None:
    """Newton's step in all unknowns."""
    unit, rows, gradients, forces = state.unit, state.rows, state.gradients, state.forces
    free = goal.freedom(unit) > 0.0
    bend = -gap_curvature(unit.rings, rows, unit.lattice, forces, _LEVEL)[np.ix_(free, free)]
    loaded = forces > 0.0
    count = int(free.sum())
    made = convex_model(bend, gradients[loaded], rows.gap[loaded], np.ones(count, bool), held)
    limit = np.full(count, _FARTHEST * unit.rings.wire_radii.min())
    pulled = _slope(unit, goal) - made.pull
    solved = quadratic_programme(pulled, made.model, gradients, -rows.gap, limit)
    if solved is None:
        return None
    step = np.zeros(len(free))
    step[free] = solved[0]
    return step


def _slope(unit: Unit, goal: Goal) -> Floats:
    return goal.slope(unit)[goal.freedom(unit) > 0.0]


def _gradients(unit: Unit, goal: Goal, rows: Rows) -> Floats:
    growth = np.zeros(len(unit.rings.centres)) if goal.growth is None else goal.growth(unit)
    whole = gap_gradients(unit.rings, rows, unit.lattice, growth)
    return whole[:, goal.freedom(unit) > 0.0]


def _error(slope: Floats, gradients: Floats, rows: Rows, forces: Floats) -> float:
    """How far from rest: as the certificate's residual, for forces that are known."""
    unexplained = float(np.abs(slope + forces @ gradients).max(initial=0.0))
    across = float(np.abs(forces * rows.gap).max(initial=0.0))
    return max(unexplained, across, -float(rows.gap.min(initial=0.0)))


def _places(unit: Unit) -> Rows:
    """Minima of the distance; for rings that lie along each other, fixed points instead."""
    pairs = close_pairs(unit.rings, _NEAR, unit.lattice)
    rows = gap_rows(unit.rings, pairs, unit.lattice, 1.0)
    rows = rows.of(rows.gap <= _NEAR)
    level = rows.slides & (valley_depth(unit.rings, rows, unit.lattice) < _LEVEL)
    key = np.column_stack([rows.pairs.first, rows.pairs.second, rows.pairs.image])
    along = (key[:, None] == key[level]).all(axis=2).any(axis=1)
    return rows.of(rows.slides != along)
