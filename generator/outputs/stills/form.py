"""What a worn piece is shown on: plain columns and a plain bust, with rounded edges."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.oval import Oval
from ringwright.piece.mesh import Mesh
from ringwright.piece.piece import Piece
from ringwright.rest.form import Column, Cone
from ringwright.solver.measure import extent

# Against the form that the metal touches, so that the two never meet in one surface.
_THINNER_MM = 0.08
_EDGE_STEPS = 12
AROUND = 720
# The edge of a column is rounded so much, and it goes on so far before and behind the piece, in
# halves of its long axis.
_EDGE_MM = 2.5
_BEFORE, _BEHIND = 0.32, 0.5
# A level arm ends soon before the piece, which it would hide, and behind it out of sight.
_SHOWN, _OUT_OF_SIGHT = 0.15, 6.0
# The neck of a bust: how soon it is upright, and how high it stands over the chain, in radii.
_UPRIGHT, _NECK_HIGH, _NECK_EDGE = 0.18, 0.55, 0.15
# A bust goes on below the chain by so much of the chain's height.
_BELOW = 0.25
# An arm that points to the camera: its width level, its thickness upright, and along it to -y.
_LEVEL = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


class Form(Protocol):
    """What a still shows a worn piece on; lengths in millimetres."""

    @property
    def low_mm(self) -> float:
        """How low it reaches."""

    @property
    def size_mm(self) -> float:
        """About how thick it is."""

    def mesh(self, step_mm: float, around: int = AROUND) -> Mesh:
        """What is seen of it, with points about so far apart along it, and so many about it."""

    def rolled_flat(self, points: Floats) -> Floats:
        """Points in the form's surface rolled flat, and how high they are over it, (n, 3)."""

    def outside(self, points: Floats) -> Floats:
        """About how far points are outside, for those near it."""

    def inside(self, cell_mm: float) -> Floats:
        """Points all through it, for its shadow on the ground."""

    def numbers(self) -> list[float]:
        """What :func:`form_of` makes it from again."""


@dataclass(frozen=True)
class Arm:
    """An oval column, upright about the z axis, or level and pointing to -y.

    Attributes
    ----------
    from_mm, to_mm : where it begins and ends along its axis
    """

    oval: Oval
    level: bool
    from_mm: float
    to_mm: float

    @property
    def _frame(self) -> Floats:
        return _LEVEL if self.level else np.eye(3)

    @property
    def low_mm(self) -> float:
        """How low it reaches."""
        return -self.oval.half_axes[1] if self.level else self.from_mm

    @property
    def size_mm(self) -> float:
        """Half its depth."""
        return self.oval.half_axes[1]

    def mesh(self, step_mm: float, around: int = AROUND) -> Mesh:
        """Its side and top; the bottom is never seen."""
        count = max(2, int(np.ceil((self.to_mm - _EDGE_MM - self.from_mm) / step_mm)))
        side = np.linspace(self.from_mm, self.to_mm - _EDGE_MM, count + 1)
        inset, height, tilt = _rounded(np.zeros(count + 1), side, np.zeros(count + 1), _EDGE_MM)
        angles = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
        long, short = (half - _THINNER_MM for half in self.oval.half_axes)
        out = np.stack([short * np.cos(angles), long * np.sin(angles)], axis=1)
        out /= np.linalg.norm(out, axis=1)[:, None]
        rim = np.stack([long * np.cos(angles), short * np.sin(angles)], axis=1)
        level = rim[:, None] - inset[None, :, None] * out[:, None]
        found = _closed_above(level, height, out, tilt)
        return Mesh(found.vertices @ self._frame, found.normals @ self._frame, found.faces)

    def rolled_flat(self, points: Floats) -> Floats:
        """Points in the surface rolled flat, and their height over it."""
        local = points @ self._frame.T
        away, _, along = self.oval.clearance(local)
        return np.stack([along, local[:, 2], away], axis=1)

    def outside(self, points: Floats) -> Floats:
        """About how far points are outside."""
        long, short = self.oval.half_axes
        local = points @ self._frame.T
        # Near the oval about the distance from it, which is all that is asked for.
        return (np.hypot(local[:, 0] / long, local[:, 1] / short) - 1.0) * short

    def inside(self, cell_mm: float) -> Floats:
        """Points all through it."""
        long, short = self.oval.half_axes
        disc = _disc(long, short, cell_mm)
        heights = np.linspace(self.from_mm, self.to_mm, 24)
        return (
            np.concatenate(
                [np.column_stack([disc, np.full(len(disc), height)]) for height in heights]
            )
            @ self._frame
        )

    def numbers(self) -> list[float]:
        """What :func:`form_of` makes it from again."""
        return [self.oval.girth, self.oval.ratio, float(self.level), self.from_mm, self.to_mm]


