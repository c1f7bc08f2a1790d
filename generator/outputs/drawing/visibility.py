"""Which parts of the outlines are seen, which other rings hide, and which a ring hides itself.

A point is hidden when a ball along some ring's core circle, nearer to the eye, covers it in the
picture. Rings do not interfere, so the point is inside no ball, and only balls whose centres
are nearer than the point can cover it: the distance on paper to the front arc of a core
circle's ellipse is compared with the wire radius.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.contact import Rings
from ringwright.outputs.drawing.outline import Ellipses, View, ellipses

SEEN, HIDDEN, BEHIND_ITSELF = 0, 1, 2

# The square of the distance is a wave of two periods at most round the ellipse, so this many
# places show each of its minima.
_PLACES = 35
_NEWTON_ROUNDS = 6
_NOT_ALL = -1.0 + 1e-12
# Of a shorter arc than this, in radians, all places are equally far away but for rounding; it
# covers no more than a few micrometres.
_SHORTEST_ARC = 1e-3
# Halvings between neighbouring points of an outline, which are at most 0.1 core radii apart.
_HALVINGS = 14
# Points this near the edge of a ring in front, in core radii, count as hidden by it; rings exactly
# behind one another then do not flicker.
_AT_EDGE = 1e-5
# The same for the ring a point is on: its far side, seen all but edge on, reaches hardly beyond
# its near side, and would have gaps at its ends.
_AT_OWN_EDGE = 1e-9
# Lines nearer than this, in millimetres, over a stretch of several times as much are one line.
_SAME_LINE_MM = 0.02


@dataclass(frozen=True, eq=False)
class Outlines:
    """The lines of a view: polylines (n, 2) in millimetres, on paper at full size."""

    seen: tuple[Floats, ...]
    hidden: tuple[Floats, ...]


@dataclass(frozen=True, eq=False)
class _Places:
    """Points of outlines: ring, side (1 outside, -1 inside) and angle, each (m,)."""

    ring: Ints
    side: Floats
    t: Floats

    @classmethod
    def loop(cls, drawn: Ellipses, ring: int, side: float) -> _Places:
        """Places all round one outline of a ring."""
        t = drawn.steps(ring)
        return cls(np.full(len(t), ring), np.full(len(t), side), t)

    @classmethod
    def joined(cls, loops: Sequence[_Places]) -> _Places:
        """One after another."""
        return cls(
            np.concatenate([loop.ring for loop in loops]),
            np.concatenate([loop.side for loop in loops]),
            np.concatenate([loop.t for loop in loops]),
        )


def outlines(rings: Rings, view: View) -> Outlines:
    """The outlines of rings that do not interfere, hidden parts told from those that are seen.

    Parts that a ring hides itself are left out, and so are hidden lines along lines that
    are drawn already. Points lie on the true outline; straight pieces between them leave
    it by less than 0.001 mm for rings up to 20 mm across.

    Parameters
    ----------
    rings : in millimetres
    view : where one looks from
    """
    drawn = ellipses(rings, view)
    # Nearest ring first: of hidden lines that coincide, one is drawn.
    order = np.argsort(-(drawn.depths + drawn.rises), kind="stable")
    loops = [_Places.loop(drawn, int(ring), side) for ring in order for side in (1.0, -1.0)]
    every = _Places.joined(loops)
    kind = kinds(drawn, every.ring, every.side, every.t)
    ends = np.cumsum([len(loop.t) for loop in loops])
    following = np.arange(1, len(kind) + 1)
    following[ends - 1] = ends - [len(loop.t) for loop in loops]
    changes = np.flatnonzero(kind != kind[following])
    cuts = _cuts(drawn, every, kind, changes, following)
    seen: list[Floats] = []
    behind: list[Floats] = []
    for loop, end in zip(loops, ends, strict=True):
        own = slice(end - len(loop.t), end)
        rows = np.flatnonzero((changes >= own.start) & (changes < end))
        for what, line in _runs(drawn, loop, kind[own], changes[rows] - own.start, cuts[rows]):
            (seen if what == SEEN else behind).append(line)
    return Outlines(*_only_new(seen, behind))


def kinds(drawn: Ellipses, ring: Ints, side: Floats, t: Floats) -> Ints:
    """What becomes of points of the outlines, (m,): SEEN, HIDDEN by another ring, BEHIND_ITSELF.

    Parameters
    ----------
    ring, side, t : (m,) which ring's outline, 1 for the outer and -1 for the inner one, and
        the angle along its core circle
    """
    points = drawn.outline(ring, side, t)
    depths = drawn.depth(ring, t)
    found = np.full(len(points), SEEN, np.intp)
    by_x = np.argsort(points[:, 0], kind="stable")
    sorted_x = points[by_x, 0]
    for front in range(len(drawn.cores)):
        reach = drawn.cores[front] + drawn.wires[front]
        span = drawn.centres[front, 0] + np.array([-reach, reach])
        some = by_x[slice(*np.searchsorted(sorted_x, span))]
        some = some[_may_be_covered(drawn, front, points[some], depths[some])]
        own = ring[some] == front
        rows = some[~own & (found[some] == SEEN)]
        if len(rows):
            low = _level(drawn, front, depths[rows])
            found[rows[_covered(drawn, front, points[rows], low, _AT_EDGE)]] = HIDDEN
        rows = some[own]
        if len(rows):
            # Never the whole circle: a point at the very back is not covered by its own ball.
            low = np.maximum(np.sin(t[rows]), _NOT_ALL)
            covered = _covered(drawn, front, points[rows], low, _AT_OWN_EDGE)
            found[rows[covered]] = BEHIND_ITSELF
    return found


def _may_be_covered(drawn: Ellipses, ring: int, points: Floats, depths: Floats) -> Bools:
    """Whether points, (m,), are near enough to a ring's ellipse, and not nearer than all of it.

    Scaled to the unit circle, no distance becomes longer than 1 / b times itself.
    """
    core, half = drawn.cores[ring], drawn.halves[ring]
    away = points - drawn.centres[ring]
    x, y = away @ drawn.majors[ring], away @ drawn.minors[ring]
    off = np.abs(np.hypot(x / core, y / half) - 1.0) * half
    near = off < drawn.wires[ring] + _AT_EDGE * core
    near &= np.hypot(x, y) < core + drawn.wires[ring] + _AT_EDGE * core
    return np.asarray(near & (depths < drawn.depths[ring] + drawn.rises[ring]))


def _level(drawn: Ellipses, ring: int, depths: Floats) -> Floats:
    """The sine of the angles of a core circle that are at given depths, -1 where all is nearer."""
    rise = drawn.rises[ring]
    if rise < 1e-9 * drawn.cores[ring]:
        return np.full(len(depths), -1.0)
    return np.asarray(np.maximum((depths - drawn.depths[ring]) / rise, -1.0))


def _covered(drawn: Ellipses, ring: int, points: Floats, level: Floats, at_edge: float) -> Bools:
    """Whether a ring's balls with sin t > level cover points, (m,), or nearly (in core radii)."""
    core, half, wire = drawn.cores[ring], drawn.halves[ring], drawn.wires[ring]
    edge = wire + at_edge * core
    away = points - drawn.centres[ring]
    x, y = away @ drawn.majors[ring], away @ drawn.minors[ring]
    start = np.arcsin(np.clip(level, -1.0, 1.0))
    # A whole circle is looked at in even steps, one more at either end, so that each of its
    # minima lies between two others. An arc's places crowd at its ends, because the point
    # may itself be the picture of a place just beyond.
    full = level <= -1.0
    even = np.arange(-1, _PLACES - 1) / (_PLACES - 3)
    crowded = (1.0 - np.cos(np.pi * np.arange(_PLACES) / (_PLACES - 1))) / 2
    span = np.where(full, 2 * np.pi, np.pi - 2 * start)
    t = start[:, None] + span[:, None] * np.where(full[:, None], even, crowded)
    apart = np.hypot(x[:, None] - core * np.cos(t), y[:, None] - half * np.sin(t))
    inner = apart[:, 1:-1]
    # Along the arc no distance changes faster than the core circle is long.
    near = inner < edge + core * np.maximum(np.diff(t)[:, :-1], np.diff(t)[:, 1:])
    near &= span[:, None] > _SHORTEST_ARC
    row, column = np.nonzero((inner <= apart[:, :-2]) & (inner < apart[:, 2:]) & near)
    bracket = (t[row, column], t[row, column + 1], t[row, column + 2])
    nearest = _nearest(x[row], y[row], core, half, *bracket)
    covered = np.zeros(len(points), bool)
    covered[row[nearest < edge]] = True
    return covered


