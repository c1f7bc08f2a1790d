"""The model pulled by hand: a switch, pictures of rings on the move, and rest once it is let go."""

from __future__ import annotations

import asyncio
import contextlib
import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from nicegui import ui

from ringwright.base.errors import BadInput, NoRest
from ringwright.base.json_values import JsonObject
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.widgets.elements import Field, button, words
from ringwright.page.widgets.ring_view import RingView
from ringwright.page.worked_out.at_rest import Lies
from ringwright.page.worked_out.by_hand import (
    MOST_PULLED,
    Grip,
    Moving,
    Pulled,
    a_moment_later,
    homeward,
    laid_hold_of,
    settled_again,
)

_ABOUT = (
    "Press on a ring and pull, and the others follow; beside the rings the view turns. Let go, and "
    "the piece falls back on the table. By keyboard: give a ring, and in the model the arrow keys "
    "pull it, Enter lets it go."
)
_OVERLAP = "Rings that overlap cannot be pulled."
_MANY = f"More than {MOST_PULLED} rings cannot be pulled; look at a few repeats."
MOVING = "Moving by hand: not settled. All figures are of the piece at rest."
FALLING = "Falling back: not settled yet."
# A piece falls for so many moments at most before it is settled from where it is; for so many
# where it is known how it lay before.
_FALLS, _FALLS_HOME = 48, 120
# So many moments are on their way to the browser, so that the next one is worked out meanwhile.
_AHEAD = 2
_TOPIC = "at rest after the hand"


