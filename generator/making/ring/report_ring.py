"""One ring, in words for a maker."""

from __future__ import annotations

from ringwright.base.figures import lines
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import figure_lines, wrapped
from ringwright.making.ring.ring_figures import OneRingFigures


def ring_text(ring: OneRingFigures) -> str:
    """A ring in plain words."""
    said = [
        f"Ring: wire {format_mm(ring.wire_mm)}, inner {format_mm(ring.inner_mm)}, outer "
        f"{format_mm(ring.outer_mm)}, aspect ratio {ring.aspect_ratio:.3f}",
        *figure_lines(lines(ring)),
    ]
    parts = {"How it is made": ring.made, "What it holds, closed but not soldered": ring.strength}
    for title, part in parts.items():
        if part is not None:
            said += ["", title, *figure_lines(lines(part))]
    said += ["", "Take care"]
    for caution in ring.cautions:
        said += wrapped(caution, "  - ", "    ")
    return "\n".join(said)
