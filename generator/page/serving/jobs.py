"""Heavy questions of many clients shared out over few cores, so that the page never waits.

Two kinds of work. A :class:`Quick` question, such as the repeat at a size that is being
dragged, is put to a pool of processes that are always there. A :class:`Slow` one has a process
of its own, which is ended as soon as nobody wants the answer any more. Of each client one
question a kind is at work at a time; a newer one of the same topic takes the place of one that
waits, and clients take turns.
"""

from __future__ import annotations

import asyncio
import contextlib
import multiprocessing
import os
import threading
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection, wait
from typing import Any, ParamSpec, TypeVar

from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.system import give_way
from ringwright.base.workers import AFRESH, begin_worker

P = ParamSpec("P")
T = TypeVar("T")

_ENDED = "The work was stopped from outside, perhaps because memory ran out."


class Superseded(Exception):
    """A newer question of the same client took this one's place, or it was given up."""


@dataclass(eq=False)
class _Question:
    """A question that waits or is at work."""

    start: Callable[[], asyncio.Future[Any]]
    answer: asyncio.Future[Any]


class Turns:
    """Who may work next: one question of each client at a time, clients in turn.

    Parameters
    ----------
    places : how many questions are at work at once
    """

    def __init__(self, places: int) -> None:
        """Begin with nobody waiting."""
        self._free = places
        # In the order in which clients take turns; each with its questions by topic.
        self._waiting: OrderedDict[str, OrderedDict[str, _Question]] = OrderedDict()
        self._at_work: set[str] = set()

    async def ask(self, client: str, topic: str, start: Callable[[], asyncio.Future[T]]) -> T:
        """The answer, once it is this client's turn.

        Raises
        ------
        Superseded
            When a newer question of this client and topic came while this one waited.
        """
        mine = _Question(start, asyncio.get_running_loop().create_future())
        asked = self._waiting.setdefault(client, OrderedDict())
        older = asked.pop(topic, None)
        if older is not None:
            _settle(older.answer, Superseded())
        asked[topic] = mine
        self._go_on()
        try:
            answer: T = await mine.answer
        finally:
            topics = self._waiting.get(client)
            if topics is not None and topics.get(topic) is mine:
                self._drop(client, topic)
        return answer

    def forget(self, client: str) -> None:
        """Give up what a client that has gone was waiting for."""
        for question in self._waiting.pop(client, {}).values():
            _settle(question.answer, Superseded())

    def withdraw(self, client: str, topic: str) -> None:
        """Give up what a client waits for of one topic."""
        if topic in self._waiting.get(client, {}):
            _settle(self._drop(client, topic).answer, Superseded())

    @property
    def is_full(self) -> bool:
        """Whether what is asked for now has to wait."""
        return not self._free

    @property
    def waiting(self) -> int:
        """How many questions wait for their turn."""
        return sum(len(topics) for topics in self._waiting.values())

    def _drop(self, client: str, topic: str) -> _Question:
        topics = self._waiting[client]
        question = topics.pop(topic)
        if not topics:
            del self._waiting[client]
        return question

    def _go_on(self) -> None:
        while self._free and (client := self._next()) is not None:
            question = self._drop(client, next(iter(self._waiting[client])))
            if client in self._waiting:
                self._waiting.move_to_end(client)
            self._free -= 1
            self._at_work.add(client)
            task = question.start()
            task.add_done_callback(partial(self._done, client, question))

    def _next(self) -> str | None:
        return next((one for one in self._waiting if one not in self._at_work), None)

    def _done(self, client: str, question: _Question, done: asyncio.Future[Any]) -> None:
        self._free += 1
        self._at_work.discard(client)
        if done.cancelled():
            _settle(question.answer, Superseded())
        elif (trouble := done.exception()) is not None:
            _settle(question.answer, trouble)
        elif not question.answer.done():
            question.answer.set_result(done.result())
        self._go_on()


def _settle(answer: asyncio.Future[Any], trouble: BaseException) -> None:
    if not answer.done():
        answer.set_exception(trouble)


class Quick:
    """Short questions, put to processes that are always there."""

    def __init__(self, processes: int) -> None:
        """Start the processes ahead of the first question."""
        self._processes = processes
        self._turns = Turns(processes)
        self._watched, self._held = AFRESH.Pipe(duplex=False)
        self._pool = self._started()

    def _started(self) -> ProcessPoolExecutor:
        pool = ProcessPoolExecutor(
            self._processes, AFRESH, begin_worker, (self._watched, self._held)
        )
        for _ in range(self._processes):
            pool.submit(_warm)
        return pool

    async def ask(
        self, client: str, topic: str, function: Callable[P, T], *args: P.args, **named: P.kwargs
    ) -> T:
        """The value of a function, which must be one that a process can import.

        Raises
        ------
        Superseded
            When a newer question of this client and topic took this one's place.
        """

        def start() -> asyncio.Future[T]:
            try:
                return asyncio.wrap_future(self._pool.submit(function, *args, **named))
            except BrokenProcessPool:
                # A process was killed, perhaps for its memory; the next one starts afresh.
                self._pool = self._started()
                return asyncio.wrap_future(self._pool.submit(function, *args, **named))

        return await self._turns.ask(client, topic, start)

    def forget(self, client: str) -> None:
        """Give up what a client that has gone was waiting for."""
        self._turns.forget(client)

    def close(self) -> None:
        """End the processes."""
        self._held.close()
        # To its end: the pool's thread must not be met half closed when Python ends.
        self._pool.shutdown(wait=True, cancel_futures=True)


