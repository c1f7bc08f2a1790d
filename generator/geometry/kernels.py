"""The loops of ``circles``, compiled by Numba; imported through ``speed`` only.

Every formula is that of ``circles``, with the operations in the same order, so
that both give the same bits: no fused or reordered arithmetic, and of all library
functions only the square root, which every library rounds correctly. Machine
code is kept between runs, so everything that ``circles`` may want to change
comes in as an argument: ``numbers`` (step, 3 / step, tangent of half a step,
rounding, brush, finest) and ``counts`` (bisections, rounds).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numpy as np
from numba import float64, int64, njit, types

from ringwright.base.arrays import Floats, Ints

Triple = tuple[float, float, float]
# Centre, normal and radius.
Circle = tuple[Triple, Triple, float]
# Constant, cosine and sine part of a circle's points in the other's frame; its radius.
Curve = tuple[Triple, Triple, Triple, float]
# The slope at both ends of an interval, and how it rises there.
Ends = tuple[float, float, float, float]
Numbers = tuple[float, float, float, float, float, float]
Counts = tuple[int, int]

_VECTOR = types.Array(float64, 1, "C", readonly=True)
_MATRIX = types.Array(float64, 2, "C", readonly=True)
_PAIRS = (_MATRIX, _MATRIX, _VECTOR, _MATRIX, _MATRIX, _VECTOR)
_SETTINGS = (_VECTOR, _VECTOR, types.UniTuple(float64, 6), types.UniTuple(int64, 2))
_RESULTS = (
    int64[::1],
    float64[::1],
    float64[:, ::1],
    float64[:, ::1],
    float64[:, ::1],
    float64[:, :, ::1],
)

Function = TypeVar("Function", bound=Callable[..., Any])


def _part(function: Function) -> Function:
    """A function that is called from compiled loops only."""
    # Division as in NumPy: by zero gives infinity or not-a-number.
    made = njit(error_model="numpy", no_cpython_wrapper=True, no_cfunc_wrapper=True)(function)
    return cast(Function, made)


def _whole(*arguments: Any) -> Callable[[Function], Function]:
    """A loop called from outside: compiled at once, or loaded from where it is kept."""
    made = njit(arguments, error_model="numpy", cache=True)
    return cast(Callable[[Function], Function], made)


@_part
def _dot(a: Triple, b: Triple) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@_part
def _row(array: Floats, m: int) -> Triple:
    return array[m, 0], array[m, 1], array[m, 2]


@_part
def _basis(normal: Triple) -> tuple[Triple, Triple]:
    x, y, z = normal
    sign = -1.0 if z < 0.0 else 1.0
    a = -1.0 / (sign + z)
    b = x * y * a
    u = (1.0 + sign * x * x * a, sign * b, -sign * x)
    return u, (b, sign + y * y * a, -y)


@_part
def _seen(frame: tuple[Triple, Triple, Triple], vector: Triple) -> Triple:
    return _dot(frame[0], vector), _dot(frame[1], vector), _dot(frame[2], vector)


@_part
def _times(factor: float, vector: Triple) -> Triple:
    return factor * vector[0], factor * vector[1], factor * vector[2]


@_part
def _sum(a: Triple, b: Triple) -> Triple:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


@_part
def _difference(a: Triple, b: Triple) -> Triple:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@_part
def _curve(a: Circle, b: Circle) -> Curve:
    ua, va = _basis(a[1])
    ub, vb = _basis(b[1])
    frame = (ub, vb, b[1])
    offset = _seen(frame, _difference(a[0], b[0]))
    return offset, _times(a[2], _seen(frame, ua)), _times(a[2], _seen(frame, va)), b[2]


@_part
def _from_sample(curve: Curve, cos: float, sin: float) -> Curve:
    offset, along, across, rb = curve
    return (
        offset,
        _sum(_times(cos, along), _times(sin, across)),
        _difference(_times(cos, across), _times(sin, along)),
        rb,
    )


@_part
def _slopes(curve: Curve, cos: float, sin: float) -> tuple[float, float, float, float]:
    """Half the first and second derivative, rho, and how the first's rounding error scales."""
    offset, along, across, rb = curve
    turning = _sum(_times(cos, along), _times(sin, across))
    ahead = _difference(_times(cos, across), _times(sin, along))
    x, y, h = _sum(offset, turning)
    dx, dy, dh = ahead
    rho = np.sqrt(x * x + y * y)
    safe = 1.0 if rho == 0.0 else rho
    outside = rho - rb
    drho = (x * dx + y * dy) / safe
    bend = drho * drho
    ddrho = (dx * dx + dy * dy - x * turning[0] - y * turning[1] - bend) / safe
    first = outside * drho + h * dh
    second = bend + outside * ddrho + dh * dh - h * turning[2]
    return first, second, rho, abs(outside) + abs(drho) + abs(h) + abs(dh)


