"""What a first visit shows in three touches: too small a ring, one that works, what it takes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.page.session import Session
from ringwright.page.state.chosen import WHOLE
from ringwright.page.state.place import place_of
from ringwright.page.widgets.elements import button, words
from ringwright.page.widgets.kept_tab import STORED_AS
from ringwright.page.worked_out.stops import Stop, limits_at_hand, stops, that_works


@dataclass(frozen=True)
class _Step:
    """What is said before a touch, the words to touch, and what it does."""

    said: str
    press: str
    act: Callable[[Session], None]


def _too_small(session: Session) -> None:
    """The largest ring that is sold in this wire and does not close."""
    found, least = _found(session)
    below = [one for one in found if one.ratio < least]
    if below:
        session.change(**below[-1].wanted)


def _one_that_works(session: Session) -> None:
    limits = limits_at_hand(session.rule)
    one = None if limits is None else that_works(limits, _found(session)[0])
    if one is not None:
        session.change(**one.wanted)


def _what_it_takes(session: Session) -> None:
    session.change(view=WHOLE)
    session.go_to(place_of("Papers"))


def _found(session: Session) -> tuple[tuple[Stop, ...], float]:
    limits = limits_at_hand(session.rule)
    return stops(session.wanted, session.shop), 0.0 if limits is None else limits.minimum


_STEPS = (
    _Step(
        "Wire is dear. This shows, before you buy it, whether a weave closes.",
        "1. Show me a ring that is too small",
        _too_small,
    ),
    _Step(
        "The crosses are where rings would have to go through each other.",
        "2. Show me one that works",
        _one_that_works,
    ),
    _Step(
        "This one goes together. How many rings is a bracelet, how much wire, how many hours?",
        "3. Show me what it takes",
        _what_it_takes,
    ),
)
_LAST = (
    "Here is the whole bracelet: its rings are counted below the answer, and Papers has the plan "
    "for the bench. Now choose your own weave and wire; Undo leads back."
)


# It is part of the first view, where it is seen at all, so it is hidden before that is drawn.
_BEEN_HERE = f"""<script>
if (location.search || localStorage.getItem({STORED_AS}) !== null)
  document.documentElement.classList.add("been-here");
</script>"""


class FirstVisit:
    """A strip on the model, for who has never been here; gone once it is closed."""

    def __init__(self, session: Session) -> None:
        """Put it on the model; a browser that has been here does not show it."""
        self._session, self._at = session, 0
        strip = ui.element("section").classes("first-visit").props("aria-label='First visit'")
        with strip as self._strip:
            self._said = words("").props("role=status")
            with ui.element("div").classes("first-row"):
                with button("", self._go_on, kind="main") as self._press:
                    self._words = words("", "span")
                close = button("Close", self.hide, kind="quiet")
                close.props["aria-label"] = "Close the first steps"
        ui.add_head_html(_BEEN_HERE)
        self._show()

    def hide(self) -> None:
        """Take it away: this is no first visit."""
        self._strip.set_visibility(False)

    def _show(self) -> None:
        if self._at == len(_STEPS):
            self._said.set_text(_LAST)
            self._press.set_visibility(False)
        else:
            self._said.set_text(_STEPS[self._at].said)
            self._words.set_text(_STEPS[self._at].press)

    def _go_on(self) -> None:
        try:
            _STEPS[self._at].act(self._session)
        except BadInput as trouble:
            self._said.set_text(str(trouble))
            return
        self._at += 1
        self._show()