class Slow:
    """Long questions, each in a process of its own that can be ended."""

    def __init__(self, places: int) -> None:
        """Begin with nothing at work."""
        self._turns = Turns(places)
        self._tasks: dict[tuple[str, str], asyncio.Task[Any]] = {}
        self._spare: _Process | None = None
        self._closed = False

    async def ask(
        self,
        client: str,
        topic: str,
        on_progress: Progress,
        function: Callable[..., T],
        *args: object,
    ) -> T:
        """The value of ``function(progress, *args)``; an older question of the topic is ended.

        Raises
        ------
        Superseded
            When a newer question took this one's place, or it was given up.
        """
        return await self.do(client, topic, lambda: self._in_a_process(on_progress, function, args))

    async def do(self, client: str, topic: str, begin: Callable[[], Coroutine[Any, Any, T]]) -> T:
        """What comes of some other long work, once it is this client's turn.

        An older work of the topic is ended; ``begin`` is called when this one's turn has come.

        Raises
        ------
        Superseded
            When a newer one took this one's place, or it was given up.
        """
        self.give_up(client, topic)

        def start() -> asyncio.Task[T]:
            task = asyncio.create_task(begin())
            self._tasks[client, topic] = task
            task.add_done_callback(lambda _: self._gone((client, topic), task))
            return task

        return await self._turns.ask(client, topic, start)

    @property
    def is_full(self) -> bool:
        """Whether what is asked for now has to wait for its turn."""
        return self._turns.is_full

    def give_up(self, client: str, topic: str) -> None:
        """End what is at work on a client's topic, if there is anything, or waits."""
        self._turns.withdraw(client, topic)
        task = self._tasks.pop((client, topic), None)
        if task is not None:
            task.cancel()

    def forget(self, client: str) -> None:
        """Give up all questions of a client that has gone."""
        self._turns.forget(client)
        for of, topic in list(self._tasks):
            if of == client:
                self.give_up(of, topic)

    async def _in_a_process(
        self, on_progress: Progress, function: Callable[..., T], args: tuple[object, ...]
    ) -> T:
        """The value of a function in a new process, which ends when this task is cancelled."""
        process, self._spare = self._spare, None
        if process is None:
            process = await asyncio.to_thread(_Process)
        # Loading takes as long as many an answer, so the next one is begun ahead.
        ahead = asyncio.create_task(self._start_a_spare())
        try:
            async for kind, *told in process.answers(function, args):
                if kind == "step":
                    on_progress(*told)
                elif kind == "value":
                    value: T = told[0]
                    return value
                else:
                    raise told[0]
            raise AssertionError("a process tells until its value has come")
        finally:
            process.end()
            await asyncio.shield(ahead)

    async def _start_a_spare(self) -> None:
        if self._spare is None:
            spare = await asyncio.to_thread(_Process)
            if self._spare is None and not self._closed:
                self._spare = spare
            else:
                spare.end()

    async def close(self) -> None:
        """End all that is at work, and wait until it has ended."""
        self._closed = True
        tasks = list(self._tasks.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        if self._spare is not None:
            self._spare.end()

    def _gone(self, key: tuple[str, str], task: asyncio.Task[Any]) -> None:
        if self._tasks.get(key) is task:
            del self._tasks[key]


def _warm() -> None:
    """Have a process load what the first question would wait for."""
    from ringwright.base.sizes import RingSize
    from ringwright.page.worked_out.solve import repeats_at
    from ringwright.weaves import load_rule

    repeats_at(load_rule("one-in-one"), RingSize(1.0, 4.0), None, None)


class _Process:
    """A process that has loaded the solver and waits for its one question."""

    def __init__(self) -> None:
        """Start it."""
        self._here, there = AFRESH.Pipe()
        self._process = AFRESH.Process(target=_work, args=(there,), daemon=True)
        self._process.start()
        there.close()

    async def answers(
        self, function: Callable[..., object], args: tuple[object, ...]
    ) -> AsyncIterator[tuple[Any, ...]]:
        """What it tells while it works on a function's value, the value last."""
        loop = asyncio.get_running_loop()
        told: asyncio.Queue[tuple[Any, ...]] = asyncio.Queue()

        def listen() -> None:
            kind = "step"
            while kind == "step":
                try:
                    message = self._here.recv()
                except (EOFError, OSError):
                    message = ("trouble", BadInput(_ENDED))
                kind = message[0]
                # The server may have closed its loop meanwhile.
                with contextlib.suppress(RuntimeError):
                    loop.call_soon_threadsafe(told.put_nowait, message)

        await asyncio.to_thread(self._ask, function, args)
        threading.Thread(target=listen, daemon=True).start()
        while True:
            yield await told.get()

    def _ask(self, function: Callable[..., object], args: tuple[object, ...]) -> None:
        # Of one that is gone, listening tells.
        with contextlib.suppress(BrokenPipeError):
            self._here.send((function, args))

    def end(self) -> None:
        """End it at once; whoever listens to it hears no more."""
        self._process.kill()


def _work(there: Connection) -> None:
    """What the process of a slow question does."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    threading.Thread(target=_end_with_the_server, daemon=True).start()
    # What is dragged goes before what takes long.
    give_way()
    with contextlib.suppress(BrokenPipeError, EOFError):
        _warm()
        function, args = there.recv()
        try:
            there.send(("value", function(lambda *step: there.send(("step", *step)), *args)))
        except (BadInput, NoRest) as trouble:
            there.send(("trouble", trouble))
        except MemoryError:
            there.send(("trouble", BadInput("There is not enough memory for this.")))


def _end_with_the_server() -> None:
    server = multiprocessing.parent_process()
    if server is not None:
        wait([server.sentinel])
        os._exit(1)
