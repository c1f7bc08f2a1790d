"""Large sheets begun from small ones: the same rest, in fewer rounds."""

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import woven_piece
from ringwright.rest import grown
from ringwright.rest.grown import nearly_spread
from ringwright.rest.states import spread
from ringwright.rest.unit import as_the_unit_lies, lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(0.9, 3.1)


@pytest.fixture(scope="module")
def sheet():
    rule = load_rule("european_4_in_1")
    settled = settle(rule, SIZE)
    assert settled is not None
    piece = woven_piece(rule, settled.unit, SIZE.core_radius_mm, 10, 8)
    return rule, piece, lying_unit(settled.unit).unit


def test_a_sheet_begun_from_a_small_one_rests_as_it_does_by_itself_in_fewer_rounds(
    sheet, monkeypatch
):
    rule, piece, lies = sheet
    monkeypatch.setattr(grown, "_EDGE", 5.0)
    monkeypatch.setattr(grown, "_WORTH", 1.5)
    monkeypatch.setattr(grown, "_DEEPEST", 0.1)
    begun = nearly_spread(rule, lies, piece)
    assert begun is not None
    assert begun.names == piece.names
    near = as_the_unit_lies(rule, piece, lies)
    quick, alone = spread(piece, near=near, begun=begun), spread(piece, near=near)
    assert quick.settled
    assert alone.settled
    assert quick.rounds < alone.rounds
    assert np.allclose(quick.size_mm(), alone.size_mm(), atol=1e-3)


def test_a_sheet_hardly_larger_than_the_small_one_is_not_begun_from_it(sheet):
    rule, piece, lies = sheet
    assert nearly_spread(rule, lies, piece) is None
