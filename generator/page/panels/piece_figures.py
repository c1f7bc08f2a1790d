"""The piece in figures: rings, wire and mass."""

from __future__ import annotations

import contextlib

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.units import Units
from ringwright.page.widgets.elements import table, words
from ringwright.page.worked_out.counted_piece import Counting, counting, counts


def build(session: Session) -> None:
    """A table of the piece of the wanted length, once the size is checked."""
    holder = ui.element("div").classes("piece-figures")
    counted: tuple[object, Counting, Units] | None = None

    def clear() -> None:
        if session.answer is None:
            holder.clear()
            forget()

    def forget() -> None:
        nonlocal counted
        counted = None
        if session.counted is not None:
            session.counts(None)

    def ask() -> None:
        nonlocal counted
        found = session.answer
        if found is None or not found.report.can_be_woven:
            forget()
            holder.clear()
            return
        try:
            what = counting(session.wanted, session.shop)
        except BadInput as trouble:
            forget()
            _say(str(trouble))
            return
        if (found, what, session.wanted.units) != counted:
            counted = found, what, session.wanted.units
            session.begin(told(what))

    async def told(what: Counting) -> None:
        found = session.answer
        if found is None:
            return
        with contextlib.suppress(Superseded):
            try:
                figures = await session.desk.quick.ask(
                    session.client, "counts", counts, found.report, what
                )
            except BadInput as trouble:
                forget()
                _say(str(trouble))
                return
            # Another length may be counted by now.
            if counted is not None and counted[:2] == (found, what):
                holder.clear()
                with holder:
                    table(caption(figures), (), rows(figures, session.wanted.units))
                session.counts(figures)

    def _say(trouble: str) -> None:
        holder.clear()
        with holder:
            words(trouble).classes("hint wrong")

    session.on_wanted.listen(clear)
    session.on_answer.listen(ask)
    session.on_shop.listen(ask)


def caption(figures: PlanFigures) -> str:
    """Which piece was counted."""
    if figures.repeats is None:
        return "The finished piece"
    repeats = figures.repeats
    return f"The piece, of {repeats} whole repeat{'' if repeats == 1 else 's'}"


def rows(figures: PlanFigures, units: Units) -> list[tuple[str, str]]:
    """The figures of a piece, in words."""
    made_of = ", ".join(filter(None, (figures.metal, figures.temper)))
    told = [
        ("Length", units.exact(figures.flat_mm, 1)),
        ("Rings to open", str(figures.rings_open)),
        ("Rings to close first", str(figures.rings_closed)),
        ("Rings in all", str(figures.rings_in_piece)),
    ]
    if figures.piece_g is not None:
        told.append((f"Mass in {made_of}", f"{figures.piece_g:.2f} g"))
    told.append((f"Rings with {figures.spares_percent:g} % to spare", str(figures.rings_to_make)))
    if figures.wire_m is not None:
        told.append(("Wire to cut for them", units.wire_long(1000.0 * figures.wire_m)))
    if figures.wire_g is not None:
        told.append(("Mass of that wire", f"{figures.wire_g:.2f} g"))
    cost = figures.cost
    if cost.material is not None:
        told.append(("Price of that wire", f"{cost.material:.2f} {cost.currency}"))
    return told
