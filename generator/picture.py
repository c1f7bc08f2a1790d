"""A still of a piece: the whole from above, and a few repeats close up.

The drawing library can end the whole process where a system lacks graphics
libraries, so it only ever runs in a child process: the piece goes in through
standard input, the PNG comes back through standard output.
"""

from __future__ import annotations

import io
import os
import re
import signal
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.looks import LOOKS, look_of
from generator.mesh import piece_mesh
from generator.piece import Piece

Floats = NDArray[np.float64]

TIME_LIMIT_S = 120.0

_PNG = b"\x89PNG\r\n\x1a\n"
# Finds this very package, wherever the program was started.
_CHILD = (
    "import sys; root = sys.argv[1]; root in sys.path or sys.path.insert(0, root); "
    "from generator.picture import _child; _child()"
)
_REMEDY = (
    "on Debian or Ubuntu, 'apt-get install libgl1 libegl1' brings the graphics libraries it needs"
)


class PictureUnavailable(Exception):
    """No picture could be drawn; the message is one plain sentence with the remedy."""


def write_png(
    piece: Piece, path: Path, size: tuple[int, int] = (1600, 900), close_up_only: bool = False
) -> None:
    """Draw the piece: all of it from above, and a few repeats at an angle.

    Parameters
    ----------
    piece : the rings
    path : the file; an older one is overwritten
    size : width and height in pixels, at least 320 x 180
    close_up_only : leave out the view from above and the legend

    Raises
    ------
    PictureUnavailable
        When the drawing library fails, or takes longer than two minutes.
    OSError
        When the file cannot be written.
    """
    sent = io.BytesIO()
    np.savez(
        sent,
        size=np.array(size),
        close_up_only=np.array(close_up_only),
        roles=np.array(piece.roles),
        metals=np.array(piece.metals, dtype=np.str_),
        centres_mm=piece.centres_mm,
        axes=piece.axes,
        core_radii_mm=piece.core_radii_mm,
        wire_radii_mm=piece.wire_radii_mm,
    )
    try:
        child = subprocess.run(
            _command(),
            input=sent.getvalue(),
            capture_output=True,
            timeout=TIME_LIMIT_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise PictureUnavailable(
            f"No picture was drawn: it was not finished in {TIME_LIMIT_S:.0f} seconds; {_REMEDY}."
        ) from None
    except OSError as error:
        raise PictureUnavailable(
            f"No picture was drawn: the drawing program did not start "
            f"({error.strerror or error}); {_REMEDY}."
        ) from error
    if child.returncode != 0 or not child.stdout.startswith(_PNG):
        raise PictureUnavailable(f"No picture was drawn: {_why(child)}; {_REMEDY}.")
    Path(path).write_bytes(child.stdout)


def _command() -> list[str]:
    """The child's command; -P, so that nothing in the present folder can stand in its way."""
    return [sys.executable, "-P", "-c", _CHILD, str(Path(__file__).resolve().parents[1])]


def _why(child: subprocess.CompletedProcess[bytes]) -> str:
    if child.returncode < 0:
        try:
            name = signal.Signals(-child.returncode).name
        except ValueError:
            name = f"signal {-child.returncode}"
        return f"the drawing library crashed ({name})"
    # The library colours its remarks for a terminal.
    said = re.sub(r"\x1b\[[0-9;]*m", "", child.stderr.decode(errors="replace"))
    lines = said.strip().splitlines()
    return f"the drawing library failed ({lines[-1].strip()[:200] if lines else 'no message'})"


def _child() -> None:
    """Read a piece from standard input, write its picture to standard output."""
    # The drawing library may print remarks; they are not to get into the picture.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    sent = np.load(io.BytesIO(sys.stdin.buffer.read()))
    piece = Piece(
        names=tuple(str(ring) for ring in range(len(sent["roles"]))),
        roles=tuple(sent["roles"].tolist()),
        centres_mm=sent["centres_mm"],
        axes=sent["axes"],
        core_radii_mm=sent["core_radii_mm"],
        wire_radii_mm=sent["wire_radii_mm"],
        metals=tuple(sent["metals"].tolist()),
    )
    width, height = sent["size"].tolist()
    if sent["close_up_only"]:
        data = _png(_close_up(piece, width, height))
    else:
        data = _draw(piece, width, height)
    with out:
        out.write(data)
        out.flush()
    # Some graphics drivers crash while they are shut down; the picture is out by then.
    os._exit(0)


@dataclass(frozen=True)
class _Span:
    """What a view must hold: a box about a piece's rings, in mm."""

    low: Floats
    high: Floats

    @property
    def centre(self) -> Floats:
        centre: Floats = (self.low + self.high) / 2.0
        return centre

    @property
    def size(self) -> Floats:
        size: Floats = self.high - self.low
        return size


def _span(piece: Piece, rings: NDArray[np.bool_]) -> _Span:
    # A ring reaches core * sin(angle to its axis) + wire along each direction.
    reach = piece.core_radii_mm[:, None] * np.sqrt(np.clip(1.0 - piece.axes**2, 0.0, 1.0))
    reach = reach + piece.wire_radii_mm[:, None]
    return _Span(
        (piece.centres_mm - reach)[rings].min(axis=0),
        (piece.centres_mm + reach)[rings].max(axis=0),
    )


# ---- what follows runs in the child process ----

_OVERSAMPLING = 2
_BACKGROUND = (0.957, 0.957, 0.961)
_LINE = (0.80, 0.81, 0.82)
_INK = (0.16, 0.17, 0.19)
_TOP_SHARE, _LEGEND_SHARE = 0.20, 0.08
_LEGEND_METALS = 4
# Towards the camera and the lamp of the close-up; x along the piece, z up.
_CAMERA = np.array([-0.32, -0.74, 0.62])
_LAMP = np.array([-0.25, 0.30, 1.0])
_VIEW_ANGLE = np.radians(16.0)


def _draw(piece: Piece, width: int, height: int) -> bytes:
    """The PNG's bytes: the whole piece on top, a close-up below, a legend at the bottom."""
    top, bottom = round(_TOP_SHARE * height), round(_LEGEND_SHARE * height)
    rows = [
        _whole(piece, width, top),
        _close_up(piece, width, height - top - bottom),
        _legend(piece, width, bottom),
    ]
    picture = np.concatenate(rows)
    # A hairline on either side of the close-up, so that its cut edges look meant.
    picture[[top, height - bottom - 1]] = 255.0 * np.array(_LINE)
    return _png(picture)


def _whole(piece: Piece, width: int, height: int) -> Floats:
    """All of the piece seen from straight above."""
    span = _span(piece, np.ones(len(piece), dtype=np.bool_))
    mm_per_pixel = max(span.size[0] / (0.95 * width), span.size[1] / (0.74 * height))
    plotter = _plotter(width, height)
    _light(plotter)
    # A fifth of a pixel is as round as anyone can see.
    _add_rings(plotter, piece, np.arange(len(piece)), 0.2 * mm_per_pixel)
    camera = plotter.camera
    camera.enable_parallel_projection()
    camera.focal_point = span.centre
    camera.position = span.centre + 10.0 * span.size.max() * np.array([0.0, 0.0, 1.0])
    camera.up = (0.0, 1.0, 0.0)
    camera.parallel_scale = 0.5 * height * mm_per_pixel
    plotter.reset_camera_clipping_range()
    return _shot(plotter)


def _close_up(piece: Piece, width: int, height: int) -> Floats:
    """About three repeats from the middle of the piece, lying on a table."""
    core_mm = float(piece.core_radii_mm.max())
    whole = _span(piece, np.ones(len(piece), dtype=np.bool_))
    # Five rings in a row are about three repeats of a chain.
    length_mm = min(max(11.0 * core_mm, 2.2 * whole.size[1]), 1.2 * whole.size[0])
    from_middle = np.abs(piece.centres_mm[:, 0] - whole.centre[0])
    near = from_middle <= 2.0 * length_mm
    span = _span(piece, near)

    # Shading at the very edge of a view suffers from what lies beyond it, so that is cut off.
    edge = 12
    plotter = _plotter(width + 2 * edge, height + 2 * edge)
    _light(plotter)
    _add_rings(plotter, piece, np.flatnonzero(near), 0.3 * length_mm / width)
    _add_table(plotter, piece, np.flatnonzero(near), span)
    camera = plotter.camera
    camera.view_angle = float(np.degrees(_VIEW_ANGLE))
    camera.focal_point = span.centre
    sees_mm = max(length_mm * height / width, 2.2 * span.size[2], 0.9 * span.size[1])
    toward = _CAMERA / np.linalg.norm(_CAMERA)
    camera.position = span.centre + sees_mm / (2.0 * np.tan(_VIEW_ANGLE / 2.0)) * toward
    camera.up = (0.0, 0.0, 1.0)
    plotter.reset_camera_clipping_range()
    plotter.enable_ssao(radius=core_mm, bias=0.02 * core_mm, kernel_size=14, blur=True)
    return _shot(plotter)[edge:-edge, edge:-edge]


def _legend(piece: Piece, width: int, height: int) -> Floats:
    """Which colour means what, in words too, and how long the piece is."""
    import pyvista

    plotter = _plotter(width, height)
    _light(plotter, (64, 32))
    camera = plotter.camera
    camera.enable_parallel_projection()
    # One unit is one pixel, from the row's lower left corner.
    camera.focal_point = (width / 2.0, height / 2.0, 0.0)
    camera.position = (width / 2.0, height / 2.0, 10.0 * width)
    camera.up = (0.0, 1.0, 0.0)
    camera.parallel_scale = height / 2.0

    def write(words: str, column: float, side: str) -> None:
        text = pyvista.Text(words, position=(_OVERSAMPLING * column, _OVERSAMPLING * height / 2.0))
        text.prop.font_family = "arial"
        text.prop.font_size = max(1, round(_OVERSAMPLING * 0.0145 * width))
        text.prop.color = _INK
        text.prop.justification_horizontal = side
        text.prop.justification_vertical = "center"
        plotter.add_actor(text)

    radius = 0.011 * width
    column = 0.025 * width
    wide = 0.29 * width if not piece.metals else 0.185 * width
    shown, rest = _legend_entries(piece)
    for paint, words in shown:
        swatch = Piece(
            ("swatch",),
            (paint,),
            np.array([[column + radius, height / 2.0, 0.0]]),
            np.array([[-0.35, -0.5, 0.79]]),
            np.array([0.78 * radius]),
            np.array([0.22 * radius]),
        )
        _add_rings(plotter, swatch, np.arange(1), 0.1)
        write(words, column + 2.9 * radius, "left")
        column += wide
    if rest:
        write(f"and {rest} more", column, "left")
    rings = "ring" if len(piece) == 1 else "rings"
    write(f"{len(piece)} {rings}, {piece.length_mm():.1f} mm long", 0.975 * width, "right")
    plotter.reset_camera_clipping_range()
    return _shot(plotter)


def _legend_entries(piece: Piece) -> tuple[list[tuple[str, str]], int]:
    """What the legend shows: paints with the words beside them, and how many are left out."""

    def said(count: int) -> str:
        return "ring" if count == 1 else "rings"

    if not piece.metals:
        counts = [(role, piece.roles.count(role)) for role in LOOKS]
        return [
            (role, f"{count} {role} {said(count)} ({LOOKS[role].metal} colour)")
            for role, count in counts
            if count
        ], 0
    # The most frequent first; what does not fit is in the table of figures.
    counts = sorted(
        ((paint, piece.metals.count(paint)) for paint in set(piece.metals)),
        key=lambda item: (-item[1], item[0]),
    )
    shown = counts if len(counts) <= _LEGEND_METALS else counts[: _LEGEND_METALS - 1]
    return [(paint, f"{count} {paint}") for paint, count in shown], len(counts) - len(shown)


def _plotter(width: int, height: int) -> Any:
    import pyvista

    plotter = pyvista.Plotter(
        off_screen=True,
        lighting="none",
        window_size=[_OVERSAMPLING * width, _OVERSAMPLING * height],
    )
    plotter.set_background(_BACKGROUND)
    return plotter


def _light(plotter: Any, detail: tuple[int, int] = (256, 128)) -> None:
    """A lamp, and a studio all around, of so much detail, for the metal to mirror."""
    import pyvista

    studio = _studio(*detail)
    image = pyvista.ImageData(dimensions=(studio.shape[1], studio.shape[0], 1))
    image.point_data["light"] = studio.reshape(-1, 3)
    texture = pyvista.Texture()
    texture.SetInputData(image)
    texture.SetColorModeToDirectScalars()
    texture.MipmapOn()
    texture.InterpolateOn()
    renderer = plotter.renderer
    renderer.UseImageBasedLightingOn()
    renderer.SetEnvironmentTexture(texture, False)
    renderer.SetEnvironmentUp(0.0, 0.0, 1.0)
    renderer.SetEnvironmentRight(1.0, 0.0, 0.0)
    # Rough enough to be quick without a graphics card; the metal is not polished anyway.
    renderer.GetEnvMapPrefiltered().SetPrefilterMaxSamples(96)
    renderer.GetEnvMapLookupTable().SetLUTSize(128)
    renderer.GetEnvMapLookupTable().SetLUTSamples(128)
    lamp = pyvista.Light(position=tuple(_LAMP), light_type="scene light", intensity=1.4)
    lamp.positional = False
    plotter.add_light(lamp)


def _studio(width: int, height: int) -> NDArray[np.float32]:
    """(height, width, 3) light from all around, from straight down to straight up."""
    up = np.linspace(-0.5 * np.pi, 0.5 * np.pi, height)[:, None]
    around = np.linspace(-np.pi, np.pi, width, endpoint=False)[None, :]

    def soft_box(azimuth: float, elevation: float, wide: float, tall: float) -> Floats:
        across = np.abs(np.angle(np.exp(1j * (around - azimuth)))) * np.cos(up)
        outside = np.maximum(across / wide, np.abs(up - elevation) / tall)
        box: Floats = 1.0 / (1.0 + np.exp(14.0 * (outside - 1.0)))
        return box

    # A bright table, walls that are dark at eye level, and a ceiling.
    light = 0.42 + 0.30 * np.tanh(4.0 * (np.abs(up + 0.1) - 0.35)) + 0.0 * around
    light = light + 3.6 * soft_box(-2.2, 0.85, 0.55, 0.35)
    light = light + 2.6 * soft_box(0.7, 0.75, 0.40, 0.45)
    light = light + 2.0 * soft_box(2.5, 0.40, 0.16, 0.55)
    light = light + 1.6 * np.exp(-(((up - np.pi / 2.0) / 0.45) ** 2))
    return np.repeat(light[:, :, None], 3, axis=2).astype(np.float32)


def _add_rings(plotter: Any, piece: Piece, rings: NDArray[np.intp], chord_error_mm: float) -> None:
    import pyvista

    for paint in sorted({piece.paints[ring] for ring in rings.tolist()}):
        look = look_of(paint)
        painted = [ring for ring in rings.tolist() if piece.paints[ring] == paint]
        mesh = piece_mesh(piece, chord_error_mm, painted)
        data = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
        data.point_data.active_normals = mesh.normals
        actor = plotter.add_mesh(data, color=look.colour, pbr=True, metallic=1.0, roughness=0.28)
        actor.prop.interpolation = "Physically based rendering"


def _add_table(plotter: Any, piece: Piece, rings: NDArray[np.intp], span: _Span) -> None:
    """The table, of the background's colour, with the rings' soft shadow painted on it."""
    import pyvista

    margin_mm = span.size[2] + 4.0 * piece.core_radii_mm.max()
    low, high = span.low[:2] - margin_mm, span.high[:2] + margin_mm
    shade = _shadow(piece, rings, span.low[2], low, high)
    colour = np.array(_BACKGROUND) * (1.0 - 0.42 * shade[:, :, None] * np.array([1.0, 0.98, 0.94]))

    size, centre = high - low, (low + high) / 2.0
    table = pyvista.Plane(
        center=(*centre, span.low[2]),
        direction=(0.0, 0.0, 1.0),
        i_size=size[0],
        j_size=size[1],
        i_resolution=1,
        j_resolution=1,
    )
    # A corner of the picture belongs to each corner of the table, wherever the plane begins.
    table.active_texture_coordinates = (table.points[:, :2] - low) / size
    image = pyvista.ImageData(dimensions=(shade.shape[1], shade.shape[0], 1))
    image.point_data["colour"] = np.rint(255.0 * colour).astype(np.uint8).reshape(-1, 3)
    texture = pyvista.Texture()
    texture.SetInputData(image)
    texture.InterpolateOn()
    plotter.add_mesh(table, texture=texture, lighting=False)


def _shadow(
    piece: Piece, rings: NDArray[np.intp], table_mm: float, low: Floats, high: Floats
) -> Floats:
    """How dark the table is, 0 to 1, on a grid of (rows along y, columns along x)."""
    from scipy.ndimage import gaussian_filter

    core_mm = float(piece.core_radii_mm.max())
    cell_mm = core_mm / 14.0
    columns, rows = np.ceil((high - low) / cell_mm).astype(int)
    # Fine enough to leave no hole between the points.
    points = piece_mesh(piece, cell_mm**2 / (16.0 * core_mm), rings).vertices
    height_mm = points[:, 2] - table_mm
    fallen = points[:, :2] - np.outer(height_mm, _LAMP[:2] / _LAMP[2])
    dark = np.zeros((rows, columns))
    # The farther a part is from the table, the softer its shadow.
    for nearest, blur_mm in ((0.0, 0.10 * core_mm), (1.0, 0.24 * core_mm), (2.0, 0.5 * core_mm)):
        layer = np.floor(height_mm / core_mm).clip(0, 2) == nearest
        grid, _, _ = np.histogram2d(
            fallen[layer, 1],
            fallen[layer, 0],
            bins=(rows, columns),
            range=((low[1], high[1]), (low[0], high[0])),
        )
        dark = np.maximum(dark, gaussian_filter((grid > 0).astype(float), blur_mm / cell_mm))
    return dark


def _shot(plotter: Any) -> Floats:
    """The picture at its final size, in levels from 0 to 255."""
    levels = plotter.screenshot(return_img=True).astype(np.float64)
    plotter.close()
    rows, columns = levels.shape[0] // _OVERSAMPLING, levels.shape[1] // _OVERSAMPLING
    blocks = levels.reshape(rows, _OVERSAMPLING, columns, _OVERSAMPLING, 3)
    smooth: Floats = blocks.mean(axis=(1, 3))
    return smooth


def _png(levels: Floats) -> bytes:
    import pyvista
    from vtkmodules.util.numpy_support import vtk_to_numpy
    from vtkmodules.vtkIOImage import vtkPNGWriter

    rows, columns = levels.shape[:2]
    image = pyvista.ImageData(dimensions=(columns, rows, 1))
    # Rows of a picture run down, those of the library up.
    image.point_data["levels"] = np.rint(levels[::-1]).astype(np.uint8).reshape(-1, 3)
    writer = vtkPNGWriter()
    writer.WriteToMemoryOn()
    writer.SetInputData(image)
    writer.Write()
    return bytes(vtk_to_numpy(writer.GetResult()))
