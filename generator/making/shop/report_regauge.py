"""A weave in other wires, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.advice import warning
from ringwright.answers.second_figures import second_words
from ringwright.base.figures import cells, heads, or_blank
from ringwright.base.terminal import table_lines, wrapped
from ringwright.making.shop.mandrel_figures import ChoiceFigures
from ringwright.making.shop.regauge import Regauged
from ringwright.making.shop.regauge_figures import RegaugeFigures, WireFigures, Wires


def regauge_text(found: Sequence[Regauged]) -> str:
    """The weave in each wire in plain words."""
    figures = RegaugeFigures.of(Wires(found))
    wires = figures.wires
    least = wires[0].working_min_aspect_ratio
    working = "" if least is None else f", working minimum {least:.3f}"
    lines = [
        f"{figures.weave} at aspect ratio {figures.aspect_ratio:.3f}: {figures.verdict} "
        f"(smallest {wires[0].min_aspect_ratio:.3f}{working}); lengths in mm; the first line is "
        "what you have now",
        "",
        *table_lines(_table(wires), left=()),
    ]
    if any(one.mandrel for one in wires):
        lines.append("")
    for one in wires:
        if one.mandrel is not None:
            lines += wrapped(f"- {one.wire}: {one.mandrel.why}", "  ", "    ")
    if any(one.second_rings for one in wires):
        lines += ["", "  rings of other sizes"]
        lines += [
            f"  - {one.wire}: {'; '.join(map(second_words, one.second_rings))}" for one in wires
        ]
    if (amiss := warning(found[0].report)) is not None:
        lines += ["", *wrapped(f"With what you have now: {amiss}")]
    return "\n".join(lines)


def _table(wires: Sequence[WireFigures]) -> list[tuple[str, ...]]:
    """Each wire and its mandrel, below their heads; a column without figures is left out."""
    mandrels = heads(ChoiceFigures)
    none = ("",) * len(mandrels)
    rows = [
        (*cells(one, or_blank), *(cells(one.mandrel, or_blank) if one.mandrel else none))
        for one in wires
    ]
    columns = zip((*heads(WireFigures), *mandrels), *rows, strict=True)
    return list(zip(*(column for column in columns if any(column[1:])), strict=True))
