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

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.base.typeface import typeface
from ringwright.colour.role_looks import ROLE_LOOKS
from ringwright.outputs.assembly_sheet.views import Scene, View, cloud_of, screen, seen

# Sizes as shares of the picture.
_RADIUS = 0.036
_REACHES = (0.075, 0.11, 0.15, 0.20, 0.26, 0.33)
_WAYS = 32
# So many places on a ring are tried, as deep within what is seen of it as this, at least.
_ANCHORS, _DEEP = 12, 0.6
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
    crowd = _crowd(busy)
    anchors = {ring: _anchors(view, front, ring) for ring in scene.told}
    placed: list[tuple[int, Floats, Floats]] = []
    # Those of which the least is seen choose first.
    shown = {ring: int((front == ring).sum()) for ring in anchors}
    for ring in sorted(anchors, key=lambda each: (shown[each], each)):
        others = [(anchor, at) for _, anchor, at in placed]
        placed.append((ring, *_spot(front, crowd, anchors[ring], ring, others)))
    return [
        Label(
            scene.piece.names[ring],
            _kind(scene, ring),
            (float(at[0]), float(at[1])),
            (float(anchor[0]), float(anchor[1])),
        )
        for ring, anchor, at in sorted(placed, key=lambda each: scene.told.index(each[0]))
    ]


def _kind(scene: Scene, ring: int) -> str:
    if scene.new is None:
        return "start"
    if ring == scene.new:
        return "new"
    if ring in scene.near:
        return "near"
    return "carried" if ring in scene.picked_up else "through"


def front_of(view: View, opened: bool = True) -> Ints:
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


def _filled(front: Ints) -> Bools:
    from scipy.ndimage import binary_fill_holes

    filled: Bools = binary_fill_holes(front >= 0)
    return filled


def _anchors(view: View, front: Ints, ring: int) -> Floats:
    """(k, 2) places where the ring is in front, deep within what is seen of it, spread over it."""
    from scipy.ndimage import distance_transform_edt

    mine = front == ring
    if not mine.any():
        hidden: Floats = np.clip(view.flat(view.piece.centres_mm[ring][None]), 0.02, 0.98)
        return hidden
    depth = distance_transform_edt(np.pad(mine, 1))[1:-1, 1:-1]
    rows, columns = np.nonzero(depth >= _DEEP * depth.max())
    places = (np.stack([columns, rows], axis=1) + 0.5) * _CELL
    # One after the other, each the farthest from those before.
    chosen = [int(depth[rows, columns].argmax())]
    far = np.full(len(places), np.inf)
    while len(chosen) < min(_ANCHORS, len(places)):
        far = np.minimum(far, np.linalg.norm(places - places[chosen[-1]], axis=1))
        chosen.append(int(far.argmax()))
    return np.asarray(places[chosen], dtype=np.float64)


def _crowd(busy: Bools) -> Floats:
    """For a number in every cell, the share of it that would lie over rings or in their eyes."""
    from scipy.signal import fftconvolve

    reach = int(np.ceil(1.25 * _RADIUS / _CELL))
    across = np.arange(-reach, reach + 1)
    disc = (np.hypot(across[:, None], across) <= 1.25 * _RADIUS / _CELL).astype(float)
    shares = np.asarray(fftconvolve(busy, disc / disc.sum(), mode="same"), dtype=np.float64)
    crowd: Floats = np.clip(shares, 0.0, 1.0)
    return crowd


