"""A piece while it is being woven: which rings are there after each step, and how they lie.

A half-made piece is not the finished one with rings left out. What is there by a step
hangs by its own weight from the rings that it was started from, as it would from a hand
or a hook. A sheet is not held up, but lies spread on a table, its rings as flat as they can; a
chain that is told by above and below lies there pulled straight, as it would hang.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.progress import Tally, uncounted
from ringwright.geometry.contact import Rings
from ringwright.movement.order import Put, first_row, linked, woven
from ringwright.solver.climb import (
    Climb,
    Goal,
    Unit,
    along_with,
    climb,
    flat_on_table,
    hanging,
    nearest_to,
    shaken,
)
from ringwright.solver.placement import by_themselves, linked_pairs
from ringwright.weaves.rule import RingRef, Step, WeaveRule

# The ring that holds a clasp, and the clasp's own loop.
CLASP_RING, CLASP = RingRef("clasp ring"), RingRef("clasp")

# The sizes through which a ring grows that is put around others, of its own.
_GROWING = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)

_ALONG = np.array([1.0, 0.0, 0.0])
# A hundred-thousandth of a radius is nothing that anyone sees.
_STILL = 1e-6
# Rings are drawn to where they were by so much of what makes them hang, or lie flat.
# What is laid down by hand stays as it is laid.
_STEADY, _SPREAD, _LAID = 0.003, 0.03, 0.3


@dataclass(frozen=True, eq=False)
class HalfMade:
    """The piece after one step. Lengths in units of the main ring's core radius.

    Attributes
    ----------
    step : the rule's step that was just done, with the images of this repeat
    new : rings that came with it: closed ones kept captive or picked up, and the ring put in
    rings : every ring that is there by now, in the order in which they came
    held : the places in ``rings`` of those that the piece hangs from; none of what lies
    unit : how they hang or lie, as a piece without repeats
    links : the pairs of ``rings`` that run through one another, by their places
    at_rest : False where the solver ran out of rounds before the rings were still
    """

    step: Step
    new: tuple[RingRef, ...]
    rings: tuple[RingRef, ...]
    held: tuple[int, ...]
    unit: Unit
    links: tuple[tuple[int, int], ...]
    at_rest: bool


def half_made(
    rule: WeaveRule,
    settled: Unit,
    on_progress: Tally = uncounted,
) -> list[HalfMade]:
    """Every state of a piece while its first repeats are woven, in order.

    They are worked out from the last to the first: each is the one after it with the new rings
    taken out again, left to itself. So all rings lie about one another as they do in the
    finished weave, and from one state to the next they move no more than they have to.

    Parameters
    ----------
    rule : its order of assembly is followed, as :func:`ringwright.movement.order.woven` tells it
    settled : the finished unit at rest, from whose places the last state starts
    on_progress : called with (states done, states in all)

    Raises
    ------
    RuntimeError
        When the links of a state are not the rule's; that is a defect.
    """
    puts = list(woven(rule))
    there = [start.ring for start in rule.start]
    there += [ref for put in puts for ref in (*put.captive, *put.new)]
    hook = first_row(rule, there)
    unit = by_themselves(rule, settled, there)
    made: list[HalfMade] = []
    for put in reversed(puts):
        new = (*put.captive, *put.new)
        state = _at_rest(rule, put, there, hook, unit, last=not made)
        made.append(state)
        on_progress(len(made), len(puts))
        there = there[: -len(new)]
        unit = _without(state.unit, len(new))
    return made[::-1]


def _at_rest(
    rule: WeaveRule, put: Put, there: Sequence[RingRef], hook: set[RingRef], unit: Unit, last: bool
) -> HalfMade:
    """The rings that are there by a step, brought to rest from where they are.

    Parameters
    ----------
    hook : those that the piece hangs from, if they are there
    last : no state comes after this one
    """
    declared = _declared(rule, there)
    lies = not rule.family.hangs
    on_table = lies_on_table(rule)
    held = () if lies else _held(declared, [ref in hook for ref in there])
    # Rings that may be in many ways stay as they are.
    pull = _SPREAD if lies else _LAID if on_table else _STEADY
    stay = nearest_to(unit.rings, pulls=np.full(len(there), pull))
    goal = flat_on_table() if lies else hanging(_ALONG, held)
    # Nothing that hangs stays as it is at the end; what lies does not roll over.
    if on_table or not last:
        goal = along_with(goal, stay)
    # What stands on edge on a table would stand there balanced.
    end = climb(shaken(unit, seed=1, steps=1) if lies else unit, goal, tolerance=_STILL)
    if not on_table and _has_twin(rule, there, put.step.ring):
        end = _fallen(end, goal)
    links = _linked(end.unit)
    if links != declared:
        raise RuntimeError(f"half-made, {rule.name} has other links than its rule")
    new = (*put.captive, *put.new)
    return HalfMade(put.step, new, tuple(there), held, end.unit, links, end.converged)


def with_clasp(state: HalfMade, ends: Sequence[RingRef]) -> HalfMade | None:
    """The piece with one more ring, of the size of its last, through its end, and a clasp's loop.

    Parameters
    ----------
    state : the last of a piece that hangs
    ends : the rings at its lower end

    Returns
    -------
    HalfMade
        Its step is that of ``CLASP_RING``, which picks up ``CLASP``; None where no ring hangs
        through just the rings of the end.
    """
    places = [state.rings.index(ref) for ref in ends]
    there = (*state.rings, CLASP, CLASP_RING)
    loop, ring = len(there) - 2, len(there) - 1
    unit: Unit | None = state.unit
    for around in (places, [loop]):
        unit = None if unit is None else _hung_on(unit, around, places[0], state.held)
    if unit is None:
        return None
    # The loop came last, but is told before the ring that picks it up.
    unit = Unit(unit.rings.of(np.array([*range(loop), ring, loop])), unit.lattice)
    step = Step(CLASP_RING, (*ends, CLASP))
    return HalfMade(step, (CLASP, CLASP_RING), there, state.held, unit, _linked(unit), True)


def with_bar_rings(state: HalfMade, ends: Sequence[RingRef]) -> HalfMade | None:
    """The piece with one more ring, of the size of its own, through each ring of its end.

    Parameters
    ----------
    state : the last of a piece that hangs
    ends : the rings at its lower end

    Returns
    -------
    HalfMade
        Its step is that of the last of the new rings; None where one does not hang there alone.
    """
    unit: Unit | None = state.unit
    for ref in ends:
        place = state.rings.index(ref)
        unit = None if unit is None else _hung_on(unit, [place], place, state.held)
    if unit is None:
        return None
    new = tuple(RingRef(f"{CLASP_RING.name} {place}") for place in range(1, len(ends) + 1))
    step = Step(new[-1], (ends[-1],))
    return HalfMade(step, new, (*state.rings, *new), state.held, unit, _linked(unit), True)


def _hung_on(unit: Unit, places: list[int], like: int, held: tuple[int, ...]) -> Unit | None:
    """One ring more around the lowest wire of others, hanging; None where there is no way.

    It is put around them so small that it takes no other ring along, and then grows.

    Parameters
    ----------
    like : a ring of the size that it comes to
    """
    rings, new = unit.rings, len(unit.rings.centres)
    axes = rings.axes[places]
    axes = axes * np.where(axes @ axes[0] < 0.0, -1.0, 1.0)[:, None]
    side = np.cross(axes.mean(axis=0), _ALONG)
    lowest = rings.centres[places] + rings.core_radii[places][:, None] * _ALONG
    wanted = tuple(sorted((*_linked(unit), *((at, new) for at in places))))
    core, wire = rings.core_radii[like], rings.wire_radii[like]
    hung: Unit | None = None
    for size in _GROWING:
        if hung is None:
            centre, axis = lowest.mean(axis=0), side / np.linalg.norm(side)
        else:
            rings, centre, axis = hung.rings, hung.rings.centres[new], hung.rings.axes[new]
        grown = Rings(
            np.vstack([rings.centres[:new], centre]),
            np.vstack([rings.axes[:new], axis]),
            np.append(rings.core_radii[:new], size * core),
            np.append(rings.wire_radii[:new], size * wire),
        )
        trial = Unit(grown, unit.lattice)
        if hung is not None or _linked(trial) == wanted:
            hung = climb(trial, hanging(_ALONG, held), tolerance=_STILL).unit
    return hung if hung is not None and _linked(hung) == wanted else None


def _linked(unit: Unit) -> tuple[tuple[int, int], ...]:
    """The pairs of rings of a piece that run through one another."""
    return tuple(sorted((i, j) for i, j, _ in linked_pairs(unit)))


def _without(unit: Unit, last: int) -> Unit:
    """A piece without its last rings."""
    return Unit(unit.rings.of(slice(len(unit.rings.centres) - last)), unit.lattice)


def _has_twin(rule: WeaveRule, there: Sequence[RingRef], ring: RingRef) -> bool:
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


def lies_on_table(rule: WeaveRule) -> bool:
    """Whether a piece of this weave lies on a table while it is woven; else it hangs along x.

    So does a sheet, and whatever is told by above and below.
    """
    return not rule.family.hangs or any(step.needs_table for step in rule.steps)


def _declared(rule: WeaveRule, refs: Sequence[RingRef]) -> tuple[tuple[int, int], ...]:
    """The rule's links between rings that are there, by their places."""
    return tuple(
        (first, second)
        for first, ref in enumerate(refs)
        for second in range(first + 1, len(refs))
        if linked(rule, ref, refs[second])
    )
