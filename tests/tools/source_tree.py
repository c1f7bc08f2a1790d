"""The project's folders under the names that they are imported by."""

from __future__ import annotations

import ast
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]


def settings() -> dict[str, Any]:
    """The project's ``pyproject.toml``."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def folders() -> Mapping[str, Path]:
    """Each folder of the package, by its dotted name: the outermost first."""
    named = settings()["tool"]["setuptools"]["package-dir"]
    return {name: ROOT / named[name] for name in sorted(named)}


def modules() -> Iterator[tuple[str, Path]]:
    """Every module by its dotted name, with its file; a package before what is in it."""
    for name, folder in folders().items():
        for path in sorted(folder.rglob("*.py"), key=_in_order):
            inside = path.relative_to(folder).with_suffix("").parts
            yield ".".join([name, *(part for part in inside if part != "__init__")]), path


def _in_order(path: Path) -> tuple[str, ...]:
    return tuple("" if part == "__init__.py" else part for part in path.parts)


def summary(path: Path) -> str:
    """The first line of a module's docstring, without its full stop."""
    said = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
    return said.partition("\n")[0].removesuffix(".")


def lay_out(target: Path) -> None:
    """Copy the package into a folder as an install lays it out, for tools that follow no mapping.

    Such tools look for ``ringwright/weaves`` where a checkout has ``weaves``. Files keep their
    times, so what a tool remembers of them stays good.
    """
    shutil.rmtree(target, ignore_errors=True)
    for name, folder in folders().items():
        shutil.copytree(
            folder,
            target.joinpath(*name.split(".")),
            ignore=shutil.ignore_patterns("__pycache__"),
            dirs_exist_ok=True,
        )


def in_checkout(said: str, target: Path) -> str:
    """What a tool said of files in ``target``, said of those of the checkout."""
    for name, folder in reversed(folders().items()):
        there = target.joinpath(*name.split("."))
        for form in (there.relative_to(ROOT), there):
            said = said.replace(f"{form}", str(folder.relative_to(ROOT)))
    return said
