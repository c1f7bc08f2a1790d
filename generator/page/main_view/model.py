"""The model, turnable: some repeats while sizes are dragged, or the whole piece."""

from __future__ import annotations

import contextlib
from collections.abc import Awaitable
from dataclasses import dataclass, replace
from functools import partial

from nicegui import ui

from ringwright.base.errors import BadInput, NoRest
from ringwright.page.choosing import laying, view_choice
from ringwright.page.main_view import answer_view, overlap_list, scale
from ringwright.page.main_view.by_hand import ByHand
from ringwright.page.main_view.first_visit import FirstVisit
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.chosen import LYING, WHOLE, Wanted
from ringwright.page.widgets.elements import button
from ringwright.page.widgets.ring_view import Mark, RingView, Side
from ringwright.page.worked_out.at_rest import Lies, settled_in, worn_on_somebody
from ringwright.page.worked_out.by_hand import Pulled
from ringwright.page.worked_out.colours import coloured
from ringwright.page.worked_out.solve import Overlap, Shown
from ringwright.page.worked_out.whole_piece import Whole, whole_piece
from ringwright.piece.piece import Piece
from ringwright.rest.fit import Fit
from ringwright.rest.form import Cone
from ringwright.rest.laid import MOST_AS_USUAL
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import PULLED, RestState
from ringwright.weaves.rule import WeaveRule

_TOPIC = "how it lies"
# More marks than this on one model are not read any more.
_MOST_MARKS = 40
# Rings go to where they rest in sight if they have no farther to go, in radii: after the hand, when
# they have been shown all the way, and as they fall into place.
_HOME, _INTO_PLACE = 0.3, 1.5
_LENT = "What is shown now cannot be pulled; have the piece shown again first."
_WORN = "What is worn cannot be pulled; drop it on the table first."
_SIDES: dict[str, Side] = {"Side": "front", "Above": "top", "End": "end"}


class Stage:
    """The view, the verdict on it, and the scale and buttons below it."""

    def __init__(self, session: Session) -> None:
        """Put it on the page; :meth:`dress` brings it to life."""
        with ui.element("div").classes("stage") as stage:
            with ui.element("div").classes("stage-view") as place:
                self._model = model = _Model(session)
            view = model.view
            sizes = scale.Scale(session)
            with place:
                answer_view.build_short(session, sizes.verdict)
                self.first_visit = FirstVisit(session)
            with ui.element("div").classes("row"):
                button("See all", lambda: view.look_from("start"))
                model.laying.build_choice()
                model.hand.build_switch(view)
                for text, side in _SIDES.items():
                    one = button(text, partial(view.look_from, side), kind="quiet")
                    one.props["title"] = _FROM[text]
                sizes.build_free()
            model.laying.build_more()
            model.hand.build_more()
        self._session = session

        def make_room() -> None:
            lent = session.guest is not None
            stage.classes(add="lent" if lent else "", remove="" if lent else "lent")

        session.on_guest.listen(make_room)

    def dress(self) -> None:
        """What is looked at, and in which colours."""
        self._model.begin(view_choice.build(self._session))


_FROM = {"Side": "From the side", "Above": "From above", "End": "From the end"}
# Rings that are shown, the whole piece if it is that, and the state that they are to be in.
_Asked = tuple[Shown, Whole | None, RestState | None]


@dataclass(frozen=True)
class _Laid:
    """A whole piece, and all that it was asked for by."""

    wanted: Wanted
    shown: Shown
    whole: Whole


@dataclass(frozen=True)
class _Fallen:
    """How rings are in the state that was asked for; or None, and why that is not known."""

    asked: _Asked
    lies: Lies | None
    why: str = ""


