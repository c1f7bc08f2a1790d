"""How sheets hang flat: lengths that rings decide, and widths that only friction would."""

import pytest

from ringwright.base.sizes import RingSize
from ringwright.rest.counts import if_hung
from ringwright.rest.hanging import HANGINGS, hanging_unit
from ringwright.rest.unit import lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import HUNG_BY_ENDS, HUNG_BY_ROW

SIZE = RingSize(1.1, 4.9)


def settled(name, size=SIZE):
    rule = load_rule(name)
    found = settle(rule, size)
    assert found is not None
    return rule, found.unit


def sides_mm(unit, size=SIZE):
    along, _, across = unit.lattice.values
    return along * size.core_radius_mm, across * size.core_radius_mm


@pytest.mark.parametrize("inner_mm", [4.2, 4.9, 6.6])
def test_a_european_sheet_hangs_a_ring_s_height_for_two_rows(inner_mm):
    # Hung by the ends of its rows, a row's rings draw one another upright until each stands between
    # two wires above and two below; two rows are as far apart as such a ring is wide outside.
    size = RingSize(1.1, inner_mm)
    _, unit = settled("european_4_in_1", size)
    hangs = hanging_unit(unit, HUNG_BY_ENDS)
    assert hangs.told
    assert sides_mm(hangs.unit, size)[1] == pytest.approx(inner_mm + 2 * 1.1, rel=1e-5)


def test_hung_either_way_a_sheet_is_longer_and_narrower_than_spread():
    _, unit = settled("european_4_in_1")
    along, across = sides_mm(lying_unit(unit).unit)
    by_row, by_ends = (hanging_unit(unit, state) for state in HANGINGS)
    assert by_row.told
    assert by_row.residual <= 1e-6
    narrow, long = sides_mm(by_row.unit)
    assert narrow < along
    assert long > across
    long, narrow = sides_mm(by_ends.unit)
    assert narrow < across
    assert long > along


def test_a_japanese_sheet_folds_unless_friction_holds_it():
    rule, unit = settled("japanese_4_in_1", RingSize(1.0, 5.2))
    for state in HANGINGS:
        assert not hanging_unit(unit, state).told
    by_row, by_ends = if_hung(rule, unit, 3.1, 100.0, 60.0)
    # How long it hangs is known, how wide is not.
    assert (by_row.repeats, by_row.rings, by_ends.rows, by_ends.rings) == (None,) * 4
    assert by_row.rows is not None
    assert by_ends.repeats is not None


def test_the_count_is_that_of_the_hung_measures():
    rule, unit = settled("european_4_in_1")
    count = if_hung(rule, unit, SIZE.core_radius_mm, 150.0, 90.0)[HANGINGS.index(HUNG_BY_ROW)]
    along, across = sides_mm(hanging_unit(unit, HUNG_BY_ROW).unit)
    # End rings reach over the last repeat, by no more than a ring.
    assert 150.0 - 8.0 < count.repeats * along < 150.0 + along
    assert 90.0 - 8.0 < count.rows / 2 * across < 90.0 + across
    assert count.rings == count.repeats * count.rows
    # What is smaller than a repeat takes one.
    assert if_hung(rule, unit, SIZE.core_radius_mm, 0.1, 0.1)[0].rings == 2
