"""The assembly sheet as a PDF: text that can be selected, the typeface embedded."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.paper import FAMILY, new_pdf
from ringwright.colour.role_looks import GROOVE_WIDE, RoleLook
from ringwright.outputs.assembly_sheet import words

if TYPE_CHECKING:
    from fpdf import FPDF

_INK, _PALE, _LINE = (41, 43, 48), (238, 239, 241), (190, 192, 196)
_NEW, _CARRIED, _SOFT = (213, 94, 0), (0, 114, 178), (226, 228, 231)
_BODY_PT, _LINE_MM, _GUTTER_MM = 9.5, 4.6, 6.0
# Shares of their largest side that pictures may have.
_SHARES = (1.0, 0.9, 0.8)


@dataclass(frozen=True)
class Card:
    """One step on paper.

    Attributes
    ----------
    title : such as ``"Step 3"``
    text : what to do
    picture : the PNG file, or None where no picture could be drawn
    alt : the picture in words
    part : the repeat, row or round, from 0; -1 for the start; None for the clasp
    note : where the picture is not quite what one will see
    """

    title: str
    text: str
    picture: bytes | None
    alt: str
    part: int | None
    note: str = ""

    @property
    def words(self) -> str:
        """All that stands beneath the picture."""
        return f"{self.text}\n{self.note}" if self.note else self.text


@dataclass(frozen=True)
class Sheet:
    """All that the paper says.

    Attributes
    ----------
    title, facts : the heading, and lines beneath it
    titles, notes : for every part, its heading and what is said before its steps
    finishing : how the piece gets its clasp
    roles : how rings look by their role, where the pictures show that
    """

    title: str
    facts: tuple[str, ...]
    cards: tuple[Card, ...]
    titles: dict[int, str]
    notes: dict[int, str]
    finishing: str
    roles: tuple[RoleLook, ...] = ()


def write_pdf(sheet: Sheet, path: Path, paper: str = defaults.PAPER) -> None:
    """Write the sheet.

    Parameters
    ----------
    path : the file; an older one is overwritten
    paper : a name in ``PAPERS`` of ``base/paper``

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    # Pictures as large as the fewest pages let them be.
    tried = [_laid_out(sheet, paper, share) for share in _SHARES]
    min(tried, key=lambda pdf: pdf.page_no()).output(str(path))


def _laid_out(sheet: Sheet, paper: str, share: float) -> FPDF:
    """The sheet with pictures of a share of their largest size."""
    pdf = _paper(sheet.title, paper)
    side = share * _side(pdf)
    _heading(pdf, sheet.title, 17.0)
    _paragraph(pdf, "\n".join(sheet.facts))
    _legend(pdf, sheet.roles)
    _key(pdf, words.ROLE_KEY if sheet.roles else words.KEY)
    _paragraph(pdf, words.OPENING)
    _cautions(pdf)
    # The start stands beside the first step.
    parts: dict[int, list[Card]] = {}
    for card in sheet.cards:
        if card.part is not None:
            parts.setdefault(max(card.part, 0), []).append(card)
    for part, cards in sorted(parts.items()):
        _part(pdf, sheet.titles[part], sheet.notes.get(part, ""), cards, side)
    _closing(pdf, sheet.finishing, [card for card in sheet.cards if card.part is None], side)
    return pdf


def _paper(title: str, paper: str) -> FPDF:
    pdf = new_pdf(title, paper)

    def foot() -> None:
        pdf.set_y(-11.0)
        pdf.set_font(FAMILY, "", 8.0)
        pdf.cell(0, 4.0, f"{title}, page {pdf.page_no()}", align="C")

    # The library calls it at the end of every page.
    pdf.footer = foot
    pdf.set_margins(16.0, 14.0)
    pdf.set_auto_page_break(True, 16.0)
    pdf.set_text_color(*_INK)
    pdf.add_page()
    return pdf


def _heading(pdf: FPDF, said: str, points: float = 12.0) -> None:
    pdf.ln(2.0)
    pdf.set_font(FAMILY, "B", points)
    pdf.multi_cell(0, points * 0.5, said, new_x="LMARGIN", new_y="NEXT", align="L")
    pdf.ln(0.8)


def _paragraph(pdf: FPDF, said: str) -> None:
    pdf.set_font(FAMILY, "", _BODY_PT)
    pdf.multi_cell(0, _LINE_MM, said, new_x="LMARGIN", new_y="NEXT", align="L")
    pdf.ln(1.2)


def _cautions(pdf: FPDF) -> None:
    """The cautions in a frame of their own."""
    said = " ".join(words.CAUTIONS)
    pdf.set_font(FAMILY, "", _BODY_PT)
    pdf.set_fill_color(*_PALE)
    pdf.multi_cell(
        0,
        _LINE_MM,
        f"**Take care.** {said}",
        new_x="LMARGIN",
        new_y="NEXT",
        align="L",
        fill=True,
        padding=2.0,
        markdown=True,
    )
    pdf.ln(1.0)


