"""Numbers on the pictures of an assembly sheet: where they go, and drawing them.

Every number stands beside the rings, with a line to the ring that it names. Whether a ring is
put in, picked up or gone through shows in the number's shape, not only in its colour.
"""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from generator.assembly_sheet.views import Scene, View, cloud_of, screen, seen
from generator.role_looks import ROLE_LOOKS
from generator.typeface import typeface

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]
Busy = NDArray[np.bool_]

# Sizes as shares of the picture.
_RADIUS = 0.036
_REACHES = (0.075, 0.11, 0.15, 0.20, 0.26, 0.33)
_WAYS = 32
_CELL = 1.0 / 180.0

INK = (41, 43, 48)
_NEW, _CARRIED, _WHITE = (213, 94, 0), (0, 114, 178), (255, 255, 255)
_PALE, _GREY = (226, 228, 231), (105, 108, 114)
# Drawn so many times larger and brought to size, so that round things are smooth.
_FINER = 3


@dataclass(frozen=True)
class Label:
    """A number beside the rings. Places are shares of the picture, from its upper left corner.

    Attributes
    ----------
    words : the number
    kind : ``"new"``, ``"carried"``, ``"through"``, ``"near"`` or ``"start"``
    at : the middle of the number
    points_at : the place on the ring that its line leads to
    """

    words: str
    kind: str
    at: tuple[float, float]
    points_at: tuple[float, float]


def labels(view: View) -> list[Label]:
    """Numbers for the rings that the step's words name, clear of rings and of each other."""
    scene = view.scene
    front = front_of(view)
    # Room in an eye is no room for a number: it would seem to name what is in the eye.
    # Closed, the ring put in still has its eye.
    busy = _filled(front) | _filled(front_of(view, opened=False))
    anchors = {ring: _anchor(view, front, ring) for ring in scene.told}
    placed: list[tuple[int, Floats]] = []
    # Those with the least room about them choose first.
    crowd = {ring: _ringed(busy, anchors[ring], 0.2) for ring in anchors}
    for ring in sorted(anchors, key=lambda each: (-crowd[each], each)):
        others = [(anchors[other], at) for other, at in placed]
        placed.append((ring, _spot(front, busy, anchors, ring, others)))
    return [
        Label(
            scene.piece.names[ring],
            _kind(scene, ring),
            (float(at[0]), float(at[1])),
            (float(anchors[ring][0]), float(anchors[ring][1])),
        )
        for ring, at in sorted(placed, key=lambda each: scene.told.index(each[0]))
    ]


def _kind(scene: Scene, ring: int) -> str:
    if scene.new is None:
        return "start"
    if ring == scene.new:
        return "new"
    if ring in scene.near:
        return "near"
    return "carried" if ring in scene.picked_up else "through"


def front_of(view: View, opened: bool = True) -> Whole:
    """Which ring is in front in each cell of the picture, rows from its upper edge; else -1.

    Parameters
    ----------
    opened : the ring put in as it stands open, not as it is closed
    """
    cells = round(1.0 / _CELL)
    front = np.full((cells, cells), -1)
    scene = view.scene
    ajar = None
    if opened and view.opened is not None and scene.new is not None:
        ajar = (scene.new, view.opened)
    found, corner = seen(cloud_of(view.piece, view.across_mm * _CELL, ajar), view.toward)
    right, up = screen(view.toward)
    middle = np.array([view.middle_mm @ right, view.middle_mm @ up])
    rows, columns = np.nonzero(found >= 0)
    x = (corner[0] - middle[0]) / view.across_mm + 0.5 + (columns + 0.5) * _CELL
    y = 0.5 - (corner[1] - middle[1]) / view.across_mm - (rows + 0.5) * _CELL
    column, row = np.floor(x / _CELL).astype(int), np.floor(y / _CELL).astype(int)
    inside = (column >= 0) & (column < cells) & (row >= 0) & (row < cells)
    front[row[inside], column[inside]] = found[rows, columns][inside]
    return front


