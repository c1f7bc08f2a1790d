"""The examples in the API's own words, run as they stand."""

import doctest
import importlib
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
        if name not in ("weaves", "BadInput", "NoRest", "Weave"):
            assert ">>>" in offered.__doc__, name


def test_the_readmes_lines_of_python_run(tmp_path, monkeypatch):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    (lines,) = re.findall(r"```python\n(.*?)```", text, re.DOTALL)
    (tmp_path / "out").mkdir()
    monkeypatch.chdir(tmp_path)
    exec(compile(lines, "README.md", "exec"), {})
    assert (tmp_path / "out" / "bracelet.step").stat().st_size > 10_000
