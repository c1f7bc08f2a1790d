"""How contact gaps change when rings move: gradients and curvature.

A unit of n rings has 5 n + 2 unknowns. For each ring: three of translation and
two of tilt (the rotation vector, resolved along the two vectors of
``plane_basis`` and multiplied by the core radius, so that all five are
lengths). Then the change of the repeat, and the change of the wire, measured as
the mean wire radius while all wires keep their proportions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.circles import nearest_on_circle, plane_basis
from generator.contact import Pairs, Rings, contacts

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_AROUND = np.arange(24) * (2 * np.pi / 24)
# Below this share of a circle's own curvature a valley counts as level: its lowest
# point then runs far for a small move, and the rows at fixed angles speak for it.
_LEVEL_VALLEY = 0.02


@dataclass(frozen=True, eq=False)
class Rows:
    """Constraint rows: places where two rings must keep a gap of at least zero.

    Attributes
    ----------
    pairs : (m,) the two rings of each row
    gap : (m,) gap between the surfaces
    point_first, point_second : (m, 3) points on the two core circles
    slides : (m,) True where the points are a local minimum, free to slide along
        both circles; False where the first point is fixed to its ring
    """

    pairs: Pairs
    gap: Floats
    point_first: Floats
    point_second: Floats
    slides: Bools


def unknowns(rings: Rings) -> int:
    """How many unknowns a unit of these rings has; the last two are repeat and wire."""
    return 5 * len(rings.centres) + 2


def gap_rows(rings: Rings, pairs: Pairs, repeat: float | None, reach: float) -> Rows:
    """Rows for every local minimum within ``reach``, and for points along long near-contacts.

    Rings that lie flat on one another are about equally far apart all round, and
    the local minimum jumps from one side to the other when they tilt. So points at
    24 fixed angles of the first ring get rows of their own where they are near.

    Parameters
    ----------
    rings, pairs, repeat : as in :func:`generator.contact.contacts`
    reach : largest gap of interest
    """
    low = contacts(rings, pairs, repeat, reach)
    i, j = pairs.first, pairs.second
    u, v = plane_basis(rings.axes)
    spoke = np.cos(_AROUND)[:, None, None] * u[i] + np.sin(_AROUND)[:, None, None] * v[i]
    point = rings.centres[i] + rings.core_radii[i, None] * spoke
    shift = np.zeros((len(i), 3))
    shift[:, 0] = pairs.image * (repeat or 0.0)
    nearest = nearest_on_circle(point, rings.centres[j] + shift, rings.axes[j], rings.core_radii[j])
    gap = np.linalg.norm(point - nearest, axis=2) - rings.wire_radii[i] - rings.wire_radii[j]
    angle, row = np.nonzero(gap <= 0.3 * reach)
    return Rows(
        Pairs(
            np.concatenate([low.pairs.first, i[row]]),
            np.concatenate([low.pairs.second, j[row]]),
            np.concatenate([low.pairs.image, pairs.image[row]]),
        ),
        np.concatenate([low.gap, gap[angle, row]]),
        np.concatenate([low.point_first, point[angle, row]]),
        np.concatenate([low.point_second, nearest[angle, row]]),
        np.concatenate([np.ones(len(low.gap), bool), np.zeros(len(row), bool)]),
    )


@dataclass(frozen=True, eq=False)
class _Arms:
    """What gradient and curvature share: arms from the centres, and tilt directions."""

    apart: Floats
    distance: Floats
    arm_first: Floats
    arm_second: Floats
    tilt_first: Floats
    tilt_second: Floats


def _arms(rings: Rings, rows: Rows, repeat: float | None) -> _Arms:
    i, j = rows.pairs.first, rows.pairs.second
    shift = np.zeros((len(i), 3))
    shift[:, 0] = rows.pairs.image * (repeat or 0.0)
    apart = rows.point_first - rows.point_second
    u, v = plane_basis(rings.axes)
    tilt = np.stack([u, v], axis=2) / rings.core_radii[:, None, None]
    return _Arms(
        apart,
        np.linalg.norm(apart, axis=1),
        rows.point_first - rings.centres[i],
        rows.point_second - rings.centres[j] - shift,
        tilt[i],
        tilt[j],
    )


def _local_jacobian(arms: _Arms, image: NDArray[np.intp]) -> Floats:
    """(m, 3, 11) change of the vector between the points: two rings' five unknowns, repeat."""
    jacobian = np.zeros((len(arms.distance), 3, 11))
    jacobian[:, :, 0:3] = np.eye(3)
    jacobian[:, :, 3:5] = -_cross_matrix(arms.arm_first) @ arms.tilt_first
    jacobian[:, :, 5:8] = -np.eye(3)
    jacobian[:, :, 8:10] = _cross_matrix(arms.arm_second) @ arms.tilt_second
    jacobian[:, 0, 10] = -image
    return jacobian


