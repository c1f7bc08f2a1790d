"""Where everything goes on the paper: figures, scale, title block, ruler."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput
from ringwright.base.paper import landscape
from ringwright.outputs.drawing.figures import Figure
from ringwright.outputs.drawing.marks import (
    DASHES,
    LARGE,
    PLAIN,
    SMALL,
    WIDE,
    Marks,
    Point,
    Stroke,
    Words,
    dimension_marks,
    fitted,
)

# Recommended scales, ISO 5455 (from memory).
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)
_SCALE = re.compile(r"([1-9][0-9]{0,2}):([1-9][0-9]{0,2})")

MARGIN_MM = 10.0
# Room for dimensions and captions around the views, and between them.
_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 18.0, 6.0, 21.0, 16.0
_BETWEEN_MM, _BETWEEN_ROWS_MM = 22.0, 14.0
_STRIP_MM = 52.0
# The end view's column is at least as wide as its longest dimension text.
_END_MM = 30.0
RULER_MM, UPRIGHT_MM = 100.0, 40.0
_RING_MM, _RING_ROOM_MM = 29.5, 52.0
_CAPTION_MM = 3.5
# Wide and narrow lines, ISO 128-2 (from memory), for wires narrower than so much on paper.
_LINES = ((1.2, (0.18, 0.09)), (2.5, (0.25, 0.13)), (np.inf, (0.35, 0.18)))


@dataclass(frozen=True, eq=False)
class Placed:
    """A figure on paper: where its point (0, 0) is, and how much it is enlarged."""

    figure: Figure
    origin: Point
    scale: float

    def paper(self, points: Floats) -> Floats:
        """Points of the figure on paper, in millimetres from the lower left corner."""
        return np.asarray(np.array(self.origin) + self.scale * points)


@dataclass(frozen=True, eq=False)
class Sheet:
    """A finished drawing.

    Attributes
    ----------
    paper, size_mm : name of the paper, its width and height
    scale : of the three views
    wide_mm, narrow_mm : widths of wide and narrow lines
    figures : front, side, end, ring
    notes : frame, title block, ruler and captions
    name : of the weave
    facts : the lines of the title block: label and text
    """

    paper: str
    size_mm: tuple[float, float]
    scale: float
    wide_mm: float
    narrow_mm: float
    figures: tuple[Placed, ...]
    notes: Marks
    name: str
    facts: tuple[tuple[str, str], ...]

    @property
    def title(self) -> str:
        """What the files call themselves."""
        return f"{self.name}, scale {scale_text(self.scale)}"

    @property
    def summary(self) -> str:
        """The drawing in words, for those who do not see it."""
        facts = "; ".join(f"{label} {text}" for label, text in self.facts)
        return f"Front, side and end view of a chainmail weave and one of its rings: {facts}."

    def width_of(self, kind: str) -> float:
        """The width of a kind of line, in millimetres."""
        return self.wide_mm if kind in WIDE else self.narrow_mm

    def dashes_of(self, kind: str) -> tuple[float, ...]:
        """Lengths of dash and gap by turns, in millimetres; none for a continuous line."""
        return tuple(part * self.width_of(kind) for part in DASHES.get(kind, ()))

    def marks(self) -> Marks:
        """Everything on the paper."""
        found = self.notes
        for placed in self.figures:
            lines = tuple(
                Stroke(placed.paper(stroke.points), stroke.kind) for stroke in placed.figure.strokes
            )
            found += Marks(lines)
            for dimension in placed.figure.dimensions:
                found += dimension_marks(dimension, placed.origin, placed.scale)
        return found


@dataclass(frozen=True)
class Title:
    """What the title block says besides scale and paper.

    Attributes
    ----------
    name, summary : heading, and what is below it in small type
    facts : label and text, line by line
    made_by : the program and its version
    """

    name: str
    summary: str
    facts: tuple[tuple[str, str], ...]
    made_by: str


def parse_scale(text: str) -> float | None:
    """A scale as it is typed, ``2:1`` as 2.0 and ``1:5`` as 0.2; None for ``fit``.

    Raises ``BadInput`` for anything else.
    """
    text = text.strip()
    if text == "fit":
        return None
    match = _SCALE.fullmatch(text)
    if match is None or "1" not in match.groups():
        raise BadInput(
            f"scale {text[:40]!r} is not a scale: write 1:1, an enlargement such as 2:1 or 5:1, a "
            "reduction such as 1:2, or fit."
        )
    return int(match[1]) / int(match[2])


def scale_text(scale: float) -> str:
    """A scale as it is written on a drawing."""
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"


def lay_out(
    views: tuple[Figure, Figure, Figure],
    ring: Figure,
    wire_mm: float,
    paper: str,
    scale: float | None,
    title: Title,
) -> Sheet:
    """A drawing on one sheet of paper.

    Parameters
    ----------
    views : front, side and end view
    ring : the single ring, drawn at a scale of its own
    wire_mm : the wire, which decides how wide lines are drawn
    paper : a name in ``PAPERS`` of ``base/paper``; it lies landscape
    scale : of the views, or None for the largest recommended one that fits

    Raises
    ------
    BadInput
        When the views do not fit on the paper.
    """
    size = landscape(paper)
    scale = _fitting(views, paper) if scale is None else scale
    if not _fits(views, paper, scale):
        raise _too_large(views, paper, scale)
    detail = next(s for s in (*SCALES, 0.0) if s * float(ring.size[0]) <= _RING_MM)
    placed = (*_views_placed(views, size, scale), _ring_placed(ring, detail))
    wide_mm, narrow_mm = next(pair for below, pair in _LINES if scale * wire_mm < below)
    notes = _frame(size) + _ruler() + _captions(placed) + _title_block(size, paper, scale, title)
    return Sheet(
        paper=paper,
        size_mm=size,
        scale=scale,
        wide_mm=wide_mm,
        narrow_mm=narrow_mm,
        figures=placed,
        notes=notes,
        name=title.name,
        facts=title.facts,
    )


def _room(paper: str) -> tuple[float, float]:
    """Width and height for the views and their dimensions."""
    width, height = landscape(paper)
    return width - 2 * MARGIN_MM, height - 2 * MARGIN_MM - _STRIP_MM


def _needed(views: tuple[Figure, Figure, Figure], scale: float) -> tuple[float, float]:
    front, side, end = (figure.size * scale for figure in views)
    width = _LEFT_MM + front[0] + _BETWEEN_MM + max(float(end[0]), _END_MM) + _RIGHT_MM
    height = _TOP_MM + front[1] + _BETWEEN_ROWS_MM + side[1] + _BOTTOM_MM
    return float(width), float(height)


def _fits(views: tuple[Figure, Figure, Figure], paper: str, scale: float) -> bool:
    return all(
        need <= there + 1e-9
        for need, there in zip(_needed(views, scale), _room(paper), strict=True)
    )


def _fitting(views: tuple[Figure, Figure, Figure], paper: str) -> float:
    return next((scale for scale in SCALES if _fits(views, paper, scale)), SCALES[-1])


def _too_large(views: tuple[Figure, Figure, Figure], paper: str, scale: float) -> BadInput:
    front, side, _ = (figure.size * scale for figure in views)
    width, height = (
        there - need for there, need in zip(_room(paper), _needed(views, 0.0), strict=True)
    )
    return BadInput(
        f"at {scale_text(scale)} the views are {front[0]:.0f} mm long and {front[1] + side[1]:.0f} "
        f"mm high together, and {paper} has room for about {width:.0f} mm by {height:.0f} mm; ask "
        "for fewer repeats, a smaller scale, or --scale fit."
    )


def _views_placed(
    views: tuple[Figure, Figure, Figure], size: tuple[float, float], scale: float
) -> tuple[Placed, ...]:
    """Side view below the front view, end view (from the left) to its right; in the middle."""
    front, side, end = views
    need = _needed(views, scale)
    spare = (size[0] - 2 * MARGIN_MM - need[0], size[1] - 2 * MARGIN_MM - _STRIP_MM - need[1])
    left = MARGIN_MM + _LEFT_MM + spare[0] / 2
    top = size[1] - MARGIN_MM - _TOP_MM - spare[1] / 2
    front_low = top - scale * front.size[1]
    side_low = front_low - _BETWEEN_ROWS_MM - scale * side.size[1]
    right = left + scale * front.size[0] + _BETWEEN_MM
    right += max(0.0, (_END_MM - scale * float(end.size[0])) / 2)

    def at(figure: Figure, x: float, y: float) -> Placed:
        origin = (float(x - scale * figure.low[0]), float(y - scale * figure.low[1]))
        return Placed(figure, origin, scale)

    return at(front, left, front_low), at(side, left, side_low), at(end, right, front_low)


def _ring_placed(ring: Figure, scale: float) -> Placed:
    x = MARGIN_MM + RULER_MM + 10.0 + _RING_ROOM_MM / 2
    return Placed(ring, (x, MARGIN_MM + 13.0 + _RING_MM / 2), scale)


def _captions(placed: Sequence[Placed]) -> Marks:
    """What each figure is, above its left corner; the single ring's has its scale."""
    words = []
    for each in placed:
        corner = each.paper(np.array([each.figure.low[0], each.figure.high[1]]))
        dimensions = [one for one in each.figure.dimensions if one.offset_mm > 0]
        level = max((one.offset_mm for one in dimensions if not one.vertical), default=-2.0)
        at = (float(corner[0]), float(corner[1]) + level + 2 * PLAIN + 3.5)
        text = each.figure.caption
        if each.figure.name == "front" and each.scale == 1.0:
            text += "; lay your strip on it"
        if each.figure.name == "ring":
            text = f"one ring {scale_text(each.scale)}"
            at = (MARGIN_MM + RULER_MM + 10.0, MARGIN_MM + _STRIP_MM - 2 * _CAPTION_MM)
        words.append(Words(text, at, PLAIN, kind="caption"))
    return Marks(words=tuple(words))


