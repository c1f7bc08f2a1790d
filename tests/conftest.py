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

# The files that take longest, longest first, those that need a browser before the others. They are
# begun first, so that all cores are busy to the end.
LONGEST = (
    "test_page_in_browser",
    "test_page_choose_in_browser",
    "test_page_files_in_browser",
    "test_page_model_in_browser",
    "test_page_help_in_browser",
    "test_every_weave",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long files first; a file's tests stay together."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(LONGEST)))


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
    """A real browser.

    A module's, not the session's: while it is open, nothing else in this process may run an event
    loop of its own.
    """
    with chromium() as one:
        yield one


@pytest.fixture(scope="session")
def served() -> Iterator[Served]:
    """The page, served once for all tests of a process, and ended in good order."""
    one = serve()
    yield one
    assert one.close() == 0
