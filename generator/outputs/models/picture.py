"""A still of a piece: the whole from above, and a few repeats close up."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints, Levels, NamedArrays
from ringwright.colour.looks import LOOKS, Look, look_of
from ringwright.geometry.circles import nearest_on_circle
from ringwright.outputs.models.artist import (
    BACKGROUND,
    INK,
    OVERSAMPLING,
    answer,
    flat_plotter,
    new_plotter,
    png_bytes,
    png_from_child,
    shot,
)
from ringwright.piece.mesh import Mesh, piece_mesh, ring_sizes
from ringwright.piece.piece import Piece
from ringwright.solver.measure import extent


def write_png(
    piece: Piece,
    path: Path,
    size: tuple[int, int] = (1600, 900),
    close_up_only: bool = False,
    table: bool = True,
) -> None:
    """Draw the piece: all of it from above, and a few repeats at an angle.

    Parameters
    ----------
    piece : the rings
    path : the file; an older one is overwritten
    size : width and height in pixels, at least 320 x 180
    close_up_only : leave out the view from above and the legend
    table : whether there is one under the piece, with its shadow

    Raises
    ------
    PictureUnavailable
        When the drawing library fails, or takes longer than two minutes.
    OSError
        When the file cannot be written.
    """
    Path(path).write_bytes(png_from_child(__name__, sent(piece, size, close_up_only, table)))


def sent(
    piece: Piece,
    size: tuple[int, int] = (1600, 900),
    close_up_only: bool = False,
    table: bool = True,
    long_mm: float | None = None,
) -> NamedArrays:
    """What the drawing process needs to know; see :func:`write_png`.

    Parameters
    ----------
    long_mm : how long the legend says it is; None for as it lies along x
    """
    return {
        "size": np.array(size),
        "close_up_only": np.array(close_up_only),
        "table": np.array(table),
        "long_mm": np.array(piece.length_mm() if long_mm is None else long_mm),
        "roles": np.array(piece.roles),
        "metals": np.array(piece.metals, dtype=np.str_),
        "centres_mm": piece.centres_mm,
        "axes": piece.axes,
        "core_radii_mm": piece.core_radii_mm,
        "wire_radii_mm": piece.wire_radii_mm,
    }


def child() -> None:
    """Draw the piece that is sent."""
    answer(_draw_sent, _warm_up)


def _draw_sent(arrays: NamedArrays) -> bytes:
    piece = Piece(
        names=tuple(str(ring) for ring in range(len(arrays["roles"]))),
        roles=tuple(arrays["roles"].tolist()),
        centres_mm=arrays["centres_mm"],
        axes=arrays["axes"],
        core_radii_mm=arrays["core_radii_mm"],
        wire_radii_mm=arrays["wire_radii_mm"],
        metals=tuple(arrays["metals"].tolist()),
    )
    width, height = arrays["size"].tolist()
    if arrays["close_up_only"]:
        return png_bytes(_close_up(piece, width, height, bool(arrays["table"])))
    return _draw(piece, width, height, bool(arrays["table"]), float(arrays["long_mm"]))


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


def _span(piece: Piece, rings: Bools) -> _Span:
    # A ring reaches core * sin(angle to its axis) + wire along each direction.
    reach = piece.core_radii_mm[:, None] * np.sqrt(np.clip(1.0 - piece.axes**2, 0.0, 1.0))
    reach = reach + piece.wire_radii_mm[:, None]
    return _Span(
        (piece.centres_mm - reach)[rings].min(axis=0),
        (piece.centres_mm + reach)[rings].max(axis=0),
    )


# ---- what follows runs in the child process ----

_LINE = (0.80, 0.81, 0.82)
_TOP_SHARE, _LEGEND_SHARE = 0.20, 0.08
_LEGEND_METALS = 4
# Shares of the picture's width: an entry of the legend, and what it takes for swatch and letters.
_ENTRY_WIDE, _SWATCH_WIDE, _LETTER_WIDE = 0.185, 0.045, 0.0078
_ROLE_WIDE = 0.29
# Towards the camera and the lamp of the close-up; x along the piece, z up.
_CAMERA = np.array([-0.32, -0.74, 0.62])
# A sheet, rosette or flower is known by its face, so the camera stands higher over it.
_CAMERA_OVER_FACE = np.array([-0.15, -0.45, 0.88])
_AS_WIDE_AS_LONG = 0.4
# What goes round an arm or a neck is shown whole, with such a margin.
_AS_HIGH_AS_LONG, _MARGIN = 0.7, 1.0
_LAMP = np.array([-0.25, 0.30, 1.0])
# How much of its light a point loses where another ring touches it.
_DARKEST = 0.85
_UP = np.array([0.0, 0.0, 1.0])
# Of so many rings the shadow is drawn as fine as it gets.
_FINE_SHADOWS = 300
_VIEW_ANGLE = np.radians(16.0)


def _draw(piece: Piece, width: int, height: int, table: bool, long_mm: float) -> bytes:
    """The PNG's bytes: the whole piece on top, a close-up below, a legend at the bottom."""
    top, bottom = round(_TOP_SHARE * height), round(_LEGEND_SHARE * height)
    rows = [
        _whole(piece, width, top),
        _close_up(piece, width, height - top - bottom, table),
        _legend(piece, width, bottom, long_mm),
    ]
    picture = np.concatenate(rows)
    # A hairline on either side of the close-up, so that its cut edges look meant.
    picture[[top, height - bottom - 1]] = 255.0 * np.array(_LINE)
    return png_bytes(picture)


