"""The model, turnable: some repeats while sizes are dragged, or the whole piece."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, replace
from functools import partial

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.page.choosing import view_choice
from ringwright.page.main_view import answer_view
from ringwright.page.main_view.by_hand import ByHand, Pulled
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.chosen import WHOLE, Wanted
from ringwright.page.widgets.elements import button
from ringwright.page.widgets.ring_view import Mark, RingView, Side
from ringwright.page.worked_out.colours import coloured
from ringwright.page.worked_out.solve import Shown
from ringwright.page.worked_out.whole_piece import Whole, whole_piece
from ringwright.piece.piece import Piece
from ringwright.solver.climb import Unit

_SIDES: dict[str, Side] = {"From the side": "front", "From above": "top", "From the end": "end"}


def build(session: Session) -> None:
    """The view, buttons for where it is looked at from, and what is looked at in which colours."""
    with ui.element("div").classes("stage"):
        answer_view.build_short(session)
        model = _Model(session)
        view = model.view
        with ui.element("div").classes("row"):
            button("See all", lambda: view.look_from("start"))
            model.hand.build_switch(view)
            for text, side in _SIDES.items():
                button(text, partial(view.look_from, side), kind="quiet")
    model.hand.build_more()
    model.begin(view_choice.build(session))


@dataclass(frozen=True)
class _Laid:
    """A whole piece, and all that it was asked for by."""

    wanted: Wanted
    shown: Shown
    whole: Whole


class _Model:
    """What stands in the view."""

    def __init__(self, session: Session) -> None:
        """The view, empty yet."""
        self._session = session
        self.hand = ByHand(session, self._at_rest)
        self.view = RingView("The weave is being worked out.", on_pull=self.hand.pulled)
        self.view.classes("big")
        self._laid: _Laid | None = None
        self._fallen: tuple[Shown, Whole | None, Piece] | None = None
        self._drawn: tuple[Shown, Whole | None, Piece | None, str] | None = None

    def begin(self, told: view_choice.Told) -> None:
        """Follow what is wanted, and what the solver says."""
        session, self._told = self._session, told
        session.on_shown.listen(self._show)
        session.on_wanted.listen(self._show)
        session.on_answer.listen(self._lay_out)

    def _lay_out(self) -> None:
        """Ask for the whole piece, where it is wanted and not there."""
        session = self._session
        answer = session.answer
        if session.wanted.view != WHOLE or answer is None or self._whole() is not None:
            return
        if answer.shown.unit is None:
            self._told.piece("")
            return
        session.begin(self._laid_out(session.wanted, answer.shown, answer.shown.unit))

    async def _laid_out(self, wanted: Wanted, shown: Shown, unit: Unit) -> None:
        session = self._session
        with contextlib.suppress(Superseded):
            try:
                rule, least_mm = session.rule, (wanted.length_mm(), wanted.width_mm())
                whole = await session.desk.quick.ask(
                    session.client, "whole piece", whole_piece, rule, shown.size, unit, least_mm
                )
            except BadInput as trouble:
                self._told.piece(str(trouble), is_trouble=True)
                return
            self._laid = _Laid(wanted, shown, whole)
            self._show()

    def _whole(self) -> Whole | None:
        """The whole piece, if it is wanted, and there for just what is wanted."""
        wanted, laid = self._session.wanted, self._laid
        if wanted.view != WHOLE or laid is None or laid.shown is not self._session.shown:
            return None
        same = (laid.wanted.length, laid.wanted.width) == (wanted.length, wanted.width)
        return laid.whole if same else None

    def _at_rest(self, pulled: Pulled, lying: Piece) -> None:
        """A piece has come to rest on the table."""
        shown = self._session.shown
        if shown is not None and pulled.unit is shown.unit:
            self._fallen = shown, self._whole(), lying
            self._show()

    def _lying(self) -> Piece | None:
        """What is shown as it came to rest on the table, if it did."""
        if self._fallen is None:
            return None
        shown, whole, lying = self._fallen
        is_same = shown is self._session.shown and whole is self._whole()
        return lying if is_same else None

    def _show(self) -> None:
        session, shown, whole = self._session, self._session.shown, self._whole()
        lying = self._lying()
        if shown is None or (shown, whole, lying, session.wanted.paint) == self._drawn:
            return
        straight = whole.piece if whole else shown.piece
        try:
            piece = coloured(straight, session.rule, session.wanted.paint)
        except BadInput as trouble:
            self._drawn = shown, whole, lying, session.wanted.paint
            self._told.colours(str(trouble))
            return
        glide = self._drawn is not None and self._drawn[:2] == (shown, whole)
        self._drawn = shown, whole, lying, session.wanted.paint
        self._told.colours("")
        self._told.piece(_told(session, whole) if whole else "")
        session.shows(piece)
        if lying is not None:
            piece = replace(piece, centres_mm=lying.centres_mm, axes=lying.axes)
        self.view.show(
            piece,
            _said(session, shown, piece, whole, is_lying=lying is not None),
            marks=() if whole else _marks(shown),
            what=f"{session.wanted.weave} {whole.repeats}" if whole else session.wanted.weave,
            glide=glide,
        )
        unit = shown.unit
        pulled = None if unit is None else Pulled(session.rule, unit, straight, piece)
        self.hand.offer(pulled, len(piece))


def _marks(shown: Shown) -> list[Mark]:
    """A cross at every overlap, and in words how deep the deepest is."""
    return [
        Mark(one.at_mm, "\u2715", "cross")
        if place
        else Mark(one.at_mm, f"overlap {one.depth_mm:.2f} mm", "overlap")
        for place, one in enumerate(shown.overlaps)
    ]


def _told(session: Session, whole: Whole) -> str:
    length = session.wanted.units.length(whole.length_mm)
    repeats = f"{whole.repeats} repeats" if whole.repeats > 1 else "one repeat"
    return (
        f"{len(whole.piece)} rings, {repeats}, {length} with the end rings. Every pair was "
        f"measured: none overlap, {whole.links} are linked."
    )


def _said(
    session: Session, shown: Shown, piece: Piece, whole: Whole | None, *, is_lying: bool
) -> str:
    units = session.wanted.units
    wire, inner = units.wire(shown.size.wire_mm), units.length(shown.size.inner_mm)
    lie = f"{len(piece)} rings of {session.wanted.weave}, wire {wire}, inner diameter {inner}"
    if shown.overlaps:
        deepest = shown.overlaps[0].depth_mm
        return f"{lie}: they overlap, by up to {units.length(deepest)}."
    part = f"the whole piece of {whole.repeats} repeats" if whole else "some repeats"
    how = session.rule.family.lies.said if is_lying else "pulled straight"
    return f"{lie}, {part} at rest and {how}. Arrow keys turn the model."
