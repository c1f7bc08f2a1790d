"""A whole piece: laid out, checked and written to files."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path

from ringwright.answers.preview_figures import Previewed, preview_facts
from ringwright.answers.verdict import Report
from ringwright.base.arrays import NamedArrays
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.colour.metals import Colouring, painted
from ringwright.outputs.models.artist import Artist, PictureUnavailable, png_from_child
from ringwright.outputs.models.picture import sent
from ringwright.outputs.models.write_glb import write_glb
from ringwright.outputs.models.write_step import write_step
from ringwright.outputs.models.write_stl import write_stl
from ringwright.piece.piece import Piece, PieceCheck, check_piece, expected_links, piece_of_length
from ringwright.rest.counts import counted_unit
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

# What a piece is written as, in this order.
KINDS = ("stl", "glb", "step", "png", "json")
# Which process draws the picture.
PICTURES = "ringwright.outputs.models.picture"
# Rings as computed touch to within this; anything deeper would be a defect.
_DEEPEST_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Preview:
    """A written piece.

    Attributes
    ----------
    made : the piece
    files : kind (``stl``, ``step``, ``glb``, ``png``, ``json``) to path; None for a
        picture that could not be made
    no_picture : why there is no picture, or None
    """

    made: Previewed
    files: dict[str, str | None]
    no_picture: str | None


def preview(
    report: Report,
    made: Previewed,
    folder: Path,
    name: str,
    chord_error_mm: float,
    on_progress: Progress,
    artist: Artist,
) -> Preview:
    """Write the files of a piece.

    Either all files appear, each replacing an older one whole, or none does. Only
    the picture may be missing, where the system cannot draw.

    Parameters
    ----------
    report : of a size that can be woven
    made : the piece; its files are not asked for
    folder, name : the files are ``folder/name.stl`` and so on
    chord_error_mm : largest distance of the triangles from the true surface
    on_progress : called with (what, done, of)
    artist : draws the picture meanwhile; it may have begun with the same piece already

    Raises
    ------
    BadInput
        When the files cannot be written.
    """
    files: dict[str, str | None] = {kind: str(folder / f"{name}.{kind}") for kind in KINDS}
    no_picture = None
    if not artist.begun:
        artist.begin(drawn(made))
    with WholeFiles(folder) as batch:
        for done, kind in enumerate(KINDS):
            on_progress("writing files", done, len(KINDS))
            path = batch.new(f"{name}.{kind}")
            try:
                write_kind(kind, report, made, path, chord_error_mm, files, artist)
            except PictureUnavailable as reason:
                batch.drop(f"{name}.{kind}")
                files[kind], no_picture = None, str(reason)
    on_progress("writing files", len(KINDS), len(KINDS))
    return Preview(replace(made, files=files), files, no_picture)


def write_kind(
    kind: str,
    report: Report,
    made: Previewed,
    path: Path,
    chord_error_mm: float,
    files: dict[str, str | None],
    artist: Artist | None = None,
) -> None:
    """Write a piece as one of :data:`KINDS`.

    Parameters
    ----------
    files : what the JSON says is there
    artist : who has begun to draw the piece; a process is started for it when left out

    Raises
    ------
    PictureUnavailable
        When the drawing library fails.
    OSError
        When the file cannot be written.
    """
    piece = made.shown
    if kind == "stl":
        write_stl(piece, path, chord_error_mm)
    elif kind == "glb":
        write_glb(piece, path, chord_error_mm)
    elif kind == "step":
        write_step(piece, path)
    elif kind == "png":
        picture = png_from_child(PICTURES, drawn(made)) if artist is None else artist.picture()
        path.write_bytes(picture)
    else:
        facts = preview_facts(report, replace(made, files=files, every_ring=True))
        text = json.dumps(facts, ensure_ascii=False, indent=1)
        path.write_text(text + "\n", encoding="utf-8", newline="\n")


def drawn(made: Previewed) -> NamedArrays:
    """What the process that draws the picture needs to know."""
    laid = made.laid
    long_mm = None if laid is None else laid.size_mm()[0]
    return sent(made.shown, table=laid is None or laid.state.lies, long_mm=long_mm)


def laid_piece(
    rule: WeaveRule,
    size: RingSize,
    unit: Unit,
    least_mm: tuple[float, float | None],
    colouring: Colouring | None,
) -> tuple[Piece, int]:
    """The piece that :func:`preview` writes, and how many repeats long it is.

    Parameters
    ----------
    unit : the settled unit
    least_mm : the piece is at least this long and, a sheet spread, this wide
    colouring : which ring is of which metal; by role when None

    Raises
    ------
    BadInput
        When the length or a grid of metals does not fit.
    """
    piece, repeats = piece_of_length(
        rule, unit, size.core_radius_mm, *least_mm, counted_unit(rule, unit)
    )
    return (piece if colouring is None else painted(piece, colouring)), repeats


def sound_piece(rule: WeaveRule, piece: Piece) -> PieceCheck:
    """Every pair measured again; a piece that fails this is a defect, not bad input."""
    checked = check_piece(piece)
    if checked.smallest_gap_mm < -_DEEPEST_MM:
        raise RuntimeError(f"rings of the finished piece overlap by {-checked.smallest_gap_mm} mm")
    if checked.links != expected_links(rule, piece):
        raise RuntimeError("the finished piece's links are not those of the rule")
    return checked