def _frame(size: tuple[float, float]) -> Marks:
    return Marks((_box(MARGIN_MM, MARGIN_MM, size[0] - MARGIN_MM, size[1] - MARGIN_MM),))


def _box(left: float, low: float, right: float, high: float) -> Stroke:
    corners = [(left, low), (right, low), (right, high), (left, high), (left, low)]
    return Stroke(np.array(corners), "frame")


def _line(*points: Point, kind: str = "note") -> Stroke:
    return Stroke(np.array(points), kind)


def _ruler() -> Marks:
    """Two rulers at right angles, to find out what a printer made of a millimetre."""
    x, y = MARGIN_MM + 6.0, MARGIN_MM + 6.0
    strokes = [_line((x, y), (x + RULER_MM, y), kind="ruler")]
    strokes.append(_line((x, y), (x, y + UPRIGHT_MM), kind="ruler"))
    words = []
    for upright, length in ((False, RULER_MM), (True, UPRIGHT_MM)):
        for millimetre in range(round(length) + 1):
            tick = 3.5 if millimetre % 10 == 0 else 2.5 if millimetre % 5 == 0 else 1.5
            ends = [(float(millimetre), 0.0), (float(millimetre), tick)]
            ends = [(b, a) for a, b in ends] if upright else ends
            strokes.append(_line(*((x + a, y + b) for a, b in ends)))
            if millimetre % 10 == 0 and millimetre:
                at = (x + 4.2, y + millimetre - 0.9) if upright else (x + millimetre, y - 3.2)
                anchor = "start" if upright else "middle"
                words.append(Words(str(millimetre), at, SMALL, anchor))
    text = (
        "Check the printer before you measure:",
        'print at 100 % ("actual size"), then hold a ruler',
        f"to both scales. They must read {RULER_MM:.0f} mm and {UPRIGHT_MM:.0f} mm.",
        "If they do not, nothing on this sheet is to scale.",
    )
    words += [
        Words(line, (x + 14.0, y + 26.0 - 4.0 * row), fitted(line, PLAIN, RULER_MM - 24.0))
        for row, line in enumerate(text)
    ]
    return Marks(tuple(strokes), (), tuple(words))


