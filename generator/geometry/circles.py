"""Two circles in space: every local minimum of their distance, and how they link.

All functions work on arrays of pairs: centres ``(m, 3)``, unit normals
``(m, 3)`` and radii ``(m,)``, in any one unit of length.

Background: D. Eberly, "Distance Between Two Circles in 3D" (Geometric Tools),
and M. Vranek, "Fast and accurate circle-circle and circle-line 3D distance
computation", Journal of Graphics Tools 7 (2002), which show that the critical
points are roots of a polynomial of degree 8. Here the nearest point of the
second circle is eliminated in closed form, which leaves one unknown angle.

The loops exist twice: here in NumPy, which is there at once, and in
:mod:`ringwright.geometry.kernels`, compiled, for work that is worth the compiler's start-up
(see :mod:`ringwright.geometry.speed`). Both do the same additions, multiplications,
divisions and square roots in the same order, and nothing that two libraries may
round differently, so they agree to the last bit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import ModuleType

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.speed import compiled
from ringwright.geometry.vectors import lengths

Circles = tuple[Floats, Floats, Floats]
# Constant, cosine and sine part of places on circles, each (3, k), and the other's radii.
_Local = tuple[Floats, Floats, Floats, Floats]

# Degree 8 means at most eight critical angles, so at most four minima; 48 samples
# put them in brackets of 7.5 degrees, and what the slope does between samples is looked into.
_SAMPLES = 48
# The first angle comes again at the end, so that every interval has both its ends.
_ANGLES = np.arange(_SAMPLES + 1) % _SAMPLES * (2 * np.pi / _SAMPLES)
_COS, _SIN = np.cos(_ANGLES), np.sin(_ANGLES)
# Places between samples are told by the tangent of half the angle from the sample
# before: cosine and sine follow from it by arithmetic alone.
_STEP = 2 * np.pi / _SAMPLES
_THRICE = 3.0 / _STEP
_HALF_STEP_TANGENT = float(np.tan(_STEP / 2))
# Rounding in the slope, in units of the machine's, that a truly level valley may show.
_ROUNDING = 64 * float(np.finfo(float).eps)
# A circle that passes the other's axis within this share of its radius brushes it.
_BRUSH = 0.2
# Changes of that tangent below this are lost in rounding.
_FINEST = 1e-13
_BISECTIONS = 20
_ROUNDS = 60
# So many pairs at a time, and at all samples so many, keep every array small enough for
# the system's allocator to hand the same memory out again.
_BLOCK = 512
_SAMPLED = 64
_COMPILED_BLOCK = 1 << 16
# Measured, in NumPy: a call takes as long as so many pairs more, and finding one
# distance takes as long as telling so many linking numbers.
_CALL, _LINKING_CALL, _LINKINGS = 20, 5, 50

# Handed to the compiled loops, so that their stored machine code depends on none of them.
_NUMBERS = (_STEP, _THRICE, _HALF_STEP_TANGENT, _ROUNDING, _BRUSH, _FINEST)
_COUNTS = (_BISECTIONS, _ROUNDS)


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
    u, v = _basis(normals.T)
    return np.ascontiguousarray(u.T), np.ascontiguousarray(v.T)


def _basis(normals: Floats) -> tuple[Floats, Floats]:
    """The same for (3, m) normals, as (3, m) vectors."""
    # The branch on the sign of z keeps the formula away from its pole (Duff et al.,
    # "Building an orthonormal basis, revisited", JCGT 6 (2017)).
    x, y, z = normals
    sign = np.where(z < 0.0, -1.0, 1.0)
    a = -1.0 / (sign + z)
    b = x * y * a
    u, v = np.empty((2, *normals.shape))
    u[0], u[1], u[2] = 1.0 + sign * x * x * a, sign * b, -sign * x
    v[0], v[1], v[2] = b, sign + y * y * a, -y
    return u, v


def _dot(a: Floats, b: Floats) -> Floats:
    """Scalar products of vectors whose three coordinates run along the first axis."""
    # Written out, because the order of the additions inside a library is its own affair.
    return np.asarray(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


class _Curves:
    """The squared distance from a point of circle A, at angle t, to circle B.

    In B's own frame the point is (x, y, h); rho = hypot(x, y); the squared
    distance is (rho - radius_b)^2 + h^2. Each coordinate is a constant plus a
    cosine and a sine of t. Coordinates run along the first axis of all arrays.
    """

    def __init__(self, a: Circles, b: Circles) -> None:
        self.ca, self.ra, self.cb, self.rb = a[0].T, a[2], b[0].T, b[2]
        normals = np.concatenate([a[1].T, b[1].T], axis=1)
        u, v = _basis(normals)
        m = len(self.ra)
        self.ua, self.va, self.ub, self.vb = u[:, :m], v[:, :m], u[:, m:], v[:, m:]
        frame = np.stack([self.ub, self.vb, normals[:, m:]], axis=1)[:, :, None]
        vectors = np.stack([self.ca - self.cb, self.ua, self.va], axis=1)[:, None]
        seen = _dot(frame, vectors)
        self.offset, self.along, self.across = (
            seen[:, 0],
            self.ra * seen[:, 1],
            self.ra * seen[:, 2],
        )

    def at_samples(self) -> tuple[Floats, Floats, Floats]:
        """Half the first and second derivative, and rho: (m, samples + 1) each."""
        parts = []
        for start in range(0, max(len(self.ra), 1), _SAMPLED):
            k = (slice(None), slice(start, start + _SAMPLED), None)
            parts.append(
                _slopes(self.offset[k], self.along[k], self.across[k], self.rb[k[1:]], _COS, _SIN)
            )
        if len(parts) == 1:
            return parts[0]
        first, second, rho = (np.concatenate(part) for part in zip(*parts, strict=True))
        return first, second, rho

    def level(self, first: Floats) -> Bools:
        """Where the slopes ``first`` at the samples are all lost in rounding, (m,)."""
        size = self.ra + self.rb + np.abs(self.offset[0])
        size = size + np.abs(self.offset[1]) + np.abs(self.offset[2])
        steepest = np.maximum(first.max(axis=1), -first.min(axis=1))
        # No factor of the slope is larger than the size, so this rules out most at once.
        level = steepest <= 5.0 * _ROUNDING * size * size
        for row in np.flatnonzero(level):
            level[row] = steepest[row] <= _ROUNDING * size[row] * self._worth(row)
        return np.asarray(level)

    def _worth(self, row: np.intp) -> float:
        """How the rounding error of one pair's slope scales.

        Each product's error is that of one factor, about eps, times the other.
        """
        offset, along, across = (w[:, row, None] for w in (self.offset, self.along, self.across))
        x, y, h = offset + (along * _COS + across * _SIN)
        dx, dy, dh = across * _COS - along * _SIN
        rho = np.sqrt(x * x + y * y)
        drho = (x * dx + y * dy) / np.where(rho == 0.0, 1.0, rho)
        worth = np.abs(rho - self.rb[row]) + np.abs(drho) + np.abs(h) + np.abs(dh)
        return float(worth.max())

    def from_samples(self, pair: Ints, i: Ints) -> _Local:
        """Constant, cosine and sine part and radius B, with angles counted from sample ``i``."""
        along, across = self.along[:, pair], self.across[:, pair]
        cos, sin = _COS[i], _SIN[i]
        return (
            self.offset[:, pair],
            along * cos + across * sin,
            across * cos - along * sin,
            self.rb[pair],
        )

    def minima(self, pair: Ints, i: Ints, t: Floats) -> Minima:
        """The points and distances at tangents ``t`` after sample ``i`` of pairs ``pair``."""
        offset, along, across, rb = self.from_samples(pair, i)
        cos, sin = _cos_sin(t)
        x, y, h = offset + (along * cos + across * sin)
        rho = np.sqrt(x * x + y * y)
        # On B's axis every point of B is nearest; any one of them will do.
        on_axis = rho == 0.0
        safe = np.where(on_axis, 1.0, rho)
        cos_b, sin_b = np.where(on_axis, 1.0, x / safe), y / safe
        cos, sin = _COS[i] * cos - _SIN[i] * sin, _SIN[i] * cos + _COS[i] * sin
        spoke_a = cos * self.ua[:, pair] + sin * self.va[:, pair]
        spoke_b = cos_b * self.ub[:, pair] + sin_b * self.vb[:, pair]
        outside = rho - rb
        return Minima(
            pair,
            np.sqrt(outside * outside + h * h),
            np.ascontiguousarray((self.ca[:, pair] + self.ra[pair] * spoke_a).T),
            np.ascontiguousarray((self.cb[:, pair] + rb * spoke_b).T),
        )


def _cos_sin(t: Floats) -> tuple[Floats, Floats]:
    """Cosine and sine of the angles whose halves have the tangents ``t``."""
    square = t * t
    whole = 1.0 + square
    return (1.0 - square) / whole, (t + t) / whole


def _slopes(
    offset: Floats, along: Floats, across: Floats, rb: Floats, cos: Floats, sin: Floats
) -> tuple[Floats, Floats, Floats]:
    """Half the first and second derivative of the squared distance, and rho."""
    turning = along * cos + across * sin
    place, ahead = offset + turning, across * cos - along * sin
    square = place[:2] * place[:2]
    rho = np.sqrt(square[0] + square[1])
    safe = np.where(rho == 0.0, 1.0, rho)
    outside = rho - rb
    forward, speed, back = place * ahead, ahead * ahead, place * turning
    drho = (forward[0] + forward[1]) / safe
    bend = drho * drho
    ddrho = (speed[0] + speed[1] - back[0] - back[1] - bend) / safe
    first = outside * drho + forward[2]
    second = bend + outside * ddrho + speed[2] - back[2]
    return first, second, rho


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
    a, b = (ca, na, ra), (cb, nb, rb)
    loops = compiled(_CALL + len(ra))
    if loops is not None:
        return _joined(list(_compiled_minima(loops, _plain(a) + _plain(b))))
    starts = range(0, max(len(ra), 1), _BLOCK)
    found = [_block_minima(_rows(a, start), _rows(b, start)) for start in starts]
    return _joined(
        [replace(part, pair=part.pair + start) for part, start in zip(found, starts, strict=True)]
    )


def _joined(parts: list[Minima]) -> Minima:
    """Minima of one block of pairs after the other."""
    if len(parts) == 1:
        return parts[0]
    return Minima(
        np.concatenate([part.pair for part in parts]),
        np.concatenate([part.distance for part in parts]),
        np.concatenate([part.point_a for part in parts]),
        np.concatenate([part.point_b for part in parts]),
    )


def _compiled_minima(loops: ModuleType, circles: list[Floats]) -> Iterator[Minima]:
    """The minima of all pairs in one or more parts."""
    work, places = np.empty((3, _SAMPLES + 1)), np.empty((2, 2 * _SAMPLES, 2))
    start, pairs = 0, len(circles[2])
    while True:
        end = min(pairs, start + _COMPILED_BLOCK)
        # Two minima for most pairs and four for some; where that is too little room, the
        # loop stops early and goes on in another part.
        room = 3 * (end - start) + 2 * _SAMPLES
        pair, distance = np.empty(room, dtype=np.intp), np.empty(room)
        points = np.empty((2, room, 3))
        settings = (_COS, _SIN, _NUMBERS, _COUNTS, start, end)
        start, k = loops.minima(*circles, *settings, pair, distance, *points, work, places)
        yield Minima(pair[:k], distance[:k], points[0, :k], points[1, :k])
        if start == pairs:
            return


def _plain(circles: Circles) -> list[Floats]:
    """The arrays in the one layout that the compiled loops take."""
    return [np.ascontiguousarray(array, dtype=float) for array in circles]


def _rows(circles: Circles, start: int) -> Circles:
    """A block of circles."""
    centres, normals, radii = (array[start : start + _BLOCK] for array in circles)
    return centres, normals, radii


def _block_minima(a: Circles, b: Circles) -> Minima:
    """All minima of a block of pairs."""
    m = len(a[2])
    # A circle that brushes the other's axis swings round it within a few degrees, and two
    # minima can hide between samples. Seen from the other circle they lie apart. Both views
    # of such pairs are searched at once.
    again = np.flatnonzero(_may_brush(a, b))
    if again.size == 0:
        return _search(a, b)[0]
    first, second = ([w[again] for w in circles] for circles in (a, b))
    one, other = (
        (np.concatenate([x, p]), np.concatenate([y, q]), np.concatenate([z, r]))
        for (x, y, z), (p, q, r) in ((a, second), (b, first))
    )
    found, brushes = _search(one, other)
    counts = np.bincount(found.pair, minlength=m + again.size)
    better = brushes[again] & (counts[m:] > counts[again])
    wanted = np.ones(m + again.size, dtype=bool)
    wanted[m:], wanted[again] = better, ~better
    keep = np.flatnonzero(wanted[found.pair])
    pair = np.concatenate([np.arange(m), again])[found.pair[keep]]
    order = np.argsort(pair, kind="stable")
    keep, swapped = keep[order], (found.pair[keep[order]] >= m)[:, None]
    point_a, point_b = found.point_a[keep], found.point_b[keep]
    return Minima(
        pair[order],
        found.distance[keep],
        np.where(swapped, point_b, point_a),
        np.where(swapped, point_a, point_b),
    )


def _may_brush(a: Circles, b: Circles) -> Bools:
    """Pairs in which circle A may pass close by B's axis: all that do, and some others."""
    normal, offset = b[1].T, (a[0] - b[0]).T
    flat = offset - _dot(offset, normal) * normal
    # Seen along the axis, circle A is an ellipse with these half axes about this centre.
    away, wide, narrow = np.sqrt(_dot(flat, flat)), a[2], a[2] * np.abs(_dot(a[1].T, normal))
    close = 1.001 * _BRUSH * wide
    return np.asarray((away - wide < close) & (narrow - away < close))


