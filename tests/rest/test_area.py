"""The area a ring takes: of laid-out cells, and the same in a strip and in a sheet of one weave."""

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, woven_piece
from ringwright.rest.area import area_per_ring_mm2
from ringwright.rest.states import spread
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.1, 4.9)


def woven(name, repeats, rows=1):
    rule = load_rule(name)
    unit = settle(rule, SIZE).unit
    return woven_piece(rule, unit, SIZE.core_radius_mm, repeats, rows), unit


def laid_out(along, across, lean_out=0.0):
    """Two rings a repeat, 3 mm by 5 mm and skewed; the outermost moved out."""
    names, centres = [], []
    for k1 in range(along):
        for k2 in range(across):
            edge = lean_out * ((k1 == along - 1) - (k1 == 0))
            for ring, beside in (("A", 0.0), ("B", 1.3)):
                names.append(f"{ring}.{k1 + 1}.{k2 + 1}")
                centres.append([3.0 * k1 + 1.0 * k2 + beside + edge, 5.0 * k2, 0.1])
    count = len(names)
    axes = np.tile([0.0, 0.0, 1.0], (count, 1))
    ones = np.ones(count)
    return Piece(tuple(names), ("open",) * count, np.array(centres), axes, ones, 0.1 * ones)


def test_cells_of_known_area():
    assert area_per_ring_mm2(laid_out(3, 2)) == pytest.approx(7.5)
    assert area_per_ring_mm2(laid_out(8, 6)) == pytest.approx(7.5)
    # Edge rings that lean out do not count.
    assert area_per_ring_mm2(laid_out(8, 6, 0.7)) == pytest.approx(7.5)


def test_one_row_has_no_area():
    with pytest.raises(BadInput, match="two rows and two repeats"):
        area_per_ring_mm2(laid_out(5, 1))


def test_a_sheet_as_it_was_settled_has_that_of_its_unit():
    piece, unit = woven("european_4_in_1", 4, 3)
    long, _, wide = unit.lattice.values * SIZE.core_radius_mm
    assert area_per_ring_mm2(piece) == pytest.approx(0.5 * long * wide)


def test_a_strip_and_a_spread_sheet_of_one_weave_agree():
    # Of the strip from the middle of one edge row to that of the other: four rows' worth.
    strip, unit = woven("european_4_in_1_strip_5", 3)
    across = np.ptp(strip.centres_mm[:, 1])
    of_strip = unit.repeat * SIZE.core_radius_mm * across / 4.0
    sheet, _ = woven("european_4_in_1", 7, 6)
    assert spread(sheet).area_per_ring_mm2() == pytest.approx(of_strip, rel=0.03)
