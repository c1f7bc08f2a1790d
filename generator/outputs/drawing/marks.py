"""What a drawing is made of: lines, filled shapes and words, all in millimetres."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.typeface import typeface

Point = tuple[float, float]

# Kinds of line after ISO 128-2, and their use (from memory): a wide line is twice a narrow one;
# dashes are 12 and gaps 3 line widths long, long dashes 24. Dashes are halved here, because arcs
# of small rings are hardly longer than one whole dash.
WIDE = frozenset({"visible", "frame"})
DASHES: dict[str, tuple[float, ...]] = {
    "hidden": (6.0, 3.0),
    "centre": (24.0, 3.0, 0.5, 3.0),
    "envelope": (24.0, 3.0, 0.5, 3.0, 0.5, 3.0),
}
# Heights of capitals, ISO 3098 (from memory): each is root two times the one before.
SMALL, PLAIN, LARGE = 1.8, 2.5, 3.5

ARROW_MM, ARROW_HALF_MM = 2.5, 0.42
# Extension lines end this far beyond the dimension line.
_BEYOND_MM = 1.5
_TEXT_GAP_MM = 0.9


@dataclass(frozen=True, eq=False)
class Stroke:
    """A polyline (n, 2) in one of the kinds of line."""

    points: Floats
    kind: str


@dataclass(frozen=True, eq=False)
class Words:
    """A line of text: height of its capitals, and which end of its foot is at ``at``.

    ``turned`` text reads from below to above; the anchor is "start", "middle" or "end".
    """

    text: str
    at: Point
    height: float = PLAIN
    anchor: str = "start"
    turned: bool = False
    bold: bool = False
    kind: str = "note"


@dataclass(frozen=True, eq=False)
class Marks:
    """Lines, filled polygons and words on paper, in millimetres from the lower left corner."""

    strokes: tuple[Stroke, ...] = ()
    fills: tuple[Floats, ...] = ()
    words: tuple[Words, ...] = ()

    def __add__(self, other: Marks) -> Marks:
        return Marks(
            self.strokes + other.strokes, self.fills + other.fills, self.words + other.words
        )


@dataclass(frozen=True)
class Dimension:
    """A measured distance along one axis of a figure, in the figure's own millimetres.

    Attributes
    ----------
    name : such as "repeat"
    first, second : where the extension lines start, the lower coordinate first
    vertical : whether the distance is measured upwards rather than to the right
    edge : coordinate of the figure's edge beyond which the dimension line lies
    offset_mm : from there to the line, on paper; negative is below or to the left
    sign : what stands before the figure, such as a diameter sign
    """

    name: str
    first: Point
    second: Point
    vertical: bool
    edge: float
    offset_mm: float
    sign: str = ""

    @property
    def value_mm(self) -> float:
        """The distance, from the points themselves."""
        axis = int(self.vertical)
        return self.second[axis] - self.first[axis]

    @property
    def text(self) -> str:
        """What is written at the dimension line."""
        return f"{self.name} {self.sign}{self.value_mm:.2f}"


def dimension_marks(dimension: Dimension, origin: Point, scale: float) -> Marks:
    """A dimension as it is drawn on paper: plain style, after ISO 129-1 (from memory).

    Parameters
    ----------
    origin, scale : where the figure's point (0, 0) is on paper, and how much it is enlarged
    """
    axis = int(dimension.vertical)
    ends = np.array(origin) + scale * np.array([dimension.first, dimension.second])
    along = ends[:, axis]
    line = origin[1 - axis] + scale * dimension.edge + dimension.offset_mm
    away = math.copysign(1.0, dimension.offset_mm)

    def at(s: float, across: float) -> Point:
        return (across, s) if dimension.vertical else (s, across)

    strokes = [
        np.array([at(s, start), at(s, line + away * _BEYOND_MM)])
        for s, start in zip(along, ends[:, 1 - axis], strict=True)
    ]
    low, high = (float(s) for s in along)
    inside = high - low >= 3.0 * ARROW_MM
    # Where arrows do not fit between the extension lines they point at them from outside.
    reach = 0.0 if inside else 2.2 * ARROW_MM
    turn = 1.0 if inside else -1.0
    fills = [
        np.array(
            [
                at(tip, line),
                at(tip + way * ARROW_MM, line - ARROW_HALF_MM),
                at(tip + way * ARROW_MM, line + ARROW_HALF_MM),
            ]
        )
        for tip, way in ((low, turn), (high, -turn))
    ]
    strokes.append(np.array([at(low - reach, line), at(high + reach, line)]))
    # Text stands above a level line, and to the left of an upright one, to be read from the
    # right; too long for that, it stands clear of the ends of the extension lines.
    up = -1.0 if dimension.vertical else 1.0
    foot = line + up * _TEXT_GAP_MM
    if not inside or high - low < text_width(dimension.text, PLAIN) + 1.0:
        foot = line + away * (_BEYOND_MM + _TEXT_GAP_MM)
        foot += 0.0 if away == up else away * PLAIN
    at_foot = at((low + high) / 2, foot)
    words = Words(dimension.text, at_foot, PLAIN, "middle", dimension.vertical, kind="dimension")
    return Marks(tuple(Stroke(points, "dimension") for points in strokes), tuple(fills), (words,))


# Height of DejaVu's capitals as a share of its size, from the font's own tables.
CAPITALS = 1493 / 2048


@functools.cache
def _advances(bold: bool) -> tuple[dict[int, str], dict[str, tuple[int, int]], int]:
    from fontTools.ttLib import TTFont

    with TTFont(typeface(bold)) as font:
        return font.getBestCmap(), dict(font["hmtx"].metrics), int(font["head"].unitsPerEm)


def text_width(text: str, height: float, bold: bool = False) -> float:
    """How wide DejaVu Sans sets a line of text whose capitals are ``height`` high."""
    names, advances, em = _advances(bold)
    units = sum(advances[names.get(ord(letter), ".notdef")][0] for letter in text)
    return units / em * height / CAPITALS


def fitted(text: str, height: float, room: float, bold: bool = False) -> float:
    """The height at which a line of text is no wider than ``room``, at most ``height``."""
    return min(height, height * room / max(text_width(text, height, bold), 1e-9))


def dashed(points: Floats, pattern: tuple[float, ...]) -> list[Floats]:
    """A straight line cut into dashes: lengths of dash and gap by turns; (2, 2) each.

    The line begins and ends with a dash of equal length.
    """
    length = float(np.hypot(*(points[-1] - points[0])))
    way = (points[-1] - points[0]) / max(length, 1e-12)
    period = sum(pattern)
    start = ((length - pattern[0]) / 2) % period - period
    pieces = []
    while start < length:
        place = start
        for row, part in enumerate(pattern):
            low, high = max(place, 0.0), min(place + part, length)
            if row % 2 == 0 and high > low:
                pieces.append(np.array([points[0] + low * way, points[0] + high * way]))
            place += part
        start += period
    return pieces
