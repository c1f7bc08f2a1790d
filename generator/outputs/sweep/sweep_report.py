"""What a sweep found, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.check_figures import CheckFigures, limit_lines, own_lines
from ringwright.answers.weave_figures import common_text
from ringwright.base.figures import cells, head_of, heads, or_blank
from ringwright.base.terminal import figure_line, wrapped
from ringwright.outputs.sweep.snaps import snaps
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
    lines += ["", *_table(row_record(sweep), rows)]
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
    for head, values in (
        ("width", [row.lying_width_mm for row in rows]),
        ("thickness", [row.lying_thickness_mm for row in rows]),
    ):
        said += _snap_words(sweep, rows, head, values)
    return wrapped(said)


def _snap_words(
    sweep: Sweep, rows: Sequence[Row], head: str, values: Sequence[float | None]
) -> str:
    """Between which sizes of a range in one wire a figure changes at once."""
    if sweep.is_grid:
        return ""
    return "".join(
        f" Between aspect ratio {rows[place].aspect_ratio:.3f} and "
        f"{rows[place + 1].aspect_ratio:.3f} its {head} changes at once, from "
        f"{values[place]:.2f} to {values[place + 1]:.2f} mm, as where rings snap into another lay."
        for place in snaps(values, rows[0].wire_mm)
    )


def _table(record: type[RowFigures], rows: Sequence[Row]) -> list[str]:
    """A line per size, of the columns that any size has a figure in."""
    table = [cells(record.of(row), or_blank) for row in rows]
    columns = zip(heads(record), *table, strict=True)
    used = [(head, texts) for head, *texts in columns if any(texts)]
    above = "".join(f"{head:>{_width(head)}}" for head, _ in used)
    lines = [f"{above}  {_LEFT_OVER}  verdict"]
    for place, row in enumerate(rows):
        shown = "".join(f"{texts[place]:>{_width(head)}}" for head, texts in used)
        residual = "" if row.kkt_residual is None else f"{row.kkt_residual:.1e}"
        lines.append(f"{shown}  {residual:<{len(_LEFT_OVER)}}  {row.verdict}")
    return lines
