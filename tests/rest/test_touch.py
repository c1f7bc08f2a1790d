"""How far a touch moves a chain on a table."""

import pytest

from ringwright.base.sizes import RingSize
from ringwright.rest.touch import ranges_within_a_touch
from ringwright.rest.unit import lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.1, 4.5)


def lying(name):
    settled = settle(load_rule(name), SIZE)
    assert settled is not None
    return lying_unit(settled.unit)


@pytest.mark.parametrize("name", ["byzantine", "half_persian_3_in_1"])
def test_what_is_held_on_all_sides_moves_little(name):
    found = lying(name)
    ranges = ranges_within_a_touch(found)
    for (low, high), rest in (
        (ranges.width, found.width()),
        (ranges.thickness, found.thickness()),
    ):
        assert low <= rest + 1e-9
        assert high >= rest - 1e-9
        assert high - low < 0.1


def test_barrel_is_as_wide_as_one_likes():
    # Its pairs slide over one another without being lifted.
    low, high = ranges_within_a_touch(lying("barrel")).width
    assert high - low > 0.3
