"""Which mandrel makes a working ring of a wire, and whether to round it up or down.

Nothing here follows habit: both neighbours of the mandrel wanted are wound on paper, with the
least and the most springback the wire may have, and judged by the smallest aspect ratio that
was computed for the weave and the range its makers use.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.answers.ratio_limits import AT_LIMIT, CANNOT, LOOSE, ORDER, VERY_TIGHT, RatioLimits
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, format_mm
from ringwright.making.ring.coil import Cut, mandrel_mm_for_ring
from ringwright.making.ring.made_ring import made_span, mandrel_mm_at_least, mandrel_mm_at_most
from ringwright.making.ring.wire import Bending
from ringwright.metals.flow import Flow

UP, DOWN, EITHER, NEITHER = "up", "down", "either", "neither"
# Mandrels are sold in such steps: common practice, no source.
STEP_MM = 0.5


@dataclass(frozen=True)
class Wound:
    """A mandrel tried on paper.

    Attributes
    ----------
    ratios : of the closed ring with the least, the likeliest and the most springback; nan
        where the wire makes no ring
    verdict : the worst of the three
    """

    mandrel_mm: float
    ratios: tuple[float, float, float]
    verdict: str

    @property
    def aspect_ratio(self) -> float:
        """The likeliest."""
        return self.ratios[1]


@dataclass(frozen=True)
class MandrelChoice:
    """The mandrel wanted for a wire and what its neighbours make.

    Attributes
    ----------
    target : aspect ratio aimed at
    exact_mm : the mandrel that hits it
    lowest_mm, highest_mm : from here to here every mandrel makes a ring in the working
        range, whatever the springback; rounded to the safe side; None where there is none
    down, up : the neighbours among those to choose from; None at the end of the row
    safe : ``up``, ``down``, ``either`` or ``neither``
    why : a sentence
    """

    wire_mm: float
    target: float
    exact_mm: float
    lowest_mm: float | None
    highest_mm: float | None
    down: Wound | None
    up: Wound | None
    safe: str
    why: str

    @property
    def chosen(self) -> Wound | None:
        """The neighbour to take: the safe one, or of two safe ones that nearer to the target."""
        if self.safe == NEITHER:
            return None
        if self.safe == EITHER and self.up is not None and self.down is not None:
            off = [abs(wound.aspect_ratio - self.target) for wound in (self.up, self.down)]
            return self.up if off[0] <= off[1] else self.down
        return self.down if self.safe == DOWN else self.up


def wound(
    mandrel_mm: float, wire_mm: float, bends: Bending, cut: Cut, limits: RatioLimits
) -> Wound:
    """A wire wound on a mandrel, cut, closed and judged."""
    try:
        made = made_span(mandrel_mm, wire_mm, bends, cut)
    except BadInput:
        # It springs back straight, or the saw leaves nothing of it.
        return Wound(mandrel_mm, (math.nan,) * 3, CANNOT)
    low, likely, high = ratios = [one.ring.aspect_ratio for one in made]
    # What is uncertain in the springback is in these three by now.
    judged = limits.with_springback(high, high)
    return Wound(mandrel_mm, (low, likely, high), judged.worst(ratios))


def mandrel_choice(
    wire_mm: float,
    bends: Bending,
    cut: Cut,
    limits: RatioLimits,
    mandrels_mm: Sequence[float] | None = None,
    target: float | None = None,
) -> MandrelChoice:
    """The mandrel for a wire, and to which side it is safe to round it.

    Parameters
    ----------
    mandrels_mm : to choose from; steps of 0.5 mm if None
    target : aspect ratio wanted; the middle of the working range if None

    Raises
    ------
    BadInput
        When no mandrel at all makes that ring of that wire.
    """
    target = limits.middle if target is None else target
    exact_mm = _mandrel(wire_mm, target, bends.flow, cut)
    below, above = _neighbours(exact_mm, mandrels_mm)
    down, up = (
        None if size_mm is None else wound(size_mm, wire_mm, bends, cut, limits)
        for size_mm in (below, above)
    )
    lowest_mm, highest_mm = _safe_span(wire_mm, bends, cut, limits)
    safe, why = _safe_side(down, up, limits)
    return MandrelChoice(wire_mm, target, exact_mm, lowest_mm, highest_mm, down, up, safe, why)


def _mandrel(wire_mm: float, aspect_ratio: float, flow: Flow, cut: Cut) -> float:
    return mandrel_mm_for_ring(RingSize(wire_mm, aspect_ratio * wire_mm), flow, cut)


def _neighbours(
    exact_mm: float, mandrels_mm: Sequence[float] | None
) -> tuple[float | None, float | None]:
    """The nearest mandrels below and above; the same twice where one fits exactly."""
    if mandrels_mm is None:
        steps = exact_mm / STEP_MM
        below = math.floor(steps + 1e-9) * STEP_MM
        return below or None, math.ceil(steps - 1e-9) * STEP_MM
    below_mm = [size for size in mandrels_mm if size <= exact_mm + 1e-9]
    above_mm = [size for size in mandrels_mm if size >= exact_mm - 1e-9]
    return max(below_mm, default=None), min(above_mm, default=None)


def _safe_span(
    wire_mm: float, bends: Bending, cut: Cut, limits: RatioLimits
) -> tuple[float | None, float | None]:
    """The mandrels that work whatever the springback, rounded inwards to 0.01 mm."""
    low, high = limits.working_range
    if low > high:
        return None, None
    try:
        # The tightest ring comes of the least springback, the widest of the most.
        least_sprung_mm = mandrel_mm_at_least(RingSize(wire_mm, low * wire_mm), bends, cut)
        most_sprung_mm = mandrel_mm_at_most(RingSize(wire_mm, high * wire_mm), bends, cut)
        lowest_mm = math.ceil(100 * least_sprung_mm - 1e-6) / 100
        highest_mm = math.floor(100 * most_sprung_mm + 1e-6) / 100
    except BadInput:
        return None, None
    return (lowest_mm, highest_mm) if lowest_mm <= highest_mm else (None, None)


def _safe_side(down: Wound | None, up: Wound | None, limits: RatioLimits) -> tuple[str, str]:
    said = "; ".join(
        _said(name, found, limits) for name, found in (("up", up), ("down", down)) if found
    )
    ranks = [ORDER.index(found.verdict) if found else len(ORDER) for found in (up, down)]
    if min(ranks) >= ORDER.index(AT_LIMIT):
        return NEITHER, f"No neighbouring mandrel surely makes a ring that can be woven: {said}."
    if ranks[0] == ranks[1] == 0:
        return EITHER, f"Both neighbours work: {said}."
    if ranks[0] == ranks[1]:
        # Both too tight: more room is better. Both loose: less.
        safe = DOWN if up is not None and up.verdict == LOOSE else UP
    else:
        safe = UP if ranks[0] < ranks[1] else DOWN
    return safe, f"Round {safe} to be safe: {said}."


def _said(name: str, found: Wound, limits: RatioLimits) -> str:
    low, likely, high = found.ratios
    if math.isnan(likely):
        return f"{format_mm(found.mandrel_mm)} ({name}) makes no ring"
    span = f"AR {likely:.2f}"
    if high - low >= 0.01:
        span += f" ({low:.2f} to {high:.2f}, depending on springback)"
    bounds = limits.working_range
    if found.verdict == CANNOT:
        surely = high < limits.with_springback(high, high).limit_range[0]
        reason = f"{_may(surely)} under the smallest, {limits.minimum:.2f}: {CANNOT}"
    elif found.verdict == AT_LIMIT:
        reason = f"hardly differs from the smallest, {limits.minimum:.2f}: {AT_LIMIT}"
    elif found.verdict == VERY_TIGHT:
        reason = f"{_may(high < bounds[0])} under {bounds[0]:.2f}: {VERY_TIGHT}"
    elif found.verdict == LOOSE:
        reason = f"{_may(low > bounds[1])} over {bounds[1]:.2f}: {LOOSE}"
    else:
        reason = found.verdict
    return f"{format_mm(found.mandrel_mm)} ({name}) gives {span}, {reason}"


def _may(surely: bool) -> str:
    return "comes out" if surely else "may come out"
