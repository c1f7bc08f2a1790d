"""Pull, push and bend the chain, and watch it move within its play."""

from __future__ import annotations

import math
from functools import partial
from typing import Any

import numpy as np
from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.page.session import Guest, Session
from ringwright.page.state.chosen import BY_ROLE
from ringwright.page.state.place import place_of
from ringwright.page.state.units import Units
from ringwright.page.widgets.elements import button, heading, words
from ringwright.page.widgets.ring_view import RingView
from ringwright.page.widgets.scrub import Scrub, Slide
from ringwright.page.widgets.work_out_button import WorkOutButton
from ringwright.page.worked_out.colours import coloured
from ringwright.page.worked_out.play_states import (
    ACROSS,
    ALONG,
    SIDEWAYS,
    UP,
    Path,
    PlayStates,
    Stop,
    moves,
)

_ABOUT = (
    "Between its tightest and its longest a weave moves without any force. Every state shown "
    "here was worked out by itself, and no two of its rings overlap. A chain that is wound or "
    "curled is pushed and pulled along its length, not bent."
)
_LABELS = {
    ALONG: "From pushed together to pulled straight",
    ACROSS: "Rows, from pushed together to pulled apart",
    UP: "Bend down or up",
    SIDEWAYS: "Bend to the front or to the back",
}
_ENDS = {
    ALONG: ("Push together", None, "Pull straight"),
    ACROSS: ("Push rows together", None, "Pull rows apart"),
    UP: ("Bend down", "Straighten", "Bend up"),
    SIDEWAYS: ("To the front", "Straighten", "To the back"),
}
_SIDES = {UP: ("down", "up"), SIDEWAYS: ("to the front", "to the back")}


NAME = "Move"
_HERE = place_of(NAME)


def build(session: Session) -> None:
    """Sliders, once it is worked out how the weave moves, that move it in place of the piece."""
    heading(NAME)
    words(_ABOUT).classes("hint")
    asked_at = ui.element("div").classes("asked")
    sliders = ui.element("div")
    movers: list[_Mover] = []

    def show(found: PlayStates) -> None:
        sliders.clear()
        with sliders:
            movers.append(_Mover(session, found))

    def follow() -> None:
        if movers:
            movers[-1].follow()

    session.on_place.listen(follow)
    with asked_at:
        WorkOutButton(session, "moves", "Work out how it moves", moves, show, in_any_shape=True)


class _Mover:
    """Sliders, and what they move in the view, which they take as they are used."""

    def __init__(self, session: Session, found: PlayStates) -> None:
        self._session, self._found, self._of = session, found, session.shown
        self._guest: Guest | None = None
        slides = [_slide(path, session.wanted.units) for path in found.paths]
        self._scrub = Scrub(session.stage, slides, self._show)
        session.on_guest.listen(self._heed)
        with ui.element("div").classes("row"):
            button("Show the piece", lambda: session.take_back(self._guest), kind="quiet")
        if self._is_here():
            self._show(None)

    def follow(self) -> None:
        """Another panel is open."""
        if self._guest is not None and not self._is_here():
            self._session.take_back(self._guest)

    def _is_here(self) -> bool:
        # The panel that is open at first.
        return self._session.place.panel in ("", _HERE.panel)

    def _show(self, at: tuple[str, int] | None) -> None:
        """Show it, in a state: the name of a way, and which one on it."""
        if self._session.shown is self._of:
            show = partial(_show, session=self._session, found=self._found, at=at)
            self._guest = self._session.lend("Moved by the sliders", show)

    def _heed(self) -> None:
        """Know whether the view shows what the sliders move."""
        self._scrub.tell_there(self._guest is not None and self._session.guest is self._guest)


def _show(view: RingView, session: Session, found: PlayStates, at: tuple[str, int] | None) -> None:
    view.show(_painted(session, found), _said(session, found), keep=False)
    ways = {path.kind: np.stack([stop.poses for stop in path.stops]) for path in found.paths}
    view.keep_poses(ways, at)


def _painted(session: Session, found: PlayStates) -> Any:
    try:
        return coloured(found.piece, session.rule, session.wanted.paint)
    except BadInput:
        return coloured(found.piece, session.rule, BY_ROLE)


def _said(session: Session, found: PlayStates) -> str:
    return (
        f"{len(found.piece)} rings of {session.wanted.weave}, moved by the sliders; "
        "arrow keys turn the model."
    )


def _slide(path: Path, units: Units) -> Slide:
    """A path as a slider takes it."""
    say = _bent if path.kind in _SIDES else _pushed
    places = (0, path.rest, len(path.stops) - 1)
    ends = zip(_ENDS[path.kind], places, strict=True)
    return Slide(
        path.kind,
        _LABELS[path.kind],
        path.rest,
        [say(path, stop, units) for stop in path.stops],
        [(text, at) for text, at in ends if text is not None],
    )


def _pushed(path: Path, stop: Stop, units: Units) -> tuple[str, str]:
    """A state of a weave that is pushed together, in a word and in a sentence."""
    longest, shortest = path.stops[path.rest].length_mm, path.stops[0].length_mm
    what = "The rows lie" if path.kind == ACROSS else "One repeat measures"
    apart = " apart" if path.kind == ACROSS else ""
    length = units.length(round(stop.length_mm, 3))
    pushed, most = (100 * (1 - one / longest) for one in (stop.length_mm, shortest))
    if stop is path.stops[path.rest]:
        return length, (
            f"{what} {length}{apart}: pulled straight. Its play, guided straight, is "
            f"{path.guided_percent:.1f} %, and crumpled at least {most:.1f} %."
        )
    return length, (
        f"{what} {length}{apart}: pushed together by {pushed:.1f} %, of {most:.1f} % at most."
    )


def _bent(path: Path, stop: Stop, units: Units) -> tuple[str, str]:
    """A state of a bent chain, in a word and in a sentence."""
    if stop.inner_radius_mm is None:
        return "straight", "The chain lies straight."
    side = _SIDES[path.kind][stop.turn > 0.0]
    degrees = abs(math.degrees(stop.turn))
    closed = math.ceil(360 / degrees - 1e-9)
    most = " That is its tightest." if stop in (path.stops[0], path.stops[-1]) else ""
    return f"{degrees:.0f}\u00b0 {side}", (
        f"Bent {side} by {degrees:.1f}\u00b0 from one repeat to the next, "
        f"{units.length(round(stop.inner_radius_mm, 2))} from the middle of the bend to the "
        f"nearest metal; {closed} repeats would come round.{most}"
    )