def _columns(rings: Rings, rows: Rows) -> NDArray[np.intp]:
    """(m, 11) the unknowns that each row's local ones stand for."""
    five = np.arange(5)
    repeat = np.full((len(rows.gap), 1), 5 * len(rings.centres))
    return np.concatenate(
        [5 * rows.pairs.first[:, None] + five, 5 * rows.pairs.second[:, None] + five, repeat],
        axis=1,
    )


def gap_gradients(rings: Rings, rows: Rows, repeat: float | None) -> Floats:
    """First derivatives of the gaps in the unknowns, (m, 5 n + 2).

    To first order the nearest points may be held fixed (envelope theorem), so the
    gap changes by the motion of the two points along the line between them.
    """
    arms = _arms(rings, rows, repeat)
    direction = arms.apart / arms.distance[:, None]
    local = np.einsum("ma,mai->mi", direction, _local_jacobian(arms, rows.pairs.image))
    gradients = np.zeros((len(rows.gap), unknowns(rings)))
    every = np.arange(len(rows.gap))[:, None]
    # A ring and its own image share columns, so the parts are added up.
    np.add.at(gradients, (every, _columns(rings, rows)), local)
    i, j = rows.pairs.first, rows.pairs.second
    gradients[:, -1] = -(rings.wire_radii[i] + rings.wire_radii[j]) / rings.wire_radii.mean()
    return gradients


def gap_curvature(rings: Rings, rows: Rows, repeat: float | None, weights: Floats) -> Floats:
    """Weighted sum of the gaps' second derivatives, (5 n + 2, 5 n + 2).

    With D the vector between the points, x the rigid motions and y the angles of
    the nearest points, S = D.D / 2 has the second derivatives S_xx, S_xy, S_yy.
    Eliminating y leaves S_xx - S_xy S_yy^-1 S_yx, and the distance d = sqrt(2 S)
    has (that - grad d grad d^T) / d.

    Parameters
    ----------
    weights : (m,) one factor for each row; rows of weight zero cost nothing
    """
    used = np.flatnonzero(weights)
    pairs = Pairs(*(a[used] for a in (rows.pairs.first, rows.pairs.second, rows.pairs.image)))
    rows = Rows(
        pairs,
        rows.gap[used],
        rows.point_first[used],
        rows.point_second[used],
        rows.slides[used],
    )
    arms = _arms(rings, rows, repeat)
    jacobian = _local_jacobian(arms, pairs.image)
    half_square = np.einsum("mai,maj->mij", jacobian, jacobian)
    half_square[:, 3:5, 3:5] += _tilt_block(arms.apart, arms.arm_first, arms.tilt_first)
    half_square[:, 8:10, 8:10] -= _tilt_block(arms.apart, arms.arm_second, arms.tilt_second)
    reduced = half_square + _sliding(rings, rows, arms, jacobian)
    gradient = np.einsum("mai,ma->mi", jacobian, arms.apart) / arms.distance[:, None]
    curvature = (reduced - gradient[:, :, None] * gradient[:, None, :]) / arms.distance[
        :, None, None
    ]
    columns = _columns(rings, rows)
    total = np.zeros((unknowns(rings), unknowns(rings)))
    np.add.at(
        total,
        (columns[:, :, None], columns[:, None, :]),
        weights[used, None, None] * curvature,
    )
    return total


