"""A cutting plan on paper: one or two pages that lie on the bench.

Nothing is worked out here: every figure is printed from the plan's facts. Body text is 11 point,
read at arm's length; nothing is told by colour alone, so a black and white printer will do. The
file has no date of its own, so the same plan gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

from ringwright.answers.laid_figures import title_words
from ringwright.base import defaults
from ringwright.base.figures import PIECE_MM
from ringwright.base.paper import FAMILY, new_pdf
from ringwright.base.wording import capitalised
from ringwright.making.plan.piece_size import LENGTH
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.plan.report_plan import (
    Table,
    coil_note,
    coil_table,
    cost_lines,
    counted_line,
    fit_line,
    heading_lines,
    hung_and_safe,
    limits_line,
    metal_line,
    metal_table,
    other_cautions,
    ring_note,
    ring_table,
    size_table,
    time_lines,
)
from ringwright.rest.laid import Laid

BODY_PT, TABLE_PT, HEAD_PT, TITLE_PT = 11.0, 12.0, 13.0, 22.0
MOST_PAGES = 2
# Width and height in pixels to draw the piece at; its last rows, a legend in small print, are
# cut off.
PICTURE_PIXELS = (1820, 720)
_LEGEND_SHARE = 0.08
# Printed as large as leaves room for the words.
_PICTURE_SHARES = (1.0, 0.75, 0.5)

_MARGIN_MM, _FOOT_MM = 14.0, 14.0
_LINE_MM, _ROW_MM, _HEAD_MM, _GAP_MM = 4.7, 5.8, 7.4, 2.6
_WARNING = "\N{WARNING SIGN}"


def plan_pdf(
    figures: PlanFigures,
    picture: bytes | None,
    paper: str = defaults.PAPER,
    laid: Laid | None = None,
) -> bytes:
    """The plan as a PDF file.

    Parameters
    ----------
    figures : of :func:`ringwright.making.plan.plan_figures.plan_figures`
    picture : a PNG of ``PICTURE_PIXELS``, or None where none could be drawn
    paper : a name in ``PAPERS`` of ``base/paper``
    laid : how the piece lies in the picture; None for as the figures have it
    """
    caption = _caption(figures, laid)
    for share in _PICTURE_SHARES:
        sheet = _Sheet(paper, f"{figures.weave}: cutting plan", figures.program)
        _write(sheet, figures, picture, share, caption)
        if sheet.pdf.page <= MOST_PAGES or picture is None:
            break
    return sheet.finished()


def _write(
    sheet: _Sheet, figures: PlanFigures, picture: bytes | None, share: float, caption: str
) -> None:
    sheet.title(figures.weave, heading_lines(figures)[0])
    sheet.words(_sentence(limits_line(figures)))
    if figures.warning:
        sheet.note(figures.warning)
    if figures.fit:
        fits = fit_line(figures.fit, figures.lengths), counted_line(figures.fit)
        sheet.words(" ".join(map(_sentence, fits)), bold=True)
        counted = [*hung_and_safe(figures)]
        # Of a finished length it says no more than what stands above.
        counted += [] if figures.fit.place == LENGTH else [figures.fit.planned.how]
        sheet.words(" ".join(map(_sentence, counted)))
    if picture is not None:
        sheet.picture(picture, share)
        sheet.words(caption)
    if figures.fit:
        _write_table(sheet, size_table(figures.fit, figures.lengths))
    _write_table(sheet, ring_table(figures))
    sheet.words(ring_note(figures))
    if figures.cut:
        _write_table(sheet, coil_table(figures))
        sheet.words(coil_note(figures))
    if len(figures.metals) > 1:
        _write_table(sheet, metal_table(figures))
    sheet.words(metal_line(figures), bold=True)
    steps = [(step.title, step.do, step.cautions) for step in figures.steps]
    sheet.heading("Step by step", sheet.step_mm(*steps[0]))
    for step in steps:
        sheet.step(*step)
    sheet.columns(("Time", time_lines(figures)), ("Money", cost_lines(figures)))
    sheet.heading("Take care")
    for caution in other_cautions(figures):
        sheet.warning(caution)


def _sentence(line: str) -> str:
    return f"{capitalised(line)}."


def _write_table(sheet: _Sheet, table: Table) -> None:
    sheet.heading(f"{table.title} ({table.measured})", sheet.table_mm(table.rows))
    sheet.table(table.heads, table.rows)


def _caption(figures: PlanFigures, laid: Laid | None) -> str:
    sizes = figures.flat_mm, figures.width_mm, figures.thickness_mm
    lies = "" if figures.fit is None else f", {figures.fit.counted}"
    if laid is not None:
        sizes, lies = laid.lying.size_mm(), f", {title_words(laid)}"
    long_mm, wide_mm, thick_mm = (
        figures.lengths.said(PIECE_MM.rounded(value), PIECE_MM) for value in sizes
    )
    drawn = f"{figures.rings_drawn} rings, {long_mm} long"
    size = f"{wide_mm} wide, {thick_mm} thick{lies}"
    flat = ""
    if figures.closed_into_itself:
        flat = ", drawn straight; when it is closed into itself, the last end ring is the first"
    if len(figures.metals) > 1:
        return f"{drawn}, {size}{flat}. Rings are in the colours of their metals."
    return (
        f"{drawn}, {size}{flat}. Dark: rings you leave open. Light: rings you close first. Colours "
        "tell the two apart; they are not those of your metal."
    )


class _Sheet:
    """Pages that are filled from the top, with a foot on each."""

    def __init__(self, paper: str, title: str, program: str) -> None:
        pdf = new_pdf(title, paper, program)
        pdf.set_margin(_MARGIN_MM)
        # Pictures, rules and words are to begin on one line.
        pdf.c_margin = 0.0
        # Pages are broken here, so that no row and no step is torn in two.
        pdf.set_auto_page_break(False)
        self.pdf = pdf
        self._foot = f"{title}, {program}"
        self._page()

    def finished(self) -> bytes:
        """The finished file."""
        self._write_foot()
        return bytes(self.pdf.output())

    # --- what is written ---

    def title(self, text: str, below: str) -> None:
        """The weave in large letters, its rings below."""
        self._font(TITLE_PT, bold=True)
        self.pdf.multi_cell(0, 10.0, text, new_x="LMARGIN", new_y="NEXT", align="L")
        self.words(below)

    def heading(self, text: str, follows_mm: float = 3 * _LINE_MM) -> None:
        """A heading with a line, kept on one page with so much of what follows."""
        self._room(_GAP_MM + _HEAD_MM + follows_mm)
        pdf = self.pdf
        pdf.ln(_GAP_MM)
        self._font(HEAD_PT, bold=True)
        pdf.cell(0, 6.5, text, new_x="LMARGIN", new_y="NEXT")
        pdf.set_line_width(0.4)
        pdf.line(pdf.l_margin, pdf.y, pdf.w - pdf.r_margin, pdf.y)
        pdf.ln(1.2)

    def words(self, text: str, bold: bool = False) -> None:
        """A paragraph over the whole width."""
        self._block(text, self.pdf.l_margin, self.pdf.epw, bold)

    def warning(self, text: str) -> None:
        """A caution with its sign before it."""
        left = self.pdf.l_margin
        self._warning(text, left, self.pdf.epw)

    def note(self, text: str) -> None:
        """What is amiss with the plan itself, with its sign, between two lines."""
        pdf = self.pdf
        for part in range(2):
            pdf.ln(1.2)
            pdf.set_line_width(0.4)
            pdf.line(pdf.l_margin, pdf.y, pdf.w - pdf.r_margin, pdf.y)
            pdf.ln(1.2)
            if part == 0:
                self.warning(text)

    def picture(self, png: bytes, share: float) -> None:
        """The piece, as wide as the page or a share of it, without the legend drawn below it."""
        from PIL import Image

        with Image.open(io.BytesIO(png)) as drawn:
            shown = drawn.convert("RGB")
            width, height = shown.size
            shown = shown.crop((0, 0, width, round(height * (1.0 - _LEGEND_SHARE))))
        wide_mm = share * self.pdf.epw
        tall_mm = wide_mm * shown.height / shown.width
        self._room(tall_mm)
        self.pdf.ln(1.5)
        left_mm = self.pdf.l_margin + (self.pdf.epw - wide_mm) / 2.0
        self.pdf.image(shown, x=left_mm, y=self.pdf.y, w=wide_mm, h=tall_mm)
        self.pdf.set_y(self.pdf.y + tall_mm + 1.0)

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        """Rows under heads: the first column to the left, figures to the right."""
        points = self._points(heads, rows)
        if points < BODY_PT and len(heads) > 2:
            # Two tables, each of which begins with the names of the rows.
            middle = (len(heads) + 1) // 2
            for part in (range(1, middle), range(middle, len(heads))):
                self.table(*_columns(heads, rows, (0, *part)))
            return
        widths = self._widths(heads, rows, points)
        for n, row in enumerate((heads, *rows)):
            self._room(_ROW_MM)
            pdf = self.pdf
            pdf.set_x(pdf.l_margin)
            for column, (cell, width) in enumerate(zip(row, widths, strict=True)):
                self._font(points, bold=n == 0 or column == 0)
                pdf.cell(width, _ROW_MM, cell, align="L" if column == 0 else "R")
            pdf.ln(_ROW_MM)
            pdf.set_line_width(0.4 if n == 0 else 0.1)
            pdf.line(pdf.l_margin, pdf.y, pdf.l_margin + sum(widths), pdf.y)
        self.pdf.ln(1.0)

    def table_mm(self, rows: Sequence[Sequence[str]]) -> float:
        """How tall a table is, as far as it is kept on one page."""
        return min((len(rows) + 1) * _ROW_MM, _TALLEST_MM)

    def step(self, title: str, lines: Sequence[str], cautions: Sequence[str]) -> None:
        """A step with a box to tick, and its cautions below."""
        self._room(self.step_mm(title, lines, cautions))
        pdf, wide_mm = self.pdf, self.pdf.epw - _STEP_MM
        pdf.set_line_width(0.4)
        pdf.rect(pdf.l_margin + 0.3, pdf.y + 0.6, 3.8, 3.8)
        top = pdf.y
        self._font(BODY_PT, bold=True)
        pdf.set_x(pdf.l_margin + 6.0)
        pdf.cell(_STEP_MM - 6.0, _LINE_MM, title)
        pdf.set_y(top)
        left = pdf.l_margin + _STEP_MM
        for line in lines:
            self._block(line, left, wide_mm)
        for caution in cautions:
            self._warning(caution, left, wide_mm)
        pdf.ln(1.2)

    def step_mm(self, title: str, lines: Sequence[str], cautions: Sequence[str]) -> float:
        """How tall a step is, as far as it is kept on one page."""
        wide_mm = self.pdf.epw - _STEP_MM
        heights = [self._height(line, wide_mm) for line in lines]
        heights += [self._height(text, wide_mm - _SIGN_MM) for text in cautions]
        return min(sum(heights), _TALLEST_MM)

    def columns(self, *parts: tuple[str, Sequence[str]]) -> None:
        """Lists side by side, each under its heading."""
        pdf = self.pdf
        wide_mm = (pdf.epw - _GAP_MM * (len(parts) - 1)) / len(parts)
        tall_mm = max(sum(self._height(line, wide_mm) for line in lines) for _, lines in parts)
        self._room(tall_mm + _HEAD_MM + _GAP_MM)
        pdf.ln(_GAP_MM)
        top = lowest = pdf.y
        for n, (head, lines) in enumerate(parts):
            left = pdf.l_margin + n * (wide_mm + _GAP_MM)
            pdf.set_xy(left, top)
            self._font(HEAD_PT, bold=True)
            pdf.cell(wide_mm, 6.5, head)
            pdf.set_line_width(0.4)
            pdf.line(left, top + 6.5, left + wide_mm, top + 6.5)
            pdf.set_y(top + 7.7)
            for line in lines:
                self._block(line, left, wide_mm)
            lowest = max(lowest, pdf.y)
        pdf.set_y(lowest)

    # --- how ---

    def _page(self) -> None:
        if self.pdf.page:
            self._write_foot()
        self.pdf.add_page()

    def _write_foot(self) -> None:
        pdf = self.pdf
        pdf.set_y(pdf.h - _FOOT_MM + 2.0)
        self._font(9.0)
        pdf.cell(0, 5.0, self._foot)
        pdf.set_x(pdf.l_margin)
        pdf.cell(0, 5.0, f"page {pdf.page}", align="R")

    def _room(self, tall_mm: float) -> None:
        """Go on to the next page where this one has not so much left."""
        if self.pdf.y + tall_mm > self.pdf.h - _FOOT_MM:
            self._page()

    def _font(self, points: float, bold: bool = False) -> None:
        self.pdf.set_font(FAMILY, "B" if bold else "", points)

    def _height(self, text: str, wide_mm: float, bold: bool = False) -> float:
        self._font(BODY_PT, bold)
        # Nothing is drawn; of what it could tell, the height is asked for.
        tall = self.pdf.multi_cell(
            wide_mm, _LINE_MM, text, align="L", dry_run=True, output="HEIGHT"
        )
        return float(str(tall))

    def _block(self, text: str, left_mm: float, wide_mm: float, bold: bool = False) -> None:
        self._room(self._height(text, wide_mm, bold))
        self._font(BODY_PT, bold)
        self.pdf.set_x(left_mm)
        self.pdf.multi_cell(wide_mm, _LINE_MM, text, align="L", new_x="LMARGIN", new_y="NEXT")

    def _warning(self, text: str, left_mm: float, wide_mm: float) -> None:
        self._room(self._height(text, wide_mm - _SIGN_MM))
        self._font(BODY_PT, bold=True)
        self.pdf.set_x(left_mm)
        self.pdf.cell(_SIGN_MM, _LINE_MM, _WARNING)
        self._block(text, left_mm + _SIGN_MM, wide_mm - _SIGN_MM)

    def _points(self, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> float:
        """The size of letters at which a table is no wider than the page."""
        room_mm: float = self.pdf.epw - _APART_MM * len(heads)
        words_mm = sum(self._words_mm(heads, rows, TABLE_PT))
        return TABLE_PT * min(1.0, room_mm / words_mm)

    def _words_mm(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], points: float
    ) -> list[float]:
        """How wide the words of each column are."""
        self._font(points, bold=True)
        return [
            max(self.pdf.get_string_width(row[column]) for row in (heads, *rows))
            for column in range(len(heads))
        ]

    def _widths(
        self, heads: Sequence[str], rows: Sequence[Sequence[str]], points: float
    ) -> list[float]:
        """Widths of columns, mm: what each needs, and what is left shared among all."""
        needs = [words_mm + _APART_MM for words_mm in self._words_mm(heads, rows, points)]
        spare = max(0.0, self.pdf.epw - sum(needs)) / len(needs)
        # No wider than it reads well across.
        return [need + min(spare, 12.0) for need in needs]


def _columns(
    heads: Sequence[str], rows: Sequence[Sequence[str]], columns: Sequence[int]
) -> tuple[list[str], list[list[str]]]:
    """Some columns of a table."""
    return [heads[n] for n in columns], [[row[n] for n in columns] for row in rows]


_STEP_MM, _SIGN_MM = 36.0, 6.0
# Between the columns of a table.
_APART_MM = 2.5
# A step taller than this may be torn at the end of a page.
_TALLEST_MM = 60.0
