"""The end of a sheet or strip that gets narrower, as the assembly sheet draws and tells it."""

import re

import pytest

from ringwright.answers.verdict import check
from ringwright.base.sizes import RingSize
from ringwright.outputs.assembly_sheet.sheet_figures import whole_numbers
from ringwright.outputs.assembly_sheet.tapered import tapered
from ringwright.piece.piece import check_piece
from ringwright.weaves import load_rule

SIZE = RingSize(0.9, 4.0)


def drawn(name):
    report = check(load_rule(name), SIZE)
    return tapered(report.rule, report.unit, SIZE.core_radius_mm)


@pytest.mark.parametrize("name", ["european-4-in-1-strip-5", "european-4-in-1"])
def test_every_ring_of_a_taper_goes_through_those_that_its_words_name(name):
    card = drawn(name)
    piece = card.view.piece
    checked = check_piece(piece)
    links = set(map(frozenset, checked.links))
    assert checked.smallest_gap_mm > -1e-9
    parts = re.split(r"(T\d+) through ", card.text.partition(". The clasp")[0])[1:]
    told = [
        (ring, re.findall(r"[ET]\d+", through))
        for ring, through in zip(parts[::2], parts[1::2], strict=True)
    ]
    assert [ring for ring, _ in told] == sorted(name for name in piece.names if name[0] == "T")
    there = {name for name in piece.names if name[0] != "T"}
    for ring, through in told:
        linked = {one for one in there if frozenset((ring, one)) in links}
        assert set(through) == linked
        assert len(through) == len(linked) >= 2
        there.add(ring)
    # All that is named has its number in the picture.
    numbered = {piece.names[ring] for ring in card.view.scene.through}
    assert numbered == {one for one in piece.names if one[0] in "ET"}
    assert f"clasp's ring goes through {told[-1][0]}." in card.text


def test_an_end_that_one_ring_holds_needs_no_taper():
    assert drawn("one-in-one") is None


def test_names_of_rings_that_are_no_numbers_have_no_number():
    assert whole_numbers({"3": "open", "T1": "closed", "laid A[0]": "open"}) == {3: "open"}
