"""The figures of a drawing as DXF, all at full size in millimetres."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from ringwright.outputs.drawing.figures import Figure
from ringwright.outputs.drawing.layout import Placed, Sheet
from ringwright.outputs.drawing.marks import ARROW_MM, DASHES, PLAIN, Dimension, dimension_marks

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace

# Layer of each kind of line.
_LAYERS = {"visible": "visible", "hidden": "hidden", "centre": "centre", "envelope": "centre"}
_LINETYPES = {"hidden": "RINGWRIGHT_HIDDEN", "centre": "RINGWRIGHT_CENTRE"}
_LINETYPES |= {"envelope": "RINGWRIGHT_ENVELOPE"}
_STYLE = "RINGWRIGHT"


def write_dxf(sheet: Sheet, path: Path) -> None:
    """Write outlines and dimensions, and the lines of the title block as text.

    Whatever the scale of the drawing, one unit is a millimetre of the rings. Layers are
    ``visible``, ``hidden``, ``centre``, ``dimensions`` and ``notes``. An older file is overwritten.
    """
    with _dateless():
        drawing = _document(sheet)
        space = drawing.modelspace()
        views, ring = sheet.figures[:3], sheet.figures[3].figure
        for placed in views:
            origin = (placed.origin[0] / placed.scale, placed.origin[1] / placed.scale)
            _figure(space, Placed(placed.figure, origin, 1.0), sheet)
        left = min(each.origin[0] / each.scale + each.figure.low[0] for each in views)
        low = min(each.origin[1] / each.scale + each.figure.low[1] for each in views)
        # On paper the ring has a scale of its own; here it stands below the views.
        below = low - 20.0 / sheet.scale - 2.0 * float(ring.high[1])
        _figure(space, Placed(ring, (left - float(ring.low[0]), below), 1.0), sheet)
        _notes(space, sheet, left + 2.5 * float(ring.size[0]) + 20.0 / sheet.scale, below)
        # Left to itself the library takes the order of a set, which changes from run to run.
        for name in sorted(drawing.entitydb.dxf_types_in_use()):
            drawing.classes.add_class(name)
        drawing.saveas(path)


@contextmanager
def _dateless() -> Iterator[None]:
    """Files without the date and a random number, so that equal drawings are equal files."""
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _document(sheet: Sheet) -> Drawing:
    import ezdxf
    from ezdxf import units

    drawing = ezdxf.new("R2010", units=units.MM)
    for kind, name in _LINETYPES.items():
        # Dash lengths are for the paper, so they shrink as the drawing is enlarged.
        parts = [part * sheet.width_of(kind) / sheet.scale for part in DASHES[kind]]
        signed = [part if row % 2 == 0 else -part for row, part in enumerate(parts)]
        drawing.linetypes.add(name, [sum(parts), *signed], description=kind)
    for layer, kind in (
        ("visible", "visible"),
        ("hidden", "hidden"),
        ("centre", "centre"),
        ("dimensions", "dimension"),
        ("notes", "note"),
    ):
        drawing.layers.add(
            layer,
            linetype=_LINETYPES.get(kind, "Continuous"),
            lineweight=round(100 * sheet.width_of(kind)),
        )
    height = PLAIN / sheet.scale
    style = drawing.dimstyles.new(_STYLE)
    style.dxf.dimtxt, style.dxf.dimasz = height, ARROW_MM / sheet.scale
    style.dxf.dimexe, style.dxf.dimexo, style.dxf.dimgap = 0.6 * height, 0.0, 0.3 * height
    style.dxf.dimdec, style.dxf.dimtad, style.dxf.dimzin = 2, 1, 0
    style.dxf.dimdsep = ord(".")
    return drawing


def _figure(space: Modelspace, placed: Placed, sheet: Sheet) -> None:
    for stroke in placed.figure.strokes:
        look = {"layer": _LAYERS[stroke.kind]}
        if stroke.kind == "envelope":
            look["linetype"] = _LINETYPES["envelope"]
        points = placed.paper(stroke.points)
        closed = bool(len(points) > 2 and np.array_equal(points[0], points[-1]))
        line = space.add_lwpolyline(
            (points[:-1] if closed else points).tolist(), close=closed, dxfattribs=look
        )
        line.dxf.flags |= 128  # Dashes run on around the corners.
    for dimension in placed.figure.dimensions:
        _dimension(space, dimension, placed, sheet.scale)


def _dimension(space: Modelspace, dimension: Dimension, placed: Placed, scale: float) -> None:
    first, second = placed.paper(np.array([dimension.first, dimension.second])).tolist()
    axis = int(dimension.vertical)
    line = placed.origin[1 - axis] + dimension.edge + dimension.offset_mm / scale
    base = (line, first[1]) if dimension.vertical else (first[0], line)
    # The text stands where it does on paper, and says the same to the last figure.
    origin = (placed.origin[0] * scale, placed.origin[1] * scale)
    (words,) = dimension_marks(dimension, origin, scale).words
    x, y = words.at
    middle = (x - PLAIN / 2, y) if dimension.vertical else (x, y + PLAIN / 2)
    space.add_linear_dim(
        base=base,
        p1=first,
        p2=second,
        angle=90 if dimension.vertical else 0,
        location=(middle[0] / scale, middle[1] / scale),
        text=dimension.text,
        dimstyle=_STYLE,
        dxfattribs={"layer": "dimensions"},
    ).render()


def _notes(space: Modelspace, sheet: Sheet, x: float, y: float) -> None:
    """The lines of the title block, and what each view is."""
    height = PLAIN / sheet.scale
    lines = [sheet.name, *(f"{label}: {text}" for label, text in sheet.facts)]
    lines.append("all at full size, in millimetres")
    for row, text in enumerate(lines):
        note = space.add_text(text, height=height, dxfattribs={"layer": "notes"})
        note.set_placement((x, y + (4 - 1.8 * row) * height))
    for placed in sheet.figures[:3]:
        _caption(space, placed.figure, placed, height)


def _caption(space: Modelspace, figure: Figure, placed: Placed, height: float) -> None:
    x = placed.origin[0] / placed.scale + float(figure.low[0])
    y = placed.origin[1] / placed.scale + float(figure.high[1])
    offsets = [one.offset_mm for one in figure.dimensions if not one.vertical]
    y += (max(0.0, *offsets, 0.0) / placed.scale) + 2 * height
    text = space.add_text(figure.caption, height=height, dxfattribs={"layer": "notes"})
    text.set_placement((x, y))
