"""A bench chart on paper: the rows drawn ring by ring, then row by row in counts, to tick off."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.paper import FAMILY, new_pdf
from ringwright.base.wording import counted
from ringwright.colour.looks import look_of
from ringwright.making.plan.chart import SYMBOLS, Chart, ChartRow

if TYPE_CHECKING:
    from fpdf import FPDF

_MARGIN_MM, _FOOT_MM = 14.0, 14.0
_TITLE_PT, _BODY_PT, _SMALL_PT = 18.0, 11.0, 7.5
_LINE_MM, _LEGEND_MM = 5.1, 7.0
# The numbers of the rows stand to the left.
_NUMBER_MM = 9.0
# A ring is drawn no larger than looks well and no smaller than its symbol is read.
_LARGEST_MM, _SMALLEST_MM = 6.0, 3.4
_ROW_SHARE, _SYMBOL_SHARE = 0.9, 0.55
_POINTS_IN_MM = 72.0 / 25.4
# On colours darker than this the symbol is white.
_DARK = 0.4


def chart_pdf(chart: Chart, title: str, program: str, paper: str = defaults.PAPER) -> bytes:
    """The chart as a PDF file; equal charts give equal bytes.

    Parameters
    ----------
    paper : a name in ``PAPERS`` of ``base/paper``
    """
    sheet = _Sheet(title, program, paper)
    sheet.heading(chart)
    for first, last in _parts(chart, sheet.wide_mm):
        sheet.part(chart, first, last)
    sheet.rows_in_words(chart)
    return bytes(sheet.pdf.output())


def how_to_read(chart: Chart) -> str:
    """Where to begin, and which way the rows go."""
    if not chart.of_sheet:
        return (
            "Each row is one repeat, its rings from left to right in the order of weaving. Begin "
            "with row 1."
        )
    way = "lowest row up" if chart.from_below else "highest row down"
    return (
        "The sheet as it lies, seen from above, each row from the left. Weave from the "
        f"{way}: row 1 comes first. Where the steps of the weave take rings of two rows by turns, "
        "those two are woven together."
    )


def _parts(chart: Chart, wide_mm: float) -> list[tuple[float, float]]:
    """Stretches of columns, each of which fits the page."""
    across = 1.0 + max(row.at[-1] for row in chart.rows)
    fit = math.floor(wide_mm / _SMALLEST_MM)
    count = math.ceil(across / fit)
    step = math.ceil(across / count)
    return [(float(part * step), float((part + 1) * step)) for part in range(count)]


class _Sheet:
    """The pages of a chart."""

    def __init__(self, title: str, program: str, paper: str) -> None:
        pdf = new_pdf(f"{title}: chart", paper, program)
        pdf.set_margin(_MARGIN_MM)
        pdf.c_margin = 0.0
        pdf.set_auto_page_break(True, _FOOT_MM)
        foot = f"{title}: chart, {program}"
        pdf.footer = lambda: _write_foot(pdf, foot)
        pdf.add_page()
        self.pdf, self.title = pdf, title

    @property
    def wide_mm(self) -> float:
        """What is left for rings across the page."""
        return float(self.pdf.epw) - _NUMBER_MM

    def heading(self, chart: Chart) -> None:
        """Title, how to read it, and what the symbols mean."""
        pdf = self.pdf
        pdf.set_font(FAMILY, "B", _TITLE_PT)
        pdf.multi_cell(0, 9.0, f"{self.title}: chart", align="L", new_x="LMARGIN", new_y="NEXT")
        pdf.set_font(FAMILY, "", _BODY_PT)
        pdf.multi_cell(0, _LINE_MM, how_to_read(chart), align="L", new_x="LMARGIN", new_y="NEXT")
        pdf.ln(1.5)
        for place, metal in enumerate(chart.metals):
            y = pdf.y + _LEGEND_MM / 2.0
            self._ring(chart, place, pdf.l_margin + _LARGEST_MM / 2.0, y, _LARGEST_MM)
            pdf.set_font(FAMILY, "", _BODY_PT)
            pdf.set_xy(pdf.l_margin + _LARGEST_MM + 2.0, y - _LINE_MM / 2.0)
            pdf.cell(0, _LINE_MM, f"{metal}: {counted(chart.count(place), 'ring')}")
            pdf.set_y(y + _LEGEND_MM / 2.0)
        pdf.ln(2.0)

    def part(self, chart: Chart, first: float, last: float) -> None:
        """The columns from ``first`` up to ``last`` of all rows, on as many pages as they take."""
        pdf = self.pdf
        ring_mm = min(_LARGEST_MM, self.wide_mm / (last - first))
        for row in chart.rows:
            if pdf.y + ring_mm > pdf.h - _FOOT_MM:
                pdf.add_page()
            y = pdf.y + ring_mm / 2.0
            pdf.set_font(FAMILY, "B", _SMALL_PT)
            pdf.set_xy(pdf.l_margin, y - 2.0)
            pdf.cell(_NUMBER_MM - 1.5, 4.0, str(row.number), align="R")
            for metal, at in zip(row.metals, row.at, strict=True):
                if first <= at < last:
                    x = pdf.l_margin + _NUMBER_MM + (at - first + 0.5) * ring_mm
                    self._ring(chart, metal, x, y, ring_mm)
            pdf.set_y(y + (_ROW_SHARE - 0.5) * ring_mm)
        pdf.ln(ring_mm)

    def rows_in_words(self, chart: Chart) -> None:
        """Every row in the order of weaving, with a box to tick off."""
        pdf = self.pdf
        pdf.set_font(FAMILY, "B", 13.0)
        if pdf.y > pdf.h - _FOOT_MM - 20.0:
            pdf.add_page()
        pdf.cell(0, 8.0, "Row by row", new_x="LMARGIN", new_y="NEXT")
        for row in sorted(chart.rows, key=lambda one: one.number):
            pdf.set_font(FAMILY, "", _BODY_PT)
            tall = pdf.multi_cell(
                self.wide_mm - 6.0, _LINE_MM, _said(row), align="L", dry_run=True, output="HEIGHT"
            )
            if pdf.y + float(str(tall)) > pdf.h - _FOOT_MM:
                pdf.add_page()
            pdf.rect(pdf.l_margin, pdf.y + 0.7, 3.4, 3.4)
            pdf.set_x(pdf.l_margin + 5.0)
            pdf.set_font(FAMILY, "B", _BODY_PT)
            pdf.cell(_NUMBER_MM, _LINE_MM, str(row.number))
            pdf.set_font(FAMILY, "", _BODY_PT)
            pdf.multi_cell(
                self.wide_mm - 6.0, _LINE_MM, _said(row), align="L", new_x="LMARGIN", new_y="NEXT"
            )

    def _ring(self, chart: Chart, metal: int, x_mm: float, y_mm: float, ring_mm: float) -> None:
        pdf, colour = self.pdf, look_of(chart.metals[metal]).colour
        red, green, blue = (round(255 * part) for part in colour)
        pdf.set_fill_color(red, green, blue)
        pdf.set_draw_color(60)
        pdf.set_line_width(0.2)
        corner_mm, across_mm = 0.1 - ring_mm / 2.0, ring_mm - 0.2
        pdf.ellipse(x_mm + corner_mm, y_mm + corner_mm, across_mm, across_mm, "DF")
        # Weights of sRGB for how light a colour looks, ITU-R BT.709 (from memory).
        light = sum(w * part for w, part in zip((0.2126, 0.7152, 0.0722), colour, strict=True))
        pdf.set_text_color(255 if light < _DARK else 0)
        pdf.set_font(FAMILY, "", _SYMBOL_SHARE * ring_mm * _POINTS_IN_MM)
        symbol = SYMBOLS[metal % len(SYMBOLS)]
        tall_mm = _SYMBOL_SHARE * ring_mm
        pdf.set_xy(x_mm - ring_mm / 2.0, y_mm - tall_mm / 2.0)
        pdf.cell(ring_mm, tall_mm, symbol, align="C")
        pdf.set_text_color(0)
        pdf.set_draw_color(0)


def _said(row: ChartRow) -> str:
    """A row in counts."""
    return ", ".join(f"{count} {SYMBOLS[metal % len(SYMBOLS)]}" for count, metal in row.runs)


def _write_foot(pdf: FPDF, text: str) -> None:
    pdf.set_y(-_FOOT_MM + 2.0)
    pdf.set_font(FAMILY, "", 9.0)
    pdf.cell(0, 5.0, text)
    pdf.set_x(pdf.l_margin)
    pdf.cell(0, 5.0, f"page {pdf.page_no()}", align="R")
