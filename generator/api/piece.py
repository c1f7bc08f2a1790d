"""A whole piece, and its files."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringwright.answers.preview_figures import Previewed, preview_facts
from ringwright.answers.report_piece import piece_text
from ringwright.answers.verdict import Report
from ringwright.api.asked import (
    USUAL_CHORD_ERROR,
    Length,
    asked_mm,
    asked_out,
    asked_width_mm,
)
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import RingSize
from ringwright.base.wording import quoted_path
from ringwright.colour.legend import OPTION, parse_legend
from ringwright.colour.metals import Colouring, parse_metals, parse_pattern
from ringwright.colour.read_grid import read_grid
from ringwright.metals.metal import Metal
from ringwright.outputs.models.artist import Artist, PictureUnavailable
from ringwright.outputs.models.preview import (
    KINDS,
    PICTURES,
    Preview,
    laid_piece,
    preview,
    sound_piece,
    write_kind,
)
from ringwright.piece.piece import Piece, PieceCheck
from ringwright.rest.counts import counted_piece
from ringwright.rest.laid import Laid, laid_if_asked
from ringwright.solver.climb import Unit
from ringwright.weaves.refusals import refuse_without_rows
from ringwright.weaves.rest_states import RestState
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True)
class AskedPiece:
    """What a piece is to be, lengths in millimetres.

    Attributes
    ----------
    least_mm : least length, and least width of a sheet, if one was given
    chord_error_mm : farthest the triangles may lie from the true ring
    colouring : which ring is of which metal; None for colours by role
    state : in which it is; None for as its family is pictured
    """

    least_mm: tuple[float, float | None]
    chord_error_mm: float
    colouring: Colouring | None
    state: RestState | None


def asked_piece(
    rule: WeaveRule,
    length: Length,
    width: Length | None = None,
    metals: str | None = None,
    pattern: str | None = None,
    grid: str | Path | None = None,
    legend: str | None = None,
    chord_error: Length = USUAL_CHORD_ERROR,
    state: RestState | None = None,
) -> AskedPiece:
    """Read what a piece is to be; the parameters are those of :meth:`Check.piece`.

    Parameters
    ----------
    state : in which it is

    Raises
    ------
    BadInput
        When something cannot be read, or does not suit the weave.
    """
    length_mm = asked_mm(length, "length")
    width_mm = asked_width_mm(rule, width)
    chord_error_mm = asked_mm(chord_error, "chord error")
    return AskedPiece(
        (length_mm, width_mm),
        chord_error_mm,
        asked_colouring(rule, metals, pattern, grid, legend),
        state,
    )


def asked_colouring(
    rule: WeaveRule,
    metals: str | None,
    pattern: str | None,
    grid: str | Path | None,
    legend: str | None = None,
    own: Collection[Metal] = (),
) -> Colouring | None:
    """Which ring is of which metal: as asked for, else as the rule's file says, if it does.

    Parameters
    ----------
    legend : what the colours of the grid stand for
    own : metals of the maker's own

    Raises
    ------
    BadInput
        When it cannot be read, or more than one is given.
    """
    if sum(given is not None for given in (metals, pattern, grid)) > 1:
        raise BadInput(
            "--metals, --pattern and --grid each say which ring is of which metal: give one."
        )
    if legend is not None and grid is None:
        raise BadInput(f"{OPTION} says what the colours of a grid stand for; give --grid too.")
    if metals is not None:
        return parse_metals(metals, rule, own=own)
    if pattern is not None:
        return parse_pattern(pattern, own=own)
    if grid is None and rule.metals is not None:
        return parse_metals(rule.metals, rule, f"metals in {quoted_path(rule.path)}", own)
    if grid is None:
        return None
    refuse_without_rows(rule, "--grid", instead="give --metals or --pattern")
    return read_grid(str(grid), own, None if legend is None else parse_legend(legend, own))


@dataclass(frozen=True, eq=False, repr=False)
class WholePiece:
    """A piece of whole repeats with its end rings.

    Attributes
    ----------
    report : of the weave in rings of this size
    wanted : what it was to be
    made : the piece pulled straight and as it lies, measured again
    """

    report: Report
    wanted: AskedPiece
    made: Previewed

    @property
    def piece(self) -> Piece:
        """Every ring of it in the state that was asked for, in millimetres."""
        return self.made.shown

    @property
    def repeats(self) -> int:
        """How many it is long."""
        return self.made.repeats

    @property
    def checked(self) -> PieceCheck:
        """Every pair of rings of the piece pulled straight, measured again."""
        return self.made.checked

    @property
    def laid(self) -> Laid | None:
        """How it lies or hangs, where that was asked for: size, and whether it is at rest."""
        return self.made.laid

    @property
    def length_mm(self) -> float:
        """Over the end rings, pulled straight."""
        return self.made.piece.length_mm()

    @property
    def rings(self) -> int:
        """How many rings."""
        return len(self.piece)

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright preview --json``, without files."""
        return preview_facts(self.report, self.made)

    def text(self) -> str:
        """The piece in words, as ``ringwright preview`` prints it."""
        return piece_text(self.report, self.made)

    def save(self, path: str | Path) -> Path:
        """Write one file: STL, STEP, GLB, PNG or JSON, by the ending of its name.

        The file is there whole, in place of an older one, or not at all. Models are in
        millimetres, but for GLB, which is in metres.

        Parameters
        ----------
        path : of the file; its folder is made where there is none

        Returns
        -------
        Path
            Where it is.

        Raises
        ------
        BadInput
            When the ending is none of these, or the file cannot be written.

        Examples
        --------
        >>> import ringwright as rw
        >>> piece = rw.check("one-in-one", wire="1mm", inner="4mm").piece("50mm")
        >>> piece.save("out/chain.stl").name
        'chain.stl'
        """
        path = Path(path)
        kind = path.suffix.lower().removeprefix(".")
        if kind not in KINDS:
            raise BadInput(
                f"{quoted_path(path)} does not end in {', '.join(f'.{one}' for one in KINDS[:-1])} "
                f"or .{KINDS[-1]}; the ending says what is written."
            )
        try:
            with WholeFiles(path.parent) as batch:
                hidden, error_mm = batch.new(path.name), self.wanted.chord_error_mm
                write_kind(kind, self.report, self.made, hidden, error_mm, {kind: str(path)})
        except PictureUnavailable as reason:
            raise BadInput(str(reason)) from reason
        return path

    def save_all(
        self,
        out: str | Path,
        on_progress: Progress = quiet,
        artist: Artist | None = None,
    ) -> Preview:
        """Write all five files, ``folder/name.stl`` and so on: all of them whole, or none.

        Parameters
        ----------
        out : ``folder/name``, without an ending
        on_progress : called with (what, done, of)
        artist : a drawing process that is ready; one is started when left out

        Returns
        -------
        Preview
            The paths by kind, and why there is no picture, where there is none.

        Raises
        ------
        BadInput
            When they cannot be written.
        """
        if artist is None:
            with Artist(PICTURES) as own:
                return self.save_all(out, on_progress, own)
        return preview(
            self.report,
            self.made,
            *asked_out(out),
            self.wanted.chord_error_mm,
            on_progress,
            artist,
        )

    def __repr__(self) -> str:
        return (
            f"<WholePiece {self.report.rule.name}: {self.rings} rings, "
            f"{self.length_mm:.1f} mm long{self._said()}>"
        )

    def _said(self) -> str:
        return "" if self.laid is None else f", {self.laid.state.said}"

    def _repr_html_(self) -> str:
        """For a notebook: the piece as a model to turn."""
        from ringwright.outputs.gallery.write_gallery import framed_report

        return framed_report(self.report, self.piece)


