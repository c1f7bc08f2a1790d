"""The size of a piece in words for a maker."""

from __future__ import annotations

from ringwright.answers.count_figures import hung_lines
from ringwright.base.figures import number
from ringwright.base.terminal import table_lines, wrapped
from ringwright.making.plan.report_plan import counted_line, fit_line, size_table
from ringwright.making.plan.size_figures import MeasureFigures, SizeFigures


def size_text(figures: SizeFigures) -> str:
    """The sizes in plain words."""
    rings = f"wire {number(figures.wire_mm)} mm, inside {number(figures.inner_mm)} mm"
    lines = [
        f"{figures.weave}: {rings}, one repeat "
        f"{number(figures.sizes[0].counted_repeat_mm)} mm: {figures.verdict}"
    ]
    for fit in figures.sizes:
        table = size_table(fit)
        lines += ["", f"{fit_line(fit)}; {table.measured}".capitalize()]
        lines += table_lines((table.heads, *table.rows))
        for how in dict.fromkeys(one.how for one in (fit.shorter, fit.longer) if one):
            lines += wrapped(how, "  ", "    ")
    lines += ["", f"{counted_line(figures.sizes[0])}.".capitalize()]
    for fit in figures.sizes:
        if fit.if_hung:
            lines += [f"If it is to be {number(fit.wanted_mm)} mm as it hangs:", *_hung_lines(fit)]
    for safe in dict.fromkeys(fit.safe_to_buy_by for fit in figures.sizes):
        lines += wrapped(f"Safe to buy by: {safe}.", further="  ")
    if (ease_from := figures.sizes[0].ease_from) is not None:
        lines += [f"Ease: {ease_from}."]
    return "\n".join(lines)


def _hung_lines(fit: MeasureFigures) -> list[str]:
    """What a sheet takes hung, told once more for each measure."""
    return [
        line
        for one in hung_lines(fit.if_hung, with_rows=False)
        for line in wrapped(f"  {one}", further="    ")
    ]
