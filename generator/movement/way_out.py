"""The way a ring is taken out of a piece, or put in: opened, and turned along its own wire.

The ring that was put in last is opened sideways and screwed out of the rings it goes through,
in real wire, while all rings about it give way. A way out that is found, turned round, is a way
in. The search only follows its nose: it goes as far along the wire as the rings let it, one
small quadratic programme a step, so that where it finds none there may be one.

Between two poses of a way no core line goes as far as any other is away, so no ring passes
through another; in every pose no metal cuts into metal. Lengths are in core radii.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.circles import nearest_on_circle, plane_basis
from ringwright.geometry.contact import Rings, close_pairs, contacts
from ringwright.geometry.helix import Helix, opened_ring
from ringwright.geometry.lattice import ALONE
from ringwright.geometry.linearise import gap_gradients, gap_rows, moved, reach_of_step
from ringwright.geometry.vectors import cross

# From the middle of one end to that of the other, in diameters of the thickest wire about: one
# for the ring's own wire, the rest for what has to pass between its ends. Three lets two wires
# pass side by side: opened less, a ring of full Persian or European 8-in-1 is never stuck, but
# turns freely through its neighbours in and out again, past one wire at a time, without end.
OPENINGS = (2.25, 2.5, 3.0)
# Places where a ring is cut. Which of them lets it open and come out hangs on where the rings about
# it lie, and more than on how much room there is at the cut.
_CUTS, _LIKELY = 8, 3

# Gaps that are asked for and that are enough, in radii of the thinnest wire. The opened ring is
# looked at in points so close that what lies between them takes less than half of that.
_MARGIN, _ENOUGH = 0.02, 0.01
_POINTS_PER_RATIO = 22.0
# Closed rings may touch: no more than rounding is let pass.
_TOUCH = 1e-6
# Rings nearer than this push one another away, in wire radii, so strongly.
_WISH, _PUSH = 0.5, 2.0
# What a motion costs beside the way along the wire, and how strongly the others are held where
# they were, as by fingers: left free they ride along on the wire that is turned.
_COST, _HOLD = 0.3, 0.2
# The farthest that a ring moves in a step, in wire radii, and the opened one along itself, in
# core radii; the share of the way to the next core line that all of it may be.
_AT_A_TIME, _SLIDE, _SAFE = 0.25, 0.12, 0.9
# Shares of a step that are tried; how often rings then give way.
_SHARES, _TIMES = (1.0, 0.3), 4
# Stuck after so many steps that together were less than this of one free step. Given up after so
# many turns, or steps, in which it came out of no further ring.
_LOOK_BACK, _STUCK, _MOST_TURNS, _MOST_STEPS = 6, 0.5, 1.3, 160


# Our own marks, no source, in the ring's own wire: how far it is opened, and how far another ring
# gives way, up to which to put it in is easy, or takes patience.
_EASY, _PATIENT = (1.3, 1.5), (1.6, 3.0)


@dataclass(frozen=True, eq=False)
class Pose:
    """All rings at one moment: the opened one, and the others in their order."""

    helix: Helix
    others: Rings


@dataclass(frozen=True, eq=False)
class Way:
    """A way out that was found.

    Attributes
    ----------
    poses : from where the ring lies closed to where it goes through no ring any more
    gap : how far it is opened: the clear room between its ends
    tries : how many ways of opening it were tried, this one included
    """

    poses: tuple[Pose, ...]
    gap: float
    tries: int

    @property
    def pushed(self) -> float:
        """The farthest that another ring's middle has moved from where it was."""
        start = self.poses[0].others.centres
        ways = [np.linalg.norm(pose.others.centres - start, axis=1).max() for pose in self.poses]
        return float(max(ways))

    @property
    def effort(self) -> str:
        """What it takes to put the ring in: ``easy``, ``takes patience`` or ``hard``."""
        wire = 2.0 * self.poses[0].helix.wire_radius
        for gap, pushed, said in ((*_EASY, "easy"), (*_PATIENT, "takes patience")):
            if self.gap <= gap * wire and self.pushed <= pushed * wire:
                return said
        return "hard"

    @property
    def turned(self) -> float:
        """By how much the ring is turned about its own axis, in full turns."""
        total = 0.0
        for before, after in zip(self.poses, self.poses[1:], strict=False):
            cut, side = before.helix.frame[:2]
            total += float(np.arctan2(after.helix.frame[0] @ side, after.helix.frame[0] @ cut))
        return abs(total) / (2.0 * np.pi)


