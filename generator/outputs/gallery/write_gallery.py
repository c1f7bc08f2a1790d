"""The gallery's files: one contact sheet as PNG, one page of turnable models as HTML."""

from __future__ import annotations

import base64
import html
import io
import json
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.laid_figures import laid_lines, unsettled
from ringwright.answers.verdict import Report
from ringwright.answers.weave_figures import common_text
from ringwright.base.figures import head_of, lines
from ringwright.base.files import WholeFiles
from ringwright.base.progress import Progress
from ringwright.base.sizes import format_mm
from ringwright.base.typeface import typeface
from ringwright.colour.looks import look_of
from ringwright.outputs.gallery.gallery import Exhibit, shown_piece
from ringwright.outputs.models.artist import PictureUnavailable
from ringwright.outputs.models.picture import write_png
from ringwright.piece.piece import Piece

if TYPE_CHECKING:
    from PIL import Image

_COLUMNS = 4
_TILE = (600, 400)
_CAPTION = 108
_GAP = 16
_BACKGROUND, _INK, _GREY = (244, 244, 245), (41, 43, 48), (96, 99, 106)
# All the page may load is what stands in it.
_POLICY = "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:"
_STYLE = """
body { font: 16px/1.5 system-ui, sans-serif; margin: 0 auto; max-width: 84rem; padding: 1rem;
  color: #292b30; background: #f4f4f5; }
main { display: grid; grid-template-columns: repeat(auto-fill, minmax(24rem, 1fr)); gap: 1.25rem; }
article { background: #fff; border: 1px solid #cdcfd2; border-radius: 6px; padding: 1rem; }
h2 { margin: 0 0 .25rem; font-size: 1.2rem; }
figure { margin: 0; height: 17rem; background: #f4f4f5; }
canvas { width: 100%; height: 100%; cursor: grab; touch-action: none; }
figure img { width: 100%; height: 100%; object-fit: cover; }
canvas:focus-visible { outline: 3px solid #0072b2; outline-offset: 2px; }
table { border-collapse: collapse; width: 100%; margin-top: .75rem; font-size: .9rem; }
th { text-align: left; font-weight: 600; padding: .15rem .75rem .15rem 0; vertical-align: top; }
td { padding: .15rem 0; vertical-align: top; }
.trouble { border-left: 4px solid #d55e00; padding-left: .75rem; }
"""


def write_gallery(
    shown: Sequence[Exhibit],
    folder: Path,
    name: str,
    on_progress: Progress,
) -> tuple[dict[str, str | None], str | None]:
    """Write ``folder/name.png`` and ``folder/name.html``, both or none.

    Returns
    -------
    files, no_picture : kind to path; why there is no contact sheet, or None

    Raises
    ------
    BadInput
        When a file cannot be written.
    """
    files: dict[str, str | None] = {
        kind: str(folder / f"{name}.{kind}") for kind in ("png", "html")
    }
    with WholeFiles(folder) as batch:
        tiles, no_picture = _tiles(shown, batch, on_progress)
        if tiles:
            _contact_sheet(shown, tiles).save(batch.new(f"{name}.png"), "PNG")
        else:
            files["png"] = None
        articles = [_article(one, tiles.get(place)) for place, one in enumerate(shown)]
        page = _page(articles, _how(shown))
        batch.new(f"{name}.html").write_text(page, encoding="utf-8", newline="\n")
    return files, no_picture


def _tiles(
    shown: Sequence[Exhibit], batch: WholeFiles, on_progress: Progress
) -> tuple[dict[int, Image.Image], str | None]:
    """A close-up of every woven piece, or why none could be drawn."""
    from PIL import Image

    tiles: dict[int, Image.Image] = {}
    for done, one in enumerate(shown):
        on_progress("pictures", done, len(shown))
        if one.piece is None:
            continue
        path = batch.new("tile.png")
        try:
            write_png(one.piece, path, _TILE, close_up_only=True)
            with Image.open(io.BytesIO(path.read_bytes())) as picture:
                tiles[done] = picture.convert("RGB")
        except PictureUnavailable as reason:
            return {}, str(reason)
        finally:
            batch.drop("tile.png")
    on_progress("pictures", len(shown), len(shown))
    return tiles, None


