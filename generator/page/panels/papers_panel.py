"""The papers of a piece: plan, assembly sheet and drawing; and its models."""

from __future__ import annotations

from functools import partial

from nicegui import ui

from ringwright.base import defaults
from ringwright.base.paper import PAPERS
from ringwright.page.files.command_lines import TOPICS, command_for
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import Run
from ringwright.page.panels.plan_fields import plan_fields
from ringwright.page.session import Session
from ringwright.page.state.file_settings import BACKGROUNDS, SCALES
from ringwright.page.widgets.elements import Choice, Field, heading, words
from ringwright.page.widgets.make_files_row import MakeFilesRow

_ABOUT = {
    "plan": "Rings, coils, wire, hours and money, with the steps at the bench and the cautions "
    "for each. Springback and kerf are taken into account.",
    "steps": "How it is put together, a picture for every step. The rings are worked out anew "
    "for each step, so this takes half a minute to a few minutes.",
    "drawing": "Front, side and end view with dimensions, and the single ring. At full size a "
    "woven strip can be laid on the print.",
    "pictures": "The whole piece and a close-up in polished metal, for a shop page or a handout, "
    "with their description inside.",
    "model": "The whole piece as solids, triangles and a picture, every pair of rings measured "
    "again.",
}

# The endings of the files of each that are pictures to look at at once.
_LOOKED_AT = {
    "steps": (".png",),
    "drawing": (".svg",),
    "pictures": ("-small.png",),
    "model": (".png",),
}


def build(session: Session) -> None:
    """The options, and a row for each paper."""
    heading("Papers, pictures and models")
    words("Everything is made of the weave, ring and length chosen above.").classes("hint")
    with ui.element("div").classes("options"):
        settings_fields(session)
    with ui.element("details").classes("form"):
        words("More for the plan: ends, annealing, metals", "summary")
        plan_fields(session)
    for topic, about in _ABOUT.items():
        title = TOPICS[topic]
        MakeFilesRow(
            *(session, topic, title, about, "Make it"),
            partial(_command, session, topic),
            partial(_look, topic),
        )


def _command(session: Session, topic: str) -> Command:
    return command_for(topic, session.chosen())


def _look(topic: str, run: Run) -> None:
    """What can be looked at of what was made."""
    endings = _LOOKED_AT.get(topic, ())
    files = [file for file in run.files if endings and file.name.endswith(endings)]
    if not files:
        return
    with ui.element("div").classes("pictures"):
        for place, file in enumerate(files, start=1):
            picture = ui.element("img").props("loading=lazy")
            picture.props["src"] = file.address
            picture.props["alt"] = f"{TOPICS[topic]}, {place} of {len(files)}"


def settings_fields(session: Session) -> None:
    """Length, paper, scale and what else the papers ask."""

    def put(name: str, text: str) -> None:
        session.set(session.settings.with_text(name, text.strip()))

    length = Field(
        "Length of the piece",
        session.wanted.length,
        lambda text: session.change(length=text.strip()),
        complete=session.length_typed,
        hint="e.g. 180mm or 7in; at least this long",
        autocomplete="off",
    )
    now = session.settings
    kept: dict[str, Choice | Field] = {}
    kept["paper"] = Choice(
        "Paper", {name: name for name in PAPERS}, now.paper, partial(put, "paper")
    )
    kept["scale"] = Choice(
        "Scale of the drawing",
        {one: "largest that fits" if one == "fit" else one for one in SCALES},
        now.scale,
        partial(put, "scale"),
    )
    kept["teaching"] = Choice(
        "Colours of steps",
        {"": "by step: the new one stands out", "yes": "by role, for lessons"},
        now.teaching,
        partial(put, "teaching"),
    )
    kept["background"] = Choice(
        "Background of pictures",
        {one: one for one in BACKGROUNDS},
        now.background,
        partial(put, "background"),
    )
    kept["clasp"] = Field(
        *("Clasp", now.clasp, partial(put, "clasp")),
        hint="what it adds to the length, e.g. 12mm",
        complete=session.length_typed,
    )
    kept["spares"] = Field(
        "Spare rings",
        now.spares,
        partial(put, "spares"),
        hint=f"of each size; {defaults.SPARES_PERCENT:g}% if left empty",
    )
    width = Field(
        "Width of a sheet",
        session.wanted.width,
        lambda text: session.change(width=text.strip()),
        complete=session.length_typed,
        hint=f"at least this wide, across the rows; {defaults.WIDTH_MM:g} mm if empty",
    )

    def refresh() -> None:
        length.put(session.wanted.length)
        width.put(session.wanted.width)

    def put_settings() -> None:
        for name, field in kept.items():
            field.put(getattr(session.settings, name))

    session.on_wanted.listen(refresh)
    session.on_settings.listen(put_settings)
