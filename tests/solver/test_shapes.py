"""Weaves that close tighter in another shape: it is the same weave, and it is real."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.minimums import AGREE, usual_size, with_other_shapes
from ringwright.answers.ratio_limits import CANNOT
from ringwright.answers.report import report_text
from ringwright.answers.verdict import check, limits_of
from ringwright.base.sizes import RingSize
from ringwright.outputs.sweep.sweep import row
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.solver.climb import climb, nearest_to
from ringwright.solver.placement import linked_pairs, placed_unit, ring_radii, rule_links
from ringwright.solver.shapes import other_shape, with_two_repeats
from ringwright.solver.tightest import tightest
from ringwright.weaves import list_rules, load_rule

SHAPED = {rule.name: rule for rule in list_rules() if rule.computed.shape is not None}


def size_of(rule):
    """A ring just above the smallest that closes."""
    return RingSize(1.0, rule.computed.geometric + 1e-4)


def test_the_weaves_that_makers_say_curl_or_wind_have_another_shape():
    assert {"spiral-3-in-1", "half-persian-3-in-1", "european-6-in-1-strip-3"} <= set(SHAPED)
    found = {name: rule.computed.geometric for name, rule in SHAPED.items()}
    # Makers have the half Persian curl below 3.9, just possible below 3.7: common practice.
    assert found["spiral-3-in-1"] == pytest.approx(2.91, abs=0.01)
    assert found["half-persian-3-in-1"] == pytest.approx(3.65, abs=0.01)
    assert found["european-6-in-1-strip-3"] == pytest.approx(4.325, abs=1e-3)


@pytest.mark.parametrize("name", SHAPED)
class TestKeptShape:
    def test_it_closes_as_tight_as_the_file_says(self, name):
        rule = SHAPED[name]
        kept, found = rule.computed, other_shape(rule, size_of(rule), rule.computed)
        assert found.tightest.aspect_ratio == pytest.approx(kept.geometric, abs=1e-4)
        assert kept.geometric >= found.tightest.aspect_ratio - 1e-7
        assert kept.geometric < kept.as_laid * (1.0 - AGREE / 2)

    def test_a_long_piece_has_all_links_and_no_overlap_by_a_second_look(self, name):
        """Twenty repeats are several full turns, which a look at a few would overlook."""
        rule = SHAPED[name]
        size = size_of(rule)
        found = other_shape(rule, size, rule.computed)
        unit = found.tightest.unit.with_wire_radii(ring_radii(found.rule, size)[1])
        piece = woven_piece(found.rule, unit, size.core_radius_mm, 20)
        again = second_opinion(piece)
        assert again.smallest_gap_mm >= 0.0
        assert again.links == expected_links(found.rule, piece)
        assert set(linked_pairs(unit)) == set(rule_links(found.rule))

    def test_rings_get_from_it_to_the_rules_own_placement_and_none_passes_another(self, name):
        """The solver, which lets no ring through another, leads from the one to the other."""
        rule = SHAPED[name]
        size = size_of(rule)
        shape = rule.computed.shape
        own = placed_unit(with_two_repeats(rule) if shape.two_repeats else rule, size)
        unit = other_shape(rule, size, rule.computed).tightest.unit
        unit = unit.with_wire_radii(1e-3 * unit.rings.wire_radii)
        values = np.zeros(len(unit.lattice.values))
        values[: len(own.lattice.values)] = own.lattice.values
        end = climb(unit, nearest_in(own.rings, values), tolerance=1e-9).unit
        assert end.rings.centres == pytest.approx(own.rings.centres, abs=1e-4)
        assert end.rings.axes == pytest.approx(own.rings.axes, abs=1e-4)
        assert end.lattice.values == pytest.approx(values, abs=1e-4)


def nearest_in(rings, values):
    """As near to these rings as they get, and to these values of the lattice."""
    goal = nearest_to(rings, values[1] if len(values) > 1 else None)
    first = 5 * len(rings.centres)

    def slope(unit):
        along = goal.slope(unit).copy()
        along[first] = values[0] - unit.lattice.values[0]
        return along

    return replace(
        goal,
        value=lambda unit: goal.value(unit) - 0.5 * (values[0] - unit.lattice.values[0]) ** 2,
        slope=slope,
        values_free=(True,) * len(values),
    )


@pytest.mark.parametrize("name", ["spiral-3-in-1", "half-persian-3-in-1"])
def test_a_size_between_closes_in_the_other_shape_and_one_below_does_not(name):
    rule = SHAPED[name]
    limit = tightest(rule, usual_size(rule), starts=3, workers=0)
    kept = rule.computed
    assert limit.aspect_ratio == pytest.approx(kept.as_laid, abs=1e-3)
    between = RingSize(1.0, (kept.geometric + kept.as_laid) / 2)
    report = check(rule, between, limit=limit)
    assert report.can_be_woven
    assert report.verdict != CANNOT
    assert report.shape is not None
    assert report.limits.minimum == pytest.approx(kept.geometric, abs=1e-3)
    straight = check(rule, RingSize(1.0, kept.as_laid + 0.2), limit=limit)
    assert straight.shape is None
    below = check(rule, RingSize(1.0, 0.95 * kept.geometric), limit=limit)
    assert below.verdict == CANNOT
    assert below.collisions


@pytest.fixture(scope="module")
def own(tmp_path_factory):
    text = SHAPED["spiral-3-in-1"].path.read_text(encoding="utf-8")
    before, rest = text.split("[computed]\n")
    path = tmp_path_factory.mktemp("own") / "my-spiral.toml"
    path.write_text(before + rest[rest.index("[[ring]]") :], encoding="utf-8")
    rule = load_rule(str(path))
    assert rule.computed is None
    return rule


@pytest.fixture(scope="module")
def limit(own):
    return tightest(own, usual_size(own), starts=3, workers=0)


class TestRuleWithoutKeptMinimums:
    """A maker's own rule: the shapes that its file does not keep are looked for before a no."""

    def test_below_its_own_minimum_it_closes_wound_further(self, own, limit):
        assert limit.aspect_ratio > 3.29
        report = check(own, RingSize(1.0, 3.1), limit=limit)
        assert report.can_be_woven
        assert report.verdict != CANNOT
        assert report.shape == "wound further"
        assert report.limits.minimum == pytest.approx(2.907, abs=2e-3)
        facts = CheckFigures.of(report).facts()
        assert facts["tightest_shape"] == "wound further"
        assert facts["straight_min_aspect_ratio"] == pytest.approx(limit.aspect_ratio, abs=1e-4)
        assert facts["kept_minimums"] is None
        told = " ".join(report_text(report, why=True).split())
        assert "At this size it closes only wound further" in told
        assert "found now" in told
        assert "file keeps" not in told

    def test_a_sweep_and_a_shelf_are_told_the_same(self, own, limit):
        known = with_other_shapes(own, [RingSize(1.0, 5.0), RingSize(1.0, 3.1)], limit)
        assert limits_of(own, RingSize(1.0, 3.1), known).closes(3.1)
        assert row(own, RingSize(1.0, 3.1), known).verdict != CANNOT
        assert with_other_shapes(own, [RingSize(1.0, 4.0)], known) is known

    def test_nothing_is_searched_where_the_answer_is_known(self, own, limit):
        assert with_other_shapes(own, [RingSize(1.0, 5.0)], limit) is limit
        # Three wires through each ring: none closes below 2.1547 (Graham 1968).
        assert with_other_shapes(own, [RingSize(1.0, 2.1)], limit) is limit
        kept = SHAPED["spiral-3-in-1"]
        assert with_other_shapes(kept, [RingSize(1.0, 3.1)], limit) is limit
        assert check(own, RingSize(1.0, 2.1), limit=limit).verdict == CANNOT