def _filled(front: Whole) -> Busy:
    from scipy.ndimage import binary_fill_holes

    filled: Busy = binary_fill_holes(front >= 0)
    return filled


def _anchor(view: View, front: Whole, ring: int) -> Floats:
    """A place where the ring is in front, deep within what is seen of it."""
    from scipy.ndimage import distance_transform_edt

    mine = front == ring
    if not mine.any():
        centre = view.piece.centres_mm[ring][None]
        hidden: Floats = np.clip(view.flat(centre)[0], 0.02, 0.98)
        return hidden
    depth = distance_transform_edt(np.pad(mine, 1))[1:-1, 1:-1]
    rows, columns = np.nonzero(depth >= 0.85 * depth.max())
    places = (np.stack([columns, rows], axis=1) + 0.5) * _CELL
    # Farthest from the middle of the other rings, where its line is short and crosses nothing.
    shown = np.argwhere((front >= 0) & ~mine)[:, ::-1]
    middle = (shown.mean(axis=0) + 0.5) * _CELL if len(shown) else np.array([0.5, 0.5])
    found: Floats = places[np.linalg.norm(places - middle, axis=1).argmax()]
    return found


def _spot(
    front: Whole,
    busy: Busy,
    anchors: dict[int, Floats],
    ring: int,
    others: Sequence[tuple[Floats, Floats]],
) -> Floats:
    """Where a ring's number goes: over nothing, near, its line clear of the others."""
    anchor = anchors[ring]
    turn = np.linspace(0.0, 2.0 * np.pi, _WAYS, endpoint=False)
    best, chosen = np.inf, anchor
    for reach in _REACHES:
        for way in turn:
            at = anchor + reach * np.array([np.cos(way), np.sin(way)])
            if (np.abs(at - 0.5) > 0.5 - 1.3 * _RADIUS).any():
                continue
            cost = 6.0 * _ringed(busy, at, 1.25 * _RADIUS) + 2.0 * reach
            cost += 1.5 * _over_others(front, ring, anchor, at)
            for point in anchors.values():
                if point is not anchor and np.linalg.norm(point - at) < 1.4 * _RADIUS:
                    cost += 4.0
            for there, number in others:
                if np.linalg.norm(number - at) < 2.5 * _RADIUS:
                    cost += 20.0
                if _cross(anchor, at, there, number):
                    cost += 5.0
                for one, two, dot in ((anchor, at, number), (there, number, at)):
                    if _off_line(one, two, dot) < 1.3 * _RADIUS:
                        cost += 4.0
            if cost < best - 1e-9:
                best, chosen = cost, at
    return chosen


def _ringed(busy: Busy, at: Floats, radius: float) -> float:
    """The share of a disc that lies over rings or in their eyes."""
    cells = len(busy)
    middle = at / _CELL - 0.5
    low = np.maximum(np.floor(middle - radius / _CELL).astype(int), 0)
    high = np.minimum(np.ceil(middle + radius / _CELL).astype(int) + 1, cells)
    rows, columns = np.mgrid[low[1] : high[1], low[0] : high[0]]
    inside = np.hypot(rows - middle[1], columns - middle[0]) <= radius / _CELL
    return float(busy[low[1] : high[1], low[0] : high[0]][inside].mean())


def _over_others(front: Whole, ring: int, start: Floats, end: Floats) -> float:
    """The share of a line that lies over other rings."""
    places = start + np.linspace(0.0, 1.0, 30)[:, None] * (end - start)
    column, row = np.clip((places / _CELL).astype(int), 0, len(front) - 1).T
    under = front[row, column]
    return float(((under >= 0) & (under != ring)).mean())


