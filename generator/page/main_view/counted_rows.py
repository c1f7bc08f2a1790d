"""The piece in figures, from the plan's records: rings, wire, mass and price."""

from __future__ import annotations

import contextlib
from functools import partial
from typing import Any

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.base.figures import METRES, MONEY, RINGS, WORDS, Unit, cells, heads, sums
from ringwright.base.wording import counted
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.plan.report_plan import size_names
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
                    names, rings = ring_table(figures, session.wanted.units)
                    table(_rings_caption(figures), names, rings)
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
    return f"The piece, of {counted(figures.repeats, 'whole repeat')}"


def _rings_caption(figures: PlanFigures) -> str:
    return f"Its rings, with {figures.spares_percent:g} % to spare"


def rows(figures: PlanFigures, units: Units) -> list[tuple[str, str]]:
    """The figures of the whole piece that have a head, less those that are not known."""
    said = partial(_said, units=units, currency=figures.cost.currency)
    return [
        (_named(head), cell)
        for record in (figures, figures.cost)
        for head, cell in zip(heads(type(record)), cells(record, said), strict=True)
        if cell
    ]


def ring_table(figures: PlanFigures, units: Units) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The plan's table of rings, set upright: heads, and a row for each of its columns."""
    said = partial(_said, units=units, currency=figures.cost.currency)
    batches = figures.rings
    columns = [cells(batch, said) for batch in batches]
    if len(batches) > 1:
        columns.append(sums(batches, said))
    names = () if len(batches) == 1 else ("Size", *size_names(figures), "all")
    table_rows = zip(map(_named, heads(type(batches[0]))), *columns, strict=True)
    return names, list(table_rows)


def _named(head: str) -> str:
    return f"{head[:1].upper()}{head[1:]}"


def _said(value: Any, unit: Unit, units: Units, currency: str) -> str:
    """A figure with its unit; nothing where it is not known."""
    if value is None:
        return ""
    if unit.name == "mm":
        return units.exact(value, unit.places or 0)
    if unit is METRES:
        return units.wire_long(1000.0 * value)
    if unit is MONEY:
        return f"{value:.2f} {currency}"
    return unit.text(value) if unit in (RINGS, WORDS) else f"{unit.text(value)} {unit.name}".strip()
