"""The bench chart: every ring of a pattern once, in rows, told apart without colour."""

import io
from functools import cache

import pypdf
import pytest

import ringwright as rw
from ringwright.making.plan.chart import SYMBOLS, chart
from ringwright.making.plan.chart_pdf import chart_pdf
from ringwright.piece.piece import rows_of

TABLE = [
    ["copper", "copper", "yellow brass", "copper", "copper"],
    ["copper", "yellow brass", "yellow brass", "yellow brass", "fine silver"],
    ["yellow brass", "copper", "copper", "copper", "copper"],
]


@cache
def sheet(width="30mm", length="60mm"):
    grid = "\n".join(",".join(row) for row in TABLE)
    path = sheet.folder / "rows.csv"
    path.write_text(grid, encoding="utf-8")
    size = {"wire": "0.9mm", "inner": "4mm", "temper": "soft"}
    return rw.plan("european-4-in-1", **size, length=length, width=width, grid=path).plan


@pytest.fixture(autouse=True)
def folder(tmp_path_factory):
    if not hasattr(sheet, "folder"):
        sheet.folder = tmp_path_factory.mktemp("chart")


def chain(**metals):
    return rw.plan("one-in-one", wire="0.9mm", inner="3.2mm", length="60mm", **metals).plan


def test_the_rows_of_a_sheet_are_those_of_the_grid_from_the_far_edge():
    made = chart(sheet())
    for place, row in enumerate(made.rows):
        wanted = TABLE[place % len(TABLE)]
        for column, metal in enumerate(row.metals):
            assert made.metals[metal] == wanted[column % len(wanted)]
    assert sum(len(row.metals) for row in made.rows) == len(sheet().piece)


def test_the_row_that_is_woven_first_is_number_one():
    made, piece = chart(sheet()), sheet().piece
    numbers = [row.number for row in made.rows]
    assert sorted(numbers) == list(range(1, len(numbers) + 1))
    (first,) = (rings for row, rings in zip(made.rows, rows_of(piece), strict=True)
                if row.number == 1)  # fmt: skip
    # The first ring that is laid down is in it, or in the row beside it.
    (second,) = (rings for row, rings in zip(made.rows, rows_of(piece), strict=True)
                 if row.number == 2)  # fmt: skip
    assert 0 in {*first, *second}


def test_counts_of_a_row_add_up_to_its_rings():
    for row in chart(sheet()).rows:
        told = [metal for count, metal in row.runs for _ in range(count)]
        assert tuple(told) == row.metals
        assert all(one != two for (_, one), (_, two) in zip(row.runs, row.runs[1:], strict=False))


def test_rings_beside_one_another_do_not_overlap_on_the_chart():
    for row in chart(sheet()).rows:
        steps = [after - before for before, after in zip(row.at, row.at[1:], strict=False)]
        assert min(steps) > 1.0 - 1e-6


def test_a_chain_is_charted_repeat_by_repeat():
    plan = chain(pattern="2*copper,fine silver")
    made = chart(plan)
    assert len(made.rows) == plan.repeats
    told = [made.metals[metal] for row in made.rows for metal in row.metals]
    assert told == list(plan.piece.metals)


def test_closed_into_itself_each_ring_is_there_once():
    size = {"wire": "0.9mm", "inner": "3.2mm", "temper": "soft"}
    plan = rw.plan("one-in-one", **size, wrist="60mm", pattern="2*copper,fine silver").plan
    assert plan.left_off
    told = sum(len(row.metals) for row in chart(plan).rows)
    assert told == sum(batch.in_piece for batch in plan.batches)


@pytest.mark.parametrize("metals", [{"metals": "open=copper,closed=fine silver"}, {}])
def test_metals_that_roles_tell_need_no_chart(metals):
    assert chart(chain(**metals)) is None


class TestPaper:
    def text(self, data):
        return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)

    @pytest.mark.parametrize("paper", ["A4", "letter"])
    def test_every_ring_is_drawn_with_its_symbol_once(self, paper):
        made = chart(sheet())
        text = self.text(chart_pdf(made, "sheet", "program", paper))
        words, drawn = text.partition("Row by row")[::2][::-1]
        for place, metal in enumerate(made.metals):
            # Once for each ring, and once in the legend.
            assert drawn.count(SYMBOLS[place]) == made.count(place) + 1
            assert f"{metal}: {made.count(place)} ring" in drawn
            runs = sum(1 for row in made.rows for _, one in row.runs if one == place)
            assert words.count(SYMBOLS[place]) == runs

    def test_what_is_too_wide_for_a_page_goes_on_below(self):
        wide = chart(sheet("10mm", "500mm"))
        data = chart_pdf(wide, "sheet", "program")
        drawn = self.text(data).partition("Row by row")[0]
        for place in range(len(wide.metals)):
            assert drawn.count(SYMBOLS[place]) == wide.count(place) + 1
        assert data == chart_pdf(wide, "sheet", "program")