def _cross(a: Floats, b: Floats, c: Floats, d: Floats) -> bool:
    def side(p: Floats, q: Floats, r: Floats) -> float:
        return float((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def _off_line(start: Floats, end: Floats, point: Floats) -> float:
    way = end - start
    share = np.clip((point - start) @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
    return float(np.linalg.norm(start + share * way - point))


# ---- drawing them ----


def labelled(
    picture: Any, view: View, marks: Sequence[Label], roles: Mapping[str, str] | None = None
) -> bytes:
    """A PNG file: the picture with its numbers, and the thread that the piece hangs from.

    Parameters
    ----------
    picture : a square ``PIL.Image.Image``
    roles : of the rings by their numbers, where rings look by role
    """
    from PIL import Image, ImageDraw, ImageFont

    pixels = _FINER * picture.width
    marked = Image.new("RGBA", (pixels, pixels), (255, 255, 255, 0))
    drawing = ImageDraw.Draw(marked)
    _threads(drawing, view, pixels)
    for mark in marks:
        line = [(each[0] * pixels, each[1] * pixels) for each in (mark.at, mark.points_at)]
        drawing.line(line, fill=_WHITE, width=round(0.009 * pixels))
        drawing.line(line, fill=INK, width=round(0.0035 * pixels))
        x, y = line[1]
        dot = 0.0075 * pixels
        drawing.ellipse((x - dot, y - dot, x + dot, y + dot), INK, _WHITE, round(0.0025 * pixels))
    letters = ImageFont.truetype(str(typeface(bold=True)), round(1.15 * _RADIUS * pixels))
    for mark in marks:
        _balloon(drawing, mark, pixels, letters, None if roles is None else roles[mark.words])
    file = io.BytesIO()
    marked = marked.resize(picture.size, Image.Resampling.LANCZOS)
    Image.alpha_composite(picture.convert("RGBA"), marked).convert("RGB").save(file, "PNG")
    return file.getvalue()


def _balloon(drawing: Any, mark: Label, pixels: int, letters: Any, role: str | None) -> None:
    """The number: new ones in a ring with a gap, carried ones in a square, others in a disc."""
    x, y = mark.at[0] * pixels, mark.at[1] * pixels
    radius, edge = _RADIUS * pixels, round(0.0045 * pixels)
    box = (x - radius, y - radius, x + radius, y + radius)
    fill = {"new": _NEW, "carried": _CARRIED, "near": _PALE}.get(mark.kind, _WHITE)
    line = _GREY if mark.kind == "near" else INK
    letter = _WHITE if mark.kind in ("new", "carried") else line
    if role is not None and mark.kind in ("new", "carried"):
        fill, letter = ROLE_LOOKS[role].rgb, INK
    if mark.kind == "carried":
        drawing.rounded_rectangle(box, 0.25 * radius, fill, INK, edge)
    else:
        drawing.ellipse(box, fill, line, edge)
    if mark.kind == "new":
        wide = 1.28 * radius
        outer = (x - wide, y - wide, x + wide, y + wide)
        drawing.arc(outer, -65.0, 245.0, fill, round(1.2 * edge))
    drawing.text((x, y), mark.words, fill=letter, font=letters, anchor="mm")


def _threads(drawing: Any, view: View, pixels: int) -> None:
    """A thread from the upper edge to the top of every ring that the piece hangs from."""
    piece = view.piece
    up = screen(view.toward)[1]
    for ring in view.scene.held:
        axis = piece.axes[ring]
        top = up - (up @ axis) * axis
        length = float(np.linalg.norm(top))
        if length < 0.2:
            continue
        place = piece.centres_mm[ring] + piece.core_radii_mm[ring] * top / length
        x, y = view.flat(place[None])[0] * pixels
        if y > 0.0:
            drawing.line([(x, 0.0), (x, y)], fill=INK, width=round(0.004 * pixels))
            dot = 0.009 * pixels
            drawing.ellipse(
                (x - dot, y - dot, x + dot, y + dot), outline=INK, width=round(0.004 * pixels)
            )
