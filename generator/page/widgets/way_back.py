"""Undo and redo, by buttons and keys, and the browser's Back and Forward."""

from __future__ import annotations

from typing import Any

from nicegui import ui
from nicegui.element import Element

from ringwright.base.errors import BadInput
from ringwright.page.session import Session
from ringwright.page.state.chosen import beside_from_query, beside_query, from_query
from ringwright.page.state.place import place_from_query
from ringwright.page.widgets.elements import button, words

_UNDO = "undo"


class _Browser(Element, component="way_back.js"):
    """What the browser keeps of where a tab has been."""


def build(session: Session) -> None:
    """Two buttons, and an address that always leads back to what is shown."""
    with ui.element("div").classes("way-back").props("role=group aria-label='Undo and redo'"):
        undo = _arrowed("\u21b6", button("Undo", session.undo, kind="quiet")).classes(_UNDO)
        redo = _arrowed("\u21b7", button("Redo", session.redo, kind="quiet"))
    _Kept(session)

    def refresh() -> None:
        history = session.history
        for one, name, keys, why in (
            (undo, "Undo", "Ctrl+Z", history.undoes),
            (redo, "Redo", "Ctrl+Shift+Z", history.redoes),
        ):
            one.props["disabled"] = not why
            one.props["aria-label"] = name
            one.props["title"] = f"{why} ({keys})" if why else keys
            one.update()

    session.on_history.listen(refresh)
    refresh()


def _arrowed(arrow: str, made: Element) -> Element:
    """A button with an arrow before its words, which stands alone where there is little room."""
    with made:
        words(arrow, "b").props("aria-hidden=true").move(target_index=0)
    return made


def focus_undo(session: Session) -> None:
    """Have the keyboard go on at the button that undoes what was just done."""
    with session.layout:
        ui.run_javascript(f"document.querySelector('.{_UNDO}')?.focus()")


class _Kept:
    """The address: a new one for every moment and panel, so that Back leads to the one before."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._browser = browser = _Browser()
        browser.on("undo", lambda _: session.undo())
        browser.on("redo", lambda _: session.redo())
        browser.on("went", self._went)
        self._shown = self._now()
        session.on_place.listen(self._show)
        session.on_wanted.listen(self._show)
        session.on_history.listen(self._show_other)

    def _now(self) -> tuple[int, str]:
        return self._session.history.now.serial, self._session.place.panel

    def _show_other(self) -> None:
        """Follow what is no other weave or ring; of these the page is told first."""
        if not self._session.follows_soon:
            self._show()

    def _show(self) -> None:
        session, now = self._session, self._now()
        kept = beside_query(session.candidates)
        address = f"/?{session.wanted.query()}{kept}{session.place.query()}"
        self._browser.run_method("show", now[0], address, now != self._shown)
        self._shown = now

    def _went(self, event: Any) -> None:
        """The maker went back or forward."""
        session, serial, query = self._session, event.args.get("serial"), event.args.get("query")
        try:
            wanted, beside = from_query(str(query)), beside_from_query(str(query))
            place = place_from_query(str(query))
        except BadInput as trouble:
            session.say_busy(str(trouble))
            return
        # The browser is there already: what follows is no new address.
        self._shown = serial, place.panel
        session.go_back_to(int(serial), wanted, beside)
        self._shown = session.history.now.serial, place.panel
        session.go_to(place)