def _whole(piece: Piece, width: int, height: int) -> Floats:
    """All of the piece seen from straight above."""
    span = _span(piece, np.ones(len(piece), dtype=np.bool_))
    mm_per_pixel = max(span.size[0] / (0.95 * width), span.size[1] / (0.74 * height))
    plotter = new_plotter(width, height)
    # Finer than anyone can see the shape, so that what the metal mirrors is smooth too.
    _add_rings(plotter, piece, np.arange(len(piece)), 0.25 * mm_per_pixel)
    camera = plotter.camera
    camera.enable_parallel_projection()
    camera.focal_point = span.centre
    camera.position = span.centre + 10.0 * span.size.max() * _UP
    camera.up = (0.0, 1.0, 0.0)
    camera.parallel_scale = 0.5 * height * mm_per_pixel
    plotter.reset_camera_clipping_range()
    return shot(plotter)


def _close_up(piece: Piece, width: int, height: int, table: bool) -> Floats:
    """About three repeats from the middle of the piece, lying on a table or hung."""
    core_mm = float(piece.core_radii_mm.max())
    whole = _span(piece, np.ones(len(piece), dtype=np.bool_))
    # Five rings in a row are about three repeats of a chain.
    length_mm = min(max(11.0 * core_mm, 2.2 * whole.size[1]), 1.2 * whole.size[0])
    from_middle = np.abs(piece.centres_mm[:, 0] - whole.centre[0])
    near = from_middle <= 1.3 * length_mm
    span = _span(piece, near)

    plotter = new_plotter(width, height)
    camera = plotter.camera
    camera.view_angle = float(np.degrees(_VIEW_ANGLE))
    camera.focal_point = span.centre
    on_face = whole.size[1] > _AS_WIDE_AS_LONG * whole.size[0]
    width_share = 1.35 if on_face else 0.9
    sees_mm = max(length_mm * height / width, 2.2 * span.size[2], width_share * span.size[1])
    toward = _CAMERA_OVER_FACE if on_face else _CAMERA
    toward = toward / np.linalg.norm(toward)
    if whole.size[2] > _AS_HIGH_AS_LONG * whole.size[0]:
        right = np.cross(_UP, toward) / np.linalg.norm(np.cross(_UP, toward))
        wide_mm, high_mm = (
            float(np.ptp(extent(piece.rings(), way))) for way in (right, np.cross(toward, right))
        )
        sees_mm = _MARGIN * max(high_mm, wide_mm * height / width)
    stands_mm = span.centre + sees_mm / (2.0 * np.tan(_VIEW_ANGLE / 2.0)) * toward
    camera.position = stands_mm
    camera.up = _UP
    _add_rings(plotter, piece, np.flatnonzero(near), 0.25 * length_mm / width, stands_mm)
    if table:
        _add_table(plotter, piece, np.flatnonzero(near), span)
    plotter.reset_camera_clipping_range()
    return shot(plotter)


