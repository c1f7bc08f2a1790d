"""A button that opens a picture of one pixel a ring, or a table, as the text of a table."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from ringwright.page.widgets.elements import words

# Of a picture; larger ones are photographs, and no grid of rings.
_MOST_ACROSS = 400
# Pixels are read in the browser, with no colours changed, each written as #rrggbb; one that can be
# seen through has no colour.
_READ = """async (event) => {
  const file = event.target.files[0];
  if (!file) return;
  let text = '', wrong = '';
  if (/\\.png$/i.test(file.name)) {
    const as_is = { colorSpaceConversion: 'none', premultiplyAlpha: 'none' };
    const image = await createImageBitmap(file, as_is).catch(() => null);
    if (!image) wrong = 'That file cannot be read as a PNG picture.';
    else if (Math.max(image.width, image.height) > %(across)d)
      wrong = 'A grid has a pixel for each ring, at most %(across)d by %(across)d.';
    else {
      const canvas = new OffscreenCanvas(image.width, image.height).getContext('2d');
      canvas.drawImage(image, 0, 0);
      const pixels = canvas.getImageData(0, 0, image.width, image.height).data;
      const hex = (part) => part.toString(16).padStart(2, '0');
      const rows = [];
      for (let row = 0; row < image.height; row++) {
        const cells = [];
        for (let column = 0; column < image.width; column++) {
          const at = 4 * (row * image.width + column);
          if (pixels[at + 3] < 128) wrong = 'Every ring needs a colour: none may be see-through.';
          cells.push('#' + [0, 1, 2].map((part) => hex(pixels[at + part])).join(''));
        }
        rows.push(cells.join(','));
      }
      text = rows.join('\\n') + '\\n';
    }
  } else if (file.size <= %(most)d) text = await file.text();
  if (!wrong && (!text || new TextEncoder().encode(text).length > %(most)d))
    wrong = 'That file is empty, or has more than %(most)d bytes as a table.';
  event.target.value = '';
  emit({ text: wrong ? '' : text, wrong });
}"""


def grid_pick(
    text: str,
    most_bytes: int,
    on_text: Callable[[str], object],
    on_trouble: Callable[[str], object],
) -> None:
    """Offer to open a PNG picture or a CSV table.

    Parameters
    ----------
    text : the words on the button
    most_bytes : of the table
    on_text : told the table
    on_trouble : told a sentence where there is none
    """

    def opened(event: Any) -> None:
        told = event.args if isinstance(event.args, dict) else {}
        found, wrong = told.get("text"), told.get("wrong")
        if isinstance(found, str) and found and len(found.encode()) <= most_bytes:
            on_text(found)
        elif isinstance(wrong, str):
            on_trouble(wrong)

    with ui.element("label").classes("push quiet file"):
        words(text, "span")
        chosen = ui.element("input").props("type=file accept=.png,.csv,image/png,text/csv")
    chosen.on("change", opened, js_handler=_READ % {"across": _MOST_ACROSS, "most": most_bytes})
