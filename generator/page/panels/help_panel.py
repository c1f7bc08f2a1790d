"""Help: the guide, a topic at a time, and a search through all of it."""

from __future__ import annotations

from typing import Any

from nicegui import ui

from ringwright.base.wording import counted
from ringwright.guide.parts import Found, as_html, find
from ringwright.guide.topics import topic, topics
from ringwright.page.session import Session
from ringwright.page.widgets.elements import VALUE, Choice, button, heading, words

# More are not read.
_MOST_FOUND = 12
_FIRST = "first-steps"
# A link to a topic tells which; all other clicks are left to the browser.
_TOPIC_OF_LINK = """(event) => {
  const link = event.target.closest("a[data-topic]");
  if (!link) return;
  event.preventDefault();
  emit(link.dataset.topic);
}"""


def build(_session: Session) -> None:
    """The search, the list of topics, and the topic that is read."""
    heading("Help")
    words("The whole guide; it needs no network. 'ringwright guide' prints the same.").classes(
        "hint"
    )
    _Help()


class _Help:
    """One topic is open, or what was found is listed above it."""

    def __init__(self) -> None:
        with ui.element("div").classes("options"):
            with ui.element("div").classes("field"):
                self._wanted = ui.element("input").props("type=search id=help-search")
                with ui.element("label").props("for=help-search") as label:
                    words("Search the guide", "span")
                label.move(target_index=0)
            names = {one.name: one.title for one in topics()}
            self._topics = Choice("Topic", names, _FIRST, self._choose)
        self._said = words("").classes("said").props("role=status")
        self._found = ui.element("ul").classes("found")
        self._text = ui.html("", sanitize=False).classes("guide")
        self._text.on("click", lambda event: self._open(str(event.args)), js_handler=_TOPIC_OF_LINK)
        self._wanted.on("input", self._search, throttle=0.2, js_handler=VALUE)
        self._choose(_FIRST)

    def _choose(self, name: str) -> None:
        self._topics.put(name)
        self._text.set_content(as_html(topic(name)))

    def _open(self, name: str, anchor: str = "") -> None:
        """Go to a topic, or to the place in it, from wherever else a maker reads."""
        self._choose(name)
        anchor = anchor or f"help-{name}-0"
        # The text is there a little later than the order to go to it.
        ui.run_javascript(
            f"setTimeout(() => {{ const at = document.getElementById('{anchor}');"
            "if (at) { at.tabIndex = -1; at.focus(); at.scrollIntoView(); } }, 100)"
        )

    def _search(self, event: Any) -> None:
        """List what is found while it is typed."""
        wanted = str(event.args).strip()
        found = find(wanted)
        self._said.set_text(_in_words(wanted, len(found)))
        self._found.clear()
        with self._found:
            for one in found[:_MOST_FOUND]:
                self._row(one)

    def _row(self, found: Found) -> None:
        part = found.part
        title = topic(part.topic).title
        with ui.element("li"):
            button(
                title if part.heading == title else f"{title}: {part.heading}",
                lambda: self._open(part.topic, part.anchor),
                kind="quiet",
            )
            words(found.around, "p").classes("hint")


def _in_words(wanted: str, count: int) -> str:
    if not wanted:
        return ""
    if not count:
        return f"Nothing in the guide holds {wanted!r}; try another word, or the beginning of one."
    shown = "" if count <= _MOST_FOUND else f"; the first {_MOST_FOUND} are listed"
    return f"{counted(count, 'place')}{shown}."
