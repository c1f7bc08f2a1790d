"""From a weave rule to a first unit of rings, and which rings of a unit are linked.

Lengths are in units of the main ring's core radius.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, format_mm
from ringwright.geometry.contact import Rings, carried, close_pairs, contacts, linking
from ringwright.geometry.lattice import ALONE, Lattice
from ringwright.solver.climb import Unit, climb, nearest_to
from ringwright.solver.passing import against
from ringwright.solver.resize import in_thread, meets_nothing, resized, stretched, with_cores
from ringwright.weaves.rule import (
    Image,
    RingRef,
    RuleRing,
    RuleSize,
    StepsRing,
    StepsRule,
    WeaveRule,
    wrapped,
)

# (ring, ring, image): the second ring stands in that image of the unit; of the two ways
# to say it, the one that close_pairs lists.
LinkKey = tuple[int, int, Image]

# Core circles closer than this do not say which ring lies over which.
_MEETING = 0.01
# How near to the rule's own a placement is brought that is only there to start from.
_NEAR_ENOUGH = 1e-6


def placed_unit(rule: WeaveRule, size: RingSize) -> Unit:
    """The rule's rough placement, with every ring's true core circle in hair-thin wire.

    All wires are thin in proportion, so growing them together leads to the true ones.

    Parameters
    ----------
    size : the main ring; rings of other sizes follow from it or are fixed in millimetres

    Raises
    ------
    BadInput
        When rings of the placement are linked that the rule does not list, or the
        other way round, or touch, so that it is open which lies over which, or lie otherwise
        than the steps say; the sentence names them.
    """
    unit = rough_unit(rule, size)
    _check_apart(rule, unit)
    _check_links(rule, unit)
    _check_lay(rule, unit)
    core, wire = ring_radii(rule, size)
    if meets_nothing(unit, core, _MEETING):
        return with_cores(unit, core)
    return _brought_to_size(rule, size, unit, core, wire)


def rough_unit(rule: WeaveRule, size: RingSize) -> Unit:
    """The rule's rough placement as its file gives it, whatever its links and its lay."""
    _, wire = ring_radii(rule, size)
    axes = np.array([ring.axis for ring in rule.rings], dtype=float)
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    centres = np.array([ring.centre for ring in rule.rings], dtype=float)
    rings = Rings(centres, axes, _placed_core(rule, size), wire)
    return in_thread(Unit(rings, rule_lattice(rule)), wire)


def _placed_core(rule: WeaveRule, size: RingSize) -> np.ndarray:
    """The core radii that the placement was made for, whatever the maker's own rings are."""
    given = [
        replace(ring, size=ring.size.instead_of or ring.size) if ring.size else ring
        for ring in rule.rings
    ]
    return ring_radii(replace(rule, rings=tuple(given)), size)[0]


def _brought_to_size(
    rule: WeaveRule, size: RingSize, placed: Unit, core: np.ndarray, wire: np.ndarray
) -> Unit:
    """The placement with the maker's own rings, where they cannot just take their places."""
    grown = resized(placed, core, wire)
    if grown is None:
        own = next(one for one in rule.sizes if one.instead_of)
        raise BadInput(
            f"rings {own.name!r} {_said_size(own)} cannot take their places in {rule.name} of "
            f"{format_mm(size.wire_mm)} wire and {format_mm(size.inner_mm)} inside, in however "
            f"thin a wire; the rule's own would be {format_mm(_given_inner_mm(own, size))} inside, "
            "so take some nearer to that."
        )
    thin = in_thread(grown, wire)
    target = stretched(with_cores(placed, core), grown)
    return climb(thin, nearest_to(target), tolerance=_NEAR_ENOUGH).unit


def _said_size(size: RuleSize) -> str:
    return f"of {format_mm(size.wire_mm or 0.0)} wire and {format_mm(size.inner_mm or 0.0)} inside"


def _given_inner_mm(own: RuleSize, size: RingSize) -> float:
    """The inside that the rule gives to the rings that the maker's own stand in for."""
    given = own.instead_of
    if given is None or given.inner_mm is not None:
        return (given.inner_mm if given else own.inner_mm) or 0.0
    return 2.0 * given.core * size.core_radius_mm - given.wire * size.wire_mm


def ring_radii(rule: WeaveRule | StepsRule, size: RingSize) -> tuple[np.ndarray, np.ndarray]:
    """Core and wire radius of each ring of the rule, in core radii of the main ring."""
    core, wire = np.ones(len(rule.rings)), np.full(len(rule.rings), size.wire_radius_mm)
    rings: tuple[RuleRing | StepsRing, ...] = rule.rings
    for index, ring in enumerate(rings):
        other = ring.size
        if other is None:
            continue
        if other.wire_mm is not None and other.inner_mm is not None:
            core[index] = (other.inner_mm + other.wire_mm) / 2 / size.core_radius_mm
            wire[index] = other.wire_mm / 2
        else:
            core[index] *= other.core
            wire[index] *= other.wire
    return core, wire / size.core_radius_mm


def rule_lattice(rule: WeaveRule) -> Lattice:
    """The lattice of the rule's rough placement."""
    first = [vector[0] for vector in rule.repeat_vectors[:1]]
    second = [along for vector in rule.repeat_vectors[1:] for along in vector[:2]]
    turning = [rule.turn] if rule.family.turns else []
    values = np.array([*first, *second, *turning])
    return Lattice(rule.family.lattice, values, around=rule.around)


