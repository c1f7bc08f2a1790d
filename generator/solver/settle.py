"""From a weave rule and a ring size to the place where the rings rest.

A rule places rings roughly; the contact solver of :mod:`ringwright.solver.climb` finds
where they come to rest at a given size (:func:`settle`). How tight a ring the weave
can be made of at all is for :mod:`ringwright.solver.tightest`. Inside, lengths are in units
of the ring's core radius, so a rule serves every size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.sizes import RingSize
from ringwright.falling.at_rest import AT_REST
from ringwright.solver.certify import Certificate
from ringwright.solver.climb import (
    Climb,
    Goal,
    Unit,
    apart,
    climb,
    climbs,
    longest,
    nearest_to,
    shaken,
    thickest,
)
from ringwright.solver.placement import check_kept, linked_pairs, placed_unit, ring_radii
from ringwright.solver.polish import Polished, polished
from ringwright.solver.resize import resized, stretched
from ringwright.weaves.rule import WeaveRule

# From so many rings on, the sparse core of :mod:`ringwright.solver.many` is the quicker one.
MANY = 20
# So much a length is let out, in core radii, for loaded rings to be able to move.
_HAIR = 1e-7
# Rings that are only brought to other core circles need not be as roomy as they can.
_ON_THE_WAY = 1e-4
# How sure a settled length is to be, and one that is only looked at while a size is dragged.
_FINEST, _SEEN = 1e-9, 1e-8
# A residual that leaves nothing to be gained by pulling again.
_EXACT = 1e-9
# Bounds on a step, tried in turn, for rings that do not come to rest by the usual ones.
_CAREFUL_TRUSTS = (1e-2, 1e-3, 1e-4, 1e-5)
# Repeats that differ by less are one and the same rest.
_SAME = 1e-5


@dataclass(frozen=True, eq=False)
class Settled:
    """A unit at rest, pulled straight. Lengths in units of the core radius.

    Attributes
    ----------
    unit : the rings and the repeat
    certificate : how far the state is from a proved optimum, and the contact forces
    starts, agreed : how many starting placements were tried and how many came to
        this repeat length (the others to a shorter one)
    converged : whether the rings came to rest: forces balance the pull to a millionth of it
        (``certify.AT_REST``)
    """

    unit: Unit
    certificate: Certificate
    starts: int
    agreed: int
    converged: bool


def settle(
    rule: WeaveRule,
    size: RingSize,
    tight: Unit | None = None,
    near: Unit | None = None,
    on_rest: Callable[[Unit], None] | None = None,
) -> Settled | None:
    """Where the rings rest when the weave is pulled gently straight.

    The rule's placement is brought to the wire and pulled to the longest repeat
    without overlap, and so is ``tight``, where it is known: two ways to the same rest,
    far apart. Where they do not agree, or ``tight`` is not known, two placements shaken
    from the rule's by a seeded generator are pulled too. Rings
    that are free to rattle leave many states of equal length; of these the one nearest
    to the rule's own placement is taken, so that symmetric rules stay symmetric.
    A finished piece, which has no repeat, is pulled by its ends; where the rule names none, it
    only comes to rest near its placement.

    Parameters
    ----------
    rule, size : the weave and its main ring
    tight : the rings at the tightest, as from :func:`ringwright.solver.tightest.tightest`
    near : the settled unit of a neighbouring size (of the main ring or, where they are fixed
        in millimetres, of others), as the only start: quickest, for
        following a size that a person drags. Where it does not lead to rest, the usual
        starts are taken
    on_rest : given the rings as soon as they are at rest; not called where they did not
        come to rest

    Returns
    -------
    Settled, or None when the wire fits from none of the starts.

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    """
    placed = placed_unit(rule, size)
    links = linked_pairs(placed)
    wires = ring_radii(rule, size)[1]
    goal = pull(rule, placed)
    beside = near and _with_cores_of(rule, size, near)
    pulled = _pulled_from(rule, [beside], wires, goal) if beside else []
    if not any(end.converged for end in pulled):
        pulled = _pulled_from(rule, [placed, tight] if tight else [placed], wires, goal)
        if tight is None or not _sure(pulled, goal):
            pulled += _pulled_from(rule, [shaken(placed, seed) for seed in (1, 2)], wires, goal)
    if not pulled:
        return None
    longest_pulled = max(pulled, key=lambda end: (end.converged, round(goal.value(end.unit), 7)))
    best = _brought_to_rest(rule, longest_pulled.unit, placed)
    check_kept(best.unit, links)
    converged = best.certificate.residual <= AT_REST
    if on_rest is not None and converged:
        on_rest(best.unit)
    reached = goal.value(longest_pulled.unit)
    agreed = sum(reached - goal.value(end.unit) < _SAME for end in pulled)
    return Settled(best.unit, best.certificate, len(pulled), agreed, converged)


def _brought_to_rest(rule: WeaveRule, pulled: Unit, placed: Unit) -> Polished:
    """The state nearest to the rule's placement, of those of this length, and truly at rest.

    Where it does not come to rest from there, the pulled rings are first brought to rest by
    themselves, by smaller and smaller steps.
    """
    tidy = _pulled_again(rule, _tidied(rule, pulled, placed))
    if tidy.certificate.residual <= AT_REST:
        return tidy
    goal = pull(rule, pulled)
    rested = polished(pulled, goal)
    for trust in _CAREFUL_TRUSTS:
        if rested.certificate.residual <= AT_REST:
            break
        nearer = climb(rested.unit, goal, trust=trust, tolerance=1e-14, careful=True).unit
        rested = min(rested, polished(nearer, goal), key=_residual)
    again = _pulled_again(rule, _tidied(rule, rested.unit, placed))
    return next(
        (end for end in (again, rested, tidy) if _residual(end) <= AT_REST),
        min(again, rested, tidy, key=_residual),
    )


def _pulled_again(rule: WeaveRule, slack: Unit) -> Polished:
    """Rings that lack a hair brought to rest: at once, or pulled first where that is not exact."""
    goal = pull(rule, slack)
    at_once = polished(slack, goal)
    if at_once.certificate.residual <= _EXACT or not (len(slack.lattice.values) or any(rule.ends)):
        return at_once
    again = polished(climb(slack, goal, trust=1e-3, tolerance=1e-14).unit, goal)
    return min(at_once, again, key=_residual)


def _residual(end: Polished) -> float:
    return end.certificate.residual


def follow(rule: WeaveRule, size: RingSize, near: Unit) -> Unit | None:
    """The rings at a size that a person drags, from those at a size nearby.

    Of the same repeat as :func:`settle` gives, several times as fast, but among states of
    equal length the one that lies next to ``near``: other widths and turns are possible.
    None where that does not lead to rest.
    """
    start = _with_cores_of(rule, size, near)
    if start is None:
        return None
    wires = ring_radii(rule, size)[1]
    ends = _pulled_from(rule, [start], wires, pull(rule, start), _SEEN)
    return ends[0].unit if ends and ends[0].converged else None


def _with_cores_of(rule: WeaveRule, size: RingSize, near: Unit) -> Unit | None:
    """A unit nearby with the core circles of this size, which differ where rings are fixed."""
    core, wires = ring_radii(rule, size)
    if np.allclose(core, near.rings.core_radii, rtol=1e-12, atol=0.0):
        return near
    return resized(near, core, wires, tolerance=_ON_THE_WAY)


def _pulled_from(
    rule: WeaveRule, starts: list[Unit], wires: Floats, goal: Goal, tolerance: float = _FINEST
) -> list[Climb]:
    """Starts brought to their wires, then pulled as far as they go; less those that do not fit."""
    ends: dict[int, Climb] = {}
    for at, start in enumerate(starts):
        if is_large(start):
            at_once = _many_pulled(rule, start.with_wire_radii(wires))
            if at_once.converged:
                ends[at] = at_once
    left = [at for at in range(len(starts)) if at not in ends]
    wanted = float(wires.mean())
    thin = [
        starts[at].with_wire_radii(wires * (starts[at].rings.wire_radii / wires).min())
        for at in left
    ]
    fitted = climbs([(one, thickest(one)) for one in thin], enough=wanted)
    fits = {
        at: end.unit.with_wire_radii(wires)
        for at, end in zip(left, fitted, strict=True)
        if end.unit.rings.wire_radii.mean() >= wires.mean() * (1.0 - 1e-7)
    }
    pulled = climbs([(unit, goal) for unit in fits.values()], tolerance=tolerance)
    ends.update(zip(fits, pulled, strict=True))
    return [ends[at] for at in sorted(ends)]


def _sure(pulled: list[Climb], goal: Goal) -> bool:
    """Whether two starts came to rest at one length."""
    lengths = [goal.value(end.unit) for end in pulled if end.converged]
    return len(lengths) == 2 and abs(lengths[0] - lengths[1]) < _SAME


def pull(rule: WeaveRule, unit: Unit) -> Goal:
    """What settling maximises: the repeat along x, or how far a piece's ends are apart.

    For a piece that has no ends it is how near ``unit`` the rings stay.
    """
    if len(unit.lattice.values):
        return longest(unit)
    if any(rule.ends):
        return apart(*_end_rings(rule))
    return nearest_to(unit.rings)


def _end_rings(rule: WeaveRule) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The places of the rings at a piece's ends."""
    at = {ring.name: place for place, ring in enumerate(rule.rings)}
    first, last = (tuple(at[name] for name in side) for side in rule.ends)
    return first, last


