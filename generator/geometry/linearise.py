"""How contact gaps change when rings move: gradients and curvature.

A unit of n rings in a lattice of p values has 5 n + p + 1 unknowns. For each
ring: three of translation and two of tilt (the rotation vector, resolved along
the two vectors of ``plane_basis`` and multiplied by the core radius, so that all
five are lengths). Then the changes of the lattice's values, and the change of the
wire, measured as the mean wire radius while all wires that grow keep their
proportions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.circles import nearest_on_circle, plane_basis
from ringwright.geometry.contact import Pairs, Rings, carried, contacts
from ringwright.geometry.lattice import Images
from ringwright.geometry.vectors import cross, lengths

_AROUND = np.arange(24) * (2 * np.pi / 24)
# Points along a near-contact are looked at up to this share of the reach, and a hair more.
_ALONG, _HAIR = 0.3, 1e-6
# Below this share of a circle's own curvature a valley counts as level: its lowest
# point then runs far for a small move, and the rows at fixed angles speak for it.
_LEVEL_VALLEY = 1e-3
# Below this one the minimum may soon split; rows at these angles beside it see it coming.
_SHALLOW_VALLEY = 0.2
_BESIDE = np.array([-0.16, -0.08, -0.04, 0.04, 0.08, 0.16])


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

    def of(self, rows: Ints | Bools | slice) -> Rows:
        """Some of the rows, by index, mask or slice."""
        return Rows(
            self.pairs.of(rows),
            self.gap[rows],
            self.point_first[rows],
            self.point_second[rows],
            self.slides[rows],
        )


def unknowns(rings: Rings, lattice: Images) -> int:
    """How many unknowns a unit of these rings has; the last is the wire."""
    return 5 * len(rings.centres) + lattice.count + 1


def gap_rows(rings: Rings, pairs: Pairs, lattice: Images, reach: float | Floats) -> Rows:
    """Rows for every local minimum within ``reach``, and for points along long near-contacts.

    Rings that lie flat on one another are about equally far apart all round, and
    the local minimum jumps from one side to the other when they tilt. So points at
    24 fixed angles of the first ring get rows of their own where they are near.

    Parameters
    ----------
    rings, pairs, lattice : as in :func:`ringwright.geometry.contact.contacts`
    reach : largest gap of interest; one for all pairs, or (m,)
    """
    low = contacts(rings, pairs, lattice, reach)
    minima = Rows(
        low.pairs, low.gap, low.point_first, low.point_second, np.ones(len(low.gap), bool)
    )
    # No point of rings is nearer than the lowest of all minima.
    every = reach if isinstance(reach, np.ndarray) else np.full(len(pairs.first), reach)
    is_near = np.zeros(len(pairs.first), bool)
    is_near[low.place[low.gap <= _ALONG * every[low.place] + _HAIR]] = True
    near = np.flatnonzero(is_near)
    u, v = plane_basis(rings.axes)
    i = pairs.first[near]
    spoke = np.cos(_AROUND)[:, None, None] * u[i] + np.sin(_AROUND)[:, None, None] * v[i]
    arms = rings.core_radii[i, None] * spoke
    around = _fixed_rows(rings, pairs.of(near), lattice, arms, _ALONG * every[near])
    return joined([minima, around, rows_along_valleys(rings, minima, lattice, _BESIDE)])


def rows_along_valleys(rings: Rings, minima: Rows, lattice: Images, beside: Floats) -> Rows:
    """Rows at fixed points beside those minima that lie in a shallow valley.

    Where rings nearly fit each other, one minimum is about to split in two, and the
    split ones run apart quickly as the rings move; these rows stand in for them.

    Parameters
    ----------
    beside : angles from a minimum along its first ring
    """
    shallow = np.flatnonzero(
        _valley(rings, minima, _arms(rings, minima, lattice)).depth
        < _SHALLOW_VALLEY * rings.core_radii[minima.pairs.first] ** 2
    )
    pairs = minima.pairs.of(shallow)
    arm = minima.point_first[shallow] - rings.centres[pairs.first]
    across = cross(rings.axes[pairs.first], arm)
    arms = np.cos(beside)[:, None, None] * arm + np.sin(beside)[:, None, None] * across
    return _fixed_rows(rings, pairs, lattice, arms, np.inf)


def _fixed_rows(
    rings: Rings, pairs: Pairs, lattice: Images, arms: Floats, reach: float | Floats
) -> Rows:
    """Rows for points fixed to the pairs' first rings: (k, m, 3) arms from their centres."""
    i, j = pairs.first, pairs.second
    point = rings.centres[i] + arms
    centres, axes = carried(rings.centres[j], rings.axes[j], pairs.image, lattice)
    nearest = nearest_on_circle(point, centres, axes, rings.core_radii[j])
    gap = lengths(point - nearest) - rings.wire_radii[i] - rings.wire_radii[j]
    place, row = np.nonzero(gap <= reach)
    none = np.zeros(len(row), bool)
    return Rows(pairs.of(row), gap[place, row], point[place, row], nearest[place, row], none)


