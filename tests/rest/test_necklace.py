"""Necklaces: sound, on the bust, held behind; their curve against beads on an unrolled cone."""

import numpy as np
import pytest
from scipy.optimize import minimize

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest.necklace import necklace
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from tests.rest.test_worn_at_rest import core_points

SIZE = RingSize(0.9, 5.1)
NECK_MM, SLOPE = 105.0, 35.0


@pytest.fixture(scope="module")
def simple():
    rule = load_rule("one_in_one")
    piece = woven_piece(rule, settle(rule, SIZE).unit, SIZE.core_radius_mm, 21)
    return rule, piece, necklace(piece, NECK_MM, SLOPE)


def from_bust_mm(points):
    """How far points are outside a cone of this neck and slope."""
    slope = np.radians(SLOPE)
    out = np.hypot(points[..., 0], points[..., 1])
    radius = NECK_MM / (2.0 * np.pi) - points[..., 2] * np.tan(slope)
    return (out - radius) * np.cos(slope)


def test_it_is_sound_and_hangs_on_the_bust(simple):
    rule, piece, lying = simple
    assert lying.settled
    seen = second_opinion(lying.piece)
    assert seen.links == expected_links(rule, piece)
    assert seen.smallest_gap_mm > -1e-6
    skin = from_bust_mm(core_points(lying.piece)).min(axis=1) - SIZE.wire_mm / 2.0
    assert skin.min() > -1e-4
    # The end rings are held as they were laid; every ring that hangs leans on the bust somewhere,
    # or on its neighbours.
    assert (skin < 1e-3).sum() > len(piece) / 2


def test_its_ends_are_behind_and_its_middle_lowest_in_front(simple):
    centres = simple[2].piece.centres_mm
    lowest = centres[centres[:, 2].argmin()]
    assert abs(lowest[0]) < SIZE.inner_mm
    assert lowest[1] < 0.0
    first, last = centres[simple[1].centres_mm[:, 0].argsort()[[0, -1]]]
    for end in (first, last):
        assert end[1] > 0.0
        assert abs(end[2]) < SIZE.inner_mm
    # The first to the left, seen from in front.
    assert first[0] < 0.0 < last[0]


def drop_of_beads_mm(ends, count, link_mm, height_mm):
    """How low the middle of a string of beads hangs on a cone, by rolling the cone flat.

    On the flat, a round cone is a sector about its point, and what hangs on it is drawn straight
    away from there. Beads so far outside are on a cone of the same slope.

    Parameters
    ----------
    ends : (2, 3) where the first and the last bead are held
    """
    slope = np.radians(SLOPE)
    top = NECK_MM / (2.0 * np.pi) / np.tan(slope) + height_mm / np.sin(slope)
    far = (top - ends[:, 2]) / np.cos(slope)
    turn = np.arctan2(ends[:, 0], -ends[:, 1]) * np.sin(slope)
    fixed = np.stack([far * np.sin(turn), -far * np.cos(turn)], axis=1)
    way = np.linspace(0.0, 1.0, count)[1:-1]
    angles = turn[0] + way * (turn[1] - turn[0])
    start = far.mean() * (1.0 + 0.3 * np.sin(np.pi * way))
    first = np.stack([start * np.sin(angles), -start * np.cos(angles)], axis=1)

    def steps(flat):
        beads = np.vstack([fixed[:1], flat.reshape(-1, 2), fixed[1:]])
        return link_mm**2 - np.sum(np.diff(beads, axis=0) ** 2, axis=1)

    found = minimize(
        lambda flat: -np.hypot(*flat.reshape(-1, 2).T).sum(),
        first.ravel(),
        constraints={"type": "ineq", "fun": steps},
        options={"maxiter": 500},
    )
    assert found.success
    return np.hypot(*found.x.reshape(-1, 2).T).max() * np.cos(slope) - top


def test_a_simple_chain_hangs_as_beads_on_a_string_do(simple):
    # One ring in the next, drawn straight: an inner diameter from each to the next.
    laid = simple[2].piece
    centres = laid.centres_mm[np.argsort(simple[1].centres_mm[:, 0])]
    ends = centres[[0, -1]]
    height = float(np.median(from_bust_mm(centres)))
    drop = drop_of_beads_mm(ends, len(centres), SIZE.inner_mm, height)
    assert -centres[:, 2].min() == pytest.approx(drop, rel=0.03)


def test_a_chain_that_is_too_short_is_refused():
    rule = load_rule("one_in_one")
    piece = woven_piece(rule, settle(rule, SIZE).unit, SIZE.core_radius_mm, 8)
    with pytest.raises(BadInput, match="does not go round a neck of 105 mm"):
        necklace(piece, NECK_MM, SLOPE)
