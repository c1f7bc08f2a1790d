"""What a drawing shows, as words for a maker."""

from __future__ import annotations

from ringwright.answers.laid_figures import title_words
from ringwright.answers.verdict import Report
from ringwright.base.terminal import figure_line
from ringwright.outputs.drawing.draw import Drawn, shown_text
from ringwright.outputs.drawing.layout import scale_text


def drawing_text(report: Report, drawn: Drawn, files: dict[str, str]) -> str:
    """A drawing in plain words, below the check's."""
    sheet = drawn.sheet
    lines = [
        "The drawing",
        figure_line("shows", shown_text(drawn.piece, drawn.repeats)),
        figure_line("paper and scale", f"{sheet.paper}, {scale_text(sheet.scale)}"),
    ]
    if drawn.laid is not None:
        lines.append(figure_line("laid", title_words(drawn.laid)))
    lines += [figure_line(name, f"{value:.2f} mm") for name, value in drawn.dimensions.items()]
    lines += ["", "Written", *(f"  {path}" for path in files.values())]
    lines += [
        "",
        "Print it at 100 %, and check its two scales with a ruler before measuring on paper.",
    ]
    return "\n".join(lines)
