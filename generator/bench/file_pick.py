"""A button that opens a text file of the maker's; no more is sent than it may have."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from nicegui import ui

from generator.bench.elements import words


def file_pick(
    text: str,
    most_bytes: int,
    on_text: Callable[[str], object],
    on_trouble: Callable[[str], object],
) -> None:
    """Offer to open a text file.

    Parameters
    ----------
    text : the words on the button
    most_bytes : larger files are not even read
    on_text : told what is in the file
    on_trouble : told a sentence where it was too large
    """

    def opened(event: Any) -> None:
        told = event.args if isinstance(event.args, dict) else {}
        found = told.get("text")
        if isinstance(found, str):
            on_text(found)
        else:
            on_trouble(f"That file is larger than {most_bytes} bytes: choose another one.")

    read = (
        "async (event) => { const file = event.target.files[0]; if (!file) return;"
        f" const text = file.size > {most_bytes} ? null : await file.text();"
        " event.target.value = ''; emit({text: text}); }"
    )
    with ui.element("label").classes("push quiet file"):
        words(text, "span")
        chosen = ui.element("input").props("type=file accept=.toml,text/plain")
    chosen.on("change", opened, js_handler=read)
