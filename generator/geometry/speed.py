"""When to use the compiled loops of :mod:`ringwright.geometry.kernels`.

Importing the compiler and loading its stored machine code takes most of a second,
which some thousand pairs of rings do not repay. So the work is first done in
NumPy and added up, and the compiled loops take over once NumPy has taken about
as long as their start-up would have: at worst that doubles the time. Which of the two
does the work makes no difference to the results, not in the last bit.
"""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType

# Measured: the start-up takes as long as NumPy takes over so many pairs.
_START_UP = 50_000


class _Choice:
    """What this process has done in NumPy so far, in pairs, and the loops once loaded."""

    def __init__(self) -> None:
        self.spent = 0
        self.tried = False
        self.loops: ModuleType | None = None


_choice = _Choice()


def compiled(work: int) -> ModuleType | None:
    """The compiled loops, if they are worth it by now.

    Parameters
    ----------
    work : how long the call would take in NumPy, told in pairs whose distance NumPy
        could find meanwhile

    Returns
    -------
    The loops' module. None also where Numba is missing, is switched off, or has
    nowhere to keep machine code; it would then compile afresh in every run.
    """
    if not _choice.tried:
        _choice.spent += work
        if _choice.spent >= _START_UP:
            _choice.tried = True
            _choice.loops = load()
    return _choice.loops


def expect(work: int) -> None:
    """Load the compiled loops at once if they are worth it for so much work that is to come."""
    if _choice.spent + work >= _START_UP:
        compiled(work)


@contextmanager
def using(loops: ModuleType | None) -> Iterator[None]:
    """Do everything with these loops, or with None in NumPy, until the block ends."""
    before = vars(_choice).copy()
    _choice.tried, _choice.loops = True, loops
    try:
        yield
    finally:
        vars(_choice).update(before)


def load() -> ModuleType | None:
    """The compiled loops, or None where they cannot be had. The first time compiles them."""
    try:
        import numba

        if getattr(numba.config, "DISABLE_JIT", 0):
            return None
        return importlib.import_module("ringwright.geometry.kernels")
    # RuntimeError: Numba found no folder to keep machine code in. OSError: its library
    # does not load on this machine.
    except (ImportError, OSError, RuntimeError):
        return None
