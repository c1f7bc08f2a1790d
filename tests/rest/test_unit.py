"""Units of endless weaves on a table: known heights, and the same as the middle of a piece."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import close_pairs, contacts
from ringwright.piece.piece import woven_piece
from ringwright.rest.states import on_table
from ringwright.rest.unit import as_the_unit_lies, can_lie, lying_unit
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.2, 5.1)


def settled_unit(name):
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, settled.unit


@pytest.fixture(scope="module", params=["byzantine", "box_chain", "european_4_in_1"])
def lying(request):
    rule, unit = settled_unit(request.param)
    return rule, unit, lying_unit(unit)


class TestLyingUnit:
    def test_it_is_at_rest_on_the_table_and_keeps_its_length(self, lying):
        _, pulled, found = lying
        assert found.settled
        rings = found.unit.rings
        lowest = rings.centres[:, 2] - rings.core_radii * np.sqrt(1.0 - rings.axes[:, 2] ** 2)
        assert (lowest - rings.wire_radii).min() == pytest.approx(0.0, abs=1e-6)
        assert found.unit.repeat <= pulled.repeat + 1e-6

    def test_no_two_rings_of_any_two_images_overlap(self, lying):
        unit = lying[2].unit
        pairs = close_pairs(unit.rings, 0.1, unit.lattice)
        assert contacts(unit.rings, pairs, unit.lattice).gap.min() > -1e-6

    def test_it_lies_lower_than_it_was_pulled(self, lying):
        _, pulled, found = lying
        lean = pulled.rings.core_radii * np.sqrt(1.0 - pulled.rings.axes[:, 2] ** 2)
        heights = pulled.rings.centres[:, 2]
        bottom = (heights - lean - pulled.rings.wire_radii).min()
        assert found.unit.rings.centres[:, 2].mean() < (heights - bottom).mean() + 1e-6


def test_a_spread_sheet_has_more_area_than_pulled():
    _, pulled = settled_unit("european_4_in_1")
    found = lying_unit(pulled)
    area = [one.lattice.values[0] * one.lattice.values[2] for one in (pulled, found.unit)]
    assert area[1] > area[0] + 1e-3


def test_the_middle_of_a_long_chain_lies_as_the_unit():
    rule, pulled = settled_unit("box_chain")
    found = lying_unit(pulled)
    piece = woven_piece(rule, pulled, SIZE.core_radius_mm, 8)
    laid = on_table(piece)
    assert laid.settled
    x = laid.piece.centres_mm[:, 0]
    middle = laid.piece.of(np.abs(x - x.mean()) < 0.2 * np.ptp(x))
    low, high = extent(middle.rings(), np.array([0.0, 1.0, 0.0]))
    assert high - low == pytest.approx(found.width() * SIZE.core_radius_mm, rel=0.02)
    near = on_table(piece, near=as_the_unit_lies(rule, piece, found.unit))
    assert near.size_mm() == pytest.approx(laid.size_mm(), rel=1e-3)


def test_units_whose_images_turn_cannot_lie():
    assert can_lie(settled_unit("byzantine")[1])
    assert not can_lie(settled_unit("spiral_4_in_1")[1])


@pytest.mark.parametrize("name", ["two_in_two", "two_and_one", "box_chain"])
def test_however_a_chain_was_rolled_it_lies_as_low(name):
    # Pairs of rings side by side stand upright, and box chain on its narrow side, if left so.
    _, unit = settled_unit(name)
    heights = []
    for roll in np.radians([0.0, 40.0, 90.0]):
        turn = Rotation.from_rotvec([roll, 0.0, 0.0]).as_matrix().T
        rings = replace(unit.rings, centres=unit.rings.centres @ turn, axes=unit.rings.axes @ turn)
        found = lying_unit(Unit(rings, unit.lattice))
        assert found.settled
        heights.append(found.unit.rings.centres[:, 2].mean())
    assert heights == pytest.approx([heights[0]] * 3, abs=1e-4)


def lying_at(name, ratio):
    settled = settle(load_rule(name), RingSize(1.0, ratio))
    assert settled is not None
    return lying_unit(settled.unit)


def test_a_chain_that_stands_on_a_ridge_is_pressed_down_from_it():
    # Let down, its small pairs stay upright; pressed flat first, they lean, and it lies lower.
    found = lying_at("helm_chain", 6.9)
    assert found.settled
    small = found.unit.rings.core_radii < 0.8
    assert small.sum() == 2
    assert (np.abs(found.unit.rings.axes[small, 2]) > 0.1).all()


def test_box_chain_snaps_from_square_to_flat_where_it_is_tight_and_not_where_it_is_loose():
    tight, loose = lying_at("box_chain", 4.5), lying_at("box_chain", 5.2)
    assert tight.settled
    assert tight.width() == pytest.approx(tight.thickness(), rel=1e-3)
    assert tight.other is not None
    assert tight.other.settled
    # The longer way is how it lies, since it is drawn out first.
    assert tight.other.unit.repeat < 0.97 * tight.unit.repeat
    assert tight.other.width() > 1.2 * tight.other.thickness()
    assert loose.width() == pytest.approx(loose.thickness(), rel=1e-2)
    assert loose.other is None
