"""The model pulled by hand, without a browser: followed, never passed through, at rest again."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.page.main_view.by_hand import grip_of
from ringwright.page.worked_out.at_rest import settled_in
from ringwright.page.worked_out.by_hand import (
    Grip,
    Pulled,
    a_moment_later,
    homeward,
    laid_hold_of,
    settled_again,
)
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.solver.measure import extent
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import HUNG

SIZE = RingSize(0.9, 3.9)


def quiet(*step: object) -> None:
    """Nobody waits."""


@pytest.fixture(scope="module")
def chain():
    rule = load_rule("half-persian-3-in-1")
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, settled.unit, woven_piece(rule, settled.unit, SIZE.core_radius_mm, 4)


@pytest.fixture(scope="module")
def lying(chain):
    """As it lies before anybody has pulled at it."""
    lies = settled_in(quiet, None, *chain)
    assert lies is not None
    assert lies.said == "lying on a table"
    return lies


def between(piece, before, after, share):
    """A piece as the page draws it between two moments, each axis the nearer of its two ways."""
    one, other = before.poses_mm().astype(float), after.poses_mm().astype(float)
    same = np.einsum("ni,ni->n", one[:, 3:], other[:, 3:])
    one[:, 3:] *= np.where(same < 0.0, -1.0, 1.0)[:, None]
    now = one + share * (other - one)
    axes = now[:, 3:] / np.linalg.norm(now[:, 3:], axis=1)[:, None]
    return replace(piece, centres_mm=now[:, :3], axes=axes)


def deepest_percent(piece):
    """How deep rings are in one another, in per cent of the wire, by sampling."""
    return -100.0 * second_opinion(piece).smallest_gap_mm / SIZE.wire_mm


def pulled(chain, way, moments=18):
    """A piece whose last ring was pulled some way, in steps."""
    rule, _, piece = chain
    moving = laid_hold_of(rule, piece)
    last = int(piece.centres_mm[:, 0].argmax())
    taken = piece.centres_mm[last]
    for step in range(1, moments + 1):
        target = taken + np.array(way) * min(1.0, 1.5 * step / moments)
        moving = a_moment_later(moving, Grip(last, tuple(taken), tuple(target)))
    return moving, last, target


def test_a_piece_begins_to_move_from_where_it_is_shown(chain):
    rule, _, piece = chain
    moving = laid_hold_of(rule, piece)
    assert moving.poses_mm()[:, :3] == pytest.approx(piece.centres_mm, abs=1e-5)
    assert moving.poses_mm()[:, 3:] == pytest.approx(piece.axes, abs=1e-6)


def test_the_ring_goes_where_the_hand_draws_it(chain):
    moving, last, target = pulled(chain, (1.0, 3.0, 2.0), moments=24)
    # The others hang from it, and hold it back by little.
    assert moving.of(chain[2]).centres_mm[last] == pytest.approx(target, abs=0.2)
    assert not moving.is_still


@pytest.mark.parametrize("way", [(-9.0, 4.0, 6.0), (1e9, 0.0, 0.0), (0.0, 0.0, -50.0)])
def test_no_ring_passes_through_another_or_the_table(chain, way):
    rule, _, piece = chain
    moving = pulled(chain, way)[0]
    now = moving.of(piece)
    seen = second_opinion(now)
    assert seen.links == expected_links(rule, piece)
    assert deepest_percent(now) < 0.2
    lean = np.sqrt(1.0 - now.axes[:, 2] ** 2)
    lowest = now.centres_mm[:, 2] - now.core_radii_mm * lean - now.wire_radii_mm
    assert lowest.min() > moving.table_mm - 0.05


def test_let_go_it_falls_back_and_comes_to_rest_where_it_was(chain, lying):
    rule, unit, piece = chain
    moving = pulled(chain, (-5.0, 6.0, 4.0))[0]
    bent_mm = moving.of(piece).length_mm()
    for _ in range(60):
        moving = a_moment_later(moving, None)
    assert moving.hand is None
    assert moving.of(piece).length_mm() > max(piece.length_mm(), bent_mm + 1.0)
    again = settled_again(quiet, Pulled(rule, unit, piece, None, piece), moving.of(piece)).piece
    seen = second_opinion(again)
    assert seen.links == expected_links(rule, piece)
    assert seen.smallest_gap_mm > -1e-5
    assert again.length_mm() == pytest.approx(lying.piece.length_mm(), abs=0.02)
    middle = sum(extent(piece.rings(), np.array([1.0, 0.0, 0.0])))
    for one in (again, lying.piece):
        assert sum(extent(one.rings(), np.array([1.0, 0.0, 0.0]))) == pytest.approx(middle)


def test_it_goes_home_ring_by_ring_from_a_fold_and_none_passes_another(chain, lying):
    rule, _, straight = chain
    links = expected_links(rule, straight)
    moving = laid_hold_of(rule, lying.piece)
    last = int(lying.piece.centres_mm[:, 0].argmax())
    taken, long_mm = lying.piece.centres_mm[last], lying.piece.length_mm()
    for step in range(1, 31):
        target = taken + np.array([-1.1, 0.1, 0.1]) * long_mm * min(1.0, step / 20)
        moving = a_moment_later(moving, Grip(last, tuple(taken), tuple(target)))
    assert moving.of(straight).length_mm() < 0.8 * long_mm
    moving, moments = homeward(moving, lying), 0
    while not moving.is_home:
        before, moving, moments = moving, a_moment_later(moving, None), moments + 1
        assert moments < 120
        # As they are worked out, and as they are drawn between two moments.
        assert deepest_percent(moving.of(straight)) < 0.2
        assert deepest_percent(between(straight, before, moving, 0.5)) < 1.0
        if moments % 10 == 0:
            assert second_opinion(moving.of(straight)).links == links
    assert moments > 5
    # What is shown last goes no farther than an eye follows.
    there = moving.of(straight).centres_mm
    assert np.abs(there - lying.piece.centres_mm).max() < 0.2 * SIZE.core_radius_mm


def test_a_chain_let_go_in_a_heap_is_laid_down_anew(chain, lying):
    """Drawn by ends that are in the middle of a heap, not all of its length would come out."""
    rule, unit, piece = chain
    moving = laid_hold_of(rule, piece)
    low, high = (int(at(piece.centres_mm[:, 0])) for at in (np.argmin, np.argmax))
    taken = piece.centres_mm[high]
    beyond = piece.centres_mm[low] + np.array([0.0, 3.0, 3.0])
    for step in range(1, 26):
        target = taken + (beyond - taken) * step / 20
        moving = a_moment_later(moving, Grip(high, tuple(taken), tuple(target)))
    folded = moving.of(piece)
    assert folded.length_mm() < 0.8 * piece.length_mm()
    again = settled_again(quiet, Pulled(rule, unit, piece, lying, lying.piece), folded)
    assert again.piece.length_mm() > 0.98 * lying.piece.length_mm()


def test_what_comes_down_about_where_it_lay_lies_there_again(chain, lying):
    rule, unit, piece = chain
    known = Pulled(rule, unit, piece, lying, lying.piece)
    shifted = replace(lying.piece, centres_mm=lying.piece.centres_mm + 0.3)
    assert settled_again(quiet, known, shifted) is lying
    # A ring that stands where it lay flat, or has gone elsewhere, does not lie as it did.
    over = lying.piece.axes.copy()
    over[0] = np.cross(over[0], [0.0, 1.0, 0.0])
    over[0] /= np.linalg.norm(over[0])
    assert settled_again(quiet, known, replace(lying.piece, axes=over)) is not lying


def test_what_is_no_hand_is_not_followed():
    place = [1.0, 2, 3.5]
    good = {"ring": 3, "taken": place, "target": place}
    assert grip_of(good) is not None
    for wrong in (
        *(None, 7, "ring", []),
        {**good, "ring": "3"},
        {**good, "ring": None},
        {**good, "taken": [1.0, 2.0]},
        {**good, "target": [1.0, 2.0, float("nan")]},
        {**good, "target": [1.0, 2.0, "3"]},
        {**good, "target": "abc"},
    ):
        assert grip_of(wrong) is None


def test_hung_it_hangs_down_and_lies_on_no_table(chain):
    rule, unit, piece = chain
    hangs = settled_in(quiet, HUNG, rule, unit, piece)
    assert hangs is not None
    assert not hangs.on_table
    assert hangs.said == "hung from its first ring"
    low, high = hangs.piece.centres_mm.min(axis=0), hangs.piece.centres_mm.max(axis=0)
    # Down is down, and the middle is where it was.
    assert (high - low)[2] > 2 * max((high - low)[:2])
    assert second_opinion(hangs.piece).links == expected_links(rule, piece)
    _, _, up = np.eye(3)
    middle = sum(extent(piece.rings(), up))
    assert sum(extent(hangs.piece.rings(), up)) == pytest.approx(middle)
