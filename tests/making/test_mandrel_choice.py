"""Which mandrel to take, and to which side it is safe to round."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.answers.ratio_limits import CANNOT, VERY_TIGHT, WORKING, RatioLimits
from ringwright.base.sizes import RingSize
from ringwright.making.ring.coil import SHEARS, made_ring, saw
from ringwright.making.ring.wire import Bending, bending
from ringwright.making.shop.mandrel_choice import mandrel_choice, wound
from ringwright.metals.flow import DEAD, Flow
from ringwright.metals.metal_names import metal_named
from ringwright.weaves.rule import CommonRange

SETTINGS = settings(derandomize=True, deadline=None, max_examples=60)
DEAD_WIRE = Bending(DEAD, 0, (DEAD, DEAD))
COPPER = bending(metal_named("copper"), "soft", 0.9)


def limits(minimum, low, high):
    return RatioLimits(minimum, None, CommonRange(low, high, "from memory"))


def test_rounding_goes_the_way_the_limits_say_and_not_by_habit():
    # AR 3.5 wanted of mandrels in half millimetres: 1.2 mm wire wants 4.2 mm.
    up = mandrel_choice(1.2, DEAD_WIRE, SHEARS, limits(3.35, 3.4, 4.0), target=3.5)
    assert up.safe == "up"
    assert up.chosen.mandrel_mm == 4.5
    down = mandrel_choice(1.2, DEAD_WIRE, SHEARS, limits(2.5, 3.3, 3.6), target=3.5)
    assert down.safe == "down"
    assert down.chosen.mandrel_mm == 4.0
    both = mandrel_choice(1.2, DEAD_WIRE, SHEARS, limits(2.5, 3.2, 4.0), target=3.5)
    assert both.safe == "either"
    # Wound close and cut with shears, the ring is a little wider than its mandrel: 4.0 is nearer.
    assert both.chosen.mandrel_mm == 4.0


def test_of_mandrels_in_half_millimetre_steps_the_next_wider_is_taken():
    # Common practice, no source: a maker winding for AR 3.5 in 1.25 mm wire needs 4.375 mm and
    # takes the 4.5 mm mandrel. Here the limits say the same: 4.0 mm would fall below 3.3.
    size = RingSize.from_text("1.25mm", None, "3.5")
    assert size.inner_mm == 4.375
    asked = limits(2.52, 3.3, 3.8)
    for bends, cut in ((DEAD_WIRE, SHEARS), (COPPER, saw(0.3))):
        choice = mandrel_choice(1.25, bends, cut, asked, target=size.aspect_ratio)
        assert choice.chosen.mandrel_mm == 4.5
        assert choice.safe == "up"
        assert choice.chosen.verdict == WORKING
        assert "Round up to be safe" in choice.why
        assert "4 mm (down) gives AR 3." in choice.why


def test_the_mandrel_of_the_target_makes_the_target():
    choice = mandrel_choice(0.9, COPPER, saw(0.3), limits(2.5, 3.3, 3.8), target=3.6)
    made = made_ring(choice.exact_mm, 0.9, COPPER.flow, saw(0.3))
    assert made.ring.aspect_ratio == pytest.approx(3.6)
    assert choice.down.mandrel_mm < choice.exact_mm < choice.up.mandrel_mm


def test_a_mandrel_that_fits_exactly_is_its_own_neighbour():
    shelf = [2.0, 2.9, 4.0]
    first = mandrel_choice(0.9, COPPER, SHEARS, limits(2.5, 3.3, 3.8), shelf)
    exact = mandrel_choice(0.9, COPPER, SHEARS, limits(2.5, 3.3, 3.8), [2.0, first.exact_mm])
    assert exact.up.mandrel_mm == exact.down.mandrel_mm == first.exact_mm


def test_at_the_end_of_the_shelf_there_is_one_neighbour_or_none():
    asked = limits(2.5, 3.3, 3.8)
    thin = mandrel_choice(0.9, COPPER, SHEARS, asked, [3.1])
    assert thin.up is None
    assert thin.safe == "down"
    assert thin.chosen is thin.down
    far = mandrel_choice(0.9, COPPER, SHEARS, asked, [1.0])
    assert far.safe == "neither"
    assert far.chosen is None
    assert "under the smallest, 2.50: cannot be woven" in far.why


@SETTINGS
@given(
    st.floats(0.5, 2.0),
    st.floats(2.0, 5.0),
    st.floats(0.05, 0.5),
    st.sampled_from([("copper", "soft"), ("sterling silver", "half hard"), ("304", "hard")]),
)
def test_every_mandrel_between_the_bounds_works_whatever_the_springback(wire, low, kerf, metal):
    asked = limits(low - 0.4, low, low + 0.8)
    bends = bending(metal_named(metal[0]), metal[1], wire)
    choice = mandrel_choice(wire, bends, saw(kerf), asked)
    if choice.lowest_mm is None:
        # No span: even the springback alone is wider than the range.
        mid = wound(choice.exact_mm, wire, bends, saw(kerf), asked)
        assert mid.ratios[2] - mid.ratios[0] > 0.1
        return
    for mandrel in (
        choice.lowest_mm,
        (choice.lowest_mm + choice.highest_mm) / 2,
        choice.highest_mm,
    ):
        assert wound(mandrel, wire, bends, saw(kerf), asked).verdict == WORKING
    # A hundredth outside, it is not sure any more.
    assert wound(choice.lowest_mm - 0.0101, wire, bends, saw(kerf), asked).verdict != WORKING
    assert wound(choice.highest_mm + 0.0101, wire, bends, saw(kerf), asked).verdict != WORKING


def test_wire_that_springs_back_straight_makes_no_ring():
    hard = Bending(Flow(0.01), 0, (Flow(0.01), Flow(0.01)))
    tried_on_paper = wound(60.0, 0.3, hard, SHEARS, limits(2.5, 3.3, 3.8))
    assert tried_on_paper.verdict == CANNOT


def test_a_mandrel_below_the_working_minimum_is_not_in_the_working_range():
    asked = RatioLimits(2.5, 3.5, CommonRange(3.3, 3.8, "from memory"))
    tried_on_paper = wound(3.1, 0.9, DEAD_WIRE, SHEARS, asked)
    assert 3.4 < tried_on_paper.aspect_ratio < 3.5
    assert tried_on_paper.verdict == VERY_TIGHT
    choice = mandrel_choice(0.9, DEAD_WIRE, SHEARS, asked, [3.1, 3.3], target=3.5)
    assert choice.safe == "up"
    assert "under 3.50: closes but very tight" in choice.why