def laid_out(rule: WeaveRule, size: RingSize, unit: Unit, wanted: AskedPiece) -> tuple[Piece, int]:
    """The rings of a piece, and how many repeats long it is, from the settled unit."""
    return laid_piece(rule, size, unit, wanted.least_mm, wanted.colouring)


def laid(report: Report, wanted: AskedPiece, on_progress: Progress = quiet) -> WholePiece:
    """The piece of a weave that can be woven, in the state asked for, measured again.

    Raises
    ------
    BadInput
        When it would have too many rings, or a grid of metals does not fit.
    NoRest
        When it cannot be woven, or does not come to rest so.
    """
    if not report.can_be_woven:
        raise NoRest(
            f"{report.rule.name} {report.verdict} at aspect ratio "
            f"{report.size.aspect_ratio:.4g}, so there is no piece of it; take a larger ring."
        )
    piece, repeats = laid_out(report.rule, report.size, report.unit, wanted)
    checked = sound_piece(report.rule, piece)
    at_rest = laid_if_asked(report.rule, report.unit, piece, wanted.state, on_progress)
    counted = counted_piece(
        report.rule, report.unit, report.size.core_radius_mm, piece, wanted.least_mm
    )
    made = Previewed(piece, repeats, counted, checked, {}, laid=at_rest)
    return WholePiece(report, wanted, made)