def joined(parts: list[Rows]) -> Rows:
    """The rows of all parts, one after the other."""
    return Rows(
        Pairs(
            np.concatenate([part.pairs.first for part in parts]),
            np.concatenate([part.pairs.second for part in parts]),
            np.concatenate([part.pairs.image for part in parts]),
        ),
        np.concatenate([part.gap for part in parts]),
        np.concatenate([part.point_first for part in parts]),
        np.concatenate([part.point_second for part in parts]),
        np.concatenate([part.slides for part in parts]),
    )


@dataclass(frozen=True, eq=False)
class _Arms:
    """What gradient and curvature share: the points' arms from the centres, and the axes."""

    apart: Floats
    distance: Floats
    arm_first: Floats
    arm_second: Floats
    axis_first: Floats
    axis_second: Floats
    centre_second: Floats


def _arms(rings: Rings, rows: Rows, lattice: Images) -> _Arms:
    i, j = rows.pairs.first, rows.pairs.second
    apart = rows.point_first - rows.point_second
    centres, axes = carried(rings.centres[j], rings.axes[j], rows.pairs.image, lattice)
    return _Arms(
        apart,
        lengths(apart),
        rows.point_first - rings.centres[i],
        rows.point_second - centres,
        rings.axes[i],
        axes,
        centres,
    )


def _body_jacobian(arms: _Arms) -> Floats:
    """(m, 3, 12) change of the vector between the points as both rings move.

    In the translation and rotation vector of the first ring, then of the second
    where it stands in its image.
    """
    jacobian = np.zeros((len(arms.distance), 3, 12))
    jacobian[:, :, 0:3] = np.eye(3)
    jacobian[:, :, 3:6] = -_cross_matrix(arms.arm_first)
    jacobian[:, :, 6:9] = -np.eye(3)
    jacobian[:, :, 9:12] = _cross_matrix(arms.arm_second)
    return jacobian


def _body_motion(rings: Rings, rows: Rows, arms: _Arms, lattice: Images) -> Floats:
    """(m, 12, 10 + p) motion of the two rings in their own five unknowns and the lattice's.

    The second ring stands in an image of the unit: its own motion is turned with
    the image, and the lattice's values move the image as a whole.
    """
    i, j = rows.pairs.first, rows.pairs.second
    tilt = _tilts(rings)
    motion = np.zeros((len(i), 12, 10 + lattice.count))
    motion[:, 0:3, 0:3] = np.eye(3)
    motion[:, 3:6, 3:5] = tilt[i]
    turn, _ = lattice.motion(rows.pairs.image)
    motion[:, 6:9, 5:8] = turn
    motion[:, 9:12, 8:10] = turn @ tilt[j]
    drift = lattice.drift(rows.pairs.image)
    swing = cross(drift[:, :, 3:], arms.centre_second[:, None])
    motion[:, 6:9, 10:] = (drift[:, :, :3] + swing).transpose(0, 2, 1)
    motion[:, 9:12, 10:] = drift[:, :, 3:].transpose(0, 2, 1)
    return motion


def row_columns(rings: Rings, rows: Rows, lattice: Images) -> Ints:
    """(m, 10 + p) the unknowns that each row's local ones stand for."""
    five = np.arange(5)
    columns = np.empty((len(rows.gap), 10 + lattice.count), np.intp)
    columns[:, :5] = 5 * rows.pairs.first[:, None] + five
    columns[:, 5:10] = 5 * rows.pairs.second[:, None] + five
    columns[:, 10:] = 5 * len(rings.centres) + np.arange(lattice.count)
    return columns


