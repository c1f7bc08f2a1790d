"""How much of a step keeps all core circles of a piece from passing through one another."""

from __future__ import annotations

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.falling.gaps import Gaps, pair_numbers
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Pairs, carried, close_pairs
from ringwright.geometry.linearise import reach_of_step
from ringwright.geometry.vectors import cross

# How much of the way to the nearest core circle two rings may close in one step.
_SAFE_SHARE = 0.9


def safe_share(gaps: Gaps, step: Floats, reach: float) -> float:
    """The largest share of a step, at most 1, on which no two core circles meet.

    Parameters
    ----------
    gaps : all gaps of at most ``reach`` where the step begins
    step : (5 n + p,)
    """
    rings, lattice = gaps.rings, gaps.lattice
    bare = rings.with_wire_radii(np.zeros(len(rings.centres)))
    farthest = float(reach_of_step(rings, step).max(initial=0.0))
    change = float(np.abs(step[5 * len(rings.centres) :]).sum())
    images_on = 1 + int(np.abs(gaps.rows.pairs.image).max(initial=0))
    most = 2.0 * farthest + images_on * change
    thinnest = 2.0 * float(rings.wire_radii.min(initial=np.inf))
    if lattice.kind.is_flat and most <= _SAFE_SHARE * (thinnest - gaps.overlap()):
        return 1.0
    pairs = close_pairs(bare, most, lattice)
    if not len(pairs.first):
        return 1.0
    wires = rings.wire_radii[pairs.first] + rings.wire_radii[pairs.second]
    between = _least_gap(gaps, pairs, reach) + wires
    worst = float((_closing(gaps, pairs, step) / np.maximum(between, 1e-300)).max())
    return min(1.0, _SAFE_SHARE / worst) if worst > 0.0 else 1.0


def _closing(gaps: Gaps, pairs: Pairs, step: Floats) -> Floats:
    """An upper bound on how far each pair's core circles near each other, (m,).

    Rings move rigidly. In the frame that moves with one of them the other's points move by
    t - w' x d + (w - w') x arm, t being the difference of the shifts, w and w' the turns and d
    where it lies; the first one's turn does not change a distance. So rings that move
    together close by nothing. d goes from one value to another in a straight line, so the
    bound is largest at an end.
    """
    rings, lattice = gaps.rings, gaps.lattice
    each = step[: 5 * len(rings.centres)].reshape(-1, 5)
    u, v = plane_basis(rings.axes)
    turn = (each[:, 3, None] * u + each[:, 4, None] * v) / rings.core_radii[:, None]
    i, j = pairs.first, pairs.second
    centres, _ = carried(rings.centres[j], rings.axes[j], pairs.image, lattice)
    apart = centres - rings.centres[i]
    # The second ring moves as it does in its own unit, and with its image.
    values = step[5 * len(rings.centres) :]
    drift = np.einsum("mpi,p->mi", lattice.drift(pairs.image), values)
    rotation, _ = lattice.motion(pairs.image)
    turns = (turn[i], np.einsum("mij,mj->mi", rotation, turn[j]) + drift[:, 3:])
    shift = np.einsum("mij,mj->mi", rotation, each[j, :3]) + drift[:, :3] - each[i, :3]
    shift += cross(drift[:, 3:], centres)
    spin = np.linalg.norm(turns[1] - turns[0], axis=1)

    def seen_from(own: Floats, other: Ints) -> Floats:
        ends = (apart, apart + shift)
        slide = [np.linalg.norm(shift - cross(own, end), axis=1) for end in ends]
        return np.asarray(np.maximum(*slide) + spin * rings.core_radii[other])

    return np.minimum(seen_from(turns[0], j), seen_from(turns[1], i))


def _least_gap(gaps: Gaps, pairs: Pairs, reach: float) -> Floats:
    """The smallest gap of each pair, or ``reach`` where none is known to be smaller."""
    count = len(gaps.rings.centres)
    key = pair_numbers(pairs, count)
    order = np.argsort(key)
    rows = gaps.rows
    wanted = pair_numbers(rows.pairs, count)
    at = order[np.minimum(np.searchsorted(key, wanted, sorter=order), len(key) - 1)]
    there = key[at] == wanted
    least = np.full(len(key), reach)
    np.minimum.at(least, at[there], rows.gap[there])
    return least
