"""Pieces in the state that was asked for."""

import numpy as np
import pytest

from ringwright.answers.laid_figures import LaidFigures, laid_lines
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.sizes import RingSize
from ringwright.piece.piece import expected_links, place_in_weave, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest import laid as module
from ringwright.rest.laid import laid, laid_if_asked, upright
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.family import FAMILIES
from ringwright.weaves.rest_states import (
    HUNG,
    HUNG_BY_ENDS,
    HUNG_BY_ROW,
    NAMES,
    ON_TABLE,
    PULLED,
    SPREAD,
    SPREAD_AS_MIDDLE,
)

SIZE = RingSize(1.2, 5.1)


def woven(name, repeats, rows=1):
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    unit = settled.unit
    return rule, unit, woven_piece(rule, unit, SIZE.core_radius_mm, repeats, rows)


@pytest.fixture(scope="module")
def barrel():
    return woven("barrel", 2)


@pytest.mark.parametrize("state", [ON_TABLE, HUNG], ids=lambda state: state.name)
def test_a_chain_rests_as_the_same_rings(state, barrel):
    rule, unit, piece = barrel
    found = laid(rule, unit, piece, state)
    assert found.pulled is piece
    assert (found.piece.names, found.piece.roles) == (piece.names, piece.roles)
    assert found.lying.settled
    assert found.checked.smallest_gap_mm > -1e-5
    assert len(found.checked.links) > 0
    # It moved.
    assert np.abs(found.piece.axes - piece.axes).max() > 0.01


def test_a_sheet_is_spread():
    rule, unit, piece = woven("european_4_in_1", 3, 2)
    found = laid(rule, unit, piece, SPREAD)
    assert found.lying.settled
    figures = LaidFigures.of(found)
    assert (figures.state, figures.settled) == ("spread", True)
    assert figures.length_mm == pytest.approx(np.ptp(found.piece.centres_mm[:, 0]), abs=8.0)


def test_a_sheet_hangs_by_the_edge_that_is_asked_for():
    rule, unit, piece = woven("european_4_in_1", 2, 3)
    by_row, by_ends = (laid(rule, unit, piece, one).piece for one in (HUNG_BY_ROW, HUNG_BY_ENDS))
    # What is highest is at the lowest x.
    top = [piece.names[one.centres_mm[:, 0].argmin()] for one in (by_row, by_ends)]
    place = [place_in_weave(name)[1] for name in top]
    assert place[0][1] == 0
    assert place[1][0] == 0
    assert np.ptp(by_row.centres_mm[:, 0]) != pytest.approx(np.ptp(by_ends.centres_mm[:, 0]))


def test_upright_is_down_against_z(barrel):
    rule, _, piece = barrel
    turned = upright(piece)
    assert turned.centres_mm[:, 2] == pytest.approx(-piece.centres_mm[:, 0])
    assert second_opinion(turned).links == expected_links(rule, piece)


def test_a_rosette_is_set_down_and_not_pulled_apart():
    rule, unit, piece = woven("five_ring_rosette", 1)
    found = laid(rule, unit, piece, ON_TABLE)
    assert found.lying.settled
    long, wide, thick = found.lying.size_mm()
    ring_mm = SIZE.inner_mm + 2 * SIZE.wire_mm
    # About as long as wide, and flatter than a ring on its edge.
    assert long == pytest.approx(wide, rel=0.1)
    assert thick < ring_mm
    assert ring_mm < long < piece.length_mm() + 1e-6


