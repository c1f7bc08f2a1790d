"""Other shapes of a chain than its rule's own: wound, curled into a screw, of a doubled repeat.

A rule lays a chain straight, or wound as far as makers wind it. The same rings with the same links
may close in tighter rings when the chain winds (on), curls up like a spring, or when every second
repeat lies another way. All of these are looked for from the rule's own lay, in hair-thin wire, by
ways on which no ring passes through another: winding by the contact solver, which lets none pass;
curling along a path on which the core circles stay farther apart than they move from step to step;
long random walks. What comes out is grown to its tightest. It is the best found, not proved to be
the best; :mod:`ringwright.solver.packing_bound` has what is proved. Lengths are in units of the
core radius.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.sizes import RingSize
from ringwright.geometry import lattice_kind
from ringwright.geometry.contact import Rings, carried, close_pairs, contacts
from ringwright.geometry.lattice import Lattice, rotations
from ringwright.solver.climb import Unit, climb, farthest, shaken, thickest
from ringwright.solver.packing_bound import packing_bound
from ringwright.solver.placement import LinkKey, linked_pairs, placed_unit, ring_radii
from ringwright.solver.polish import polished
from ringwright.solver.tightest import Tightest
from ringwright.weaves.family import SCREW
from ringwright.weaves.rule import (
    Link,
    Minimums,
    OtherShape,
    RingRef,
    RuleRing,
    StartRing,
    Vector,
    WeaveRule,
)

# Wire in which chains are wound and curled.
_HAIR = 1e-3
# A shape counts as tighter than the rule's own when it is by so much.
TIGHTER = 2e-3
# Turns from repeat to repeat to wind to (radians), either way.
_WOUND = (0.2, 0.4, 0.8, 1.2, 1.6)
# Curled: the angle between the chain and the screw's axis, curvature in core radii, and how many
# sides of the chain are tried as the inside.
_ANGLES_DEG, _CURVATURES, _SIDES = (40.0, 60.0), (0.1, 0.2, 0.35), 8
_FEW_ANGLES_DEG, _FEW_CURVATURES = (40.0,), (0.15,)
# Steps on the way into a curl; core circles have to stay so far apart on it, several times
# what they move against each other in a step.
_CURLING, _APART = 24, 0.06
_WALKS, _WALK_STEPS = 3, 25
# Units of more rings are looked at less thoroughly: they take minutes.
MANY_RINGS = 6
_DIGITS = 5


@dataclass(frozen=True, eq=False)
class Shape:
    """A shape in which the rings of a rule close.

    Attributes
    ----------
    rule : the rule with this shape as its placement, its unit doubled where the shape asks
    tightest : the rings at their tightest in it
    said : how one would say it, such as "curled into a screw"
    """

    rule: WeaveRule
    tightest: Tightest
    said: str


def other_shape(rule: WeaveRule, size: RingSize, known: Minimums | None) -> Shape | None:
    """The other shape in which a rule closes, grown to its tightest anew; None without one.

    Parameters
    ----------
    known : what the rule's file keeps, or what was found by :func:`tighter_shape`

    Raises
    ------
    BadInput
        When the places that are kept do not have the rule's links.
    """
    if known is None or known.shape is None:
        return None
    laid = shaped_rule(rule, known.shape)
    unit = placed_unit(laid, size)
    wires = ring_radii(laid, size)[1]
    return Shape(laid, _tightest_from(unit, wires), said(rule, known.shape))


def said(rule: WeaveRule, shape: OtherShape) -> str:
    """How one would say a shape."""
    if shape.two_repeats:
        wound = not rule.family.turns and shape.turn != 0.0
        return "with its repeat doubled" + (" and curled" if wound else "")
    if not rule.family.turns:
        return "curled into a screw"
    return "wound further" if rule.family.is_wound else "with its rings leaning unequally"


def shaped_rule(rule: WeaveRule, shape: OtherShape) -> WeaveRule:
    """The rule laid in another shape: a rule like any other.

    Over and under are said of a chain that lies flat on a table, which a shape does not: the
    steps no longer say them. From which side a ring is gone through stays true of any shape.
    """
    base = with_two_repeats(rule) if shape.two_repeats else rule
    rings = tuple(
        RuleRing(ring.name, ring.role, centre, axis, ring.size)
        for ring, (centre, axis) in zip(base.rings, shape.places, strict=True)
    )
    family = SCREW if not rule.family.turns and shape.turn != 0.0 else rule.family
    return replace(
        base,
        rings=rings,
        family=family,
        repeat_vectors=((shape.repeat, 0.0, 0.0),),
        turn=shape.turn,
        steps=tuple(replace(step, over=(), under=()) for step in base.steps),
        computed=None,
        lay_in_words=False,
    )


def with_two_repeats(rule: WeaveRule) -> WeaveRule:
    """The same weave with two repeats as its unit.

    Rings of the second repeat have a ``b`` after their name. The placement is the rule's own,
    twice.
    """
    taken = {ring.name for ring in rule.rings}
    second = {name: _free_name(name, taken) for name in sorted(taken)}

    def ref(one: RingRef, copy: int) -> RingRef:
        at = one.image[0] + copy
        return RingRef(second[one.name] if at % 2 else one.name, (at // 2, one.image[1]))

    links = tuple(
        Link(ref(link.first, copy), ref(link.second, copy))
        for link in rule.links
        for copy in (0, 1)
    )
    steps = tuple(step.with_refs(partial(ref, copy=copy)) for copy in (0, 1) for step in rule.steps)
    unit = rule.repeat_vectors[0][0]
    turned = rotations(np.array([1.0, 0.0, 0.0]), np.array([rule.turn]))[0]
    rings = (
        *rule.rings,
        *(
            RuleRing(
                second[ring.name],
                ring.role,
                _vector(turned @ np.array(ring.centre) + [unit, 0.0, 0.0]),
                _vector(turned @ np.array(ring.axis)),
                ring.size,
            )
            for ring in rule.rings
        ),
    )
    return replace(
        rule,
        rings=rings,
        repeat_vectors=((2 * unit, 0.0, 0.0),),
        turn=float((2 * rule.turn + np.pi) % (2 * np.pi) - np.pi),
        links=links,
        start=tuple(StartRing(ref(start.ring, 0), start.role) for start in rule.start),
        steps=steps,
        computed=None,
    )


def _free_name(name: str, taken: set[str]) -> str:
    """A name for a ring's second copy that no ring has."""
    return next(
        free for letter in "bcdefghijklmnopqrstuvwxyz" if (free := f"{name}{letter}") not in taken
    )


