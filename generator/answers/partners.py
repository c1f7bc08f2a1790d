"""Weaves of two sizes: which rings of one size work with those of the others.

All wires are kept, and the rings of the other sizes; the inner diameter of one size is
changed, step by step and no ring passing through another, until the weave is at the point
of not closing any more. What is found is what one way of settling comes to: rings within
the span close the weave for certain, those outside it were only not seen to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from ringwright.answers.second import ring_of
from ringwright.base.errors import BadInput
from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import LOWEST_RATIO, RingSize
from ringwright.solver.climb import Unit, shaken
from ringwright.solver.placement import placed_unit, ring_radii
from ringwright.solver.resize import resized
from ringwright.weaves.rule import WeaveRule
from ringwright.weaves.second import with_second

# Inner diameters that are tried one after the other grow by so much.
_STEP = 1.1
# Rings are tried up to so many times the inner diameter they have.
_FURTHEST = 2.0
# An edge is known when rings so near to each other, as parts of the inner diameter, lie to
# either side of it.
_EDGE = 1e-4
# How sure a state is to be, as for a climb; what falls short of it narrows a span by less.
_SURE = 1e-5
# Where rings do not close it, so many placements shaken from the rule's are tried too.
_SHAKEN = 2
# Wires that could grow by no more than this part just close.
_CLOSES = 1e-9


@dataclass(frozen=True)
class InnerSpan:
    """Inner diameters, in millimetres, with which the weave was found to close.

    Attributes
    ----------
    smallest_mm, largest_mm : both ends close the weave
    is_open : whether the largest is only the largest that was tried
    """

    smallest_mm: float
    largest_mm: float
    is_open: bool


@dataclass(frozen=True)
class Partner:
    """Rings of one size of a weave, and which would do in their place.

    Attributes
    ----------
    name : of the size; None for the main ring
    ring : as they are
    is_own : whether the maker chose them; the rule's own proportion gives them otherwise
    span : other inner diameters of the same wire, beside the other rings as they are; None
        where none was found
    """

    name: str | None
    ring: RingSize
    is_own: bool
    span: InnerSpan | None


@dataclass(frozen=True, eq=False)
class _State:
    """Rings of one inner diameter: the thickest wires, as a multiple of the wanted ones."""

    inner_mm: float
    share: float
    unit: Unit

    @property
    def closes(self) -> bool:
        return self.share >= 1.0 - _CLOSES


_At = Callable[[float, Unit], _State]


def partners(
    rule: WeaveRule,
    size: RingSize,
    tight: Unit,
    on_progress: Tally = uncounted,
) -> tuple[Partner, ...]:
    """The main ring and those of every other size, each with what would do in its place.

    Parameters
    ----------
    size : the main ring
    tight : the rings at the tightest at this size, from :func:`ringwright.solver.tightest.tightest`
    on_progress : called with (done, of)

    Returns
    -------
    tuple of Partner
        Empty for a rule of one size.
    """
    if not rule.sizes:
        return ()
    rings = {one.name: ring_of(one, size) for one in rule.sizes}
    kept = with_second(rule, {name: (ring.wire_mm, ring.inner_mm) for name, ring in rings.items()})
    found = [Partner(None, size, True, _main_span(kept, size, tight))]
    for done, one in enumerate(rule.sizes, start=1):
        on_progress(done, len(rule.sizes) + 1)
        span = _second_span(kept, size, one.name, rings[one.name], tight)
        found.append(Partner(one.name, rings[one.name], one.instead_of is not None, span))
    on_progress(len(found), len(found))
    return tuple(found)


def _main_span(rule: WeaveRule, size: RingSize, tight: Unit) -> InnerSpan | None:
    def at(inner_mm: float, near: Unit) -> _State:
        return _state(rule, RingSize(size.wire_mm, inner_mm), inner_mm, near)

    return _span(at, size, tight)


def _second_span(
    rule: WeaveRule, size: RingSize, name: str, ring: RingSize, tight: Unit
) -> InnerSpan | None:
    def at(inner_mm: float, near: Unit) -> _State:
        return _state(with_second(rule, {name: (ring.wire_mm, inner_mm)}), size, inner_mm, near)

    return _span(at, ring, tight)


def _state(rule: WeaveRule, size: RingSize, inner_mm: float, near: Unit) -> _State:
    """The thickest wires of these rings, come to from those nearby or, failing that, afresh."""
    core, wire = ring_radii(rule, size)
    best = _State(inner_mm, 0.0, near)
    for start in _starts(rule, size, near):
        unit = resized(start, core, wire, _SURE)
        if unit is not None:
            found = _State(inner_mm, float(unit.rings.wire_radii[0] / wire[0]), unit)
            best = max(best, found, key=lambda state: state.share)
        if best.closes:
            break
    return best


def _starts(rule: WeaveRule, size: RingSize, near: Unit) -> Iterator[Unit]:
    """The rings nearby, the rule's own placement, and that shaken."""
    yield near
    try:
        placed = placed_unit(rule, size)
    except BadInput:
        # So far from the rule's own sizes that its placement does not lead there.
        return
    yield placed
    for seed in range(1, _SHAKEN + 1):
        yield shaken(placed, seed)


