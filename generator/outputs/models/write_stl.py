"""Binary STL files: of a piece, and of any triangles."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ringwright.base import defaults
from ringwright.base.arrays import Floats
from ringwright.piece.mesh import frames, ring_sizes, size_segments, torus_mesh

if TYPE_CHECKING:
    from ringwright.piece.piece import Piece

# Programs take a file that begins with "solid" for the text form, so this does not.
_HEADER = b"ringwright binary STL, millimetres, z up".ljust(80)


def write_stl(piece: Piece, path: Path, chord_error_mm: float = defaults.CHORD_ERROR_MM) -> None:
    """Write every ring as a closed shell of triangles, in millimetres.

    Parameters
    ----------
    piece : the rings
    path : the file; an older one is overwritten
    chord_error_mm : farthest that a facet may lie from the true ring

    Raises
    ------
    BadInput
        When the chord error is not above zero, or so small that the piece would take
        more than 25,000,000 triangles.
    OSError
        When the file cannot be written.
    """
    sizes = ring_sizes(piece)
    templates = []
    for size, (around, across) in enumerate(size_segments(sizes, chord_error_mm)):
        vertices, faces = torus_mesh(
            sizes.core_radii_mm[size], sizes.wire_radii_mm[size], around, across
        )
        corners = vertices[faces]
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        normals /= np.linalg.norm(normals, axis=1, keepdims=True)
        templates.append((corners, normals))

    count = sum(len(templates[size][1]) for size in sizes.of_ring)
    turned = frames(piece.axes)
    # Ring by ring, so that a long piece takes no more memory than a short one.
    shells = (
        (
            templates[size][0] @ turned[ring].T + piece.centres_mm[ring],
            templates[size][1] @ turned[ring].T,
        )
        for ring, size in enumerate(sizes.of_ring)
    )
    write_triangles(path, count, shells)


def write_triangles(path: Path, count: int, shells: Iterable[tuple[Floats, Floats]]) -> None:
    """Write triangles, in millimetres.

    Parameters
    ----------
    path : the file; an older one is overwritten
    count : how many triangles all shells have
    shells : of each shell (n, 3, 3) corners and (n, 3) unit normals

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    from stl import Mesh

    with open(path, "wb") as file:
        file.write(_HEADER)
        file.write(np.array(count, dtype="<u4").tobytes())
        for corners, normals in shells:
            # The record of a triangle as numpy-stl defines it: normal, corners, two spare bytes.
            facets = np.zeros(len(normals), dtype=Mesh.dtype)
            facets["vectors"] = corners
            facets["normals"] = normals
            file.write(facets.tobytes())
