"""How far a long piece of work has come: what a function that takes time calls as it goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

# Called with (what, done, of): what is being done, how many parts of it are, and of how many.
Progress = Callable[[str, int, int], None]

# Called with (done, of), where there is one thing only that takes time.
Tally = Callable[[int, int], None]


def quiet(what: str, done: int, of: int) -> None:
    """Progress that nobody watches."""


def uncounted(done: int, of: int) -> None:
    """A tally that nobody watches."""


@contextmanager
def tallied(what: str, on_progress: Progress) -> Iterator[Tally]:
    """A tally told on as progress, and as done at the end, which may come before the last round.

    Parameters
    ----------
    what : is being done
    """
    rounds = 0

    def told(done: int, of: int) -> None:
        nonlocal rounds
        rounds = of
        on_progress(what, done, of)

    yield told
    on_progress(what, rounds, rounds)
