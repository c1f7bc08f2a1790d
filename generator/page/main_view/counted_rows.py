"""The piece in figures, from the plan's records: rings, wire, mass and price."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from functools import partial

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.base.wording import counted
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.plan.report_plan import Table, coil_table, ring_table
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.units import Units, as_label
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
            what = counting(session.wanted, session.shop, found.report.rule, session.settings)
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
                    for one in tables(figures, session.wanted.units):
                        table(one.title, one.heads, one.rows)
                session.counts(figures)

    def _say(trouble: str) -> None:
        holder.clear()
        with holder:
            words(trouble).classes("hint wrong")

    session.on_wanted.listen(clear)
    session.on_answer.listen(ask)
    session.on_shop.listen(ask)
    session.on_settings.listen(ask)


def caption(figures: PlanFigures) -> str:
    """Which piece was counted."""
    if figures.repeats is None:
        return "The finished piece"
    return f"The piece, of {counted(figures.repeats, 'whole repeat')}"


def _rings_caption(figures: PlanFigures) -> str:
    return f"Its rings, with {figures.spares_percent:g} % to spare"


def rows(figures: PlanFigures, units: Units) -> list[tuple[str, str]]:
    """The figures of the whole piece that have a head, less those that are not known."""
    return [*units.rows(figures), *units.rows(figures.cost, figures.cost.currency)]


def tables(figures: PlanFigures, units: Units) -> list[Table]:
    """The plan's tables of rings and coils as the page shows them: upright, with units.

    What stands in one column needs no name.
    """
    said = partial(units.said, currency=figures.cost.currency)
    found = [replace(ring_table(figures, said), title=_rings_caption(figures))]
    found += [coil_table(figures, said)] if figures.cut else []
    return [_upright(one) for one in found]


def _upright(one: Table) -> Table:
    names, *lines = zip(map(as_label, one.heads), *one.rows, strict=True)
    return replace(one, heads=names if len(one.rows) > 1 else (), rows=tuple(lines))
