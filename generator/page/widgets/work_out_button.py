"""A button for what takes the solver a while: how far it is, a way to end it, and its age."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Generic, TypeVar

from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.page.serving.jobs import Superseded
from ringwright.page.session import Session
from ringwright.page.widgets.elements import button, words
from ringwright.page.worked_out.solve import Answer, Shown
from ringwright.solver.climb import Unit
from ringwright.weaves import WeaveRule

T = TypeVar("T")
# What is asked, of a weave at rest at a size; the first argument is told how far it is.
Question = Callable[[Progress, WeaveRule, RingSize, Unit], T]
_OTHER = "This was worked out for another weave or ring than is chosen now."
_OTHER_SHAPE = (
    "At this size the weave closes only {}, and its steps are not worked out in that shape. "
    "Choose a larger ring, in which it lies as usual."
)
_NO_REST = "This size cannot be woven, so there is nothing to move. Choose a larger ring."


class WorkOutButton(Generic[T]):
    """What is worked out of the size that is shown, once it is asked for."""

    def __init__(
        self,
        session: Session,
        topic: str,
        press: str,
        question: Question[T],
        on_found: Callable[[T], object],
        in_any_shape: bool = False,
    ) -> None:
        """A button with the words ``press``; ``on_found`` is given what came out.

        Without ``in_any_shape`` sizes that close only in another shape than the rule's are refused.
        """
        self._session, self._topic, self._question = session, topic, question
        self._in_any_shape = in_any_shape
        self._on_found = on_found
        self._of: Shown | None = None
        self._task: asyncio.Task[None] | None = None
        self._press = button(press, self.begin, kind="main")
        self._cancel = button("Cancel", self._give_up)
        self._cancel.props["aria-label"] = f"Cancel: {press}"
        self._said = words("").classes("said").props("role=status")
        self._cancel.set_visibility(False)
        session.on_answer.listen(self._compare)
        session.on_wanted.listen(self._compare)

    def begin(self) -> None:
        """Have it worked out, of the size that is shown now."""
        answer = self._session.answer
        if answer is None:
            self._said.set_text("The size above is still being checked; press again then.")
        elif not answer.report.can_be_woven:
            self._said.set_text(_NO_REST)
        elif answer.report.shape is not None and not self._in_any_shape:
            self._said.set_text(_OTHER_SHAPE.format(answer.report.shape))
        else:
            self._task = self._session.begin(self._work(answer))

    def _compare(self) -> None:
        """Offer it anew where something else is shown than it was worked out of."""
        if self._of is None or self._cancel.visible:
            return
        answer = self._session.answer
        is_other = answer is None or answer.shown is not self._of
        self._press.set_visibility(is_other)
        self._said.set_text(_OTHER if is_other else "")

    def _give_up(self) -> None:
        self._session.desk.slow.give_up(self._session.client, self._topic)
        # It may be waiting for what another page has had worked out.
        if self._task is not None:
            self._task.cancel()
        self._said.set_text("Cancelled.")
        self._at_work(False)

    def _step(self, what: str, done: int, of: int) -> None:
        self._said.set_text(f"{what.capitalize()}: {done} of {of}")

    async def _work(self, answer: Answer) -> None:
        self._at_work(True)
        full = self._session.desk.slow.is_full
        self._said.set_text("Waiting for its turn" if full else "Beginning")
        # The rule laid in the shape that it takes at this size.
        desk, shown, rule = self._session.desk, answer.shown, answer.report.rule
        try:
            found: T = await desk.worked.ask(
                (self._topic, rule, shown.size),
                lambda: desk.slow.ask(
                    *(self._session.client, self._topic, self._step),
                    self._question,
                    *(rule, shown.size, answer.report.unit),
                ),
            )
        except Superseded:
            self._said.set_text("Cancelled.")
        except (BadInput, NoRest) as trouble:
            self._said.set_text(str(trouble))
        else:
            self._of = shown
            self._said.set_text("")
            self._on_found(found)
        self._at_work(False)
        self._compare()

    def _at_work(self, at_work: bool) -> None:
        self._press.set_visibility(not at_work)
        self._cancel.set_visibility(at_work)
