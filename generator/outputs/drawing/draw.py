"""A measured drawing of a few repeats: laid out and written to files."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ringwright.answers.check_figures import working_text
from ringwright.answers.laid_figures import title_words
from ringwright.answers.second_figures import said_rings
from ringwright.answers.verdict import Report
from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import format_mm
from ringwright.base.version import program_version
from ringwright.outputs.drawing.figures import Figure, ring_figure, view_figures
from ringwright.outputs.drawing.layout import Sheet, Title, lay_out
from ringwright.outputs.drawing.write_dxf import write_dxf
from ringwright.outputs.drawing.write_pdf import write_pdf
from ringwright.outputs.drawing.write_svg import write_svg
from ringwright.piece.piece import Piece, piece_of_length, woven_piece
from ringwright.rest.band import repeats_of
from ringwright.rest.counts import counted_unit
from ringwright.rest.laid import Laid, laid_if_asked, seen_round
from ringwright.rest.on_body import snug
from ringwright.weaves.rest_states import PULLED, RestState

# More rings than this are no longer told apart on one sheet of paper.
MOST_DRAWN = 600
KINDS = ("svg", "pdf", "dxf")
# Of a sheet that goes round.
_ROWS = 3


@dataclass(frozen=True)
class Wanted:
    """What is to be drawn.

    Attributes
    ----------
    repeats : along x, and as many rows of a sheet; not used with a length. None for a worn piece:
        as many as go round
    length_mm, width_mm : at least so long and, for a sheet, so wide; or None
    paper : "A4" or "letter"
    scale : of the views, None for the largest that fits
    with_hidden : whether hidden lines are drawn
    state : that the piece is in
    """

    repeats: int | None
    length_mm: float | None
    width_mm: float | None
    paper: str
    scale: float | None
    with_hidden: bool
    state: RestState = PULLED


@dataclass(frozen=True, eq=False)
class Drawn:
    """A drawing, and what it is of.

    Attributes
    ----------
    piece : that is drawn
    dimensions : by name, in millimetres
    laid : how the piece lies or hangs; None for pulled straight
    """

    sheet: Sheet
    piece: Piece
    repeats: int
    dimensions: dict[str, float]
    laid: Laid | None = None


def draw(report: Report, wanted: Wanted, on_progress: Progress = quiet) -> Drawn:
    """Draw some repeats of a size that can be woven.

    Raises
    ------
    BadInput
        When too much or too little is asked for, or it does not fit on the paper.
    NoRest
        When it does not come to rest as it is to be laid.
    """
    rule, size = report.rule, report.size
    piece, repeats = _piece(report, wanted, on_progress)
    if len(piece) > MOST_DRAWN:
        raise BadInput(
            f"{len(piece)} rings are more than one sheet of paper can show, which is "
            f"{MOST_DRAWN}; ask for fewer repeats or a shorter length."
        )
    state, unit, core_mm = wanted.state, report.unit, size.core_radius_mm
    at_rest = laid_if_asked(rule, unit, piece, state, on_progress)
    if at_rest is not None:
        piece = seen_round(at_rest)
        repeats = repeats if at_rest.fit is None else at_rest.fit.repeats
    views = view_figures(rule, unit, core_mm, piece, wanted.with_hidden, state)
    ring = ring_figure(size)
    dimensions = {one.name: one.value_mm for figure in (*views, ring) for one in figure.dimensions}
    title = _title(report, piece, repeats, views, at_rest)
    sheet = lay_out(views, ring, size.wire_mm, wanted.paper, wanted.scale, title)
    return Drawn(sheet, piece, repeats, dimensions, at_rest)


def shown_text(piece: Piece, repeats: int) -> str:
    """How much of a weave a drawing shows, in words."""
    count = "1 repeat" if repeats == 1 else f"{repeats} repeats"
    return f"{count}, {len(piece)} rings"


def write(drawn: Drawn, folder: Path, name: str) -> dict[str, str]:
    """Write SVG, PDF and DXF, all of them or none; returns kind to path."""
    writers = {"svg": write_svg, "pdf": write_pdf, "dxf": write_dxf}
    with WholeFiles(folder) as batch:
        for kind in KINDS:
            writers[kind](drawn.sheet, batch.new(f"{name}.{kind}"))
    return {kind: str(folder / f"{name}.{kind}") for kind in KINDS}


def _piece(report: Report, wanted: Wanted, on_progress: Progress) -> tuple[Piece, int]:
    rule, unit, scale = report.rule, report.unit, report.size.core_radius_mm
    if wanted.repeats is None:
        assert wanted.state.body is not None
        rows = _ROWS if rule.family.has_rows else 1
        piece = snug(rule, unit, scale, wanted.state.body, rows, on_progress)
        return piece, repeats_of(piece)
    if wanted.length_mm is not None or not rule.family.repeats:
        least_mm = wanted.length_mm or 0.0, wanted.width_mm
        return piece_of_length(rule, unit, scale, *least_mm, counted_unit(rule, unit))
    rows = wanted.repeats if rule.family.has_rows else 1
    if wanted.repeats * rows * len(rule.rings) * rule.around > MOST_DRAWN:
        raise BadInput(
            f"{wanted.repeats} repeats of {rule.name} are more than the {MOST_DRAWN} rings one "
            "sheet of paper can show; ask for fewer."
        )
    if wanted.repeats == 1 and not rule.start:
        raise BadInput(
            f"a repeat of {rule.name} is measured from ring to ring, and 1 has each ring only "
            "once; ask for 2 or more."
        )
    return woven_piece(rule, unit, scale, wanted.repeats, rows), wanted.repeats


def _title(
    report: Report,
    piece: Piece,
    repeats: int,
    views: tuple[Figure, Figure, Figure],
    at_rest: Laid | None,
) -> Title:
    rule, size = report.rule, report.size
    measures = {one.name: one.text for view in views for one in view.dimensions}
    others = said_rings(rule, size)
    length_mm = piece.length_mm() if at_rest is None else at_rest.size_mm()[0]
    shown = f"first of {1 + len(others)} sizes" if others else "all rings alike"
    order = ("repeat", "row", "height", "width", "thickness")
    return Title(
        name=rule.name,
        summary=rule.summary,
        facts=(
            ("wire", format_mm(size.wire_mm)),
            ("inner Ø", f"{format_mm(size.inner_mm)}, AR {size.aspect_ratio:.2f} ({shown})"),
            *(("others", said) for said in others),
            ("verdict", report.verdict),
            ("AR", f"smallest {report.limits.minimum:.2f}; works: {working_text(report.limits)}"),
            ("measures", ", ".join(measures[name] for name in order if name in measures)),
            (
                "drawn",
                f"{shown_text(piece, repeats)}, {length_mm:.2f} mm long"
                + ("" if at_rest is None else f", {title_words(at_rest)}"),
            ),
        ),
        made_by=f"ringwright {program_version()}",
    )
