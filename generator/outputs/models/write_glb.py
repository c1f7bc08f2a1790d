"""A piece as a binary glTF 2.0 file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ringwright.base import defaults
from ringwright.colour.looks import LOOKS, look_of, surface_of
from ringwright.piece.mesh import frames, ring_sizes, size_segments, torus_mesh, torus_normals

if TYPE_CHECKING:
    from ringwright.piece.piece import Piece

_LEAST_ROUGH = 0.35
# glTF has metres and y up (glTF 2.0 specification, 3.4, from memory); a piece has
# millimetres and z up.
TO_GLTF = np.array(
    [[0.001, 0.0, 0.0, 0.0], [0.0, 0.0, 0.001, 0.0], [0.0, -0.001, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]]
)


def write_glb(piece: Piece, path: Path, chord_error_mm: float = defaults.CHORD_ERROR_MM) -> None:
    """Write a scene in which each ring is a node of its own name.

    Rings of one size and role (or metal, where rings have one) share one mesh, with smooth
    normals and a metallic material called after it. The node ``piece`` above them all turns
    millimetres with z up into metres with y up.

    Parameters
    ----------
    piece : the rings
    path : the file; an older one is overwritten
    chord_error_mm : farthest that a facet may lie from the true ring

    Raises
    ------
    BadInput
        When the chord error is not above zero, or far too small.
    OSError
        When the file cannot be written.
    """
    import trimesh
    from trimesh.visual import TextureVisuals
    from trimesh.visual.material import PBRMaterial

    materials = {
        paint: PBRMaterial(
            name=paint,
            baseColorFactor=[*look_of(paint).linear(), 1.0],
            metallicFactor=1.0,
            roughnessFactor=_roughness(paint),
        )
        for paint in sorted(set(piece.paints))
    }
    sizes = ring_sizes(piece)
    segments = size_segments(sizes, chord_error_mm)
    scene = trimesh.Scene(base_frame="world")
    scene.graph.update(frame_from="world", frame_to="piece", matrix=TO_GLTF)
    for size, paint in sorted(set(zip(sizes.of_ring.tolist(), piece.paints, strict=True))):
        vertices, faces = torus_mesh(
            sizes.core_radii_mm[size], sizes.wire_radii_mm[size], *segments[size]
        )
        scene.geometry[_mesh_name(paint, size)] = trimesh.Trimesh(
            vertices,
            faces,
            vertex_normals=torus_normals(*segments[size]),
            visual=TextureVisuals(material=materials[paint]),
            process=False,
        )
    placements = np.tile(np.eye(4), (len(piece), 1, 1))
    placements[:, :3, :3] = frames(piece.axes)
    placements[:, :3, 3] = piece.centres_mm
    for ring, (name, paint) in enumerate(zip(piece.names, piece.paints, strict=True)):
        scene.graph.update(
            frame_from="piece",
            frame_to=name,
            matrix=placements[ring],
            geometry=_mesh_name(paint, int(sizes.of_ring[ring])),
        )
    data = trimesh.exchange.gltf.export_glb(scene, include_normals=True)
    Path(path).write_bytes(data)


def _roughness(paint: str) -> float:
    """As the metal is, but not so polished that a viewer with small lamps shows it black."""
    return _LEAST_ROUGH if paint in LOOKS else max(_LEAST_ROUGH, surface_of(paint).roughness)


def _mesh_name(paint: str, size: int) -> str:
    return f"{paint} ring, size {size + 1}"