def _nearest(
    x: Floats, y: Floats, core: float, half: float, low: Floats, t: Floats, high: Floats
) -> Floats:
    """Distance of points to the ellipse at the minimum between ``low`` and ``high``, by Newton."""
    for _ in range(_NEWTON_ROUNDS):
        cos, sin = np.cos(t), np.sin(t)
        slope = core * sin * x - half * cos * y + (half**2 - core**2) * sin * cos
        bend = core * cos * x + half * sin * y + (half**2 - core**2) * (cos**2 - sin**2)
        ahead = np.where(bend > 0.0, slope / np.where(bend > 0.0, bend, 1.0), 0.0)
        low, high = np.where(slope < 0.0, t, low), np.where(slope < 0.0, high, t)
        t = t - ahead
        t = np.where((t < low) | (t > high) | (bend <= 0.0), (low + high) / 2, t)
    return np.asarray(np.hypot(x - core * np.cos(t), y - half * np.sin(t)))


def _cuts(drawn: Ellipses, places: _Places, kind: Ints, changes: Ints, following: Ints) -> Floats:
    """The angles, just after the places ``changes``, at which the kind changes; by halving."""
    low, high = places.t[changes], places.t[following[changes]]
    high = np.where(high <= low, high + 2 * np.pi, high)
    ring, side = places.ring[changes], places.side[changes]
    for _ in range(_HALVINGS if len(changes) else 0):
        middle = (low + high) / 2
        same = kinds(drawn, ring, side, middle) == kind[changes]
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return np.asarray((low + high) / 2)


