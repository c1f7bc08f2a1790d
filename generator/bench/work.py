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
import sys
from collections import OrderedDict
from collections.abc import Callable, Coroutine
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from typing import Any, ParamSpec, TypeVar

from generator.errors import BadInput, NoRest
from generator.workers import begin_worker

P = ParamSpec("P")
T = TypeVar("T")
Progress = Callable[[str, int, int], None]

# Loaded once in the process that the others are forked from.
_PRELOADED = ["generator.bench.solve"]


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
        self._watched, self._held = _context().Pipe(duplex=False)
        self._pool = self._started()

    def _started(self) -> ProcessPoolExecutor:
        pool = ProcessPoolExecutor(
            self._processes, _context(), begin_worker, (self._watched, self._held)
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
        return await self.do(client, topic, lambda: _in_a_process(on_progress, function, args))

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

    async def close(self) -> None:
        """End all that is at work, and wait until it has ended."""
        tasks = list(self._tasks.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)

    def _gone(self, key: tuple[str, str], task: asyncio.Task[Any]) -> None:
        if self._tasks.get(key) is task:
            del self._tasks[key]


def _context() -> Any:
    """Processes are forked from one that has loaded the solver and has no threads."""
    if sys.platform == "win32":
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(_PRELOADED)
    return context


def _warm() -> None:
    """Have a process load what the first question would wait for."""
    from generator.bench.solve import repeats_at
    from generator.sizes import RingSize
    from weaves import load_rule

    repeats_at(load_rule("one-in-one"), RingSize(1.0, 4.0), None, None)


async def _in_a_process(
    on_progress: Progress, function: Callable[..., T], args: tuple[object, ...]
) -> T:
    """The value of a function in a new process, which ends when this task is cancelled."""
    here, there = _context().Pipe(duplex=False)
    process = _context().Process(target=_work, args=(there, function, args), daemon=True)
    await asyncio.to_thread(process.start)
    there.close()
    try:
        while True:
            kind, *told = await _received(here)
            if kind == "step":
                on_progress(*told)
            elif kind == "value":
                value: T = told[0]
                return value
            else:
                raise told[0]
    finally:
        here.close()
        process.kill()


async def _received(here: Connection) -> tuple[Any, ...]:
    """The next message of a process, without holding up anybody else."""
    loop = asyncio.get_running_loop()
    ready = asyncio.Event()
    loop.add_reader(here.fileno(), ready.set)
    try:
        await ready.wait()
    finally:
        loop.remove_reader(here.fileno())
    # Some loops have what they watch never wait, which tears a long message apart.
    os.set_blocking(here.fileno(), True)
    try:
        message: tuple[Any, ...] = await asyncio.to_thread(here.recv)
    except EOFError:
        raise BadInput("The work was ended from outside, perhaps for lack of memory.") from None
    return message


def _work(there: Connection, function: Callable[..., object], args: tuple[object, ...]) -> None:
    """What the process of a slow question does."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    with contextlib.suppress(OSError):
        # What is dragged goes before what takes long.
        os.nice(5)
    with contextlib.suppress(BrokenPipeError):
        try:
            there.send(("value", function(lambda *step: there.send(("step", *step)), *args)))
        except (BadInput, NoRest) as trouble:
            there.send(("trouble", trouble))
        except MemoryError:
            there.send(("trouble", BadInput("There is not enough memory for this.")))
