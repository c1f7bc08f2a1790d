"""Two circles in space: every local minimum of their distance, and how they link.

All functions work on arrays of pairs: centres ``(m, 3)``, unit normals
``(m, 3)`` and radii ``(m,)``, in any one unit of length.

Background: D. Eberly, "Distance Between Two Circles in 3D" (Geometric Tools),
and M. Vranek, "Fast and accurate circle-circle and circle-line 3D distance
computation", Journal of Graphics Tools 7 (2002), which show that the critical
points are roots of a polynomial of degree 8. Here the nearest point of the
second circle is eliminated in closed form, which leaves one unknown angle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# Degree 8 means at most eight critical angles, so at most four minima; 48 samples
# put them in brackets of 7.5 degrees and the dips between samples are looked for.
_SAMPLES = 48
_ANGLES: Floats = np.linspace(0.0, 2 * np.pi, _SAMPLES, endpoint=False)
_COS, _SIN = np.cos(_ANGLES), np.sin(_ANGLES)
# Rounding in the slope, in units of the machine's, that a truly level valley may show.
_ROUNDING = 64 * float(np.finfo(float).eps)
_BRUSH = 0.2

Slope = Callable[[Floats], tuple[Floats, Floats]]


@dataclass(frozen=True, eq=False)
class Minima:
    """Local minima of the distance between the circles of many pairs.

    Attributes
    ----------
    pair : (k,) index of the pair each minimum belongs to, ascending
    distance : (k,) distances
    point_a, point_b : (k, 3) the two nearest points, on the first and second circle
    """

    pair: Ints
    distance: Floats
    point_a: Floats
    point_b: Floats


def plane_basis(normals: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors that span the planes with these unit normals, right-handed.

    Parameters
    ----------
    normals : (m, 3) unit vectors

    Returns
    -------
    u, v : (m, 3) each, with ``u x v = normal``
    """
    # The branch on the sign of z keeps the formula away from its pole (Duff et al.,
    # "Building an orthonormal basis, revisited", JCGT 6 (2017)).
    x, y, z = normals.T
    sign = np.where(z < 0.0, -1.0, 1.0)
    a = -1.0 / (sign + z)
    b = x * y * a
    u = np.stack([1.0 + sign * x * x * a, sign * b, -sign * x], axis=1)
    v = np.stack([b, sign + y * y * a, -y], axis=1)
    return u, v


