"""What must hold for every weave that comes with the program, however many there are.

What is known of a single weave from outside stands in the tests of its family.
"""

import re
from dataclasses import replace
from functools import cache

import cadquery as cq
import numpy as np
import pytest

from ringwright.answers.minimums import AGREE, EXPLAINED_BEYOND, range_against_minimum, usual_size
from ringwright.answers.ratio_limits import AT_LIMIT
from ringwright.answers.verdict import check
from ringwright.base.sizes import RingSize
from ringwright.falling.at_rest import AT_REST
from ringwright.movement.assembly import largest, working_minimum
from ringwright.outputs.models.write_step import write_step
from ringwright.piece.piece import check_piece, expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.solver.placement import linked_pairs, placed_unit, ring_radii, rule_links
from ringwright.solver.searched import searched
from ringwright.solver.settle import settle
from ringwright.solver.tightest import known_tightest, tightest
from ringwright.weaves import Minimums, list_rules

RULES = {rule.name: rule for rule in list_rules()}
STATED = ("common practice, no source", "from memory")

# The smallest circle that holds n circles of diameter 1, for n = 1 to 12: published optima
# (Graham et al., "Dense packings of congruent circles in a circle", Discrete Mathematics 181
# (1998), table; from memory).
PACKED = (1, 2, 2.1547, 2.4142, 2.7013, 3, 3, 3.3047, 3.6131, 3.8130, 3.9238, 4.0296)


@cache
def limit_of(name):
    rule = RULES[name]
    return tightest(rule, usual_size(rule), workers=0)


@cache
def report_of(name):
    rule = RULES[name]
    return check(rule, usual_size(rule), limit=limit_of(name))


def piece_of(name):
    report = report_of(name)
    return woven_piece(report.rule, report.unit, report.size.core_radius_mm, 3, 2)


def wires_through(rule):
    """How many wires each ring has in its eye: one for each ring it is linked with."""
    count = dict.fromkeys((ring.name for ring in rule.rings), 0)
    for link in rule.links:
        count[link.first.name] += 1
        count[link.second.name] += 1
    return count