def _contact_sheet(shown: Sequence[Exhibit], tiles: dict[int, Image.Image]) -> Image.Image:
    from PIL import Image, ImageDraw, ImageFont

    columns = min(_COLUMNS, len(shown))
    rows = -(-len(shown) // columns)
    across, down = _TILE[0] + _GAP, _TILE[1] + _CAPTION + _GAP
    sheet = Image.new("RGB", (columns * across + _GAP, rows * down + _GAP), _BACKGROUND)
    draw = ImageDraw.Draw(sheet)
    font = str(typeface())
    large, small = ImageFont.truetype(font, 26), ImageFont.truetype(font, 20)
    for place, one in enumerate(shown):
        x, y = _GAP + (place % columns) * across, _GAP + (place // columns) * down
        box = (x, y, x + _TILE[0] - 1, y + _TILE[1] - 1)
        if place in tiles:
            sheet.paste(tiles[place], (x, y))
        else:
            draw.text((x + 20, y + 20), "not shown: no resting position at this size", _INK, small)
        draw.rectangle(box, outline=(205, 207, 210))
        draw.text((x, y + _TILE[1] + 8), one.rule.name, _INK, large)
        draw.text((x, y + _TILE[1] + 42), "\n".join(_under(one)), _GREY, small)
    return sheet


def _under(one: Exhibit) -> list[str]:
    """What stands under a picture: the ratio shown and the makers' range, and what was computed."""
    lines, common = [f"AR {one.size.aspect_ratio:.2f}"], one.rule.common_aspect_ratio
    if common is not None:
        lines[0] += f", common {common.low:g} to {common.high:g}"
    if one.report is not None:
        least = one.report.limits.working
        working = "" if least is None else f", working {least:.2f}"
        lines.append(f"smallest {one.report.limits.minimum:.2f} (geometry){working}")
    return lines


def framed_report(report: Report, piece: Piece | None = None) -> str:
    """A check for a notebook: a model to turn and its figures, in a frame of their own.

    Parameters
    ----------
    piece : the model; a few repeats where None, and none where it cannot be woven
    """
    if piece is None and report.can_be_woven:
        piece = shown_piece(report)
    trouble = None if piece is not None else "it cannot be woven at this size"
    one = Exhibit(report.rule, report.size, report, piece, trouble)
    page = html.escape(_document(report.rule.name, _article(one, None)), quote=True)
    # In a frame, so that neither its style nor its program gets into the notebook.
    return (
        f'<iframe srcdoc="{page}" sandbox="allow-scripts" title="{_alt(one)}" '
        'style="width: 100%; max-width: 44rem; height: 56rem; border: 0"></iframe>'
    )


def turnable_page(title: str, said: str, piece: Piece, rows: Sequence[tuple[str, str]]) -> str:
    """A page of its own with one piece to turn, in its colours; it loads nothing from anywhere.

    Parameters
    ----------
    said : a sentence below the title
    rows : facts, as names and texts
    """
    alt = html.escape(f"Model of {title}: {len(piece)} rings", quote=True)
    facts = "".join(
        f'<tr><th scope="row">{html.escape(name)}</th><td>{html.escape(text)}</td></tr>\n'
        for name, text in rows
    )
    return _document(
        title,
        f"""<style>figure {{ height: min(55vh, 48rem); }}</style>
<main style="display: block"><h1>{html.escape(title)}</h1>
<p>{html.escape(said)}</p>
<figure><p>The model is shown where the browser has WebGL 2, which is off or missing here.</p>
<canvas hidden tabindex="0" role="img" aria-label="{alt}" data-rings="{_rings(piece)}"></canvas>
</figure>
<p>Drag it to turn it, or use the arrow keys; Page Up and Page Down come nearer and go back.</p>
<table><tbody>
{facts}</tbody></table></main>""",
    )


def _page(articles: Sequence[str], how: str) -> str:
    return _document(
        "Weaves",
        f"""<h1>Weaves</h1>
<p>Every weave {how} at an aspect ratio from the middle of its common range. Drag a
model to turn it, or move to it with the Tab key and use the arrow keys; Page Up and Page Down
come nearer and go back, Home starts over. Copper rings are opened before weaving, steel rings are
closed. The smallest aspect ratio is geometry only; hands and pliers need more. The working minimum
is the smallest at which a way in was found for each ring, opened and turned in like a screw without
flexing; it is found, not proved, and was computed when the rule was written.</p>
<main>
{"".join(articles)}
</main>""",
    )


def _how(shown: Sequence[Exhibit]) -> str:
    """How the pieces lie, in words."""
    laid = {one.laid is not None for one in shown if one.piece is not None}
    if any(one.laid is not None and one.laid.fit is not None for one in shown):
        return "as it is worn, or as its table says,"
    if laid == {True, False}:
        return "as it lies on a table, or pulled straight where its table does not say how it lies,"
    return "as it lies on a table" if laid == {True} else "pulled straight"


def _document(title: str, body: str) -> str:
    """A page on which the viewer shows every model."""
    code = resources.files(__package__).joinpath("turnable.js").read_text(encoding="utf-8")
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{_POLICY}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{html.escape(title)}</title>
<style>{_STYLE}</style>
</head>
<body>
{body}
<script>{code}</script>
</body>
</html>
"""


def _article(one: Exhibit, tile: Image.Image | None) -> str:
    title = html.escape(one.rule.name)
    parts = [f'<article aria-labelledby="{_anchor(one)}">', f'<h2 id="{_anchor(one)}">{title}</h2>']
    parts.append(f"<p>{html.escape(_sentence(one.rule.summary))}</p>")
    if one.piece is None:
        parts.append(f'<p class="trouble">Not shown: {html.escape(one.trouble or "no rest")}.</p>')
    else:
        parts.append(
            f'<figure>{_poster(one, tile)}<canvas hidden tabindex="0" role="img" '
            f'aria-label="{_alt(one)}" data-rings="{_rings(one.piece)}"></canvas></figure>'
        )
    parts.append("<table><tbody>")
    for key, value in exhibit_rows(one):
        parts.append(
            f'<tr><th scope="row">{html.escape(key)}</th><td>{html.escape(value)}</td></tr>'
        )
    parts.append("</tbody></table></article>\n")
    return "\n".join(parts)


def _poster(one: Exhibit, tile: Image.Image | None) -> str:
    """What stands there where the browser cannot draw the model: a picture, or why not."""
    if tile is None:
        return (
            "<p>Models are shown where the browser has WebGL 2, which is off or missing here.</p>"
        )
    out = io.BytesIO()
    tile.save(out, "JPEG", quality=82)
    data = base64.b64encode(out.getvalue()).decode("ascii")
    return f'<img src="data:image/jpeg;base64,{data}" alt="{_alt(one)}">'


def _rings(piece: Piece) -> str:
    """A piece for the page's viewer: 11 numbers a ring, and how far it reaches, in mm."""
    colours = [look_of(paint).linear() for paint in piece.paints]
    table = np.column_stack(
        [piece.centres_mm, piece.axes, piece.core_radii_mm, piece.wire_radii_mm, colours]
    )
    reach = (piece.core_radii_mm + piece.wire_radii_mm)[:, None]
    low, high = (piece.centres_mm - reach).min(axis=0), (piece.centres_mm + reach).max(axis=0)
    facts = {
        "rings": table.round(4).ravel().tolist(),
        "middle": ((low + high) / 2).round(4).tolist(),
        "reach": round(float((high - low).max()), 4),
    }
    return html.escape(json.dumps(facts, separators=(",", ":")), quote=True)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def _anchor(one: Exhibit) -> str:
    return "weave-" + "".join(c if c.isalnum() else "-" for c in one.rule.name)


def _alt(one: Exhibit) -> str:
    text = f"Model of the {one.rule.name} weave: {one.rule.summary}"
    if one.piece is not None:
        text += f"; {len(one.piece)} rings, {one.piece.roles.count('open')} of them open"
    return html.escape(text, quote=True)


def exhibit_rows(one: Exhibit) -> list[tuple[str, str]]:
    """The facts of a weave, as names and texts."""
    rule, common, report = one.rule, one.rule.common_aspect_ratio, one.report
    rows = [("also called", ", ".join(rule.trade_names) or "no other name")]
    rows.append(("rings in a repeat", _ring_count(rule.rings)))
    rows.append(
        (
            "shown at",
            f"wire {format_mm(one.size.wire_mm)}, inner {format_mm(one.size.inner_mm)}, aspect "
            f"ratio {one.size.aspect_ratio:.2f}",
        )
    )
    span = "none given; shown a fifth above the smallest"
    if common is not None:
        span = f"{common_text(common)} ({common.provenance})"
    rows.append((head_of(CheckFigures, "common_aspect_ratio"), span))
    if report is not None:
        figures = CheckFigures.of(report)
        rows += _rows(figures, "min_aspect_ratio", "working_min_aspect_ratio")
        if common is not None and common.note is not None:
            rows.append(("why they differ", common.note))
        rows.append(("verdict", figures.verdict))
        rows += _rows(figures, "repeat_mm", "width_mm", "thickness_mm")
    if one.laid is not None:
        rows += laid_lines(one.laid)
    return rows


def _rows(figures: CheckFigures, *names: str) -> list[tuple[str, str]]:
    return [(name, "; ".join(texts)) for name, texts in lines(figures, only=names)]


def _ring_count(rings: Sequence[Any]) -> str:
    opened = sum(ring.role == "open" for ring in rings)
    return f"{len(rings)}: {opened} open, {len(rings) - opened} closed"


def gallery_text(shown: Sequence[Exhibit], files: dict[str, str | None]) -> str:
    """The gallery in plain words."""
    column = max((len(one.rule.name) for one in shown), default=0) + 2
    lines = [f"{one.rule.name:<{column}}{', '.join(_under(one))}" for one in shown]
    lines += [f"  not shown: {one.rule.name}: {one.trouble}" for one in shown if one.trouble]
    lines += [
        f"  not quite at rest: {one.rule.name}: {unsettled(one.laid)}"
        for one in shown
        if one.laid is not None and not one.laid.lying.settled
    ]
    return "\n".join([*lines, "", "Written", *(f"  {path}" for path in files.values() if path)])
