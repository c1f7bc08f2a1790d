"""Batches of files: all appear or none, whatever goes wrong."""

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles

ROOT = Path(__file__).resolve().parents[2]


def contents(folder):
    return {path.name: path.read_text() for path in folder.iterdir()}


def write_two(folder, then=None):
    with WholeFiles(folder) as batch:
        batch.new("a.txt").write_text("new a")
        batch.new("b.txt").write_text("new b")
        if then is not None:
            raise then


@pytest.fixture
def old(tmp_path):
    """A folder with an older a.txt, b.txt and something else."""
    for name in ("a", "b", "c"):
        (tmp_path / f"{name}.txt").write_text(f"old {name}")
    return tmp_path


OLD = {"a.txt": "old a", "b.txt": "old b", "c.txt": "old c"}
NEW = {"a.txt": "new a", "b.txt": "new b", "c.txt": "old c"}


def fails_on_call(real, number, error):
    """A function like ``real``, but the call of that number raises instead."""
    calls = iter(range(1, 1000))

    def replacement(*arguments, **options):
        if next(calls) == number:
            raise error
        return real(*arguments, **options)

    return replacement


def test_files_replace_older_ones_and_leave_nothing_else(old):
    write_two(old)
    assert contents(old) == NEW


def test_nothing_shows_under_its_name_before_the_end(old):
    with WholeFiles(old) as batch:
        hidden = batch.new("a.txt")
        hidden.write_text("new a")
        assert hidden.parent == old
        assert hidden.name.startswith(".")
        assert hidden.suffix == ".txt"
        assert (old / "a.txt").read_text() == "old a"


def test_missing_folders_are_made(tmp_path):
    write_two(tmp_path / "x" / "y")
    assert contents(tmp_path / "x" / "y") == {"a.txt": "new a", "b.txt": "new b"}


def test_a_dropped_file_does_not_appear_and_its_older_one_stays(old):
    with WholeFiles(old) as batch:
        batch.new("a.txt").write_text("new a")
        batch.new("b.txt").write_text("half a picture")
        batch.drop("b.txt")
    assert contents(old) == {**OLD, "a.txt": "new a"}


def test_a_new_file_has_the_usual_mode_and_an_older_ones_mode_is_kept(tmp_path):
    (tmp_path / "a.txt").write_text("old a")
    (tmp_path / "a.txt").chmod(0o640)
    before = os.umask(0o027)
    try:
        write_two(tmp_path)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "a.txt").stat().st_mode) == 0o640
    assert stat.S_IMODE((tmp_path / "b.txt").stat().st_mode) == 0o666 & ~0o027


@pytest.mark.parametrize("error", [ValueError("a defect"), KeyboardInterrupt(), SystemExit(3)])
def test_an_exception_in_the_block_passes_and_undoes_everything(old, error):
    with pytest.raises(type(error)) as caught:
        write_two(old, error)
    assert caught.value is error
    assert contents(old) == OLD


def test_folders_made_for_a_batch_go_when_it_fails(tmp_path):
    with pytest.raises(KeyboardInterrupt):
        write_two(tmp_path / "x" / "y", KeyboardInterrupt())
    assert list(tmp_path.iterdir()) == []


def test_a_folder_in_which_something_else_appeared_stays(tmp_path):
    def interrupted():
        with WholeFiles(tmp_path / "x" / "y") as batch:
            batch.new("a.txt")
            (tmp_path / "x" / "other.txt").write_text("not ours")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert contents(tmp_path / "x") == {"other.txt": "not ours"}


@pytest.mark.parametrize("number", [1, 2])
def test_a_rename_that_fails_half_way_is_rolled_back(old, monkeypatch, number):
    error = OSError(errno.EIO, "Input/output error")
    monkeypatch.setattr(os, "replace", fails_on_call(os.replace, number, error))
    with pytest.raises(BadInput, match=r"[ab]\.txt' could not be written: Input/output error"):
        write_two(old)
    assert contents(old) == OLD


@pytest.mark.parametrize("number", [1, 2])
def test_an_interrupt_between_renames_is_rolled_back(old, monkeypatch, number):
    replace = fails_on_call(os.replace, number, KeyboardInterrupt())
    monkeypatch.setattr(os, "replace", replace)
    with pytest.raises(KeyboardInterrupt):
        write_two(old)
    assert contents(old) == OLD


