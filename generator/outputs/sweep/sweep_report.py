"""What a sweep found, as a table for a maker and as JSON for a script."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from ringwright.answers.report import working_text
from ringwright.answers.second import own_said
from ringwright.answers.second_figures import own_figures
from ringwright.answers.weave_figures import WeaveFigures
from ringwright.outputs.sweep.sweep import Row, Sweep, limits_of_all, one_limit

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

# Column heads of the table, the rows' figures, and how many decimals are shown.
_COLUMNS: tuple[tuple[str, str, int], ...] = (
    ("wire", "wire_mm", 3),
    ("inner", "inner_mm", 3),
    ("AR", "aspect_ratio", 3),
    ("room", "room_mm", 3),
    ("gap", "smallest_gap_mm", 3),
    ("repeat", "repeat_mm", 3),
    ("width", "width_mm", 2),
    ("thick", "thickness_mm", 2),
    ("play %", "play_percent", 1),
    ("rings/m", "rings_per_m", 1),
    ("wire mm/m", "wire_mm_per_m", 0),
    ("metal mm3/m", "metal_mm3_per_m", 0),
)


def sweep_facts(sweep: Sweep, rows: Sequence[Row], files: dict[str, str]) -> dict[str, Any]:
    """A sweep as a JSON object; ``rows`` is in the order of the sizes."""
    return {
        **WeaveFigures.of(sweep.rule).facts(),
        "min_aspect_ratio": one_limit(rows),
        "second_rings": [one.facts() for one in own_figures(sweep.rule)],
        "wires": list(sweep.wires),
        "inners": list(sweep.inners),
        "rows": [asdict(row) for row in rows],
        "how_found": HOW_FOUND,
        "files": files,
    }


def sweep_text(sweep: Sweep, rows: Sequence[Row], files: dict[str, str]) -> str:
    """A sweep in plain words: the limits, a table, and the files."""
    common, limit = sweep.rule.common_aspect_ratio, one_limit(rows)
    lines = [f"{sweep.rule.name}: {len(rows)} sizes, lengths in mm"]
    if limit is not None:
        lines.append(f"  {'smallest aspect ratio':<24}{limit:.3f} (geometry)")
    if (limits := limits_of_all(sweep, rows)) is not None:
        working = "none computed" if limits.working is None else f"{limits.working:.3f}"
        lines.append(f"  {'working minimum':<24}{working}")
        lines.append(f"  {'working range':<24}{working_text(limits)}")
    if common is not None:
        span = f"{common.low:g} to {common.high:g} ({common.provenance})"
        lines.append(f"  {'common aspect ratio':<24}{span}")
    lines += [f"  {'second rings':<24}{said} (your own)" for said in own_said(sweep.rule)]
    heads = "".join(f"{head:>{_width(head)}}" for head, _, _ in _COLUMNS)
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


def _line(row: Row) -> str:
    cells = [f"{_shown(getattr(row, key), places):>{_width(h)}}" for h, key, places in _COLUMNS]
    residual = "" if row.kkt_residual is None else f"{row.kkt_residual:.1e}"
    return f"{''.join(cells)}  {residual:<9}{row.verdict}"


def _shown(value: float | None, places: int) -> str:
    return "" if value is None else f"{round(value, places) + 0.0:.{places}f}"