@dataclass(frozen=True)
class Bust:
    """A round cone about the z axis with a neck on it.

    Attributes
    ----------
    radius_mm, slope : of the cone, as of :class:`ringwright.rest.form.Cone`
    bottom_mm, top_mm : of what is a cone; the neck begins there
    """

    radius_mm: float
    slope: float
    bottom_mm: float
    top_mm: float

    @property
    def low_mm(self) -> float:
        """How low it reaches."""
        return self.bottom_mm

    @property
    def size_mm(self) -> float:
        """Its radius where z = 0."""
        return self.radius_mm

    def mesh(self, step_mm: float, around: int = AROUND) -> Mesh:
        """Its side and top; the bottom is never seen."""
        fall = np.tan(self.slope)
        count = max(2, int(np.ceil((self.top_mm - self.bottom_mm) / step_mm)))
        side = np.linspace(self.bottom_mm, self.top_mm, count + 1)
        cone = self.radius_mm - fall * side
        # Its slope dies away upward.
        soon, edge = _UPRIGHT * self.radius_mm, _NECK_EDGE * self.radius_mm
        up = np.linspace(0.0, _NECK_HIGH * self.radius_mm, 60)[1:]
        slope = fall * np.exp(-up / soon)
        neck = cone[-1] - soon * (fall - slope)
        radius = np.concatenate([cone, neck]) - _THINNER_MM / np.cos(self.slope)
        height = np.concatenate([side, self.top_mm + up])
        tilt = np.arctan(np.concatenate([np.full(count + 1, fall), slope]))
        inset, height, tilt = _rounded(radius.max() - radius, height, tilt, edge)
        angles = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
        out = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        level = (radius.max() - inset)[None, :, None] * out[:, None]
        return _closed_above(level, height, out, tilt)

    def rolled_flat(self, points: Floats) -> Floats:
        """Points in the surface rolled flat, and their height over it."""
        out = np.hypot(points[:, 0], points[:, 1])
        cos, sin = np.cos(self.slope), np.sin(self.slope)
        away = (out - self.radius_mm) * cos + points[:, 2] * sin
        # A round cone rolls out to a sector about its point, its front downwards.
        far = self.radius_mm / sin + (out - self.radius_mm) * sin - points[:, 2] * cos
        turn = np.arctan2(points[:, 0], -points[:, 1]) * sin
        return np.stack([far * np.sin(turn), -far * np.cos(turn), away], axis=1)

    def outside(self, points: Floats) -> Floats:
        """About how far points are outside."""
        return np.asarray(self.rolled_flat(points)[:, 2])

    def inside(self, cell_mm: float) -> Floats:
        """Points all through it."""
        heights = np.linspace(self.bottom_mm, self.top_mm, 24)
        parts = []
        for height in heights:
            radius = self.radius_mm - np.tan(self.slope) * height
            disc = _disc(radius, radius, cell_mm)
            parts.append(np.column_stack([disc, np.full(len(disc), height)]))
        return np.concatenate(parts)

    def numbers(self) -> list[float]:
        """What :func:`form_of` makes it from again."""
        return [self.radius_mm, self.slope, self.bottom_mm, self.top_mm]


