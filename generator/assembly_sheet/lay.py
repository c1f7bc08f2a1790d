"""Which rings have to be laid another way before a step, read off the half-made piece."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from generator.assembly_sheet.words import LayNotes, between_words, fold_words
from generator.circles import plane_basis
from generator.half_made import HalfMade
from weaves.rule import RingRef

Floats = NDArray[np.float64]

_POINTS = 180


def lay_notes(
    states: Sequence[HalfMade], numbers: Mapping[RingRef, int]
) -> dict[RingRef, LayNotes]:
    """How rings have to lie, in words, for every ring that is put in.

    Two rings that go through the same rings are a pair. Where by some step the wire of a ring
    that neither of them goes through lies between the two, and did not the step before, the pair
    was folded back to both sides of it. Where the ring that is put in lies between a pair that
    hangs on a ring it goes through, that is said too.
    """
    said: dict[RingRef, LayNotes] = {}
    before: HalfMade | None = None
    for after in states:
        first = [] if before is None else _folds(before, after, numbers)
        then = []
        ring = after.step.ring
        for pair in _pairs(after):
            if _hangs_on(after, pair[0]) & set(after.step.through) and ring in _between(
                after, *pair
            ):
                then.append(between_words(numbers[ring], (numbers[pair[0]], numbers[pair[1]])))
        named = {int(number) for each in first + then for number in re.findall(r"\d+", each)}
        said[ring] = LayNotes(tuple(first), tuple(then), tuple(sorted(named)))
        before = after
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


def _hangs_on(state: HalfMade, ref: RingRef) -> set[RingRef]:
    """The rings that a ring is linked with."""
    at = state.rings.index(ref)
    return {state.rings[place] for pair in state.links if at in pair for place in pair}


def _pairs(state: HalfMade) -> list[tuple[RingRef, RingRef]]:
    """Rings that are not linked with each other, but with the same others."""
    around: dict[int, set[int]] = {at: set() for at in range(len(state.rings))}
    for one, two in state.links:
        around[one].add(two)
        around[two].add(one)
    return [
        (state.rings[one], state.rings[two])
        for one in around
        for two in range(one + 1, len(state.rings))
        if around[one] and around[one] == around[two]
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
        line = _circle(rings.centres[at], rings.axes[at], float(rings.core_radii[at]))
        heights = []
        inside = np.ones(len(line), dtype=np.bool_)
        for place, way in zip((first, second), ways, strict=True):
            away = line - rings.centres[place]
            height = away @ way
            flat = np.linalg.norm(away - height[:, None] * way, axis=1)
            inside &= flat < rings.core_radii[place]
            heights.append(height)
        if (inside & (heights[0] * heights[1] < 0.0)).any():
            found.add(ref)
    return found


def _circle(centre: Floats, axis: Floats, radius: float) -> Floats:
    u, v = (basis[0] for basis in plane_basis(axis[None]))
    turn = np.linspace(0.0, 2.0 * np.pi, _POINTS, endpoint=False)
    line: Floats = centre + radius * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v)
    return line
