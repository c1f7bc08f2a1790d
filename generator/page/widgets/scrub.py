"""Sliders through the states that a view of rings keeps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from nicegui.element import Element

from ringwright.base.json_values import JsonObject
from ringwright.page.widgets.ring_view import RingView


@dataclass(frozen=True)
class Slide:
    """A slider through the states of one way that rings move.

    Attributes
    ----------
    name : of the way, as the view keeps it
    label : what the slider is for
    rest : the state that is shown to begin with
    stops : what each state is called, in a word and in a sentence
    ends : buttons: their words, and the state that each glides to
    """

    name: str
    label: str
    rest: int
    stops: Sequence[tuple[str, str]]
    ends: Sequence[tuple[str, int]]

    def facts(self) -> JsonObject:
        """As the browser's part takes it."""
        return {
            "name": self.name,
            "label": self.label,
            "rest": self.rest,
            "stops": [{"short": short, "said": said} for short, said in self.stops],
            "ends": [{"text": text, "at": at} for text, at in self.ends],
        }


class Scrub(Element, component="scrub.js"):
    """Sliders, one for each way."""

    def __init__(
        self,
        view: RingView,
        slides: Sequence[Slide],
        on_begin: Callable[[tuple[str, int] | None], object],
    ) -> None:
        """Sliders for ways that ``view`` keeps.

        While the view shows something else, ``on_begin`` is called where they are used, with the
        name of a way and the state on it that is asked for; or with None where there is none such.
        """
        super().__init__()
        self._counts = {slide.name: len(slide.stops) for slide in slides}
        self._props["view"] = view.id
        self._props["ways"] = [slide.facts() for slide in slides]
        self.on("begin", lambda event: on_begin(self._state(event.args)))

    def tell_there(self, is_there: bool) -> None:
        """Whether the view shows what the sliders move."""
        if self._props.get("there", False) != is_there:
            self._props["there"] = is_there
            self.update()

    def _state(self, at: object) -> tuple[str, int] | None:
        """The state that the browser asks for; None where there is none of that name and number."""
        if not isinstance(at, list) or len(at) != 2:
            return None
        name, number = at
        count = self._counts.get(name, 0) if isinstance(name, str) else 0
        return (name, number) if isinstance(number, int) and 0 <= number < count else None
