"""The gaps of several units looked at together, for the price of little more than one.

An operation on the arrays of one small unit takes hardly less than on those of ten, so units that
move side by side are looked at as one long list of rings. What is found for each is what
:mod:`ringwright.geometry.linearise` finds for it alone.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.contact import Pairs, Rings, carried, close_pairs
from ringwright.geometry.lattice import Images, Lattice, Lattices
from ringwright.geometry.linearise import Rows, gap_bends, gap_rows, gap_slopes, row_columns
from ringwright.geometry.vectors import lengths

# Larger units are each looked through by themselves.
_MOST_RINGS = 60


@dataclass(frozen=True, eq=False)
class SeenGaps:
    """The rows of one unit, with their slopes.

    Attributes
    ----------
    rows : as of :func:`ringwright.geometry.linearise.gap_rows`
    slopes, columns : as of :func:`ringwright.geometry.linearise.gap_slopes`
    centres : (m, 3) of the second rings, where they stand in their images
    drifts : (m, p, 6) how these images move, as of ``drift`` of a lattice
    """

    rows: Rows
    slopes: Floats
    columns: Ints
    centres: Floats
    drifts: Floats


Unit = tuple[Rings, Lattice]


def gaps_seen(units: Sequence[Unit], reach: Sequence[float]) -> list[SeenGaps]:
    """The rows of every unit and their slopes.

    Parameters
    ----------
    units : rings and lattice of each; the lattices all of one kind
    reach : the largest gap of interest in each
    """
    if len(units) == 1:
        ((rings, lattice),) = units
        rows = gap_rows(rings, close_pairs(rings, reach[0], lattice), lattice, reach[0])
        return [SeenGaps(rows, *gap_slopes(rings, rows, lattice), *_stand(rings, rows, lattice))]
    joined = _joined(units)
    far = np.array(reach)
    pairs = joined.close_pairs(units, far)
    rows = gap_rows(joined.rings, pairs, joined.lattice, far[pairs.image[:, 2]])
    slopes, _ = gap_slopes(joined.rings, rows, joined.lattice)
    member = rows.pairs.image[:, 2]
    # Those of one unit behind one another, in the order that they have.
    order = np.argsort(member, kind="stable")
    ends = np.cumsum(np.bincount(member, minlength=len(units)))
    rows, slopes = rows.of(order), slopes[order]
    centres, drifts = _stand(joined.rings, rows, joined.lattice)
    columns = joined.columns(rows)
    found = []
    for number in range(len(units)):
        part = slice(ends[number - 1] if number else 0, ends[number])
        own = joined.own(rows.of(part), number)
        found.append(SeenGaps(own, slopes[part], columns[part], centres[part], drifts[part]))
    return found


def _stand(rings: Rings, rows: Rows, lattice: Images) -> tuple[Floats, Floats]:
    """Where the second rings of rows stand, and how their images move."""
    j = rows.pairs.second
    centres, _ = carried(rings.centres[j], rings.axes[j], rows.pairs.image, lattice)
    return centres, lattice.drift(rows.pairs.image)


def bends_seen(units: Sequence[Unit], rows: Sequence[Rows]) -> list[tuple[Floats, Ints]]:
    """What :func:`ringwright.geometry.linearise.gap_bends` gives for some rows of every unit."""
    if not units:
        return []
    if len(units) == 1:
        ((rings, lattice),) = units
        return [gap_bends(rings, rows[0], lattice)]
    joined = _joined(units)
    every = joined.rows(rows)
    local, _ = gap_bends(joined.rings, every, joined.lattice)
    ends = np.cumsum([len(part.gap) for part in rows])[:-1]
    return list(zip(np.split(local, ends), np.split(joined.columns(every), ends), strict=True))


@dataclass(frozen=True, eq=False)
class _Joined:
    """The rings of all units as one list; ``first`` is where those of each begin."""

    rings: Rings
    lattice: Lattices
    first: Ints

    def close_pairs(self, units: Sequence[Unit], reach: Floats) -> Pairs:
        """Those that :func:`ringwright.geometry.contact.close_pairs` finds of every unit."""
        counts = [len(rings.centres) for rings, _ in units]
        if max(counts) > _MOST_RINGS:
            each = [
                close_pairs(rings, float(far), lattice)
                for (rings, lattice), far in zip(units, reach, strict=True)
            ]
            return self.pairs(each)
        bound = self.rings.core_radii + self.rings.wire_radii
        widest = 2.0 * np.maximum.reduceat(bound, self.first) + reach
        images = self._images(widest)
        sizes = zip(counts, np.bincount(images[:, 2]).tolist(), strict=True)
        tried = [_combinations(*size) for size in sizes]
        member = np.repeat(np.arange(len(units)), [len(one[0]) for one in tried])
        firsts = np.concatenate([[0], np.cumsum(np.bincount(images[:, 2]))[:-1]])
        first, place, second = (
            np.concatenate(part) + shift[member]
            for part, shift in zip(
                zip(*tried, strict=True), (self.first, firsts, self.first), strict=True
            )
        )
        turn, shift = self.lattice.motion(images)
        there = np.einsum("mij,mj->mi", turn[place], self.rings.centres[second]) + shift[place]
        apart = lengths(self.rings.centres[first] - there)
        near = np.flatnonzero(apart <= bound[first] + bound[second] + reach[member])
        return Pairs(first[near], second[near], images[place[near]])

    def _images(self, widest: Floats) -> Ints:
        """Every unit's images that matter, as of ``images_near``, one unit's after the other's."""
        centres = self.rings.centres
        counts = np.diff(np.append(self.first, len(centres)))
        low, high = (one.reduceat(centres, self.first) for one in (np.minimum, np.maximum))
        middle = 0.5 * (low + high)
        away = lengths(centres - np.repeat(middle, counts, axis=0))
        radius = np.maximum.reduceat(away, self.first)
        each = self.lattice.images_near(middle, radius, widest)
        member = np.repeat(np.arange(len(each)), [len(own) for own in each])
        return np.column_stack([np.concatenate(each), member])

    def pairs(self, each: Sequence[Pairs]) -> Pairs:
        """The pairs of all units, as pairs of the one list."""
        member = np.repeat(np.arange(len(each)), [len(pairs.first) for pairs in each])
        shift = self.first[member]
        return Pairs(
            np.concatenate([pairs.first for pairs in each]) + shift,
            np.concatenate([pairs.second for pairs in each]) + shift,
            np.column_stack([np.concatenate([pairs.image for pairs in each]), member]),
        )

    def rows(self, each: Sequence[Rows]) -> Rows:
        """The rows of all units, as rows of the one list."""
        return Rows(
            self.pairs([rows.pairs for rows in each]),
            np.concatenate([rows.gap for rows in each]),
            np.concatenate([rows.point_first for rows in each]),
            np.concatenate([rows.point_second for rows in each]),
            np.concatenate([rows.slides for rows in each]),
        )

    def columns(self, rows: Rows) -> Ints:
        """As of :func:`ringwright.geometry.linearise.gap_slopes`, of each row's own unit."""
        member = rows.pairs.image[:, 2]
        counts = np.diff(np.append(self.first, len(self.rings.centres)))
        columns = row_columns(self.rings, rows, self.lattice)
        columns[:, :10] -= 5 * self.first[member, None]
        columns[:, 10:] = 5 * counts[member, None] + np.arange(self.lattice.count)
        return columns

    def own(self, rows: Rows, number: int) -> Rows:
        """Rows of the one list as those of the unit that they belong to."""
        shift, pairs = self.first[number], rows.pairs
        own = Pairs(pairs.first - shift, pairs.second - shift, pairs.image[:, :2])
        return Rows(own, rows.gap, rows.point_first, rows.point_second, rows.slides)


@functools.cache
def _combinations(rings: int, images: int) -> tuple[Ints, Ints, Ints]:
    """Every ring with every ring of every image, each pair once: first, image and second."""
    first, place, second = (
        part.ravel() for part in np.indices((rings, images, rings), dtype=np.intp)
    )
    once = (place > 0) | (first < second)
    return first[once], place[once], second[once]


def _joined(units: Sequence[Unit]) -> _Joined:
    every = [rings for rings, _ in units]
    counts = [len(rings.centres) for rings in every]
    rings = Rings(
        np.concatenate([rings.centres for rings in every]),
        np.concatenate([rings.axes for rings in every]),
        np.concatenate([rings.core_radii for rings in every]),
        np.concatenate([rings.wire_radii for rings in every]),
    )
    first = np.cumsum([0, *counts[:-1]])
    return _Joined(rings, Lattices(tuple(lattice for _, lattice in units)), first)
