"""How rings have to lie, and where one could go wrong, read off half-made pieces."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.movement.order import moved
from ringwright.outputs.assembly_sheet.words import (
    LayNotes,
    beside_words,
    between_words,
    fold_words,
    lay_words,
    leaning_words,
    not_through_words,
)
from ringwright.piece.half_made import HalfMade
from ringwright.solver.passing import circle, crossings_above, heights_above
from ringwright.solver.placement import linked_pairs
from ringwright.weaves.rule import RingRef, WeaveRule

# Rings face alike when the cosine between their axes is larger; they lie together when, seen along
# the axis, their middles are nearer than this to one another, in their radii; two rings of the
# same name in different repeats when they are a little farther apart.
_ALIKE, _TOGETHER, _SAME_KIND = 0.8, 1.0, 1.2
# Ways of a wire that are more than a right angle and a half apart are one against the other.
_AGAINST = -0.5


def lay_notes(
    rule: WeaveRule, states: Sequence[HalfMade], numbers: Mapping[RingRef, int]
) -> dict[RingRef, LayNotes]:
    """How rings have to lie, in words, for every ring that is put in, and the last of the start.

    Two rings that go through the same rings are a pair. Where by some step the wire of a ring
    that neither of them goes through lies between the two, and did not the step before, the pair
    was folded back to both sides of it. Where the ring that is put in lies between a pair that
    hangs on a ring it goes through, that is said too; and which rings it does not go through,
    of those that one could take by mistake.
    """
    said = _start_notes(rule, states, numbers)
    refused_by = _refused(rule, states)
    before: HalfMade | None = None
    for after in states:
        first = [] if before is None else _folds(before, after, numbers)
        ring = after.step.ring
        then = [] if not after.step.needs_table else _beside(after, after.new, numbers)
        for pair in _pairs(after):
            if _hangs_on(after, pair[0]) & set(after.step.through) and ring in _between(
                after, *pair
            ):
                then.append(between_words(numbers[ring], (numbers[pair[0]], numbers[pair[1]])))
        told = {int(number) for each in then for number in re.findall(r"\d+", each)}
        # Of what lies over or under it, the step itself says that it is not gone through.
        told |= {numbers[ref] for ref in (*after.step.over, *after.step.under) if ref in numbers}
        mistaken = sorted(numbers[ref] for ref in refused_by[ring])
        if refused := [number for number in mistaken if number not in told]:
            then.append(not_through_words(numbers[ring], refused))
        words = [*first, *lay_words(rule, after.step, numbers), *then]
        named = {int(number) for each in words for number in re.findall(r"\d+", each)}
        back = tuple(numbers[ref] for ref in _gone_back_through(after))
        leans = _leans(after, ring, numbers) if any(after.step.sides) else ()
        said[ring] = LayNotes(tuple(first), tuple(then), tuple(sorted(named)), back, leans)
        before = after
    return said


def _start_notes(
    rule: WeaveRule, states: Sequence[HalfMade], numbers: Mapping[RingRef, int]
) -> dict[RingRef, LayNotes]:
    """How the rings of the start have to lie, told of the last of them."""
    first = [start.ring for start in rule.start]
    if not states or not states[0].step.needs_table or len(first) < 2:
        return {}
    said = _beside(states[0], first, numbers)
    leans: list[str] = []
    for start in rule.start:
        if start.role == "open" and any(states[0].step.sides):
            leans += _leans(states[0], start.ring, numbers)
    return {max(first, key=numbers.__getitem__): LayNotes(then=tuple(said), leans=tuple(leans))}


def _leans(state: HalfMade, ring: RingRef, numbers: Mapping[RingRef, int]) -> tuple[str, ...]:
    """Which half of a ring lies over the rings it runs through, where one does and one under."""
    wire = _wire(state, ring)
    far: dict[bool, list[float]] = {True: [], False: []}
    for other in _hangs_on(state, ring) - {ring}:
        along, heights = crossings_above(wire, _wire(state, other))
        for at, height in zip(along, heights, strict=True):
            far[bool(height > 0.0)].append(float(wire[at, 1]))
    if not far[True] or not far[False]:
        return ()
    if max(far[True]) < min(far[False]):
        return (leaning_words(numbers[ring], "over"),)
    if max(far[False]) < min(far[True]):
        return (leaning_words(numbers[ring], "under"),)
    return ()


def _wire(state: HalfMade, ref: RingRef) -> Floats:
    """Points along the middle of a ring's wire."""
    rings, at = state.unit.rings, state.rings.index(ref)
    return circle(rings.centres[at], rings.axes[at], float(rings.core_radii[at]))


def _beside(state: HalfMade, rings: Sequence[RingRef], numbers: Mapping[RingRef, int]) -> list[str]:
    """Which of some rings lie over or under the ring of their name one repeat before.

    What the step says of its ring in so many words is left out.
    """
    said = []
    told = {*state.step.over, *state.step.under}
    for ring in sorted(rings, key=numbers.__getitem__):
        before = RingRef(ring.name, (ring.image[0] - 1, ring.image[1]))
        if before not in state.rings or (ring == state.step.ring and before in told):
            continue
        heights = heights_above(_wire(state, ring), _wire(state, before))
        for kind, way in (("over", 1.0), ("under", -1.0)):
            if len(heights) and (way * heights > 0.0).all():
                said.append(beside_words(numbers[ring], kind, [numbers[before]]))
    return said


def _folds(before: HalfMade, after: HalfMade, numbers: Mapping[RingRef, int]) -> list[str]:
    """The pairs that a step finds folded to both sides of rings that were there before it."""
    said = []
    for pair in _pairs(before):
        new = _between(after, *pair) - _between(before, *pair)
        between = sorted(numbers[ref] for ref in new & set(before.rings))
        if between:
            said.append(fold_words((numbers[pair[0]], numbers[pair[1]]), between))
    return said


