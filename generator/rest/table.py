"""The table that a piece lies on: its gaps to rings, and how these change as rings move."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Bools
from ringwright.falling.touches import Touches
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings

_AROUND = np.arange(24) * (2.0 * np.pi / 24)
# A ring that leans less than this, as a sine, may touch all round: points at fixed angles then
# speak for its lowest one, which runs round it for the least move.
_NEARLY_FLAT = 0.3
# Below this one the lowest point may be anywhere, and only the fixed ones speak.
FLAT = 1e-7
_Z = 2


def table(rings: Rings, reach: float) -> Touches:
    """Gaps between the rings and the table z = 0 of at most ``reach``.

    The lowest point of a torus lies R sqrt(1 - a_z^2) + r below its centre. Where a ring nearly
    lies flat, points at 24 fixed angles of it get rows of their own.
    """
    return joined((_lowest_points(rings, reach), _points_around(rings, reach)))


def joined(parts: tuple[Touches, ...]) -> Touches:
    """The rows of all parts, one after the other."""
    return Touches(
        *(
            np.concatenate([getattr(part, name) for part in parts])
            for name in ("ring", "gap", "point", "slides", "slopes", "bends")
        )
    )


def _lowest_points(rings: Rings, reach: float) -> Touches:
    """The rows of the lowest points."""
    found = lowest(rings, _Z)
    gap = found.gap - rings.wire_radii
    return replace(found, gap=gap).of((gap <= reach) & ~is_flat(rings, _Z))


def lowest(rings: Rings, way: int) -> Touches:
    """How far along x, y or z the lowest point of every core circle lies.

    To second order, tilts e (over the core radius R) change a_z by p . e / R - a_z e . e / 2 R^2
    with p = (-v_z, u_z), and sqrt(1 - a_z^2) = |p|. There is none where a ring lies flat.

    Parameters
    ----------
    way : 0, 1 or 2
    """
    u, v = plane_basis(rings.axes)
    p = np.stack([-v[:, way], u[:, way]], axis=1)
    lean, upright = np.maximum(np.linalg.norm(p, axis=1), FLAT), rings.axes[:, way]
    count = len(lean)
    slopes = np.zeros((count, 5))
    slopes[:, way] = 1.0
    slopes[:, 3:] = (upright / lean)[:, None] * p
    square = (upright**2)[:, None, None]
    outer = p[:, :, None] * p[:, None, :]
    sine = lean[:, None, None]
    bends = np.zeros((count, 5, 5))
    swing = (square * np.eye(2) - outer) / sine - square * outer / sine**3
    bends[:, 3:, 3:] = -swing / rings.core_radii[:, None, None]
    # Down the steepest way in the ring's plane.
    down = rings.axes * upright[:, None] - np.eye(3)[way]
    point = rings.centres + down * (rings.core_radii / lean)[:, None]
    height = rings.centres[:, way] - rings.core_radii * lean
    return Touches(np.arange(count), height, point, np.ones(count, bool), slopes, bends)


def is_flat(rings: Rings, way: int) -> Bools:
    """Which rings lie flat across x, y or z, so that no point of theirs is the lowest; (n,)."""
    u, v = plane_basis(rings.axes)
    return np.asarray(np.hypot(u[:, way], v[:, way]) <= FLAT)


def _points_around(rings: Rings, reach: float) -> Touches:
    """The rows of points fixed to rings that nearly lie flat."""
    u, v = plane_basis(rings.axes)
    flat = np.flatnonzero(np.hypot(u[:, 2], v[:, 2]) < _NEARLY_FLAT)
    cos, sin = np.cos(_AROUND)[:, None], np.sin(_AROUND)[:, None]
    radii = rings.core_radii[flat]
    drop = rings.centres[flat, 2] + radii * (cos * u[flat, 2] + sin * v[flat, 2])
    gap = drop - rings.wire_radii[flat]
    place, row = np.nonzero(gap <= reach)
    ring, angle = flat[row], _AROUND[place]
    # Turned by u, a point at this angle moves by u x arm, and so on.
    slopes = np.zeros((len(ring), 5))
    slopes[:, 2] = 1.0
    slopes[:, 3] = np.sin(angle) * rings.axes[ring, 2]
    slopes[:, 4] = -np.cos(angle) * rings.axes[ring, 2]
    arm = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    up = np.stack([u[ring, 2], v[ring, 2]], axis=1)
    both = arm[:, :, None] * up[:, None, :]
    height = np.einsum("wi,wi->w", arm, up)
    bends = np.zeros((len(ring), 5, 5))
    bends[:, 3:, 3:] = 0.5 * (both + both.transpose(0, 2, 1)) - height[:, None, None] * np.eye(2)
    bends /= rings.core_radii[ring, None, None]
    spoke = arm[:, :1] * u[ring] + arm[:, 1:] * v[ring]
    point = rings.centres[ring] + rings.core_radii[ring, None] * spoke
    return Touches(ring, gap[place, row], point, np.zeros(len(ring), bool), slopes, bends)
