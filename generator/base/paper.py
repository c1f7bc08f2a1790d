"""Paper sizes, and how every PDF file begins: its typeface, and nothing that a clock decides."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.typeface import typeface

if TYPE_CHECKING:
    from fpdf import FPDF

# Width and height in mm, upright: ISO 216, and ANSI/ASME Y14.1 size A (both from memory).
PAPERS = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}
# The family under which the typeface is added, in the styles "" and "B".
FAMILY = "DejaVu"
# Equal contents give equal files, whenever they are written.
_TIME = datetime(1970, 1, 1, tzinfo=UTC)


def landscape(paper: str) -> tuple[float, float]:
    """Width and height of a paper with its long side along the bottom, in mm.

    Examples
    --------
    >>> landscape("A4")
    (297.0, 210.0)
    """
    width, height = PAPERS[paper]
    return height, width


def asked_paper(name: str) -> str:
    """A name in ``PAPERS``, from what was typed in capitals or not.

    Raises
    ------
    BadInput
        When it is none of them.
    """
    for paper in PAPERS:
        if name.strip().lower() == paper.lower():
            return paper
    raise BadInput(
        f"--paper {name!r} is not a size this program knows: give {' or '.join(PAPERS)}."
    )


def new_pdf(title: str, paper: str | tuple[float, float], creator: str = "ringwright") -> FPDF:
    """A PDF file without pages yet, in millimetres.

    Parameters
    ----------
    title, creator : what a viewer's list of properties says
    paper : a name in ``PAPERS`` for upright pages, else width and height in mm
    """
    from fpdf import FPDF

    pdf: FPDF = FPDF(unit="mm", format=paper)
    pdf.set_creation_date(_TIME)
    pdf.set_title(title)
    pdf.set_creator(creator)
    pdf.set_lang("en")
    for style, bold in (("", False), ("B", True)):
        pdf.add_font(FAMILY, style, typeface(bold))
    return pdf
