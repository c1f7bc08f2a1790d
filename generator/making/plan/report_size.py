"""The size of a piece in words for a maker."""

from __future__ import annotations

from ringwright.base.figures import number
from ringwright.base.terminal import table_lines, wrapped
from ringwright.making.plan.report_plan import counted_line, fit_line, size_table
from ringwright.making.plan.size_figures import SizeFigures


def size_text(figures: SizeFigures) -> str:
    """The sizes in plain words."""
    rings = f"wire {number(figures.wire_mm)} mm, inside {number(figures.inner_mm)} mm"
    lines = [
        f"{figures.weave}: {rings}, one repeat {number(figures.repeat_mm)} mm: {figures.verdict}"
    ]
    for fit in figures.sizes:
        table = size_table(fit)
        lines += ["", f"{fit_line(fit)}; {table.measured}".capitalize()]
        lines += table_lines((table.heads, *table.rows))
        for how in dict.fromkeys(one.how for one in (fit.shorter, fit.longer) if one):
            lines += wrapped(how, "  ", "    ")
    lines += ["", f"{counted_line(figures.sizes[0])}.".capitalize()]
    if (ease_from := figures.sizes[0].ease_from) is not None:
        lines += [f"Ease: {ease_from}."]
    return "\n".join(lines)
