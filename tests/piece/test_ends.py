"""How pieces end: which rings are there, whether one ring holds them all, and tapers."""

from functools import cache

import numpy as np
import pytest

from ringwright.answers.verdict import check
from ringwright.base.sizes import RingSize
from ringwright.piece.ends import (
    end_rings,
    gathered_by_one,
    names_of,
    refs_of,
    taper,
    with_tapers,
)
from ringwright.piece.piece import check_piece, expected_links, woven_piece
from ringwright.weaves import load_rule

# A ratio in the working range of each.
RATIOS = {
    "one-in-one": 4.0,
    "byzantine": 4.2,
    "european-4-in-1-strip-3": 4.5,
    "european-4-in-1-strip-5": 4.5,
    "european-4-in-1": 4.5,
}
STRIP = "european-4-in-1-strip-5"


@cache
def made(weave, repeats=4, rows=1):
    rule = load_rule(weave)
    size = RingSize(1.0, RATIOS[weave])
    unit = check(rule, size).unit
    return (
        rule,
        unit,
        size.core_radius_mm,
        woven_piece(rule, unit, size.core_radius_mm, repeats, rows),
    )


def ends(weave, **more):
    rule, _, _, piece = made(weave, **more)
    return [names_of(rule, one) for one in end_rings(rule, piece)]


@pytest.mark.parametrize(
    ("weave", "first", "last"),
    [
        ("one-in-one", ("Y.0",), ("Y.4",)),
        ("byzantine", ("F1.0", "F2.0"), ("F1.4", "F2.4")),
        (STRIP, ("R1.0", "R3.0", "R5.0"), ("R1.4", "R3.4", "R5.4")),
    ],
)
def test_the_rings_at_both_ends_are_found(weave, first, last):
    assert ends(weave) == [first, last]


def test_a_sheet_ends_in_one_ring_for_every_second_row():
    """Rows of a European sheet lie by half a ring further in and out by turns."""
    first, last = ends("european-4-in-1", rows=5)
    assert len(first) == len(last) == 5


@pytest.mark.parametrize("weave", RATIOS)
def test_one_ring_holds_an_end_where_a_ring_of_the_weave_would(weave):
    """Rings in three rows lie 2.5 core radii apart, so no ring, 2 core radii wide, holds all."""
    rule, _, _, piece = made(weave, rows=3 if weave == "european-4-in-1" else 1)
    both = end_rings(rule, piece)
    fits = [gathered_by_one(rule, refs_of(piece), one) for one in both]
    places = dict(zip(piece.names, piece.centres_mm, strict=True))
    for one, found in zip(both, fits, strict=True):
        across = np.ptp([places[name][1] for name in names_of(rule, one)])
        widest = float(piece.core_radii_mm.max())
        # One ring's hole reaches from the hole of one ring into that of another.
        assert found == (across < 4.0 * widest - 2.0 * float(piece.wire_radii_mm.max()))


@pytest.mark.parametrize(("weave", "rows"), [(STRIP, 1), ("european-4-in-1", 4)])
def test_a_taper_lies_as_the_weave_does_and_every_ring_is_held_twice(weave, rows):
    rule, unit, core_mm, piece = made(weave, rows=rows)
    there = refs_of(piece)
    tapers = [taper(rule, there, one) for one in end_rings(rule, piece)]
    tapered = with_tapers(rule, unit, core_mm, piece, tapers)
    width = len(end_rings(rule, piece)[1])
    for one in tapers:
        # One ring fewer each time: half way out of every two rings lies the next.
        assert [len(layer) for layer in one.layers] == list(range(width - 1, 0, -1))
    assert tapered.names[: len(piece)] == piece.names
    assert len(tapered) == len(piece) + width * (width - 1)
    measured, plain = check_piece(tapered), check_piece(piece)
    assert measured.smallest_gap_mm > plain.smallest_gap_mm - 1e-9
    assert measured.links == expected_links(rule, tapered)
    held = dict.fromkeys(tapered.names, 0)
    for pair in measured.links:
        for name in pair:
            held[name] += 1
    assert min(held[name] for name in tapered.names[len(piece) :]) >= 2
    assert tapered.length_mm() > piece.length_mm()


def test_what_does_not_get_narrower_has_no_taper():
    rule, _, _, piece = made("byzantine")
    assert taper(rule, refs_of(piece), end_rings(rule, piece)[1]) is None
