"""The form that a worn piece lies round: a plain elliptic column with a rounded edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.oval import Oval
from ringwright.piece.mesh import Mesh

# Against the oval that the metal touches, so that the two never meet in one surface.
_THINNER_MM = 0.08
_EDGE_MM = 2.5
_EDGE_STEPS = 12
_AROUND = 720


@dataclass(frozen=True)
class Wrist:
    """A column about the z axis; lengths in millimetres."""

    oval: Oval
    low_mm: float
    high_mm: float

    def mesh(self, step_mm: float) -> Mesh:
        """Its side and top, with points so far apart along it; the bottom is never seen."""
        inset, height = self._profile(step_mm)
        angles = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
        long, short = (half - _THINNER_MM for half in self.oval.half_axes)
        out = np.stack([short * np.cos(angles), long * np.sin(angles)], axis=1)
        out /= np.linalg.norm(out, axis=1)[:, None]
        rim = np.stack([long * np.cos(angles), short * np.sin(angles)], axis=1)
        level = rim[:, None] - inset[None, :, None] * out[:, None]
        # The top is closed towards its middle line.
        shrink = np.concatenate([np.ones(len(inset)), [0.6, 0.3, 0.0]])
        level = np.concatenate([level, np.repeat(level[:, -1:], 3, axis=1)], axis=1)
        level = level * shrink[None, :, None]
        height = np.concatenate([height, np.repeat(height[-1:], 3)])
        vertices = np.concatenate(
            [level, np.broadcast_to(height[None, :, None], (*level.shape[:2], 1))], axis=2
        )
        up = np.clip(np.concatenate([inset, [_EDGE_MM] * 3]) / _EDGE_MM, 0.0, 1.0)
        tilt = np.arccos(1.0 - up)
        normals = np.concatenate(
            [
                np.cos(tilt)[None, :, None] * out[:, None],
                np.broadcast_to(np.sin(tilt)[None, :, None], (*level.shape[:2], 1)),
            ],
            axis=2,
        )
        return Mesh(vertices.reshape(-1, 3), normals.reshape(-1, 3), _faces(*level.shape[:2]))

    def lengths(self, vertices: Floats) -> Floats:
        """How far along the oval each of the mesh's points is."""
        levels = len(vertices) // _AROUND
        _, _, along = self.oval.clearance(vertices.reshape(_AROUND, levels, 3)[:, 0])
        return np.repeat(along, levels)

    def _profile(self, step_mm: float) -> tuple[Floats, Floats]:
        """How far inside the side each level of points is, and its height."""
        count = max(2, int(np.ceil((self.high_mm - _EDGE_MM - self.low_mm) / step_mm)))
        side = np.linspace(self.low_mm, self.high_mm - _EDGE_MM, count + 1)
        tilt = np.linspace(0.0, 0.5 * np.pi, _EDGE_STEPS + 1)[1:]
        inset = np.concatenate([np.zeros(count + 1), _EDGE_MM * (1.0 - np.cos(tilt))])
        return inset, np.concatenate([side, self.high_mm - _EDGE_MM * (1.0 - np.sin(tilt))])

    def points(self, cell_mm: float) -> Floats:
        """Points all through it, for its shadow on the ground."""
        long, short = self.oval.half_axes
        x, y = np.meshgrid(
            np.arange(-long, long, 0.5 * cell_mm), np.arange(-short, short, 0.5 * cell_mm)
        )
        inside = (x / long) ** 2 + (y / short) ** 2 <= 1.0
        disc = np.stack([x[inside], y[inside]], axis=1)
        heights = np.linspace(self.low_mm, self.high_mm, 24)
        return np.concatenate(
            [np.column_stack([disc, np.full(len(disc), height)]) for height in heights]
        )


def _faces(around: int, levels: int) -> Ints:
    here, there = np.arange(around)[:, None], np.roll(np.arange(around), -1)[:, None]
    low = np.arange(levels - 1)
    a, b = here * levels + low, there * levels + low
    c, d = b + 1, a + 1
    return np.stack([a, b, c, a, c, d], axis=2).reshape(-1, 3)
