"""One place decides on a ratio: verdicts follow one another and no figure contradicts them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.answers.ratio_limits import (
    AT_LIMIT,
    CANNOT,
    LOOSE,
    ORDER,
    RING_LARGER,
    VERY_TIGHT,
    WIRE_OFF,
    WORKING,
    RatioLimits,
)
from ringwright.weaves import list_rules
from ringwright.weaves.rule import CommonRange

SETTINGS = settings(derandomize=True, deadline=None, max_examples=300)
RULES = {rule.name: rule for rule in list_rules()}
# As the ratio grows.
FROM_TIGHT = (CANNOT, AT_LIMIT, VERY_TIGHT, WORKING, LOOSE)

commons = st.one_of(
    st.none(),
    st.tuples(st.floats(1.0, 9.0), st.floats(0.0, 3.0)).map(
        lambda ends: CommonRange(ends[0], ends[0] + ends[1], "made up")
    ),
)
made_up = st.builds(
    lambda minimum, above, common: RatioLimits(minimum, above and above * minimum, common),
    st.floats(1.2, 8.0),
    st.one_of(st.none(), st.floats(1.0, 1.4)),
    commons,
)


def of_rule(name: str) -> RatioLimits:
    rule = RULES[name]
    return RatioLimits(rule.computed.geometric, rule.computed.working, rule.common_aspect_ratio)


known = st.sampled_from(sorted(RULES)).map(of_rule)


@SETTINGS
@given(st.one_of(known, made_up), st.floats(1.0, 15.0), st.floats(1.0, 15.0))
def test_verdicts_follow_one_another_and_agree_with_every_figure(limits, one, other):
    tight, wide = sorted((one, other))
    assert FROM_TIGHT.index(limits.verdict(tight)) <= FROM_TIGHT.index(limits.verdict(wide))
    low, high = limits.working_range
    never, always = limits.limit_range
    assert never < limits.minimum < always < low
    for ratio in (tight, wide):
        verdict = limits.verdict(ratio)
        if min(abs(ratio - end) for end in (low, high, never, always)) < 1e-6:
            continue
        assert (verdict == WORKING) == (low < ratio < high)
        assert (verdict == AT_LIMIT) == (never < ratio < always)
        assert (verdict == CANNOT) == (ratio < never)
        if verdict in (VERY_TIGHT, WORKING, LOOSE):
            assert limits.closes(ratio)
        if verdict == CANNOT:
            assert not limits.closes(ratio)
        if limits.working is not None and ratio < limits.working:
            assert verdict not in (WORKING, LOOSE)


@pytest.mark.parametrize("name", RULES)
def test_no_weave_is_in_its_working_range_below_its_working_minimum(name):
    limits = of_rule(name)
    low, high = limits.working_range
    # Where no way in was found for every ring, the room alone decides.
    assert (limits.working or limits.minimum) <= low < high
    steps = [1.0 + 0.005 * n for n in range(2000)]
    verdicts = [limits.verdict(ratio) for ratio in steps]
    assert [v for n, v in enumerate(verdicts) if n == 0 or v != verdicts[n - 1]] == list(FROM_TIGHT)
    assert {limits.verdict(low), limits.verdict(limits.middle), limits.verdict(high)} == {WORKING}


def test_what_makers_use_below_the_working_minimum_is_very_tight():
    byzantine = RatioLimits(3.2654, 3.5845, CommonRange(3.5, 4.3, "made up"))
    assert byzantine.verdict(3.52) == VERY_TIGHT
    assert byzantine.verdict(3.59) == WORKING
    for limits in map(of_rule, RULES):
        working = limits.working or limits.minimum
        between = (limits.common.low + working) / 2
        if limits.limit_range[1] < between < working:
            assert limits.verdict(between) == VERY_TIGHT


def test_verdicts_meet_at_the_ends_of_the_working_range():
    for common in (None, CommonRange(3.3, 3.8, "from memory")):
        for working in (None, 3.4):
            limits = RatioLimits(2.6, working, common)
            low, high = limits.working_range
            ratios = (2.5, 2.59, 2.61, 2.63, low - 0.01, low + 1e-9, high - 1e-9, high + 0.01)
            assert [limits.verdict(ratio) for ratio in ratios] == [
                *(CANNOT, AT_LIMIT, AT_LIMIT, VERY_TIGHT, VERY_TIGHT, WORKING, WORKING, LOOSE)
            ]
    # A common range that begins below what can be woven begins where there is some room.
    limits = RatioLimits(3.6, None, CommonRange(3.0, 3.9, "from memory"))
    low, high = limits.working_range
    assert limits.verdict(low + 1e-9) == WORKING
    assert 3.6 < low < high


def test_where_makers_use_what_cannot_be_put_in_nothing_is_in_the_working_range():
    limits = RatioLimits(2.6, 4.0, CommonRange(3.3, 3.8, "from memory"))
    low, high = limits.working_range
    assert (low, high) == (4.0, 3.8)
    assert limits.verdict(3.9) == VERY_TIGHT
    assert limits.verdict(4.1) == LOOSE
    assert [zone.verdict for zone in limits.zones] == [CANNOT, AT_LIMIT, VERY_TIGHT, LOOSE]


def test_the_limit_is_as_wide_as_wire_and_rings_are_off():
    """Wire 1 % thinner and a ring of 4 mm that measures 4.1: just so much below, it may close."""
    never, always = RatioLimits(4.0, None, None).limit_range
    wire_mm, inner_mm = 1.0, 4.0 * never / 4.0
    measured = inner_mm * (1.0 + RING_LARGER) / (wire_mm * (1.0 - WIRE_OFF))
    assert measured == pytest.approx(4.0)
    assert always * wire_mm / (wire_mm * (1.0 + WIRE_OFF)) == pytest.approx(4.0)


def test_the_worst_of_several_ratios():
    limits = RatioLimits(2.6, None, CommonRange(3.3, 3.8, "from memory"))
    assert limits.worst((3.4, 3.9)) == LOOSE
    assert limits.worst((3.9, 3.2)) == VERY_TIGHT
    assert limits.worst((3.9, 2.61)) == AT_LIMIT
    assert set(ORDER) == set(FROM_TIGHT)


def test_rings_whose_springback_is_counted_have_no_more_of_it_to_come():
    """Rings 1.5 % below the minimum: at the limit by their name, not once they are reckoned."""
    limits = RatioLimits(4.0, None, None)
    assert limits.verdict(3.94) == AT_LIMIT
    sure = limits.with_springback(3.94, 3.94)
    assert sure.verdict(3.94) == CANNOT
    # A wire off by 1 % still decides.
    assert sure.limit_range == pytest.approx((4.0 * (1 - WIRE_OFF), 4.0 * (1 + WIRE_OFF)))
    # With springback known only to 4 %, it may be such rings after all.
    assert limits.with_springback(3.94, 3.94 * 1.04).verdict(3.94) == AT_LIMIT
