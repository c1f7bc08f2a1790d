"""Verdicts, pieces and measures, as a maker would check them."""

import sys
from dataclasses import replace

import numpy as np
import pytest

from ringwright.answers import verdict
from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.ratio_limits import AT_LIMIT, CANNOT, LOOSE, VERY_TIGHT, WORKING
from ringwright.answers.report import report_text
from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings
from ringwright.piece.piece import check_piece, expected_links, piece_of_length, woven_piece
from ringwright.solver.measure import extent, width_and_thickness
from ringwright.weaves import load_rule
from ringwright.weaves.rule import CommonRange


@pytest.fixture(scope="module")
def barrel():
    return load_rule("barrel")


@pytest.fixture(scope="module")
def common(barrel):
    return check(barrel, RingSize(1.25, 4.5))


class TestSecondLooks:
    def test_meshes_confirm_when_asked(self, barrel, common):
        """Outside check: FCL on tessellated tori, twice as wide apart as its facets err."""
        assert common.confirmed_by == ("sampling",)
        report = check(barrel, RingSize(0.9, 3.2), limit=common.tightest, meshes=True)
        assert report.confirmed_by == ("sampling", "triangle meshes (FCL)")

    def test_meshes_that_overlap_are_not_reported_on(self, barrel, common, monkeypatch):
        monkeypatch.setattr(verdict, "_MESH_SLACK", -0.1)
        with pytest.raises(NoRest, match="as triangle meshes, rings overlap"):
            check(barrel, RingSize(0.9, 3.2), limit=common.tightest, meshes=True)

    def test_without_the_library_one_sentence_says_how_to_get_it(self, barrel, common, monkeypatch):
        monkeypatch.setitem(sys.modules, "fcl", None)
        with pytest.raises(BadInput, match="needs the package python-fcl"):
            check(barrel, RingSize(0.9, 3.2), limit=common.tightest, meshes=True)


class TestMinimum:
    """Whether the smallest aspect ratio was searched for now is said."""

    def test_of_a_weave_of_the_library_it_is_kept(self, common):
        assert CheckFigures.of(common).facts()["minimum_from"] == "kept"
        assert "Kept from a search, and at rest when looked at again now" in " ".join(
            report_text(common, why=True).split()
        )

    def test_of_a_rule_of_ones_own_it_is_searched(self, common):
        report = replace(common, tightest=replace(common.tightest, kept=False))
        assert CheckFigures.of(report).facts()["minimum_from"] == "searched"
        assert "Searched now: " in " ".join(report_text(report, why=True).split())

    def test_in_another_shape_it_is_the_rule_file_that_keeps_it(self):
        report = check(load_rule("spiral-3-in-1"), RingSize(1.0, 4.5))
        assert report.known.shape is not None
        assert CheckFigures.of(report).facts()["minimum_from"] == "kept"
        now = replace(report, kept=None, tightest=replace(report.tightest, kept=False))
        assert CheckFigures.of(now).facts()["minimum_from"] == "searched"


class TestLay:
    """A lay that only rings passing through each other could put right is noticed."""

    def test_a_rule_that_closes_where_makers_weave_it_is_not_doubted(self, common):
        assert not common.needs_passing_through
        assert "Look at the lay" not in report_text(common, why=True)

    def test_a_rule_that_closes_only_later_is_doubted(self, barrel, common):
        tight = replace(barrel, common_aspect_ratio=CommonRange(2.2, 2.4, "from memory"))
        report = check(tight, RingSize(0.9, 3.2), limit=common.tightest)
        assert report.needs_passing_through
        assert "Look at the lay" in report_text(report, why=True)
        assert CheckFigures.of(report).facts()["needs_passing_through"]