class _Model:
    """What stands in the view."""

    def __init__(self, session: Session) -> None:
        """The view, empty yet."""
        self._session = session
        self.laying = laying.Laying(session)
        self.hand = ByHand(session, self._at_rest)
        self.view = RingView(
            "The weave is being worked out.", self._picked, on_pull=self.hand.pulled
        )
        self.view.classes("big")
        session.stage = self.view
        self._laid: _Laid | None = None
        self._fallen: _Fallen | None = None
        self._drawn: tuple[Shown, Whole | None, Lies | None, str, str] | None = None

    def begin(self, told: view_choice.Told) -> None:
        """Follow what is wanted, and what the solver says."""
        session, self._told = self._session, told
        session.on_shown.listen(self._show)
        session.on_wanted.listen(self._show)
        session.on_wanted.listen(self._give_up)
        session.on_answer.listen(self._lay_out)
        session.on_answer.listen(self._let_fall)
        session.on_pointed.listen(self._point_out)
        session.on_picture.listen(self.view.save_picture)
        session.on_guest.listen(self._seat)

    def _picked(self, ring: int) -> None:
        if self._session.guest is None:
            self._session.on_picked.tell(ring)

    def _seat(self) -> None:
        """Show what has the view in place of the piece, or the piece again."""
        guest = self._session.guest
        if guest is None:
            self._drawn = None
            self._show()
        else:
            self.hand.refuse(_LENT)
            guest.show(self.view)

    def _point_out(self, one: Overlap) -> None:
        """Show two rings that overlap, if they are those that are shown."""
        shown = self._session.shown
        if shown is not None and one in shown.overlaps and self._whole() is None:
            overlap_list.point_out(self.view, shown, one)

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

    def _asked(self) -> tuple[_Asked | None, str]:
        """What is to be at rest, and how; None where there is nothing, or the wish makes no sense.

        Why it makes none is said with it.
        """
        session, shown, whole = self._session, self._session.shown, self._whole()
        if shown is None or (session.wanted.view == WHOLE and whole is None):
            return None, ""
        try:
            return (shown, whole, session.wanted.state(session.rule)), ""
        except BadInput as trouble:
            return None, str(trouble)

    def _let_fall(self) -> None:
        """Ask how what is shown comes to rest, where that is wanted and not known."""
        rests, (asked, why) = self._rests(), self._asked()
        if why:
            self._show()
        if asked is None or asked[-1] == PULLED or rests is None:
            return
        if self._fallen is None or self._fallen.asked != asked:
            self._session.begin(self._falls(asked, *rests))

    async def _falls(self, what: _Asked, rule: WeaveRule, unit: Unit) -> None:
        session, (shown, whole, state) = self._session, what
        why, found = "", None
        of = f"{whole.repeats} of {len(whole.piece)}" if whole else session.wanted.width

        def work() -> Awaitable[Lies | None]:
            straight = (whole or shown).piece
            # Holds up nothing that is asked for meanwhile.
            ask = partial(session.desk.slow.ask, session.beside, _TOPIC)
            if state is None or state.body is None:
                return ask(lambda *_: None, settled_in, state, rule, unit, straight)
            self.laying.say(f"Working out how it is {state.said} ...")
            piece, width_mm = whole and straight, session.wanted.width_mm()
            asked = state, rule, unit, shown.size, piece, width_mm
            return ask(partial(self._say_round, state), worn_on_somebody, *asked)

        with contextlib.suppress(Superseded):
            try:
                found = await session.desk.worked.ask(
                    (f"{_TOPIC} {state} {of}", rule, shown.size), work
                )
            except (BadInput, NoRest) as trouble:
                why = str(trouble)
            if what == self._asked()[0]:
                self._fallen = _Fallen(what, found, why)
                if not self.hand.is_moving:
                    self._show()
                elif found is not None and found.on_table:
                    self.hand.know(found)

    def _say_round(self, state: RestState, what: str, done: int, of: int) -> None:
        self.laying.say(f"Working out how it is {state.said}: round {done} ...")

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
            self._fallen = _Fallen((shown, whole, None), lies)
            if self._session.wanted.laid != LYING:
                self._session.change(laid=LYING)
        self._show(afresh=True)

    def _show(self, *, afresh: bool = False) -> None:
        """Show what is wanted, if it is not shown already; ``afresh`` where rings were moved."""
        session, shown, whole = self._session, self._session.shown, self._whole()
        if shown is None or self._is_lent():
            return
        asked, why = self._asked()
        lies = None
        if self._fallen is not None and self._fallen.asked == asked:
            lies = self._fallen.lies
            if lies is None:
                why = self._fallen.why or _why_not(session, (whole or shown).piece)
        drawn = shown, whole, lies, session.wanted.paint, why
        if drawn == self._drawn and not afresh:
            return
        # The same rings go from where they are to where they lie, or back.
        same = self._drawn is not None and self._drawn[:2] == (shown, whole)
        self._drawn = drawn
        straight = (whole or shown).piece
        if lies is not None and lies.straight is not None:
            straight = lies.straight
        try:
            piece = coloured(straight, session.rule, session.wanted.paint)
        except BadInput as trouble:
            self._told.colours(str(trouble))
            return
        self._told.colours("")
        self._told.piece(_told(session, whole, why), is_trouble=bool(why))
        self.laying.say(why if lies is None or lies.fit is None else _worn(session, lies, lies.fit))
        if lies is not None:
            piece = replace(piece, centres_mm=lies.piece.centres_mm, axes=lies.piece.axes)
        session.drawn = piece
        self.view.show(
            piece,
            _said(session, shown, piece, whole, PULLED.said if lies is None else lies.said),
            marks=() if whole else _marks(shown),
            what=" ".join(
                (
                    session.wanted.weave,
                    str(whole.repeats) if whole else "",
                    "" if lies is None or lies.on_table else lies.said,
                )
            ),
            glide=_HOME if afresh else _INTO_PLACE if same else 0.0,
            on_table=lies is not None and lies.on_table,
            form=None if lies is None else lies.form,
        )
        self._offer(straight, piece, lies)
        session.shows(piece)

    def _is_lent(self) -> bool:
        """Whether something else has the view; what was wanted since takes it back."""
        session = self._session
        if session.guest is not None and session.guest.wanted != session.wanted:
            session.take_back(session.guest)
        return session.guest is not None

    def _offer(self, straight: Piece, piece: Piece, lies: Lies | None) -> None:
        """Have the rings that are shown pulled by hand, where they can be."""
        rests = self._rests()
        if lies is not None and lies.form is not None:
            self.hand.refuse(_WORN)
        else:
            known = lies if lies is not None and lies.on_table else None
            pulled = None if rests is None else Pulled(*rests, straight, known, piece)
            self.hand.offer(pulled, len(piece))


