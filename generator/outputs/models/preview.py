"""A whole piece: laid out, checked and written to files."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from ringwright.answers.report import piece_facts, ring_facts
from ringwright.answers.verdict import Report
from ringwright.base.files import WholeFiles
from ringwright.base.sizes import RingSize
from ringwright.colour.metals import Colouring, painted
from ringwright.outputs.models.artist import Artist, PictureUnavailable
from ringwright.outputs.models.picture import sent
from ringwright.outputs.models.write_glb import write_glb
from ringwright.outputs.models.write_step import write_step
from ringwright.outputs.models.write_stl import write_stl
from ringwright.piece.piece import Piece, PieceCheck, check_piece, expected_links, piece_of_length
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

# Rings as computed touch to within this; anything deeper would be a defect.
_DEEPEST_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Preview:
    """A written piece.

    Attributes
    ----------
    files : kind (``stl``, ``step``, ``glb``, ``png``, ``json``) to path; None for a
        picture that could not be made
    no_picture : why there is no picture, or None
    """

    piece: Piece
    repeats: int
    checked: PieceCheck
    files: dict[str, str | None]
    no_picture: str | None


def preview(
    report: Report,
    least_mm: tuple[float, float | None],
    folder: Path,
    name: str,
    chord_error_mm: float,
    on_progress: Callable[[str, int, int], None],
    artist: Artist,
    colouring: Colouring | None = None,
) -> Preview:
    """Lay out a piece of a woven report, check every pair of it, and write its files.

    Either all files appear, each replacing an older one whole, or none does. Only
    the picture may be missing, where the system cannot draw.

    Parameters
    ----------
    report : of a size that can be woven
    least_mm : the piece is at least this long and, for a sheet, this wide
    folder, name : the files are ``folder/name.stl`` and so on
    chord_error_mm : largest distance of the triangles from the true surface
    on_progress : called with (what, done, of)
    artist : draws the picture meanwhile; it may have begun with the same piece already
    colouring : which ring is of which metal; by role when left out

    Raises
    ------
    BadInput
        When the length or a grid of metals does not fit, or the files cannot be written.
    """
    piece, repeats = laid_piece(report.rule, report.size, report.unit, least_mm, colouring)
    checked = sound_piece(report.rule, piece)
    kinds = ("stl", "glb", "step", "png", "json")
    done = 0

    def step(kind: str) -> None:
        nonlocal done
        on_progress("writing files", done, len(kinds))
        done += 1

    files: dict[str, str | None] = {kind: str(folder / f"{name}.{kind}") for kind in kinds}
    no_picture = None
    if not artist.begun:
        artist.begin(sent(piece))
    with WholeFiles(folder) as batch:
        step("stl")
        write_stl(piece, batch.new(f"{name}.stl"), chord_error_mm)
        step("glb")
        write_glb(piece, batch.new(f"{name}.glb"), chord_error_mm)
        step("step")
        write_step(piece, batch.new(f"{name}.step"))
        step("png")
        try:
            batch.new(f"{name}.png").write_bytes(artist.picture())
        except PictureUnavailable as reason:
            batch.drop(f"{name}.png")
            files["png"], no_picture = None, str(reason)
        step("json")
        facts = piece_facts(report, piece, repeats, checked, files)
        text = json.dumps({**facts, "rings": ring_facts(piece)}, ensure_ascii=False, indent=1)
        batch.new(f"{name}.json").write_text(text + "\n", encoding="utf-8", newline="\n")
    on_progress("writing files", done, len(kinds))
    return Preview(piece, repeats, checked, files, no_picture)


def laid_piece(
    rule: WeaveRule,
    size: RingSize,
    unit: Unit,
    least_mm: tuple[float, float | None],
    colouring: Colouring | None,
) -> tuple[Piece, int]:
    """The piece that :func:`preview` writes, and how many repeats long it is.

    Parameters and errors are as in :func:`preview`; ``unit`` is the settled unit.
    """
    piece, repeats = piece_of_length(rule, unit, size.core_radius_mm, *least_mm)
    return (piece if colouring is None else painted(piece, colouring)), repeats


def sound_piece(rule: WeaveRule, piece: Piece) -> PieceCheck:
    """Every pair measured again; a piece that fails this is a defect, not bad input."""
    checked = check_piece(piece)
    if checked.smallest_gap_mm < -_DEEPEST_MM:
        raise RuntimeError(f"rings of the finished piece overlap by {-checked.smallest_gap_mm} mm")
    if checked.links != expected_links(rule, piece):
        raise RuntimeError("the finished piece's links are not those of the rule")
    return checked
