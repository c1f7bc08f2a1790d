"""The model: some repeats, turnable."""

from __future__ import annotations

from functools import partial

from nicegui import ui

from generator.bench.elements import button
from generator.bench.ring_view import Mark, RingView, Side
from generator.bench.session import Session
from generator.bench.solve import Shown
from generator.bench.wanted import BY_ROLE
from generator.sizes import format_mm

_SIDES: dict[str, Side] = {"From the side": "front", "From above": "top", "From the end": "end"}


def build(session: Session) -> None:
    """The view, and buttons for where it is looked at from."""
    view = RingView("The weave is being worked out.").classes("big")
    with ui.element("div").classes("row"):
        button("See all", lambda: view.look_from("start"))
        for text, side in _SIDES.items():
            button(text, partial(view.look_from, side), kind="quiet")
    painted = session.wanted.paint

    def repaint() -> None:
        if session.wanted.paint != painted:
            show()

    def show() -> None:
        nonlocal painted
        if session.shown is None:
            return
        painted = session.wanted.paint
        view.show(
            session.shown.piece,
            _said(session, session.shown),
            marks=_marks(session.shown),
            paints=_paints(session),
        )

    session.on_shown.append(show)
    session.on_wanted.append(repaint)


def _paints(session: Session) -> list[str] | None:
    if session.wanted.paint == BY_ROLE or session.shown is None:
        return None
    return [session.wanted.paint] * len(session.shown.piece)


def _marks(shown: Shown) -> list[Mark]:
    """A cross at every overlap, and in words how deep the deepest is."""
    return [
        Mark(one.at_mm, "\u2715", "cross")
        if place
        else Mark(one.at_mm, f"overlap {one.depth_mm:.2f} mm", "overlap")
        for place, one in enumerate(shown.overlaps)
    ]


def _said(session: Session, shown: Shown) -> str:
    rings = len(shown.piece)
    wire, inner = format_mm(shown.size.wire_mm), format_mm(shown.size.inner_mm)
    lie = f"{rings} rings of {session.wanted.weave}, wire {wire}, inner diameter {inner}"
    if shown.overlaps:
        deepest = shown.overlaps[0].depth_mm
        return f"{lie}: they overlap, by up to {format_mm(deepest)}."
    return f"{lie}, at rest and pulled straight. Arrow keys turn the model."