def _refused(rule: WeaveRule, states: Sequence[HalfMade]) -> dict[RingRef, list[RingRef]]:
    """For every ring put in, those it does not go through and that one could take by mistake.

    What is near by in one repeat of a chain is named in every repeat, where it is there.
    """
    found = {state.step.ring: _mistaken(state) for state in states}
    if rule.family.image_numbers != 1:
        return found
    alike: dict[str, set[RingRef]] = {}
    for ring, refs in found.items():
        alike.setdefault(ring.name, set()).update(_seen_from(rule, ref, ring) for ref in refs)
    return {
        state.step.ring: [
            ref
            for ref in state.rings
            if _seen_from(rule, ref, state.step.ring) in alike[state.step.ring.name]
        ]
        for state in states
    }


def _seen_from(rule: WeaveRule, ref: RingRef, ring: RingRef) -> RingRef:
    """What a ring is called where another one's repeat counts as the first."""
    return moved(rule, ref, (-ring.image[0], -ring.image[1]))


def _mistaken(state: HalfMade) -> list[RingRef]:
    """The rings that the new one does not go through, and that one could take for some it does.

    Either its wire reaches into their eye, or they lie together with a ring that it goes through.
    """
    rings, new = state.unit.rings, state.rings.index(state.step.ring)
    through = [state.rings.index(ref) for ref in state.step.through]
    wire = circle(rings.centres[new], rings.axes[new], float(rings.core_radii[new]))
    found = []
    for at, ref in enumerate(state.rings):
        if at == new or at in through or (min(at, new), max(at, new)) in state.links:
            continue
        height, flat = _seen_along(rings.axes[at], wire - rings.centres[at])
        eye = flat < rings.core_radii[at] - rings.wire_radii[at]
        reaches = (np.abs(height[eye]) < rings.wire_radii[new]).any()
        if reaches or any(_lie_together(state, at, other) for other in through):
            found.append(ref)
    return found


def _lie_together(state: HalfMade, one: int, other: int) -> bool:
    """Whether two rings lie so much alike that one could be taken for the other."""
    rings = state.unit.rings
    if abs(rings.axes[one] @ rings.axes[other]) < _ALIKE:
        return False
    away = rings.centres[one] - rings.centres[other]
    height, apart = _seen_along(rings.axes[other], away[None])
    same = state.rings[one].name == state.rings[other].name
    near = (_SAME_KIND if same else _TOGETHER) * rings.core_radii[other]
    return bool(apart[0] < near and abs(height[0]) < 2.0 * near)


def _gone_back_through(state: HalfMade) -> list[RingRef]:
    """The rings that the new one goes through against its way through the one before."""
    rings, new = state.unit.rings, state.rings.index(state.step.ring)
    wire = circle(rings.centres[new], rings.axes[new], float(rings.core_radii[new]))
    ways = {}
    for ref in state.step.through:
        at = state.rings.index(ref)
        height, flat = _seen_along(rings.axes[at], wire - rings.centres[at])
        # Where the wire goes through the eye.
        cross = np.where(flat < rings.core_radii[at], np.abs(height), np.inf).argmin()
        ways[ref] = np.cross(rings.axes[new], wire[cross] - rings.centres[new])
    return [
        ref
        for before, ref in pairwise(state.step.through)
        if ways[ref] @ ways[before]
        < _AGAINST * np.linalg.norm(ways[ref]) * np.linalg.norm(ways[before])
    ]


def _seen_along(axis: Floats, away: Floats) -> tuple[Floats, Floats]:
    """How far points are along an axis, and how far from it."""
    height = away @ axis
    return height, np.linalg.norm(away - height[:, None] * axis, axis=1)


def _hangs_on(state: HalfMade, ref: RingRef) -> set[RingRef]:
    """The rings that a ring is linked with."""
    at = state.rings.index(ref)
    return {state.rings[place] for pair in state.links if at in pair for place in pair}


def _pairs(state: HalfMade) -> list[tuple[RingRef, RingRef]]:
    """Rings that are not linked with each other, but with the same others and alike.

    Of two others, both have to pass through the overlap or both around it.
    """
    around: dict[int, dict[int, int]] = {at: {} for at in range(len(state.rings))}
    for (one, two, _), sign in linked_pairs(state.unit).items():
        around[one][two] = around[two][one] = sign
    return [
        (state.rings[one], state.rings[two])
        for one in around
        for two in range(one + 1, len(state.rings))
        if around[one]
        and around[one].keys() == around[two].keys()
        and len({around[one][at] * around[two][at] for at in around[one]}) == 1
    ]


def _between(state: HalfMade, one: RingRef, two: RingRef) -> set[RingRef]:
    """The rings, linked with neither, whose wire lies between the discs of two rings."""
    rings = state.unit.rings
    first, second = state.rings.index(one), state.rings.index(two)
    linked = {at for pair in state.links if first in pair or second in pair for at in pair}
    # Both discs seen from the same side.
    ways = rings.axes[[first, second]].copy()
    if ways[0] @ ways[1] < 0.0:
        ways[1] *= -1.0
    found = set()
    for at, ref in enumerate(state.rings):
        if at in linked or at in (first, second):
            continue
        line = circle(rings.centres[at], rings.axes[at], float(rings.core_radii[at]))
        heights = []
        inside = np.ones(len(line), dtype=np.bool_)
        for place, way in zip((first, second), ways, strict=True):
            height, flat = _seen_along(way, line - rings.centres[place])
            inside &= flat < rings.core_radii[place]
            heights.append(height)
        if (inside & (heights[0] * heights[1] < 0.0)).any():
            found.add(ref)
    return found
