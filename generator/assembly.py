"""The smallest aspect ratio at which a weave can be put together in the rule's order.

A closed ring that fits where it rests may still be impossible to put there. The
model used: a ring that is being put in stands open, its ends apart sideways, and
turns about its own axis into place. What it sweeps is taken as a ring of the same
core circle in thicker wire, and all rings that are there by then have to leave
room for that. It is an approximation: the true sweep is oblong, twice the wire
along the ring's axis and once across it, so one and a half times is taken.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.climb import Unit, climb, shaken, thickest
from generator.placement import by_themselves, placed_unit, ring_radii
from generator.sizes import RingSize
from weaves.rule import RingRef, WeaveRule, wrapped

Floats = NDArray[np.float64]

SWEPT = 1.5
MODEL = (
    "approximation: the ring being put in sweeps a ring of 1.5 times its wire, and the rings "
    "there by then must leave room for it"
)
_STARTS = 3
# So many rings or more, in whole repeats, stand finished before those of the step: the end of
# a shorter piece slips out of the lay that the next rings have to be worked into.
_RINGS_BEFORE = 6


@dataclass(frozen=True)
class StepLimit:
    """How tight one step of the assembly is.

    Attributes
    ----------
    step : its place in the rule's order, from 0
    ring : the ring put in
    aspect_ratio : below this the ring cannot be put in
    starts, agreed : starting placements tried, and how many came within 0.001 of it
    """

    step: int
    ring: str
    aspect_ratio: float
    starts: int
    agreed: int


def working_minimum(
    rule: WeaveRule, size: RingSize, on_progress: Callable[[int, int], None] | None = None
) -> tuple[StepLimit, ...]:
    """How tight each step of the assembly is; the largest is the working minimum.

    Every step is looked at in a piece where whole repeats stand finished, two of them and
    six rings or more, since that is how most rings are put in.

    Parameters
    ----------
    rule, size : as in :func:`generator.tightest.tightest`
    on_progress : called with (done, of)
    """
    unit = placed_unit(rule, size)
    wires = ring_radii(rule, size)[1]
    limits = []
    for number, step in enumerate(rule.steps):
        there = _there(rule, number)
        piece = by_themselves(rule, unit, there)
        swept = there.index(step.ring)
        limits.append(_limit(rule, piece, wires, there, number, swept))
        if on_progress:
            on_progress(number + 1, len(rule.steps))
    return tuple(limits)


def _there(rule: WeaveRule, number: int) -> list[RingRef]:
    """The rings that are there once a step is done, and close enough to be in its way.

    Along a chain, some repeats before; in a sheet or around a tube, what was woven before and
    is linked with the rings of the step; and of this repeat what was done so far.
    """
    there: dict[RingRef, None] = {}
    before = max(2, -(-_RINGS_BEFORE // rule.rings_per_repeat)) if rule.start else 0
    for repeat in range(-before, 0):
        for ring in rule.rings:
            there.setdefault(RingRef(ring.name, (repeat, 0)))
    for step in rule.steps[: number + 1]:
        for ref in (*step.through, *step.holding):
            there.setdefault(ref)
        there.setdefault(step.ring)
    if rule.family in ("sheet", "tube"):
        for ref in list(there):
            for other in _linked_with(rule, ref):
                if _woven(other) < _woven(RingRef("", (0, 0))):
                    there.setdefault(other)
    return list(there)


def _woven(ref: RingRef) -> tuple[int, int]:
    """When a ring's repeat is woven: row by row, and along the row."""
    return ref.image[1], ref.image[0]


def _linked_with(rule: WeaveRule, ref: RingRef) -> list[RingRef]:
    """Every ring that a ring runs through."""
    found = []
    for link in rule.links:
        for one, other in ((link.first, link.second), (link.second, link.first)):
            if one.name == ref.name:
                image = tuple(
                    k + to - of for k, to, of in zip(ref.image, other.image, one.image, strict=True)
                )
                k1, k2 = image if rule.around == 1 else wrapped((image[0], image[1]), rule.around)
                found.append(RingRef(other.name, (k1, k2)))
    return found


def _limit(
    rule: WeaveRule,
    piece: Unit,
    wires: Floats,
    there: list[RingRef],
    number: int,
    swept: int,
) -> StepLimit:
    """Grow all wires, that of the ring being put in ahead of the others."""
    place = {ring.name: index for index, ring in enumerate(rule.rings)}
    relative = wires[[place[ref.name] for ref in there]]
    relative[swept] *= SWEPT
    piece = piece.with_wire_radii(relative * (piece.rings.wire_radii.min() / relative.max()))
    main = [rule.rings[place[ref.name]].size is None for ref in there]
    main[swept] = False
    known = main.index(True) if True in main else swept
    factor = 1.0 if known != swept else 1.0 / SWEPT
    ratios = []
    for seed in range(_STARTS):
        start = piece if seed == 0 else shaken(piece, seed)
        end = climb(start, thickest(start), rounds=120, tolerance=1e-8).unit
        ratios.append(1.0 / (factor * float(end.rings.wire_radii[known])) - 1.0)
    best = min(ratios)
    agreed = sum(ratio - best < 1e-3 for ratio in ratios)
    return StepLimit(number, rule.steps[number].ring.name, best, _STARTS, agreed)
