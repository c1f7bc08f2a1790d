"""Settings for all tests."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
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
    "test_lay",
    "test_second_rings",
    "test_stills",
    "test_cli",
    "test_assembly_sheet",
    "test_api",
    "test_plan",
    "test_giant_sample",
    "test_laid",
    "test_teaching",
    "test_sweep",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long files first; a file's tests stay together."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(LONGEST)))


@pytest.fixture(scope="session", autouse=True)
def one_process() -> Iterator[None]:
    """What would be shared out to a process per core is done by the one that asks for it.

    The tests keep all cores busy by themselves, and a process loads for longer than most of them
    have to do. Those in which a number of processes is asked for have them, and so have those that
    use ``processes``.
    """
    from ringwright.base import workers
    from ringwright.solver import tightest

    with pytest.MonkeyPatch.context() as patch:
        for module in (workers, tightest):
            patch.setattr(module, "multiprocessing", SimpleNamespace(cpu_count=lambda: 0))
        yield


@pytest.fixture
def processes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two processes share work out, as on a machine of two cores."""
    from ringwright.base import workers
    from ringwright.solver import tightest

    for module in (workers, tightest):
        monkeypatch.setattr(module, "multiprocessing", SimpleNamespace(cpu_count=lambda: 2))


@pytest.fixture
def unpictured(monkeypatch: pytest.MonkeyPatch) -> None:
    """No picture is drawn, as where there is no graphics library: that takes long."""
    monkeypatch.setattr("ringwright.outputs.models.artist._command", lambda: ["false"])


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
