"""Whether a captive ring can be put where a rule wants it: closed, and with no ring through it.

A captive ring lies round others, which cross its eye there and back. On both sides of its
plane rings hang on these; where some that are joined already lead from the one side to the
other, the captive ring is a hoop around a closed string of rings: it could get there only
through one of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.weaves.rule import RingRef, Vector, WeaveRule, wrapped

# Whole repeats that count as woven before, along a weave and across it.
_BEFORE = 4


@dataclass(frozen=True)
class _Circle:
    """The middle of a ring's wire: where it lies, and how large it is."""

    centre: Vector
    axis: Vector
    radius: float


@dataclass(frozen=True)
class Barred:
    """A captive ring that cannot be reached.

    Attributes
    ----------
    held : the captive ring
    step : the number of the step that holds it, from 0
    above, below : rings on either side of it that are joined by then
    """

    held: RingRef
    step: int
    above: RingRef
    below: RingRef


def unreachable_captive(rule: WeaveRule) -> Barred | None:
    """The first captive ring that would have to pass through others; None where there is none.

    It is looked for in the midst of a piece, where whole repeats are woven before. Rings that
    are fixed in millimetres are taken at the main ring's size.
    """
    for number, step in enumerate(rule.steps):
        for held in step.holding:
            between = _barred(rule, held, _there(rule, number))
            if between:
                return Barred(held, number, *between)
    return None


def _there(rule: WeaveRule, number: int) -> list[RingRef]:
    """The rings that are closed and in place before the step with this number."""
    span = range(-_BEFORE, _BEFORE + 1)
    images = [(k1, k2) for k1 in span for k2 in _across(rule)]
    there = {
        RingRef(ring.name, image): None
        for image in images
        if rule.family.is_before(image)
        for ring in rule.rings
    }
    for step in rule.steps[:number]:
        for ref in (*step.through, *step.holding, step.ring):
            there.setdefault(ref)
    return list(there)


def _across(rule: WeaveRule) -> range:
    if rule.family.has_rows:
        return range(-_BEFORE, 1)
    return range(rule.around // 2 - rule.around + 1, rule.around // 2 + 1)


def _barred(rule: WeaveRule, held: RingRef, there: list[RingRef]) -> tuple[RingRef, RingRef] | None:
    """Two rings on either side of a captive one that are joined without a way through it."""
    captive = _circle(rule, held)
    circles = {ref: _circle(rule, ref) for ref in there if ref != held}
    split = {ref for ref, circle in circles.items() if _dips_through(circle, captive)}
    # A ring that dips through the captive one counts as two: its part above and its part below.
    joined: dict[tuple[RingRef, int], list[tuple[RingRef, int]]] = {}
    for link in rule.links:
        for ref in circles:
            if ref.name != link.first.name:
                continue
            other = _moved(rule, link.second, ref)
            if other in circles:
                one = ref, _side(circles[ref], circles[other], captive) if ref in split else 0
                two = other, _side(circles[other], circles[ref], captive) if other in split else 0
                joined.setdefault(one, []).append(two)
                joined.setdefault(two, []).append(one)
    for ref in split:
        seen = {(ref, 1): (ref, 1)}
        edge = [(ref, 1)]
        while edge:
            here = edge.pop(0)
            for after in joined.get(here, ()):
                if after not in seen:
                    # The first ring of the way, by which it leaves the upper part.
                    seen[after] = after if seen[here] == (ref, 1) else seen[here]
                    edge.append(after)
                if after[0] in split and after[1] == -1:
                    return seen[after][0], here[0]
    return None


def _moved(rule: WeaveRule, ref: RingRef, by: RingRef) -> RingRef:
    image = (ref.image[0] + by.image[0], ref.image[1] + by.image[1])
    return RingRef(ref.name, wrapped(image, rule.around) if rule.around > 1 else image)


def _circle(rule: WeaveRule, ref: RingRef) -> _Circle:
    ring = next(ring for ring in rule.rings if ring.name == ref.name)
    k1, k2 = ref.image
    turn = k1 * rule.turn + k2 * (2.0 * math.pi / rule.around if rule.around > 1 else 0.0)
    (x, y, z), (a, b, c) = ring.centre, ring.axis
    cos, sin = math.cos(turn), math.sin(turn)
    shift = [0.0, 0.0, 0.0]
    for times, vector in zip((k1, k2), rule.repeat_vectors, strict=False):
        shift = [s + times * v for s, v in zip(shift, vector, strict=True)]
    length = math.hypot(a, b, c)
    return _Circle(
        (x + shift[0], y * cos - z * sin + shift[1], y * sin + z * cos + shift[2]),
        (a / length, (b * cos - c * sin) / length, (b * sin + c * cos) / length),
        1.0 if ring.size is None else ring.size.core,
    )


def _dips_through(circle: _Circle, other: _Circle) -> bool:
    """Whether a circle crosses the other's disc twice: there and back."""
    crossings = _crossings(circle, other)
    return len(crossings) == 2 and all(_inside(point, other) for point in crossings)


def _side(circle: _Circle, linked: _Circle, captive: _Circle) -> int:
    """On which part of a circle a linked one hangs: 1 above the captive ring's plane, -1 below."""
    inside = [point for point in _crossings(circle, linked) if _inside(point, linked)]
    # A placement that has not the rule's links is refused by itself, elsewhere.
    return 0 if not inside else 1 if _height(inside[0], captive) > 0.0 else -1


def _crossings(circle: _Circle, other: _Circle) -> list[Vector]:
    """Where a circle crosses the other's plane; two points or none."""
    along = _cross(circle.axis, other.axis)
    sine = math.hypot(*along)
    if sine < 1e-12:
        return []
    along = _scaled(along, 1.0 / sine)
    # In the circle's own plane: down towards the other's, and as far as the height asks.
    down = _cross(along, circle.axis)
    foot = -_height(circle.centre, other) / _dot(down, other.axis)
    if abs(foot) >= circle.radius:
        return []
    half = math.sqrt(circle.radius**2 - foot**2)
    middle = _added(circle.centre, _scaled(down, foot))
    return [_added(middle, _scaled(along, sign * half)) for sign in (-1.0, 1.0)]


def _inside(point: Vector, circle: _Circle) -> bool:
    return math.dist(point, circle.centre) < circle.radius


def _height(point: Vector, circle: _Circle) -> float:
    return _dot(_added(point, _scaled(circle.centre, -1.0)), circle.axis)


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _added(a: Vector, b: Vector) -> Vector:
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def _scaled(a: Vector, factor: float) -> Vector:
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def _cross(a: Vector, b: Vector) -> Vector:
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )
