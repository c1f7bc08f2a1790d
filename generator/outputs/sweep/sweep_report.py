"""What a sweep found, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.check_figures import CheckFigures, limit_lines, own_lines
from ringwright.answers.weave_figures import common_text
from ringwright.base.figures import cells, head_of, heads, or_blank
from ringwright.base.terminal import figure_line, wrapped
from ringwright.outputs.sweep.sweep import Row, Sweep, limits_of_all
from ringwright.outputs.sweep.sweep_figures import RowFigures, row_record
from ringwright.weaves.rest_states import PULLED

# What a maker reads for the share of the pull that contact forces do not balance.
_LEFT_OVER = "leftover pull"


def sweep_text(sweep: Sweep, rows: Sequence[Row], files: dict[str, str]) -> str:
    """A sweep in plain words: the limits, a table, and the files."""
    common = sweep.rule.common_aspect_ratio
    lines = [f"{sweep.rule.name}: {len(rows)} sizes, lengths in mm"]
    if (limits := limits_of_all(sweep, rows)) is not None:
        lines += [figure_line(*limit) for limit in limit_lines(limits)]
    if common is not None:
        span = f"{common_text(common)} ({common.provenance})"
        lines.append(figure_line(head_of(CheckFigures, "common_aspect_ratio"), span))
    lines += [figure_line(*second) for second in own_lines(sweep.rule)]
    record = row_record(sweep)
    above = "".join(f"{head:>{_width(head)}}" for head in heads(record))
    lines += ["", f"{above}  {_LEFT_OVER}  verdict", *(_line(record, row) for row in rows)]
    lines += [
        "",
        *_laid_lines(sweep, rows),
        "Play is how much shorter the chain gets when it is pushed together and guided straight.",
        *wrapped(
            f"{_LEFT_OVER.capitalize()} is the part of the pull that the rings do not pass on to "
            "each other: the smaller, the more exactly they were brought to rest."
        ),
        "",
        "Written",
    ]
    return "\n".join([*lines, *(f"  {path}" for path in files.values())])


def _width(head: str) -> int:
    return max(len(head), 6) + 2


def _laid_lines(sweep: Sweep, rows: Sequence[Row]) -> list[str]:
    """What the columns of the state asked for are, and which sizes are not quite at rest in it."""
    if sweep.state == PULLED:
        return []
    restless = [f"{row.aspect_ratio:.3f}" for row in rows if row.lying_settled is False]
    said = f"Lying width and thickness are those of the weave {sweep.state.said}."
    if restless:
        said += f" Not quite at rest there, so rough: aspect ratio {', '.join(restless)}."
    return wrapped(said)


def _line(record: type[RowFigures], row: Row) -> str:
    shown = zip(heads(record), cells(record.of(row), or_blank), strict=True)
    residual = "" if row.kkt_residual is None else f"{row.kkt_residual:.1e}"
    columns = "".join(f"{cell:>{_width(head)}}" for head, cell in shown)
    return f"{columns}  {residual:<{len(_LEFT_OVER)}}  {row.verdict}"