@_part
def _slopes_after(curve: Curve, t: float) -> tuple[float, float]:
    square = t * t
    whole = 1.0 + square
    first, second, _, _ = _slopes(curve, (1.0 - square) / whole, (t + t) / whole)
    return first, second


@_part
def _guess(before: float, after: float, rise_before: float, rise_after: float, top: float) -> float:
    climb = after - before
    share = -before / climb
    left = 1.0 - share
    low = climb / (2.0 * rise_before)
    high = climb / (2.0 * rise_after / (1.0 + top * top))
    cubic = share * (low * left * left + share * (top * (3.0 - 2.0 * share) - high * left))
    if rise_before > 0.0 and rise_after > 0.0 and cubic > 0.0 and cubic < top:
        return cubic
    if rise_before > 0.0 and rise_after > 0.0:
        return top * share
    return top * min(max(share, 0.1), 0.9)


@_part
def _beyond_zero(curve: Curve, low: float, high: float, sign: float, bisections: int) -> float:
    """A place between where the slope has not this sign but the other, or -1."""
    for _ in range(bisections):
        middle = 0.5 * (low + high)
        first, second = _slopes_after(curve, middle)
        if first * sign < 0.0:
            return middle
        if sign * second < 0.0:
            low = middle
        else:
            high = middle
    return -1.0


@_part
def _polish(curve: Curve, low: float, high: float, t: float, finest: float, rounds: int) -> float:
    last = 0.0
    for _ in range(rounds):
        first, second = _slopes_after(curve, t)
        if first < 0.0:
            low = t
        else:
            high = t
        move = -0.5 * first * (1.0 + t * t) / second
        size = abs(move)
        done = size < finest or high - low < finest or size * size * size < finest * last * last
        moved = t + move
        if moved > low and moved < high:
            t, last = moved, size
        else:
            last = 0.0
            if not done:
                t = 0.5 * (low + high)
        if done:
            break
    return t


@_part
def _turns(ends: Ends, thrice: float) -> int:
    """How often the slope may turn in an interval and come through zero: 0, 1 or 2 times."""
    before, after, rise, rise_after = ends
    both = rise * rise_after
    if both > 0.0:
        waist = (after - before) * thrice - rise - rise_after
        return 2 if waist * rise < 0.0 and waist * waist > 0.25 * both else 0
    same = (before < 0.0) == (after < 0.0)
    return 1 if same and before * rise < 0.0 and after * rise_after > 0.0 else 0


@_part
def _beyond(
    curve: Curve, ends: Ends, turns: int, numbers: Numbers, bisections: int
) -> tuple[float, float]:
    """Places in an interval where the slope lies beyond zero, by its turning points, or -1."""
    before, after, rise, rise_after = ends
    step, thrice, top = numbers[0], numbers[1], numbers[2]
    if turns == 1:
        meet = (after - before - rise_after * step) / (rise - rise_after)
        hopeful = (before + rise * meet) * before < 0.0
        hopeful |= (before + rise / thrice) * before < 0.0
        hopeful |= (after - rise_after / thrice) * before < 0.0
        if hopeful:
            return _beyond_zero(curve, 0.0, top, before, bisections), -1.0
        return -1.0, -1.0
    waist = (after - before) * thrice - rise - rise_after
    middle = top * ((rise - waist) / (rise - 2.0 * waist + rise_after))
    one = _beyond_zero(curve, 0.0, middle, -rise, bisections)
    return one, _beyond_zero(curve, middle, top, rise, bisections)


