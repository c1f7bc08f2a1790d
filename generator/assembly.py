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
from generator.contact import Rings, carried
from generator.lattice import Lattice
from generator.placement import placed_unit, ring_radii
from generator.sizes import RingSize
from weaves.rule import Image, RingRef, WeaveRule

Floats = NDArray[np.float64]

SWEPT = 1.5
MODEL = (
    "approximation: the ring being put in sweeps a ring of 1.5 times its wire, and the rings "
    "there by then must leave room for it"
)
_STARTS = 3


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

    Every step is looked at in a piece where two whole repeats stand finished, since
    that is how most rings are put in.

    Parameters
    ----------
    rule, size : as in :func:`generator.settle.tightest`
    on_progress : called with (done, of)
    """
    unit = placed_unit(rule, size)
    wires = ring_radii(rule, size)[1]
    limits = []
    for number, step in enumerate(rule.steps):
        there = _there(rule, number)
        piece = _part(rule, unit, there)
        swept = there.index(step.ring)
        limits.append(_limit(rule, piece, wires, there, number, swept))
        if on_progress:
            on_progress(number + 1, len(rule.steps))
    return tuple(limits)


def _there(rule: WeaveRule, number: int) -> list[RingRef]:
    """The rings that are there once a step is done: two repeats before, and this one so far."""
    there: dict[RingRef, None] = {}
    for image in ((-2, 0), (-1, 0)) if rule.start else ():
        for ring in rule.rings:
            there.setdefault(RingRef(ring.name, image))
    for step in rule.steps[: number + 1]:
        for ref in (*step.through, *step.holding):
            there.setdefault(ref)
        there.setdefault(step.ring)
    return list(there)


def _part(rule: WeaveRule, unit: Unit, there: list[RingRef]) -> Unit:
    """Those rings by themselves, as a piece without repeats."""
    place = {ring.name: index for index, ring in enumerate(rule.rings)}
    at = np.array([place[ref.name] for ref in there])
    images: list[Image] = [ref.image for ref in there]
    rings = unit.rings
    centres, axes = carried(
        rings.centres[at], rings.axes[at], np.array(images, np.intp), unit.lattice
    )
    return Unit(
        Rings(centres, axes, rings.core_radii[at], rings.wire_radii[at]),
        Lattice("piece", np.zeros(0)),
    )


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
