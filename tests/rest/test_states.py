"""Whole pieces at rest: lengths that are known, links kept, no overlap by sampling."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest.states import hung, hung_sheet, on_table, spread
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.2, 5.1)


def woven(name, repeats, rows=1):
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, woven_piece(rule, settled.unit, SIZE.core_radius_mm, repeats, rows)


def is_sound(rule, piece):
    seen = second_opinion(piece)
    return seen.links == expected_links(rule, piece) and seen.smallest_gap_mm > -1e-6


@pytest.fixture(scope="module")
def barrel():
    rule, piece = woven("barrel", 3)
    return rule, piece, on_table(piece)


class TestOnATable:
    def test_barrel_rests_as_long_as_it_was(self, barrel):
        rule, piece, lying = barrel
        assert lying.settled
        assert is_sound(rule, lying.piece)
        long, _, thick = lying.size_mm()
        assert long == pytest.approx(piece.length_mm(), rel=2e-3)
        # No lower than a stack of two rings, no higher than a ring on its edge.
        assert 4 * SIZE.wire_mm < thick < SIZE.inner_mm + 2 * SIZE.wire_mm + 1e-6

    def test_nothing_is_below_the_table_and_something_touches_it(self, barrel):
        laid = barrel[2].piece
        lean = np.sqrt(1.0 - laid.axes[:, 2] ** 2)
        lowest = laid.centres_mm[:, 2] - laid.core_radii_mm * lean - laid.wire_radii_mm
        assert lowest.min() == pytest.approx(0.0, abs=1e-7)
        assert (lowest < 1e-6).sum() >= 3

    def test_it_lies_lower_than_it_was_pulled(self, barrel):
        _, piece, lying = barrel
        lean = np.sqrt(1.0 - piece.axes[:, 2] ** 2)
        bottom = (piece.centres_mm[:, 2] - piece.core_radii_mm * lean - piece.wire_radii_mm).min()
        before = piece.centres_mm[:, 2].mean() - bottom
        assert lying.piece.centres_mm[:, 2].mean() < before

    def test_links_of_a_byzantine_chain_are_kept(self):
        rule, piece = woven("byzantine", 1)
        lying = on_table(piece)
        assert is_sound(rule, lying.piece)
        assert lying.settled


class TestSpread:
    def test_a_european_sheet_has_more_area_than_pulled(self):
        rule, piece = woven("european_4_in_1", 4, 3)
        lying = spread(piece)
        assert lying.settled
        assert is_sound(rule, lying.piece)
        area = [
            np.ptp(one.centres_mm[:, 0]) * np.ptp(one.centres_mm[:, 1])
            for one in (piece, lying.piece)
        ]
        assert area[1] > area[0]


class TestHung:
    @pytest.mark.parametrize("count", [2, 5])
    def test_a_simple_chain_is_as_long_as_its_insides(self, count):
        # One ring in the next: the wires touch inside, so each hangs an inner diameter lower.
        inner, wire = SIZE.inner_mm, SIZE.wire_mm
        turned = np.arange(count) % 2 == 1
        chain = Piece(
            names=tuple(f"A.{ring + 1}" for ring in range(count)),
            roles=("open",) * count,
            centres_mm=np.outer(np.arange(count), [0.9 * inner, 0.0, 0.0]),
            axes=np.where(turned[:, None], [0.0, 0.2, 1.0], [0.0, 1.0, -0.1])
            / np.linalg.norm([0.0, 1.0, 0.2]),
            core_radii_mm=np.full(count, (inner + wire) / 2),
            wire_radii_mm=np.full(count, wire / 2),
        )
        chain = Piece(
            chain.names, chain.roles, chain.centres_mm,
            chain.axes / np.linalg.norm(chain.axes, axis=1)[:, None],
            chain.core_radii_mm, chain.wire_radii_mm,
        )  # fmt: skip
        lying = hung(chain)
        assert lying.settled
        assert lying.size_mm()[0] == pytest.approx(count * inner + 2 * wire, abs=1e-5)
        # All hang straight below one another.
        assert np.ptp(lying.piece.centres_mm[:, 1]) < 1e-3

    def test_a_strip_hangs_by_one_of_its_rows(self):
        rule, piece = woven("european_4_in_1_strip_3", 3)
        lying = hung(piece)
        assert is_sound(rule, lying.piece)
        # It stays on the hook: below it by its own length, and no farther.
        assert lying.piece.centres_mm[:, 0].max() < 1.5 * piece.length_mm()

    def test_a_pair_of_first_rings_hangs_together(self):
        rule, piece = woven("two_in_two", 2)
        lying = hung(piece)
        assert is_sound(rule, lying.piece)
        first = np.argsort(piece.centres_mm[:, 0])[:2]
        assert np.ptp(lying.piece.centres_mm[first, 0]) < 0.1 * SIZE.inner_mm
        # The others are all below both.
        others = np.delete(lying.piece.centres_mm[:, 0], first)
        assert others.min() > lying.piece.centres_mm[first, 0].max() + 0.5 * SIZE.inner_mm


@pytest.fixture(scope="module")
def sheet():
    return woven("european_4_in_1", 4, 4)


@pytest.fixture(scope="module")
def by_edges(sheet):
    return {edge: hung_sheet(sheet[1], edge) for edge in ("row", "ends")}


@pytest.fixture(params=["row", "ends"])
def by_an_edge(request, sheet, by_edges):
    return request.param, *sheet, by_edges[request.param]


def highest_inside_mm(piece):
    lean = np.sqrt(1.0 - piece.axes[:, 0] ** 2)
    return piece.centres_mm[:, 0] - piece.core_radii_mm * lean + piece.wire_radii_mm


class TestHungSheet:
    def test_it_is_sound_and_at_rest(self, by_an_edge):
        _, rule, _, lying = by_an_edge
        assert lying.settled
        assert is_sound(rule, lying.piece)

    def test_a_whole_edge_hangs_from_the_rail(self, by_an_edge):
        edge, _, piece, lying = by_an_edge
        at_rail = np.abs(highest_inside_mm(lying.piece)) < 1e-6
        # Rings Q are outermost at low x and at low y: four in the first row, four ends of rows.
        assert at_rail.sum() >= 2
        names = {name for name, there in zip(piece.names, at_rail, strict=True) if there}
        wanted = {"row": "Q.{}.1", "ends": "Q.1.{}"}[edge]
        assert names <= {wanted.format(number) for number in range(1, 5)}
        # The weight of all hangs from it, so nothing is above it.
        assert highest_inside_mm(lying.piece).min() > -1e-6


def test_a_sheet_hung_by_its_row_closes_up_and_by_the_ends_stays_open(sheet, by_edges):
    # As makers know it of a European sheet: common practice, no source.
    area = {edge: lying.area_per_ring_mm2() for edge, lying in by_edges.items()}
    assert area["row"] < 0.85 * area["ends"]
    assert area["ends"] < 1.01 * spread(sheet[1]).area_per_ring_mm2()


class TestMirrored:
    @pytest.mark.parametrize("ways", [[1.0, -1.0, 1.0], [-1.0, 1.0, 1.0], [-1.0, -1.0, 1.0]])
    def test_the_mirror_image_comes_to_rest_as_the_mirror_image(self, ways):
        # The last of the three is no mirror image but a turn.
        _, piece = woven("spiral_4_in_1", 6)
        image = replace(piece, centres_mm=piece.centres_mm * ways, axes=piece.axes * ways)
        one, other = on_table(piece), on_table(image)
        assert one.settled
        assert other.settled
        # To the last bit but for units: no rounding parts the two.
        assert other.piece.centres_mm * ways == pytest.approx(one.piece.centres_mm, abs=1e-12)
