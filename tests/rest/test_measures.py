"""How a weave measures in each state: one unit and a piece agree, sheets grow as they are drawn."""

import pytest

from ringwright.answers.lying_figures import Looked, LyingFigures, lying_text
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.rest import measures
from ringwright.rest import unit as unit_module
from ringwright.rest.measures import lying_measures
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import HUNG, HUNG_BY_ROW, ON_TABLE, SPREAD, Body, worn_by

SIZE = RingSize(1.2, 5.1)


def measured(name, state):
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    return lying_measures(rule, settled.unit, SIZE.core_radius_mm, state)


def test_a_unit_measures_as_the_middle_of_a_piece(monkeypatch):
    of_unit = measured("byzantine", ON_TABLE)
    monkeypatch.setattr(unit_module, "can_lie", lambda unit: False)
    of_piece = measured("byzantine", ON_TABLE)
    assert of_unit.settled
    assert of_piece.settled
    assert of_unit.area_per_ring_mm2 is None
    assert of_piece.width_mm == pytest.approx(of_unit.width_mm, rel=5e-3)
    assert of_piece.thickness_mm == pytest.approx(of_unit.thickness_mm, rel=5e-3)


def test_a_simple_chain_lies_lower_than_its_rings_are_high():
    found = measured("one_in_one", ON_TABLE)
    # Two rings through each other lean against one another: lower than one on its edge.
    assert SIZE.wire_mm < found.thickness_mm < SIZE.inner_mm + 2 * SIZE.wire_mm - 0.5
    assert found.state is ON_TABLE


def test_what_turns_is_measured_on_a_piece():
    found = measured("spiral_4_in_1", ON_TABLE)
    ring_mm = SIZE.inner_mm + 2 * SIZE.wire_mm
    assert ring_mm < found.width_mm < 2 * ring_mm
    # A ring is a wire lower than it is wide where it lies flat, and no turn is thinner.
    assert found.thickness_mm > 2 * SIZE.wire_mm


def test_a_spiral_is_measured_with_the_range_of_its_windings(monkeypatch):
    monkeypatch.setattr(measures, "_LENGTH", 0.0)
    monkeypatch.setattr(measures, "_FEWEST", 6)
    rule = load_rule("spiral_4_in_1")
    settled = settle(rule, SIZE)
    assert settled is not None
    found = lying_measures(rule, settled.unit, SIZE.core_radius_mm, ON_TABLE, in_full=True)
    assert found.winds
    low, high = found.width_range_mm
    assert low <= found.width_mm <= high
    assert low < high - 1e-3


def test_a_sheet_has_an_area_for_each_ring_and_no_width(monkeypatch):
    # As small a piece as will do.
    monkeypatch.setattr(measures, "_LENGTH", 0.0)
    monkeypatch.setattr(measures, "_FEWEST", 3)
    monkeypatch.setattr(measures, "_ROWS", 3)
    spread, hung = (measured("european_4_in_1", state) for state in (SPREAD, HUNG_BY_ROW))
    assert spread.width_mm is hung.width_mm is None
    assert spread.settled
    # Spread is the largest there is.
    assert hung.area_per_ring_mm2 < spread.area_per_ring_mm2


def test_a_chain_hangs_as_wide_as_its_rings_at_least():
    found = measured("one_in_one", HUNG)
    assert found.width_mm > SIZE.inner_mm + 2 * SIZE.wire_mm - 1e-3


def test_worn_as_much_as_goes_round_is_measured():
    rule, size = load_rule("one_in_one"), RingSize(1.0, 4.0)
    unit = settle(rule, size).unit
    found = lying_measures(rule, unit, size.core_radius_mm, worn_by(Body("finger", 54.0)))
    assert found.settled
    assert found.fit.goes_round
    # With its gap it goes round just the finger, and one more repeat would be too much.
    assert found.fit.inside_mm + found.fit.open_mm == pytest.approx(54.0)
    assert found.fit.open_mm < 2.0 * size.inner_mm
    facts = LyingFigures.of(Looked(found)).facts()
    assert (facts["laid"], facts["worn_girth_mm"]) == ("worn", 54.0)
    assert facts["worn_repeats"] == found.fit.repeats
    assert "for the clasp" in lying_text(found)


def test_a_necklace_is_measured_by_its_length_alone():
    rule, size = load_rule("one_in_one"), RingSize(1.0, 4.0)
    unit = settle(rule, size).unit
    with pytest.raises(BadInput, match="as long as one likes"):
        lying_measures(rule, unit, size.core_radius_mm, worn_by(Body("neck", 360.0)))
