"""A piece pulled by hand: where its rings go in the next moment.

Rings move as in thick oil: what pulls at them is opposed in proportion to how far each moves, so a
ring that nothing pulls stays where it is, and one that is let go comes to a stop. In each round a
convex quadratic programme finds the move that opposes least; no two rings enter one another, and
on no step do two core circles meet. What a step leaves in one another, since gaps do not change
evenly, the next programme takes out before anything is shown; a step that leaves too much is cut
short. That is motion, and no proof of rest; for rest see :mod:`ringwright.rest.states`. Lengths are
in units of the mean core radius.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.falling.gaps import Gaps, Support, gaps_of
from ringwright.falling.goal import Goal
from ringwright.falling.programme import best_step
from ringwright.falling.safe import safe_share
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import ALONE, rotations
from ringwright.geometry.linearise import moved

# The hand is so much stiffer than the oil that a ring is in.
_GRIP = 100.0
# No unknown changes by more in a round, unless it is said, and gaps are looked at so far.
FARTHEST, _REACH = 0.5, 1.0
# A step may leave rings so deep in one another at most, as a share of the thinnest wire's radius;
# it is cut short so often at most, by a little more than should do. Half way there they are a
# quarter as deep.
_DEEPEST, _CUTS, _A_LITTLE = 0.06, 4, 0.9
# They are taken out of one another by moves no longer than this, in so many programmes at most,
# until no more than such a share is left.
_OUT, _AT_MOST, _LEFT = 0.05, 2, 0.002
# What is on the move needs to be no more exact than this.
_ACCURACY = 1e-6
# Where a round cannot be worked out, it is tried again with a smaller one.
_SMALLER, _LEAST = 0.3, 0.01


@dataclass(frozen=True, eq=False)
class Hand:
    """Where a ring is held, and where that place is drawn to.

    Attributes
    ----------
    ring : which
    point : (3,) a place that moves with the ring, such as one on its wire
    target : (3,) where the hand is
    """

    ring: int
    point: Floats
    target: Floats


@dataclass(frozen=True, eq=False)
class Moment:
    """Rings on the move.

    Attributes
    ----------
    rings : where they are
    hand : what holds one of them; None where none is held
    farthest : how far any unknown changed in the last round: near 0 where all are still
    overlap : how deep the deepest overlap is, 0 where there is none
    """

    rings: Rings
    hand: Hand | None
    farthest: float
    overlap: float


def next_moment(
    rings: Rings,
    goal: Goal,
    supports: tuple[Support, ...] = (),
    hand: Hand | None = None,
    rounds: int = 1,
    farthest: float = FARTHEST,
) -> Moment:
    """Rings a moment later.

    Parameters
    ----------
    rings : a piece, in units of its mean core radius
    goal : what else pulls at them; a force of 1 moves a ring by 1 a round
    supports : what they may lie against
    hand : what holds one of them
    rounds : so many quadratic programmes
    farthest : by so much an unknown changes at most in each
    """
    moment = Moment(rings, hand, 0.0, 0.0)
    for _ in range(rounds):
        moment = _round(moment, goal, supports, farthest)
    return moment


def _round(moment: Moment, goal: Goal, supports: tuple[Support, ...], farthest: float) -> Moment:
    rings = moment.rings
    gaps = gaps_of(rings, ALONE, supports, _REACH, to_rest=False)
    pull, model = _with_hand(goal.pull(rings), rings, moment.hand)
    while farthest > _LEAST:
        limit = np.full(len(pull), farthest)
        found = best_step(pull, model, gaps.slopes, gaps.gap, limit, _ACCURACY)
        if found is not None:
            return _stepped(moment, gaps, found[0] * safe_share(gaps, found[0], _REACH), supports)
        farthest *= _SMALLER
    return replace(moment, farthest=0.0, overlap=gaps.overlap())


def _stepped(moment: Moment, gaps: Gaps, step: Floats, supports: tuple[Support, ...]) -> Moment:
    """As much of a step as leaves no ring too deep in another, and then out of the others."""
    rings, wire = moment.rings, float(moment.rings.wire_radii.min())
    allowed = max(_DEEPEST * wire, 1.5 * gaps.overlap())
    after = gaps_of(moved(rings, step), ALONE, supports, _OUT, to_rest=False)
    for _ in range(_CUTS):
        if after.overlap() <= allowed:
            break
        # What gaps lack of changing evenly goes with the square of the step.
        step = step * (_A_LITTLE * np.sqrt(allowed / after.overlap()))
        after = gaps_of(moved(rings, step), ALONE, supports, _OUT, to_rest=False)
    hand = moment.hand and _taken_along(moment.hand, rings, step)
    farthest = float(np.abs(step).max())
    for _ in range(_AT_MOST):
        if after.overlap() <= _LEFT * wire:
            break
        still = np.zeros(len(step))
        limit = np.full(len(step), _OUT)
        out = best_step(still, _oil(len(step)), after.slopes, after.gap, limit, _ACCURACY)
        if out is None:
            break
        hand = hand and _taken_along(hand, after.rings, out[0])
        after = gaps_of(moved(after.rings, out[0]), ALONE, supports, _OUT, to_rest=False)
    return Moment(after.rings, hand, farthest, after.overlap())


def _oil(unknowns: int) -> Any:
    """What opposes every move alike."""
    from scipy.sparse import identity

    return identity(unknowns, format="csc")


def _with_hand(pull: Floats, rings: Rings, hand: Hand | None) -> tuple[Floats, Any]:
    """All forces, and the matrix of what opposes a step: oil, and the hand as a spring."""
    from scipy.sparse import coo_matrix

    oil = _oil(len(pull))
    if hand is None:
        return pull, oil
    u, v = (basis[0] for basis in plane_basis(rings.axes[hand.ring : hand.ring + 1]))
    arm = (hand.point - rings.centres[hand.ring]) / rings.core_radii[hand.ring]
    # How the place moves with the ring's five unknowns.
    along = np.column_stack([np.eye(3), np.cross(u, arm), np.cross(v, arm)])
    at = 5 * hand.ring + np.arange(5)
    pull = pull.copy()
    pull[at] += _GRIP * along.T @ (hand.target - hand.point)
    row, column = np.repeat(at, 5), np.tile(at, 5)
    spring = coo_matrix((_GRIP * (along.T @ along).ravel(), (row, column)), oil.shape)
    return pull, (oil + spring).tocsc()


def _taken_along(hand: Hand, rings: Rings, step: Floats) -> Hand:
    """The hand after a step: the place it holds has moved with the ring."""
    own = step[5 * hand.ring : 5 * hand.ring + 5]
    u, v = (basis[0] for basis in plane_basis(rings.axes[hand.ring : hand.ring + 1]))
    turn = (own[3] * u + own[4] * v) / rings.core_radii[hand.ring]
    angle = float(np.linalg.norm(turn))
    arm = hand.point - rings.centres[hand.ring]
    turned = rotations(turn / angle if angle > 0.0 else turn, np.array([angle]))[0] @ arm
    return replace(hand, point=rings.centres[hand.ring] + own[:3] + turned)
