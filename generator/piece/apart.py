"""Rings of a piece moved by as little as takes them out of each other and out of an oval.

In each round a small sparse quadratic programme asks for the least motion that closes every overlap
to first order, as :mod:`ringwright.solver.climb` does for a unit. Rings that touch in curved places
overlap again by the square of the motion, so a few rounds do.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings, close_pairs
from ringwright.geometry.lattice import ALONE
from ringwright.geometry.linearise import gap_rows, gap_slopes, moved
from ringwright.geometry.oval import Oval

_REACH = 0.3
_TRUST = 0.05
_ROUNDS = 40
# Asked for, and good enough, in core radii: both far below what any tool can make.
_MARGIN, _TOUCH = 2e-8, 0.0
_AROUND = 72
_NEAR_OVAL = 0.1


def taken_apart(rings: Rings, oval: Oval) -> Rings | None:
    """The rings without overlap, and outside the oval; None where that is not found.

    Parameters
    ----------
    rings : a piece, in core radii; overlaps must be small against the wire, so that no ring
        passes through another
    oval : what no ring may enter, in core radii
    """
    for _ in range(_ROUNDS):
        gaps, slopes = _rows(rings, oval)
        if gaps.min() >= _TOUCH:
            return rings
        step = _least_step(gaps, slopes)
        if step is None:
            return None
        rings = moved(rings, step)
    return None


def _rows(rings: Rings, oval: Oval) -> tuple[Floats, Any]:
    """Every gap that must not fall below zero, and a sparse matrix of its slopes."""
    from scipy.sparse import csc_matrix, vstack

    size = 5 * len(rings.centres)
    rows = gap_rows(rings, close_pairs(rings, _REACH, ALONE), ALONE, _REACH)
    slopes, columns = gap_slopes(rings, rows, ALONE)
    place = np.repeat(np.arange(len(rows.gap)), slopes.shape[1])
    between = csc_matrix((slopes.ravel(), (place, columns.ravel())), (len(rows.gap), size))
    gap, slopes, columns = _oval_rows(rings, oval)
    place = np.repeat(np.arange(len(gap)), 5)
    outside = csc_matrix((slopes.ravel(), (place, columns.ravel())), (len(gap), size))
    return np.concatenate([rows.gap, gap]), vstack([between, outside], format="csc")


def _oval_rows(rings: Rings, oval: Oval) -> tuple[Floats, Floats, Ints]:
    """Places of rings near the oval: their gap, its slopes in the ring's unknowns, and these."""
    angles = np.arange(_AROUND) * (2.0 * np.pi / _AROUND)
    u, v = plane_basis(rings.axes)
    spokes = np.cos(angles)[:, None, None] * u + np.sin(angles)[:, None, None] * v
    arms = (rings.core_radii[:, None] * spokes).reshape(-1, 3)
    ring = np.tile(np.arange(len(rings.centres)), _AROUND)
    away, outward, _ = oval.clearance(rings.centres[ring] + arms)
    gap = away - rings.wire_radii[ring]
    near = gap < _NEAR_OVAL
    ring, arms, outward = ring[near], arms[near], outward[near]
    swing = np.cross(arms, outward) / rings.core_radii[ring, None]
    tilt = [np.einsum("ni,ni->n", swing, basis[ring]) for basis in (u, v)]
    slopes = np.concatenate([outward, np.stack(tilt, axis=1)], axis=1)
    return gap[near], slopes, 5 * ring[:, None] + np.arange(5)


def _least_step(gaps: Floats, slopes: Any) -> Floats | None:
    """The least motion that leaves no gap below zero, to first order."""
    import piqp
    from scipy.sparse import identity

    size = slopes.shape[1]
    limit = np.full(size, _TRUST)
    for share in (1.0, 0.5, 0.1):
        solver = piqp.SparseSolver()
        solver.settings.eps_abs, solver.settings.eps_rel = 1e-11, 0.0
        least = np.where(gaps < _MARGIN, share * (_MARGIN - gaps), _MARGIN - gaps)
        none = np.full(len(gaps), np.inf)
        solver.setup(
            identity(size, format="csc"), np.zeros(size), None, None, slopes, least, none,
            -limit, limit,
        )  # fmt: skip
        if solver.solve() == piqp.PIQP_SOLVED:
            return np.asarray(solver.result.x)
    return None
