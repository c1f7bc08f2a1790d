"""What several pages ask alike is worked out once, and kept for a while."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable, Hashable
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
T = TypeVar("T")


class AnswerCache(Generic[K, T]):
    """Answers by what was asked; who asks what is being worked out waits for it.

    Parameters
    ----------
    most : so many are kept, the oldest forgotten first
    """

    def __init__(self, most: int) -> None:
        """Begin with nothing known."""
        self._most = most
        self._known: OrderedDict[K, T] = OrderedDict()
        self._at_work: dict[K, asyncio.Future[tuple[T] | None]] = {}

    def known(self, key: K) -> T | None:
        """The answer, if it is there already."""
        return self._known.get(key)

    def keep(self, key: K, value: T) -> None:
        """Remember an answer."""
        self._known[key] = value
        if len(self._known) > self._most:
            self._known.popitem(last=False)

    async def ask(self, key: K, work: Callable[[], Awaitable[T]]) -> T:
        """The answer: known, or on its way for somebody else, or worked out now.

        Where the one who had it worked out gives up or fails, the next one has it worked out.
        """
        while (found := self._known.get(key)) is None:
            at_work = self._at_work.get(key)
            if at_work is None:
                return await self._worked_out(key, work)
            told = await asyncio.shield(at_work)
            if told is not None:
                return told[0]
        return found

    async def _worked_out(self, key: K, work: Callable[[], Awaitable[T]]) -> T:
        done: asyncio.Future[tuple[T] | None] = asyncio.get_running_loop().create_future()
        self._at_work[key] = done
        told: tuple[T] | None = None
        try:
            value = await work()
            told = (value,)
        finally:
            del self._at_work[key]
            done.set_result(told)
        if value is not None:
            self.keep(key, value)
        return value
