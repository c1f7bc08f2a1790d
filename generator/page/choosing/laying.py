"""How the piece lies: on a table, pulled straight, hung, or worn, and on whom."""

from __future__ import annotations

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.page.session import Session
from ringwright.page.state.chosen import (
    HUNG,
    HUNG_BY_ENDS,
    LYING,
    PULLED,
    USUAL_GIRTHS_MM,
    WHOLE,
    WORN,
    ways_of,
)
from ringwright.page.state.units import typed
from ringwright.page.widgets.elements import Choice, Field, words
from ringwright.weaves.family import Family
from ringwright.weaves.rest_states import FINGER, NECK, WRIST

_WAYS = {LYING: "On a table", PULLED: "Pulled straight", HUNG: "Hung", WORN: "Worn"}
_OF_SHEETS = {
    LYING: "Spread out",
    PULLED: "Pulled along",
    HUNG: "Hung by a row",
    HUNG_BY_ENDS: "Hung by its side",
    WORN: "Worn",
}
_PARTS = {WRIST: "A wrist", FINGER: "A finger", NECK: "A neck"}


class Laying:
    """A list of ways for a piece to lie, and what it is worn on where that is chosen."""

    def __init__(self, session: Session) -> None:
        """Begin with nothing on the page."""
        self._session = session

    def build_choice(self) -> None:
        """The ways, to stand below the view."""
        session = self._session
        self._ways = Choice("How it lies", _WAYS, session.wanted.laid, self._lay)
        self._ways.field.classes("in-row")

    def build_more(self) -> None:
        """What it is worn on, in sight while it is worn."""
        session = self._session
        with ui.element("div").classes("worn") as self._more:
            self._part = Choice("Worn on", _PARTS, session.wanted.worn, self._wear)
            self._girth = Field(
                "Round it",
                session.wanted.girth,
                lambda text: session.change(girth=text.strip()),
                complete=session.length_typed,
                autocomplete="off",
            )
            self._said = words("").classes("hint").props("role=status")
        session.on_wanted.listen(self._refresh)
        self._refresh()

    def say(self, said: str) -> None:
        """Say how it is worn, or how far that is worked out."""
        self._said.set_text(said)

    def _lay(self, way: str) -> None:
        if way == WORN:
            self._wear(self._session.wanted.worn)
        else:
            self._session.change(laid=way)

    def _wear(self, part: str) -> None:
        session = self._session
        girth = session.wanted.girth if part == session.wanted.worn else ""
        # As much as goes round is shown where a piece is no longer than that.
        view = WHOLE if part == NECK else session.wanted.view
        session.change(laid=WORN, worn=part, girth=girth, view=view)

    def _refresh(self) -> None:
        wanted = self._session.wanted
        try:
            rule = self._session.rule
        except BadInput:
            return
        family, way = rule.family, wanted.way_of(rule)
        self._ways.offer(_ways_of(family), way)
        is_worn = way == WORN
        self._more.set_visibility(is_worn)
        if not is_worn:
            return
        self._part.offer(
            {part: said for part, said in _PARTS.items() if part != NECK or not family.has_rows},
            wanted.worn,
        )
        self._girth.put(wanted.girth)
        usual = typed(USUAL_GIRTHS_MM[wanted.worn], wanted.lengths)
        if self._girth.input.props.get("placeholder") != usual:
            self._girth.input.props["placeholder"] = usual
            self._girth.input.update()
        try:
            wanted.body()
        except BadInput as trouble:
            self._girth.complain(str(trouble))
        else:
            self._girth.complain("")


def _ways_of(family: Family) -> dict[str, str]:
    """The ways in which pieces of a family lie, with the words for each."""
    ways = _OF_SHEETS if family.has_rows else _WAYS
    known = ways_of(family)
    return {way: said for way, said in ways.items() if way in known}
