"""Lengths of different chains, and single rings, joined into one finished piece.

Lengths are in units of the main ring's core radius, as in rule files.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ringwright.weaves.family import CHAIN, PIECE
from ringwright.weaves.rule import (
    Link,
    RingRef,
    RuleRing,
    RuleSize,
    StartRing,
    Step,
    Vector,
    WeaveRule,
)

# A joining ring lies so far from the rings it joins, in parts of the two core radii, and is
# turned so far about the chain against them: the first of these places at which it goes through
# those rings and no others.
_JOINED_AT = (0.575, 0.7, 0.8, 0.9, 0.45)
_TURNED = (0.0, 0.4, -0.4, 0.8, -0.8, math.pi / 2)
# Core circles that come closer than this, in core radii, lie in doubt over and under.
_APART = 0.03
# Rings side by side lie so far to either side, in core radii.
_ASIDE = 0.15
# Rings whose middles are no farther apart along the chain lie side by side.
_ABREAST = 0.1
# No start ring lies more repeats before the first.
FURTHEST = 3


@dataclass(frozen=True)
class Section:
    """So many repeats of a chain, its rings ``core`` and ``wire`` times as large as in its rule.

    With no repeats it is the rings alone that the rule is started from: see
    :func:`side_by_side`.
    """

    rule: WeaveRule
    repeats: int
    core: float
    wire: float


class CannotJoin(ValueError):
    """Why sections cannot be joined; the message goes on from the name of a section."""

    def __init__(self, section: int, complaint: str) -> None:
        """Keep which section it is, counted from 0."""
        super().__init__(complaint)
        self.section = section


@dataclass(frozen=True)
class _End:
    """The rings at one end of a section: their names, middle, the way they face, core radius."""

    names: tuple[str, ...]
    middle: Vector
    facing: float
    core: float


def side_by_side(count: int) -> WeaveRule:
    """Rings that hang side by side, not linked with each other: an end, or between two lengths.

    It is a chain of no repeats: its rings are those it is started from.
    """
    rings = tuple(
        RuleRing(f"R{n + 1}", "closed", (0.0, _ASIDE * (2 * n - count + 1), 0.0), (0.0, 1.0, 0.0))
        for n in range(count)
    )
    return WeaveRule(
        name="rings",
        trade_names=(),
        summary="",
        family=CHAIN,
        rings=rings,
        repeat_vectors=((1.0, 0.0, 0.0),),
        turn=0.0,
        around=1,
        links=(),
        start=tuple(StartRing(RingRef(ring.name), "closed") for ring in rings),
        steps=(),
        common_aspect_ratio=None,
        path=Path(),
    )


def ring_name(ring: str, section: int, repeat: int) -> str:
    """What a section's ring is called in the piece; sections and repeats count from 1.

    Start rings lie before the first repeat, in 0 or in m1, m2 (for minus).
    """
    number = repeat + 1
    return f"{ring}_{section + 1}_{number if number >= 0 else f'm{-number}'}"


def joined(sections: Sequence[Section], name: str, summary: str, path: Path) -> WeaveRule:
    """The piece as a rule of the family "piece".

    Every section begins with the rings its weave is started from and ends with the same
    rings of its last repeat, or where no ring goes through all of these, with those that are
    farthest out. A joining ring ``J1``, ``J2`` ... goes through all rings at the end of one
    section and at the beginning of the next; they are put in last.

    Raises
    ------
    CannotJoin
        When a section has no such ends, or they face along the chain.
    """
    rings: list[RuleRing] = []
    links: list[Link] = []
    steps: list[Step] = []
    joins: list[tuple[RuleRing, _End, _End]] = []
    tails: list[_End] = []
    first: tuple[str, ...] = ()
    for number, section in enumerate(sections):
        laid = _laid(number, section)
        heads = _ends(number, section, laid, 0)
        first = first or heads[0].names
        if tails:
            joint, tail, head, laid = _joint(number, rings, tails, heads, laid)
            joins.append((joint, tail, head))
            rings.append(joint)
        rings += laid.values()
        links += _links(number, section, laid)
        steps += _steps(number, section)
        tails = _ends(number, section, laid, section.repeats)
    for joint, before, after in joins:
        others = (*before.names, *after.names)
        links += [Link(RingRef(joint.name), RingRef(other)) for other in others]
        steps.append(Step(RingRef(joint.name), tuple(RingRef(other) for other in others)))
    return WeaveRule(
        name=name,
        trade_names=(),
        summary=summary,
        family=PIECE,
        rings=_sizes_shared(rings),
        repeat_vectors=(),
        turn=0.0,
        around=1,
        links=_ordered(rings, links),
        start=(),
        steps=tuple(steps),
        common_aspect_ratio=None,
        path=path,
        ends=(first, tails[0].names),
    )


def _sizes_shared(rings: Sequence[RuleRing]) -> tuple[RuleRing, ...]:
    """Rings alike in different sections are of one size, for the plan to count them as one."""
    first: dict[RuleSize, RuleSize] = {}
    found = []
    for ring in rings:
        if ring.size is not None:
            same = first.setdefault(replace(ring.size, name=""), ring.size)
            ring = replace(ring, size=same)
        found.append(ring)
    return tuple(found)


def _laid(number: int, section: Section) -> dict[str, RuleRing]:
    """The rings of a section by their new names, laid from the origin on."""
    rule, scale = section.rule, section.core
    if rule.family.image_numbers != 1:
        raise CannotJoin(
            number, f"is of a {rule.family.name}: only chains and spirals can be joined"
        )
    along = rule.repeat_vectors[0][0]
    found: dict[str, RuleRing] = {}
    by_name = {ring.name: ring for ring in rule.rings}
    placed = [(start.ring.name, start.ring.image[0], "closed") for start in rule.start]
    placed += [(r.name, k, r.role) for k in range(section.repeats) for r in rule.rings]
    for ring_of_rule, image, role in placed:
        ring = by_name[ring_of_rule]
        x, y, z = _turned(ring.centre, image * rule.turn)
        name = ring_name(ring.name, number, image)
        found[name] = RuleRing(
            name=name,
            role=role,
            centre=((x + image * along) * scale, y * scale, z * scale),
            axis=_turned(ring.axis, image * rule.turn),
            size=_size(number, section, ring),
        )
    return found


def _size(number: int, section: Section, ring: RuleRing) -> RuleSize | None:
    """The size of a ring of a section."""
    if section.core == section.wire == 1.0:
        size = ring.size
        return size and replace(size, name=f"{size.name}_{number + 1}")
    if ring.size is None:
        return RuleSize(f"s{number + 1}", section.core, section.wire, None, None)
    if ring.size.is_fixed:
        raise CannotJoin(number, f"has ring {ring.name} of a size in mm, which cannot be scaled")
    core, wire = section.core * ring.size.core, section.wire * ring.size.wire
    return replace(ring.size, name=f"{ring.size.name}_{number + 1}", core=core, wire=wire)


def _ends(number: int, section: Section, laid: dict[str, RuleRing], repeats: int) -> list[_End]:
    """What a joining ring can go through: the rings that a section starts from, or the same so
    many repeats on; or those that are farthest out there."""
    starts = [start.ring for start in section.rule.start]
    names = [ring_name(ref.name, number, ref.image[0] + repeats) for ref in starts]
    if not names or any(name not in laid for name in names):
        raise CannotJoin(number, "is too short: it needs more repeats")
    side = 1.0 if repeats else -1.0
    out = max(side * ring.centre[0] for ring in laid.values())
    outermost = [name for name, ring in laid.items() if out - side * ring.centre[0] < _ABREAST]
    found = [end for some in (names, outermost) if (end := _end(laid, some)) is not None]
    if not found:
        raise CannotJoin(number, f"ends in ring {names[0]}, which faces along the chain")
    return found


def _end(laid: dict[str, RuleRing], names: Sequence[str]) -> _End | None:
    """Rings that are joined together; None where they face along the chain."""
    rings = [laid[name] for name in names]
    middle = tuple(sum(ring.centre[axis] for ring in rings) / len(rings) for axis in range(3))
    _, y, z = rings[0].axis
    if math.hypot(y, z) < 0.5 * math.hypot(*rings[0].axis):
        return None
    core = max(ring.size.core if ring.size else 1.0 for ring in rings)
    return _End(tuple(names), (middle[0], middle[1], middle[2]), math.atan2(z, y), core)


def _joint(
    number: int,
    before: Sequence[RuleRing],
    tails: Sequence[_End],
    heads: Sequence[_End],
    laid: dict[str, RuleRing],
) -> tuple[RuleRing, _End, _End, dict[str, RuleRing]]:
    """The ring that joins two sections, what it joins, and the second where it belongs.

    Parameters
    ----------
    number : of the second section, from 0
    before : all rings so far
    tails, heads : what the ring can go through at the end of the first section and at the
        beginning of the second
    laid : the second section's rings, as they lie by themselves
    """
    for tail, head, reach, twist in itertools.product(tails, heads, _JOINED_AT, _TURNED):
        joint, moved = _placed_joint(f"J{number}", tail, head, laid, reach, twist)
        after = list(moved.values())
        wanted = {*tail.names, *head.names}
        if (
            _linked_with([joint], [*before, *after]) == wanted
            and _linked_with(before, after) == set()
        ):
            return joint, tail, head, moved
    raise CannotJoin(
        number,
        "cannot be joined to what comes before it: no place was found where one ring goes through "
        "the rings at both ends and through no others",
    )


def _placed_joint(
    name: str, tail: _End, head: _End, laid: dict[str, RuleRing], reach: float, twist: float
) -> tuple[RuleRing, dict[str, RuleRing]]:
    """A joining ring at some distance and turn, and the second section behind it."""
    x, y, z = tail.middle
    centre = (x + reach * (tail.core + 1.0), y, z)
    # About at right angles to the rings it goes through, and to the chain.
    facing = tail.facing + twist
    joint = RuleRing(name, "open", centre, (0.0, -math.sin(facing), math.cos(facing)))
    begin = (centre[0] + reach * (1.0 + head.core), y, z)
    turn = facing + twist - head.facing
    moved = {}
    for of, ring in laid.items():
        from_middle = (
            ring.centre[0] - head.middle[0],
            ring.centre[1] - head.middle[1],
            ring.centre[2] - head.middle[2],
        )
        a, b, c = _turned(from_middle, turn)
        place = (begin[0] + a, begin[1] + b, begin[2] + c)
        moved[of] = replace(ring, centre=place, axis=_turned(ring.axis, turn))
    return joint, moved


def _linked_with(rings: Sequence[RuleRing], others: Sequence[RuleRing]) -> set[str] | None:
    """The names of those others that are linked with any ring; None where circles nearly meet."""
    import numpy as np

    from ringwright.geometry.circles import distance_minima, linking_number

    def circles(some: Sequence[RuleRing]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        axes = np.array([ring.axis for ring in some])
        return (
            np.array([ring.centre for ring in some]),
            axes / np.linalg.norm(axes, axis=1)[:, None],
            np.array([ring.size.core if ring.size else 1.0 for ring in some]),
        )

    i, j = (pairs.ravel() for pairs in np.indices((len(rings), len(others))))
    one = tuple(part[i] for part in circles(rings))
    other = tuple(part[j] for part in circles(others))
    if distance_minima(*one, *other).distance.min(initial=np.inf) < _APART:
        return None
    linked = linking_number(*one, *other) != 0
    return {others[place].name for place in np.unique(j[linked])}


def _turned(vector: Vector, angle: float) -> Vector:
    """A vector turned about x."""
    cos, sin = math.cos(angle), math.sin(angle)
    return (vector[0], cos * vector[1] - sin * vector[2], sin * vector[1] + cos * vector[2])


def _links(number: int, section: Section, laid: dict[str, RuleRing]) -> list[Link]:
    """The links of the section's weave between rings that are there."""
    found = []
    for k in range(-FURTHEST, section.repeats + FURTHEST):
        for link in section.rule.links:
            one = ring_name(link.first.name, number, k)
            other = ring_name(link.second.name, number, k + link.second.image[0])
            if one in laid and other in laid:
                found.append(Link(RingRef(one), RingRef(other)))
    return found


def _steps(number: int, section: Section) -> list[Step]:
    def steps_of(repeat: int) -> list[Step]:
        def named(ref: RingRef) -> RingRef:
            return RingRef(ring_name(ref.name, number, repeat + ref.image[0]))

        return [step.with_refs(named) for step in section.rule.steps]

    return [step for repeat in range(section.repeats) for step in steps_of(repeat)]


def _ordered(rings: Sequence[RuleRing], links: Sequence[Link]) -> tuple[Link, ...]:
    """Links the one way to write them: the ring that comes first in the rule first, each once."""
    order = {ring.name: place for place, ring in enumerate(rings)}
    found: dict[Link, None] = {}
    for link in links:
        first, second = sorted((link.first, link.second), key=lambda ref: order[ref.name])
        found[Link(first, second)] = None
    return tuple(found)