def _legend(piece: Piece, width: int, height: int, long_mm: float) -> Floats:
    """Which colour means what, in words too, and how long the piece is."""
    import pyvista

    plotter = flat_plotter(width, height)

    def write(words: str, column: float, side: str) -> None:
        text = pyvista.Text(words, position=(OVERSAMPLING * column, OVERSAMPLING * height / 2.0))
        text.prop.font_family = "arial"
        text.prop.font_size = max(1, round(OVERSAMPLING * 0.0145 * width))
        text.prop.color = INK
        text.prop.justification_horizontal = side
        text.prop.justification_vertical = "center"
        plotter.add_actor(text)

    radius = 0.011 * width
    column = 0.025 * width
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
        _add_rings(plotter, swatch, np.arange(1), 0.05)
        write(words, column + 2.9 * radius, "left")
        column += (_entry_wide(words) if piece.metals else _ROLE_WIDE) * width
    if rest:
        write(f"and {rest} more", column, "left")
    rings = "ring" if len(piece) == 1 else "rings"
    write(f"{len(piece)} {rings}, {long_mm:.1f} mm long", 0.975 * width, "right")
    plotter.reset_camera_clipping_range()
    return shot(plotter)


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
    entries = [(paint, f"{count} {paint}") for paint, count in counts]
    shown = _fitting(entries)
    return shown, len(entries) - len(shown)


