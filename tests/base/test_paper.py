"""Paper sizes, and how PDF files begin."""

import io

import pypdf
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.paper import FAMILY, PAPERS, asked_paper, landscape, new_pdf


def test_a4_has_the_area_and_proportion_of_its_series():
    """ISO 216: a sixteenth of a square metre, sides as 1 to the square root of 2, whole mm."""
    width, height = PAPERS["A4"]
    assert width * height * 16 == pytest.approx(1e6, rel=3e-3)
    assert height / width == pytest.approx(2**0.5, rel=1e-3)
    assert landscape("A4") == (height, width)


@pytest.mark.parametrize("typed", ["a4", " A4 ", "LETTER", "letter"])
def test_a_paper_is_known_in_any_letters(typed):
    assert asked_paper(typed) in PAPERS


def test_another_paper_is_refused_with_those_there_are():
    with pytest.raises(BadInput, match="give A4 or letter"):
        asked_paper("A5")


@pytest.mark.parametrize(("paper", "inches"), [("letter", (8.5, 11.0)), ((254.0, 127.0), (10, 5))])
def test_equal_pdfs_are_equal_bytes_and_say_what_they_are(paper, inches):
    files = []
    for _ in range(2):
        pdf = new_pdf("A title", paper, "a program")
        pdf.add_page()
        pdf.set_font(FAMILY, "B", 12.0)
        pdf.cell(text="words")
        files.append(bytes(pdf.output()))
    assert files[0] == files[1]
    read = pypdf.PdfReader(io.BytesIO(files[0]))
    assert (read.metadata.title, read.metadata.creator) == ("A title", "a program")
    box = read.pages[0].mediabox
    assert (box.width / 72, box.height / 72) == pytest.approx(inches, abs=1e-3)
