"""The model, turnable: some repeats while sizes are dragged, or the whole piece."""

from __future__ import annotations

import contextlib
from collections.abc import Awaitable
from dataclasses import dataclass, replace
from functools import partial

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.page.choosing import view_choice
from ringwright.page.main_view import answer_view, scale
from ringwright.page.main_view.by_hand import ByHand
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.chosen import LYING, PULLED, WHOLE, Wanted
from ringwright.page.widgets.elements import button
from ringwright.page.widgets.ring_view import Mark, RingView, Side
from ringwright.page.worked_out.by_hand import Lies, Pulled, settled_in, state_of
from ringwright.page.worked_out.colours import coloured
from ringwright.page.worked_out.solve import Shown
from ringwright.page.worked_out.whole_piece import Whole, whole_piece
from ringwright.piece.piece import Piece
from ringwright.rest.laid import MOST_AS_USUAL
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import PULLED as PULLED_STATE
from ringwright.weaves.rule import WeaveRule

_TOPIC = "how it lies"
_SIDES: dict[str, Side] = {"Side": "front", "Above": "top", "End": "end"}


class Stage:
    """The view, the verdict on it, and the scale and buttons below it."""

    def __init__(self, session: Session) -> None:
        """Put it on the page; :meth:`dress` brings it to life."""
        with ui.element("div").classes("stage"):
            with ui.element("div").classes("stage-view") as place:
                self._model = model = _Model(session)
            view = model.view
            sizes = scale.Scale(session)
            with place:
                answer_view.build_short(session, sizes.verdict)
            with ui.element("div").classes("row"):
                button("See all", lambda: view.look_from("start"))
                model.hand.build_switch(view)
                for text, side in _SIDES.items():
                    one = button(text, partial(view.look_from, side), kind="quiet")
                    one.props["title"] = _FROM[text]
                sizes.build_free()
            model.hand.build_more()
        self._session = session

    def dress(self) -> None:
        """What is looked at, and in which colours."""
        self._model.begin(view_choice.build(self._session))