@_part
def _is_level(
    curve: Curve, ra: float, steepest: float, cos: Floats, sin: Floats, rounding: float
) -> bool:
    offset, _, _, rb = curve
    size = ra + rb + abs(offset[0]) + abs(offset[1]) + abs(offset[2])
    if not steepest <= 5.0 * rounding * size * size:
        return False
    worth = 0.0
    for i in range(len(cos)):
        worth = max(worth, _slopes(curve, cos[i], sin[i])[3])
    return steepest <= rounding * size * worth


@_part
def _search(
    curve: Curve,
    ra: float,
    cos: Floats,
    sin: Floats,
    numbers: Numbers,
    counts: Counts,
    work: Floats,
    places: Floats,
) -> tuple[int, bool]:
    """Write (sample, tangent) rows to ``places``: how many, and whether it brushes the axis."""
    samples = len(cos) - 1
    first, second, rho = work[0], work[1], work[2]
    for i in range(samples + 1):
        first[i], second[i], rho[i], _ = _slopes(curve, cos[i], sin[i])
    steepest, nearest = 0.0, rho[0]
    for i in range(samples + 1):
        steepest, nearest = max(steepest, abs(first[i])), min(nearest, rho[i])
    if _is_level(curve, ra, steepest, cos, sin, numbers[3]):
        for k in range(4):
            places[k, 0], places[k, 1] = k * (samples // 4), 0.0
        return 4, False
    lost = numbers[3] * steepest
    for i in range(samples + 1):
        if abs(first[i]) <= lost and second[i] < 0.0:
            first[i] = -lost
    found = 0
    for i in range(samples):
        ends = (first[i], first[i + 1], second[i], second[i + 1])
        turns = _turns(ends, numbers[1])
        if turns == 0 and not (ends[0] < 0.0 and ends[1] >= 0.0):
            continue
        local = _from_sample(curve, cos[i], sin[i])
        one, two = -1.0, -1.0
        if turns > 0:
            one, two = _beyond(local, ends, turns, numbers, counts[0])
        sign = ends[0] if turns == 1 else -ends[2]
        stops = (one, two, numbers[2])
        below = (sign > 0.0, sign < 0.0, ends[1] < 0.0)
        place, under = 0.0, ends[0] < 0.0
        for k in range(3):
            if stops[k] < 0.0:
                continue
            if under and not below[k]:
                start = 0.5 * (place + stops[k])
                if turns == 0:
                    start = _guess(ends[0], ends[1], ends[2], ends[3], numbers[2])
                places[found, 0] = i
                places[found, 1] = _polish(local, place, stops[k], start, numbers[5], counts[1])
                found += 1
            place, under = stops[k], below[k]
    return found, nearest < numbers[4] * ra


@_part
def _points(
    curve: Curve,
    a: Circle,
    b: Circle,
    cos: float,
    sin: float,
    t: float,
) -> tuple[float, Triple, Triple]:
    """Distance and the two points, a tangent ``t`` after the sample with ``cos`` and ``sin``."""
    offset, along, across, rb = _from_sample(curve, cos, sin)
    square = t * t
    whole = 1.0 + square
    c, s = (1.0 - square) / whole, (t + t) / whole
    x, y, h = _sum(offset, _sum(_times(c, along), _times(s, across)))
    rho = np.sqrt(x * x + y * y)
    cos_b, sin_b = (1.0, y) if rho == 0.0 else (x / rho, y / rho)
    c, s = cos * c - sin * s, sin * c + cos * s
    (ua, va), (ub, vb) = _basis(a[1]), _basis(b[1])
    spoke_a = _sum(_times(c, ua), _times(s, va))
    spoke_b = _sum(_times(cos_b, ub), _times(sin_b, vb))
    outside = rho - rb
    return (
        np.sqrt(outside * outside + h * h),
        _sum(a[0], _times(a[2], spoke_a)),
        _sum(b[0], _times(rb, spoke_b)),
    )


@_whole(*_PAIRS, *_SETTINGS, int64, int64, *_RESULTS)
def minima(
    ca: Floats,
    na: Floats,
    ra: Floats,
    cb: Floats,
    nb: Floats,
    rb: Floats,
    cos: Floats,
    sin: Floats,
    numbers: Numbers,
    counts: Counts,
    start: int,
    end: int,
    pair: Ints,
    distance: Floats,
    point_a: Floats,
    point_b: Floats,
    work: Floats,
    places: Floats,
) -> tuple[int, int]:
    """As ``circles.distance_minima``, for pairs from ``start`` to before ``end``.

    Parameters
    ----------
    pair, distance, point_a, point_b : written to; as in ``Minima``
    work, places : (3, samples + 1) and (2, 2 * samples, 2) to work in

    Returns
    -------
    The pair it stopped at for want of room, or ``end``; and how many minima it wrote.
    """
    k = 0
    for m in range(start, end):
        if k + places.shape[1] > len(pair):
            return m, k
        a, b = (_row(ca, m), _row(na, m), ra[m]), (_row(cb, m), _row(nb, m), rb[m])
        one, other = _curve(a, b), _curve(b, a)
        found, brushes = _search(one, ra[m], cos, sin, numbers, counts, work, places[0])
        more = 0
        if brushes:
            more, _ = _search(other, rb[m], cos, sin, numbers, counts, work, places[1])
        swapped = more > found
        for p in range(max(found, more)):
            if swapped:
                i, t = int(places[1, p, 0]), places[1, p, 1]
                apart, second_point, first_point = _points(other, b, a, cos[i], sin[i], t)
            else:
                i, t = int(places[0, p, 0]), places[0, p, 1]
                apart, first_point, second_point = _points(one, a, b, cos[i], sin[i], t)
            pair[k], distance[k] = m, apart
            for axis in range(3):
                point_a[k, axis], point_b[k, axis] = first_point[axis], second_point[axis]
            k += 1
    return end, k


@_part
def _is_inside(
    offset: Triple, ra: float, u: Triple, v: Triple, normal: Triple, rb: float, c: float, s: float
) -> bool:
    """Whether the first circle's point at this cosine and sine lies over the second's disc."""
    point = _sum(offset, _times(ra, _sum(_times(c, u), _times(s, v))))
    flat = _difference(point, _times(_dot(point, normal), normal))
    return bool(np.sqrt(_dot(flat, flat)) < rb)


@_whole(*_PAIRS, int64[::1])
def linking(
    ca: Floats, na: Floats, ra: Floats, cb: Floats, nb: Floats, rb: Floats, number: Ints
) -> None:
    """As :func:`ringwright.geometry.circles.linking_number`, added to ``number``."""
    for m in range(len(ra)):
        u, v = _basis(_row(na, m))
        normal = _row(nb, m)
        offset = _difference(_row(ca, m), _row(cb, m))
        height = _dot(offset, normal)
        along, across = ra[m] * _dot(u, normal), ra[m] * _dot(v, normal)
        swing = np.sqrt(along * along + across * across)
        if not swing > abs(height):
            continue
        cos, sin, cos_half = along / swing, across / swing, -height / swing
        sin_half = np.sqrt((swing - height) * (swing + height)) / swing
        for sign in (1, -1):
            side = sign * sin_half
            c, s = cos * cos_half + sin * side, sin * cos_half - cos * side
            if _is_inside(offset, ra[m], u, v, normal, rb[m], c, s):
                number[m] += sign