class TestVerdict:
    @pytest.mark.parametrize(
        ("wire_mm", "inner_mm", "verdict"),
        [(1.0, 3.0, CANNOT), (1.0, 3.35, VERY_TIGHT), (1.0, 4.2, WORKING), (1.0, 4.8, LOOSE)],
    )
    def test_cases_away_from_the_limit(self, barrel, wire_mm, inner_mm, verdict):
        report = check(barrel, RingSize(wire_mm, inner_mm))
        assert report.verdict == verdict
        assert report.can_be_woven == (verdict != CANNOT)
        assert (report.room_mm > 0) == report.can_be_woven
        assert (report.repeat_mm is not None) == report.can_be_woven

    def test_too_tight_names_the_rings_in_the_way(self, barrel):
        report = check(barrel, RingSize(1.0, 2.4))
        assert report.smallest_gap_mm == report.room_mm < 0
        assert {"B", "D"} <= {found.first for found in report.collisions}
        assert all(found.overlap_mm == -report.smallest_gap_mm for found in report.collisions)

    def test_room_of_the_simple_chain_is_exact(self):
        """Two wires in an eye leave inner - 2 wire, shared by three gaps."""
        report = check(load_rule("one-in-one"), RingSize(0.8, 2.9))
        assert report.room_mm == pytest.approx((2.9 - 2 * 0.8) / 3, rel=1e-6)

    def test_a_limit_size_can_be_woven(self):
        report = check(load_rule("one-in-one"), RingSize(1.0, 2.0))
        assert (report.verdict, report.can_be_woven) == (AT_LIMIT, True)
        assert report.repeat_mm == pytest.approx(4.0, rel=1e-6)
        assert report.smallest_gap_mm == pytest.approx(0.0, abs=1e-6)

    def test_at_rest_loaded_rings_touch(self, common):
        assert common.smallest_gap_mm == pytest.approx(0.0, abs=1e-9)

    def test_scale_changes_lengths_and_nothing_else(self, barrel, common):
        double = check(barrel, RingSize(2.5, 9.0))
        assert double.repeat_mm == pytest.approx(2 * common.repeat_mm, rel=1e-9)
        assert double.verdict == common.verdict
        assert double.rings_per_cm == pytest.approx(common.rings_per_cm / 2, rel=1e-9)


class TestPiece:
    def test_a_strip_is_as_long_as_makers_find(self, common):
        """Common practice, no source: a strip of just over 18 cm is about 20 repeats.

        Rings wound on 4.5 mm come off larger; 0.15 mm is taken for it.
        """
        size = RingSize(1.25, 4.65)
        report = check(common.rule, size, limit=common.tightest)
        piece, repeats = piece_of_length(report.rule, report.unit, size.core_radius_mm, 180.0)
        assert repeats == pytest.approx(20, abs=1)
        assert piece.length_mm() == pytest.approx(repeats * report.repeat_mm + 7.15, rel=0.01)

    @pytest.mark.parametrize("repeats", [1, 2, 7])
    def test_counts_of_open_and_closed_rings(self, common, repeats):
        piece = woven_piece(common.rule, common.unit, 2.875, repeats)
        assert len(piece) == len(set(piece.names)) == 5 * repeats + 1
        assert piece.roles.count("open") == 3 * repeats
        assert piece.roles.count("closed") == 2 * repeats + 1
        assert piece.names[0] == "E.0"
        assert piece.roles[0] == "closed"

    def test_every_pair_is_free_and_the_links_are_the_rules(self, common):
        piece = woven_piece(common.rule, common.unit, 2.875, 6)
        checked = check_piece(piece)
        assert checked.smallest_gap_mm == pytest.approx(0.0, abs=1e-9)
        assert checked.links == expected_links(common.rule, piece)
        assert len(checked.links) == 8 * 6

    def test_a_ring_out_of_place_is_found(self, common):
        piece = woven_piece(common.rule, common.unit, 2.875, 2)
        centres = piece.centres_mm.copy()
        centres[piece.names.index("D.1"), 2] += 0.1
        moved = type(piece)(
            piece.names, piece.roles, centres, piece.axes, piece.core_radii_mm, piece.wire_radii_mm
        )
        assert check_piece(moved).smallest_gap_mm < -0.01

    def test_the_piece_is_the_shortest_of_at_least_the_length(self, common):
        for length in (20.0, 60.3, 155.0):
            piece, repeats = piece_of_length(common.rule, common.unit, 2.875, length)
            shorter = woven_piece(common.rule, common.unit, 2.875, max(1, repeats - 1))
            assert shorter.length_mm() < length <= piece.length_mm() + 1e-9

    def test_shorter_than_a_repeat_is_refused(self, common):
        with pytest.raises(
            BadInput, match=r"shorter than one repeat of barrel, which is 8\.206 mm"
        ):
            piece_of_length(common.rule, common.unit, 2.875, 8.0)

    def test_more_rings_than_a_preview_holds_is_refused(self, common):
        with pytest.raises(BadInput, match="at most 20000"):
            piece_of_length(common.rule, common.unit, 0.1, 9000.0)