def by_themselves(rule: WeaveRule, unit: Unit, refs: Sequence[RingRef]) -> Unit:
    """Some rings of a weave where they lie, as a piece without repeats.

    Parameters
    ----------
    unit : one repeat, placed or settled
    refs : the rings, of any repeat
    """
    place = {ring.name: index for index, ring in enumerate(rule.rings)}
    at = np.array([place[ref.name] for ref in refs])
    images = np.array([ref.image for ref in refs], np.intp)
    rings = unit.rings
    centres, axes = carried(rings.centres[at], rings.axes[at], images, unit.lattice)
    return Unit(
        Rings(centres, axes, rings.core_radii[at], rings.wire_radii[at]),
        ALONE,
    )


def rule_links(rule: WeaveRule | StepsRule) -> dict[LinkKey, str]:
    """The links a rule lists, each with how one would say it."""
    rings, place = rule.rings, ring_places(rule)
    listed = {}
    for link in rule.links:
        i, j, image = link_key(place, link.first, link.second, rule.around)
        listed[i, j, image] = f"{rings[i].name} and {rings[j].name}{_where(image)}"
    return listed


def ring_places(rule: WeaveRule | StepsRule) -> dict[str, int]:
    """The place of every ring of a rule in its units, by name."""
    rings: tuple[RuleRing | StepsRing, ...] = rule.rings
    return {ring.name: index for index, ring in enumerate(rings)}


def link_key(place: Mapping[str, int], one: RingRef, other: RingRef, around: int) -> LinkKey:
    """The one way in which a unit names a pair of rings.

    Parameters
    ----------
    place : of every ring in the rule
    around : units that close a tube, 1 for other weaves
    """
    i, j = place[one.name], place[other.name]
    image = _wrapped((other.image[0] - one.image[0], other.image[1] - one.image[1]), around)
    back = _wrapped((-image[0], -image[1]), around)
    if image < (0, 0) or (image in ((0, 0), back) and i > j):
        return j, i, back
    return i, j, image


def _wrapped(image: Image, around: int) -> Image:
    return wrapped(image, around) if around > 1 else image


def _where(image: Image) -> str:
    """How one would say which repeat an image is."""
    if image == (0, 0):
        return ""
    if image == (1, 0):
        return " of the next repeat"
    return f" of image {list(image)}" if image[1] else f" {image[0]} repeats on"


def linked_pairs(unit: Unit) -> dict[LinkKey, int]:
    """Signed linking number of every pair of rings of a unit that is linked."""
    bare = unit.rings.with_wire_radii(np.zeros(len(unit.rings.centres)))
    pairs = close_pairs(bare, 0.0, unit.lattice)
    numbers = linking(unit.rings, pairs, unit.lattice)
    around = unit.lattice.around
    found = {}
    for i, j, image, number in zip(
        pairs.first.tolist(), pairs.second.tolist(), pairs.image.tolist(), numbers, strict=True
    ):
        # Half way round a tube, an image is its own opposite: keep one of the two ways.
        half = around > 1 and image[0] == 0 and 2 * image[1] == around
        if number and not (half and i > j):
            found[i, j, (image[0], image[1])] = int(number)
    return found


def _check_apart(rule: WeaveRule, unit: Unit) -> None:
    """Core circles that meet could come apart either way, over or under each other."""
    bare = unit.rings.with_wire_radii(np.zeros(len(unit.rings.centres)))
    pairs = close_pairs(bare, _MEETING, unit.lattice)
    found = contacts(bare, pairs, unit.lattice, _MEETING)
    for i, j, image in zip(
        found.pairs.first, found.pairs.second, found.pairs.image.tolist(), strict=True
    ):
        pair = f"{rule.rings[i].name} and {rule.rings[j].name}{_where((image[0], image[1]))}"
        raise BadInput(
            f"{rule.path}: ring: rings {pair} meet in the rough placement, so it is open which "
            "lies over the other; move them apart by a hundredth of a core radius or more."
        )


def _check_links(rule: WeaveRule, unit: Unit) -> None:
    listed, found = rule_links(rule), linked_pairs(unit)
    for key, said in listed.items():
        if key not in found:
            raise BadInput(
                f"{rule.path}: link: rings {said} are listed as linked, but in the rough "
                "placement they do not run through one another; move one of them so that its "
                "wire passes through the other's eye."
            )
    for i, j, image in found:
        if (i, j, image) not in listed:
            pair = f"{rule.rings[i].name} and {rule.rings[j].name}{_where(image)}"
            raise BadInput(
                f"{rule.path}: ring: rings {pair} run through one another in the rough "
                "placement, but the rule lists no such link; move them apart or list it."
            )


def _check_lay(rule: WeaveRule, unit: Unit) -> None:
    if trouble := against(rule, unit):
        raise BadInput(
            f"{rule.path}: {trouble} in the rough placement; move the ring or correct the step."
        )


def check_kept(unit: Unit, expected: dict[LinkKey, int]) -> None:
    """A last look that settling changed no link; it cannot, so this failing is a defect."""
    if linked_pairs(unit) != expected:
        raise RuntimeError("settling changed which rings are linked; please report this size")
