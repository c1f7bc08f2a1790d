"""The examples in the API's own words, run as they stand."""

import doctest
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import ringwright.api

ROOT = Path(__file__).parents[2]
MODULES = [
    "ringwright",
    "ringwright.base.sizes",
    "ringwright.weaves.listed",
    *(f"ringwright.api.{found.name}" for found in pkgutil.iter_modules(ringwright.api.__path__)),
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_do_what_they_say(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = doctest.testmod(importlib.import_module(name))
    assert done.failed == 0


def test_every_function_of_the_api_has_an_example():
    for name in ringwright.__all__:
        offered = getattr(ringwright, name)
        if name not in ("weaves", "BadInput", "NoRest", "NotWritten", "Weave"):
            assert ">>>" in offered.__doc__, name


def offered():
    """Every function of the API, and every method of what it gives."""
    modules = [importlib.import_module(name) for name in MODULES if ".api." in name]
    classes = {
        one
        for module in modules
        for one in vars(module).values()
        if inspect.isclass(one) and one.__module__ == module.__name__ and not is_protocol(one)
    }
    methods = [one for each in classes for one in vars(each).values() if inspect.isfunction(one)]
    functions = [getattr(ringwright, name) for name in ringwright.__all__]
    found = [one for one in functions if inspect.isfunction(one)] + methods
    return sorted({one.__qualname__: one for one in found if is_public(one)}.items())


def is_public(one):
    return not one.__name__.startswith("_")


def is_protocol(one):
    """Whether it only says what another library's objects can do."""
    return getattr(one, "_is_protocol", False)


def test_all_that_is_offered_is_looked_at():
    names = {name for name, _ in offered()}
    assert names >= {"check", "jig", "Check.piece", "WholePiece.save", "Planned.save_all"}


@pytest.mark.parametrize(("name", "one"), offered())
def test_what_goes_in_and_what_comes_out_is_told(name, one):
    told, taken = inspect.getdoc(one), set(inspect.signature(one).parameters) - {"self"}
    parameters = re.search(r"Parameters\n-+\n(.*?)(\n\n[A-Z]|\Z)", told, re.DOTALL)
    listed = re.findall(r"^([\w, ]+) : ", parameters[1] if parameters else "", re.MULTILINE)
    assert {each for names in listed for each in names.split(", ")} == taken
    # What only tells a text or figures needs no more than its sentence.
    if name.split(".")[-1] not in ("facts", "text"):
        assert "Returns\n-------" in told
        assert "Raises\n------" in told


def test_the_readmes_lines_of_python_run(tmp_path, monkeypatch):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (lines,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)
    exec(compile(lines, "README.md", "exec"), {})
    assert (tmp_path / "out" / "bracelet.step").stat().st_size > 10_000