def _spot(
    front: Ints,
    crowd: Floats,
    anchors: Floats,
    ring: int,
    others: Sequence[tuple[Floats, Floats]],
) -> tuple[Floats, Floats]:
    """Where on a ring its number points, and where it goes: over nothing, near, its line clear."""
    turn = np.linspace(0.0, 2.0 * np.pi, _WAYS, endpoint=False)
    ways = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    reaches = np.array(_REACHES)
    away = (reaches[:, None, None] * ways).reshape(-1, 2)
    start = np.repeat(anchors, len(away), axis=0)
    end = start + np.tile(away, (len(anchors), 1))
    inside = (np.abs(end - 0.5) < 0.5 - 1.3 * _RADIUS).all(axis=1)
    start, end = start[inside], end[inside]
    length = np.linalg.norm(end - start, axis=1)
    # What a line leads over could be meant as well as where it ends.
    over = _over_others(front, ring, start, end)
    cost = 6.0 * crowd[_cells(end)] + 2.0 * length + 12.0 * over * length + 0.5 * (over > 0.0)
    for there, number in others:
        cost += 20.0 * (np.linalg.norm(end - number, axis=1) < 2.5 * _RADIUS)
        cost += 4.0 * (np.linalg.norm(end - there, axis=1) < 1.4 * _RADIUS)
        cost += 5.0 * _cross(start, end, there, number)
        cost += 4.0 * (_off_line(start, end, number) < 1.3 * _RADIUS)
        cost += 4.0 * (_off_line(there, number, end) < 1.3 * _RADIUS)
    best = int(cost.argmin())
    return start[best], end[best]


def _cells(places: Floats) -> tuple[Ints, Ints]:
    """Rows and columns of the cells in which places lie."""
    cells = round(1.0 / _CELL)
    at = np.clip((places / _CELL).astype(int), 0, cells - 1)
    return at[..., 1], at[..., 0]


def _over_others(front: Ints, ring: int, start: Floats, end: Floats) -> Floats:
    """(k,) the share of each line that lies over other rings."""
    share = np.linspace(0.0, 1.0, 30)[:, None, None]
    under = front[_cells(start + share * (end - start))]
    over: Floats = ((under >= 0) & (under != ring)).mean(axis=0)
    return over


def _cross(a: Floats, b: Floats, c: Floats, d: Floats) -> Bools:
    """Whether lines from ``a`` to ``b`` cross the one from ``c`` to ``d``."""

    def side(p: Floats, q: Floats, r: Floats) -> Floats:
        p, q, r = np.moveaxis(p, -1, 0), np.moveaxis(q, -1, 0), np.moveaxis(r, -1, 0)
        return np.asarray((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    crossed: Bools = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return crossed


def _off_line(start: Floats, end: Floats, point: Floats) -> Floats:
    """How far points are from lines; one of the two may be many."""
    way = end - start
    along = ((point - start) * way).sum(axis=-1) / np.maximum((way * way).sum(axis=-1), 1e-12)
    nearest = start + np.clip(along, 0.0, 1.0)[..., None] * way
    off: Floats = np.linalg.norm(nearest - point, axis=-1)
    return off


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
        _balloon(drawing, mark, pixels, letters, _fill(mark, roles))
    file = io.BytesIO()
    marked = marked.resize(picture.size, Image.Resampling.LANCZOS)
    Image.alpha_composite(picture.convert("RGBA"), marked).convert("RGB").save(file, "PNG")
    return file.getvalue()


def _fill(mark: Label, roles: Mapping[str, str] | None) -> tuple[int, int, int]:
    """What a number stands on: the colour of the step, or of its ring's role."""
    colour = {"new": _NEW, "carried": _CARRIED, "near": _PALE}.get(mark.kind, _WHITE)
    if roles is None or mark.kind not in ("new", "carried"):
        return colour
    role = roles.get(mark.words)
    return _WHITE if role is None else ROLE_LOOKS[role].rgb


def _balloon(
    drawing: Any, mark: Label, pixels: int, letters: Any, fill: tuple[int, int, int]
) -> None:
    """The number: new ones in a ring with a gap, carried ones in a square, others in a disc."""
    x, y = mark.at[0] * pixels, mark.at[1] * pixels
    radius, edge = _RADIUS * pixels, round(0.0045 * pixels)
    box = (x - radius, y - radius, x + radius, y + radius)
    line = _GREY if mark.kind == "near" else INK
    # White is read on dark colours only.
    letter = _WHITE if fill in (_NEW, _CARRIED) else line
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
    for ring in view.scene.held if view.scene.hangs else ():
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
