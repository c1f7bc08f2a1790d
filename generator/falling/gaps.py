"""All gaps of a whole piece that a step may close, as sparse rows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.falling.touches import Touches
from ringwright.geometry.contact import Pairs, Rings, close_pairs
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.linearise import (
    Rows,
    gap_bends,
    gap_rows,
    gap_slopes,
    joined,
    rows_along_valleys,
)

# Places of two looks that are as far apart, in core radii, are not the same one.
_SAME_PLACE = 0.5

# In a valley shallower than this the lowest point runs far for a small move, and soon faster or
# slower than now: it slides as in one of this depth, for rings that lie along each other as well.
_LEVEL = 1e-3
# A contact in a shallow valley, up to this gap, has rows at these angles beside it. Together they
# are a contact of some length: where one minimum is about to become two, the force's place along
# the ring goes as the cube root of the torque it has to hold, and no step along it would converge.
_TOUCHING = 1e-3
_ALONG = np.array([-0.02, -0.01, -0.005, 0.005, 0.01, 0.02])

# Images that rings of the unit can touch are nearer than so many along and across.
_FARTHEST_IMAGE = 1 << 10

# From the rings and the largest gap of interest to where rings are near what is no ring.
Support = Callable[[Rings, float], Touches]
# What is done to the blocks of second derivatives, (k, s, s) to the same shape.
Blocks = Callable[[Floats], Floats]


@dataclass(frozen=True, eq=False)
class Gaps:
    """Gaps between rings, and then those to supports.

    Attributes
    ----------
    rings : the rings
    lattice : how they repeat
    rows : places where two rings come near
    touches : for each support, places where a ring comes near it
    gap : (m,) all gaps
    key : (m,) a number for the two rings and the image, or below zero for the ring and the support
    place : (m,) the same, counted from 0 without holes: rows of one place speak for one another
    """

    rings: Rings
    lattice: Lattice
    rows: Rows
    touches: tuple[Touches, ...]
    gap: Floats
    key: Ints
    place: Ints

    def of_places(self, values: Floats) -> Floats:
        """The largest of some values of the rows at each place, zero at least."""
        largest = np.zeros(int(self.place.max(initial=-1)) + 1)
        np.maximum.at(largest, self.place, values)
        return largest

    @property
    def unknowns(self) -> int:
        """Five for each ring, and the lattice's values."""
        return 5 * len(self.rings.centres) + len(self.lattice.values)

    def overlap(self) -> float:
        """How deep the deepest overlap is, 0 where there is none."""
        return max(0.0, -float(self.gap.min(initial=0.0)))

    @cached_property
    def slides(self) -> Bools:
        """(m,) True where a row's place is free to slide, False where it is fixed on a ring."""
        return np.concatenate([self.rows.slides, *(part.slides for part in self.touches)])

    @cached_property
    def leads(self) -> Bools:
        """(m,) True where a row's place is free to slide, or no other one of its place is."""
        sliding = self.of_places(self.slides.astype(np.float64))
        return np.asarray(self.slides | (sliding[self.place] == 0.0))

    def again(self, before: Gaps, rows: Ints) -> Ints:
        """The rows of now that are those of an earlier look, at rings that have moved a little."""
        from scipy.spatial import cKDTree

        if not len(rows) or not len(self.gap):
            return np.zeros(0, np.intp)
        away, row = cKDTree(self._marks()).query(before._marks()[rows])
        return np.asarray(np.unique(row[away < _SAME_PLACE]), dtype=np.intp)

    def _marks(self) -> Floats:
        """Points that are far apart where rows are not of one kind and place."""
        point = np.concatenate([self.rows.point_first, *(part.point for part in self.touches)])
        return np.column_stack([point, 4 * _SAME_PLACE * self.slides, 4 * _SAME_PLACE * self.key])

    @cached_property
    def slopes(self) -> Any:
        """First derivatives of all gaps, a sparse (m, 5 n + p) matrix."""
        from scipy.sparse import csr_matrix

        between, columns = gap_slopes(self.rings, self.rows, self.lattice)
        parts = [(between, columns)]
        parts += [(part.slopes, part.columns()) for part in self.touches]
        data = np.concatenate([slopes.ravel() for slopes, _ in parts])
        column = np.concatenate([at.ravel() for _, at in parts])
        counts = np.concatenate([np.full(len(at), at.shape[1]) for _, at in parts])
        start = np.concatenate([[0], np.cumsum(counts)])
        slopes = csr_matrix((data, column, start), (len(self.gap), self.unknowns))
        # A ring and its own image share columns.
        slopes.sum_duplicates()
        return slopes

    def bend(self, forces: Floats, made: Blocks) -> Any:
        """Minus the sum of the second derivatives, each times its force: sparse, square.

        Parameters
        ----------
        forces : (m,)
        made : what is done to the block of each loaded gap first
        """
        from scipy.sparse import coo_matrix

        count = len(self.rows.gap)
        used = np.flatnonzero(forces[:count])
        local, columns = gap_bends(self.rings, self.rows.of(used), self.lattice, -_LEVEL, _LEVEL)
        parts = [(made(-forces[used, None, None] * local), columns)]
        for part in self.touches:
            force = forces[count : count + len(part.ring)]
            count += len(part.ring)
            used = np.flatnonzero(force)
            blocks = made(-force[used, None, None] * part.bends[used])
            parts.append((blocks, part.columns()[used]))
        data = np.concatenate([blocks.ravel() for blocks, _ in parts])
        row = np.concatenate([np.repeat(at, at.shape[1], axis=1).ravel() for _, at in parts])
        column = np.concatenate([np.tile(at, (1, at.shape[1])).ravel() for _, at in parts])
        return coo_matrix((data, (row, column)), (self.unknowns,) * 2).tocsc()


