"""Telling lays apart: which placements with the same links are the same weave.

Rings cannot pass through one another, so placements with the same links fall into sets
that no motion joins: the lays, which differ in what lies over what. Two placements are
taken for one lay when their signed links agree and they come to the same tightest ring
and the same longest repeat, or to each other's mirror image. A lay is handed when at its
tightest its contacts are not those of its mirror image, and the contact solver, which
lets no ring pass another, does not move hair-thin rings from the one into the other (if
it does, that proves them one lay). Lengths are in units of the core radius.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import rotations
from ringwright.solver.certify import certify
from ringwright.solver.climb import Unit, climb, farthest, longest, nearest_to, thickest
from ringwright.solver.passing import relations
from ringwright.solver.placement import LinkKey, link_key, linked_pairs, ring_places
from ringwright.weaves.rule import RingRef, StepsRule, WeaveRule

# Tightest rings and repeats that differ by less are the same.
_SAME_RATIO, _SAME_REPEAT = 2e-3, 5e-3
_SAME_CONTACT = 0.03
# Wire in which one placement is moved into another.
_THREAD = 1e-3
_ARRIVED = 1e-3
# Beyond so many half-made ways to rename rings, the rest is not looked at.
_MOST_PARTIAL = 200


@dataclass(frozen=True, eq=False)
class Lay:
    """A placement grown to its tightest.

    Attributes
    ----------
    unit : the rings in that state
    aspect_ratio : of the main ring there
    repeat : the longest in four fifths of that wire; 0 for a piece without repeats
    signs : how many closed threes and fours of linked rings a unit has in which the
        product of the linking numbers is positive, and in which it is negative:
        positive threes, negative threes, positive fours, negative fours. No motion
        changes these, nor which way round the axes are taken; a mirror swaps the threes
    """

    unit: Unit
    aspect_ratio: float
    repeat: float
    signs: tuple[int, int, int, int]


def grown(start: Unit, main: int) -> Lay:
    """A placement with its wire grown as thick as it gets.

    Parameters
    ----------
    start : the rings, in wire as thin as they leave room for
    main : a ring of the main size
    """
    end = climb(start, thickest(start), tolerance=1e-9).unit
    ratio = float(end.rings.core_radii[main] / end.rings.wire_radii[main]) - 1.0
    repeat = 0.0
    if len(end.lattice.values):
        roomy = end.with_wire_radii(0.8 * end.rings.wire_radii)
        repeat = climb(roomy, longest(roomy), rounds=80, tolerance=1e-8).unit.repeat
    return Lay(end, ratio, repeat, signed_cycles(end))


def signed_cycles(unit: Unit) -> tuple[int, int, int, int]:
    """How many signed threes and fours a unit has; see :class:`Lay`."""
    around = unit.lattice.around
    near: dict[int, list[tuple[int, int, int, int]]] = {}
    for (i, j, (k1, k2)), sign in linked_pairs(unit).items():
        near.setdefault(i, []).append((j, k1, k2, sign))
        near.setdefault(j, []).append((i, -k1, -k2, sign))

    def beside(ring: tuple[int, int, int]) -> list[tuple[tuple[int, int, int], int]]:
        which, k1, k2 = ring
        return [
            ((j, k1 + d1, (k2 + d2) % around if around > 1 else k2 + d2), sign)
            for j, d1, d2, sign in near.get(which, ())
        ]

    counts = {(length, sign): 0 for length in (3, 4) for sign in (1, -1)}
    for start in range(len(unit.rings.centres)):
        home = (start, 0, 0)
        walks: list[tuple[tuple[tuple[int, int, int], ...], int]] = [((home,), 1)]
        for length in (2, 3, 4):
            walks = [
                ((*walk, ring), product * sign)
                for walk, product in walks
                for ring, sign in beside(walk[-1])
                if ring not in walk
            ]
            if length == 2:
                continue
            for walk, product in walks:
                for ring, sign in beside(walk[-1]):
                    if ring == home:
                        counts[length, product * sign] += 1
    # Every three was walked from each of its rings both ways round, and so was every four.
    return (
        counts[3, 1] // 6,
        counts[3, -1] // 6,
        counts[4, 1] // 8,
        counts[4, -1] // 8,
    )


def ties(rule: WeaveRule | StepsRule) -> tuple[tuple[LinkKey, LinkKey, int], ...]:
    """Pairs of links that have one sign (1) or opposite signs (-1), as a rule's steps say.

    The signs are those of rings whose axes point to their upper sides, or to the sides from
    which a pair is seen to overlap.
    """
    place = ring_places(rule)
    return tuple(
        (
            link_key(place, relation.ring, relation.one, rule.around),
            link_key(place, relation.ring, relation.other, rule.around),
            1 if relation.alike else -1,
        )
        for relation in relations(rule)
    )


def agrees(rule: WeaveRule | StepsRule, unit: Unit) -> bool:
    """Whether a unit's rings pass one another as a rule's steps say, however they lie.

    Two rings that are said to pass the same two others have to pass them alike or not as the
    steps have it. Nothing is asked where the steps speak of one ring alone.
    """
    signs = linked_pairs(unit)
    place = ring_places(rule)
    passed: dict[tuple[RingRef, RingRef], set[int]] = defaultdict(set)
    for relation in relations(rule):
        product = 1 if relation.alike else -1
        for ref in (relation.one, relation.other):
            product *= signs.get(link_key(place, relation.ring, ref, rule.around), 0)
        passed[relation.one, relation.other].add(product)
    return all(len(products) == 1 and 0 not in products for products in passed.values())


def mirrored(unit: Unit) -> Unit:
    """The unit seen in a mirror that lies on the table."""
    flip = np.array([1.0, 1.0, -1.0])
    rings, lattice = unit.rings, unit.lattice
    values = lattice.values.copy()
    if lattice.kind.turns:
        values[1] = -values[1]
    turned = Rings(rings.centres * flip, rings.axes * flip, rings.core_radii, rings.wire_radii)
    return Unit(turned, lattice.with_values(values))


def mirrored_lay(lay: Lay) -> Lay:
    """The other hand of a lay."""
    plus3, minus3, plus4, minus4 = lay.signs
    return Lay(mirrored(lay.unit), lay.aspect_ratio, lay.repeat, (minus3, plus3, plus4, minus4))


def same_lay(one: Lay, other: Lay) -> bool:
    """Whether two placements are taken for one lay, in either hand where it has two."""
    return any(
        one.signs == hand.signs
        and abs(one.aspect_ratio - hand.aspect_ratio) < _SAME_RATIO
        and abs(one.repeat - hand.repeat) < _SAME_REPEAT
        for hand in (other, mirrored_lay(other))
    )


def is_handed(lays: Sequence[Lay]) -> bool:
    """Whether a lay is another than its mirror image, as far as can be found out.

    Parameters
    ----------
    lays : placements of the lay; one that looks like its mirror image settles it
    """
    first, other = lays[0], mirrored_lay(lays[0])
    if first.signs != other.signs:
        return True
    if any(_same_contacts(_contacts(lay.unit), _contacts(mirrored(lay.unit))) for lay in lays):
        return False
    return not _moves_into(first, other)


def _contacts(unit: Unit) -> Floats:
    """What the contacts that carry force look like, (m, 4), whatever the frame and the names.

    Distance of the centres, how parallel the axes are, and two figures that a mirror
    turns into their negatives: how the axes are twisted about the line of centres, and
    to which side of it the contact lies.
    """
    held = certify(unit, thickest(unit))
    keep = held.forces > 1e-3 * held.forces.max(initial=0.0)
    pairs, rings = held.pairs.of(keep), unit.rings
    i, j = pairs.first, pairs.second
    centres, axes = carried(rings.centres[j], rings.axes[j], pairs.image, unit.lattice)
    line = centres - rings.centres[i]
    parallel = np.einsum("mi,mi->m", rings.axes[i], axes)
    twist = np.einsum("mi,mi->m", line, np.cross(rings.axes[i], axes)) * parallel
    lean = np.einsum("mi,mi->m", rings.axes[i], line) * np.einsum("mi,mi->m", axes, line)
    # Leaning the same way or not is the same in a mirror; twist tells the hands apart.
    return np.stack([np.linalg.norm(line, axis=1), np.abs(parallel), lean * parallel, twist], 1)


def _same_contacts(one: Floats, other: Floats) -> bool:
    """Whether two lists of contacts are the same but for their order."""
    from scipy.optimize import linear_sum_assignment

    if len(one) != len(other):
        return False
    apart = np.abs(one[:, None] - other[None]).max(axis=2)
    rows, columns = linear_sum_assignment(apart)
    return bool(apart[rows, columns].max(initial=0.0) < _SAME_CONTACT)


def _moves_into(one: Lay, other: Lay) -> bool:
    """Whether the solver, which lets no ring pass another, moves one into the other's place.

    Any ring may go to the place of any other, as long as the links stay what they are.
    """
    start, goal = _loosened(one.unit), _loosened(other.unit)
    if len(goal.lattice.values) and abs(start.repeat - goal.repeat) > 0.02 * goal.repeat:
        return False
    goal = Unit(goal.rings, start.lattice)
    return any(
        _arrives(start, turned)
        for names in relabellings(start)
        for turned in _ways_round(start, _relabelled(goal, names))
    )


# A ring for each ring, and the image that it is taken from.
Relabelling = tuple[tuple[int, tuple[int, int]], ...]


def relabellings(unit: Unit, most: int = 6) -> list[Relabelling]:
    """Ways to call the rings by each other's names without changing what is linked.

    A captive ring, through which no other goes, keeps its name and moves along with the others.

    Parameters
    ----------
    most : at most so many, the one that changes nothing among them first
    """
    around, radii = unit.lattice.around, unit.rings.core_radii
    near: dict[int, set[tuple[int, int, int]]] = {i: set() for i in range(len(radii))}
    for i, j, (k1, k2) in linked_pairs(unit):
        near[i].add((j, k1, k2 % around if around > 1 else k2))
        near[j].add((i, -k1, -k2 % around if around > 1 else -k2))

    def moved(to: dict[int, tuple[int, int, int]], i: int) -> set[tuple[int, int, int]]:
        """The neighbours of ring i under their new names, seen from its own new place."""
        _, a1, a2 = to[i]
        found = set()
        for j, k1, k2 in near[i]:
            name, b1, b2 = to[j]
            across = k2 + b2 - a2
            found.add((name, k1 + b1 - a1, across % around if around > 1 else across))
        return found

    def with_captives(to: dict[int, tuple[int, int, int]]) -> dict[int, tuple[int, int, int]]:
        along = round(float(np.mean([a1 for _, a1, _ in to.values()])))
        across = round(float(np.mean([a2 for _, _, a2 in to.values()])))
        return to | {i: (i, along, across) for i in near if not near[i]}

    found: list[Relabelling] = []
    linked = [i for i in near if near[i]]
    for first in linked:
        partial = [{linked[0]: (first, 0, 0)}]
        # Go out along the links from the first ring, trying all names that fit so far.
        for _ in linked[1:]:
            grown_on = []
            for to in partial[:_MOST_PARTIAL]:
                step = next((p, link) for p in to for link in sorted(near[p]) if link[0] not in to)
                parent, (ring, k1, k2) = step
                name, a1, a2 = to[parent]
                for other, m1, m2 in sorted(near[name]):
                    if other in [taken for taken, _, _ in to.values()]:
                        continue
                    grown_on.append({**to, ring: (other, a1 + m1 - k1, a2 + m2 - k2)})
            partial = grown_on
        for to in map(with_captives, partial):
            same_size = all(radii[i] == radii[to[i][0]] for i in to)
            if same_size and all(moved(to, i) == near[to[i][0]] for i in to):
                found.append(tuple((to[i][0], to[i][1:]) for i in range(len(radii))))
    same = tuple((i, (0, 0)) for i in range(len(radii)))
    return [same, *(names for names in found if names != same)][:most]


def _relabelled(unit: Unit, names: Relabelling) -> Unit:
    """The unit with every ring in the place that another had."""
    at = np.array([ring for ring, _ in names])
    images = np.array([image for _, image in names], np.intp)
    rings = unit.rings
    centres, axes = carried(rings.centres[at], rings.axes[at], images, unit.lattice)
    return Unit(Rings(centres, axes, rings.core_radii[at], rings.wire_radii[at]), unit.lattice)


def _loosened(unit: Unit) -> Unit:
    """In hair-thin wire, pulled straight and let out a little."""
    wire = unit.rings.wire_radii
    thin = unit.with_wire_radii(wire * (_THREAD / wire.max()))
    if not len(unit.lattice.values):
        return thin
    pulled = climb(thin, longest(thin), rounds=60, tolerance=1e-6).unit
    return climb(pulled, farthest(pulled, 0, -1.0), enough=-0.96 * pulled.repeat, rounds=40).unit


def _ways_round(start: Unit, goal: Unit) -> list[Rings]:
    """The goal shifted onto the start, and turned about its length where that is free."""
    rings = goal.rings
    centres = rings.centres + (start.rings.centres - rings.centres).mean(axis=0)
    turns = np.linspace(0.0, 1.5 * np.pi, 4)
    if not goal.lattice.kind.has_axis or goal.lattice.kind.closes:
        turns = turns[:1]
    middle = centres.mean(axis=0)
    ways = []
    for turn in rotations(np.array([1.0, 0.0, 0.0]), turns):
        axes = rings.axes @ turn.T
        # An axis and its opposite are one ring; the nearer of them is meant.
        opposite = np.einsum("ni,ni->n", axes, start.rings.axes) < 0.0
        axes = np.where(opposite[:, None], -axes, axes)
        ways.append(
            Rings((centres - middle) @ turn.T + middle, axes, rings.core_radii, rings.wire_radii)
        )
    return ways


def _arrives(start: Unit, target: Rings) -> bool:
    end = climb(start, nearest_to(target), rounds=40, tolerance=1e-5)
    return -nearest_to(target).value(end.unit) < _ARRIVED * len(target.centres)