class TestAsPicturesShowIt:
    def test_a_chain_lies_on_a_table(self, barrel):
        rule, unit, piece = barrel
        assert laid_if_asked(rule, unit, piece, None).state == ON_TABLE
        assert laid_if_asked(rule, unit, piece, PULLED) is None
        assert laid_if_asked(rule, unit, piece, HUNG).state == HUNG

    def test_what_turns_lies_on_it_too(self):
        rule, unit, piece = woven("spiral_4_in_1", 1)
        assert laid_if_asked(rule, unit, piece, None).state == ON_TABLE

    def test_all_of_a_sheet_lies_as_its_middle(self):
        rule, unit, piece = woven("european_4_in_1", 4, 3)
        found = laid_if_asked(rule, unit, piece, None)
        assert found.state == SPREAD_AS_MIDDLE
        assert found.lying.settled
        assert "its edges as its middle" in laid_lines(found)[0][1]
        # Rings of one kind lie alike.
        kinds = np.array([name[0] for name in piece.names])
        for kind in "PQ":
            axes = found.piece.axes[kinds == kind]
            assert np.ptp(axes, axis=0).max() < 1e-9
            assert np.ptp(found.piece.centres_mm[kinds == kind, 2]) < 1e-9

    def test_what_would_take_long_or_does_not_rest_stays_pulled_straight(self, barrel, monkeypatch):
        rule, unit, piece = barrel
        monkeypatch.setattr(module, "MOST_AS_USUAL", 5)
        assert laid_if_asked(rule, unit, piece, None) is None
        monkeypatch.setattr(module, "MOST_AS_USUAL", 500)

        def restless(*_):
            raise NoRest("rings are in each other's way")

        monkeypatch.setattr(module, "_sound", restless)
        assert laid_if_asked(rule, unit, piece, None) is None
        with pytest.raises(NoRest):
            laid_if_asked(rule, unit, piece, ON_TABLE)


def test_progress_is_called_by_what_is_done_and_ends_full(barrel):
    heard = []
    laid(*barrel, ON_TABLE, lambda *told: heard.append(told))
    assert {what for what, _, _ in heard} == {"barrel, lying on a table"}
    assert [done for _, done, _ in heard[:3]] == [0, 1, 2]
    assert heard[-1][1] == heard[-1][2]


def test_what_is_not_at_rest_is_said(barrel, monkeypatch):
    rule, unit, piece = barrel
    still = laid(rule, unit, piece, ON_TABLE).lying
    restless = type(still)(still.piece, 3e-3, 300, settled=False)
    monkeypatch.setitem(module._WAYS, ON_TABLE, lambda piece, told, near: restless)
    found = laid(rule, unit, piece, ON_TABLE)
    assert not LaidFigures.of(found).settled
    said = dict(laid_lines(found))["not quite at rest"]
    assert "300 rounds" in said
    assert "0.003" in said


def test_rings_in_each_others_way_are_not_shown(barrel, monkeypatch):
    rule, unit, piece = barrel
    still = laid(rule, unit, piece, ON_TABLE).lying
    # Thicker wire than there is room for.
    thick = type(piece)(
        piece.names, piece.roles, still.piece.centres_mm, still.piece.axes,
        piece.core_radii_mm, piece.wire_radii_mm + 0.01,
    )  # fmt: skip
    deep = type(still)(thick, 1e-2, 300, settled=False)
    monkeypatch.setitem(module._WAYS, ON_TABLE, lambda piece, told, near: deep)
    with pytest.raises(NoRest, match=r"0\.02 mm into each other"):
        laid(rule, unit, piece, ON_TABLE)


def test_too_many_rings_are_refused(monkeypatch, barrel):
    monkeypatch.setattr(module, "MOST_LAID", 5)
    with pytest.raises(BadInput, match="which is 5 at most"):
        laid(*barrel, ON_TABLE)


def test_every_family_lies_on_a_table_in_a_state_of_its_own():
    for family in FAMILIES.values():
        assert family.states[0] is PULLED
        assert family.lies in family.states
        assert {state.name for state in family.states} <= set(NAMES)
        others = [state for state in family.states if state is not PULLED and not state.body]
        assert all(state in module._WAYS for state in others)
    assert FAMILIES["sheet"].lies is SPREAD
    assert FAMILIES["chain"].lies is ON_TABLE