def gaps_of(
    rings: Rings,
    lattice: Lattice,
    supports: tuple[Support, ...],
    reach: float,
    *,
    to_rest: bool = True,
) -> Gaps:
    """All gaps of at most ``reach``.

    Parameters
    ----------
    rings : a whole piece or one unit, in units of the mean core radius
    lattice : how it repeats; images are only moved along what it may lie against
    supports : what it may lie against
    to_rest : with the rows along valleys that only the last steps to rest need
    """
    rows = gap_rows(rings, close_pairs(rings, reach, lattice), lattice, reach)
    if to_rest:
        close = rows.of(rows.slides & (rows.gap < _TOUCHING))
        rows = joined([rows, rows_along_valleys(rings, close, lattice, _ALONG)])
    touches = tuple(support(rings, reach) for support in supports)
    count = len(rings.centres)
    keys = [pair_numbers(rows.pairs, count)]
    keys += [-1 - number * count - part.ring for number, part in enumerate(touches)]
    key = np.concatenate(keys)
    _, place = np.unique(key, return_inverse=True)
    gap = np.concatenate([rows.gap, *(part.gap for part in touches)])
    return Gaps(rings, lattice, rows, touches, gap, key, place.ravel())


def pair_numbers(pairs: Pairs, count: int) -> Ints:
    """A number for each pair of ``count`` rings, the same for the same rings and image; (m,)."""
    k1, k2 = (pairs.image + _FARTHEST_IMAGE).T
    image = k1 * (2 * _FARTHEST_IMAGE) + k2
    return np.asarray((image * count + pairs.first) * count + pairs.second)


def free_columns(matrix: Any, free: Ints) -> Any:
    """Those columns of a sparse matrix that belong to unknowns that may change."""
    # Most often all may, and to pick them takes long.
    return matrix if len(free) == matrix.shape[1] else matrix[:, free]


def free_block(matrix: Any, free: Ints) -> Any:
    """The rows and columns of a sparse square matrix of unknowns that may change."""
    return matrix if len(free) == matrix.shape[1] else matrix[free][:, free]