@pytest.mark.parametrize("name", RULES)
class TestEveryWeave:
    def test_says_what_it_is_and_where_its_range_comes_from(self, name):
        rule = RULES[name]
        assert rule.summary
        provenance = rule.common_aspect_ratio.provenance
        assert provenance in STATED or provenance.startswith("source: ")
        # The file says how the weave was checked, or is plain enough to need none of it.
        text = rule.path.read_text(encoding="utf-8")
        assert len(rule.rings) <= 5 or "checked" in text

    def test_has_the_links_it_lists_as_placed_and_at_rest(self, name):
        rule, report = RULES[name], report_of(name)
        assert set(linked_pairs(placed_unit(rule, report.size))) == set(rule_links(rule))
        assert linked_pairs(report.unit) == linked_pairs(placed_unit(rule, report.size))

    def test_keeps_the_minimum_that_is_computed_for_it(self, name):
        kept = RULES[name].computed
        found = limit_of(name)
        assert kept.as_laid == pytest.approx(found.aspect_ratio, rel=AGREE)
        # Rounded up, from a state that is at rest as rings pulled straight are.
        assert kept.as_laid >= found.aspect_ratio - 2e-6
        assert found.certificate.residual <= AT_REST
        # None where no way in was found for some ring, which proves nothing.
        assert kept.working is None or kept.working >= kept.geometric

    def test_says_why_its_range_begins_far_from_the_minimum(self, name):
        assert_explained(RULES[name])

    def test_can_be_woven_where_makers_weave_it(self, name):
        report = report_of(name)
        assert report.can_be_woven
        assert limit_of(name).aspect_ratio <= RULES[name].common_aspect_ratio.low
        assert limit_of(name).agreed >= 2
        assert report.settled.certificate.residual < 1e-5
        assert report.room_mm > 0

    def test_what_is_kept_of_its_search_is_what_a_search_finds(self, name):
        kept, limit = searched(RULES[name]), limit_of(name)
        assert kept.aspect_ratio == pytest.approx(limit.aspect_ratio, abs=1e-9)
        assert kept.agreed == limit.agreed
        assert kept.spread == pytest.approx(limit.spread, abs=1e-6)
        # Of starts that end alike to the last digits, any will do.
        again = known_tightest(RULES[name], usual_size(RULES[name]))
        assert again.kept
        assert again.aspect_ratio == pytest.approx(limit.aspect_ratio, abs=1e-9)

    def test_rings_of_a_piece_neither_overlap_nor_miss_a_link(self, name):
        piece = piece_of(name)
        checked, again = check_piece(piece), second_opinion(piece)
        assert checked.smallest_gap_mm >= -1e-6
        assert again.smallest_gap_mm >= -1e-5
        assert checked.links == again.links == expected_links(RULES[name], piece)

    def test_cannot_be_woven_just_below_its_minimum(self, name):
        # In its own shape, as if no other were known; those have tests of their own.
        limit = limit_of(name)
        rule = replace(RULES[name], computed=Minimums(limit.aspect_ratio, None))
        below = check(rule, RingSize(1.0, 0.999 * limit.aspect_ratio), limit=limit)
        assert (below.verdict, below.can_be_woven) == (AT_LIMIT, False)
        # Not by comparing with the limit alone: no start takes the wire there.
        assert settle(rule, below.size, limit.unit) is None
        above = check(rule, RingSize(1.0, 1.02 * limit.aspect_ratio), limit=limit)
        assert above.can_be_woven

    def test_eyes_are_wide_enough_for_the_wires_in_them(self, name):
        """Where a wire crosses the plane of an eye it fills at least a circle of its own size,
        and the circles of all the wires lie in the eye beside each other. So an eye can be no
        tighter than circles can be packed into a circle.
        """
        rule, limit = RULES[name], limit_of(name)
        core, _ = ring_radii(rule, usual_size(rule))
        grown = limit.unit.rings.wire_radii
        names = [ring.name for ring in rule.rings]
        for ring, count in wires_through(rule).items():
            if not count:
                # Held captive by other rings, without a link.
                continue
            place = names.index(ring)
            eye = core[place] - grown[place]
            through = [
                other.name
                for link in rule.links
                for one, other in ((link.first, link.second), (link.second, link.first))
                if one.name == ring
            ]
            thinnest = min(grown[names.index(other)] for other in through)
            assert eye / thinnest >= PACKED[count - 1] * (1 - 1e-4)

    def test_comes_back_from_a_step_file(self, name, tmp_path):
        piece = piece_of(name)
        write_step(piece, tmp_path / "piece.step")
        solids = cq.importers.importStep(str(tmp_path / "piece.step")).solids().vals()
        read = sorted(tuple(np.round(solid.Center().toTuple(), 4) + 0.0) for solid in solids)
        laid = sorted(tuple(np.round(centre, 4) + 0.0) for centre in piece.centres_mm)
        assert np.allclose(read, laid, atol=2e-4)
        volume_mm3 = sum(solid.Volume() for solid in solids)
        core, wire = piece.core_radii_mm, piece.wire_radii_mm
        assert volume_mm3 == pytest.approx(float((2 * np.pi**2 * core * wire**2).sum()), rel=1e-9)

    def test_is_settled_the_same_way_twice(self, name):
        report = report_of(name)
        again = settle(report.rule, report.size, limit_of(name).unit)
        assert np.array_equal(again.unit.rings.centres, report.unit.rings.centres)
        assert np.array_equal(again.unit.rings.axes, report.unit.rings.axes)

    def test_every_ring_but_those_laid_down_first_is_put_in_once(self, name):
        rule = RULES[name]
        steps = [step.ring.name for step in rule.steps]
        assert len(steps) == len(set(steps))
        closed = {ring.name for ring in rule.rings if ring.role == "closed"}
        opened = {ring.name for ring in rule.rings if ring.role == "open"}
        assert set(steps) >= opened
        assert closed | opened == {ring.name for ring in rule.rings}


@pytest.mark.parametrize("name", ["one-in-one", "barrel", "tight-spiral", "japanese-4-in-1"])
def test_keeps_the_working_minimum_that_is_computed_for_it(name):
    rule, limit = RULES[name], limit_of(name)
    steps = working_minimum(rule, usual_size(rule), limit)
    assert rule.computed.working == pytest.approx(largest(steps, limit.aspect_ratio), rel=AGREE)


def assert_explained(rule):
    """A range that begins far from the minimum has a note, whose figures are still true."""
    far, kept, note = range_against_minimum(rule), rule.computed, rule.common_aspect_ratio.note
    if abs(far) > EXPLAINED_BEYOND:
        assert note, f"{rule.name}: the range begins {100 * far:.0f} % from the minimum"
    for percent, side, which, ratio in re.findall(
        r"Begins (\d+) % (above|below) the (working )?minimum of (\d\.\d\d)", note or ""
    ):
        assert float(ratio) == pytest.approx(kept.working if which else kept.geometric, abs=0.0051)
        assert int(percent) * (1 if side == "above" else -1) == pytest.approx(100 * far, abs=0.51)


def test_a_range_far_from_the_minimum_needs_a_note_that_is_true():
    rule = RULES["one-in-one"]
    common = rule.common_aspect_ratio
    assert_explained(replace(rule, common_aspect_ratio=replace(common, low=2.2, note=None)))
    for other in (
        replace(common, note=None),
        replace(common, low=1.8, note=None),
        replace(common, low=3.0),
        replace(common, note="Begins 38 % above the working minimum of 2.60."),
    ):
        with pytest.raises(AssertionError):
            assert_explained(replace(rule, common_aspect_ratio=other))


def test_names_are_descriptive_and_files_are_named_after_them():
    for name, rule in RULES.items():
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
        assert rule.path.stem == name.replace("-", "_")
