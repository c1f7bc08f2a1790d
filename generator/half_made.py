"""A piece while it is being woven: which rings are there after each step, and how they hang.

A half-made piece is not the finished one with rings left out. What is there by a step
hangs by its own weight from the rings that it was started from, as it would from a hand
or a hook: a chain along its length, a sheet from its first row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.climb import Climb, Goal, Unit, climb, hanging, shaken
from generator.contact import Rings
from generator.order import first_row, linked, woven
from generator.placement import by_themselves, linked_pairs
from weaves.rule import RingRef, Step, WeaveRule

Floats = NDArray[np.float64]

_ALONG, _ACROSS = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
# A hundred-thousandth of a radius is nothing that anyone sees.
_STILL = 1e-6


@dataclass(frozen=True, eq=False)
class HalfMade:
    """The piece after one step. Lengths in units of the main ring's core radius.

    Attributes
    ----------
    step : the rule's step that was just done, with the images of this repeat
    new : rings that came with it: closed ones kept captive or picked up, and the ring put in
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
    rule : its order of assembly is followed, as :func:`generator.order.woven` tells it
    settled : the finished unit at rest, from whose places the rings are let hang

    Raises
    ------
    RuntimeError
        When the links of a state are not the rule's; that is a defect.
    """
    there = [start.ring for start in rule.start]
    puts = list(woven(rule))
    hook = first_row(rule, [*there, *(ref for put in puts for ref in put.new)])
    down = down_of(rule)
    for put in puts:
        new = (*put.captive, *put.new)
        there += new
        declared = _declared(rule, there)
        held = _held(declared, [ref in hook for ref in there])
        goal = hanging(down, held)
        end = climb(by_themselves(rule, settled, there), goal, tolerance=_STILL)
        if _has_twin(rule, there, put.step.ring):
            end = _fallen(end, goal)
        links = tuple(sorted((i, j) for i, j, _ in linked_pairs(end.unit)))
        if links != declared:
            raise RuntimeError(f"half-made, {rule.name} has other links than its rule")
        yield HalfMade(put.step, new, tuple(there), held, end.unit, links, end.converged)


def _has_twin(rule: WeaveRule, there: list[RingRef], ring: RingRef) -> bool:
    """Whether another ring goes through just the rings that this one goes through."""
    around = {ref for ref in there if linked(rule, ring, ref)}
    return any(
        other != ring and around == {ref for ref in there if linked(rule, other, ref)}
        for other in there
    )


def _fallen(end: Climb, goal: Goal) -> Climb:
    """The same once the rings are nudged: two of a pair may have stood balanced on others."""
    shaken_rings, stood = shaken(end.unit, seed=1, steps=1).rings, end.unit.rings
    held = np.isin(np.arange(len(stood.centres)), goal.held)[:, None]
    nudged = Rings(
        np.where(held, stood.centres, shaken_rings.centres),
        np.where(held, stood.axes, shaken_rings.axes),
        stood.core_radii,
        stood.wire_radii,
    )
    again = climb(Unit(nudged, end.unit.lattice), goal, tolerance=_STILL)
    lower = again.converged and goal.value(again.unit) > goal.value(end.unit) + _STILL
    return again if lower else end


def _held(links: tuple[tuple[int, int], ...], hooked: list[bool]) -> tuple[int, ...]:
    """The rings that the piece hangs from; of a part that hangs from none, its first ring.

    Such a part is held in the other hand until a later step joins it to the piece. A ring
    without links is captive, and rests on the rings about it.
    """
    linked_ones = {at for pair in links for at in pair}
    part = list(range(len(hooked)))
    for one, two in links:
        old, new = max(part[one], part[two]), min(part[one], part[two])
        part = [new if each == old else each for each in part]
    hanging = {part[at] for at, hook in enumerate(hooked) if hook}
    return tuple(
        at
        for at, hook in enumerate(hooked)
        if hook or (at in linked_ones and part[at] == at and at not in hanging)
    )


def down_of(rule: WeaveRule) -> Floats:
    """(3,) the way that a piece of this weave hangs, in the rule's frame."""
    return _ACROSS if rule.family == "sheet" else _ALONG


def _declared(rule: WeaveRule, refs: list[RingRef]) -> tuple[tuple[int, int], ...]:
    """The rule's links between rings that are there, by their places."""
    return tuple(
        (first, second)
        for first, ref in enumerate(refs)
        for second in range(first + 1, len(refs))
        if linked(rule, ref, refs[second])
    )
