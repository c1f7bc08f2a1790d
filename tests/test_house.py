"""The project's own order: what is installed, what stands where, and the picture of it."""

import subprocess
import sys

from tests.tools.layers import PLACE, placed
from tests.tools.source_tree import ROOT, folders, modules, settings, summary


def test_every_folder_with_modules_is_installed():
    """A package that is not listed would be missing in an install, and only there."""
    listed = settings()["tool"]["setuptools"]["packages"]
    assert sorted(listed) == sorted(name for name, path in modules() if path.stem == "__init__")
    assert len(set(listed)) == len(listed)


def test_all_else_that_the_program_reads_is_installed():
    data = settings()["tool"]["setuptools"]["package-data"]
    installed = {
        path
        for name, patterns in data.items()
        for pattern in patterns
        for path in folders()[name].glob(pattern)
    }
    there = {
        path
        for folder in folders().values()
        for path in folder.rglob("*")
        if path.is_file() and path.suffix != ".py" and path.parent.name != "__pycache__"
    }
    assert there == installed


def test_nothing_else_is_installed_on_the_top_level():
    """A maker's own weaves.py or generator.py beside her script must not stand in the way."""
    listed = settings()["tool"]["setuptools"]["packages"]
    assert {name.split(".")[0] for name in listed} == {"ringwright"}
    assert not any((ROOT / name / "ringwright").exists() for name in ("", "generator"))


def test_a_makers_own_files_do_not_stand_in_the_way(tmp_path):
    for name in ("generator", "weaves", "jigs"):
        (tmp_path / f"{name}.py").write_text("raise SystemExit('the wrong one')\n")
    done = subprocess.run(
        [sys.executable, "-m", "ringwright.cli", "weaves", "barrel"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert "barrel" in done.stdout


def test_every_module_says_what_it_is_for():
    assert [name for name, path in modules() if not summary(path)] == []


def test_the_picture_of_the_layers_is_up_to_date():
    """Made anew by ``python -m tests.tools.layers --write``."""
    text = PLACE.read_text(encoding="utf-8")
    assert placed(text) == text
