"""The model's part of the page, without a browser."""

import pytest

from generator.bench.colours import coloured, legend
from generator.bench.wanted import Wanted, from_mapping
from generator.bench.whole_piece import MOST_RINGS, whole_piece
from generator.climb import Unit
from generator.errors import BadInput
from generator.piece import woven_piece
from generator.settle import settle
from generator.sizes import RingSize
from weaves import WeaveRule, load_rule

SIZE = RingSize(0.9, 3.2)


@pytest.fixture(scope="module")
def sheet() -> tuple[WeaveRule, Unit]:
    rule = load_rule("european-4-in-1")
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, settled.unit


def test_the_whole_piece_is_as_long_and_wide_as_wanted(sheet: tuple[WeaveRule, Unit]) -> None:
    rule, unit = sheet
    whole = whole_piece(rule, SIZE, unit, (60.0, 30.0))
    repeat_mm = unit.repeat * SIZE.core_radius_mm
    assert 60.0 <= whole.length_mm < 60.0 + repeat_mm
    assert abs(whole.smallest_gap_mm) < 1e-6
    # Inside a sheet of four in one every ring runs through four others; the edges lack some.
    assert 1.5 * len(whole.piece) < whole.links < 2 * len(whole.piece)
    with pytest.raises(BadInput, match=str(MOST_RINGS)):
        whole_piece(rule, SIZE, unit, (450.0, 250.0))


def test_colours_are_those_of_the_command_and_counted(sheet: tuple[WeaveRule, Unit]) -> None:
    rule, unit = sheet
    piece = woven_piece(rule, unit, SIZE.core_radius_mm, 5, 4)
    by_role = legend(coloured(piece, rule, "role"))
    assert sum(entry.rings for entry in by_role) == len(piece)
    assert [entry.rings for entry in by_role] == [
        piece.roles.count(role) for role in ("closed", "open")
    ]
    turns = legend(coloured(piece, rule, "2*copper,brass"))
    assert {entry.name: entry.rings for entry in turns} == {"copper": 27, "brass": 13}
    parts = legend(coloured(piece, rule, "open=copper,closed=steel/brass"))
    assert {entry.name for entry in parts} == {"copper", "steel", "brass"}
    with pytest.raises(BadInput, match="Metals"):
        coloured(piece, rule, "Q=copper")


def test_what_is_only_looked_at_in_another_way_asks_nothing_of_the_solver() -> None:
    one = Wanted()
    other = from_mapping({"view": "whole", "paint": "copper", "length": "7in", "lengths": "inch"})
    assert other.ring_alone() == one.ring_alone()
    assert from_mapping({"wire": "0.8mm"}).ring_alone() != one.ring_alone()
    with pytest.raises(BadInput, match="view"):
        from_mapping({"view": "none"})
