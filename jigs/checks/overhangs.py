"""What a printed part has in the air: surfaces beyond 45 degrees, and flat roofs between walls."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.jigs.checks.rays import Rays
from ringwright.jigs.parts.printing import BRIDGE_MM, OVERHANG_DEG, Printer

if TYPE_CHECKING:
    import trimesh


# Chords of a 45-degree cone are a little flatter than the cone itself.
_ANGLE_SLACK_DEG = 1.0
_FLAT_DEG = 1.0
_ON_BED_MM = 0.02
_DIRECTIONS = 16
_MOST_SAMPLES = 160


@dataclass(frozen=True)
class Overhang:
    """A connected surface that looks down more than allowed, where the part lies on the bed.

    Attributes
    ----------
    angle_deg : the worst angle from the vertical; 90 for a flat roof
    area_mm2 : of the surface
    low_mm : height of its lowest point above the bed
    reach_mm : farthest that a layer goes beyond the one below it, to the nearest support
    span_mm : largest distance from support to support across it, in the best direction at
        every point; infinite where it is held on one side only
    kind : ``bridge``, ``lip`` (no farther out than a bead) or ``overhang``, which needs support
    """

    angle_deg: float
    area_mm2: float
    low_mm: float
    reach_mm: float
    span_mm: float
    kind: str


def overhangs(mesh: trimesh.Trimesh, rays: Rays, printer: Printer) -> tuple[Overhang, ...]:
    """All surfaces of a part on the bed (z = 0) that overhang by more than 45 degrees."""
    normals, corners = np.asarray(mesh.face_normals), np.asarray(mesh.triangles)
    steepest = -np.sin(np.radians(OVERHANG_DEG + _ANGLE_SLACK_DEG))
    lowest = corners[:, :, 2].min(axis=1)
    hanging = (normals[:, 2] < steepest) & (corners[:, :, 2].max(axis=1) > _ON_BED_MM)
    found = []
    for patch in _patches(mesh, np.flatnonzero(hanging)):
        down = -normals[patch, 2]
        reach_mm, span_mm = _unsupported(mesh, rays, patch, printer.layer_height_mm)
        flat = float(down.min()) > np.cos(np.radians(_FLAT_DEG))
        if reach_mm <= printer.extrusion_width_mm and flat:
            kind = "lip"
        elif span_mm <= BRIDGE_MM and flat:
            kind = "bridge"
        elif _narrow_mm(corners[patch]) <= printer.extrusion_width_mm:
            kind = "lip"
        else:
            kind = "overhang"
        found.append(
            Overhang(
                angle_deg=round(float(np.degrees(np.arcsin(min(down.max(), 1.0)))), 1),
                area_mm2=float(np.asarray(mesh.area_faces)[patch].sum()),
                low_mm=float(lowest[patch].min()),
                reach_mm=reach_mm,
                span_mm=span_mm,
                kind=kind,
            )
        )
    return tuple(sorted(found, key=lambda each: (each.low_mm, -each.area_mm2)))


def _patches(mesh: trimesh.Trimesh, faces: Ints) -> list[Ints]:
    """The faces, grouped by what hangs together over edges."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    if not len(faces):
        return []
    place = np.full(len(mesh.faces), -1)
    place[faces] = np.arange(len(faces))
    pairs = place[np.asarray(mesh.face_adjacency)]
    pairs = pairs[(pairs >= 0).all(axis=1)]
    shape = (len(faces), len(faces))
    joined = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=shape)
    count, group = connected_components(joined, directed=False)
    return [faces[group == each] for each in range(count)]


def _unsupported(
    mesh: trimesh.Trimesh, rays: Rays, patch: Ints, layer_mm: float
) -> tuple[float, float]:
    """Reach and span of a patch; see :class:`Overhang`."""
    turns = np.arange(_DIRECTIONS) * 2.0 * np.pi / _DIRECTIONS
    ways = np.stack([np.cos(turns), np.sin(turns), np.zeros(_DIRECTIONS)], axis=1)
    reach_mm = span_mm = 0.0
    for point in _points(np.asarray(mesh.triangles)[patch]):
        below = point - np.array([0.0, 0.0, layer_mm])
        if below[2] <= 0.0 or rays.inside(below):
            continue
        away = np.array([rays.first(below, way)[0] for way in ways])
        reach_mm = max(reach_mm, float(away.min()))
        across = away[: _DIRECTIONS // 2] + away[_DIRECTIONS // 2 :]
        span_mm = max(span_mm, float(across.min()))
    return reach_mm, span_mm


def _points(corners: Floats) -> Floats:
    """Points on triangles: middles of all, and more where these are large."""
    weights = np.array(
        [[1, 1, 1], [4, 1, 1], [1, 4, 1], [1, 1, 4], [1, 3, 3], [3, 1, 3], [3, 3, 1]], dtype=float
    )
    weights /= weights.sum(axis=1, keepdims=True)
    points: Floats = np.einsum("wc,tcx->twx", weights, corners).reshape(-1, 3)
    # Evenly over the list, which runs from triangle to triangle.
    step = -(-len(points) // _MOST_SAMPLES)
    return points[::step]


def _narrow_mm(corners: Floats) -> float:
    """The smaller side of a patch seen from above, along x or y."""
    flat = corners[:, :, :2].reshape(-1, 2)
    return float((flat.max(axis=0) - flat.min(axis=0)).min())