def _legend(pdf: FPDF, roles: Sequence[RoleLook]) -> None:
    """How rings of each role look: drawn, and in words."""
    pdf.set_font(FAMILY, "", _BODY_PT)
    for role in roles:
        x, y = pdf.get_x() + 4.0, pdf.get_y() + 3.6
        # A ring from above, as in the pictures: its wire, and the grooves on it.
        wire = 1.4
        for line, colour in ((wire + 0.25, _INK), (wire, role.rgb)):
            pdf.set_draw_color(*colour)
            pdf.set_line_width(line)
            pdf.circle(x, y, 2.4)
        if role.grooves_rad:
            pdf.set_draw_color(*_INK)
            pdf.set_line_width(GROOVE_WIDE * wire)
            pdf.circle(x, y, 2.4 + 0.35 * wire)
        pdf.set_x(pdf.l_margin + 9.5)
        pdf.multi_cell(0, 7.2, role.words, new_x="LMARGIN", new_y="NEXT", align="L")
    pdf.set_line_width(0.2)


def _key(pdf: FPDF, key: Mapping[str, str]) -> None:
    """What the numbers' shapes and colours mean, each drawn as in the pictures."""
    pdf.set_font(FAMILY, "", _BODY_PT)
    coloured = key is words.KEY
    for kind, said in key.items():
        x, y, radius = pdf.get_x() + 4.0, pdf.get_y() + 3.0, 2.5
        pdf.set_draw_color(*_INK)
        pdf.set_line_width(0.3)
        fills = {"new": _NEW, "carried": _CARRIED} if coloured else {}
        pdf.set_fill_color(*{**fills, "near": _SOFT}.get(kind, (255, 255, 255)))
        box = (x - radius, y - radius, 2.0 * radius, 2.0 * radius)
        if kind == "carried":
            pdf.rect(*box, style="DF", round_corners=True, corner_radius=0.6)
        else:
            pdf.ellipse(*box, style="DF")
        if kind == "new":
            pdf.set_draw_color(*(_NEW if coloured else _INK))
            pdf.set_line_width(0.5)
            wide = 1.28 * radius
            pdf.arc(x - wide, y - wide, 2.0 * wide, -65.0, 245.0)
        pdf.set_x(pdf.l_margin + 9.5)
        pdf.multi_cell(0, 6.0, said, new_x="LMARGIN", new_y="NEXT", align="L")
    pdf.ln(1.0)


def _part(pdf: FPDF, title: str, note: str, cards: Sequence[Card], side: float) -> None:
    """A heading and its steps, two side by side."""
    rows = [cards[at : at + 2] for at in range(0, len(cards), 2)]
    if pdf.will_page_break(16.0 + 9.0 * bool(note) + _height(pdf, rows[0], side)):
        pdf.add_page()
    _heading(pdf, title)
    if note:
        _paragraph(pdf, note)
    for row in rows:
        _row(pdf, row, side)


def _row(pdf: FPDF, row: Sequence[Card], side: float) -> None:
    height = _height(pdf, row, side)
    if pdf.will_page_break(height):
        pdf.add_page()
    top, wide = pdf.get_y(), _wide(pdf)
    for column, card in enumerate(row):
        left = pdf.l_margin + column * (wide + _GUTTER_MM)
        pdf.set_draw_color(*_LINE)
        pdf.set_line_width(0.2)
        pdf.rect(left, top, wide, height - 3.0, round_corners=True, corner_radius=1.5)
        pdf.set_xy(left + 2.0, top + 1.5)
        pdf.set_font(FAMILY, "B", 11.0)
        pdf.cell(wide - 4.0, 6.0, card.title)
        below = top + 8.0
        if card.picture is not None:
            pdf.image(
                io.BytesIO(card.picture),
                x=left + (wide - side) / 2.0,
                y=below,
                w=side,
                alt_text=card.alt,
            )
            below += side + 1.0
        pdf.set_xy(left + 2.0, below)
        pdf.set_font(FAMILY, "", _BODY_PT)
        pdf.multi_cell(wide - 4.0, _LINE_MM, card.words, align="L")
    pdf.set_xy(pdf.l_margin, top + height)


def _height(pdf: FPDF, row: Sequence[Card], side: float) -> float:
    """How much a row of cards takes, in mm."""
    pdf.set_font(FAMILY, "", _BODY_PT)
    texts = [
        pdf.multi_cell(
            _wide(pdf) - 4.0, _LINE_MM, card.words, dry_run=True, output="HEIGHT", align="L"
        )
        for card in row
    ]
    picture = side + 1.0 if any(card.picture is not None for card in row) else 0.0
    return float(8.0 + picture + max(texts) + 2.0 + 3.0)


def _wide(pdf: FPDF) -> float:
    return float((pdf.epw - _GUTTER_MM) / 2.0)


def _side(pdf: FPDF) -> float:
    """The largest side of a picture: two rows to a page, whichever paper."""
    return float(min(_wide(pdf) - 4.0, (pdf.h - 30.0) / 2.0 - 42.0))


def _closing(pdf: FPDF, said: str, cards: Sequence[Card], side: float) -> None:
    if pdf.will_page_break(34.0 + (_height(pdf, cards, side) if cards else 0.0)):
        pdf.add_page()
    _heading(pdf, "Finishing")
    _paragraph(pdf, said)
    if cards:
        _row(pdf, cards, side)
