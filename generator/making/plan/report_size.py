"""The size of a piece, in words for a maker and as JSON for a script."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from ringwright.answers.report import rounded
from ringwright.answers.second import ring_facts
from ringwright.answers.verdict import Report
from ringwright.making.plan.piece_size import Sizing
from ringwright.making.plan.report_plan import (
    SIZE_HEADS,
    Facts,
    fit_facts,
    fit_line,
    number,
    size_rows,
    table_lines,
)


def size_facts(report: Report, sizings: Sequence[Sizing]) -> dict[str, Any]:
    """One or several measures with their neighbours as a JSON object."""
    return {
        "weave": report.rule.name,
        "verdict": report.verdict,
        "wire_mm": rounded(report.size.wire_mm),
        "inner_mm": rounded(report.size.inner_mm),
        "aspect_ratio": rounded(report.size.aspect_ratio),
        "second_rings": [ring_facts(one, report.size) for one in report.rule.sizes],
        "repeat_mm": rounded(report.repeat_mm),
        "thickness_mm": rounded(report.thickness_mm, 6),
        "sizes": [fit_facts(sizing) for sizing in sizings],
    }


def size_text(facts: Facts) -> str:
    """The sizes in plain words."""
    lines = [
        f"{facts['weave']}: wire {number(facts['wire_mm'])} mm, inside "
        f"{number(facts['inner_mm'])} mm, one repeat {number(facts['repeat_mm'])} mm: "
        f"{facts['verdict']}"
    ]
    for fit in facts["sizes"]:
        lines += ["", f"{fit_line(fit)}; in mm".capitalize()]
        lines += table_lines((SIZE_HEADS, *size_rows(fit)))
        for how in dict.fromkeys(
            fit[which]["how"] for which in ("shorter", "longer") if fit[which]
        ):
            lines += textwrap.wrap(how, 98, initial_indent="  ", subsequent_indent="    ")
    if facts["sizes"][0]["ease_from"]:
        lines += ["", f"Ease: {facts['sizes'][0]['ease_from']}."]
    return "\n".join(lines)
