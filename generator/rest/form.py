"""What a piece is worn on or hangs from: columns, a bust, and hooks on a rail."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.falling.touches import Touches
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.oval import Oval
from ringwright.geometry.vectors import cross
from ringwright.rest.table import FLAT, is_flat, joined, lowest

# Nearest points are looked for between so many places of a core circle, and then so often closer.
_PLACES, _CLOSER = 32, 12
# An angle that Newton's method changes by no more is exact after that: errors are squared.
_STILL = 1e-9
_AROUND = np.arange(24) * (2.0 * np.pi / 24)
# Where the distance rises less than this along the circle (its second derivative over the core
# radius), the nearest point runs far for a small move, and points at fixed angles speak for it;
# below ``FLAT``, they alone do.
_SHALLOW = 0.3
_X = 0


@dataclass(frozen=True, eq=False)
class Away:
    """How far points are outside a smooth form, and how that changes.

    Attributes
    ----------
    distance : (m,) negative inside
    outward : (m, 3) its first derivatives, of unit length
    bends : (m, 3, 3) its second derivatives
    """

    distance: Floats
    outward: Floats
    bends: Floats


# From points, (m, 3), to how far they are outside a form.
Form = Callable[[Floats], Away]


@dataclass(frozen=True, eq=False)
class Column:
    """An endless column, round or oval, that rings stay outside of.

    Rings may lie on it, or hang from it where it goes through them. Called with rings and a reach,
    it is a support as :func:`ringwright.rest.table.table` is.

    Attributes
    ----------
    oval : its cross-section
    frame : (3, 3) rows: the ways of the oval's long and short axes, and of the column
    middle : (3,) a point of its axis
    """

    oval: Oval
    frame: Floats
    middle: Floats

    def away(self, points: Floats) -> Away:
        """How far points are outside.

        At a distance d from a place of curvature k, distances to a curve bend by k / (1 + k d)
        along it, as parallel curves do, and not at all across.
        """
        distance, outward, _ = self.oval.clearance((points - self.middle) @ self.frame.T, _STILL)
        long, short = self.oval.half_axes
        # The curvature of an ellipse where its normal is n, by its support function h(n).
        support = np.hypot(long * outward[:, 0], short * outward[:, 1])
        curvature = support**3 / (long * short) ** 2
        bend = curvature / np.maximum(1.0 + curvature * distance, 1e-6)
        onward = np.stack([-outward[:, 1], outward[:, 0], 0.0 * bend], axis=1) @ self.frame
        bends = bend[:, None, None] * onward[:, :, None] * onward[:, None, :]
        return Away(distance, outward @ self.frame, bends)

    def __call__(self, rings: Rings, reach: float) -> Touches:
        """Gaps between the rings and the column of at most ``reach``."""
        return touches(rings, reach, self.away)


@dataclass(frozen=True)
class Cone:
    """A round cone about the z axis, its point up, that rings stay outside of: a plain bust.

    Attributes
    ----------
    radius : where z = 0
    slope : how far its side is from the upright, radians
    """

    radius: float
    slope: float

    def away(self, points: Floats) -> Away:
        """How far points are outside its side."""
        out = np.hypot(points[:, 0], points[:, 1])
        cos, sin = np.cos(self.slope), np.sin(self.slope)
        radial = points * [1.0, 1.0, 0.0] / out[:, None]
        around = np.stack([-radial[:, 1], radial[:, 0], 0.0 * out], axis=1)
        bends = (cos / out)[:, None, None] * around[:, :, None] * around[:, None, :]
        up = np.array([0.0, 0.0, sin])
        return Away((out - self.radius) * cos + points[:, 2] * sin, cos * radial + up, bends)

    def __call__(self, rings: Rings, reach: float) -> Touches:
        """Gaps between the rings and the cone of at most ``reach``."""
        return touches(rings, reach, self.away)


@dataclass(frozen=True, eq=False)
class Rail:
    """Thin hooks on a level rail at x = 0, one in each of some rings; down is along x.

    The hooks slide along the rail and across it, so each is always at the highest place inside its
    ring, and what hangs from them is free to grow narrower. No hook is in another ring's way.

    Attributes
    ----------
    hooked : (n,) which rings
    """

    hooked: Bools

    def __call__(self, rings: Rings, reach: float) -> Touches:
        """How far the highest inside of each hooked ring is above the rail."""
        found = lowest(rings, _X)
        gap = -found.gap - rings.wire_radii
        wanted = self.hooked & (gap <= reach) & ~is_flat(rings, _X)
        return replace(found, gap=gap, slopes=-found.slopes, bends=-found.bends).of(wanted)


def touches(rings: Rings, reach: float, form: Form) -> Touches:
    """Gaps of at most ``reach`` between rings and a smooth form.

    Every place gets a row where a core circle comes nearest, and where that may run along the ring,
    so do points at 24 fixed angles.
    """
    far = form(rings.centres).distance - rings.core_radii - rings.wire_radii
    near = np.flatnonzero(far <= reach)
    ring, angle = _nearest(rings, near, form)
    depth, nearest = _rows(rings, ring, angle, form, True)
    level = np.zeros(len(rings.centres), bool)
    # A ring that is as far all round has no nearest point.
    level[np.setdiff1d(near, ring)] = True
    level[ring[depth < _SHALLOW]] = True
    around = np.repeat(np.flatnonzero(level), len(_AROUND))
    _, fixed = _rows(rings, around, np.tile(_AROUND, int(level.sum())), form, False)
    return joined(
        (nearest.of((nearest.gap <= reach) & (depth > FLAT)), fixed.of(fixed.gap <= reach))
    )


def _nearest(rings: Rings, near: Ints, form: Form) -> tuple[Ints, Floats]:
    """The rings, and the angle on each, of every place where a core circle comes nearest."""
    step = 2.0 * np.pi / _PLACES
    angles = np.arange(_PLACES) * step
    points, _, _ = _circle(rings, np.repeat(near, _PLACES), np.tile(angles, len(near)))
    distance = form(points).distance.reshape(len(near), _PLACES)
    least = (distance <= np.roll(distance, 1, axis=1)) & (distance < np.roll(distance, -1, axis=1))
    row, place = np.nonzero(least)
    ring, angle = near[row], np.asarray(angles[place], dtype=np.float64)
    for _ in range(_CLOSER):
        points, arm, onward = _circle(rings, ring, angle)
        away = form(points)
        slope = np.einsum("wi,wi->w", away.outward, onward)
        depth = _depth(away, arm, onward)
        move = np.clip(slope / np.maximum(depth, 1e-9), -0.5 * step, 0.5 * step)
        angle = angle - move
        if np.abs(move).max(initial=0.0) <= _STILL:
            break
    return ring, angle


def _circle(rings: Rings, ring: Ints, angle: Floats) -> tuple[Floats, Floats, Floats]:
    """Points of core circles, their arms from the centres, and the derivatives in the angle."""
    u, v = plane_basis(rings.axes[ring])
    radii, cos, sin = rings.core_radii[ring, None], np.cos(angle)[:, None], np.sin(angle)[:, None]
    arm = radii * (cos * u + sin * v)
    return rings.centres[ring] + arm, arm, radii * (cos * v - sin * u)


def _depth(away: Away, arm: Floats, onward: Floats) -> Floats:
    """Second derivative of the distance in the angle."""
    bent = np.einsum("wi,wij,wj->w", onward, away.bends, onward)
    return np.asarray(bent - np.einsum("wi,wi->w", away.outward, arm))


def _rows(
    rings: Rings, ring: Ints, angle: Floats, form: Form, slides: bool
) -> tuple[Floats, Touches]:
    """The rows of points on rings, and how steeply the distance rises along the ring from each.

    To second order a turn w moves an arm l by w x l + w x (w x l) / 2. Where the point slides, what
    it gains by that is taken off the second derivatives, as in
    :func:`ringwright.geometry.linearise.gap_bends`.
    """
    point, arm, onward = _circle(rings, ring, angle)
    away = form(point)
    # Turns about u and v, in lengths.
    turns = np.stack(plane_basis(rings.axes[ring]), axis=1) / rings.core_radii[ring, None, None]
    motion = np.zeros((len(ring), 3, 5))
    motion[:, :, :3] = np.eye(3)
    motion[:, :, 3:] = cross(turns, arm[:, None]).transpose(0, 2, 1)
    slopes = np.einsum("wi,wij->wj", away.outward, motion)
    bent = away.bends @ motion
    bends = motion.transpose(0, 2, 1) @ bent
    both = away.outward[:, :, None] * arm[:, None, :]
    inward = np.einsum("wi,wi->w", away.outward, arm)[:, None, None]
    swing = 0.5 * (both + both.transpose(0, 2, 1)) - inward * np.eye(3)
    bends[:, 3:, 3:] += turns @ swing @ turns.transpose(0, 2, 1)
    depth = _depth(away, arm, onward)
    if slides:
        mixed = np.einsum("wi,wij->wj", onward, bent)
        swung = cross(turns, onward[:, None])
        mixed[:, 3:] += np.einsum("wi,wki->wk", away.outward, swung)
        taken = mixed[:, :, None] * mixed[:, None, :]
        bends -= taken / np.maximum(depth, 1e-12)[:, None, None]
    gap = away.distance - rings.wire_radii[ring]
    found = Touches(ring, gap, point, np.full(len(ring), slides), slopes, bends)
    return depth / rings.core_radii[ring], found
