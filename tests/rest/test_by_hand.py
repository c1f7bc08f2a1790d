"""Pieces pulled by hand: the hand is followed, links are kept, and what is not touched stays."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.falling.goal import Goal, weights
from ringwright.geometry.contact import Rings
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest.by_hand import Hand, next_moment
from ringwright.rest.start import in_core_radii, set_down
from ringwright.rest.table import table
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.2, 5.1)
WIRE = 0.2


def lone_ring(axis=(0.0, 0.0, 1.0)):
    return Rings(np.zeros((1, 3)), np.array([axis], float), np.ones(1), np.full(1, WIRE))


def test_a_ring_in_oil_moves_by_what_pulls_at_it():
    force = np.array([[0.1, -0.2, 0.05]])
    moment = next_moment(lone_ring(), Goal(force), rounds=3)
    assert moment.rings.centres == pytest.approx(3 * force, abs=1e-6)


def test_what_nothing_pulls_stays():
    ring = lone_ring((0.6, 0.0, 0.8))
    moment = next_moment(ring, Goal(np.zeros((1, 3))))
    assert moment.farthest < 1e-9
    assert moment.rings.axes == pytest.approx(ring.axes, abs=1e-9)


@pytest.mark.parametrize("axis", [(0.0, 0.0, 1.0), (0.6, 0.0, 0.8)])
def test_the_place_held_goes_where_the_hand_is_and_stays_on_the_ring(axis):
    ring = lone_ring(axis)
    place = np.array([0.0, 1.0, 0.0])
    hand = Hand(0, place, np.array([0.4, 1.2, 0.3]))
    moment = next_moment(ring, Goal(np.zeros((1, 3))), hand=hand, rounds=12)
    assert moment.hand is not None
    assert moment.hand.point == pytest.approx(hand.target, abs=1e-3)
    arm = moment.hand.point - moment.rings.centres[0]
    # The place is still on the core circle.
    assert np.linalg.norm(arm) == pytest.approx(1.0, abs=1e-9)
    assert arm @ moment.rings.axes[0] == pytest.approx(0.0, abs=1e-9)


@pytest.fixture(scope="module")
def chain():
    rule = load_rule("byzantine")
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, woven_piece(rule, settled.unit, SIZE.core_radius_mm, 2)


class TestAChain:
    def test_links_are_kept_however_hard_it_is_pulled(self, chain):
        rule, piece = chain
        rings, scale = in_core_radii(piece)
        rings = set_down(rings)
        goal = Goal(np.outer(0.05 * weights(rings), [0.0, 0.0, -1.0]))
        last = int(rings.centres[:, 0].argmax())
        hand = Hand(last, rings.centres[last], rings.centres[last])
        random = np.random.default_rng(3)
        for _ in range(12):
            # Farther in a moment than any ring may go.
            hand = replace(hand, target=hand.target + random.normal(size=3) * [2.0, 2.0, 0.5])
            moment = next_moment(rings, goal, (table,), hand, rounds=2)
            rings, hand = moment.rings, moment.hand
        assert moment.farthest > 0.01
        moved = replace(piece, centres_mm=rings.centres * scale, axes=rings.axes)
        seen = second_opinion(moved)
        assert seen.links == expected_links(rule, piece)
        # However far a round goes, what is shown after it is out of one another.
        assert seen.smallest_gap_mm > -0.002 * SIZE.wire_mm

    def test_the_others_follow_and_none_goes_below_the_table(self, chain):
        _, piece = chain
        rings, _ = in_core_radii(piece)
        rings = set_down(rings)
        before = rings.centres[:, 0].mean()
        goal = Goal(np.outer(0.05 * weights(rings), [0.0, 0.0, -1.0]))
        last = int(rings.centres[:, 0].argmax())
        hand = Hand(last, rings.centres[last], rings.centres[last])
        for _ in range(10):
            hand = replace(hand, target=hand.target + np.array([0.3, 0.0, 0.0]))
            moment = next_moment(rings, goal, (table,), hand, rounds=2)
            rings, hand = moment.rings, moment.hand
        assert rings.centres[:, 0].mean() > before + 2.0
        lean = np.sqrt(1.0 - rings.axes[:, 2] ** 2)
        lowest = rings.centres[:, 2] - rings.core_radii * lean - rings.wire_radii
        assert lowest.min() > -0.02