def _vector(values: Floats) -> Vector:
    x, y, z = (round(float(value), _DIGITS) + 0.0 for value in values)
    return x, y, z


# --- the search ------------------------------------------------------------------------


def tighter_shape(
    rule: WeaveRule, size: RingSize, limit: Tightest
) -> tuple[float, OtherShape] | None:
    """The shape in which a weave closes in the tightest rings, where it is not the rule's own.

    Parameters
    ----------
    limit : the tightest ring in the rule's own shape

    Returns
    -------
    The aspect ratio and the shape; None where none was found that is tighter by 0.002.
    """
    if not rule.family.has_axis:
        return None
    if limit.aspect_ratio < (packing_bound(rule) or 0.0) + TIGHTER:
        # Proved to be the tightest of all shapes already.
        return None
    wires = ring_radii(rule, size)[1]
    main = [ring.size is None for ring in rule.rings].index(True)
    best: tuple[float, bool, Unit] | None = None
    for two_repeats in (False,) if rule.family.closes_round else (False, True):
        laid = with_two_repeats(rule) if two_repeats else rule
        straight = _in_hair(_doubled_unit(limit.unit) if two_repeats else limit.unit)
        if set(linked_pairs(straight)) != set(linked_pairs(placed_unit(laid, size))):
            raise RuntimeError(f"two repeats of {rule.name} are linked otherwise than its rule")
        for start in _starts(straight, thorough=len(rule.rings) <= MANY_RINGS):
            end = climb(start, thickest(start), rounds=80, tolerance=1e-6).unit
            ratio = _ratio(end, main)
            if best is None or ratio < best[0] - 1e-5:
                best = ratio, two_repeats, end
    if best is None or best[0] > limit.aspect_ratio - TIGHTER:
        return None
    tile = np.tile(wires, 2 if best[1] else 1)
    found = _tightest_from(_in_hair(best[2]), tile)
    return found.aspect_ratio, _shape_of(found.unit, best[1])


def _shape_of(unit: Unit, two_repeats: bool) -> OtherShape:
    values = unit.lattice.values
    turns = unit.lattice.kind.turns
    turn = float((values[1] + np.pi) % (2 * np.pi) - np.pi) if turns else 0.0
    rings = unit.rings
    return OtherShape(
        two_repeats=two_repeats,
        repeat=round(float(values[0]), _DIGITS),
        turn=float(np.radians(round(float(np.degrees(turn)), _DIGITS))),
        places=tuple(
            (_vector(centre), _vector(axis))
            for centre, axis in zip(rings.centres, rings.axes, strict=True)
        ),
    )


def _tightest_from(start: Unit, wires: Floats) -> Tightest:
    """One start grown as thick as it gets."""
    main = int(np.argmin(np.abs(start.rings.core_radii - 1.0)))
    thin = start.with_wire_radii(wires * (_HAIR / wires.max()))
    end = climb(thin, thickest(thin), rounds=300, tolerance=1e-10).unit
    rested = polished(end, thickest(end))
    ratio = _ratio(rested.unit, main)
    return Tightest(ratio, rested.unit, rested.certificate, 1, 1, (ratio,))


