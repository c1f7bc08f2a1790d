"""What a sweep found, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ringwright.answers.report import working_text
from ringwright.answers.second import own_said
from ringwright.base.figures import Unit, cells, heads
from ringwright.base.terminal import figure_line
from ringwright.outputs.sweep.sweep import Row, Sweep, limits_of_all, one_limit
from ringwright.outputs.sweep.sweep_figures import RowFigures

_HEADS = heads(RowFigures)


def sweep_text(sweep: Sweep, rows: Sequence[Row], files: dict[str, str]) -> str:
    """A sweep in plain words: the limits, a table, and the files."""
    common, limit = sweep.rule.common_aspect_ratio, one_limit(rows)
    lines = [f"{sweep.rule.name}: {len(rows)} sizes, lengths in mm"]
    if limit is not None:
        lines.append(figure_line("smallest aspect ratio", f"{limit:.3f} (geometry)"))
    if (limits := limits_of_all(sweep, rows)) is not None:
        working = "none computed" if limits.working is None else f"{limits.working:.3f}"
        lines.append(figure_line("working minimum", working))
        lines.append(figure_line("working range", working_text(limits)))
    if common is not None:
        span = f"{common.low:g} to {common.high:g} ({common.provenance})"
        lines.append(figure_line("common aspect ratio", span))
    lines += [figure_line("second rings", f"{said} (your own)") for said in own_said(sweep.rule)]
    heads = "".join(f"{head:>{_width(head)}}" for head in _HEADS)
    lines += ["", f"{heads}  {'balance':<9}verdict", *map(_line, rows)]
    lines += [
        "",
        "Play is how much shorter the chain gets when it is pushed together and guided straight.",
        "Balance is the part of the pull that the forces between rings leave unbalanced; smaller "
        "is better.",
        "",
        "Written",
    ]
    return "\n".join([*lines, *(f"  {path}" for path in files.values())])


def _width(head: str) -> int:
    return max(len(head), 6) + 2


def _known(value: Any, unit: Unit) -> str:
    """A figure, or nothing where there is none."""
    return "" if value is None else unit.text(value)


def _line(row: Row) -> str:
    shown = zip(_HEADS, cells(RowFigures.of(row), _known), strict=True)
    residual = "" if row.kkt_residual is None else f"{row.kkt_residual:.1e}"
    columns = "".join(f"{cell:>{_width(head)}}" for head, cell in shown)
    return f"{columns}  {residual:<9}{row.verdict}"
