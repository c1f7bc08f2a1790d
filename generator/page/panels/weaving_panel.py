"""Weave it: step through the weaving order, each step with its sentence."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np
from nicegui import ui

from ringwright.base.arrays import Floats
from ringwright.geometry.circles import plane_basis
from ringwright.outputs.assembly_sheet.views import screen
from ringwright.outputs.assembly_sheet.words import CAUTIONS, KEY, NO_WAY_IN, OPENING, way_in
from ringwright.page.session import Guest, Session
from ringwright.page.state.place import place_of
from ringwright.page.state.units import Units
from ringwright.page.widgets.elements import button, heading, words
from ringwright.page.widgets.ring_view import Aim, Mark, OpenWire, RingView
from ringwright.page.widgets.scrub import Scrub, Slide
from ringwright.page.widgets.work_out_button import WorkOutButton
from ringwright.page.worked_out.weaving_steps import (
    CARRIED,
    NEAR,
    NEW,
    OTHER,
    THROUGH,
    Step,
    WayIn,
    steps,
)

# After Okabe and Ito (from memory); every number also has a shape of its own.
_PAINTS = {
    NEW: "#d55e00",
    CARRIED: "#0072b2",
    THROUGH: "#d9d6cf",
    NEAR: "#d9d6cf",
    OTHER: "#8f8c86",
}
_SECONDS_A_STEP = 3.5
NAME = "Weave it"
_HERE = place_of(NAME)
# What the view calls the way by which the ring of a step comes in.
_IN = "in"
_AROUND = np.arange(24) * (2 * np.pi / 24)
# Marks so far apart, as a share of the picture, are apart enough; then those in front are better.
_ROOM, _IN_FRONT = 0.09, 0.05


def build(session: Session) -> None:
    """The steps, once they are worked out, each shown in place of the piece."""
    heading(NAME)
    words(OPENING).classes("hint")
    asked_at = ui.element("div").classes("asked")
    steps_at = ui.element("div")

    def show(found: tuple[Step, ...]) -> None:
        steps_at.clear()
        with steps_at:
            stepper.append(_Stepper(session, found))

    stepper: list[_Stepper] = []

    def follow() -> None:
        if stepper:
            stepper[-1].follow()

    with asked_at:
        work_out = WorkOutButton(session, "steps", "Work out the steps", steps, show)

    def take_up() -> None:
        """Go on at the step that the address tells, once there is a size to work it out of."""
        if _is_here(session) and session.place.step and not stepper and session.answer is not None:
            work_out.begin()

    session.on_place.listen(follow)
    session.on_answer.listen(take_up)
    take_up()
    with ui.element("details").classes("key"):
        words("What the numbers in the picture mean, and what to mind", "summary")
        with ui.element("ul"):
            for said in (*KEY.values(), *CAUTIONS):
                words(said, "li")


def _is_here(session: Session) -> bool:
    return session.place.panel == _HERE.panel


class _Stepper:
    """Buttons that go from step to step."""

    def __init__(self, session: Session, found: tuple[Step, ...]) -> None:
        self._session, self._steps, self._now = session, found, 0
        # Of these rings; the steps of others are looked at no more.
        self._of = session.shown
        self._is_here = False
        self._guest: Guest | None = None
        self._numbered = found[0].new is not None
        self._where = words("", "h3")
        self._text = words("").classes("step-text").props("role=status aria-live=polite")
        self._way_in = words("").classes("step-way")
        self._watch = ui.element("div")
        self._scrub: Scrub | None = None
        session.on_guest.listen(self._heed)
        with ui.element("div").classes("row steps-row"):
            self._back = button("Back", lambda: self._go(self._now - 1))
            self._next = button("Next step", lambda: self._go(self._now + 1), kind="main")
            self._play = button("Play", self._run, kind="quiet")
            self._stop = button("Pause", self._pause, kind="quiet")
            button("Show the piece", self._leave, kind="quiet")
        self._timer = ui.timer(_SECONDS_A_STEP, self._on, active=False, immediate=False)
        with ui.element("details").classes("key"):
            words("All steps in words", "summary")
            with ui.element("ol").props(f"start={1 if self._numbered else 0}"):
                for step in found:
                    words(f"{step.text} {how_hard(step, session.wanted.units)}".rstrip(), "li")
        self._pause()
        self._show(session.place.step if _is_here(session) else 0)

    def follow(self) -> None:
        """Go to the step that the page is at, as when the browser goes back."""
        was_here, self._is_here = self._is_here, _is_here(self._session)
        if self._is_here and (not was_here or self._session.place.step != self._now):
            self._show(self._session.place.step or self._now)
        elif was_here and not self._is_here:
            self._leave()

    def _leave(self) -> None:
        """Have the piece shown again."""
        self._pause()
        if self._guest is not None:
            self._session.take_back(self._guest)

    def _go(self, to: int) -> None:
        self._show(to)
        self._session.go_to(replace(_HERE, step=self._now))

    def _show(self, to: int) -> None:
        self._now = min(max(to, 0), len(self._steps) - 1)
        step, last = self._steps[self._now], len(self._steps) - 1
        self._back.props["disabled"] = self._now == 0
        self._next.props["disabled"] = self._now == last
        for one in (self._back, self._next):
            one.update()
        count = last + self._numbered
        where = f"Step {self._now + self._numbered} of {count}" if step.new else "Before step 1"
        self._where.set_text(f"{where}: {step.part}" if step.new else where)
        self._text.set_text(step.text)
        self._way_in.set_text(how_hard(step, self._session.wanted.units))
        self._watch.clear()
        self._scrub = None
        if step.way is not None:
            with self._watch:
                slides = [slide_in(step, step.way)]
                self._scrub = Scrub(self._session.stage, slides, self._lend)
        self._lend(None)

    def _lend(self, at: tuple[str, int] | None) -> None:
        """Have the view show the step, in a state of the way by which its ring comes in."""
        if _is_here(self._session) and self._session.shown is self._of:
            step = self._steps[self._now]
            turn = self._session.guest is None or self._now == 0
            show = partial(show_step, step=step, turn=turn, at=at)
            self._guest = self._session.lend(self._where.text, show)
            self._heed()

    def _heed(self) -> None:
        """Know whether the view shows the step."""
        if self._scrub is not None:
            is_there = self._guest is not None and self._session.guest is self._guest
            self._scrub.tell_there(is_there)

    def _run(self) -> None:
        self._play.set_visibility(False)
        self._stop.set_visibility(True)
        self._timer.activate()
        self._go(0 if self._now == len(self._steps) - 1 else self._now + 1)

    def _pause(self) -> None:
        self._timer.deactivate()
        self._play.set_visibility(True)
        self._stop.set_visibility(False)

    def _on(self) -> None:
        self._go(self._now + 1)
        if self._now == len(self._steps) - 1:
            self._pause()


def how_hard(step: Step, units: Units) -> str:
    """How hard the ring of a step is to put in, in a sentence; nothing for the start."""
    if step.new is None:
        return ""
    if step.way is None:
        return NO_WAY_IN
    way = step.way

    def say(length_mm: float) -> str:
        return units.length(round(length_mm, 1))

    return way_in(way.gap_mm, way.given_way_mm, way.effort, say)


def show_step(view: RingView, step: Step, *, turn: bool, at: tuple[str, int] | None = None) -> None:
    """Show one step; with ``turn`` from where the rings that matter are seen best.

    Parameters
    ----------
    at : the state of the way by which its ring comes in, as of :func:`slide_in`, or none
    """
    opened = []
    if step.open_line is not None:
        opened = [OpenWire(step.open_line, step.open_wire_mm, _PAINTS[NEW])]
    view.show(
        step.piece,
        step.seen,
        step_marks(step),
        paints=[_PAINTS[kind] for kind in step.kinds],
        opened=opened,
        aim=Aim(step.middle_mm, step.across_mm, step.toward if turn else None),
        what=NAME,
    )
    if step.way is not None:
        view.keep_poses({_IN: step.way.poses}, at, {_IN: step.way.wires})


def slide_in(step: Step, way: WayIn) -> Slide:
    """A slider along the way by which the ring of a step comes in."""
    stops = []
    for at in range(len(way.poses)):
        if at < way.given:
            stops.append(("making room", "The rings about it make room."))
        elif at < way.closes:
            stops.append(("going in", f"Ring {step.new} goes in open, along its own wire."))
        else:
            stops.append(("closing", f"Ring {step.new} closes."))
    stops[0] = ("before", f"Slide to see how ring {step.new} goes in.")
    stops[-1] = ("in", f"Ring {step.new} is in.")
    ends = (("Take it out", 0), ("Put it in", len(stops) - 1))
    return Slide(_IN, f"Put ring {step.new} in", 0, stops, ends)


def step_marks(step: Step) -> list[Mark]:
    """The numbers of the rings that the step's words name, each on its ring's wire."""
    piece = step.piece
    marks: list[Mark] = []
    if step.new is not None and step.open_line is not None:
        marks.append(Mark(_point(step.open_line[len(step.open_line) // 2]), step.new, NEW))
    for at, kind in enumerate(step.kinds):
        if kind != OTHER:
            u, v = (one[0] for one in plane_basis(piece.axes[at : at + 1]))
            spokes = np.cos(_AROUND)[:, None] * u + np.sin(_AROUND)[:, None] * v
            wire = piece.centres_mm[at] + piece.core_radii_mm[at] * spokes
            marks.append(Mark(_free(step, wire, marks), piece.names[at], kind))
    return marks


def _free(step: Step, places: Floats, marks: list[Mark]) -> tuple[float, float, float]:
    """The place in front that is away from the marks there are, as the camera sees it."""
    right, up = screen(step.toward)
    seen = np.stack([places @ right, places @ up], axis=1)
    apart = np.full(len(places), step.across_mm)
    for mark in marks:
        there = np.array([np.dot(mark.at_mm, right), np.dot(mark.at_mm, up)])
        apart = np.minimum(apart, np.linalg.norm(seen - there, axis=1))
    room = np.minimum(apart, _ROOM * step.across_mm)
    return _point(places[int(np.argmax(room + _IN_FRONT * (places @ step.toward)))])


def _point(at_mm: Floats) -> tuple[float, float, float]:
    return (float(at_mm[0]), float(at_mm[1]), float(at_mm[2]))