class TestMeasure:
    def test_extent_of_a_ring_lying_and_standing(self):
        ring = Rings(np.zeros((1, 3)), np.array([[0.0, 0, 1]]), np.ones(1), np.full(1, 0.2))
        assert extent(ring, np.array([0.0, 0, 1])) == pytest.approx((-0.2, 0.2))
        assert extent(ring, np.array([1.0, 0, 0])) == pytest.approx((-1.2, 1.2))

    def test_extent_equals_a_sampled_torus(self):
        random = np.random.default_rng(4)
        axis, direction = (v / np.linalg.norm(v) for v in random.normal(size=(2, 3)))
        ring = Rings(random.normal(size=(1, 3)), axis[None], np.array([1.7]), np.array([0.3]))
        # The core circle by itself, sampled; the wire adds its radius in every direction.
        across = np.cross(axis, direction)
        across /= np.linalg.norm(across)
        up = np.cross(across, axis)
        angles = np.linspace(0, 2 * np.pi, 100_001)
        core = ring.centres + 1.7 * (
            np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * up
        )
        along = core @ direction
        assert extent(ring, direction) == pytest.approx(
            (along.min() - 0.3, along.max() + 0.3), abs=1e-8
        )

    def test_a_tilted_flat_ring_has_its_wire_as_thickness(self):
        axis = np.array([[0.0, np.sin(0.4), np.cos(0.4)]])
        ring = Rings(np.zeros((1, 3)), axis, np.ones(1), np.full(1, 0.1))
        width, thickness = width_and_thickness(ring)
        assert (width, thickness) == pytest.approx((2.2, 0.2), abs=1e-6)

    @pytest.mark.parametrize("roll", [0.0, 0.3, 1.234, 2.5])
    def test_of_ways_equally_thin_the_narrowest_counts(self, roll):
        # A hoop about x with a small one on either side of it, 2.2 away: the hoop alone decides
        # the thickness as long as the small ones reach no farther, up to sin a = (2 - 0.5) / 2.2.
        away = 2.2 * np.array([0.0, np.cos(roll), np.sin(roll)])
        rings = Rings(
            np.stack([0.0 * away, away, -away]),
            np.tile([1.0, 0.0, 0.0], (3, 1)),
            np.array([2.0, 0.5, 0.5]),
            np.full(3, 0.1),
        )
        width, thickness = width_and_thickness(rings)
        narrow = 2 * (np.sqrt(2.2**2 - 1.5**2) + 0.5 + 0.1)
        assert (width, thickness) == pytest.approx((narrow, 4.2), abs=2e-6)


def test_an_answer_is_eight_lines_and_all_of_it_is_there_for_whoever_asks_why():
    rule, size = load_rule("barrel"), RingSize(1.1, 4.2)
    report = check(rule, size)
    short, whole = report_text(report).splitlines(), report_text(report, why=True)
    assert len(short) == 8
    assert short[1] == "Verdict: in the working range."
    assert "How this was found" in whole
    for line in ("room between rings", "one repeat", "working range"):
        (told,) = [each for each in short if each.startswith(f"  {line}")]
        assert told in whole.splitlines()