def gap_gradients(rings: Rings, rows: Rows, lattice: Images, growth: Floats) -> Floats:
    """First derivatives of the gaps in the unknowns, (m, 5 n + p + 1).

    Parameters
    ----------
    growth : (n,) how much each wire radius grows for a change of 1 in the wire
    """
    local, columns = gap_slopes(rings, rows, lattice)
    return spread_slopes(local, columns, rows, unknowns(rings, lattice), growth)


def spread_slopes(local: Floats, columns: Ints, rows: Rows, count: int, growth: Floats) -> Floats:
    """What :func:`gap_slopes` gives for these rows, with all zeros and the wire."""
    gradients = np.zeros((len(rows.gap), count))
    every = np.arange(len(rows.gap))[:, None]
    # A ring and its own image share columns, so the parts are added up.
    gradients[every, columns[:, :5]] = local[:, :5]
    gradients[every, columns[:, 5:]] += local[:, 5:]
    gradients[:, -1] = -(growth[rows.pairs.first] + growth[rows.pairs.second])
    return gradients


def gap_slopes(rings: Rings, rows: Rows, lattice: Images) -> tuple[Floats, Ints]:
    """The same without the wire, less the many zeros: for pieces of many rings.

    To first order the nearest points may be held fixed (envelope theorem), so the
    gap changes by the motion of the two points along the line between them.

    Returns
    -------
    slopes : (m, 10 + p) in the unknowns of the two rings and the lattice
    columns : (m, 10 + p) which unknowns these are
    """
    arms = _arms(rings, rows, lattice)
    i, j = rows.pairs.first, rows.pairs.second
    direction = arms.apart / arms.distance[:, None]
    # As the product of jacobian and motion below, without the many zeros of these.
    spun_first, spun_second = cross(arms.arm_first, direction), cross(direction, arms.arm_second)
    tilt = _tilts(rings)
    local = np.empty((len(i), 10 + lattice.count))
    local[:, :3] = direction
    local[:, 3:5] = _products(spun_first, tilt[i])
    if lattice.kind.is_flat:
        local[:, 5:8] = -direction
        local[:, 8:10] = _products(spun_second, tilt[j])
    else:
        turn, _ = lattice.motion(rows.pairs.image)
        local[:, 5:8] = _products(-direction, turn)
        local[:, 8:10] = _products(spun_second, turn @ tilt[j])
    drift = lattice.drift(rows.pairs.image)
    swing = cross(drift[:, :, 3:], arms.centre_second[:, None])
    along = _products(-direction, (drift[:, :, :3] + swing).transpose(0, 2, 1))
    local[:, 10:] = along + _products(spun_second, drift[:, :, 3:].transpose(0, 2, 1))
    return local, row_columns(rings, rows, lattice)


def _products(vectors: Floats, matrices: Floats) -> Floats:
    """(m, 3) vectors times (m, 3, k) matrices, (m, k)."""
    return np.asarray(np.einsum("mi,mij->mj", vectors, matrices))


def _tilts(rings: Rings) -> Floats:
    """(n, 3, 2) the rotation vectors of each ring's two unknowns of tilt."""
    tilt = np.empty((len(rings.axes), 3, 2))
    tilt[:, :, 0], tilt[:, :, 1] = plane_basis(rings.axes)
    return np.asarray(tilt / rings.core_radii[:, None, None])


def gap_curvature(
    rings: Rings, rows: Rows, lattice: Images, weights: Floats, level: float = _LEVEL_VALLEY
) -> Floats:
    """Weighted sum of the gaps' second derivatives, (5 n + p + 1, 5 n + p + 1).

    Parameters
    ----------
    weights : (m,) one factor for each row; rows of weight zero cost nothing
    """
    used = np.flatnonzero(weights)
    local, columns = gap_bends(rings, rows.of(used), lattice, level)
    return spread_bends(local, columns, weights[used], unknowns(rings, lattice))


