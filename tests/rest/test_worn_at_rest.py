"""Pieces worn: snug, sound, nothing inside the form; a closed form on one that is nearly flat."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.oval import Oval
from ringwright.piece.piece import Piece, expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest.worn import fitting, worn
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

FINGER = Oval(54.0, 1.08)


def settled_of(name, size):
    rule = load_rule(name)
    return rule, settle(rule, size).unit


def core_points(piece, count=2000):
    """Points of every core circle, (n, count, 3)."""
    u, v = plane_basis(piece.axes)
    angles = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    spokes = np.cos(angles) * u[:, None] + np.sin(angles) * v[:, None]
    return piece.centres_mm[:, None] + piece.core_radii_mm[:, None, None] * spokes


def from_skin_mm(piece, oval):
    """How far each ring is from the form, by many points: nothing of the solver in it."""
    points = core_points(piece)
    away, _, _ = oval.clearance(points.reshape(-1, 3))
    return away.reshape(points.shape[:2]).min(axis=1) - piece.wire_radii_mm


@pytest.fixture(scope="module")
def two_in_two():
    size = RingSize(1.1, 4.1)
    rule, unit = settled_of("two_in_two", size)
    piece = fitting(rule, unit, size.core_radius_mm, FINGER)
    return rule, piece, worn(piece, FINGER)


class TestRoundAFinger:
    def test_it_is_sound_and_at_rest(self, two_in_two):
        rule, piece, lying = two_in_two
        assert lying.settled
        seen = second_opinion(lying.piece)
        assert seen.links == expected_links(rule, piece)
        assert seen.smallest_gap_mm > -1e-6

    def test_it_lies_on_the_skin_all_round(self, two_in_two):
        laid = two_in_two[2].piece
        skin = from_skin_mm(laid, FINGER)
        assert skin.min() == pytest.approx(0.0, abs=1e-4)
        way = np.arctan2(laid.centres_mm[:, 1], laid.centres_mm[:, 0])
        # But behind, where the clasp goes.
        for sixth in (0, 1, 2, 3, 5):
            there = np.floor((way + np.pi) / (2.0 * np.pi) * 6) == sixth
            assert skin[there].min() < 0.01

    def test_its_ends_are_behind_and_its_middle_in_front(self, two_in_two):
        laid = two_in_two[2].piece
        points = core_points(laid, 200)
        metal = np.abs(points[:, :, 0]) - laid.wire_radii_mm[:, None]
        behind = points[:, :, 1] > 0.0
        assert metal[behind].min() > 0.0
        # The gap is less than a repeat, or one more would have gone in.
        assert 2.0 * metal[behind].min() < 2.0 * 4.1
        assert metal[~behind].min() < 0.0

    def test_one_more_repeat_is_too_long(self, two_in_two):
        size = RingSize(1.1, 4.1)
        rule, unit = settled_of("two_in_two", size)
        more = 2 + max(int(name.split(".")[1]) for name in two_in_two[1].names)
        with pytest.raises(BadInput, match="too long to be worn round 54 mm"):
            worn(woven_piece(rule, unit, size.core_radius_mm, more), FINGER)


def test_two_linked_rings_on_a_form_that_is_nearly_flat():
    # As on a table: drawn apart, they lean half of the angle g to both sides of the skin, with
    # 1 - cos g = 2r / R, so that their centres are sqrt(r R) + r above it; see test_fall.
    radius, wire = 2.5, 0.6
    axes = np.array([[0.0, 1.0, 0.2], [0.0, -0.2, 1.0]]) / np.sqrt(1.04)
    pair = Piece(
        ("A.1", "A.2"), ("open", "open"), np.array([[-1.9, 0.0, 0.0], [1.9, 0.0, 0.0]]), axes,
        np.full(2, radius), np.full(2, wire),
    )  # fmt: skip
    form = Oval(2.0 * np.pi * 1e4 * radius, 1.0)
    lying = worn(pair, form)
    assert lying.settled
    away, _, along = form.clearance(lying.piece.centres_mm)
    # By what a hundredth of the pull does to it.
    assert away == pytest.approx(np.sqrt(wire * radius) + wire, rel=5e-3)
    assert np.ptp(along) == pytest.approx(2.0 * (radius - wire), abs=1e-3)
    # In front, one to each side.
    assert np.sort(lying.piece.centres_mm[:, 0]) == pytest.approx(
        [wire - radius, radius - wire], abs=1e-3
    )


def test_a_short_piece_of_a_mirrored_weave_is_worn_as_the_mirror_image():
    size = RingSize(1.0, 4.3)
    rule, unit = settled_of("spiral_4_in_1", size)
    piece = woven_piece(rule, unit, size.core_radius_mm, 3)
    over = np.array([1.0, -1.0, 1.0])
    image = replace(piece, centres_mm=piece.centres_mm * over, axes=piece.axes * over)
    one, other = worn(piece, FINGER), worn(image, FINGER)
    assert one.settled
    assert other.settled
    # What was across is up and down now; on a finger it may lie anywhere along that.
    mirrored = other.piece.centres_mm * [1.0, 1.0, -1.0]
    apart = mirrored - one.piece.centres_mm
    assert apart - apart.mean(axis=0) * [0.0, 0.0, 1.0] == pytest.approx(0.0, abs=1e-3)


def test_what_is_too_large_for_a_form_is_refused():
    size = RingSize(1.1, 4.1)
    rule, unit = settled_of("two_in_two", size)
    with pytest.raises(BadInput, match="too long to be worn round 6 mm"):
        fitting(rule, unit, size.core_radius_mm, Oval(6.0, 1.0))


def test_a_sheet_is_worn_as_a_cuff_by_the_ends_of_its_rows():
    size = RingSize(1.0, 4.5)
    rule, unit = settled_of("european_4_in_1", size)
    piece = fitting(rule, unit, size.core_radius_mm, FINGER, 2)
    lying = worn(piece, FINGER)
    assert lying.settled
    seen = second_opinion(lying.piece)
    assert seen.links == expected_links(rule, piece)
    assert seen.smallest_gap_mm > -1e-6
    assert from_skin_mm(lying.piece, FINGER).min() == pytest.approx(0.0, abs=1e-4)
    # Its rows go round, one above the other.
    across = np.ptp(core_points(lying.piece, 100)[:, :, 2]) + size.wire_mm
    assert across > 3.0 * size.inner_mm