def test_a_rename_that_fails_takes_back_files_that_were_not_there(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "replace", fails_on_call(os.replace, 2, KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt):
        write_two(tmp_path / "x")
    assert list(tmp_path.iterdir()) == []


def test_a_disk_without_second_names_is_rolled_back_too(old, monkeypatch):
    def no_links(*arguments, **options):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    monkeypatch.setattr(os, "replace", fails_on_call(os.replace, 2, KeyboardInterrupt()))
    with pytest.raises(KeyboardInterrupt):
        write_two(old)
    assert contents(old) == OLD
    monkeypatch.undo()
    monkeypatch.setattr(os, "link", no_links)
    write_two(old)
    assert contents(old) == NEW


def test_an_older_file_outlives_a_rollback_that_is_refused(old, monkeypatch):
    def refuses(source, target):
        if Path(target).name == "b.txt" or ".old" in Path(source).name:
            raise OSError(errno.EIO, "Input/output error")
        return replace(source, target)

    replace = os.replace
    monkeypatch.setattr(os, "replace", refuses)
    with pytest.raises(BadInput):
        write_two(old)
    left = contents(old)
    assert "old a" in left.values()
    assert left["b.txt"] == "old b"


def test_a_file_where_the_folder_should_be_is_refused(old):
    with pytest.raises(BadInput, match=r"c\.txt.* a part of that path is a file") as caught:
        write_two(old / "c.txt")
    assert str(caught.value).count(".txt") == 1
    with pytest.raises(BadInput, match="a part of that path is a file"):
        write_two(old / "c.txt" / "deeper")
    assert contents(old) == OLD


def test_a_folder_where_a_file_should_be_is_refused(tmp_path):
    (tmp_path / "b.txt").mkdir()
    with pytest.raises(BadInput, match=r"b\.txt' could not be written: a folder of that name"):
        write_two(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["b.txt"]


def test_something_that_is_no_plain_file_is_not_replaced(tmp_path):
    os.mkfifo(tmp_path / "b.txt")
    with pytest.raises(BadInput, match=r"b\.txt' could not be written"):
        write_two(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["b.txt"]


def test_a_folder_that_takes_no_files_is_refused():
    # Nobody can make files there, not even the superuser.
    with pytest.raises(BadInput, match=r"'/proc/self/[^']+' could not be written"):
        write_two(Path("/proc/self/fdinfo"))
    with pytest.raises(BadInput, match="'/proc/ringwright' could not be written"):
        write_two(Path("/proc/ringwright"))


@pytest.mark.parametrize("where", ["folder", "file"])
def test_a_name_too_long_is_refused(tmp_path, where):
    name = "n" * 300
    with (
        pytest.raises(BadInput, match="the name is too long"),
        WholeFiles(tmp_path / name if where == "folder" else tmp_path) as batch,
    ):
        batch.new(f"{name}.txt")
    assert list(tmp_path.iterdir()) == []


def test_a_name_as_long_as_the_disk_allows_is_taken(tmp_path):
    name = "n" * 251 + ".txt"
    with WholeFiles(tmp_path) as batch:
        batch.new(name).write_text("long")
    assert contents(tmp_path) == {name: "long"}


@pytest.mark.parametrize("name", ["", ".", "..", "x/y", "a.txt"])
def test_a_name_must_be_a_new_plain_name(tmp_path, name):
    with WholeFiles(tmp_path) as batch:
        batch.new("a.txt")
        with pytest.raises(ValueError, match="not a new file name"):
            batch.new(name)


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EFBIG, errno.EDQUOT])
def test_a_full_disk_is_told_of_the_file_that_was_being_written(old, number):
    with pytest.raises(BadInput, match=r"b\.txt' could not be written because the disk or the qu"):
        write_two(old, OSError(number, os.strerror(number)))
    assert contents(old) == OLD


def test_an_error_about_something_else_is_not_blamed_on_the_files(old):
    error = FileNotFoundError(errno.ENOENT, "No such file or directory", "/no/such/program")
    with pytest.raises(FileNotFoundError):
        write_two(old, error)
    assert contents(old) == OLD


FULL_DISK = """
import resource, sys
from pathlib import Path
import numpy as np
from ringwright.base.errors import BadInput
from ringwright.base.files import WholeFiles
from ringwright.piece.piece import Piece

from ringwright.outputs.models.write_{kind} import write_{kind}

count = 60
piece = Piece(
    tuple(f"A.{{ring + 1}}" for ring in range(count)),
    ("open",) * count,
    np.arange(3.0 * count).reshape(count, 3),
    np.tile([0.0, 0.6, 0.8], (count, 1)),
    np.full(count, 2.0),
    np.full(count, 0.4),
)
resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))
try:
    with WholeFiles(Path(sys.argv[1])) as batch:
        write_{kind}(piece, batch.new("a.{kind}"))
except BadInput as error:
    print(error, file=sys.stderr)
"""


@pytest.mark.parametrize("kind", ["stl", "glb", "step"])
def test_each_writer_notices_a_full_disk(tmp_path, kind):
    (tmp_path / f"a.{kind}").write_text("old")
    run = subprocess.run(
        [sys.executable, "-c", FULL_DISK.format(kind=kind), str(tmp_path)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
    )
    assert f"a.{kind}' could not be written because the disk or the quota is full" in run.stderr
    assert run.stderr.count("\n") == 1
    assert run.stdout == ""
    assert contents(tmp_path) == {f"a.{kind}": "old"}
