"""The figures of a whole piece: how long it is, its rings and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.count_figures import HungFigures, for_either, safe_words
from ringwright.answers.laid_figures import LaidFigures
from ringwright.answers.verdict import Report
from ringwright.base.figures import (
    EXACT_MM,
    LEFT_OUT,
    REPEATS,
    RINGS,
    Figures,
    LeftOut,
    Unit,
    joined,
    read_from,
)
from ringwright.colour.metals import MetalCount, metal_counts
from ringwright.piece.piece import Piece, PieceCheck
from ringwright.rest.counts import Counted
from ringwright.rest.laid import Laid, seen_round
from ringwright.weaves.rest_states import PULLED

_metal = read_from(MetalCount)


@dataclass(frozen=True)
class MetalFigures(Figures[MetalCount]):
    """Rings and wire of one metal."""

    metal: str = _metal(lambda count: count.metal, "the metal")
    rings: int = _metal(lambda count: count.rings, "rings of it", RINGS)
    rings_open: int = _metal(lambda count: count.rings_open, "of these to open", RINGS)
    rings_closed: int = _metal(lambda count: count.rings_closed, "of these to close first", RINGS)
    wire_mm: float = _metal(
        lambda count: count.wire_length_mm,
        "wire in these rings, along its middle; saw cuts and coil ends come on top",
        Unit("mm", 6),
    )


@dataclass(frozen=True)
class _LaidRing:
    piece: Piece
    row: int


_ring = read_from(_LaidRing)


@dataclass(frozen=True)
class LaidRingFigures(Figures[_LaidRing]):
    """One ring of a piece as it lies."""

    name: str = _ring(lambda ring: ring.piece.names[ring.row], "its name in the rule, and numbers")
    role: str = _ring(lambda ring: ring.piece.roles[ring.row], "open or closed")
    metal: str | LeftOut = _ring(
        lambda ring: (ring.piece.metals[ring.row] if ring.piece.metals else "") or LEFT_OUT,
        "its metal; only in a piece in metals",
    )
    centre_mm: tuple[float, ...] = _ring(
        lambda ring: tuple(ring.piece.centres_mm[ring.row].tolist()), "centre, x y z", EXACT_MM
    )
    axis: tuple[float, ...] = _ring(
        lambda ring: tuple(ring.piece.axes[ring.row].tolist()), "axis, of length 1", Unit("", 12)
    )
    core_radius_mm: float = _ring(
        lambda ring: float(ring.piece.core_radii_mm[ring.row]), "to the wire's middle", EXACT_MM
    )
    wire_radius_mm: float = _ring(
        lambda ring: float(ring.piece.wire_radii_mm[ring.row]), "of the wire", EXACT_MM
    )


@dataclass(frozen=True)
class Previewed:
    """A piece laid out and measured again.

    Attributes
    ----------
    piece : pulled straight
    counted : in which state it is as large as asked
    checked : the piece pulled straight, measured again
    files : path of each kind; None for a picture that could not be drawn
    every_ring : whether the rings are given one by one
    laid : the state it is shown in; None for pulled straight
    """

    piece: Piece
    repeats: int
    counted: Counted
    checked: PieceCheck
    files: Mapping[str, str | None]
    every_ring: bool = False
    laid: Laid | None = None

    @property
    def safe(self) -> str:
        """Which count is safe to buy by, in words."""
        return safe_words(self.counted.rule, "rings", len(self.piece), self.counted.rings_hung)

    @property
    def shown(self) -> Piece:
        """The piece in the state it is shown in; worn, it goes round in the plane z = 0."""
        return self.piece if self.laid is None else seen_round(self.laid)


_of = read_from(Previewed)
_laid = _of.part(lambda made: made.laid, LEFT_OUT)


@dataclass(frozen=True)
class PreviewFigures(Figures[Previewed]):
    """What a piece adds to the check of its size, and overrides of it."""

    smallest_gap_mm: float = _of(
        lambda made: made.checked.smallest_gap_mm, "between any two rings of the piece", EXACT_MM
    )
    repeats: int = _of(lambda made: made.repeats, "whole repeats", REPEATS)
    rings_total: int = _of(lambda made: len(made.piece), "end rings included", RINGS)
    rings_open: int = _of(lambda made: made.piece.roles.count("open"), "of these to open", RINGS)
    rings_closed: int = _of(
        lambda made: made.piece.roles.count("closed"), "of these to close first", RINGS
    )
    length_mm: float = _of(
        lambda made: made.piece.length_mm(), "over the end rings, pulled straight", EXACT_MM
    )
    shown_in: str = _of(
        lambda made: PULLED.name if made.laid is None else made.laid.state.name,
        "the state in which the models and the picture show it, as --laid has it",
    )
    counted_in: str = _of(
        lambda made: made.counted.state.name,
        "the state in which it is as long as asked, and a sheet as wide, as --laid has it",
    )
    counted_length_mm: float = _of(
        lambda made: made.counted.length_mm, "over the end rings in that state", EXACT_MM
    )
    counted_width_mm: float | None = _of(
        lambda made: made.counted.width_mm, "of a sheet, likewise; null for others", EXACT_MM
    )
    if_hung: tuple[HungFigures, ...] = _of(
        lambda made: tuple(map(HungFigures.of, made.counted.if_hung)),
        "what a sheet as large as asked takes hung by each edge; of others empty",
    )
    rings_for_either: int | None = _of(
        lambda made: for_either(len(made.piece), made.counted.rings_hung),
        "enough as it is counted and hung; null where that cannot be told",
        RINGS,
    )
    safe_to_buy_by: str = _of(lambda made: made.safe, "which count, in words")
    laid: LaidFigures | LeftOut = _laid(
        LaidFigures.of, "how it lies or hangs; only where it is not shown pulled straight"
    )
    pairs_checked: int = _of(
        lambda made: made.checked.pairs, "pairs of near rings that were measured again"
    )
    metals: tuple[MetalFigures, ...] = _of(
        lambda made: tuple(map(MetalFigures.of, metal_counts(made.piece))),
        "rings by metal, the most frequent first; empty for a piece in no metals",
    )
    files: Mapping[str, str | None] = _of(
        lambda made: made.files, "the files written, by kind; null for a picture that was not drawn"
    )
    rings: tuple[LaidRingFigures, ...] | LeftOut = _of(
        lambda made: (
            tuple(LaidRingFigures.of(_LaidRing(made.shown, row)) for row in range(len(made.shown)))
            if made.every_ring
            else LEFT_OUT
        ),
        "every ring as it lies; in the file alone",
    )


def preview_facts(report: Report, made: Previewed) -> dict[str, Any]:
    """A piece as a JSON object: the check's figures and the piece's."""
    return joined(CheckFigures.of(report), PreviewFigures.of(made))
