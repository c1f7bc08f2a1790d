"""What a drawing shows, as words for a maker and as JSON for a script."""

from __future__ import annotations

from typing import Any

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.report import rounded
from ringwright.answers.verdict import Report
from ringwright.outputs.drawing.draw import Drawn, shown_text
from ringwright.outputs.drawing.layout import scale_text


def drawing_facts(report: Report, drawn: Drawn, files: dict[str, str]) -> dict[str, Any]:
    """A drawing as a JSON object: the check's keys and the drawing's."""
    return {
        **CheckFigures.of(report).facts(),
        "repeats": drawn.repeats,
        "rings_total": len(drawn.piece),
        "length_mm": rounded(drawn.piece.length_mm()),
        "paper": drawn.sheet.paper,
        "scale": scale_text(drawn.sheet.scale),
        "dimensions_mm": {name: rounded(value, 6) for name, value in drawn.dimensions.items()},
        "files": files,
    }


def drawing_text(report: Report, drawn: Drawn, files: dict[str, str]) -> str:
    """A drawing in plain words, below the check's."""
    sheet = drawn.sheet
    lines = [
        "The drawing",
        f"  {'shows':<24}{shown_text(drawn.piece, drawn.repeats)}",
        f"  {'paper and scale':<24}{sheet.paper}, {scale_text(sheet.scale)}",
    ]
    lines += [f"  {name:<24}{value:.2f} mm" for name, value in drawn.dimensions.items()]
    lines += ["", "Written", *(f"  {path}" for path in files.values())]
    lines += [
        "",
        "Print it at 100 %, and check its two scales with a ruler before measuring on paper.",
    ]
    return "\n".join(lines)
