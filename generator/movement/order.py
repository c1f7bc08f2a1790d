"""The order in which the rings of a piece come, from a rule's steps.

A rule tells one repeat. A piece has more, and a beginning: rings that the first repeat goes
through and that no step puts in. Of these, one that no ring is linked with yet is picked up
closed; one that runs through rings that are there has to be put in open like any other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ringwright.weaves.rule import Image, RingRef, Step, WeaveRule, wrapped

# Repeats shown along a chain; along and across a sheet, and where a repeat takes many steps.
_REPEATS = 2
_ROWS, _FEW = (3, 2), (2, 2)
_MANY_STEPS = 3
# Rings so near the beginning of a piece, in core radii, are its first ones.
_LEVEL = 0.3


@dataclass(frozen=True)
class Put:
    """One ring put in.

    Attributes
    ----------
    step : the ring and those that it goes through, with the images of this repeat
    new : rings that come with it: closed ones that it picks up, and last the ring itself
    part : the repeat, a sheet's row or a tube's round, counted from 0
    captive : closed rings to lay in place before this ring is closed; none goes through them
    """

    step: Step
    new: tuple[RingRef, ...]
    part: int
    captive: tuple[RingRef, ...] = ()

    @property
    def picked_up(self) -> tuple[RingRef, ...]:
        """The closed rings that come along on the ring that is put in."""
        return self.new[:-1]


def woven(rule: WeaveRule) -> Iterator[Put]:
    """The first repeats of a piece, ring by ring.

    Two repeats of a chain or a tube, two rows of three (or two) of a sheet, all of a piece;
    before them lie the rings of ``rule.start``.
    """
    there = {start.ring: None for start in rule.start}
    waiting: tuple[RingRef, ...] = ()
    for step, part in _steps(rule):
        for ref in step.through:
            through = tuple(other for other in there if linked(rule, ref, other))
            if ref not in there and through:
                there[ref] = None
                yield Put(Step(ref, through), (ref,), part)
        picked = [ref for ref in step.through if ref not in there]
        new = (*picked, step.ring)
        there.update(dict.fromkeys(new))
        # What a step holds is kept in once the step after it is done too.
        captive = waiting + (step.holding if step.ring.name == rule.steps[-1].ring.name else ())
        waiting = () if captive[len(waiting) :] else step.holding
        yield Put(step, new, part, captive)


def linked(rule: WeaveRule, ref: RingRef, other: RingRef) -> bool:
    """Whether two rings of a piece run through one another."""
    return any(
        moved(rule, link.second, one.image) == two
        for link in rule.links
        for one, two in ((ref, other), (other, ref))
        if link.first.name == one.name
    )


def first_row(rule: WeaveRule, refs: Iterable[RingRef]) -> set[RingRef]:
    """The rings that a piece hangs from while it is woven, of those that are ever there."""
    if rule.start:
        return _held_of_start(rule)
    there = list(refs)
    if rule.family.image_numbers < 2:
        return {there[0]}
    axis = 1 if rule.family.has_rows else 0
    first = min(ref.image[axis] for ref in there)
    return {ref for ref in there if ref.image[axis] == first}


def _held_of_start(rule: WeaveRule) -> set[RingRef]:
    """The rings of the start that the piece is held by.

    What lies on a table is held where it was laid down, and a screw by all of them, so that it
    stays wound. Else, of those that run through one another, the first ones hold the rest.
    """
    refs = [start.ring for start in rule.start]
    if rule.family.is_wound or any(step.needs_table for step in rule.steps):
        return set(refs)
    centres = {ring.name: ring.centre[0] for ring in rule.rings}
    along = {ref: centres[ref.name] + ref.image[0] * rule.repeat_vectors[0][0] for ref in refs}
    parts: list[set[RingRef]] = []
    for ref in refs:
        joined = [part for part in parts if any(linked(rule, ref, other) for other in part)]
        parts = [part for part in parts if part not in joined] + [{ref}.union(*joined)]
    return {
        ref
        for part in parts
        for ref in part
        if along[ref] < min(along[each] for each in part) + _LEVEL
    }


def _steps(rule: WeaveRule) -> Iterator[tuple[Step, int]]:
    """Every step of every repeat shown, and the part that it belongs to."""
    if rule.family.closes_round:
        # A step is done all the way around before the next one.
        for k1 in range(_REPEATS):
            for step in rule.steps:
                for k2 in range(rule.around):
                    yield _of_image(rule, step, (k1, k2)), k1
        return
    for image, part in _images(rule):
        for step in rule.steps:
            yield _of_image(rule, step, image), part


def _images(rule: WeaveRule) -> list[tuple[Image, int]]:
    if not rule.family.repeats:
        return [((0, 0), 0)]
    if rule.family.has_rows:
        along, across = _ROWS if len(rule.steps) < _MANY_STEPS else _FEW
        return [((k1, k2), k2) for k2 in range(across) for k1 in range(along)]
    return [((k, 0), k) for k in range(_REPEATS)]


def _of_image(rule: WeaveRule, step: Step, image: Image) -> Step:
    """A step of the rule as it is done in another repeat."""
    return step.with_refs(lambda ref: moved(rule, ref, image))


def moved(rule: WeaveRule, ref: RingRef, image: Image) -> RingRef:
    """The ring that is to another repeat what this one is to its own."""
    there = (ref.image[0] + image[0], ref.image[1] + image[1])
    return RingRef(ref.name, wrapped(there, rule.around) if rule.around > 1 else there)