_FROM = {"Side": "From the side", "Above": "From above", "End": "From the end"}
# Rings that are shown, the whole piece if it is that, and how it is to be laid.
_Asked = tuple[Shown, Whole | None, str]


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
        self._fallen: tuple[Shown, Whole | None, str, Lies | None] | None = None
        self._drawn: tuple[Shown, Whole | None, Lies | None, str] | None = None

    def begin(self, told: view_choice.Told) -> None:
        """Follow what is wanted, and what the solver says."""
        session, self._told = self._session, told
        session.on_shown.listen(self._show)
        session.on_wanted.listen(self._show)
        session.on_wanted.listen(self._give_up)
        session.on_answer.listen(self._lay_out)
        session.on_answer.listen(self._let_fall)

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
            self._let_fall()

    def _whole(self) -> Whole | None:
        """The whole piece, if it is wanted, and there for just what is wanted."""
        wanted, laid = self._session.wanted, self._laid
        if wanted.view != WHOLE or laid is None or laid.shown is not self._session.shown:
            return None
        same = (laid.wanted.length, laid.wanted.width) == (wanted.length, wanted.width)
        return laid.whole if same else None

    def _let_fall(self) -> None:
        """Ask how what is shown comes to rest, where that is wanted and not known."""
        session, shown, rests = self._session, self._session.shown, self._rests()
        whole, laid_as = self._whole(), session.wanted.laid
        if laid_as == PULLED or rests is None or shown is None:
            return
        if session.wanted.view == WHOLE and whole is None:
            return
        if self._fallen is None or self._fallen[:3] != (shown, whole, laid_as):
            session.begin(self._falls((shown, whole, laid_as), *rests))

    async def _falls(self, what: _Asked, rule: WeaveRule, unit: Unit) -> None:
        session, (shown, whole, laid_as) = self._session, what
        straight = (whole or shown).piece
        repeats = f"{whole.repeats} of {len(straight)}" if whole else ""

        def work() -> Awaitable[Lies | None]:
            return session.desk.slow.ask(
                # Holds up nothing that is asked for meanwhile.
                session.beside,
                _TOPIC,
                lambda *_: None,
                settled_in,
                *(laid_as, rule, unit, straight),
            )

        with contextlib.suppress(Superseded):
            found = await session.desk.worked.ask(
                (f"{_TOPIC} {laid_as} {repeats}", rule, shown.size), work
            )
            if what == (session.shown, self._whole(), session.wanted.laid):
                self._fallen = *what, found
                if not self.hand.is_moving:
                    self._show()
                elif found is not None and found.on_table:
                    self.hand.know(found)

    def _give_up(self) -> None:
        """Another size is looked at."""
        if self._session.answer is None:
            self._session.desk.slow.give_up(self._session.beside, _TOPIC)

    def _rests(self) -> tuple[WeaveRule, Unit] | None:
        """The weave, and its unit at rest, in the shape in which it is shown, if it rests."""
        session, shown, answer = self._session, self._session.shown, self._session.answer
        if answer is not None and answer.shown is shown and answer.report.can_be_woven:
            return answer.report.rule, answer.report.unit
        if shown is None or shown.unit is None:
            return None
        return session.rule, shown.unit

    def _at_rest(self, pulled: Pulled, lies: Lies | None) -> None:
        """A piece that was pulled has come to rest on the table."""
        shown, whole = self._session.shown, self._whole()
        if shown is None or pulled.straight is not (whole or shown).piece:
            return
        if lies is None:
            self._drawn = None
        else:
            self._fallen = shown, whole, LYING, lies
            if self._session.wanted.laid != LYING:
                self._session.change(laid=LYING)
        self._show(afresh=True)

    def _at_rest_as_asked(self) -> tuple[bool, Lies | None]:
        """Whether it is known how what is shown comes to rest as it is wanted, and how it does."""
        if self._fallen is None:
            return False, None
        *what, lies = self._fallen
        is_known = what == [self._session.shown, self._whole(), self._session.wanted.laid]
        return is_known, lies if is_known else None

    def _show(self, *, afresh: bool = False) -> None:
        """Show what is wanted, if it is not shown already; ``afresh`` where rings were moved."""
        session, shown, whole = self._session, self._session.shown, self._whole()
        if shown is None:
            return
        is_known, lies = self._at_rest_as_asked()
        drawn = shown, whole, lies, session.wanted.paint
        if drawn == self._drawn and not afresh:
            return
        # The same rings go from where they are to where they lie, or back.
        glide = self._drawn is not None and self._drawn[:2] == (shown, whole)
        self._drawn = drawn
        straight = whole.piece if whole else shown.piece
        try:
            piece = coloured(straight, session.rule, session.wanted.paint)
        except BadInput as trouble:
            self._told.colours(str(trouble))
            return
        self._told.colours("")
        self._told.piece(_told(session, whole, straight, not_laid=is_known and lies is None))
        session.shows(piece)
        if lies is not None:
            piece = replace(piece, centres_mm=lies.piece.centres_mm, axes=lies.piece.axes)
        self.view.show(
            piece,
            _said(session, shown, piece, whole, PULLED_STATE.said if lies is None else lies.said),
            marks=() if whole else _marks(shown),
            what=" ".join(
                (
                    session.wanted.weave,
                    str(whole.repeats) if whole else "",
                    "" if lies is None or lies.on_table else lies.said,
                )
            ),
            glide=glide,
            on_table=lies is not None and lies.on_table,
        )
        rests, known = self._rests(), lies if lies is not None and lies.on_table else None
        pulled = None if rests is None else Pulled(*rests, straight, known, piece)
        self.hand.offer(pulled, len(piece))


def _marks(shown: Shown) -> list[Mark]:
    """A cross at every overlap, and in words how deep the deepest is."""
    return [
        Mark(one.at_mm, "\u2715", "cross")
        if place
        else Mark(one.at_mm, f"overlap {one.depth_mm:.2f} mm", "overlap")
        for place, one in enumerate(shown.overlaps)
    ]


def _told(session: Session, whole: Whole | None, straight: Piece, *, not_laid: bool) -> str:
    said = ""
    if whole is not None:
        length = session.wanted.units.length(whole.length_mm)
        repeats = f"{whole.repeats} repeats" if whole.repeats > 1 else "one repeat"
        said = (
            f"{len(whole.piece)} rings, {repeats}, {length} with the end rings. Every pair was "
            f"measured: none overlap, {whole.links} are linked."
        )
    if not not_laid:
        return said
    if len(straight) > MOST_AS_USUAL:
        why = f"More than {MOST_AS_USUAL} rings would take too long to fall into place"
    else:
        why = f"It did not come to rest {state_of(session.rule, session.wanted.laid).said}"
    return f"{said} {why}, so it is shown pulled straight.".strip()


def _said(session: Session, shown: Shown, piece: Piece, whole: Whole | None, how: str) -> str:
    units = session.wanted.units
    wire, inner = units.wire(shown.size.wire_mm), units.length(shown.size.inner_mm)
    lie = f"{len(piece)} rings of {session.wanted.weave}, wire {wire}, inner diameter {inner}"
    if shown.overlaps:
        deepest = shown.overlaps[0].depth_mm
        return f"{lie}: they overlap, by up to {units.length(deepest)}."
    part = f"the whole piece of {whole.repeats} repeats" if whole else "some repeats"
    return f"{lie}, {part} at rest and {how}. Arrow keys turn the model."