def _tilt_block(apart: Floats, arm: Floats, tilt: Floats) -> Floats:
    """Second derivative of apart . (rotated arm) in the two tilts, (m, 2, 2).

    To second order a rotation vector w moves the arm l by w x l + w x (w x l) / 2.
    """
    outer = apart[:, :, None] * arm[:, None, :]
    dot = np.einsum("mi,mi->m", apart, arm)
    block = 0.5 * (outer + outer.transpose(0, 2, 1)) - dot[:, None, None] * np.eye(3)
    return np.asarray(tilt.transpose(0, 2, 1) @ block @ tilt)


def _sliding(rings: Rings, rows: Rows, arms: _Arms, jacobian: Floats) -> Floats:
    """What the sliding of the nearest points takes off the second derivatives, (m, 11, 11)."""
    i, j = rows.pairs.first, rows.pairs.second
    along_first = np.cross(rings.axes[i], arms.arm_first)
    along_second = np.cross(rings.axes[j], arms.arm_second)
    x_first = np.einsum("mai,ma->mi", jacobian, along_first)
    x_first[:, 3:5] += np.einsum("mai,ma->mi", arms.tilt_first, np.cross(along_first, arms.apart))
    x_second = -np.einsum("mai,ma->mi", jacobian, along_second)
    x_second[:, 8:10] -= np.einsum(
        "mai,ma->mi", arms.tilt_second, np.cross(along_second, arms.apart)
    )
    first = rings.core_radii[i] ** 2 - np.einsum("mi,mi->m", arms.apart, arms.arm_first)
    second = rings.core_radii[j] ** 2 + np.einsum("mi,mi->m", arms.apart, arms.arm_second)
    both = -np.einsum("mi,mi->m", along_first, along_second)
    # The point on the second ring always slides; then, in what is left, the first.
    pivot = first - both**2 / second
    x_left = x_first - x_second * (both / second)[:, None]
    free = rows.slides & (pivot > _LEVEL_VALLEY * rings.core_radii[i] ** 2)
    inverse = np.where(free, 1.0 / np.where(free, pivot, 1.0), 0.0)
    taken = x_second[:, :, None] * x_second[:, None, :] / second[:, None, None]
    taken += x_left[:, :, None] * x_left[:, None, :] * inverse[:, None, None]
    return np.asarray(-taken)


def _cross_matrix(vectors: Floats) -> Floats:
    """(m, 3, 3) matrices that turn a product into the cross product of (m, 3) vectors."""
    x, y, z = vectors.T
    zero = np.zeros_like(x)
    rows = [[zero, -z, y], [z, zero, -x], [-y, x, zero]]
    return np.asarray(np.array(rows).transpose(2, 0, 1))


def moved(rings: Rings, step: Floats) -> Rings:
    """The rings after a step in the unknowns (its last two entries are not used here)."""
    each = step[:-2].reshape(-1, 5)
    u, v = plane_basis(rings.axes)
    turn = (each[:, 3, None] * u + each[:, 4, None] * v) / rings.core_radii[:, None]
    angle = np.linalg.norm(turn, axis=1)[:, None]
    axes = np.cos(angle) * rings.axes + np.sinc(angle / np.pi) * np.cross(turn, rings.axes)
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    return Rings(rings.centres + each[:, :3], axes, rings.core_radii, rings.wire_radii)


def reach_of_step(step: Floats) -> Floats:
    """An upper bound on how far any point of each ring's core circle moves, (n,)."""
    each = step[:-2].reshape(-1, 5)
    return np.asarray(np.linalg.norm(each[:, :3], axis=1) + np.linalg.norm(each[:, 3:], axis=1))
