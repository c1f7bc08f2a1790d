"""In which units the page speaks."""

from __future__ import annotations

from nicegui import ui

from ringwright.page.session import Session
from ringwright.page.state.units import LENGTH_UNITS, WIRE_UNITS
from ringwright.page.widgets.elements import Choice, heading


def build(session: Session) -> None:
    """Two lists: for wires and for lengths."""
    heading("Units")
    with ui.element("div").classes("pair"):
        wires = Choice(
            "Wires in",
            WIRE_UNITS,
            session.wanted.wires,
            lambda name: session.change(wires=name),
        )
        lengths = Choice(
            "Lengths in",
            LENGTH_UNITS,
            session.wanted.lengths,
            lambda name: session.change(lengths=name),
        )

    def refresh() -> None:
        wires.put(session.wanted.wires)
        lengths.put(session.wanted.lengths)

    session.on_wanted.listen(refresh)