def _title_block(size: tuple[float, float], paper: str, scale: float, title: Title) -> Marks:
    left = MARGIN_MM + RULER_MM + 10.0 + _RING_ROOM_MM + 4.0
    right, low, high = size[0] - MARGIN_MM, MARGIN_MM, MARGIN_MM + _STRIP_MM
    strokes = [_box(left, low, right, high)]
    words = [
        Words(
            title.name,
            (left + 2.0, high - 6.0),
            fitted(title.name, LARGE, right - left - 28.0, bold=True),
            bold=True,
        ),
        Words(
            title.summary,
            (left + 2.0, high - 10.0),
            fitted(title.summary, SMALL, right - left - 4.0),
        ),
    ]
    foot = low + 8.0
    top = high - 12.0
    strokes += [_line((left, top), (right, top)), _line((left, foot), (right, foot))]
    step = (top - foot) / len(title.facts)
    for row, (label, text) in enumerate(title.facts):
        level = top - step * (row + 1) + (step - PLAIN) / 2
        words.append(Words(label, (left + 2.0, level), SMALL))
        room = right - left - 22.0
        words.append(Words(text, (left + 20.0, level), fitted(text, PLAIN, room)))
    cells = (
        (left, f"scale {scale_text(scale)}"),
        (left + 27.0, paper),
        (left + 42.0, "all in mm"),
        (left + 65.0, ""),
    )
    for x, text in cells:
        strokes.append(_line((x, low), (x, foot)))
        words.append(Words(text, (x + 2.0, low + 2.8), PLAIN))
    words = [each for each in words if each.text]
    symbol = _first_angle(left + 67.0, low + foot - MARGIN_MM - 4.0)
    made_by = Words(title.made_by, (right - 2.0, high - 6.0), SMALL, "end")
    return Marks(tuple(strokes), (), (*words, made_by)) + symbol


def _first_angle(x: float, y: float) -> Marks:
    """The sign of the first-angle method, ISO 5456-2 (from memory): a cone and its end."""
    turn = np.linspace(0.0, 2 * np.pi, 73)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    middle = np.array([x + 12.0, y])
    cone = _line((x, y - 1.2), (x + 6.0, y - 2.4), (x + 6.0, y + 2.4), (x, y + 1.2), (x, y - 1.2))
    circles = tuple(Stroke(middle + radius * circle, "note") for radius in (1.2, 2.4))
    axes = (
        _line((x - 1.0, y), (x + 7.0, y)),
        _line((x + 8.8, y), (x + 15.2, y)),
        _line((x + 12.0, y - 3.2), (x + 12.0, y + 3.2)),
    )
    return Marks((cone, *circles, *axes))
