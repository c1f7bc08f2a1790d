"""A piece pulled by hand: where its rings go in the next moment.

Rings move as in thick oil: what pulls at them is opposed in proportion to how far each moves, so a
ring that nothing pulls stays where it is, and one that is let go comes to a stop. In each round a
convex quadratic programme finds the move that opposes least; no two rings enter one another, and
on no step do two core circles meet. That is motion, and no proof of rest; for rest see
:mod:`ringwright.rest.states`. Lengths are in units of the mean core radius.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.falling.gaps import Support, gaps_of
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
    rounds: int = 2,
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
    gaps = gaps_of(rings, ALONE, supports, _REACH)
    pull, model = _with_hand(goal.pull(rings), rings, moment.hand)
    while farthest > _LEAST:
        found = best_step(pull, model, gaps.slopes, gaps.gap, np.full(len(pull), farthest))
        if found is not None:
            step = found[0] * safe_share(gaps, found[0], _REACH)
            hand = moment.hand and _taken_along(moment.hand, rings, step)
            return Moment(moved(rings, step), hand, float(np.abs(step).max()), gaps.overlap())
        farthest *= _SMALLER
    return replace(moment, farthest=0.0, overlap=gaps.overlap())


def _with_hand(pull: Floats, rings: Rings, hand: Hand | None) -> tuple[Floats, Any]:
    """All forces, and the matrix of what opposes a step: oil, and the hand as a spring."""
    from scipy.sparse import coo_matrix, identity

    oil = identity(len(pull), format="csc")
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
