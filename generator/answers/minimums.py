"""The smallest aspect ratios of a weave, as they stand beside the range that makers use.

They take minutes to compute for a weave of many rings, so a rule's file keeps them;
what is kept is shown only for as long as it is that of the rings in hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from ringwright.answers.ratio_limits import SAME, RatioLimits
from ringwright.base.sizes import RingSize
from ringwright.movement.assembly import largest, working_minimum
from ringwright.solver.packing_bound import packing_bound
from ringwright.solver.shapes import tighter_shape
from ringwright.solver.tightest import Tightest, has_one_limit, tightest
from ringwright.weaves.rule import Minimums, WeaveRule

# The low end of a range that is further than this from the computed minimum, as a part of
# it, has to be explained.
EXPLAINED_BEYOND = 0.10
# Kept figures have so many places; what is computed again agrees to this part of itself.
PLACES = 4
AGREE = 1e-3
# The search is good to this, in units of the last place kept.
_ACCURACY = 1e-2


def usual_size(rule: WeaveRule) -> RingSize:
    """The middle of the range that makers use, in 1 mm wire; aspect ratio 4 where none is told."""
    common = rule.common_aspect_ratio
    return RingSize(1.0, 4.0 if common is None else (common.low + common.high) / 2)


def minimums(rule: WeaveRule, size: RingSize, limit: Tightest | None = None) -> Minimums:
    """Compute what a rule's file keeps.

    Parameters
    ----------
    size : the main ring; the figures depend on it only where rings are fixed in millimetres
    limit : the tightest ring, where it is known by now

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    """
    found = limit or tightest(rule, size, workers=0)
    known = _with_other_shapes(rule, size, found) if has_one_limit(rule) else None
    geometric = rounded_up(found.aspect_ratio) if known is None else known.geometric
    # None where the search found no way in for some ring at any ratio that it tried.
    put_in = largest(working_minimum(rule, size, found), geometric)
    working = None if put_in is None else max(rounded_up(put_in), geometric)
    if known is None:
        return Minimums(geometric, working, size.wire_mm, size.inner_mm)
    return replace(known, working=working)


def _with_other_shapes(rule: WeaveRule, size: RingSize, limit: Tightest) -> Minimums:
    """The smallest ratio in whatever shape; the working one is not looked for."""
    other = tighter_shape(rule, size, limit)
    least = limit.aspect_ratio if other is None else other[0]
    # Never below what is proved, not even by the last digit of the search.
    geometric = rounded_up(max(least, packing_bound(rule) or 0.0))
    if other is None:
        return Minimums(geometric, None)
    return Minimums(geometric, None, straight=rounded_up(limit.aspect_ratio), shape=other[1])


def with_other_shapes(rule: WeaveRule, sizes: Sequence[RingSize], limit: Tightest) -> Tightest:
    """The tightest ring with other shapes searched for, if the answer for a size hangs on them.

    It does for sizes below the minimum of the rule's own shape, or at it, of a rule whose file
    keeps no figures; not for those below what is proved. Rules that fix rings in millimetres are
    not searched. Takes seconds to some minutes.

    Parameters
    ----------
    sizes : that will be asked about
    limit : the tightest ring in the rule's own shape
    """
    if limit.searched is not None or not has_one_limit(rule):
        return limit
    proved = packing_bound(rule) or 0.0
    _, closes_surely = RatioLimits(limit.aspect_ratio, None, None).limit_range
    open_ones = [one for one in sizes if proved - SAME <= one.aspect_ratio < closes_surely]
    if not open_ones or kept_minimums(rule, open_ones[0], limit) is not None:
        return limit
    return replace(limit, searched=_with_other_shapes(rule, open_ones[0], limit))


def rounded_up(ratio: float) -> float:
    """A minimum as it is kept: to four places, and never less than was found."""
    places: float = 10.0**PLACES
    return round(math.ceil(ratio * places - _ACCURACY) / places, PLACES)


def kept_minimums(rule: WeaveRule, size: RingSize, limit: Tightest) -> Minimums | None:
    """What a rule's file keeps, if it is for this size and agrees with the tightest ring found.

    A file whose placement or ring sizes were changed since then keeps figures of another
    weave; those are not given.
    """
    kept = rule.computed
    if kept is None or abs(kept.as_laid / limit.aspect_ratio - 1.0) > AGREE:
        return None
    if kept.wire_mm is None or kept.inner_mm is None:
        return kept
    same = math.isclose(kept.wire_mm, size.wire_mm) and math.isclose(kept.inner_mm, size.inner_mm)
    return kept if same else None


def range_against_minimum(rule: WeaveRule) -> float | None:
    """How far the low end of the common range lies above the computed minimum, as a part of it.

    Negative below it; None where the rule lacks one of the two.
    """
    if rule.common_aspect_ratio is None or rule.computed is None:
        return None
    return rule.common_aspect_ratio.low / rule.computed.least - 1.0