def _fitting(entries: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """As many entries of a legend as have room beside its last words."""
    if len(entries) > _LEGEND_METALS:
        entries = entries[: _LEGEND_METALS - 1]
    room = _LEGEND_METALS * _ENTRY_WIDE + 1e-9
    while len(entries) > 1 and sum(_entry_wide(words) for _, words in entries) > room:
        entries = entries[:-1]
    return entries


def _entry_wide(words: str) -> float:
    """What a metal takes of the legend's width."""
    return max(_ENTRY_WIDE, _SWATCH_WIDE + _LETTER_WIDE * len(words))


def _warm_up() -> None:
    """Load the libraries and the graphics driver before there is anything to draw."""
    one = Piece(("",), ("open",), np.zeros((1, 3)), np.eye(3)[:1], np.ones(1), np.full(1, 0.2))
    _close_up(one, 64, 36, table=True)


def _studio(toward: Floats) -> Floats:
    """Light that comes from each direction, (n, 3) unit vectors: a studio's soft boxes, a lamp.

    Metal that is not polished mirrors it blurred, so nothing in here has a sharp edge.
    """
    up = np.arcsin(np.clip(toward[:, 2], -1.0, 1.0))
    around = np.arctan2(toward[:, 1], toward[:, 0])

    def soft_box(azimuth: float, elevation: float, wide: float, tall: float) -> Floats:
        off = (around - azimuth + np.pi) % (2.0 * np.pi) - np.pi
        across = np.abs(off) * np.cos(up)
        outside = np.hypot(across / wide, (up - elevation) / tall)
        box: Floats = 1.0 / (1.0 + np.exp(np.minimum(5.0 * (outside - 1.0), 50.0)))
        return box

    # A bright table, walls that are dark at eye level, and a ceiling.
    light = 0.55 + 0.28 * np.tanh(2.5 * (np.abs(up + 0.1) - 0.35))
    light = light + 2.8 * soft_box(-2.2, 0.85, 0.55, 0.35)
    light = light + 2.0 * soft_box(0.7, 0.75, 0.40, 0.45)
    light = light + 1.2 * soft_box(2.5, 0.40, 0.25, 0.55)
    light = light + 0.7 * np.exp(-(((up - np.pi / 2.0) / 0.5) ** 2))
    from_lamp = 1.0 - toward @ (_LAMP / np.linalg.norm(_LAMP))
    lit: Floats = light + 1.5 * np.exp(-from_lamp / 0.03)
    return lit


def _metal_colours(
    normals: Floats, toward_camera: Floats, open_to_light: Floats, look: Look
) -> Levels:
    """What metal shows at points with these normals, (n, 3) sRGB.

    Every point mirrors the studio. Working that out here, point by point, rather than pixel by
    pixel in the drawing library is some ten times as quick where no graphics card helps.

    Parameters
    ----------
    normals : (n, 3)
    toward_camera : (n, 3) or (3,), of length 1
    open_to_light : (n,) how much of the studio the point sees, 0 to 1
    """
    facing = np.einsum("ni,ni->n", normals, np.broadcast_to(toward_camera, normals.shape))
    mirrored = 2.0 * facing[:, None] * normals - toward_camera
    # Metal pales towards grazing view (Schlick's approximation, from memory).
    pale = 0.5 * (1.0 - np.clip(facing, 0.0, 1.0)) ** 5
    metal = np.array(look.linear())
    shown = (open_to_light * _studio(mirrored))[:, None] * (metal + (1.0 - metal) * pale[:, None])
    levels: Levels = np.rint(255.0 * np.clip(shown, 0.0, 1.0) ** (1.0 / 2.2)).astype(np.uint8)
    return levels


def light_on(piece: Piece, rings: Ints, alike: Ints, mesh: Mesh) -> Floats:
    """:func:`_open_to_light` of every point of a mesh of rings of one size."""
    points = np.split(mesh.vertices, len(alike))
    normals = np.split(mesh.normals, len(alike))
    return np.concatenate(
        [
            _open_to_light(piece, ring, rings, *surface)
            for ring, *surface in zip(alike.tolist(), points, normals, strict=True)
        ]
    )


def _open_to_light(
    piece: Piece, ring: int, others: Ints, points: Floats, normals: Floats
) -> Floats:
    """How much of the light the other rings leave to points of one ring, (n,), 0 to 1.

    A ring close by and straight ahead darkens a point most: that shows where rings touch.
    """
    share = np.ones(len(points))
    apart = np.linalg.norm(piece.centres_mm[others] - piece.centres_mm[ring], axis=1)
    reach = piece.core_radii_mm + piece.wire_radii_mm
    for other in others[(apart < reach[others] + reach[ring]) & (others != ring)]:
        one = slice(other, other + 1)
        circle = (piece.centres_mm[one], piece.axes[one], piece.core_radii_mm[one])
        toward = nearest_on_circle(points[:, None], *circle)[:, 0] - points
        away = np.linalg.norm(toward, axis=1)
        ahead = np.clip(np.einsum("ni,ni->n", toward, normals) / away, 0.0, 1.0)
        # A ball as thick as the wire, so far away, hides this share of what lies ahead.
        hidden = np.minimum(1.0, (piece.wire_radii_mm[other] / away) ** 2)
        share *= 1.0 - _DARKEST * ahead * hidden
    return share


def _add_rings(
    plotter: Any,
    piece: Piece,
    rings: Ints,
    chord_error_mm: float,
    camera_mm: Floats | None = None,
) -> None:
    """Rings as they look from a camera at this place, (3,), or from far above without one."""
    of_ring = ring_sizes(piece).of_ring
    paints = np.array([piece.paints[ring] for ring in rings.tolist()])
    for paint in np.unique(paints).tolist():
        look, painted = look_of(paint), paints == paint
        for size in np.unique(of_ring[rings[painted]]):
            alike = rings[painted & (of_ring[rings] == size)]
            mesh = piece_mesh(piece, chord_error_mm, alike)
            # From far off, too little is seen of where rings touch.
            light = (
                np.ones(len(mesh.vertices))
                if camera_mm is None
                else light_on(piece, rings, alike, mesh)
            )
            add_metal(plotter, mesh, light, look, camera_mm)


def add_metal(
    plotter: Any, mesh: Mesh, light: Floats, look: Look, camera_mm: Floats | None
) -> None:
    """Metal as it looks from a camera at this place, (3,), or from far above without one.

    Parameters
    ----------
    light : how much of the studio every point sees, as :func:`light_on` tells it
    """
    import pyvista

    toward = _UP if camera_mm is None else camera_mm - mesh.vertices
    toward = toward / np.linalg.norm(toward, axis=-1, keepdims=True)
    data = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
    data.point_data["metal"] = _metal_colours(mesh.normals, toward, light, look)
    plotter.add_mesh(data, scalars="metal", rgb=True, lighting=False)


def _add_table(plotter: Any, piece: Piece, rings: Ints, span: _Span) -> None:
    """The table, of the background's colour, with the rings' soft shadow painted on it."""
    import pyvista

    margin_mm = span.size[2] + 4.0 * piece.core_radii_mm.max()
    low, high = span.low[:2] - margin_mm, span.high[:2] + margin_mm
    shade = _shadow(piece, rings, span.low[2], low, high)
    colour = np.array(BACKGROUND) * (1.0 - 0.42 * shade[:, :, None] * np.array([1.0, 0.98, 0.94]))

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


def _shadow(piece: Piece, rings: Ints, table_mm: float, low: Floats, high: Floats) -> Floats:
    """How dark the table is, 0 to 1, on a grid of (rows along y, columns along x)."""
    from scipy.ndimage import gaussian_filter

    core_mm = float(piece.core_radii_mm.max())
    # Many rings are drawn small, and their shadow need not be as fine.
    cell_mm = core_mm / 14.0 * max(1.0, len(rings) / _FINE_SHADOWS) ** 0.5
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