def is_large(unit: Unit) -> bool:
    """Whether a unit has so many rings that the sparse core is quicker."""
    return len(unit.rings.centres) >= MANY


def _many_pulled(rule: WeaveRule, start: Unit) -> Climb:
    """Many rings in their wires, which may overlap at first, pulled as far as they go."""
    from ringwright.solver.many import brought_near, pulled_apart, pulled_straight

    if len(start.lattice.values):
        return pulled_straight(start)
    if any(rule.ends):
        return pulled_apart(start, *_end_rings(rule))
    return brought_near(start, start.rings)


def _tidied(rule: WeaveRule, pulled: Unit, placed: Unit) -> Unit:
    """Of all states of this length, the one nearest to the rule's placement.

    The repeat is let out by a hair first, since at its very longest the loaded
    rings cannot move at all; what is missing to rest afterwards is that hair.
    """
    if any(rule.ends):
        return _tidied_piece(rule, pulled, placed)
    values = pulled.lattice.values.copy()
    if len(values):
        values[0] -= _HAIR
    slack = Unit(pulled.rings, pulled.lattice.with_values(values))
    if is_large(slack) and not placed.lattice.kind.turns:
        from ringwright.solver.many import brought_near

        return brought_near(slack, stretched(placed, pulled)).unit
    # A simple chain may be wound up a good way before it gets any shorter.
    turn = float(placed.lattice.values[1]) if placed.lattice.kind.turns else None
    return climb(slack, nearest_to(stretched(placed, pulled), turn), tolerance=1e-9).unit


def _tidied_piece(rule: WeaveRule, pulled: Unit, placed: Unit) -> Unit:
    """The same for a piece, whose ends are held apart meanwhile."""
    first, last = _end_rings(rule)
    goal = apart(first, last)
    stretch = np.array([goal.value(pulled) / goal.value(placed), 1.0, 1.0])
    centres = pulled.rings.centres.copy()
    centres[list(last), 0] -= _HAIR
    slack = Unit(replace(pulled.rings, centres=centres), pulled.lattice)
    target = replace(placed.rings, centres=placed.rings.centres * stretch)
    # The target is laid where the piece is: its beginning upon the beginning.
    shift = centres[list(first)].mean(axis=0) - target.centres[list(first)].mean(axis=0)
    target = replace(target, centres=target.centres + shift)
    if is_large(slack):
        from ringwright.solver.many import brought_near

        return brought_near(slack, target, held=(*first, *last)).unit
    held = replace(nearest_to(target), held=(*first, *last))
    return climb(slack, held, tolerance=1e-9).unit
