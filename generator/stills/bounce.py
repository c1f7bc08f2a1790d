"""What rings hide from one another: the part of the studio that each point mirrors, or does not.

A drawing library without rays lets every point mirror the whole studio. So from every point the
mirrored ray is followed here past the other rings: how near it comes to them, seen from the
point, says how much of the blurred mirror image they fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from generator.mesh import Mesh
from generator.piece import Piece

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]

_STEPS = 16
# A point mirrors its own ring only from this far on, in wire radii.
_OWN_FROM = 2.5
# How bright the other rings are that it mirrors, where the studio is 1.
_RINGS_SHINE = 0.42


@dataclass(frozen=True, eq=False)
class Shade:
    """How dark the ground is, 0 to 1: (rows along y, columns along x) between two corners."""

    dark: Floats
    low: Floats
    high: Floats
    height_mm: float

    def at(self, points: Floats) -> Floats:
        """The shade at points, (n, 2); none outside."""
        from scipy.ndimage import map_coordinates

        rows, columns = self.dark.shape
        place = (points - self.low) / (self.high - self.low)
        cells = np.stack([place[:, 1] * rows - 0.5, place[:, 0] * columns - 0.5])
        return np.asarray(map_coordinates(self.dark, cells, order=1, mode="constant"))


def mirrored_share(
    piece: Piece,
    ring: int,
    surface: Mesh,
    camera_mm: Floats,
    roughness: float,
    shade: Shade | None,
) -> tuple[Floats, Floats]:
    """How much of what a ring's points mirror is studio, and how much is other rings.

    Parameters
    ----------
    surface : points of the ring and their normals
    camera_mm : (3,)
    roughness : of the surface: the rougher, the wider the mirrored cone
    shade : of the ground below, if there is one

    Returns
    -------
    studio, rings : (n,) shares; what is missing to 1 is in the dark
    """
    points, normals = surface.vertices, surface.normals
    toward = camera_mm - points
    toward /= np.linalg.norm(toward, axis=1, keepdims=True)
    facing = np.einsum("ni,ni->n", normals, toward)
    ray = 2.0 * facing[:, None] * normals - toward
    # Behind, where nobody looks, the ray may go anywhere.
    clear = _clearance(piece, ring, points, ray)
    cone = 0.10 + 0.75 * roughness
    studio = np.clip(0.5 + clear / cone, 0.0, 1.0)
    studio = studio * studio * (3.0 - 2.0 * studio)
    rings = _RINGS_SHINE * (1.0 - studio)
    if shade is not None:
        studio = studio * _ground_light(points, ray, shade)
    return studio, rings


def _clearance(piece: Piece, ring: int, points: Floats, ray: Floats) -> Floats:
    """The least angle between a ray and any other ring; negative inside one."""
    wire = float(piece.wire_radii_mm[ring])
    reach = piece.core_radii_mm + piece.wire_radii_mm
    apart = np.linalg.norm(piece.centres_mm - piece.centres_mm[ring], axis=1)
    far = 3.0 * float(reach[ring])
    others = np.flatnonzero(apart < reach + reach[ring] + far)
    travelled = np.full(len(points), 0.12 * wire)
    least = np.full(len(points), 1.0)
    for _ in range(_STEPS):
        here = points + travelled[:, None] * ray
        nearest = np.full(len(points), far)
        for other in others.tolist():
            gap = _gap(piece, other, here)
            if other == ring:
                gap = np.where(travelled > _OWN_FROM * wire, gap, far)
            nearest = np.minimum(nearest, gap)
        least = np.minimum(least, nearest / travelled)
        travelled += np.clip(nearest, 0.12 * wire, 4.0 * wire)
    return np.asarray(least)


def _gap(piece: Piece, ring: int, points: Floats) -> Floats:
    offset = points - piece.centres_mm[ring]
    height = offset @ piece.axes[ring]
    square = np.einsum("ni,ni->n", offset, offset) - height**2
    off_axis = np.sqrt(np.maximum(square, 0.0)) - piece.core_radii_mm[ring]
    return np.asarray(np.hypot(off_axis, height) - piece.wire_radii_mm[ring])


def _ground_light(points: Floats, ray: Floats, shade: Shade) -> Floats:
    """What the ground's shade leaves of a ray that goes down."""
    down = np.maximum(-ray[:, 2], 1e-3)
    away = np.minimum((points[:, 2] - shade.height_mm) / down, 1e3)
    hits = np.clip(-ray[:, 2] / 0.15, 0.0, 1.0)
    met = points[:, :2] + away[:, None] * ray[:, :2]
    return np.asarray(1.0 - hits * shade.at(met))


def ground_shade(piece: Piece, height_mm: float, margin_mm: float, cell_mm: float) -> Shade:
    """The soft shadow of rings on the ground: dark where they touch it, wide and faint from above.

    Parameters
    ----------
    height_mm : of the ground
    margin_mm : how far the shade is followed beyond the rings
    cell_mm : how fine
    """
    from scipy.ndimage import gaussian_filter

    from generator.mesh import piece_mesh

    reach = (piece.core_radii_mm + piece.wire_radii_mm)[:, None]
    low = (piece.centres_mm - reach).min(axis=0)[:2] - margin_mm
    high = (piece.centres_mm + reach).max(axis=0)[:2] + margin_mm
    columns, rows = np.ceil((high - low) / cell_mm).astype(int)
    high = low + cell_mm * np.array([columns, rows])
    core_mm = float(piece.core_radii_mm.max())
    # Fine enough to leave no hole between the points.
    points = piece_mesh(piece, cell_mm**2 / (10.0 * core_mm)).vertices
    above = points[:, 2] - height_mm
    left = np.ones((rows, columns))
    edges = np.array([0.0, 0.35, 0.8, 1.5, 2.4, 3.6, 5.5, np.inf]) * core_mm
    for bottom, top in pairwise(edges.tolist()):
        layer = (above >= bottom) & (above < top)
        if not layer.any():
            continue
        mean = float(above[layer].mean())
        # The key light is large: what it leaves dark is shifted a little and soon soft.
        fallen = points[layer, :2] + mean * np.array([0.34, -0.22])
        grid, _, _ = np.histogram2d(
            fallen[:, 1],
            fallen[:, 0],
            bins=(rows, columns),
            range=((low[1], high[1]), (low[0], high[0])),
        )
        blur = gaussian_filter((grid > 0).astype(float), (0.07 * core_mm + 0.42 * mean) / cell_mm)
        left *= 1.0 - 0.62 * blur
    return Shade(1.0 - left, low, high, height_mm)