@dataclass(frozen=True)
class Try:
    """One way of opening a ring.

    Attributes
    ----------
    opening : as in ``OPENINGS``
    cut : which of the places with most room is cut, from 0
    hand : as in :class:`ringwright.geometry.helix.Helix`
    sense : 1 or -1, the sense of turning
    """

    opening: float
    cut: int
    hand: int
    sense: int


# Of the likeliest places, and then of the others, those first at which it is opened least, for that
# is how a ring is put in that goes in easily.
TRIES = tuple(
    Try(opening, cut, hand, sense)
    for cuts in (range(_LIKELY), range(_LIKELY, _CUTS))
    for opening in OPENINGS
    for cut in cuts
    for hand in (1, -1)
    for sense in (1, -1)
)


def way_out(rings: Rings, put: int, tries: tuple[Try, ...] = TRIES) -> tuple[Way, Try] | None:
    """A way out for one ring of a piece, and how the ring was opened; None where none is found.

    Parameters
    ----------
    rings : a piece without overlaps
    put : the ring to be taken out
    tries : ways of opening it, in the order in which they are tried
    """
    others = np.flatnonzero(np.arange(len(rings.centres)) != put)
    rest = rings.of(others)
    radii = float(rings.core_radii[put]), float(rings.wire_radii[put])
    closed = opened_ring(rings.centres[put], rings.axes[put], radii, 0.0, 1)
    angles = _cuts(closed, rest)
    opening: dict[tuple[int, int], _Opening] = {}
    for number, one in enumerate(tries, start=1):
        key = one.cut, one.hand
        if key not in opening:
            place = rings.centres[put], rings.axes[put], radii
            opening[key] = _Opening(Pose(opened_ring(*place, angles[one.cut], one.hand), rest))
        thickest = 2.0 * float(rest.wire_radii.max(initial=0.0))
        opened = opening[key].to(2.0 * radii[1] + (one.opening - 1.0) * thickest)
        if not opened:
            continue
        poses = (*opened, *_turned_out(opened[-1], rest, one.sense))
        if not len(_through(poses[-1])):
            return Way(poses, poses[-1].helix.gap, number), one
    return None


def least_room(pose: Pose) -> float:
    """The least gap between any two rings of a pose; below 0 they overlap."""
    points = 4 * _points(pose)
    gaps = _helix_gaps(pose, pose.helix.line(pose.helix.turns(points)))
    return min(_closed_room(pose), float(gaps[0].min(initial=np.inf)))


# ---- the way ----


class _Opening:
    """A ring that is opened at one place, as far as was asked for by now."""

    def __init__(self, closed: Pose) -> None:
        self._poses = [closed]
        self._stuck = False

    def to(self, shift: float) -> list[Pose]:
        """Poses until it is opened so far; none where it is stuck before."""
        poses = [pose for pose in self._poses if pose.helix.shift < shift + 1e-9]
        onwards = len(poses) == len(self._poses)
        if onwards and self._stuck:
            return []
        ways: list[float] = []
        while poses[-1].helix.shift < shift - 1e-9:
            following = _further(poses[-1], poses[0].others, shift, 0)
            if following is not None:
                poses.append(following[0])
                ways.append(following[1] / (_AT_A_TIME * _thinnest(poses[0])))
            if following is None or _is_stuck(ways):
                self._poses, self._stuck = poses, True
                return []
        if onwards:
            self._poses = poses
        return poses


