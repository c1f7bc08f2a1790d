"""A drawing as SVG, in millimetres of paper."""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from ringwright.base.arrays import Floats
from ringwright.outputs.drawing.layout import Sheet
from ringwright.outputs.drawing.marks import CAPITALS, Words


def svg_text(sheet: Sheet) -> str:
    """The drawing as SVG text.

    One unit is a millimetre on paper. Lines are grouped by kind (``visible``, ``hidden``,
    ``dimension`` and so on), the views' own in one group per figure.
    """
    width, height = sheet.size_mm
    marks = sheet.marks()
    lines: dict[str, list[str]] = {}
    for stroke in marks.strokes:
        path = _path(stroke.points, height)
        lines.setdefault(stroke.kind, []).append(f'<path d="{path}"/>')
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}" role="img">',
        f"<title>{escape(sheet.title)}</title>",
        f"<desc>{escape(sheet.summary)}</desc>",
        f'<rect width="{width:g}" height="{height:g}" fill="white"/>',
    ]
    for kind in sorted(lines, key=lambda kind: (sheet.width_of(kind), kind)):
        dashes = " ".join(f"{part:.4g}" for part in sheet.dashes_of(kind))
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        parts.append(
            f'<g class="{kind}" fill="none" stroke="black" stroke-linejoin="round" '
            f'stroke-width="{sheet.width_of(kind):g}"{dashed}>'
        )
        parts += [*lines[kind], "</g>"]
    parts.append('<g class="arrows">')
    parts += [f'<path d="{_path(points, height)}Z"/>' for points in marks.fills]
    parts.append('</g>\n<g font-family="DejaVu Sans, Verdana, sans-serif">')
    parts += [_words(words, height) for words in marks.words]
    return "\n".join([*parts, "</g>", "</svg>", ""])


def write_svg(sheet: Sheet, path: Path) -> None:
    """Write the drawing; an older file is overwritten."""
    path.write_text(svg_text(sheet), encoding="utf-8", newline="\n")


def _path(points: Floats, height: float) -> str:
    places = [f"{_short(x)} {_short(height - y)}" for x, y in points.tolist()]
    return "M" + "L".join(places)


def _short(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _words(words: Words, height: float) -> str:
    x, y = _short(words.at[0]), _short(height - words.at[1])
    size = f"{words.height / CAPITALS:.3f}"
    weight = ' font-weight="bold"' if words.bold else ""
    turn = f' transform="rotate(-90 {x} {y})"' if words.turned else ""
    return (
        f'<text class={quoteattr(words.kind)} x="{x}" y="{y}" font-size="{size}" '
        f'text-anchor="{words.anchor}"{weight}{turn}>{escape(words.text)}</text>'
    )