def _marks(shown: Shown) -> list[Mark]:
    """A cross at every overlap, and in words how deep the deepest is."""
    return [
        Mark(one.at_mm, "\u2715", "cross")
        if place
        else Mark(one.at_mm, f"overlap {one.depth_mm:.2f} mm", "overlap")
        for place, one in enumerate(shown.overlaps[:_MOST_MARKS])
    ]


def _told(session: Session, whole: Whole | None, why: str) -> str:
    """What is said of the piece: how large the whole one is, and why it is not laid."""
    said = []
    if whole is not None:
        length = session.wanted.units.length(whole.length_mm)
        repeats = f"{whole.repeats} repeats" if whole.repeats > 1 else "one repeat"
        said.append(
            f"{len(whole.piece)} rings, {repeats}, {length} with the end rings. Every pair was "
            f"measured: none overlap, {whole.links} are linked."
        )
    if why:
        said.append(f"{why} It is shown pulled straight.")
    return " ".join(said)


def _worn(session: Session, lies: Lies, fit: Fit) -> str:
    """How a worn piece fits, in words."""
    length = session.wanted.units.length
    start = f"{len(lies.piece)} rings, {fit.repeats} repeats"
    if isinstance(fit.form, Cone):
        return f"{start}, a necklace that hangs {length(round(fit.sag_mm, 1))} below its ends."
    if fit.closed:
        room = length(round(fit.room_mm or 0.0, 1))
        return f"{start}, closed into a band that is {room} longer inside than the form is round."
    open_mm = length(round(fit.open_mm or 0.0, 1))
    return f"{start}, with {open_mm} between its ends for a clasp."


def _why_not(session: Session, straight: Piece) -> str:
    if len(straight) > MOST_AS_USUAL:
        return f"More than {MOST_AS_USUAL} rings would take too long to fall into place."
    state = session.wanted.state(session.rule) or session.rule.family.lies
    return f"It did not come to rest {state.said}."


def _said(session: Session, shown: Shown, piece: Piece, whole: Whole | None, how: str) -> str:
    units = session.wanted.units
    wire, inner = units.wire(shown.size.wire_mm), units.length(shown.size.inner_mm)
    lie = f"{len(piece)} rings of {session.wanted.weave}, wire {wire}, inner diameter {inner}"
    if shown.overlaps:
        deepest = shown.overlaps[0].depth_mm
        return f"{lie}: they overlap, by up to {units.length(deepest)}."
    part = f"the whole piece of {whole.repeats} repeats" if whole else "some repeats"
    return f"{lie}, {part} at rest and {how}. Arrow keys turn the model."