def _turned_out(pose: Pose, home: Rings, sense: int) -> Iterator[Pose]:
    """Poses while the opened ring is turned, until it is out or stuck."""
    ways: list[float] = []
    fewest = len(_through(pose))
    turned, steps = 0.0, 0
    while steps < _MOST_STEPS and turned < 2.0 * np.pi * _MOST_TURNS and fewest:
        following = _further(pose, home, pose.helix.shift, sense)
        if following is None:
            return
        pose, way = following
        yield pose
        ways.append(way / _SLIDE)
        turned, steps = turned + way, steps + 1
        left = len(_through(pose))
        if left < fewest:
            # It came on: a ring that is out of most needs but little more.
            fewest, turned, steps = left, 0.0, 0
        elif _is_stuck(ways):
            return


def _is_stuck(ways: list[float]) -> bool:
    """Whether the last steps, each as a part of a free one, went hardly any way."""
    return len(ways) >= _LOOK_BACK and sum(ways[-_LOOK_BACK:]) < _STUCK


def _further(pose: Pose, home: Rings, shift: float, sense: int) -> tuple[Pose, float] | None:
    """One step: the ring opened a little more, or with a ``sense`` turned along its wire.

    Returns
    -------
    pose, way : how far it went on; None where rings do not come clear of one another
    """
    thin = _thinnest(pose)
    most = _AT_A_TIME * thin
    rows = _Rows.about(pose, 4.0 * most + 0.3 * _SLIDE + _WISH * thin)
    goal, limit = _goal(pose, home, sense), np.full(rows.slopes.shape[1], most)
    limit[-1] = 0.0 if sense else min(most, shift - pose.helix.shift)
    if sense:
        limit[-2] = _SLIDE
        limit[-5] += _SLIDE * abs(pose.helix.advance)
    step = rows.step(goal, limit, _MARGIN * thin)
    if step is None:
        return None
    step *= _safe_share(pose, step)
    for share in _SHARES:
        eased = _eased(_moved(pose, share * step), most)
        if eased is not None:
            way = sense * step[-2] * share if sense else eased.helix.shift - pose.helix.shift
            return eased, float(way)
    return None


def _goal(pose: Pose, home: Rings, sense: int) -> Floats:
    """The direction that the step is to go in: along the ring's own wire, or open; others home."""
    rings = pose.others
    goal = np.zeros(5 * len(rings.centres) + 7)
    back = goal[:-7].reshape(-1, 5)
    back[:, :3] = _HOLD * (home.centres - rings.centres)
    turn = cross(rings.axes, home.axes)
    tilt = np.stack(plane_basis(rings.axes), axis=1)
    back[:, 3:] = _HOLD * rings.core_radii[:, None] * np.einsum("nij,nj->ni", tilt, turn)
    if sense:
        goal[-2], goal[-5] = sense, sense * pose.helix.advance
    else:
        goal[-1] = 1.0
    return goal


def _eased(pose: Pose, most: float) -> Pose | None:
    """The same, rings that came too near moved apart; None where they do not come apart."""
    thin = _thinnest(pose)
    for _ in range(_TIMES):
        if _is_clear(pose):
            return pose
        rows = _Rows.about(pose, most)
        limit = np.full(rows.slopes.shape[1], most)
        limit[-2], limit[-1] = 0.3 * most, 0.0
        step = rows.clearing(limit, _MARGIN * thin)
        if step is None:
            return None
        pose = _moved(pose, step * _safe_share(pose, step))
    return pose if _is_clear(pose) else None


def _moved(pose: Pose, step: Floats) -> Pose:
    rings = moved(pose.others, np.append(step[:-7], 0.0))
    return Pose(pose.helix.moved(step[-7:]), rings)


def _safe_share(pose: Pose, step: Floats) -> float:
    """The share of a step in which no ring goes as far as another core line is away."""
    rings, own = pose.others, step[-7:]
    far = float(reach_of_step(rings, np.append(step[:-7], 0.0)).max(initial=0.0))
    way = float(np.linalg.norm(own[:3]) + np.linalg.norm(own[3:6]) + 0.5 * abs(own[6]))
    both = max(2.0 * far, far + way)
    away = _SAFE * 2.0 * _thinnest(pose)
    return 1.0 if both <= away else away / both


