"""Which way rings pass through one another: what steps say of it, held against geometry.

Links do not tell one weave from another that has the same ones. What does, where rings lie
rather flat, is the way in which a ring passes: up through one ring and down through the next,
or through the lens in which two rings overlap, or as a hoop around it. Given a direction along
every wire and a face of every ring that counts as its upper one, each link has a sign, the
linking number; to pass two rings alike is to have one sign with both. No motion that lets no
wire through another changes the signs. Turning a ring over changes all of its own, so what is
left is how two rings are passed by one ring compared with another; ``lays.agrees`` goes by that
alone, whichever way rings happen to lie.

Lengths are in units of the main ring's core radius.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import carried
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import Image, Overlap, RingRef, Step, StepsRule, WeaveRule, wrapped

# A ring has an upper side when it leans at least so far from upright, by its axis' part along z.
_LEANS = 0.05
# Two rings face alike when the cosine between their axes is larger.
_FACE_ALIKE = 0.3
# Points on a wire when it is seen from above.
_POINTS = 360
# Wires cross as seen from above where they are not farther apart than this.
_ABOVE = 0.02


@dataclass(frozen=True)
class Relation:
    """One ring passes two others alike, both the same way, or not.

    ``one`` is in the repeat itself, image (0, 0); whatever is said holds of every repeat.
    """

    ring: RingRef
    one: RingRef
    other: RingRef
    alike: bool


def relations(rule: WeaveRule | StepsRule) -> tuple[Relation, ...]:
    """All that a rule's steps say on which way rings pass."""
    found = [relation for step in rule.steps for relation in of_step(step)]
    return tuple(dict.fromkeys(_at_home(rule, relation) for relation in found))


def of_step(step: Step) -> Iterator[Relation]:
    """What one step says on which way rings pass."""
    sided = [(ref, side) for ref, side in zip(step.through, step.sides, strict=False) if side]
    for at, (ref, side) in enumerate(sided):
        for other, from_other in sided[at + 1 :]:
            yield Relation(step.ring, ref, other, side == from_other)
    for overlap in step.overlaps:
        one, other = overlap.of
        for refs, alike in ((overlap.through, True), (overlap.around, False)):
            for ref in refs:
                yield Relation(ref, one, other, alike)


def _at_home(rule: WeaveRule | StepsRule, relation: Relation) -> Relation:
    """The same with the first of the two rings in the repeat itself, and named first."""
    order = [ring.name for ring in rule.rings]
    one, other = sorted(
        (relation.one, relation.other), key=lambda ref: (order.index(ref.name), ref.image)
    )
    back = (-one.image[0], -one.image[1])
    ring, one, other = (_moved(rule, ref, back) for ref in (relation.ring, one, other))
    return Relation(ring, one, other, relation.alike)


def _moved(rule: WeaveRule | StepsRule, ref: RingRef, by: Image) -> RingRef:
    image = (ref.image[0] + by[0], ref.image[1] + by[1])
    return RingRef(ref.name, wrapped(image, rule.around) if rule.around > 1 else image)


def against(rule: WeaveRule, unit: Unit) -> str | None:
    """The first thing that a rule's steps say of the lay and that is not so in a unit; or None.

    Each is held against the core circles where they are, z up:

    - from above, from below: of every two rings that a step's ring is said to go through so, the
      linking numbers with it, both axes turned upwards, are alike or opposite as said. A ring
      has an upper side when it leans at least 3 degrees from upright.
    - through, around the overlap: the two rings face alike within 72 degrees. Seen along the
      mean of their axes, the ring passes both within both circles and the same way; or it passes
      each outside the other, and one against the other.
    - over, under: wherever the two wires cross as seen from above, this ring's is the upper
      (lower) one, and they cross somewhere, in some repeat of the piece as written.

    Returns
    -------
    str or None
        As ``"step[1].over: ..."``, for the end of a sentence that names the file.
    """
    for number, step in enumerate(rule.steps):
        for trouble in _of_one_step(rule, unit, step):
            return f"step[{number}].{trouble}"
    return None


def _of_one_step(rule: WeaveRule, unit: Unit, step: Step) -> Iterator[str]:
    seen = _Seen(rule, unit)
    yield from _wrong_sides(seen, step)
    for overlap in step.overlaps:
        yield from _wrong_overlap(seen, overlap)
    for key, others, way in (("over", step.over, 1.0), ("under", step.under, -1.0)):
        for other in others:
            heights = seen.crossings(step.ring, other)
            if not (len(heights) and (way * heights > 0.0).all()):
                yield (
                    f"{key}: ring {said(step.ring)} is said to lie {key} ring {said(other)}, but "
                    "seen from above it does not"
                )


def _wrong_sides(seen: _Seen, step: Step) -> Iterator[str]:
    sided = [(ref, side) for ref, side in zip(step.through, step.sides, strict=False) if side]
    for ref, _ in sided:
        if abs(seen.at(ref)[1][2]) < _LEANS:
            yield (
                f"through: ring {said(ref)} stands upright, so it has no side above; leave out "
                "from which side it is gone through"
            )
    ways = {
        ref: seen.way(step.ring, ref, seen.at(ref)[1]) * (1 if side == "below" else -1)
        for ref, side in sided
        if abs(seen.at(ref)[1][2]) >= _LEANS
    }
    for ref, way in ways.items():
        first = next(iter(ways))
        if way != ways[first]:
            yield (
                f"through: ring {said(step.ring)} does not go through ring {said(first)} and ring "
                f"{said(ref)} from the sides that are said"
            )