def spread_bends(local: Floats, columns: Ints, weights: Floats, count: int) -> Floats:
    """What :func:`gap_bends` gives, each times its weight, summed in (count, count)."""
    total = np.zeros((count, count))
    np.add.at(total, (columns[:, :, None], columns[:, None, :]), weights[:, None, None] * local)
    return total


def gap_bends(
    rings: Rings,
    rows: Rows,
    lattice: Images,
    level: float = _LEVEL_VALLEY,
    least: float = 0.0,
) -> tuple[Floats, Ints]:
    """Second derivatives of the gaps without the wire, less the many zeros.

    With D the vector between the points, x the rigid motions and y the angles of
    the nearest points, S = D.D / 2 has the second derivatives S_xx, S_xy, S_yy.
    Eliminating y leaves S_xx - S_xy S_yy^-1 S_yx, and the distance d = sqrt(2 S)
    has (that - grad d grad d^T) / d. Exact where images are only moved; where
    they are turned, the second order of the turning itself is left out.

    Parameters
    ----------
    level : where the valley of the distance is shallower than this, nothing slides along it
    least : a valley shallower than this slides as one of this depth

    Returns
    -------
    bends : (m, 10 + p, 10 + p) in the unknowns of the two rings and the lattice
    columns : (m, 10 + p) which unknowns these are
    """
    arms = _arms(rings, rows, lattice)
    jacobian = _body_jacobian(arms)
    half_square = np.einsum("mai,maj->mij", jacobian, jacobian)
    half_square[:, 3:6, 3:6] += _turn_block(arms.apart, arms.arm_first)
    half_square[:, 9:12, 9:12] -= _turn_block(arms.apart, arms.arm_second)
    reduced = half_square + _sliding(rings, rows, arms, jacobian, (level, least))
    gradient = np.einsum("mai,ma->mi", jacobian, arms.apart) / arms.distance[:, None]
    curvature = (reduced - gradient[:, :, None] * gradient[:, None, :]) / arms.distance[
        :, None, None
    ]
    motion = _body_motion(rings, rows, arms, lattice)
    local = motion.transpose(0, 2, 1) @ curvature @ motion
    if lattice.kind.turns:
        local += _turning(rows, arms, motion, gradient, lattice)
    return local, row_columns(rings, rows, lattice)


def _turning(rows: Rows, arms: _Arms, motion: Floats, gradient: Floats, lattice: Images) -> Floats:
    """What the second order of turned images adds, (m, 10 + p, 10 + p).

    A screw's values move all of an image by one twist (v, w), whose exponential takes a
    point x to x + V + w x V / 2 with V = v + w x x; a ring's own motion in the image is
    turned with it; and two rotation vectors w and r, one after the other, are together
    w + r + w x r / 2.

    Parameters
    ----------
    motion : (m, 12, 10 + p) from :func:`_body_motion`
    gradient : (m, 12) how the distance changes with the motion of the two rings
    """
    turn = lattice.drift(rows.pairs.image)[:, :, None, 3:]
    shifts = motion.transpose(0, 2, 1)[:, None, :, 6:9]
    turns = motion.transpose(0, 2, 1)[:, None, :, 9:12]
    by_value = np.einsum("mi,mpbi->mpb", gradient[:, 6:9], cross(turn, shifts))
    by_turn = 0.5 * np.einsum("mi,mpbi->mpb", gradient[:, 9:12], cross(turn, turns))
    local = np.zeros((len(gradient), motion.shape[2], motion.shape[2]))
    local[:, 10:, 5:10] = by_value[:, :, 5:10] + by_turn[:, :, 5:10]
    local[:, 10:, 10:] = 0.5 * by_value[:, :, 10:]
    return local + local.transpose(0, 2, 1)


def _turn_block(apart: Floats, arm: Floats) -> Floats:
    """Second derivative of apart . (rotated arm) in the rotation vector, (m, 3, 3).

    To second order a rotation vector w moves the arm l by w x l + w x (w x l) / 2.
    """
    outer = apart[:, :, None] * arm[:, None, :]
    dot = np.einsum("mi,mi->m", apart, arm)
    return np.asarray(0.5 * (outer + outer.transpose(0, 2, 1)) - dot[:, None, None] * np.eye(3))


