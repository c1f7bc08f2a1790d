"""What is said of a whole piece, as words for a maker."""

from __future__ import annotations

from ringwright.answers.laid_figures import laid_lines
from ringwright.answers.preview_figures import Previewed
from ringwright.answers.verdict import Report
from ringwright.base.terminal import FURTHER, figure_line, wrapped
from ringwright.base.wording import counted
from ringwright.colour.metals import metal_counts
from ringwright.piece.piece import Piece
from ringwright.rest.laid import Laid


def piece_text(report: Report, made: Previewed) -> str:
    """A preview in plain words, below the check's."""
    piece, repeats, checked = made.piece, made.repeats, made.checked
    repeat_mm = report.repeat_mm or 0.0
    length = piece.length_mm()
    lines = [
        "The piece",
        figure_line(
            "length",
            f"{length:.1f} mm {report.rule.family.counted}, end rings included "
            f"({counted(repeats, 'repeat')})",
        ),
    ]
    if repeats > 1:
        lines.append(figure_line("one repeat fewer", f"{length - repeat_mm:.1f} mm"))
    checks = (
        f"{checked.pairs} pairs of neighbouring rings measured again: smallest gap "
        f"{abs(checked.smallest_gap_mm):.3f} mm, {len(checked.links)} links, as in the rule"
    )
    lines += [
        figure_line(
            "rings",
            f"{len(piece)}: {piece.roles.count('open')} to open before weaving, "
            f"{piece.roles.count('closed')} to close before weaving",
        ),
        *_metal_lines(piece),
        *([] if made.laid is None else _laid_lines(made.laid)),
        *wrapped(figure_line("checked", checks), further=FURTHER),
    ]
    return "\n".join(lines)


def _laid_lines(laid: Laid) -> list[str]:
    return [
        line
        for name, text in laid_lines(laid)
        for line in wrapped(figure_line(name, text), further=FURTHER)
    ]


def _metal_lines(piece: Piece) -> list[str]:
    """How many rings and how much wire of each metal."""
    return [
        f"  {one.metal:<23} {one.rings} rings, {one.rings_open} to open and "
        f"{one.rings_closed} to close; {one.wire_length_mm / 1000:.3f} m of wire in them"
        for one in metal_counts(piece)
    ]
