"""A jig's build-and-use sheet as a PDF with text that can be searched and copied."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.paper import FAMILY, new_pdf
from ringwright.base.sizes import format_mm
from ringwright.jigs.checks.overhangs import Overhang
from ringwright.jigs.checks.printability import JigCheck, PartCheck
from ringwright.jigs.parts.jig import Jig
from ringwright.jigs.parts.printing import Printer

if TYPE_CHECKING:
    from fpdf import FPDF

_INK = (41, 43, 48)
_PALE = (238, 239, 241)
_BODY_PT, _SMALL_PT, _LINE_MM = 9.5, 8.0, 5.0
# As an open-source slicer (PrusaSlicer 2.5.0) found it of two giant samples.
_SUPPORTED = (
    ", without supports: with them it takes about twice the filament and three times as long."
)


def write_sheet(
    jig: Jig, checked: JigCheck, printer: Printer, pictures: Sequence[Path], path: Path
) -> None:
    """Write the sheet: pictures, what to print and buy, how to build and use it, cautions.

    Parameters
    ----------
    jig, checked, printer : the jig, what was measured on it, and the printer it is for
    pictures : PNG files to show
    path : the file; an older one is overwritten

    Raises
    ------
    OSError
        When the file cannot be written.
    """
    pdf = _paper(jig.title)
    _heading(pdf, jig.title, 18.0)
    _heading(pdf, "Cautions")
    _list(pdf, jig.cautions)
    for picture in pictures:
        _picture(pdf, picture)
    _heading(pdf, "Dimensions")
    _table(pdf, ("dimension", "value"), [_fact(key, value) for key, value in jig.facts.items()])
    _heading(pdf, "Print")
    _table(pdf, *_printed(checked), small=True, widths=(9, 22, 28, 17, 19, 13, 13))
    _paragraph(pdf, _surfaces(checked, printer))
    for part in jig.parts:
        if part.note:
            _paragraph(pdf, f"{part.name}: {part.note}.")
    _paragraph(pdf, _settings(jig, printer))
    # Many places may be alike, such as under every ring of a sample.
    hanging = Counter(
        (part.name, _hanging(each), f"{format_mm(round(each.low_mm, 1))} up")
        for part in checked.parts
        for each in part.overhangs
    )
    if hanging:
        _table(
            pdf,
            ("places", "part", "in the air when printed", "where"),
            [(str(count), *row) for row, count in hanging.items()],
            small=True,
        )
    if jig.bought:
        _heading(pdf, "Buy")
        rows = [(str(item.count), item.name, item.standard, item.note) for item in jig.bought]
        _table(pdf, ("count", "item", "standard", "note"), rows, widths=(8, 32, 20, 40))
    if checked.pairs:
        _heading(pdf, "Fits, measured on the assembled solids")
        _table(
            pdf,
            ("part", "and part", "fit", "gap designed", "gap measured"),
            [
                (
                    pair.first,
                    pair.second,
                    pair.what,
                    format_mm(pair.designed_mm),
                    format_mm(pair.measured_mm),
                )
                for pair in checked.pairs
            ],
            small=True,
        )
    _heading(pdf, "Build and use")
    _list(pdf, jig.use, numbered=True)
    _heading(pdf, "How far to trust the figures")
    _list(pdf, jig.remarks)
    pdf.output(str(path))


def _paper(title: str) -> FPDF:
    pdf = new_pdf(title, defaults.PAPER)
    pdf.set_margins(18.0, 16.0)
    pdf.set_auto_page_break(True, 16.0)
    pdf.set_text_color(*_INK)
    pdf.add_page()
    return pdf


def _heading(pdf: FPDF, words: str, points: float = 12.0) -> None:
    # Not alone at the bottom of a page.
    if pdf.will_page_break(30.0):
        pdf.add_page()
    pdf.ln(2.5)
    pdf.set_font(FAMILY, "B", points)
    pdf.multi_cell(0, points * 0.5, words, new_x="LMARGIN", new_y="NEXT")
    pdf.ln(1.0)


def _paragraph(pdf: FPDF, words: str) -> None:
    pdf.set_font(FAMILY, "", _BODY_PT)
    pdf.multi_cell(0, _LINE_MM, words, new_x="LMARGIN", new_y="NEXT")


def _list(pdf: FPDF, lines: Sequence[str], numbered: bool = False) -> None:
    pdf.set_font(FAMILY, "", _BODY_PT)
    for number, line in enumerate(lines, start=1):
        height = pdf.multi_cell(
            pdf.epw - 7.0, _LINE_MM, line, dry_run=True, output="HEIGHT", align="L"
        )
        if pdf.will_page_break(height):
            pdf.add_page()
        pdf.cell(7.0, _LINE_MM, f"{number}." if numbered else "\N{BULLET}")
        pdf.multi_cell(0, _LINE_MM, line, new_x="LMARGIN", new_y="NEXT", align="L")
        pdf.ln(0.8)


def _picture(pdf: FPDF, path: Path) -> None:
    # Pictures are 16 by 10.
    if pdf.will_page_break(pdf.epw * 10.0 / 16.0):
        pdf.add_page()
    pdf.image(str(path), w=pdf.epw)
    pdf.ln(2.0)


def _table(
    pdf: FPDF,
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    small: bool = False,
    widths: tuple[int, ...] | None = None,
) -> None:
    from fpdf.fonts import FontFace

    pdf.set_font(FAMILY, "", _SMALL_PT if small else _BODY_PT)
    with pdf.table(
        borders_layout="HORIZONTAL_LINES",
        cell_fill_color=_PALE,
        cell_fill_mode="EVEN_ROWS",
        headings_style=FontFace(emphasis="BOLD", color=_INK),
        line_height=4.2 if small else _LINE_MM,
        text_align="LEFT",
        col_widths=widths,
        padding=0.6,
    ) as table:
        for cells in (head, *rows):
            row = table.row()
            for cell in cells:
                row.cell(cell)
    pdf.ln(1.5)


def _printed(checked: JigCheck) -> tuple[Sequence[str], list[Sequence[str]]]:
    """Head and rows of the table of printed parts."""
    head = ("count", "part", "size on the bed", "thinnest wall", "letters", "mass", "time")
    return head, [_printed_row(part) for part in checked.parts]


def _printed_row(part: PartCheck) -> Sequence[str]:
    return (
        str(part.count),
        part.name,
        " x ".join(f"{size:.1f}" for size in part.size_mm) + " mm",
        f"{part.wall.mm:.2f} mm",
        "none" if part.stroke_mm is None else f"strokes {part.stroke_mm:.2f} mm",
        f"{part.grams:.0f} g" if part.grams >= 1.0 else "under 1 g",
        f"{part.minutes / 60.0:.1f} h" if part.minutes >= 90.0 else f"{part.minutes:.0f} min",
    )


def _surfaces(checked: JigCheck, printer: Printer) -> str:
    """What else was measured on all parts."""
    parts = checked.parts
    sound = all(part.closed and part.oriented for part in parts)
    bodies = [f"{part.name}, which are {part.volumes}" for part in parts if part.volumes != 1]
    apart = max(abs(part.mesh_mm3 / part.solid_mm3 - 1.0) for part in parts)
    bed = " x ".join(f"{room:g}" for room in printer.bed_mm)
    return (
        f"Checked on every part: its surface is {'' if sound else 'NOT '}watertight and faces "
        f"outwards; it is one body{', but for ' + ' and '.join(bodies) if bodies else ''}; its "
        f"triangles and its exact solid hold the same volume to within {100.0 * apart:.2f} %; "
        f"it fits a bed of {bed} mm."
    )


def _hanging(each: Overhang) -> str:
    if each.kind == "bridge":
        return f"flat roof over {each.span_mm:.1f} mm, bridged"
    if each.kind == "overhang":
        return f"held by supports, {each.area_mm2:.0f} square mm"
    return f"lip, {each.area_mm2:.1f} square mm"


def _settings(jig: Jig, printer: Printer) -> str:
    held = [part.name for part in jig.parts if part.supports]
    lies = "Every part prints without supports as it lies in its file."
    if held:
        lies = f"To be printed with supports: {', '.join(held)}."
    return (
        f"{lies} Made for a nozzle of {format_mm(printer.nozzle_mm)}, beads of "
        f"{format_mm(printer.extrusion_width_mm)}, layers of "
        f"{format_mm(printer.layer_height_mm)}, {printer.walls} walls, {printer.infill:.0%} "
        f"infill and a clearance of {format_mm(printer.clearance_mm)} per side. Mass and time are "
        f"rough figures for one of each part: by volume and {printer.speed_mm_s:g} mm/s"
        + (_SUPPORTED if held else ".")
    )


def _fact(key: str, value: str | float | Sequence[float]) -> tuple[str, str]:
    """A line of the table of dimensions, from a name such as ``bore_mm``."""
    units = {"_n_mm": " N mm", "_mm": " mm", "_deg": " degrees", "_mpa": " MPa", "_n": " N"}
    ending = next((each for each in units if key.endswith(each)), "")
    after = units.get(ending, "")
    key = key.removesuffix(ending)
    values = [value] if isinstance(value, str | float | int) else value
    words = [f"{v:.4g}" if isinstance(v, float) else str(v) for v in values]
    return key.replace("_", " "), ", ".join(words) + after