def _search(a: Circles, b: Circles) -> tuple[Minima, Bools]:
    """Minima along the first circles, and which of these brush the second's axis."""
    curves = _Curves(a, b)
    first, second, rho = curves.at_samples()
    level = curves.level(first)
    brushes = ~level & (rho.min(axis=1) < _BRUSH * curves.ra)
    # A sample just on a crest has a slope lost in rounding, of either sign. Taken as falling,
    # it keeps the valleys on both sides apart from the crest.
    lost = _ROUNDING * np.maximum(first.max(axis=1), -first.min(axis=1))[:, None]
    first = np.where((np.abs(first) <= lost) & (second < 0.0), -lost, first)
    pair, i, t = _between_samples(curves, first, second, ~level)
    if level.any():
        flat = np.flatnonzero(level)
        pair = np.concatenate([pair, np.repeat(flat, 4)])
        i = np.concatenate([i, np.tile(np.arange(0, _SAMPLES, _SAMPLES // 4), flat.size)])
        t = np.concatenate([t, np.zeros(4 * flat.size)])
        order = np.argsort(pair, kind="stable")
        pair, i, t = pair[order], i[order], t[order]
    return curves.minima(pair, i, t), brushes


def _between_samples(
    curves: _Curves, first: Floats, second: Floats, wanted: Bools
) -> tuple[Ints, Ints, Floats]:
    """Every minimum of the wanted pairs: pair, sample before it, and tangent from there."""
    negative = first < 0.0
    odd = _may_turn(first, second, negative) & wanted[:, None]
    pair, i = np.nonzero(negative[:, :-1] & ~negative[:, 1:] & ~odd & wanted[:, None])
    start = _guess(first[pair, i], first[pair, i + 1], second[pair, i], second[pair, i + 1])
    low, high = np.zeros_like(start), np.full_like(start, _HALF_STEP_TANGENT)
    if odd.any():
        more = list(_turning(curves, first, second, *np.nonzero(odd)))
        pair = np.concatenate([pair, *(part[0] for part in more)])
        i = np.concatenate([i, *(part[1] for part in more)])
        low, high, start = np.concatenate([[low, high, start], *(part[2] for part in more)], axis=1)
        order = np.lexsort((low, i, pair))
        pair, i, low, high, start = pair[order], i[order], low[order], high[order], start[order]
    return pair, i, _polish(curves.from_samples(pair, i), low, high, start)


def _may_turn(first: Floats, second: Floats, negative: Bools) -> Bools:
    """The intervals in which the slope may turn and go through zero more often than it seems.

    Either once, where it has one sign and comes nearer to zero from both ends. Or
    twice, where it rises at both ends or falls at both, but as a cubic with these values
    and rises would do the contrary in the middle, or nearly.
    """
    rise, rise_after = second[:, :-1], second[:, 1:]
    nearer = first * second < 0.0
    once = (negative[:, :-1] == negative[:, 1:]) & nearer[:, :-1] & (second * first > 0.0)[:, 1:]
    waist = (first[:, 1:] - first[:, :-1]) * _THRICE - rise - rise_after
    both = rise * rise_after
    twice = (both > 0.0) & (waist * rise < 0.0) & (waist * waist > 0.25 * both)
    return np.asarray(once | twice)


def _turning(
    curves: _Curves, first: Floats, second: Floats, pair: Ints, i: Ints
) -> Iterator[tuple[Ints, Ints, Floats]]:
    """Brackets in the intervals of :func:`_may_turn`: pairs, samples, rows of (low, high, start).

    In each interval places are looked for where the slope lies beyond zero, by the turning
    points. Between a place below zero and the next one above zero lies a minimum.
    """
    before, after = first[pair, i], first[pair, i + 1]
    rise, rise_after = second[pair, i], second[pair, i + 1]
    twice = rise * rise_after > 0.0
    waist = (after - before) * _THRICE - rise - rise_after
    curve = curves.from_samples(pair, i)
    end = np.full(pair.size, _HALF_STEP_TANGENT)
    with np.errstate(divide="ignore", invalid="ignore"):
        middle = end * np.where(twice, (rise - waist) / (rise - 2.0 * waist + rise_after), 1.0)
        # A slope that turns once gets no farther than where the tangents at its ends meet, or,
        # should it be steepest in between, than a third of the way along one of them.
        meet = (after - before - rise_after * _STEP) / (rise - rise_after)
        hopeful = (before + rise * meet) * before < 0.0
        hopeful |= (before + rise / _THRICE) * before < 0.0
        hopeful |= (after - rise_after / _THRICE) * before < 0.0
    place, below = np.zeros(pair.size), before < 0.0
    sides = (
        (place, middle, np.where(twice, -rise, before), twice | hopeful),
        (middle, end, rise, twice),
    )
    for (_, _, sign, _), (there, found) in zip(sides, _both_beyond_zero(curve, sides), strict=True):
        there, under = np.where(found, there, place), np.where(found, sign > 0.0, below)
        up = below & ~under
        yield pair[up], i[up], np.stack([place, there, 0.5 * (place + there)])[:, up]
        place, below = there, under
    up = below & ~(after < 0.0)
    yield pair[up], i[up], np.stack([place, end, 0.5 * (place + end)])[:, up]


# Where a place is looked for: from and to, the slope's sign, and in which intervals at all.
_Side = tuple[Floats, Floats, Floats, Bools]


def _both_beyond_zero(
    curve: _Local, sides: tuple[_Side, _Side]
) -> tuple[tuple[Floats, Bools], tuple[Floats, Bools]]:
    """On either side of the turning points: a place beyond zero, and whether one was found."""
    low, high, sign, wanted = (np.concatenate(part) for part in zip(*sides, strict=True))
    there, found = low, np.zeros(low.size, dtype=bool)
    rows = np.flatnonzero(wanted)
    if rows.size:
        offset, along, across, rb = curve
        own = rows % rb.size
        some = offset[:, own], along[:, own], across[:, own], rb[own]
        there[rows], found[rows] = _beyond_zero(some, low[rows], high[rows], sign[rows])
    half = len(there) // 2
    return (there[:half], found[:half]), (there[half:], found[half:])


def _beyond_zero(curve: _Local, low: Floats, high: Floats, sign: Floats) -> tuple[Floats, Bools]:
    """A place where the slope has not this sign but the other, and whether one was found.

    Bisection on its derivative, towards the slope's turning point between ``low`` and ``high``.
    """
    through = over = np.zeros(sign.size, dtype=bool)
    for _ in range(_BISECTIONS):
        if over.all():
            break
        middle = 0.5 * (low + high)
        first, second, _ = _slopes(*curve, *_cos_sin(middle))
        crossed = ~over & (first * sign < 0.0)
        falling = sign * second < 0.0
        # Both ends move to a place beyond zero, which so stays the middle.
        low = np.where(over, low, np.where(falling | crossed, middle, low))
        high = np.where(over, high, np.where(falling & ~crossed, high, middle))
        through, over = through | crossed, over | crossed
    return 0.5 * (low + high), through


def _guess(before: Floats, after: Floats, rise_before: Floats, rise_after: Floats) -> Floats:
    """About where the slope is zero, from its values and rises at both ends of an interval.

    A cubic for the tangent as a function of the slope; where it strays, a straight line.
    """
    top = _HALF_STEP_TANGENT
    climb = after - before
    share = -before / climb
    left = 1.0 - share
    with np.errstate(divide="ignore", invalid="ignore"):
        low = climb / (2.0 * rise_before)
        high = climb / (2.0 * rise_after / (1.0 + top * top))
        cubic = share * (low * left * left + share * (top * (3.0 - 2.0 * share) - high * left))
    rises = (rise_before > 0.0) & (rise_after > 0.0)
    good = rises & (cubic > 0.0) & (cubic < top)
    # By an end on a crest the slope is small too; the valley lies away from there.
    away = np.where(rises, share, np.minimum(np.maximum(share, 0.1), 0.9))
    return np.where(good, cubic, top * away)


def _polish(curve: _Local, low: Floats, high: Floats, t: Floats) -> Floats:
    """The zero of the slope inside each bracket: Newton's method, kept in by bisection."""
    offset, along, across, rb = curve
    zero = np.zeros(t.size)
    last = np.zeros(t.size)
    rows = np.arange(t.size)
    for _ in range(_ROUNDS):
        first, second, _ = _slopes(offset, along, across, rb, *_cos_sin(t))
        below = first < 0.0
        low, high = np.where(below, t, low), np.where(below, high, t)
        with np.errstate(divide="ignore", invalid="ignore"):
            move = -0.5 * first * (1.0 + t * t) / second
        size = np.abs(move)
        # Newton's moves shrink by their square, so the one after this can be foretold. A
        # move lost in rounding is the end even where it points out of the bracket.
        done = (
            (size < _FINEST) | (high - low < _FINEST) | (size * size * size < _FINEST * last * last)
        )
        moved = t + move
        inside = (moved > low) & (moved < high)
        t = np.where(inside, moved, np.where(done, t, 0.5 * (low + high)))
        last = np.where(inside, size, 0.0)
        if done.any():
            zero[rows[done]] = t[done]
            left = ~done
            rows = rows[left]
            if rows.size == 0:
                return zero
            offset, along, across = offset[:, left], along[:, left], across[:, left]
            rb, low, high, t, last = rb[left], low[left], high[left], t[left], last[left]
    zero[rows] = t
    return zero


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
    rho = lengths(flat)[..., None]
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
    loops = compiled(_LINKING_CALL + len(ra) // _LINKINGS)
    if loops is not None:
        number = np.zeros(len(ra), dtype=np.intp)
        loops.linking(*_plain((ca, na, ra)), *_plain((cb, nb, rb)), number)
        return number
    ua, va = _basis(na.T)
    normal, offset = nb.T, (ca - cb).T
    height = _dot(offset, normal)
    along, across = ra * _dot(ua, normal), ra * _dot(va, normal)
    swing = np.sqrt(along * along + across * across)
    meets = swing > np.abs(height)
    safe = np.where(meets, swing, 1.0)
    # The two angles are that of the highest point, less and plus one with this cosine.
    cos, sin = along / safe, across / safe
    cos_half = -height / safe
    sin_half = np.sqrt(np.where(meets, (swing - height) * (swing + height), 0.0)) / safe
    inside = []
    for side in (sin_half, -sin_half):
        spoke = (cos * cos_half + sin * side) * ua + (sin * cos_half - cos * side) * va
        point = offset + ra * spoke
        flat = point - _dot(point, normal) * normal
        inside.append(np.sqrt(_dot(flat, flat)) < rb)
    # The height rises through zero at the first of the two angles and falls at the second.
    return np.where(meets, inside[0].astype(np.intp) - inside[1].astype(np.intp), 0)
