"""Settings for all tests."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import Served, chromium, serve

# The solver's matrices are small: a second BLAS thread only costs time. The command sets
# this too, but tests import numpy before it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., object]:
    """Reads a text as a maker's rule file, by the file's name if that matters."""
    from ringwright.weaves import load_rule

    def write_and_load(text: str, name: str = "mine.toml") -> object:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return load_rule(path)

    return write_and_load


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A real browser."""
    with chromium() as one:
        yield one


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    """The page, served, and ended in good order."""
    one = serve()
    yield one
    assert one.close() == 0