def _span(at: _At, ring: RingSize, tight: Unit) -> InnerSpan | None:
    lowest_mm, highest_mm = LOWEST_RATIO * ring.wire_mm, _FURTHEST * ring.inner_mm
    inside = _nearest_that_closes(at, at(ring.inner_mm, tight), lowest_mm, highest_mm)
    if inside is None:
        return None
    smallest_mm, _ = _edge(at, inside, lowest_mm)
    largest_mm, is_open = _edge(at, inside, highest_mm)
    return InnerSpan(smallest_mm, largest_mm, is_open)


def _nearest_that_closes(
    at: _At, here: _State, lowest_mm: float, highest_mm: float
) -> _State | None:
    """These rings, or the first that close among smaller or larger ones."""
    if here.closes:
        return here
    for end_mm in (highest_mm, lowest_mm):
        before = here
        while before.inner_mm != end_mm:
            following = at(_next_mm(before.inner_mm, end_mm), before.unit)
            if following.closes:
                return following
            if following.share <= before.share:
                # The further away, the worse.
                break
            before = following
    return None


def _next_mm(inner_mm: float, end_mm: float) -> float:
    if end_mm > inner_mm:
        return min(_STEP * inner_mm, end_mm)
    return max(inner_mm / _STEP, end_mm)


def _edge(at: _At, inside: _State, end_mm: float) -> tuple[float, bool]:
    """The last inner diameter towards an end that closes, and whether it is the end itself."""
    while True:
        if inside.inner_mm == end_mm:
            return end_mm, True
        outside = at(_next_mm(inside.inner_mm, end_mm), inside.unit)
        if not outside.closes:
            break
        inside = outside
    # Where the share goes through 1, by false position; the half that stays has its weight
    # halved (the Illinois rule), so that both sides close in.
    weights = [inside.share - 1.0, outside.share - 1.0]
    while abs(outside.inner_mm - inside.inner_mm) > _EDGE * inside.inner_mm:
        ahead = weights[0] / (weights[0] - weights[1])
        way = min(max(ahead, _EDGE / 4.0), 1.0 - _EDGE / 4.0)
        middle_mm = inside.inner_mm + way * (outside.inner_mm - inside.inner_mm)
        middle = at(middle_mm, inside.unit)
        if middle.closes:
            inside, weights = middle, [middle.share - 1.0, weights[1] / 2.0]
            if middle.share - 1.0 < _EDGE / 10.0:
                break
        else:
            outside, weights = middle, [weights[0] / 2.0, middle.share - 1.0]
    return inside.inner_mm, False
