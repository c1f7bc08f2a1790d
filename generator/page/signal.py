"""An event of the page, and who is told of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, ParamSpec

P = ParamSpec("P")


class Signal(Generic[P]):
    """Something that happens; ``P`` is what is told of it, nothing for ``Signal[[]]``."""

    def __init__(self) -> None:
        """Begin with nobody listening."""
        self._listeners: list[Callable[P, object]] = []

    def listen(self, listener: Callable[P, object]) -> None:
        """Have a function called whenever it happens, after those that listen already."""
        self._listeners.append(listener)

    def tell(self, *args: P.args, **named: P.kwargs) -> None:
        """Tell all who listen, in the order in which they came."""
        for listener in self._listeners:
            listener(*args, **named)
