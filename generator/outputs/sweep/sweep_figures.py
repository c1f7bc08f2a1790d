"""The figures of a sweep: the weave, and a row for each size.

The columns of the table and of the CSV file are the figures of ``RowFigures``; one with a ``head``
stands in the table too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ringwright.answers.second_figures import OwnRingFigures, own_figures
from ringwright.answers.weave_figures import WeaveFigures
from ringwright.base.figures import LEFT_OUT, Figures, LeftOut, Unit, joined, read_from
from ringwright.outputs.sweep.sweep import Row, Sweep, one_limit
from ringwright.weaves.rest_states import PULLED

HOW_FOUND = {
    "room_mm": "computed: the gap between rings when all are spaced as evenly as they can be; "
    "below zero the size cannot be woven",
    "repeat_mm": "computed: the rings are moved until the chain, pulled straight, gets no longer",
    "play_percent": "computed: how much shorter the chain gets when it is pushed together and "
    "guided straight; rings keep their tilt and move until they meet",
    "wire_mm_per_m": "2 pi R for each ring in a metre, along the middle of the wire; saw cuts "
    "and coil ends come on top",
    "metal_mm3_per_m": "2 pi^2 R r^2 for each ring in a metre (Pappus)",
}
_MM, _WIDE_MM, _RATIO = Unit("mm", shown=3), Unit("mm", shown=2), Unit(shown=3)

_row = read_from(Row)


@dataclass(frozen=True)
class RowFigures(Figures[Row]):
    """What there is to say about one size."""

    wire_mm: float = _row(lambda row: row.wire_mm, "wire diameter", _MM, head="wire")
    inner_mm: float = _row(lambda row: row.inner_mm, "inner diameter", _MM, head="inner")
    aspect_ratio: float = _row(lambda row: row.aspect_ratio, "inner by wire", _RATIO, head="AR")
    verdict: str = _row(lambda row: row.verdict, "whether it can be woven")
    can_be_woven: bool | None = _row(
        lambda row: row.can_be_woven, "whether it closes; null where it came to no rest"
    )
    min_aspect_ratio: float = _row(
        lambda row: row.min_aspect_ratio, "the smallest at which the weave exists; geometry only"
    )
    room_mm: float = _row(
        lambda row: row.room_mm,
        "the gap between all rings, spaced as evenly as they can be; below zero they overlap",
        _MM,
        head="room",
    )
    smallest_gap_mm: float | None = _row(
        lambda row: row.smallest_gap_mm, "between any two rings, pulled straight", _MM, head="gap"
    )
    repeat_mm: float | None = _row(
        lambda row: row.repeat_mm, "one repeat, pulled straight", _MM, head="repeat"
    )
    width_mm: float | None = _row(lambda row: row.width_mm, "across it", _WIDE_MM, head="width")
    thickness_mm: float | None = _row(
        lambda row: row.thickness_mm, "from the table up", _WIDE_MM, head="thick"
    )
    play_percent: float | None = _row(
        lambda row: row.play_percent,
        "how much shorter it can be pushed, guided straight",
        Unit("%", shown=1),
        head="play %",
    )
    rings_per_m: float | None = _row(
        lambda row: row.rings_per_m, "in a metre", Unit("1/m", shown=1), head="rings/m"
    )
    wire_mm_per_m: float | None = _row(
        lambda row: row.wire_mm_per_m,
        "wire in the rings of a metre, along its middle",
        Unit("mm/m", shown=0),
        head="wire mm/m",
    )
    metal_mm3_per_m: float | None = _row(
        lambda row: row.metal_mm3_per_m,
        "metal in the rings of a metre",
        Unit("mm3/m", shown=0),
        head="metal mm3/m",
    )
    kkt_residual: float | None = _row(
        lambda row: row.kkt_residual, "the share of the pull that contact forces do not balance"
    )
    working_min_aspect_ratio: float | None = _row(
        lambda row: row.working_min_aspect_ratio,
        "the smallest at which every ring can be put in; null if unknown",
    )
    other_rings: str = _row(lambda row: row.other_rings, "rings of other sizes, in words")


@dataclass(frozen=True)
class LyingRowFigures(RowFigures):
    """What there is to say about one size that was measured as it lies or hangs too."""

    lying_width_mm: float | None = _row(
        lambda row: row.lying_width_mm,
        "across a chain as it lies or hangs, away from its ends; null for a sheet",
        _WIDE_MM,
        head="lying width",
    )
    lying_thickness_mm: float | None = _row(
        lambda row: row.lying_thickness_mm,
        "from the table up as it lies or hangs",
        _WIDE_MM,
        head="lying thick",
    )
    area_per_ring_mm2: float | None = _row(
        lambda row: row.area_per_ring_mm2,
        "of a sheet as it lies or hangs, for each of its rings; null for others",
        Unit("mm2", shown=2),
        head="mm2/ring",
    )
    lying_settled: bool | None = _row(
        lambda row: row.lying_settled, "whether it is at rest as it lies or hangs"
    )


def row_record(sweep: Sweep) -> type[RowFigures]:
    """The record of a row: its figures are the columns."""
    return RowFigures if sweep.state == PULLED else LyingRowFigures


@dataclass(frozen=True)
class SweptRows:
    """A sweep, its rows in the order of the sizes, and its files by kind."""

    sweep: Sweep
    rows: Sequence[Row]
    files: Mapping[str, str]


_of = read_from(SweptRows)


@dataclass(frozen=True)
class SweepFigures(Figures[SweptRows]):
    """What a sweep adds to the figures of its weave."""

    min_aspect_ratio: float | None = _of(
        lambda swept: one_limit(swept.rows),
        "the smallest at which the weave exists; null where it is not the same for all sizes",
    )
    second_rings: tuple[OwnRingFigures, ...] = _of(
        lambda swept: own_figures(swept.sweep.rule), "rings of other sizes that the maker named"
    )
    wires: tuple[str, ...] = _of(lambda swept: tuple(swept.sweep.wires), "as they were typed")
    inners: tuple[str, ...] = _of(lambda swept: tuple(swept.sweep.inners), "as they were typed")
    laid: str | LeftOut = _of(
        lambda swept: LEFT_OUT if swept.sweep.state == PULLED else swept.sweep.state.name,
        "the state that sizes were measured in besides, as --laid has it",
    )
    rows: tuple[RowFigures, ...] | tuple[LyingRowFigures, ...] = _of(
        lambda swept: tuple(map(row_record(swept.sweep).of, swept.rows)),
        "in the order of the sizes",
    )
    how_found: Mapping[str, str] = _of(lambda _: HOW_FOUND, "where figures come from")
    files: Mapping[str, str] = _of(lambda swept: swept.files, "the files written, by kind")


def sweep_facts(swept: SweptRows) -> dict[str, Any]:
    """A sweep as a JSON object: the weave's figures and the sweep's."""
    return joined(WeaveFigures.of(swept.sweep.rule), SweepFigures.of(swept))
