"""Printable jigs: their options, the printer, and what came out to look at."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import TypedDict

from nicegui import ui

from ringwright.jigs import JIGS
from ringwright.making.ring.cautions import SMALL_PARTS, WINDING
from ringwright.page.files.command_lines import (
    TOPICS,
    JigOption,
    command_for,
    jig_options,
    jig_value,
    printer_options,
    unless_typed,
)
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import Run
from ringwright.page.session import Session
from ringwright.page.widgets.elements import Choice, Field, heading, table, words
from ringwright.page.widgets.make_files_row import MakeFilesRow
from ringwright.page.widgets.mesh_view import MeshView

# A light part stands out from the stage in light and in dark; after Okabe and Ito.
_COLOUR = "#56b4e9"
_ABOUT = (
    "Every part is measured before anything is written: walls, overhangs, fits, letters. This "
    "takes ten seconds to a few minutes."
)
# What to mind before a jig is made; once it is, its own cautions stand beside it.
_BEFORE = {"winding-guide": WINDING, "cutting-cradle": WINDING}
_NO_PICTURE = "There are no pictures of it; the parts can be turned."


class _PartRead(TypedDict):
    """What is read of a part in the jig's JSON file; ``jigs/files/jig_figures`` has all of it."""

    name: str
    count: int
    size_mm: Sequence[float]
    smallest_wall_mm: float
    grams: float
    minutes: float


class _JigRead(TypedDict):
    """What is read of that file."""

    parts: Sequence[_PartRead]
    cautions: Sequence[str]
    use: Sequence[str]


def build(session: Session) -> None:
    """A list of jigs, of which one is open, and the printer."""
    heading("Printable jigs")
    words("Made for the ring and the weave chosen above, and for your printer.").classes("hint")
    rows: dict[str, ui.element] = {}

    def look_at(name: str) -> None:
        session.set(replace(session.settings, jig=name))

    def show() -> None:
        name = session.settings.jig
        if name not in rows:
            with holder:
                rows[name] = _jig(session, name)
        for other, row in rows.items():
            row.set_visibility(other == name)
        chosen.put(name)

    with ui.element("div").classes("options wide"):
        said = {name: f"{TOPICS[name]}: {summary}" for name, summary in JIGS.items()}
        chosen = Choice("Jig", said, session.settings.jig, look_at)
    holder = ui.element("div")
    session.on_settings.listen(show)
    show()


def _printer(session: Session) -> None:
    """What the printer is like."""
    fields: dict[str, Field] = {}

    def put(name: str, text: str) -> None:
        session.set(session.settings.with_text(name, text.strip()))

    def refresh() -> None:
        for name, field in fields.items():
            field.put(getattr(session.settings, name))

    with ui.element("fieldset").classes("group"):
        words("Printer", "legend")
        with ui.element("div").classes("options"):
            for option in printer_options():
                now = getattr(session.settings, option.name)
                fields[option.name] = Field(
                    option.label, now, partial(put, option.name), hint=option.help
                )
    session.on_settings.listen(refresh)


def _jig(session: Session, name: str) -> ui.element:
    """One jig: its options, having it made, and what came out."""
    with ui.element("div") as row:
        options = jig_options(name)
        if options:
            with ui.element("fieldset").classes("group"):
                words("This jig", "legend")
                with ui.element("div").classes("options"):
                    for option in options:
                        _option(session, name, option)
        _printer(session)
        words(_BEFORE.get(name, SMALL_PARTS)).classes("advice")
        MakeFilesRow(
            *(session, name, TOPICS[name], f"{JIGS[name].capitalize()}. {_ABOUT}", "Make it"),
            partial(_command, session, name),
            partial(_look, name),
        )
    return row


def _command(session: Session, name: str) -> Command:
    return command_for(name, session.chosen())


def _option(session: Session, jig: str, option: JigOption) -> None:
    """A field for an option, as the command's own list describes it."""

    def put(text: str) -> None:
        typed = text.strip()
        kept = "" if typed == unless_typed(option, session.wanted) else typed
        session.set(session.settings.with_jig_option(jig, option.name, kept))

    field: Field | Choice
    now = jig_value(jig, option, session.wanted, session.settings)
    if option.kind == "text":
        field = Field(option.label, now, put, hint=option.help, autocomplete="off")
    elif option.kind == "yes":
        field = Choice(option.label, {"": "no", "yes": f"yes: {option.help}"}, now, put)
    else:
        field = Choice(option.label, {one: one for one in option.choices}, now, put)

    def refresh() -> None:
        field.put(jig_value(jig, option, session.wanted, session.settings))

    session.on_settings.listen(refresh)
    session.on_wanted.listen(refresh)


def _look(name: str, run: Run) -> None:
    """What came out: pictures, parts to turn, figures, cautions and use."""
    figures = run.file(".json")
    if figures is None:
        return
    facts: _JigRead = json.loads(figures.path.read_text(encoding="utf-8"))
    with ui.element("div").classes("looks"):
        _parts(run, facts)
        _pictures(run, name)
    with ui.element("div").classes("scrolls").props("tabindex=0 role=group aria-label='Parts'"):
        table(
            "Printed parts",
            ("Part", "Count", "Size", "Thinnest wall", "Mass each", "Time each"),
            [_figures(part) for part in facts["parts"]],
        ).classes("numbers")
    for title, lines in (("Cautions", facts["cautions"]), ("Print, build and use", facts["use"])):
        heading(title, 3)
        with ui.element("ul"):
            for line in lines:
                words(line, "li")


def _parts(run: Run, facts: _JigRead) -> None:
    """A view of one part at a time."""
    parts = {part["name"]: part for part in facts["parts"]}
    with ui.element("div"):
        view = MeshView("A printed part on the bed.")

        def show(name: str) -> None:
            file = run.file(f"-{name}.stl")
            if file is not None:
                view.show(file.address, _COLOUR, _said(parts[name]))

        first = next(iter(parts))
        Choice("Part to look at", {name: name.replace("-", " ") for name in parts}, first, show)
        show(first)


def _said(part: _PartRead) -> str:
    size = " by ".join(f"{one:.0f}" for one in part["size_mm"])
    return (
        f"The part {part['name'].replace('-', ' ')}, {size} mm, as it lies on the bed; the squares "
        "are a centimetre. Arrow keys turn it, Page Up and Page Down come nearer and go back."
    )


def _pictures(run: Run, name: str) -> None:
    told = {f"{name}.png": "put together", f"{name}-apart.png": "taken apart"}
    shown = [(run.file(f"/{file}"), how) for file, how in told.items()]
    with ui.element("div").classes("pictures"):
        if not any(file for file, _ in shown):
            words(_NO_PICTURE).classes("hint")
        for file, how in shown:
            if file is not None:
                with ui.element("figure"):
                    picture = ui.element("img")
                    picture.props["src"] = file.address
                    picture.props["alt"] = f"{TOPICS[name]}, {how}"
                    words(how.capitalize(), "figcaption")


def _figures(part: _PartRead) -> tuple[str, ...]:
    return (
        part["name"].replace("-", " "),
        str(part["count"]),
        " x ".join(f"{one:.1f}" for one in part["size_mm"]) + " mm",
        f"{part['smallest_wall_mm']:.2f} mm",
        f"{part['grams']:.0f} g",
        f"{part['minutes']:.0f} min",
    )