def _runs(
    drawn: Ellipses, loop: _Places, kind: Ints, changes: Ints, cuts: Floats
) -> list[tuple[int, Floats]]:
    """One outline cut where it passes out of sight: kind and polyline (n, 2)."""
    count = len(loop.t)
    if not len(changes):
        points = drawn.outline(loop.ring, loop.side, loop.t)
        closed = np.vstack([points, points[:1]])
        return [] if kind[0] == BEHIND_ITSELF else [(int(kind[0]), _thinned(closed))]
    runs = []
    for place, at in enumerate(changes):
        after = (at + 1) % count
        if kind[after] == BEHIND_ITSELF:
            continue
        later = (place + 1) % len(changes)
        end = changes[later] + (count if changes[later] < after else 0)
        inside = loop.t[np.arange(after, end + 1) % count]
        angles = np.concatenate([[cuts[place]], inside, [cuts[later]]])
        ring, side = (np.full(len(angles), of[0]) for of in (loop.ring, loop.side))
        runs.append((int(kind[after]), _thinned(drawn.outline(ring, side, angles))))
    return runs


def _thinned(line: Floats) -> Floats:
    """A polyline with fewer points that leaves it by less than half a micrometre."""
    import shapely

    thin = shapely.simplify(shapely.LineString(line), 5e-4, preserve_topology=False)
    points = np.asarray(shapely.get_coordinates(thin))
    return points if len(points) > 1 else line[[0, -1]]


def _only_new(
    seen: list[Floats], behind: list[Floats]
) -> tuple[tuple[Floats, ...], tuple[Floats, ...]]:
    """The lines without stretches that run along lines already drawn; seen ones come first."""
    import shapely

    # A visible line takes precedence over a hidden one that coincides (ISO 128, from memory).
    lines = [*seen, *behind]
    if not lines:
        return (), ()
    pieces = [np.stack([line[:-1], line[1:]], axis=1) for line in lines]
    rank = np.repeat(np.arange(len(lines)), [len(part) for part in pieces])
    tree = shapely.STRtree(shapely.linestrings(np.concatenate(pieces)))
    fine = [_fine(line) for line in lines]
    own = np.repeat(np.arange(len(lines)), [len(line) for line in fine])
    point, piece = tree.query(
        shapely.points(np.concatenate(fine)), predicate="dwithin", distance=_SAME_LINE_MM
    )
    old = np.zeros(len(own), bool)
    old[point[rank[piece] < own[point]]] = True
    ends = np.cumsum([len(line) for line in fine])[:-1]
    kept = [
        [line] if not drawn.any() else [_thinned(part) for part in _stretches(points, drawn)]
        for line, points, drawn in zip(lines, fine, np.split(old, ends), strict=True)
    ]
    first, second = kept[: len(seen)], kept[len(seen) :]
    return tuple(chain.from_iterable(first)), tuple(chain.from_iterable(second))


def _fine(line: Floats) -> Floats:
    """The polyline with points at most two widths of one line apart."""
    import shapely

    dense = shapely.segmentize(shapely.LineString(line), 2 * _SAME_LINE_MM)
    return np.asarray(shapely.get_coordinates(dense))


def _stretches(line: Floats, old: Bools) -> list[Floats]:
    """The parts of a line that are new; where it only crosses an old line it goes on."""
    edges = np.flatnonzero(np.diff(old.astype(int))) + 1
    new: list[Ints] = []
    for run in np.split(np.arange(len(line)), edges):
        steps = np.hypot(*np.diff(line[run], axis=0).T)
        crossing = old[run[0]] and steps.sum() < 10 * _SAME_LINE_MM
        if crossing or not old[run[0]]:
            if new and new[-1][-1] + 1 == run[0]:
                new[-1] = np.concatenate([new[-1], run])
            else:
                new.append(run)
    # A little of the old line too: what ends there is near it, and no gap may be left.
    return [
        line[max(run[0] - 2, 0) : run[-1] + 3] for run in new if len(run) > 1 and not old[run].all()
    ]
