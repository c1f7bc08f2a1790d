"""Random placements of a unit's rings that have given links and no others.

The weave is known only by which rings are linked. Every two core circles have a signed
separation: their distance, counted negative while the pair is linked and should not be,
or is not and should be. It passes through zero just where two circles pass through each
other, which is where the linking number changes, so pushing every separation up to a
margin pulls missing links together and through, and wrong ones apart. Rings start at
random and are moved like that, with less and less noise, until all is right. Lengths
are in units of the main ring's core radius.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.contact import Contacts, Pairs, Rings, carried, contacts, linking
from ringwright.geometry.lattice import Lattice, rotations
from ringwright.geometry.lattice_kind import LatticeKind
from ringwright.geometry.vectors import cross
from ringwright.solver.climb import Unit
from ringwright.solver.placement import LinkKey

ROUNDS = 400
# Core circles are pushed at least so far apart, and at least so far apart is good enough.
_MARGIN, _ENOUGH = 0.3, 0.06
# No ring moves farther than this in a round, and so far at random in the first.
_FARTHEST, _NOISE = 0.15, 0.12
# A place where two circles should not pass counts as so much farther than it is.
_AVOIDED = 10.0
# A unit is never squeezed shorter than this along a vector of its lattice.
_SHORTEST = 0.6
# Images up to so many units away are looked at, by how many numbers tell them; farther ones only
# in the last check.
_LOOK = {0: (0, 0), 1: (3, 0), 2: (2, 2)}


@dataclass(frozen=True, eq=False)
class Pattern:
    """Which rings of a unit are to be linked.

    Attributes
    ----------
    core, wire : (n,) radii of the rings
    kind, around : of the lattice
    pairs : every pair looked at
    wanted : (m,) whether each is to be linked
    ties : pairs of places in ``pairs`` whose linking numbers are to have one sign (1) or
        opposite ones (-1), each ring's axis pointing to the side that counts as its upper one
    """

    core: Floats
    wire: Floats
    kind: LatticeKind
    around: int
    pairs: Pairs
    wanted: Bools
    ties: tuple[tuple[int, int, int], ...] = ()

    @functools.cached_property
    def tied_signs(self) -> tuple[tuple[Ints, Ints], ...]:
        """The links that are tied to one another, and one of the two sets of signs they may have.

        Of ties that contradict each other the first ones count.
        """
        signs: dict[int, int] = {}
        groups: list[list[int]] = []
        for first, *_ in self.ties:
            if first in signs:
                continue
            group, signs[first] = [first], 1
            for at in group:  # grows while it is walked
                for one, other, sign in self.ties:
                    there = other if one == at else one if other == at else None
                    if there is not None and there not in signs:
                        signs[there] = sign * signs[at]
                        group.append(there)
            groups.append(group)
        return tuple(
            (np.array(group, np.intp), np.array([signs[at] for at in group], np.intp))
            for group in groups
        )


def pattern(
    radii: tuple[Floats, Floats],
    lattice: tuple[LatticeKind, int],
    links: set[tuple[int, int, tuple[int, int]]],
    ties: Sequence[tuple[LinkKey, LinkKey, int]] = (),
) -> Pattern:
    """The pattern of some links.

    Parameters
    ----------
    radii : (n,) core radii and (n,) wire radii
    lattice : its kind, and how many units close it around
    links : as in :mod:`ringwright.solver.placement`: the second ring stands in that image
    ties : links with one sign or with opposite ones, as ``search.lays.ties`` tells them
    """
    (core, wire), (kind, around) = radii, lattice
    count = len(core)
    far1, far2 = _LOOK[kind.image_numbers]
    far1 = max([far1, *(abs(k1) for _, _, (k1, _) in links)])
    images = [
        (k1, k2)
        for k1 in range(far1 + 1)
        for k2 in range(-far2, far2 + 1)
        if (k1, k2) >= (0, 0) and (around == 1 or -around < 2 * k2 <= around)
    ]
    rows = [
        (i, j, image)
        for image in images
        for i in range(count)
        for j in range(count)
        if image != (0, 0) or i < j
    ]
    pairs = Pairs(
        np.array([i for i, _, _ in rows], np.intp),
        np.array([j for _, j, _ in rows], np.intp),
        np.array([image for _, _, image in rows], np.intp).reshape(-1, 2),
    )
    wanted = np.array([row in links for row in rows])
    at = {row: place for place, row in enumerate(rows)}
    tied = tuple((at[one], at[other], sign) for one, other, sign in ties)
    return Pattern(core, wire, kind, around, pairs, wanted, tied)


def embedded(want: Pattern, seed: int) -> Unit | None:
    """A random unit with the links of a pattern, its wire hair-thin; None if this seed fails.

    The same seed gives the same unit.
    """
    random = np.random.default_rng(seed)
    unit = _scattered(want, random)
    for done in range(ROUNDS):
        separation, away = _separations(want, unit)
        right = separation >= _ENOUGH
        if right.all() and (separation >= _MARGIN).all():
            return unit
        if right.all() and done > ROUNDS // 2:
            return unit
        noise = _NOISE * max(0.0, 1.0 - 2.0 * done / ROUNDS)
        unit = _pushed(unit, away, noise, random)
    return None


def _scattered(want: Pattern, random: np.random.Generator) -> Unit:
    """Rings strewn anywhere over a unit of any length."""
    count = len(want.core)
    spread = 0.6 * (1.0 + count / 6.0)
    # Rather too long than too short: crumpled units come out as lays nobody would weave.
    length = random.uniform(2.0, 4.0)
    lattice = _random_lattice(want, length, random)
    centres = random.normal(scale=spread, size=(count, 3))
    if want.kind.repeats:
        centres[:, 0] = random.uniform(0.0, length, count)
    if want.kind.has_rows:
        centres[:, 1] = random.uniform(0.0, lattice.values[2], count)
        centres[:, 2] *= 0.4
    if want.kind.closes:
        # Far enough out that the units around the axis have room beside each other.
        centres[:, 1] += 1.2 * want.around / (2 * np.pi) + 0.5
    axes = random.normal(size=(count, 3))
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    return Unit(Rings(centres, axes, want.core, want.wire), lattice)


def _random_lattice(want: Pattern, length: float, random: np.random.Generator) -> Lattice:
    """A lattice of this repeat, turned or with its second vector by chance."""
    # All are drawn, whatever the kind: then a seed strews the rings of every kind alike.
    turn, turn_of_tube = random.uniform(-np.pi, np.pi, 2)
    along, across = random.uniform(-0.5, 0.5) * length, random.uniform(1.0, 3.0)
    values = [length] * want.kind.repeats
    if want.kind.has_rows:
        values += [along, across]
    if want.kind.turns:
        values.append(turn_of_tube / want.around if want.kind.closes else turn)
    return Lattice(want.kind, np.array(values), around=want.around)


@dataclass(frozen=True, eq=False)
class _Away:
    """Pushes: at these points of both rings, along ``push`` on the second and back on the first."""

    pairs: Pairs
    first: Floats
    second: Floats
    push: Floats


def _separations(want: Pattern, unit: Unit) -> tuple[Floats, _Away]:
    """The signed separation of every pair that counts, and the pushes that better them."""
    rings, lattice = unit.rings.with_wire_radii(np.zeros(len(want.core))), unit.lattice
    there, _ = carried(
        rings.centres[want.pairs.second],
        rings.axes[want.pairs.second],
        want.pairs.image,
        lattice,
    )
    apart = np.linalg.norm(there - rings.centres[want.pairs.first], axis=1)
    reach = want.core[want.pairs.first] + want.core[want.pairs.second] + _MARGIN
    rows = np.flatnonzero(want.wanted | (apart < reach))
    pairs = want.pairs.of(rows)
    found = contacts(rings, pairs, lattice)
    code = _code(pairs, len(want.core))
    order = np.argsort(code)
    row = order[np.searchsorted(code[order], _code(found.pairs, len(want.core)))]
    numbers = linking(rings, pairs, lattice)
    told = _told(want, rows, numbers)
    right = np.where(told != 0, numbers == told, (numbers != 0) == want.wanted[rows])
    # Of the places where two circles come near, the nearest one; where they are to be linked in
    # one sense, one where passing through makes for that. Two linked in the other sense have to
    # slide across each other, so that they part at the far place and are linked anew there.
    turned = found.gap.copy()
    if told.any():
        wrong = (told * numbers < 0)[row]
        turned[wrong] *= -1.0
        makes = _change_by_passing(rings, lattice, found)
        turned[((told - numbers)[row] * makes < 0) & ~right[row]] += _AVOIDED
    nearest, least = np.full((2, len(rows)), np.inf)
    np.minimum.at(nearest, row, found.gap)
    np.minimum.at(least, row, turned)
    best = np.flatnonzero(turned == least[row])
    _, only = np.unique(row[best], return_index=True)
    best = best[only]
    at = row[best]
    separation = np.where(right, nearest, -nearest)
    lacking = np.clip(_MARGIN - separation[at], 0.0, 2.0)
    line = found.point_second[best] - found.point_first[best]
    line /= np.maximum(found.gap[best], 1e-9)[:, None]
    push = np.where(right[at], 1.0, -1.0)[:, None] * lacking[:, None] * line
    moved = lacking > 0.0
    return separation, _Away(
        pairs.of(at[moved]),
        found.point_first[best][moved],
        found.point_second[best][moved],
        push[moved],
    )


def _told(want: Pattern, rows: Ints, numbers: Ints) -> Ints:
    """The linking number that each pair is to have: 0 for those not linked or left free.

    Links that are tied to one another have one of two sets of signs: the one that most of them
    have already.

    Parameters
    ----------
    rows : (r,) the pairs by their places in the pattern
    numbers : (r,) their linking numbers now
    """
    if not want.ties:
        return np.zeros_like(numbers)
    now = np.zeros(len(want.wanted), np.intp)
    now[rows] = numbers
    told = np.zeros(len(want.wanted), np.intp)
    for group, signs in want.tied_signs:
        told[group] = signs if now[group] @ signs >= 0 else -signs
    return told[rows]


def _change_by_passing(rings: Rings, lattice: Lattice, found: Contacts) -> Floats:
    """What linking numbers would change by, were two circles to pass where they come near: +-1.

    The sign is that of the triple product of both tangents and the way from one to the other.
    """
    first, second = found.pairs.first, found.pairs.second
    centres, axes = carried(rings.centres[second], rings.axes[second], found.pairs.image, lattice)
    one = cross(rings.axes[first], found.point_first - rings.centres[first])
    other = cross(axes, found.point_second - centres)
    way = found.point_second - found.point_first
    return np.asarray(np.sign(np.einsum("mi,mi->m", cross(one, other), way)))


def _code(pairs: Pairs, count: int) -> Ints:
    """One number for each pair."""
    code = (pairs.image[:, 0] + 64) * 128 + pairs.image[:, 1] + 64
    return np.asarray((code * count + pairs.first) * count + pairs.second)


def _pushed(unit: Unit, away: _Away, noise: float, random: np.random.Generator) -> Unit:
    """The unit after every push has had its say, and a little chance."""
    rings, lattice = unit.rings, unit.lattice
    count = len(rings.centres)
    shift, turn = np.zeros((count, 3)), np.zeros((count, 3))
    pushes = np.zeros(count)
    i, j = away.pairs.first, away.pairs.second
    np.add.at(shift, i, -away.push)
    np.add.at(turn, i, cross(away.first - rings.centres[i], -away.push))
    rotated, moved = lattice.motion(away.pairs.image)
    # What is done to a ring in an image is done to the ring itself, turned back.
    back = np.einsum("mji,mj->mi", rotated, away.push)
    point = np.einsum("mji,mj->mi", rotated, away.second - moved)
    np.add.at(shift, j, back)
    np.add.at(turn, j, cross(point - rings.centres[j], back))
    np.add.at(pushes, i, 1.0)
    np.add.at(pushes, j, 1.0)
    share = 0.5 / np.maximum(pushes, 1.0)[:, None]
    shift = _limited(share * shift) + noise * random.normal(size=(count, 3)) / 2
    turn = _limited(share * turn / rings.core_radii[:, None] ** 2)
    turn += noise * random.normal(size=(count, 3))
    angle = np.linalg.norm(turn, axis=1)
    axes = rings.axes.copy()
    for ring in np.flatnonzero(angle):
        about = turn[ring] / angle[ring]
        axes[ring] = rotations(about, angle[ring : ring + 1])[0] @ axes[ring]
    values = lattice.values.copy()
    if len(values) and len(i):
        drift = lattice.drift(away.pairs.image)
        speed = drift[:, :, :3] + cross(drift[:, :, 3:], away.second[:, None, :])
        work = np.einsum("mpi,mi->mp", speed, away.push)
        weight = np.maximum((speed**2).sum(axis=2).sum(axis=0), 1.0)
        values = values + np.clip(0.5 * work.sum(axis=0) / weight, -_FARTHEST, _FARTHEST)
        values = _kept_open(lattice.kind, values)
    return Unit(
        Rings(rings.centres + shift, axes, rings.core_radii, rings.wire_radii),
        lattice.with_values(values),
    )


def _kept_open(kind: LatticeKind, values: Floats) -> Floats:
    """A lattice's values with no vector too short, and a sheet's rows beside each other."""
    values = values.copy()
    for place in kind.distances:
        values[place] = max(values[place], _SHORTEST)
    return values


def _limited(steps: Floats) -> Floats:
    """Steps (n, 3), none longer than a ring may go in a round."""
    size = np.linalg.norm(steps, axis=1)[:, None]
    return np.asarray(steps * np.minimum(1.0, _FARTHEST / np.maximum(size, 1e-12)))
