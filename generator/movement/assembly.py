"""Whether a weave can be put together in the rule's order, and the smallest ratio at which it can.

A closed ring that fits where it rests may still be impossible to put there. So every step is
searched backwards: in the piece as it is once the step is done, the ring put in last is opened and
taken out along its own wire, in real wire, while the rings about it give way (see
:mod:`ringwright.movement.way_out`). A way that is found, turned round, is a way in. That none is
found proves nothing.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings
from ringwright.movement.order import moved
from ringwright.movement.way_out import TRIES, Try, Way, way_out
from ringwright.solver.climb import Unit
from ringwright.solver.placement import by_themselves, ring_radii
from ringwright.solver.tightest import Tightest, tightest
from ringwright.weaves.rule import RingRef, WeaveRule, wrapped

MODEL = (
    "found, not proved: each ring is opened sideways and turned in like a screw, the rings about "
    "it giving way; for smaller rings no way in was found, or none was looked for"
)
# So many rings or more, in whole repeats, stand finished before those of the step: the end of
# a shorter piece slips out of the lay that the next rings have to be worked into.
_RINGS_BEFORE = 6
# So many rings about the one that is put in give way; those beyond do not come near it.
_ABOUT = 18
# The first ratio looked at, above the geometric minimum, as a part of it; the step to it is
# doubled so often, until a way is found. So finely the working minimum is told.
_FIRST, _DOUBLINGS = 0.005, 8
# A way found in thicker wire is one in thinner wire too: ratios that are tried, as a part.
_THICKER = (1.0, 0.97, 0.94, 0.9)


@dataclass(frozen=True)
class StepLimit:
    """How tight one step of the assembly is.

    Attributes
    ----------
    step : its place in the rule's order, from 0
    ring : the ring put in
    aspect_ratio : the smallest at which a way in was found; None where none was
    """

    step: int
    ring: str
    aspect_ratio: float | None


@dataclass(frozen=True, eq=False)
class StepWay:
    """How one step of the assembly is done at one size.

    Attributes
    ----------
    step, ring : as in :class:`StepLimit`
    way : found for it, turned round; lengths in core radii. None where none was found
    """

    step: int
    ring: str
    way: Way | None


def ways_in(
    rule: WeaveRule,
    size: RingSize,
    limit: Tightest,
    on_progress: Tally = uncounted,
) -> tuple[StepWay, ...]:
    """How every ring is put in at one size, as far as ways are found.

    Parameters
    ----------
    limit : the tightest ring, from whose places the search starts
    on_progress : called with (done, of)
    """
    found = []
    for number in range(len(rule.steps)):
        found.append(way_in(rule, size, limit, number))
        on_progress(number + 1, len(rule.steps))
    return tuple(found)


def way_in(rule: WeaveRule, size: RingSize, limit: Tightest, number: int) -> StepWay:
    """How the ring of one step is put in at one size; the other parameters as above."""
    for part in _THICKER:
        ratio = part * size.aspect_ratio
        if ratio > limit.aspect_ratio:
            taken = way_out(*_piece(rule, size, limit.unit, number, ratio))
            if taken:
                return StepWay(number, rule.steps[number].ring.name, taken[0])
    return StepWay(number, rule.steps[number].ring.name, None)


def working_minimum(
    rule: WeaveRule,
    size: RingSize,
    limit: Tightest | None = None,
    on_progress: Tally = uncounted,
) -> tuple[StepLimit, ...]:
    """How tight each step of the assembly is; the largest is the working minimum.

    Every step is looked at in a piece where whole repeats stand finished, two of them and
    six rings or more, since that is how most rings are put in. Ratios are looked at from the
    geometric minimum up until every step has a way, and then in between.

    Parameters
    ----------
    rule, size : as in :func:`ringwright.solver.settle.tightest`
    limit : the tightest ring, where it is known by now
    on_progress : called with (done, of)
    """
    limit = limit or tightest(rule, size, workers=0)
    search = _Search(rule, size, limit)
    low, part = limit.aspect_ratio, _FIRST
    for doubling in range(_DOUBLINGS):
        on_progress(doubling, 2 * _DOUBLINGS)
        high = limit.aspect_ratio * (1.0 + part)
        if search.all_found(high):
            break
        low, part = high, 2.0 * part
    else:
        return search.limits
    while high - low > _FIRST * limit.aspect_ratio * 1.01:
        on_progress(_DOUBLINGS, 2 * _DOUBLINGS)
        middle = (low + high) / 2.0
        low, high = (low, middle) if search.all_found(middle) else (middle, high)
    on_progress(2 * _DOUBLINGS, 2 * _DOUBLINGS)
    return search.limits


def largest(steps: Sequence[StepLimit], least: float) -> float | None:
    """The working minimum from that of each step, and at least the geometric one.

    None where some step has no way.
    """
    found = least
    for step in steps:
        if step.aspect_ratio is None:
            return None
        found = max(found, step.aspect_ratio)
    return found


class _Search:
    """What was found so far of every step: the smallest ratio, and how the ring was opened."""

    def __init__(self, rule: WeaveRule, size: RingSize, limit: Tightest) -> None:
        self.rule, self.size, self.limit = rule, size, limit
        self.least: dict[int, float] = {}
        self._opened: dict[int, Try] = {}
        # The hardest first, as far as is known.
        self._order = list(range(len(rule.steps)))

    @property
    def limits(self) -> tuple[StepLimit, ...]:
        return tuple(
            StepLimit(number, step.ring.name, self.least.get(number))
            for number, step in enumerate(self.rule.steps)
        )

    def all_found(self, ratio: float) -> bool:
        """Whether every step has a way at a ratio; the first that has none is looked at first."""
        for number in list(self._order):
            # A way in thicker wire is one in thinner wire.
            if self.least.get(number, np.inf) <= ratio:
                continue
            before = self._opened.get(number)
            others = tuple(one for one in TRIES if one != before)
            tries = ((before,) if before else ()) + others
            piece = _piece(self.rule, self.size, self.limit.unit, number, ratio)
            taken = way_out(*piece, tries)
            if taken is None:
                self._order.remove(number)
                self._order.insert(0, number)
                return False
            self.least[number], self._opened[number] = ratio, taken[1]
        return True


def _piece(
    rule: WeaveRule, size: RingSize, unit: Unit, number: int, ratio: float
) -> tuple[Rings, int]:
    """The rings about the one of a step once it is done, in their wire, and which it is.

    Parameters
    ----------
    unit : rings that do not overlap in that wire
    ratio : aspect ratio of the main ring; wires of other sizes keep their proportion to its
    """
    there = _there(rule, number)
    rings = by_themselves(rule, unit, there).rings
    place = {ring.name: index for index, ring in enumerate(rule.rings)}
    wires = ring_radii(rule, size)[1] * ((size.aspect_ratio + 1.0) / (ratio + 1.0))
    put = there.index(rule.steps[number].ring)
    away = np.linalg.norm(rings.centres - rings.centres[put], axis=1) - rings.core_radii
    away[put] = -np.inf
    about = np.sort(np.argsort(away, kind="stable")[:_ABOUT])
    return (
        rings.of(about).with_wire_radii(wires[[place[there[at].name] for at in about]]),
        int(np.flatnonzero(about == put)[0]),
    )


def _there(rule: WeaveRule, number: int) -> list[RingRef]:
    """The rings that are there once a step is done, and close enough to be in its way.

    Along a chain, some repeats before; in a sheet or along a tube, what was woven before and
    is linked with the rings of the step; and of this repeat what was done so far. Around a
    tube the ring is the last of its round, for which there is the least room.
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
    if rule.family.closes_round:
        for turn, ref in itertools.product(range(1, rule.around), list(there)):
            there.setdefault(moved(rule, ref, (0, turn)))
    if rule.family.image_numbers == 2:
        for ref in list(there):
            for other in _linked_with(rule, ref):
                if rule.family.is_before(other.image):
                    there.setdefault(other)
    return list(there)


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