class _SquaredDistance:
    """The squared distance from a point of circle A, at angle t, to circle B.

    In B's own frame the point is (x, y, h); rho = hypot(x, y); the squared
    distance is (rho - radius_b)^2 + h^2. Each coordinate is a constant plus a
    cosine and a sine of t.
    """

    def __init__(
        self, ca: Floats, na: Floats, ra: Floats, cb: Floats, nb: Floats, rb: Floats
    ) -> None:
        self.ca, self.cb, self.ra, self.rb = ca, cb, ra, rb
        self.ua, self.va = plane_basis(na)
        self.ub, self.vb = plane_basis(nb)
        frame = np.stack([self.ub, self.vb, nb], axis=1)
        offset = np.einsum("mij,mj->mi", frame, ca - cb)
        along = ra[:, None] * np.einsum("mij,mj->mi", frame, self.ua)
        across = ra[:, None] * np.einsum("mij,mj->mi", frame, self.va)
        # (3, m) each, so that a coordinate is one contiguous row.
        self.offset, self.along, self.across = offset.T.copy(), along.T.copy(), across.T.copy()

    def at_samples(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Half the first and second derivative, rho, and how a slope's rounding error scales.

        At the sample angles, (m, samples) each.
        """
        k = (slice(None), slice(None), None)
        return _slopes(self.offset[k], self.along[k], self.across[k], self.rb[:, None], _COS, _SIN)

    def slope(self, pair: Ints) -> Slope:
        """Half the first and second derivative, as a function of one angle for each of ``pair``."""
        offset, along = self.offset[:, pair], self.along[:, pair]
        across, rb = self.across[:, pair], self.rb[pair]
        return lambda t: _slopes(offset, along, across, rb, np.cos(t), np.sin(t))[:2]

    def minima(self, pair: Ints, t: Floats) -> Minima:
        """The points and distances at angles ``t`` of pairs ``pair``."""
        cos, sin = np.cos(t), np.sin(t)
        x, y, h = self.offset[:, pair] + self.along[:, pair] * cos + self.across[:, pair] * sin
        rho = np.hypot(x, y)
        # On B's axis every point of B is nearest; any one of them will do.
        on_axis = rho == 0.0
        safe = np.where(on_axis, 1.0, rho)
        cos_b, sin_b = np.where(on_axis, 1.0, x / safe), y / safe
        rb = self.rb[pair]
        ra = self.ra[pair, None]
        point_a = self.ca[pair] + ra * (cos[:, None] * self.ua[pair] + sin[:, None] * self.va[pair])
        point_b = self.cb[pair] + rb[:, None] * (
            cos_b[:, None] * self.ub[pair] + sin_b[:, None] * self.vb[pair]
        )
        return Minima(pair, np.hypot(rho - rb, h), point_a, point_b)


def _slopes(
    offset: Floats, along: Floats, across: Floats, rb: Floats, cos: Floats, sin: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Half the first and second derivative of the squared distance, rho, and the error's scale."""
    turning = along * cos + across * sin
    x, y, h = offset + turning
    dx, dy, dh = across * cos - along * sin
    ddx, ddy, ddh = -turning
    rho = np.sqrt(x * x + y * y)
    safe = np.where(rho == 0.0, 1.0, rho)
    drho = (x * dx + y * dy) / safe
    ddrho = (dx * dx + dy * dy + x * ddx + y * ddy - drho * drho) / safe
    outside = rho - rb
    first = outside * drho + h * dh
    second = drho * drho + outside * ddrho + dh * dh + h * ddh
    # Each product's error is that of one factor, about eps, times the other.
    return first, second, rho, np.abs(outside) + np.abs(drho) + np.abs(h) + np.abs(dh)


def distance_minima(
    ca: Floats, na: Floats, ra: Floats, cb: Floats, nb: Floats, rb: Floats
) -> Minima:
    """Every local minimum of the distance between two circles, for m pairs at once.

    Parameters
    ----------
    ca, na, ra : (m, 3) centres, (m, 3) unit normals and (m,) radii of the first circles
    cb, nb, rb : the same of the second circles

    Returns
    -------
    Minima
        At least one for each pair. Circles about one axis are equally far apart
        all round; such a level valley is reported as four points, a quarter
        turn apart. Circles that touch or cross have a minimum of distance 0 at
        each common point.

    Examples
    --------
    Two linked circles of radius 1, each through the other's centre, touch twice:

    >>> import numpy as np
    >>> row, one = lambda *v: np.array([v], dtype=float), np.ones(1)
    >>> found = distance_minima(row(0, 0, 0), row(0, 0, 1), one, row(1, 0, 0), row(0, 1, 0), one)
    >>> found.distance.round(6).tolist()
    [1.0, 1.0]
    """
    found, near_axis = _search(ca, na, ra, cb, nb, rb)
    again = np.flatnonzero(near_axis)
    if again.size == 0:
        return found
    # A circle that brushes the other's axis swings round it within a few degrees, and
    # two minima can hide between samples. Seen from the other circle they lie apart.
    first = [array[again] for array in (ca, na, ra)]
    second = [array[again] for array in (cb, nb, rb)]
    swapped = _search(*second, *first)[0]
    counts = np.bincount(found.pair, minlength=len(ra))
    more = np.bincount(swapped.pair, minlength=again.size) > counts[again]
    if not more.any():
        return found
    keep = ~np.isin(found.pair, again[more])
    take = more[swapped.pair]
    pair = np.concatenate([found.pair[keep], again[swapped.pair[take]]])
    order = np.argsort(pair, kind="stable")
    return Minima(
        pair[order],
        np.concatenate([found.distance[keep], swapped.distance[take]])[order],
        np.concatenate([found.point_a[keep], swapped.point_b[take]])[order],
        np.concatenate([found.point_b[keep], swapped.point_a[take]])[order],
    )


def _search(
    ca: Floats, na: Floats, ra: Floats, cb: Floats, nb: Floats, rb: Floats
) -> tuple[Minima, NDArray[np.bool_]]:
    """Minima along the first circles, and which of these pass close by the second's axis."""
    curve = _SquaredDistance(ca, na, ra, cb, nb, rb)
    first, second, rho, worth = curve.at_samples()
    size = ra + rb + np.abs(curve.offset).sum(axis=0)
    noise = _ROUNDING * size * worth.max(axis=1, initial=0.0)
    level = np.abs(first).max(axis=1, initial=0.0) <= noise
    near_axis = ~level & (rho.min(axis=1, initial=np.inf) < _BRUSH * ra)
    pair, low, high = _brackets(curve, first, second)
    keep = ~level[pair]
    pair, low, high = pair[keep], low[keep], high[keep]
    angle = _polish(curve.slope(pair), low, high)
    flat = np.flatnonzero(level)
    pair = np.concatenate([pair, np.repeat(flat, 4)])
    angle = np.concatenate([angle, np.tile(_ANGLES[:: _SAMPLES // 4], flat.size)])
    order = np.lexsort((angle, pair))
    return curve.minima(pair[order], angle[order]), near_axis


def _brackets(
    curve: _SquaredDistance, first: Floats, second: Floats
) -> tuple[Ints, Floats, Floats]:
    """Angle intervals in which the slope goes from falling to rising, once."""
    after, second_after = np.roll(first, -1, axis=1), np.roll(second, -1, axis=1)
    step = float(2 * np.pi / _SAMPLES)
    pair, i = np.nonzero((first < 0.0) & (after >= 0.0))
    low = _ANGLES[i]
    found = [(pair, low, low + step)]
    # A slope of one sign at both ends may still dip through zero and back between
    # them. If it does, the tangents at the ends meet on the other side of zero.
    with np.errstate(divide="ignore", invalid="ignore"):
        meet = (after - first - second_after * step) / (second - second_after)
        dips = (
            (first * after > 0.0)
            & (first * second < 0.0)
            & (after * second_after > 0.0)
            & ((first + second * meet) * first < 0.0)
        )
    pair, i = np.nonzero(dips)
    if pair.size:
        low = _ANGLES[i]
        high = np.asarray(low + step)
        slope = curve.slope(pair)
        turn = _turning_point(slope, low, high, np.sign(first[pair, i]))
        rising = first[pair, i] > 0.0
        through = slope(turn)[0] * first[pair, i] < 0.0
        pair, low, high = pair[through], low[through], high[through]
        turn, rising = turn[through], rising[through]
        found.append((pair, np.where(rising, turn, low), np.where(rising, high, turn)))
    pairs, lows, highs = zip(*found, strict=True)
    return np.concatenate(pairs), np.concatenate(lows), np.concatenate(highs)


def _turning_point(slope: Slope, low: Floats, high: Floats, sign: Floats) -> Floats:
    """Where the slope itself turns between ``low`` and ``high``: bisection on its derivative."""
    for _ in range(40):
        middle = 0.5 * (low + high)
        falling = sign * slope(middle)[1] < 0.0
        low, high = np.where(falling, middle, low), np.where(falling, high, middle)
    return 0.5 * (low + high)


def _polish(slope: Slope, low: Floats, high: Floats) -> Floats:
    """The zero of the slope inside each bracket: Newton's method, kept in by bisection."""
    t = 0.5 * (low + high)
    for _ in range(60):
        first, second = slope(t)
        below = first < 0.0
        low, high = np.where(below, t, low), np.where(below, high, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            move = -first / second
        # A move lost in rounding is the end, even where it points out of the bracket.
        done = (np.abs(move) < 1e-13) | (high - low < 1e-13)
        if done.all():
            break
        inside = (t + move > low) & (t + move < high)
        t = np.where(done, t, np.where(inside, t + move, 0.5 * (low + high)))
    return t


def nearest_on_circle(points: Floats, centres: Floats, normals: Floats, radii: Floats) -> Floats:
    """The point of each circle nearest to each point, in closed form.

    Parameters
    ----------
    points : (..., m, 3)
    centres, normals, radii : (m, 3), (m, 3) and (m,) of the circles

    Returns
    -------
    (..., m, 3)
        For a point on the circle's axis, where all are equally near, any of them.
    """
    offset = points - centres
    flat = offset - np.einsum("...mi,mi->...m", offset, normals)[..., None] * normals
    rho = np.linalg.norm(flat, axis=-1, keepdims=True)
    anywhere = plane_basis(normals)[0]
    unit = np.where(rho == 0.0, anywhere, flat / np.where(rho == 0.0, 1.0, rho))
    return np.asarray(centres + radii[:, None] * unit)


def linking_number(ca: Floats, na: Floats, ra: Floats, cb: Floats, nb: Floats, rb: Floats) -> Ints:
    """Signed linking number of two circles, for m pairs at once: -1, 0 or 1.

    The normals orient the circles by the right-hand rule. The first circle
    meets the second's plane in at most two points; they are linked when just
    one of them lies inside the second's disc, and the sense in which it goes
    through there is the sign (this is the crossing form of Gauss's linking
    integral). Symmetric in the two circles. Circles that touch count as not
    linked.

    Parameters
    ----------
    ca, na, ra : (m, 3) centres, (m, 3) unit normals and (m,) radii of the first circles
    cb, nb, rb : the same of the second circles

    Returns
    -------
    (m,) integers
    """
    ua, va = plane_basis(na)
    offset = ca - cb
    height = np.einsum("mi,mi->m", offset, nb)
    along = ra * np.einsum("mi,mi->m", ua, nb)
    across = ra * np.einsum("mi,mi->m", va, nb)
    swing = np.hypot(along, across)
    meets = swing > np.abs(height)
    middle = np.arctan2(across, along)
    half = np.arccos(np.clip(-height / np.where(meets, swing, 1.0), -1.0, 1.0))
    inside = []
    for angle in (middle - half, middle + half):
        point = offset + ra[:, None] * (np.cos(angle)[:, None] * ua + np.sin(angle)[:, None] * va)
        inside.append(np.linalg.norm(point - _height_part(point, nb), axis=1) < rb)
    # The height rises through zero at the first of the two angles and falls at the second.
    return np.where(meets, inside[0].astype(np.intp) - inside[1].astype(np.intp), 0)


def _height_part(point: Floats, normal: Floats) -> Floats:
    """The part of each (m, 3) vector along its (m, 3) unit normal."""
    return np.asarray(np.einsum("mi,mi->m", point, normal)[:, None] * normal)
