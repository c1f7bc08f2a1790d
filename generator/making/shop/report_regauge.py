"""A weave in other wires, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.advice import warning
from ringwright.answers.second import said_rings
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import wrapped
from ringwright.making.shop.mandrel_choice import EITHER, NEITHER
from ringwright.making.shop.regauge import Regauged

_HEADS = (
    *("wire", "mm", "inner", "mandrel", "round", "repeat", "width", "thick", "rings/m", "g/m"),
    *("rings", "length"),
)


def regauge_text(found: Sequence[Regauged]) -> str:
    """The weave in each wire in plain words."""
    first = found[0].report
    rows: list[tuple[str, ...]] = [_HEADS, *map(_row, found)]
    # Columns that say nothing for any wire are left out.
    kept = [column for column in range(len(_HEADS)) if any(row[column] for row in rows[1:])]
    widths = {column: max(len(row[column]) for row in rows) for column in kept}
    least = first.limits.working
    working = "" if least is None else f", working minimum {least:.3f}"
    lines = [
        f"{first.rule.name} at aspect ratio {first.size.aspect_ratio:.3f}: {first.verdict} "
        f"(smallest {first.limits.minimum:.3f}{working}); lengths in mm; the first line is what "
        "you have now",
        "",
    ]
    lines += ["  ".join(f"{row[c]:>{widths[c]}}" for c in kept) for row in rows]
    for one in found:
        if one.mandrel is not None:
            said = f"- {one.wire_text}: {one.mandrel.why}"
            lines += wrapped(said, "  ", "    ")
    if any(one.mandrel for one in found):
        lines.insert(len(found) + 3, "")
    seconds = [(one.wire_text, said_rings(one.report.rule, one.report.size)) for one in found]
    if any(said for _, said in seconds):
        lines += ["", "  rings of other sizes"]
        lines += [f"  - {wire}: {'; '.join(said)}" for wire, said in seconds]
    if (amiss := warning(first)) is not None:
        lines += ["", *wrapped(f"With what you have now: {amiss}")]
    return "\n".join(lines)


def _row(one: Regauged) -> tuple[str, ...]:
    report, layout, mandrel = one.report, one.layout, one.mandrel
    rounding = ""
    if mandrel is not None and mandrel.chosen is not None:
        side = "" if mandrel.safe == EITHER else f"{mandrel.safe} "
        rounding = f"{side}to {format_mm(mandrel.chosen.mandrel_mm).removesuffix(' mm')}"
    elif mandrel is not None and mandrel.safe == NEITHER:
        rounding = "no"
    return (
        one.wire_text,
        f"{report.size.wire_mm:.3f}",
        f"{report.size.inner_mm:.3f}",
        _shown(mandrel.exact_mm if mandrel else None, 3),
        rounding,
        _shown(report.repeat_mm, 3),
        _shown(report.width_mm, 2),
        _shown(report.thickness_mm, 2),
        _shown(one.rings_per_m, 0),
        _shown(one.mass_g_per_m, 1),
        str(layout.rings) if layout else "",
        _shown(layout.length_mm if layout else None, 1),
    )


def _shown(value: float | None, places: int) -> str:
    return "" if value is None else f"{value:.{places}f}"
