"""What can I make tonight: weaves narrowed by what this ring makes of them in so many hours."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import ui

from ringwright.answers.ratio_limits import WORKING
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.state.chosen import Wanted
from ringwright.page.widgets.elements import Field, button, words
from ringwright.page.worked_out.counted_piece import Counting, counting
from ringwright.page.worked_out.stops import limits_at_hand
from ringwright.page.worked_out.tonight import Evening, Takes, evening, takes
from ringwright.weaves import WeaveRule, list_rules

_TOPIC = "tonight"
_BESIDE = "\N{NO-BREAK SPACE}"
_NUMBER: Mapping[str, object] = {"kind": "number", "min": 0.5, "step": "any"}
_FIELDS: tuple[tuple[str, str, Mapping[str, Any]], ...] = (
    ("hours", "Hours", _NUMBER),
    ("rings_an_hour", "Rings an hour", _NUMBER),
    ("widest", "Widest", {}),
)
_ABOUT = (
    "Of the weaves that this ring works in, those that a piece of your length is made of in time. "
    "How many rings you weave in an hour you know best: time a few."
)


class Tonight:
    """The fields, and what came out; ``on_change`` is called when other weaves are listed."""

    def __init__(self, session: Session, on_change: Callable[[], object]) -> None:
        """Put them on the page, folded."""
        self._session, self._on_change = session, on_change
        self._found: dict[str, Takes] | None = None
        self._of: Wanted | None = None
        self._evening: Evening | None = None
        self._texts = {"hours": "3", "rings_an_hour": "60", "widest": ""}
        with ui.element("details").classes("form"):
            words("What can I make tonight?", "summary")
            words(_ABOUT).classes("hint")
            with ui.element("div").classes("pair"):
                for key, label, more in _FIELDS:
                    Field(
                        *(label, self._texts[key], partial(self._typed, key)),
                        complete=session.length_typed if key == "widest" else None,
                        hint="any width if empty" if key == "widest" else "",
                        autocomplete="off",
                        **more,
                    )
            with ui.element("div").classes("row wrap"):
                button("Show them", self._ask, kind="main")
                self._all = button("All weaves again", lambda: self._end(), kind="quiet")
            self._said = words("").classes("said").props("role=status")
        self._all.set_visibility(False)
        session.on_wanted.listen(self._compare)

    def fits(self, name: str) -> bool:
        """Whether a weave is among those that are listed."""
        if self._found is None:
            return True
        piece = self._found.get(name)
        return piece is not None and self._evening is not None and self._evening.has_time_for(piece)

    def said(self, name: str) -> str:
        """What a piece of a weave takes, in words; empty where that is not asked."""
        piece = None if self._found is None else self._found.get(name)
        if piece is None or self._evening is None:
            return ""
        width = self._session.wanted.units.length(round(piece.width_mm, 1))
        hours = piece.rings / self._evening.rings_an_hour
        # A number stays with its unit.
        return f"{piece.rings} rings, {hours:.1f}{_BESIDE}h, {width.replace(' ', _BESIDE)} wide"

    def _typed(self, key: str, text: str) -> None:
        self._texts[key] = text
        if self._found is not None:
            self._narrow()

    def _narrow(self) -> None:
        """List what there is time for, of what is known."""
        try:
            self._evening = evening(**self._texts)
        except BadInput as trouble:
            self._tell(str(trouble), wrong=True)
            return
        found = self._found or {}
        fit = sum(map(self._evening.has_time_for, found.values()))
        self._tell(f"{fit} of the {len(found)} weaves that this ring works in are listed.")
        self._on_change()

    def _ask(self) -> None:
        session = self._session
        try:
            self._evening, size = evening(**self._texts), session.wanted.size()
        except BadInput as trouble:
            self._tell(str(trouble), wrong=True)
            return
        asked = list(self._that_work(session.wanted, size.aspect_ratio))
        self._tell("Counting the rings")
        self._of = _piece(session.wanted)
        session.begin(self._work(self._of, size, asked))

    def _that_work(self, wanted: Wanted, ratio: float) -> Iterator[tuple[WeaveRule, Counting]]:
        for rule in list_rules():
            limits = limits_at_hand(rule)
            if limits is not None and limits.verdict(ratio) == WORKING:
                with suppress(BadInput):
                    yield rule, counting(replace(wanted, second=""), self._session.shop, rule)

    async def _work(
        self, of: Wanted, size: RingSize, asked: list[tuple[WeaveRule, Counting]]
    ) -> None:
        session = self._session
        with suppress(Superseded):
            found = await session.desk.slow.ask(
                *(session.beside, _TOPIC, self._step, takes), *(size, asked)
            )
            if _piece(session.wanted) == of:
                self._found = found
                self._all.set_visibility(True)
                self._narrow()

    def _step(self, _: str, done: int, of: int) -> None:
        self._tell(f"Counting the rings: {done} of {of} weaves")

    def _compare(self) -> None:
        """List all weaves again once another ring, or another length, is wanted."""
        if self._of is not None and _piece(self._session.wanted) != self._of:
            self._end("The ring or the length is another one now; ask again.")

    def _end(self, said: str = "") -> None:
        self._found = self._of = None
        self._all.set_visibility(False)
        self._tell(said)
        self._on_change()

    def _tell(self, text: str, *, wrong: bool = False) -> None:
        self._said.set_text(text)
        self._said.classes(add="wrong" if wrong else "", remove="" if wrong else "wrong")


def _piece(wanted: Wanted) -> Wanted:
    """A choice less all that the rings and the width of a piece do not hang on."""
    return replace(
        wanted.ring_alone(), weave="", second="", length=wanted.length, width=wanted.width
    )
