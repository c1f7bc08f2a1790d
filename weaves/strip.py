"""Lengths of different chains joined, with a ring between each two, into one finished piece.

Lengths are in units of the main ring's core radius, as in rule files.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from weaves.rule import Link, RingRef, RuleRing, RuleSize, Step, Vector, WeaveRule

# A joining ring lies so far from the rings it joins, in parts of the two core radii: they
# reach a good way through one another, and it keeps clear of the rings behind them.
_JOINED_AT = 0.575
# No start ring lies more repeats before the first.
FURTHEST = 3


@dataclass(frozen=True)
class Section:
    """So many repeats of a chain, its rings ``core`` and ``wire`` times as large as in its rule."""

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


def ring_name(ring: str, section: int, repeat: int) -> str:
    """What a section's ring is called in the piece; sections and repeats count from 1."""
    return f"{ring}_{section + 1}_{repeat + 1}"


def joined(sections: Sequence[Section], name: str, summary: str, path: Path) -> WeaveRule:
    """The piece as a rule of the family "piece".

    Every section begins with the rings its weave is started from and ends with the same
    rings of its last repeat. A joining ring ``J1``, ``J2`` ... goes through all rings at
    the end of one section and at the beginning of the next; they are put in last.

    Raises
    ------
    CannotJoin
        When a section has no such ends, or they face along the chain.
    """
    rings: list[RuleRing] = []
    links: list[Link] = []
    steps: list[Step] = []
    joins: list[tuple[RuleRing, _End, _End]] = []
    tail: _End | None = None
    for number, section in enumerate(sections):
        laid = _laid(number, section)
        head = _end(number, section, laid, 0)
        if tail is not None:
            joint, moved = _joint(len(joins) + 1, tail, head, laid)
            joins.append((joint, tail, head))
            rings.append(joint)
            laid = moved
        rings += laid.values()
        links += _links(number, section, laid)
        steps += _steps(number, section)
        tail = _end(number, section, laid, section.repeats)
    for joint, before, after in joins:
        others = (*before.names, *after.names)
        links += [Link(RingRef(joint.name), RingRef(other)) for other in others]
        steps.append(Step(RingRef(joint.name), tuple(RingRef(other) for other in others)))
    return WeaveRule(
        name=name,
        trade_names=(),
        summary=summary,
        family="piece",
        rings=tuple(rings),
        repeat_vectors=(),
        turn=0.0,
        around=1,
        links=_ordered(rings, links),
        start=(),
        steps=tuple(steps),
        common_aspect_ratio=None,
        path=path,
    )


def _laid(number: int, section: Section) -> dict[str, RuleRing]:
    """The rings of a section by their new names, laid from the origin on."""
    rule, scale = section.rule, section.core
    if rule.family != "chain":
        raise CannotJoin(number, f"is of a {rule.family}: only chains can be joined")
    along = rule.repeat_vectors[0][0]
    found: dict[str, RuleRing] = {}
    by_name = {ring.name: ring for ring in rule.rings}
    placed = [(start.ring.name, start.ring.image[0], "closed") for start in rule.start]
    placed += [(r.name, k, r.role) for k in range(section.repeats) for r in rule.rings]
    for ring_of_rule, image, role in placed:
        ring = by_name[ring_of_rule]
        x, y, z = ring.centre
        name = ring_name(ring.name, number, image)
        found[name] = RuleRing(
            name=name,
            role=role,
            centre=((x + image * along) * scale, y * scale, z * scale),
            axis=ring.axis,
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


def _end(number: int, section: Section, laid: dict[str, RuleRing], repeats: int) -> _End:
    """The rings that a section starts from, or the same so many repeats on."""
    starts = [start.ring for start in section.rule.start]
    names = tuple(ring_name(ref.name, number, ref.image[0] + repeats) for ref in starts)
    if not names or any(name not in laid for name in names):
        raise CannotJoin(number, "is too short: it needs more repeats")
    rings = [laid[name] for name in names]
    middle = tuple(sum(ring.centre[axis] for ring in rings) / len(rings) for axis in range(3))
    _, y, z = rings[0].axis
    if math.hypot(y, z) < 0.5 * math.hypot(*rings[0].axis):
        raise CannotJoin(number, f"ends in ring {names[0]}, which faces along the chain")
    core = max(ring.size.core if ring.size else 1.0 for ring in rings)
    return _End(names, (middle[0], middle[1], middle[2]), math.atan2(z, y), core)


def _joint(
    number: int, tail: _End, head: _End, laid: dict[str, RuleRing]
) -> tuple[RuleRing, dict[str, RuleRing]]:
    """The ring that joins two ends, and the second section turned and moved to where it belongs."""
    x, y, z = tail.middle
    centre = (x + _JOINED_AT * (tail.core + 1.0), y, z)
    # At right angles to the rings it goes through and to the chain.
    axis = (0.0, -math.sin(tail.facing), math.cos(tail.facing))
    joint = RuleRing(f"J{number}", "open", centre, axis)
    begin = (centre[0] + _JOINED_AT * (1.0 + head.core), y, z)
    turn = tail.facing - head.facing
    cos, sin = math.cos(turn), math.sin(turn)

    def turned(vector: Vector) -> Vector:
        return (vector[0], cos * vector[1] - sin * vector[2], sin * vector[1] + cos * vector[2])

    moved = {}
    for name, ring in laid.items():
        a, b, c = turned(
            (
                ring.centre[0] - head.middle[0],
                ring.centre[1] - head.middle[1],
                ring.centre[2] - head.middle[2],
            )
        )
        place = (begin[0] + a, begin[1] + b, begin[2] + c)
        moved[name] = replace(ring, centre=place, axis=turned(ring.axis))
    return joint, moved


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
    return [
        Step(
            RingRef(ring_name(step.ring.name, number, k)),
            tuple(RingRef(ring_name(ref.name, number, k + ref.image[0])) for ref in step.through),
            tuple(RingRef(ring_name(ref.name, number, k + ref.image[0])) for ref in step.holding),
        )
        for k in range(section.repeats)
        for step in section.rule.steps
    ]


def _ordered(rings: Sequence[RuleRing], links: Sequence[Link]) -> tuple[Link, ...]:
    """Links the one way to write them: the ring that comes first in the rule first, each once."""
    order = {ring.name: place for place, ring in enumerate(rings)}
    found: dict[Link, None] = {}
    for link in links:
        first, second = sorted((link.first, link.second), key=lambda ref: order[ref.name])
        found[Link(first, second)] = None
    return tuple(found)