# ---- what there is between rings ----


@dataclass(frozen=True, eq=False)
class _Rows:
    """Gaps of a pose, and how they change in the unknowns.

    Five for every other ring, as in :mod:`ringwright.geometry.linearise`; then seven lengths for
    the opened one: its way, its turn, both in its own frame, and its opening.
    """

    gaps: Floats
    slopes: Floats
    wish: float

    @staticmethod
    def about(pose: Pose, reach: float) -> _Rows:
        rings, n = pose.others, len(pose.others.centres)
        rows = gap_rows(rings, close_pairs(rings, reach, ALONE), ALONE, reach)
        closed = gap_gradients(rings, rows, ALONE, np.zeros(n))[:, :-1]
        gaps, opened = _helix_rows(pose, reach)
        slopes = np.zeros((len(closed) + len(opened), 5 * n + 7))
        slopes[: len(closed), : 5 * n] = closed
        slopes[len(closed) :] = opened
        return _Rows(np.concatenate([rows.gap, gaps]), slopes, _WISH * _thinnest(pose))

    def step(self, goal: Floats, limit: Floats, margin: float) -> Floats | None:
        """The step along the goal that comes no nearer to any ring than it must."""
        short = np.maximum(self.wish - self.gaps, 0.0)
        near = self.slopes[short > 0.0]
        model = _COST * np.eye(len(goal)) + _PUSH * near.T @ near
        # To hold the others draws them back the less, the nearer they are.
        model[range(len(goal) - 7), range(len(goal) - 7)] += _HOLD
        slope = goal + _PUSH * near.T @ short[short > 0.0]
        return _solved(model, slope, limit, self.slopes, np.minimum(margin, self.gaps) - self.gaps)

    def clearing(self, limit: Floats, margin: float) -> Floats | None:
        """The least motion that takes rings as far apart as is asked for, if it can be had."""
        size = len(limit)
        least = margin - self.gaps
        return _solved(np.eye(size), np.zeros(size), limit, self.slopes, least, soft=True)


def _solved(
    model: Floats, slope: Floats, limit: Floats, rows: Floats, least: Floats, soft: bool = False
) -> Floats | None:
    """Maximise slope.x - x.model.x / 2 with rows.x >= least, |x| <= limit; None where it fails."""
    import daqp

    kinds = np.zeros(len(limit) + len(least), np.int32)
    kinds[len(limit) :] = 8 if soft else 0
    upper = np.concatenate([limit, np.full(len(least), 1e30)])
    lower = np.concatenate([-limit, least])
    found, _, flag, _ = daqp.solve(model, -slope, np.ascontiguousarray(rows), upper, lower, kinds)
    return np.asarray(found) if flag > 0 else None


def _helix_rows(pose: Pose, reach: float) -> tuple[Floats, Floats]:
    """Gaps between the opened ring and the others where they are least or small, and slopes."""
    helix, rings = pose.helix, pose.others
    turns = helix.turns(_points(pose))
    line = helix.line(turns)
    gaps, near = _helix_gaps(pose, line)
    edge = np.pad(gaps, ((1, 1), (0, 0)), constant_values=np.inf)
    lowest = (gaps <= edge[:-2]) & (gaps <= edge[2:])
    along = (gaps < 0.3 * reach) & (np.arange(len(line)) % 3 == 0)[:, None]
    at, ring = np.nonzero((gaps < reach) & (lowest | along))
    away = line[at] - near[at, ring]
    away /= np.linalg.norm(away, axis=1)[:, None]
    n, every = len(rings.centres), np.arange(len(at))
    slopes = np.zeros((len(at), 5 * n + 7))
    tilt = np.stack(plane_basis(rings.axes), axis=2) / rings.core_radii[:, None, None]
    arms = near[at, ring] - rings.centres[ring]
    turning = np.einsum("mi,mij->mj", cross(arms, away), tilt[ring])
    slopes[every[:, None], 5 * ring[:, None] + np.arange(3)] = -away
    slopes[every[:, None], 5 * ring[:, None] + np.arange(3, 5)] = -turning
    own = away @ helix.frame.T
    arms = (line[at] - helix.centre) @ helix.frame.T / helix.core_radius
    slopes[:, -7:-4] = own
    slopes[:, -4:-1] = cross(arms, own)
    slopes[:, -1] = helix.hand * turns[at] / (2.0 * np.pi) * own[:, 2]
    return gaps[at, ring], slopes


