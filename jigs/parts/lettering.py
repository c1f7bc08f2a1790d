"""Raised letters, in a typeface that comes with matplotlib."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from ringwright.base.typeface import typeface
from ringwright.jigs.parts.jig import Label
from ringwright.jigs.parts.printing import LETTER_MM, Printer

if TYPE_CHECKING:
    import cadquery as cq

RAISED_MM = 0.6
# Letters of the least height have strokes as wide as this nozzle.
_NOZZLE_MM = 0.4


def letter_height_mm(printer: Printer) -> float:
    """The height at which letters can be read, and printed."""
    return LETTER_MM * max(1.0, printer.nozzle_mm / _NOZZLE_MM)


def raised(
    text: str,
    at_mm: tuple[float, float, float],
    height_mm: float = LETTER_MM,
    halign: str = "center",
    turn_deg: float = 0.0,
) -> Label:
    """Letters that stand on the plane z = ``at_mm[2]``, read from above.

    Parameters
    ----------
    text : one line
    at_mm : the middle of the line's height; along it, the middle or the end of ``halign``
    height_mm : of a digit
    halign : ``left``, ``center`` or ``right``
    turn_deg : about z, counter-clockwise
    """
    import cadquery as cq

    made = _letters(text, height_mm, halign)
    place = cq.Location(cq.Vector(*at_mm), cq.Vector(0, 0, 1), turn_deg)
    return Label(text, tuple(solid.moved(place) for solid in made), height_mm)


def width_mm(text: str, height_mm: float = LETTER_MM) -> float:
    """How wide a line of raised letters is."""
    return max(x for outline in _outlines(text, height_mm) for x, _ in outline)


@functools.cache
def _letters(text: str, height_mm: float, halign: str) -> tuple[cq.Solid, ...]:
    """Letters on the plane z = 0, a digit's middle at y = 0.

    Their outlines are polygons: a part with curved letters takes the kernel ten times as long.
    """
    import cadquery as cq
    from cadquery.occ_impl.shapes import wiresToFaces

    shift = {"left": 0.0, "center": 0.5, "right": 1.0}[halign] * width_mm(text, height_mm)
    wires = [
        cq.Wire.makePolygon(
            [cq.Vector(x - shift, y - height_mm / 2.0) for x, y in line], close=True
        )
        for line in _outlines(text, height_mm)
    ]
    up = cq.Vector(0, 0, RAISED_MM)
    return tuple(cq.Solid.extrudeLinear(face, up) for face in wiresToFaces(wires))


def _outlines(text: str, height_mm: float) -> list[list[tuple[float, float]]]:
    """Closed lines around the letters, from x = 0 on, on the base line y = 0."""
    drawn = _drawn(text)
    scale = height_mm / max(y for line in _drawn("1") for _, y in line)
    left = min(x for line in drawn for x, _ in line)
    return [[(scale * (x - left), scale * y) for x, y in line] for line in drawn]


@functools.cache
def _drawn(text: str) -> list[list[tuple[float, float]]]:
    import numpy as np
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    path = TextPath((0.0, 0.0), text, size=10.0, prop=FontProperties(fname=typeface(bold=True)))
    # The last corner is the first one again.
    lines = [np.asarray(line, dtype=float)[:-1].tolist() for line in path.to_polygons()]
    return [[(x, y) for x, y in line] for line in lines]