def _wrong_overlap(seen: _Seen, overlap: Overlap) -> Iterator[str]:
    one, other = overlap.of
    pair = f"rings {said(one)} and {said(other)}"
    ways = [seen.at(ref)[1] for ref in overlap.of]
    if abs(ways[0] @ ways[1]) < _FACE_ALIKE:
        yield f"overlap: {pair} stand across each other, so they have no overlap to pass"
        return
    for refs, alike in ((overlap.through, True), (overlap.around, False)):
        for ref in refs:
            passes = seen.passes(ref, overlap.of)
            if not all(inside is alike for inside, _ in passes) or (
                (passes[0][1] == passes[1][1]) is not alike
            ):
                how = "through" if alike else "around"
                yield f"overlap: ring {said(ref)} does not go {how} the overlap of {pair}"


def said(ref: RingRef) -> str:
    """A ring of a rule as one would say it."""
    k1, k2 = ref.image
    if (k1, k2) == (0, 0):
        return ref.name
    return f"{ref.name} (image {[k1, k2] if k2 else k1})"


class _Seen:
    """A unit's rings where they lie, of any repeat."""

    def __init__(self, rule: WeaveRule, unit: Unit) -> None:
        self._rule, self._unit = rule, unit
        self._place = {ring.name: at for at, ring in enumerate(rule.rings)}

    def at(self, ref: RingRef) -> tuple[Floats, Floats]:
        """Centre and axis of a ring, the axis turned to its upper side.

        That is the side that is up where the ring is written, in the repeat itself: a screw
        carries it round.
        """
        at, rings = self._place[ref.name], self._unit.rings
        axis = rings.axes[at] * (-1.0 if rings.axes[at, 2] < 0.0 else 1.0)
        centres, axes = carried(
            rings.centres[at][None],
            axis[None],
            np.array([ref.image], np.intp),
            self._unit.lattice,
        )
        return centres[0], axes[0]

    def radius(self, ref: RingRef) -> float:
        """A ring's core radius."""
        return float(self._unit.rings.core_radii[self._place[ref.name]])

    def wire(self, ref: RingRef) -> Floats:
        """Points along a ring's wire, (n, 3), closed."""
        centre, axis = self.at(ref)
        return circle(centre, axis, self.radius(ref))

    def way(self, ring: RingRef, through: RingRef, up: Floats) -> int:
        """The sense in which a ring's wire passes through another: 1 towards ``up``, else -1.

        The sense along the wire is that of the ring's own axis, taken upwards; 0 where the two are
        not linked.
        """
        return int(np.sign(self._passed(ring, through, up)[1]))

    def passes(self, ring: RingRef, pair: tuple[RingRef, RingRef]) -> list[tuple[bool, int]]:
        """Where a ring passes each of two others: inside the other one's circle too, and its sense.

        Both are seen along the mean of their axes.
        """
        ups = [self.at(ref)[1] for ref in pair]
        if ups[0] @ ups[1] < 0.0:
            ups[1] = -ups[1]
        along = (ups[0] + ups[1]) / np.linalg.norm(ups[0] + ups[1])
        found = []
        for through, other, up in zip(pair, pair[::-1], ups, strict=True):
            point, sense = self._passed(ring, through, up)
            centre, axis = self.at(other)
            # The other one's disc where the line of sight meets it.
            away = point - centre
            away = away - (away @ axis) / (along @ axis) * along
            found.append((bool(np.linalg.norm(away) < self.radius(other)), int(np.sign(sense))))
        return found

    def _passed(self, ring: RingRef, through: RingRef, up: Floats) -> tuple[Floats, float]:
        """Where a ring's wire passes another's disc, and how fast towards ``up``: 0 for nowhere."""
        wire, (centre, _) = self.wire(ring), self.at(through)
        heights = (wire - centre) @ up
        steps = np.roll(heights, -1) - heights
        cross = np.flatnonzero(heights * np.roll(heights, -1) <= 0.0)
        inside = [at for at in cross if np.linalg.norm(wire[at] - centre) < self.radius(through)]
        return (wire[inside[0]], float(steps[inside[0]])) if len(inside) == 1 else (centre, 0.0)

    def crossings(self, ring: RingRef, other: RingRef) -> Floats:
        """How far a ring's wire is above another's wherever they cross as seen from above."""
        return heights_above(self.wire(ring), self.wire(other))


def circle(centre: Floats, axis: Floats, radius: float) -> Floats:
    """Points along a circle, (n, 3), anticlockwise as its axis points at one."""
    u, v = (basis[0] for basis in plane_basis(axis[None]))
    turn = np.linspace(0.0, 2.0 * np.pi, _POINTS, endpoint=False)
    return np.asarray(centre + radius * (np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v))


def heights_above(one: Floats, two: Floats) -> Floats:
    """How far one wire is above another wherever they cross as seen from above.

    Parameters
    ----------
    one, two : (n, 3) points along each
    """
    return crossings_above(one, two)[1]


def crossings_above(one: Floats, two: Floats) -> tuple[Ints, Floats]:
    """Where one wire crosses another as seen from above, and how far it is above it there.

    Returns
    -------
    along : (k,) the places in ``one``
    heights : (k,) of these above the other wire; below 0 under it
    """
    apart = np.linalg.norm(one[:, None, :2] - two[None, :, :2], axis=2)
    i, j = np.nonzero(apart < _ABOVE)
    return i, np.asarray(one[i, 2] - two[j, 2])
