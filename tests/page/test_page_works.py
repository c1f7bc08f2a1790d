"""What is kept of a tab on the disk: there and back, and nothing that is not its own."""

import json
import os
import stat
from dataclasses import replace
from pathlib import Path

import pytest

from ringwright.page.files import works
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import TabFolder, TabFolders
from ringwright.page.files.works import Kept, KeptRun, Works
from ringwright.page.serving.jobs import Slow
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import Settings
from ringwright.page.state.history import History, Moment
from ringwright.page.state.place import Place
from ringwright.page.state.project import Project

OWN = (Path(__file__).parents[1] / "rules" / "hopf.toml").read_text()
BEGUN = Project(Wanted(), (), "", "", Settings())
HISTORY = (
    History((Moment(BEGUN),))
    .put(replace(BEGUN, rule_text=OWN, wanted=Wanted(weave="test pair")), "test pair opened")
    .put(replace(BEGUN, rule_text=OWN, shop_text="[[wier]]", beside=(Wanted(),)), "text changed")
    .undone()
)
KEPT = Kept(
    HISTORY,
    Place("weave-it", 7),
    "the file",
    {"plan": KeptRun(("plan", "barrel"), {"shop.toml": "a shop"}, "abc", "a remark")},
    ("steps",),
)


def test_what_is_kept_comes_back_to_who_knows_its_key(tmp_path: Path) -> None:
    root = tmp_path / "state" / "pages"
    work = Works(root).work("")
    assert work.read() is None
    work.save(KEPT, 1)
    assert Works(root).work(work.key).read() == KEPT
    # What was told later is not written over by what was told before.
    work.save(replace(KEPT, on_disk="older"), 0)
    assert Works(root).work(work.key).read() == KEPT
    (folder,) = root.iterdir()
    assert work.key not in folder.name
    assert [stat.S_IMODE(one.stat().st_mode) for one in (root, folder)] == [0o700, 0o700]
    assert Works(root).work(work.key[::-1]).read() is None


@pytest.mark.parametrize("key", ["../../etc", "a/b", "x" * 42, "\u00fc" * 43, "x" * 44])
def test_a_key_that_a_browser_made_up_is_none(tmp_path: Path, key: str) -> None:
    work = Works(tmp_path / "pages").work(key)
    assert work.key != key
    assert work.folder is not None
    assert work.folder.parent == tmp_path / "pages"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"format": 1', '"format": 2'),
        ('"at": 1', '"at": 9'),
        ('"count": 3', '"count": 1'),
        ('"texts": [1', '"texts": [99'),
        ('"texts": [1, ', '"texts": ['),
        ('"on_disk"', '"at_disk"'),
        ("{", "["),
        (r"weave = \"test pair", r"weave = \"none such"),
    ],
)
def test_what_cannot_be_read_is_nothing(tmp_path: Path, old: str, new: str) -> None:
    work = Works(tmp_path / "pages").work("")
    work.save(KEPT, 1)
    assert work.folder is not None
    file = work.folder / "work.json"
    text = file.read_text()
    assert old in text
    file.write_text(text.replace(old, new))
    assert work.read() is None


def test_a_folder_that_others_can_look_into_is_not_used(tmp_path: Path) -> None:
    root = tmp_path / "pages"
    root.mkdir(mode=0o755)
    work = Works(root).work("")
    work.save(KEPT, 1)
    assert work.read() is None
    assert list(root.iterdir()) == []


def test_what_nobody_went_on_with_is_removed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    root = tmp_path / "pages"
    made = [Works(root).work("") for _ in range(4)]
    for age, work in enumerate(made):
        work.save(KEPT, 1)
        assert work.folder is not None
        then = (work.folder / "work.json").stat().st_mtime - age * 24 * 3600
        os.utime(work.folder / "work.json", (then, then))
    monkeypatch.setattr(works, "_MOST_WORKS", 3)
    monkeypatch.setattr(works, "_OLDEST_S", 1.5 * 24 * 3600)
    Works(root)
    assert [work.read() is not None for work in made] == [True, True, False, False]


def test_files_that_were_made_are_there_again(tmp_path: Path) -> None:
    rooms, command = TabFolders(Slow(1)), Command(("bundle",), {"read.toml": "x"})
    room = TabFolder(rooms, "a")
    room.keep_in(tmp_path / "made", {})
    made = room.put("bundle", command, {"all.zip": b"zip", "read.toml": b"x"})
    kept = json.loads(json.dumps({topic: run.folder for topic, run in room.kept().items()}))
    assert kept == {"bundle": made.folder.name}
    runs = room.kept()
    room.close()
    assert rooms.answer(*made.files[0].address.split("/")[2:]).status_code == 404
    again = TabFolder(rooms, "b")
    # A name in what is kept leads nowhere else, and what is gone is not offered.
    sly = replace(runs["bundle"], folder="../../" + tmp_path.name)
    again.keep_in(tmp_path / "made", {**runs, "sly": sly, "gone": replace(sly, folder="none")})
    found = again.made("bundle")
    assert found is not None
    assert (found.command, [one.name for one in found.files]) == (command, ["all.zip"])
    assert rooms.answer(*found.files[0].address.split("/")[2:]).status_code == 200
    assert again.made("sly") is again.made("gone") is None
