"""A piece while it is being woven: which rings are there after each step, and how they hang.

A half-made piece is not the finished one with rings left out. What is there by a step
hangs by its own weight from the rings that it was started from, as it would from a hand
or a hook: a chain along its length, a sheet from its first row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from generator.climb import Unit, climb, hanging
from generator.placement import by_themselves, linked_pairs
from weaves.rule import Image, RingRef, Step, WeaveRule, wrapped

_ALONG, _ACROSS = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
# A hundred-thousandth of a radius is nothing that anyone sees.
_STILL = 1e-6
# Repeats shown along a chain; along and across a sheet.
_REPEATS = 2
_ROWS = (3, 2)


@dataclass(frozen=True, eq=False)
class HalfMade:
    """The piece after one step. Lengths in units of the main ring's core radius.

    Attributes
    ----------
    step : the rule's step that was just done, with the images of this repeat
    new : rings that came with it: the ring put in, and closed rings that it picked up
    rings : every ring that is there by now, in the order in which they came
    held : the places in ``rings`` of those that the piece hangs from
    unit : how they hang, as a piece without repeats
    links : the pairs of ``rings`` that run through one another, by their places
    at_rest : False where the solver ran out of rounds before the rings hung still
    """

    step: Step
    new: tuple[RingRef, ...]
    rings: tuple[RingRef, ...]
    held: tuple[int, ...]
    unit: Unit
    links: tuple[tuple[int, int], ...]
    at_rest: bool


def half_made(rule: WeaveRule, settled: Unit) -> Iterator[HalfMade]:
    """Every state of a piece while its first repeats are woven, in order.

    Parameters
    ----------
    rule : its order of assembly is followed: two repeats of a chain, two rows of three of a
        sheet, all of a piece
    settled : the finished unit at rest, from whose places the rings are let hang

    Raises
    ------
    RuntimeError
        When the links of a state are not the rule's; that is a defect.
    """
    there = [start.ring for start in rule.start]
    steps = [_of_image(rule, step, image) for image in _images(rule) for step in rule.steps]
    hook = _hook(rule, steps)
    down = _ACROSS if rule.family == "sheet" else _ALONG
    for step in steps:
        new = [ref for ref in (*step.through, step.ring) if ref not in there]
        there += new
        held = tuple(at for at, ref in enumerate(there) if ref in hook)
        end = climb(by_themselves(rule, settled, there), hanging(down, held), tolerance=_STILL)
        links = tuple(sorted((i, j) for i, j, _ in linked_pairs(end.unit)))
        if links != _declared(rule, there):
            raise RuntimeError(f"half-made, {rule.name} has other links than its rule")
        yield HalfMade(step, tuple(new), tuple(there), held, end.unit, links, end.converged)


def _hook(rule: WeaveRule, steps: list[Step]) -> set[RingRef]:
    """The rings that the piece hangs from."""
    if rule.start:
        return {start.ring for start in rule.start}
    refs = [ref for step in steps for ref in (*step.through, step.ring)]
    if rule.family != "sheet":
        return {refs[0]}
    first = min(ref.image[1] for ref in refs)
    return {ref for ref in refs if ref.image[1] == first}


def _images(rule: WeaveRule) -> list[Image]:
    """The repeats to weave, in order."""
    if rule.family == "piece":
        return [(0, 0)]
    if rule.family in ("chain", "screw"):
        return [(k, 0) for k in range(_REPEATS)]
    along, across = (_REPEATS, rule.around) if rule.family == "tube" else _ROWS
    if rule.family == "tube":
        return [(k1, k2) for k1 in range(along) for k2 in range(across)]
    return [(k1, k2) for k2 in range(across) for k1 in range(along)]


def _of_image(rule: WeaveRule, step: Step, image: Image) -> Step:
    """A step of the rule as it is done in another repeat."""
    return Step(
        _moved(rule, step.ring, image), tuple(_moved(rule, ref, image) for ref in step.through)
    )


def _moved(rule: WeaveRule, ref: RingRef, image: Image) -> RingRef:
    there = (ref.image[0] + image[0], ref.image[1] + image[1])
    return RingRef(ref.name, wrapped(there, rule.around) if rule.around > 1 else there)


def _declared(rule: WeaveRule, refs: list[RingRef]) -> tuple[tuple[int, int], ...]:
    """The rule's links between rings that are there, by their places."""
    place = {ref: at for at, ref in enumerate(refs)}
    found = set()
    for at, ref in enumerate(refs):
        for link in rule.links:
            if link.first.name != ref.name:
                continue
            other = place.get(_moved(rule, link.second, ref.image))
            if other is not None:
                found.add((min(at, other), max(at, other)))
    return tuple(sorted(found))
