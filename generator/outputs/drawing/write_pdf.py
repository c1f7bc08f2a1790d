"""A drawing as PDF: lines as vectors, text that can be searched and copied, fonts embedded."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.arrays import Floats
from ringwright.base.paper import FAMILY, new_pdf
from ringwright.outputs.drawing.layout import Sheet
from ringwright.outputs.drawing.marks import CAPITALS, Words, dashed, text_width

if TYPE_CHECKING:
    from fpdf import FPDF


_POINTS_PER_MM = 72.0 / 25.4


def write_pdf(sheet: Sheet, path: Path) -> None:
    """Write the drawing at its true size, one page; an older file is overwritten."""
    pdf = new_pdf(sheet.title, sheet.size_mm)
    pdf.set_subject(sheet.summary)
    # A viewer's print dialogue then starts at 100 %.
    pdf.set_display_mode("fullpage")
    pdf.viewer_preferences = _unscaled()
    pdf.set_auto_page_break(False)
    pdf.add_page()
    marks, height = sheet.marks(), sheet.size_mm[1]
    kinds = sorted(
        {stroke.kind for stroke in marks.strokes}, key=lambda kind: (sheet.width_of(kind), kind)
    )
    for kind in kinds:
        pattern = sheet.dashes_of(kind)
        pdf.set_line_width(sheet.width_of(kind))
        pdf.set_dash_pattern(*(pattern if len(pattern) == 2 else (0, 0)))
        for stroke in marks.strokes:
            if stroke.kind == kind:
                # The library knows dashes and gaps of one length only.
                pieces = dashed(stroke.points, pattern) if len(pattern) > 2 else [stroke.points]
                for piece in pieces:
                    pdf.polyline(_page(piece, height))
    pdf.set_dash_pattern()
    for points in marks.fills:
        pdf.polyline(_page(points, height), polygon=True, style="F")
    for words in marks.words:
        _write(pdf, words, height)
    pdf.output(str(path))


def _unscaled() -> object:
    from fpdf import ViewerPreferences

    return ViewerPreferences(print_scaling="None")


def _page(points: Floats, height: float) -> list[tuple[float, float]]:
    return [(x, height - y) for x, y in points.tolist()]


def _write(pdf: FPDF, words: Words, height: float) -> None:
    pdf.set_font(FAMILY, "B" if words.bold else "", words.height / CAPITALS * _POINTS_PER_MM)
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor]
    back = share * text_width(words.text, words.height, words.bold)
    x, y = words.at[0], height - words.at[1]
    if not words.turned:
        pdf.text(x - back, y, words.text)
        return
    with pdf.rotation(90, x, y):
        pdf.text(x - back, y, words.text)