def _helix_gaps(pose: Pose, line: Floats) -> tuple[Floats, Floats]:
    """Gaps of points along the opened ring to every other ring, (k, n), and the nearest points."""
    rings = pose.others
    near = nearest_on_circle(line[:, None], rings.centres, rings.axes, rings.core_radii)
    away = np.linalg.norm(line[:, None] - near, axis=2)
    return away - pose.helix.wire_radius - rings.wire_radii, near


def _is_clear(pose: Pose) -> bool:
    line = pose.helix.line(pose.helix.turns(_points(pose)))
    room = float(_helix_gaps(pose, line)[0].min(initial=np.inf))
    return room >= _ENOUGH * _thinnest(pose) and _closed_room(pose) >= -_TOUCH


def _closed_room(pose: Pose) -> float:
    pairs = close_pairs(pose.others, 0.1 * _thinnest(pose), ALONE)
    return float(contacts(pose.others, pairs, ALONE).gap.min(initial=np.inf))


def _through(pose: Pose) -> Ints:
    """The other rings through whose eyes the opened ring's wire goes, its ends joined."""
    line = pose.helix.line(pose.helix.turns(_points(pose)))
    # Without the straight way from end to end, a wire could still lie between the ends.
    line = np.concatenate([line, line[:1]])
    off = line[:, None] - pose.others.centres
    height = np.einsum("kni,ni->kn", off, pose.others.axes)
    aside = np.linalg.norm(off - height[..., None] * pose.others.axes, axis=2)
    crosses = height[:-1] * height[1:] < 0.0
    fall = np.where(crosses, height[:-1] - height[1:], 1.0)
    at = aside[:-1] + height[:-1] / fall * (aside[1:] - aside[:-1])
    return np.flatnonzero((crosses & (at < pose.others.core_radii)).any(axis=0))


def _cuts(ring: Helix, others: Rings) -> list[float]:
    """Where a closed ring is cut: the place with most room, then places away from those before."""
    angles = np.arange(24) * (2.0 * np.pi / 24)
    u, v = ring.frame[:2]
    line = ring.centre + ring.core_radius * (
        np.cos(angles)[:, None] * u + np.sin(angles)[:, None] * v
    )
    room = _helix_gaps(Pose(ring, others), line)[0].min(axis=1, initial=np.inf)
    chosen = [int(np.argmax(room))]
    # The second at least a quarter of the ring away, the third an eighth from either, the others a
    # twelfth from any: however they come to lie, there are eight.
    for least in (6, 3, *[2] * (_CUTS - 3)):
        apart = np.abs((np.arange(24)[:, None] - chosen + 12) % 24 - 12).min(axis=1)
        # Looked at onwards from the first, so that of equal places the next one is taken.
        aside = (chosen[0] + np.arange(24)) % 24
        aside = aside[apart[aside] >= least]
        chosen.append(int(aside[np.argmax(room[aside])]))
    return [float(angles[at]) for at in chosen]


def _thinnest(pose: Pose) -> float:
    return float(min(pose.helix.wire_radius, pose.others.wire_radii.min(initial=np.inf)))


def _points(pose: Pose) -> int:
    return int(np.ceil(_POINTS_PER_RATIO * pose.helix.core_radius / _thinnest(pose)))
