"""A button that opens a text file of the maker's; no more is sent than it may have."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from ringwright.page.widgets.elements import words

# A message of the page may not be longer (1,000,000 bytes, by the library that carries it),
# with room for what is around the text.
MOST_MESSAGE = 950_000


def file_pick(
    text: str,
    most_bytes: int,
    on_text: Callable[[str, str], object],
    on_trouble: Callable[[str], object],
) -> None:
    """Offer to open a text file.

    Parameters
    ----------
    text : the words on the button
    most_bytes : larger files are not even read
    on_text : told what is in the file, and what it is called
    on_trouble : told a sentence where it was too large
    """

    def opened(event: Any) -> None:
        told = event.args if isinstance(event.args, dict) else {}
        found, name = told.get("text"), told.get("name")
        if isinstance(found, str) and isinstance(name, str):
            on_text(found, name)
        else:
            on_trouble(f"That file is empty or larger than {most_bytes} bytes.")

    read = (
        "async (event) => { const file = event.target.files[0]; if (!file) return;"
        f" const text = file.size > {most_bytes} ? '' : await file.text();"
        # It is escaped twice on the way, which makes it longer.
        " const sent = new TextEncoder().encode(JSON.stringify(JSON.stringify(text)));"
        f" const fits = text && sent.length < {MOST_MESSAGE};"
        " event.target.value = ''; emit({text: fits ? text : null, name: file.name}); }"
    )
    with ui.element("label").classes("push quiet file"):
        words(text, "span")
        chosen = ui.element("input").props("type=file accept=.toml,text/plain")
    chosen.on("change", opened, js_handler=read)
