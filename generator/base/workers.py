"""Worker processes that end with the work, however it ends."""

from __future__ import annotations

import atexit
import multiprocessing
import os
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnContext, SpawnProcess
from typing import ParamSpec, TypeVar

from ringwright.base.system import interrupts_held

_P = ParamSpec("_P")
_T = TypeVar("_T")


def worker_count(asked: int | None, tasks: int) -> int:
    """How many processes share out so many tasks.

    Parameters
    ----------
    asked : at most so many; one per core if None, and with 0 none: all is done in this process
    """
    return 0 if asked == 0 else min(asked or multiprocessing.cpu_count(), tasks)


class _Here(Executor):
    """Does what it is given at once, in this process."""

    def submit(self, task: Callable[_P, _T], /, *args: _P.args, **kwargs: _P.kwargs) -> Future[_T]:
        done: Future[_T] = Future()
        try:
            done.set_result(task(*args, **kwargs))
        except Exception as error:
            done.set_exception(error)
        return done


class _Process(SpawnProcess):
    """A process that Ctrl-C never reaches, not even while it starts, and that runs no script again.

    What it is to do is always the program's own, so a maker's script that uses it needs no guard
    against being run a second time.
    """

    def start(self) -> None:
        with interrupts_held(), _script_unseen():
            super().start()


class _Afresh(SpawnContext):
    Process = _Process


# Started afresh, as every system can: what works on one works on all.
AFRESH = _Afresh()


@contextmanager
def _script_unseen() -> Iterator[None]:
    """Hide where the running script lies; a new process would run it for what it defines."""
    main = sys.modules["__main__"]
    spec, path = getattr(main, "__spec__", None), vars(main).pop("__file__", None)
    main.__spec__ = None
    try:
        yield
    finally:
        main.__spec__ = spec
        if path is not None:
            main.__file__ = path


@contextmanager
def worker_pool(workers: int) -> Iterator[Executor]:
    """A pool of processes that ends at once when the block fails or this process dies.

    With 0 workers no process is started: each task is done when it is submitted.

    Ctrl-C is left to this process. Every worker watches a pipe and ends itself when the
    writing end is gone, because the block has failed or because this process was killed.
    """
    if workers == 0:
        yield _Here()
        return
    watched, held = AFRESH.Pipe(duplex=False)
    pool = ProcessPoolExecutor(
        max_workers=workers,
        mp_context=AFRESH,
        initializer=begin_worker,
        initargs=(watched, held),
    )
    try:
        yield pool
    except BaseException:
        held.close()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        held.close()
        watched.close()


def begin_worker(watched: Connection, held: Connection) -> None:
    """Leave Ctrl-C to the parent, and end when the other end of ``watched`` is gone."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # All that a worker has to say it has said by then; taking libraries apart takes a while.
    atexit.register(os._exit, 0)
    # A worker's own copy of the writing end would keep the pipe open for all others.
    held.close()
    threading.Thread(target=_end_with, args=(watched,), daemon=True).start()


def _end_with(watched: Connection) -> None:
    wait([watched])
    os._exit(1)