def _ratio(unit: Unit, main: int) -> float:
    return float(unit.rings.core_radii[main] / unit.rings.wire_radii[main] - 1.0)


def _in_hair(unit: Unit) -> Unit:
    wire = unit.rings.wire_radii
    return unit.with_wire_radii(wire * (_HAIR / wire.max()))


def _doubled_unit(unit: Unit) -> Unit:
    """Two repeats as one unit."""
    rings = unit.rings
    images = np.tile(np.array([[1, 0]], np.intp), (len(rings.centres), 1))
    centres, axes = carried(rings.centres, rings.axes, images, unit.lattice)
    both = Rings(
        np.vstack([rings.centres, centres]),
        np.vstack([rings.axes, axes]),
        np.tile(rings.core_radii, 2),
        np.tile(rings.wire_radii, 2),
    )
    return Unit(both, unit.lattice.with_values(2.0 * unit.lattice.values))


def _starts(straight: Unit, thorough: bool) -> Iterator[Unit]:
    """Units of the same lay, wound, curled and shaken, in hair wire."""
    for seed in range(1, _WALKS + 1):
        yield shaken(straight, seed, steps=_WALK_STEPS)
    if straight.lattice.kind.closes:
        return
    free = straight
    if straight.lattice.kind.is_straight:
        free = Unit(straight.rings, Lattice(lattice_kind.SCREW, np.array([straight.repeat, 0.0])))
    for turn in _WOUND:
        for way in (1.0, -1.0):
            yield _wound(free, way * turn)
    if straight.lattice.kind.is_straight:
        angles = _ANGLES_DEG if thorough else _FEW_ANGLES_DEG
        for angle in np.radians(angles):
            for curvature in _CURVATURES if thorough else _FEW_CURVATURES:
                for side in np.linspace(0.0, 2.0 * np.pi, _SIDES, endpoint=False):
                    curled = _curled(straight, float(angle), curvature, float(side))
                    if curled is not None:
                        yield curled


def _wound(unit: Unit, turn: float) -> Unit:
    """Wound towards a turn from repeat to repeat, as far as it goes."""
    way = float(np.sign(turn - unit.lattice.values[1])) or 1.0
    goal = farthest(unit, 1, way)
    return climb(unit, goal, enough=way * turn, rounds=60, tolerance=1e-6).unit


def _curled(straight: Unit, angle: float, curvature: float, side: float) -> Unit | None:
    """A straight chain laid along a screw line, with the links and the lay it had.

    Parameters
    ----------
    angle : between the chain and the screw's axis
    curvature : of the line
    side : which side of the chain is turned to the axis, as an angle about the chain

    Returns
    -------
    None where core circles come so near each other on the way that one might have passed.
    """
    links = linked_pairs(straight)
    unit = straight
    for share in np.linspace(1.0 / _CURLING, 1.0, _CURLING):
        unit = _on_screw_line(straight, angle, share * curvature, side)
        if _least_apart(unit) < _APART or not _same_links(unit, links):
            return None
    return unit


def _same_links(unit: Unit, links: dict[LinkKey, int]) -> bool:
    return linked_pairs(unit) == links


def _least_apart(unit: Unit) -> float:
    """The least distance of any two core circles."""
    bare = unit.with_wire_radii(np.zeros(len(unit.rings.wire_radii)))
    pairs = close_pairs(bare.rings, 1.0, bare.lattice)
    return float(contacts(bare.rings, pairs, bare.lattice).gap.min(initial=np.inf))


def _on_screw_line(straight: Unit, angle: float, curvature: float, side: float) -> Unit:
    """A unit carried from its straight line to a screw line, ring by ring."""
    radius = np.sin(angle) ** 2 / curvature
    winding = np.sin(angle) / radius
    rings = straight.rings
    x, y = np.eye(3)[0], np.eye(3)[1]
    about = rotations(x, np.array([side]))[0]
    tilt = rotations(y, np.array([-angle]))[0]
    centres, axes = rings.centres @ about.T, rings.axes @ about.T
    middle = centres.mean(axis=0)
    along = centres[:, 0]
    aside = (centres - middle) * [0.0, 1.0, 1.0]
    turns = rotations(x, winding * along)
    laid = aside @ tilt.T + [0.0, radius, 0.0]
    centres = np.einsum("nij,nj->ni", turns, laid)
    centres[:, 0] += along * np.cos(angle)
    axes = np.einsum("nij,nj->ni", turns, axes @ tilt.T)
    values = np.array([straight.repeat * np.cos(angle), winding * straight.repeat])
    return Unit(
        Rings(centres, axes, rings.core_radii, rings.wire_radii),
        Lattice(lattice_kind.SCREW, values),
    )
