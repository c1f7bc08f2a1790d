"""What a check adds of how a weave lies, in JSON and in words."""

from dataclasses import replace

import jsonschema
import pytest

import ringwright as rw
from ringwright.answers.lying_figures import Looked, LyingFigures, lying_text
from ringwright.base.figures import LEFT_OUT
from ringwright.commands.json_schema import schema_of
from ringwright.rest.measures import LyingMeasures, OtherWay, SheetAreas
from ringwright.weaves.rest_states import HUNG_BY_ROW, ON_TABLE, SPREAD

CHAIN = LyingMeasures(ON_TABLE, 6.125, 5.5, None, 3e-8, True)
AREAS = SheetAreas(12.5, (10.0, 8.0))
SHEET = LyingMeasures(SPREAD, None, 3.25, 12.5, 3e-8, True, areas=AREAS)


def test_a_chain_is_told_by_width_and_thickness():
    facts = LyingFigures.of(Looked(CHAIN)).facts()
    assert facts == {
        "laid": "on-table",
        "lying_width_mm": 6.125,
        "lying_thickness_mm": 5.5,
        "lying_residual": 3e-8,
        "lying_settled": True,
    }
    said = " ".join(lying_text(CHAIN).split())
    assert said == "as it lies 6.12 mm wide, 5.50 mm thick, lying on a table"


def test_a_spiral_tells_how_it_winds_otherwise():
    spiral = replace(CHAIN, width_range_mm=(6.0, 6.5), thickness_range_mm=(5.48, 5.5), winds=True)
    said = " ".join(lying_text(spiral).split())
    assert "or else 6.00 to 6.50 mm wide, as pieces" in said
    assert "thick, as pieces" not in said


def test_a_chain_that_snaps_tells_the_other_way_it_lies():
    snaps = replace(CHAIN, other=OtherWay(8.5, 4.25, -0.053))
    facts = LyingFigures.of(Looked(snaps)).facts()
    assert facts["lying_other_width_mm"] == 8.5
    assert facts["lying_other_thickness_mm"] == 4.25
    assert facts["lying_other_longer_percent"] == pytest.approx(-5.3)
    said = " ".join(lying_text(snaps).split())
    assert "also at rest 8.50 mm wide, 4.25 mm thick, 5.3 % shorter" in said
    alike = replace(CHAIN, other=OtherWay(8.5, 4.25, 2e-4))
    assert "4.25 mm thick, as long:" in " ".join(lying_text(alike).split())


def test_a_sheet_is_told_by_what_a_ring_takes():
    facts = LyingFigures.of(Looked(SHEET)).facts()
    assert facts["spread_area_per_ring_mm2"] == 12.5
    assert facts["hung_area_per_ring_mm2"] == [10.0, 8.0]
    assert not {"lying_width_mm", "hung_area_untold"} & facts.keys()
    spread, by_row, by_ends = lying_text(SHEET).splitlines()[1:]
    # 100 / 12.5, and a square inch is 645.16 mm2.
    assert "8.00 per square cm" in spread
    assert "51.6 per square inch" in spread
    assert "10.00 per square cm" in by_row
    assert "12.50 per square cm" in by_ends


def test_a_hung_sheet_tells_the_same_areas():
    hung = LyingMeasures(HUNG_BY_ROW, None, 3.25, 10.0, 3e-8, True, areas=AREAS)
    facts = LyingFigures.of(Looked(hung)).facts()
    assert facts["hung_area_per_ring_mm2"] == [10.0, 8.0]
    assert lying_text(hung).startswith("  as it hangs")


@pytest.mark.parametrize(
    ("hung", "named"),
    [
        ((None, None), "hung  "),
        ((10.0, None), "hung by the ends"),
        ((None, 8.0), "hung by its row"),
    ],
)
def test_an_area_that_only_friction_decides_is_no_figure(hung, named):
    folds = replace(SHEET, areas=SheetAreas(12.5, hung))
    facts = LyingFigures.of(Looked(folds)).facts()
    assert facts["hung_area_per_ring_mm2"] == list(hung)
    assert "friction" in facts["hung_area_untold"]
    said = lying_text(folds)
    assert said.count("per square cm") == 1 + sum(area is not None for area in hung)
    (untold,) = [line for line in said.splitlines() if "no figure" in line]
    assert untold.strip().startswith(named)


def test_what_is_not_at_rest_is_said():
    rough = LyingMeasures(ON_TABLE, 6.0, 5.0, None, 2e-4, False)
    assert "not quite at rest" in lying_text(rough)
    assert "0.0002" in lying_text(rough)
    assert "not quite at rest" not in lying_text(CHAIN)


def test_a_check_is_as_it_was_unless_asked():
    asked = rw.check("one-in-one", wire="1mm", inner="4mm", laid="on-table")
    plain = rw.check("one-in-one", wire="1mm", inner="4mm")
    more = asked.facts()
    jsonschema.validate(more, schema_of("check"))
    assert {key: more[key] for key in plain.facts()} == plain.facts()
    assert "lying_thickness_mm" in more.keys() - plain.facts().keys()
    assert asked.text().startswith(plain.text())
    assert "lying on a table" in asked.text()


def test_what_cannot_be_woven_lies_nowhere():
    found = rw.check("one-in-one", wire="1mm", inner="1.5mm", laid="on-table")
    assert found.lying is None
    assert "laid" not in found.facts()
    with pytest.raises(rw.BadInput, match="not for one-in-one"):
        rw.check("one-in-one", wire="1mm", inner="1.5mm", laid="spread")


def test_what_a_touch_moves_is_said_where_a_ruler_would_tell():
    free = replace(CHAIN, width_range_mm=(5.5, 6.25), thickness_range_mm=(5.5, 5.52))
    assert "with a touch            5.50 to 6.25 mm wide, all as good as at rest" in lying_text(
        free
    )
    held = replace(CHAIN, width_range_mm=(6.1, 6.15), thickness_range_mm=(5.5, 5.52))
    assert "touch" not in lying_text(held)
    figures = LyingFigures.of(Looked(free))
    assert figures.lying_width_range_mm == (5.5, 6.25)
    assert LyingFigures.of(Looked(CHAIN)).lying_width_range_mm is LEFT_OUT