class ByHand:
    """A switch, and what follows the hand while it is on."""

    def __init__(self, session: Session, at_rest: Callable[[Pulled, Lies | None], None]) -> None:
        """Begin switched off; ``at_rest`` is told how a piece that was pulled has come to rest.

        It is told None where that failed, and the piece is shown again as it was.
        """
        self._session, self._at_rest = session, at_rest
        self._view: RingView | None = None
        self._is_on = False
        self._piece: Pulled | None = None
        self._moving: Moving | None = None
        # Moments that it has fallen; None while it is held.
        self._fallen: int | None = None
        # What the browser told last, which moment has come there, and which was sent last.
        self._grip: Grip | None = None
        self._seen = self._sent = 0
        self._is_news = False
        self._working: asyncio.Task[None] | None = None
        self._chosen: int | None = None
        self._why_not = ""

    def build_switch(self, view: RingView) -> None:
        """The switch, to stand below the view."""
        self._view = view
        self._switch = button("Pull by hand", self._turn, kind="quiet")
        self._switch.props["aria-pressed"] = "false"

    def build_more(self) -> None:
        """What can be done, and a ring for the keyboard, in sight while the switch is on."""
        with ui.element("div").classes("by-hand") as self._more:
            self._said = words(_ABOUT).classes("hint").props("role=status")
            self._field = Field("Ring to pull", "", self._choose, kind="number", min=1, step=1)
        self._more.set_visibility(False)

    def offer(self, piece: Pulled | None, rings: int) -> None:
        """Other rings are shown; what was pulled before is no more.

        Parameters
        ----------
        piece : None where they cannot be pulled
        rings : how many are shown
        """
        many = rings > MOST_PULLED
        self._put(None if many else piece, _MANY if many else _OVERLAP if piece is None else "")
        if self._chosen is not None and self._chosen >= rings:
            self._chosen = None
            self._field.put("")
        self._field.input.props["max"] = rings
        self._tell()

    def refuse(self, why: str) -> None:
        """Other rings are shown, which cannot be pulled."""
        self._put(None, why)
        self._tell()

    def _put(self, piece: Pulled | None, why_not: str) -> None:
        self.end()
        self._piece, self._why_not = piece, why_not

    def end(self) -> None:
        """Nothing moves any more, and nothing is awaited."""
        self._moving = self._fallen = None
        self._session.desk.slow.give_up(self._session.beside, _TOPIC)
        self._session.moves("")

    @property
    def is_moving(self) -> bool:
        """Whether rings are on the move, or come to rest."""
        return self._moving is not None

    def know(self, lies: Lies) -> None:
        """How the piece that is shown lies at rest has come to be known meanwhile."""
        if self._piece is None:
            return
        self._piece = replace(self._piece, lies=lies)
        if self._moving is not None and self._fallen is not None:
            # Sooner there than settled from where it fell.
            self._session.desk.slow.give_up(self._session.beside, _TOPIC)
            self._moving, self._fallen = homeward(self._moving, lies), 0
            self._seen = self._sent
            self._go_on()

    def _go_on(self) -> None:
        """Have moments worked out, if they are not."""
        if self._working is None or self._working.done():
            self._working = self._session.begin(self._moments())

    def pulled(self, asked: object, seen: int) -> None:
        """The browser tells where the hand is, and how many moments have come."""
        piece, grip = self._piece, None if asked is None else grip_of(asked)
        if piece is None or (grip is not None and not 0 <= grip.ring < len(piece.shown)):
            return
        if grip is None and self._moving is None:
            return
        self._grip, self._seen, self._is_news = grip, seen, True
        if self._moving is None:
            self._moving, self._sent = laid_hold_of(piece.rule, piece.shown), seen
        if grip is not None and self._fallen is not None:
            # Taken hold of again: what falls is caught.
            self._session.desk.slow.give_up(self._session.beside, _TOPIC)
            self._moving = replace(self._moving, home=None)
            self._fallen = None
        if grip is None and self._fallen is None:
            self._fallen = 0
            if piece.lies is not None:
                self._moving = homeward(self._moving, piece.lies)
        self._session.moves(FALLING if grip is None else MOVING)
        self._go_on()

    async def _moments(self) -> None:
        """Work out one moment after the other, a few ahead of what has come, until all is still."""
        session, view = self._session, self._view
        assert view is not None
        while (before := self._moving) is not None and self._piece is not None:
            if self._sent - self._seen >= _AHEAD:
                # The browser asks on when they have come.
                return
            if before.is_still and not self._is_news and before.home is None:
                return
            self._is_news, grip = False, self._grip
            try:
                moving = await session.desk.quick.ask(
                    session.client, "by hand", a_moment_later, before, grip
                )
            except Superseded:
                return
            if self._moving is not before:
                # Let go, or caught, or gone meanwhile.
                continue
            self._moving = moving
            is_down = False
            if grip is None and self._fallen is not None:
                self._fallen += 1
                most = _FALLS if moving.home is None else _FALLS_HOME
                is_down = moving.is_still or moving.is_home or self._fallen >= most
            self._sent += 1
            view.pose(
                moving.poses_mm(), number=self._sent, is_still=moving.is_still, is_down=is_down
            )
            if is_down:
                session.begin(self._come_to_rest(self._piece, moving))
                return

    async def _come_to_rest(self, piece: Pulled, moving: Moving) -> None:
        if not moving.is_home or piece.lies is None:
            await self._settled(piece, moving)
        elif self._moving is moving:
            self._moving = None
            self._at_rest(piece, piece.lies)

    async def _settled(self, piece: Pulled, moving: Moving) -> None:
        session = self._session
        with contextlib.suppress(Superseded):
            try:
                lying: Lies | None = await session.desk.slow.ask(
                    session.beside,
                    _TOPIC,
                    lambda *_: None,
                    settled_again,
                    *(piece, moving.of(piece.shown)),
                )
            except (BadInput, NoRest):
                lying = None
            if self._moving is moving:
                self._moving = None
                self._at_rest(piece, lying)

    def _turn(self) -> None:
        self._is_on = not self._is_on
        self._switch.props["aria-pressed"] = "true" if self._is_on else "false"
        self._switch.update()
        self._more.set_visibility(self._is_on)
        self._tell()

    def _choose(self, typed: str) -> None:
        try:
            ring = int(typed) - 1
        except ValueError:
            ring = -1
        count = 0 if self._piece is None else len(self._piece.shown)
        self._chosen = ring if 0 <= ring < count else None
        wrong = bool(typed.strip()) and self._chosen is None
        self._field.complain(f"give a whole number from 1 to {count}" if wrong else "")
        self._tell()

    def _tell(self) -> None:
        view = self._view
        assert view is not None
        self._said.set_text(self._why_not or _ABOUT)
        view.let_pull(self._is_on and self._piece is not None, self._chosen)


def grip_of(asked: object) -> Grip | None:
    """What the browser says of the hand; None where that cannot be."""
    if not isinstance(asked, dict):
        return None
    told: JsonObject = asked
    taken, target = _place(told.get("taken")), _place(told.get("target"))
    ring = told.get("ring")
    if taken is None or target is None or not isinstance(ring, int):
        return None
    return Grip(ring, taken, target)


def _place(told: object) -> tuple[float, float, float] | None:
    if not isinstance(told, Sequence) or len(told) != 3:
        return None
    if not all(isinstance(one, int | float) and math.isfinite(one) for one in told):
        return None
    x, y, z = map(float, told)
    return x, y, z