def form_of(numbers: list[float]) -> Form:
    """A form from its numbers."""
    if len(numbers) == 4:
        return Bust(*numbers)
    girth, ratio, level, from_mm, to_mm = numbers
    return Arm(Oval(girth, ratio), bool(level), from_mm, to_mm)


def form_for(piece: Piece, form: Column | Cone) -> Form:
    """What a piece that is worn is shown on."""
    rings = piece.rings()
    low, high = extent(rings, np.array([0.0, 0.0, 1.0]))
    if isinstance(form, Cone):
        return Bust(form.radius, form.slope, low - _BELOW * (high - low), high)
    long_mm, _ = form.oval.half_axes
    axis = form.frame[2]
    if abs(axis[2]) > 0.5:
        return Arm(form.oval, False, low - _BEHIND * long_mm, high + _BEFORE * long_mm)
    near, far = extent(rings, np.array([0.0, -1.0, 0.0]))
    return Arm(form.oval, True, near - _OUT_OF_SIGHT * long_mm, far + _SHOWN * long_mm)


def _disc(long: float, short: float, cell_mm: float) -> Floats:
    x, y = np.meshgrid(
        np.arange(-long, long, 0.5 * cell_mm), np.arange(-short, short, 0.5 * cell_mm)
    )
    inside = (x / long) ** 2 + (y / short) ** 2 <= 1.0
    return np.stack([x[inside], y[inside]], axis=1)


def _rounded(
    inset: Floats, height: Floats, tilt: Floats, edge_mm: float
) -> tuple[Floats, Floats, Floats]:
    """A profile with a rounded edge on top.

    Parameters
    ----------
    inset, height, tilt : how far each level of points is inside the lowest one, how high, and how
        far its normal is from level
    """
    turn = np.linspace(tilt[-1], 0.5 * np.pi, _EDGE_STEPS + 1)
    over = edge_mm * (np.cos(turn[0]) - np.cos(turn[1:]))
    up = edge_mm * (np.sin(turn[1:]) - np.sin(turn[0]))
    return (
        np.concatenate([inset, inset[-1] + over]),
        np.concatenate([height, height[-1] + up]),
        np.concatenate([tilt, turn[1:]]),
    )


def _closed_above(level: Floats, height: Floats, out: Floats, tilt: Floats) -> Mesh:
    """A surface of level rims, closed towards its middle on top; its bottom is never seen.

    Parameters
    ----------
    level : (around, levels, 2)
    out : (around, 2) the way out
    tilt : (levels,) how far normals are from level
    """
    shrink = np.concatenate([np.ones(level.shape[1]), [0.6, 0.3, 0.0]])
    level = np.concatenate([level, np.repeat(level[:, -1:], 3, axis=1)], axis=1)
    level = level * shrink[None, :, None]
    height, tilt = (np.append(each, np.repeat(each[-1:], 3)) for each in (height, tilt))
    shape = (*level.shape[:2], 1)
    vertices = np.concatenate([level, np.broadcast_to(height[None, :, None], shape)], axis=2)
    normals = np.concatenate(
        [
            np.cos(tilt)[None, :, None] * out[:, None],
            np.broadcast_to(np.sin(tilt)[None, :, None], shape),
        ],
        axis=2,
    )
    return Mesh(vertices.reshape(-1, 3), normals.reshape(-1, 3), _faces(*level.shape[:2]))


def _faces(around: int, levels: int) -> Ints:
    here, there = np.arange(around)[:, None], np.roll(np.arange(around), -1)[:, None]
    low = np.arange(levels - 1)
    a, b = here * levels + low, there * levels + low
    c, d = b + 1, a + 1
    return np.stack([a, b, c, a, c, d], axis=2).reshape(-1, 3)
