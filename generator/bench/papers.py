"""The papers of a piece: plan, assembly sheet and drawing; and its models."""

from __future__ import annotations

from functools import partial

from nicegui import ui

from generator.bench.command_lines import TOPICS, command_for
from generator.bench.elements import Choice, Field, heading, words
from generator.bench.errand import Command
from generator.bench.session import Session
from generator.bench.settings import PAPERS, SCALES
from generator.bench.task import Task

_ABOUT = {
    "plan": "Rings, coils, wire, hours and money, with the steps at the bench and what to mind "
    "at each. Springback and kerf are taken into account.",
    "steps": "How it is put together, a picture for every step. Every half-made state is settled "
    "anew, so this takes from half a minute to some minutes.",
    "drawing": "Front, side and end view with dimensions, and the single ring. At full size a "
    "woven strip can be laid on the print.",
    "model": "The whole piece as solids, triangles and picture, every pair of rings checked again.",
}


def build(session: Session) -> None:
    """The options, and a row for each paper."""
    heading("Papers and models")
    words("Everything is made of the weave, ring and length chosen above.").classes("hint")
    with ui.element("div").classes("options"):
        settings_fields(session)
    for topic, about in _ABOUT.items():
        title = TOPICS[topic]
        Task(session, topic, title, about, "Make it", partial(_command, session, topic))


def _command(session: Session, topic: str) -> Command:
    return command_for(topic, session.chosen())


def settings_fields(session: Session) -> None:
    """Length, paper, scale and what else the papers ask."""

    def put(name: str, text: str) -> None:
        session.set(session.settings.with_text(name, text.strip()))

    length = Field(
        "Length of the piece",
        session.wanted.length,
        lambda text: session.change(length=text.strip()),
        hint="as 180mm or 7in, at least so long",
        autocomplete="off",
    )
    now = session.settings
    Choice("Paper", {name: name for name in PAPERS}, now.paper, partial(put, "paper"))
    Choice(
        "Scale of the drawing",
        {one: "largest that fits" if one == "fit" else one for one in SCALES},
        now.scale,
        partial(put, "scale"),
    )
    Field("Clasp", now.clasp, partial(put, "clasp"), hint="what it adds to the length, as 12mm")
    Field("Spare rings", now.spares, partial(put, "spares"), hint="of each size; 5% if left empty")
    width = Field(
        "Width of a sheet",
        session.wanted.width,
        lambda text: session.change(width=text.strip()),
        hint="at least; one row if empty",
    )

    def refresh() -> None:
        length.put(session.wanted.length)
        width.put(session.wanted.width)

    session.on_wanted.append(refresh)