@dataclass(frozen=True, eq=False)
class _Valley:
    """Second derivatives of S in the angles of the two nearest points.

    ``second`` and ``both`` are those of the second ring's point and mixed; ``depth``
    is what is left for the first ring's point when the second one slides along.
    """

    along_first: Floats
    along_second: Floats
    second: Floats
    both: Floats
    depth: Floats


def _valley(rings: Rings, rows: Rows, arms: _Arms) -> _Valley:
    i, j = rows.pairs.first, rows.pairs.second
    along_first = cross(arms.axis_first, arms.arm_first)
    along_second = cross(arms.axis_second, arms.arm_second)
    first = rings.core_radii[i] ** 2 - np.einsum("mi,mi->m", arms.apart, arms.arm_first)
    second = rings.core_radii[j] ** 2 + np.einsum("mi,mi->m", arms.apart, arms.arm_second)
    both = -np.einsum("mi,mi->m", along_first, along_second)
    # On the second ring's own axis all its points are equally near, and none slides.
    second = np.where(second > 1e-9, second, np.inf)
    return _Valley(along_first, along_second, second, both, first - both**2 / second)


def valley_depth(rings: Rings, rows: Rows, lattice: Images) -> Floats:
    """How steeply the distance rises along the first ring from each row's point, (m,).

    As the second derivative of half its square in the angle, over the core radius squared:
    0 where rings lie along each other, 1 and less elsewhere.
    """
    depth = _valley(rings, rows, _arms(rings, rows, lattice)).depth
    return np.asarray(depth / rings.core_radii[rows.pairs.first] ** 2)


def _sliding(
    rings: Rings, rows: Rows, arms: _Arms, jacobian: Floats, depths: tuple[float, float]
) -> Floats:
    """What the sliding of the nearest points takes off the second derivatives, (m, 12, 12)."""
    valley = _valley(rings, rows, arms)
    x_first = np.einsum("mai,ma->mi", jacobian, valley.along_first)
    x_first[:, 3:6] += cross(valley.along_first, arms.apart)
    x_second = -np.einsum("mai,ma->mi", jacobian, valley.along_second)
    x_second[:, 9:12] -= cross(valley.along_second, arms.apart)
    # The point on the second ring always slides; then, in what is left, the first.
    x_left = x_first - x_second * (valley.both / valley.second)[:, None]
    level, least = np.outer(depths, rings.core_radii[rows.pairs.first] ** 2)
    free = rows.slides & (valley.depth > level)
    inverse = np.where(free, 1.0 / np.where(free, np.maximum(valley.depth, least), 1.0), 0.0)
    taken = x_second[:, :, None] * x_second[:, None, :] / valley.second[:, None, None]
    taken += x_left[:, :, None] * x_left[:, None, :] * inverse[:, None, None]
    return np.asarray(-taken)


def _cross_matrix(vectors: Floats) -> Floats:
    """(m, 3, 3) matrices that turn a product into the cross product of (m, 3) vectors."""
    x, y, z = vectors.T
    matrices = np.zeros((len(vectors), 3, 3))
    matrices[:, 0, 1], matrices[:, 0, 2], matrices[:, 1, 2] = -z, y, -x
    matrices[:, 1, 0], matrices[:, 2, 0], matrices[:, 2, 1] = z, -y, x
    return matrices


def moved(rings: Rings, step: Floats) -> Rings:
    """The rings after a step in the unknowns (only the rings' own are used)."""
    each = _each(rings, step)
    u, v = plane_basis(rings.axes)
    turn = (each[:, 3, None] * u + each[:, 4, None] * v) / rings.core_radii[:, None]
    angle = lengths(turn)[:, None]
    axes = np.cos(angle) * rings.axes + np.sinc(angle / np.pi) * cross(turn, rings.axes)
    axes /= lengths(axes)[:, None]
    return Rings(rings.centres + each[:, :3], axes, rings.core_radii, rings.wire_radii)


def reach_of_step(rings: Rings, step: Floats) -> Floats:
    """An upper bound on how far any point of each ring's core circle moves, (n,)."""
    each = _each(rings, step)
    return np.asarray(lengths(each[:, :3]) + lengths(each[:, 3:]))


def _each(rings: Rings, step: Floats) -> Floats:
    count = len(rings.centres)
    return step[: 5 * count].reshape(count, 5)
