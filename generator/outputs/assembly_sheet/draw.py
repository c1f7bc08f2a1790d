"""The pictures of an assembly sheet, all drawn by one process; see ``models.artist``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Ints, NamedArrays
from ringwright.colour.looks import Look
from ringwright.colour.role_looks import GROOVE_WIDE, ROLE_LOOKS, RoleLook
from ringwright.outputs.assembly_sheet.open_ring import OpenRing, cuts
from ringwright.outputs.assembly_sheet.views import View, screen
from ringwright.outputs.models.artist import answer, new_plotter, png_bytes, shot
from ringwright.outputs.models.picture import add_metal, light_on
from ringwright.piece.mesh import Mesh, piece_mesh, torus_segments
from ringwright.piece.piece import Piece

# Vermilion and blue of the palette of Okabe and Ito (from memory), and a calm steel.
CALM = Look((0.70, 0.72, 0.74), "grey")
NEW = Look((0.835, 0.369, 0.0), "vermilion")
CARRIED = Look((0.0, 0.447, 0.698), "blue")


# How dark the bottom of a groove is.
_GROOVE_SHADE = 0.3


def sent(views: Sequence[View], pixels: int, roles: Mapping[str, str] | None = None) -> NamedArrays:
    """What the drawing process needs to know to draw square pictures of so many pixels.

    Parameters
    ----------
    roles : of the rings by their numbers, where rings are to look by role and not by step; what
        is not in it, such as the clasp, has none
    """
    arrays: NamedArrays = {"pixels": np.array(pixels), "count": np.array(len(views))}
    for index, view in enumerate(views):
        piece = view.piece
        arrays |= {
            f"centres{index}": piece.centres_mm,
            f"axes{index}": piece.axes,
            f"cores{index}": piece.core_radii_mm,
            f"wires{index}": piece.wire_radii_mm,
            f"new{index}": np.array(-1 if view.scene.new is None else view.scene.new),
            f"carried{index}": np.array(view.scene.picked_up, dtype=np.intp),
            f"cut{index}": np.zeros((2, 3))
            if view.opened is None
            else np.stack([view.opened.cut, view.opened.axis]),
            f"shift{index}": np.array(0.0 if view.opened is None else view.opened.shift_mm),
            f"lean{index}": np.array(0 if view.opened is None else view.opened.lean),
            f"toward{index}": view.toward,
            f"middle{index}": view.middle_mm,
            f"across{index}": np.array(view.across_mm),
        }
        if roles is not None:
            arrays[f"roles{index}"] = np.array([roles.get(name, "") for name in piece.names])
    return arrays


def child() -> None:
    """Draw the pictures that are sent, one below the other in one PNG file."""
    answer(_draw)


# ---- what follows runs in the child process ----


def _draw(arrays: NamedArrays) -> bytes:
    pixels = int(arrays["pixels"])
    pictures = [_picture(arrays, index, pixels) for index in range(int(arrays["count"]))]
    return png_bytes(np.concatenate(pictures))


def _picture(arrays: NamedArrays, index: int, pixels: int) -> Floats:
    count = len(arrays[f"cores{index}"])
    piece = Piece(
        tuple(str(ring) for ring in range(count)),
        ("open",) * count,
        arrays[f"centres{index}"],
        arrays[f"axes{index}"],
        arrays[f"cores{index}"],
        arrays[f"wires{index}"],
    )
    toward, middle = arrays[f"toward{index}"], arrays[f"middle{index}"]
    across_mm = float(arrays[f"across{index}"])
    new = int(arrays[f"new{index}"])
    carried = arrays[f"carried{index}"]
    roles = arrays[f"roles{index}"].tolist() if f"roles{index}" in arrays else None
    in_sight = _in_sight(piece, toward, middle, across_mm)

    plotter = new_plotter(pixels, pixels)
    plotter.set_background("white")
    camera = plotter.camera
    camera.enable_parallel_projection()
    # So far off that all lines of sight are as good as parallel.
    stands_mm = middle + 50.0 * across_mm * toward
    camera.focal_point = middle
    camera.position = stands_mm
    camera.up = screen(toward)[1]
    camera.parallel_scale = across_mm / 2.0
    chord_mm = 0.4 * across_mm / pixels
    for ring in in_sight.tolist():
        alone = np.array([ring])
        opened: OpenRing | None = None
        if ring == new:
            opened = OpenRing(
                piece.centres_mm[ring],
                arrays[f"cut{index}"][1],
                float(piece.core_radii_mm[ring]),
                float(piece.wire_radii_mm[ring]),
                arrays[f"cut{index}"][0],
                float(arrays[f"shift{index}"]),
                int(arrays[f"lean{index}"]),
            )
            size = (opened.core_radius_mm, opened.wire_radius_mm)
            mesh, look = opened.mesh(*torus_segments(*size, chord_mm)), NEW
        else:
            mesh = piece_mesh(piece, chord_mm, alone)
            look = CARRIED if ring in carried else CALM
        if roles is not None:
            look = CALM
        if roles is not None and roles[ring]:
            role = ROLE_LOOKS[roles[ring]]
            look = role.look
            _add_grooves(plotter, opened or _closed(piece, ring), role, chord_mm)
        light = light_on(piece, in_sight, alone, mesh) * _rim(mesh, toward)
        add_metal(plotter, mesh, light, look, stands_mm)
    plotter.reset_camera_clipping_range()
    return shot(plotter)


def _closed(piece: Piece, ring: int) -> OpenRing:
    """A ring of the piece as one whose ends meet."""
    axis = piece.axes[ring]
    size = (float(piece.core_radii_mm[ring]), float(piece.wire_radii_mm[ring]))
    return OpenRing(piece.centres_mm[ring], axis, *size, cuts(axis, 1)[0], 0.0)


def _add_grooves(plotter: Any, ring: OpenRing, role: RoleLook, chord_mm: float) -> None:
    """The grooves of a ring, as dark strips."""
    import pyvista

    around, _ = torus_segments(ring.core_radius_mm, ring.wire_radius_mm, chord_mm)
    colour = tuple(_GROOVE_SHADE * part for part in role.look.colour)
    for turn in role.grooves_rad:
        strip = ring.strip(around, turn, 2.0 * GROOVE_WIDE * ring.wire_radius_mm)
        data = pyvista.PolyData.from_regular_faces(strip.vertices, strip.faces)
        plotter.add_mesh(data, color=colour, lighting=False)


def _in_sight(piece: Piece, toward: Floats, middle: Floats, across_mm: float) -> Ints:
    sides = np.stack(screen(toward), axis=1)
    away = np.abs((piece.centres_mm - middle) @ sides).max(axis=1)
    return np.flatnonzero(away < across_mm / 2.0 + piece.core_radii_mm + piece.wire_radii_mm)


def _rim(mesh: Mesh, toward: Floats) -> Floats:
    """Less light where a ring turns away from the eye, so that its outline is dark."""
    facing = np.clip(mesh.normals @ toward, 0.0, 1.0)
    rim: Floats = 0.25 + 0.75 * np.minimum(facing / 0.45, 1.0)
    return rim
