"""A chain round a wrist: no ring in another's way, the girth that was asked for, links kept."""

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.special import ellipe

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.oval import Oval
from ringwright.movement.loops import closed_loop
from ringwright.piece.piece import expected_links
from ringwright.piece.verify import second_opinion
from ringwright.piece.worn import worn
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

WRIST = Oval(165.0, 1.35)


@pytest.fixture(scope="module")
def barrel():
    rule, size = load_rule("barrel"), RingSize(0.9, 3.2)
    return rule, size, settle(rule, size)


@pytest.fixture(scope="module")
def laid(barrel):
    return worn(*barrel, WRIST)


def circle_points(piece, count=240):
    """Points of every core circle, (n, count, 3)."""
    flat = np.where(np.abs(piece.axes[:, :1]) < 0.9, np.eye(3)[0], np.eye(3)[1])
    u = np.cross(piece.axes, flat)
    u /= np.linalg.norm(u, axis=1)[:, None]
    v = np.cross(piece.axes, u)
    angles = np.linspace(0.0, 2 * np.pi, count, endpoint=False)[None, :, None]
    spokes = np.cos(angles) * u[:, None] + np.sin(angles) * v[:, None]
    return piece.centres_mm[:, None] + piece.core_radii_mm[:, None, None] * spokes


def nearest_of_two_mm(piece):
    """The least distance between points of two different core circles, less the wire."""
    points = circle_points(piece)
    ring = np.repeat(np.arange(len(piece)), points.shape[1])
    tree = cKDTree(points.reshape(-1, 3))
    pairs = tree.query_pairs(1.02 * 2 * piece.wire_radii_mm.max(), output_type="ndarray")
    pairs = pairs[ring[pairs[:, 0]] != ring[pairs[:, 1]]]
    apart = np.linalg.norm(tree.data[pairs[:, 0]] - tree.data[pairs[:, 1]], axis=1)
    wires = piece.wire_radii_mm[ring[pairs]].sum(axis=1)
    return float((apart - wires).min())


class TestNoRingIsInAnothersWay:
    def test_barrel_at_a_wrist(self, barrel, laid):
        # Points all round every ring, compared by a tree: nothing of the solver in it.
        assert nearest_of_two_mm(laid.piece) > -1e-6
        assert second_opinion(laid.piece).links == expected_links(barrel[0], laid.piece)
        # It is laid snugly, so rings do touch, as near as points can tell.
        assert laid.smallest_gap_mm < 1e-3

    def test_a_chain_whose_sides_differ_round_a_small_wrist(self):
        rule, size = load_rule("half-persian-3-in-1"), RingSize(0.9, 5.0)
        small = worn(rule, size, settle(rule, size), Oval(140.0, 1.5))
        assert nearest_of_two_mm(small.piece) > -1e-6
        assert second_opinion(small.piece).links == expected_links(rule, small.piece)
        # A pulled chain bends more where the oval is tighter.
        assert small.turns_deg[1] > 2.0 * small.turns_deg[0]


class TestGirth:
    def test_the_metal_lies_on_an_oval_of_the_wrists_girth(self, laid):
        tubes = circle_points(laid.piece)
        out = tubes[:, :, :2] / np.linalg.norm(tubes[:, :, :2], axis=2, keepdims=True)
        inner = tubes[:, :, :2] - laid.piece.wire_radii_mm[:, None, None] * out
        long, short = np.sqrt(WRIST.half_axes[0] ** 2), WRIST.half_axes[1]
        size = np.hypot(inner[:, :, 0] / long, inner[:, :, 1] / short)
        # The perimeter of an ellipse is 4 a E(e): DLMF 19.30.5.
        assert 4 * long * ellipe(1 - (short / long) ** 2) == pytest.approx(165.0)
        assert long / short == pytest.approx(1.35)
        assert size.min() * 165.0 == pytest.approx(165.0, abs=0.1)
        assert laid.inner_girth_mm == pytest.approx(165.0, abs=0.05)
        # All round, not at one place only: every twelfth of it has metal on the wrist.
        way = np.arctan2(inner[:, :, 1], inner[:, :, 0])
        for twelfth in range(12):
            there = np.floor((way + np.pi) / (2 * np.pi) * 12) == twelfth
            assert size[there].min() < 1.01

    def test_round_a_circle_it_bends_as_the_closed_loop_does(self, barrel):
        loop = closed_loop(barrel[2].unit, "up", 26)
        girth_mm = loop.inner_circumference * barrel[1].core_radius_mm
        flat, tight = worn(*barrel, Oval(girth_mm, 1.0)).turns_deg
        assert flat == pytest.approx(tight)
        assert flat == pytest.approx(360.0 / 26, rel=0.01)

    def test_the_place_of_the_clasp_stays_open_behind(self, barrel, laid):
        assert laid.repeats == 30
        assert barrel[1].wire_mm < laid.open_mm < barrel[2].unit.repeat * barrel[1].core_radius_mm
        points = circle_points(laid.piece).reshape(-1, 3)
        behind = points[(np.abs(points[:, 0]) < 0.2) & (points[:, 1] > 0.0)]
        assert len(behind) == 0


def test_what_bends_no_further_is_refused():
    rule, size = load_rule("half-persian-4-in-1"), RingSize(0.9, 5.0)
    with pytest.raises(BadInput, match="does not bend round an oval of 40 mm"):
        worn(rule, size, settle(rule, size), Oval(40.0, 2.0))


def test_a_sheet_is_bent_about_its_width():
    rule, size = load_rule("european-4-in-1"), RingSize(0.9, 4.0)
    cuff = worn(rule, size, settle(rule, size), Oval(120.0, 1.2), 12.0)
    assert nearest_of_two_mm(cuff.piece) > -1e-6
    assert second_opinion(cuff.piece).links == expected_links(rule, cuff.piece)
    # As wide as was asked for, less what a row may give.
    assert np.ptp(circle_points(cuff.piece)[:, :, 2]) + size.wire_mm > 11.5


def test_what_is_neither_chain_nor_sheet_is_refused(barrel):
    with pytest.raises(BadInput, match="a tube"):
        worn(load_rule("roundmaille"), *barrel[1:], WRIST)
