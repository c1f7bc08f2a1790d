"""What the bench hands out: command lines, private folders, files under names nobody guesses."""

import asyncio
import html
import json
import os
import re
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Coroutine
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from ringwright.api.check import check
from ringwright.base.errors import BadInput
from ringwright.cli import _parser
from ringwright.outputs.gallery.gallery import shown_piece
from ringwright.outputs.gallery.write_gallery import turnable_page
from ringwright.page.files.command_lines import TOPICS, Chosen, command_for, jig_options
from ringwright.page.files.private_folder import private_folder
from ringwright.page.files.run_command import Command
from ringwright.page.files.tab_folders import TabFolder, TabFolders
from ringwright.page.files.zip_file import readme
from ringwright.page.serving.jobs import Slow, Superseded
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import Settings
from ringwright.weaves import load_rule
from ringwright.weaves.writing import rule_text

SIZE = ("--wire", "0.9mm", "--inner", "3.2mm")
# A rule that is searched: none of those whose searches are kept.
OWN = rule_text(load_rule("one-in-one")).replace("[2.4, 0.0, 0.0]", "[2.41, 0.0, 0.0]")
DRAWING = Command(
    ("drawing", "./own.toml", *SIZE, "--out", "drawing/one-in-one"), {"own.toml": OWN}
)


def chosen(weave: str = "barrel", settings: Settings | None = None, **wanted: str) -> Chosen:
    want = replace(Wanted(), weave=weave, **wanted)
    return Chosen(want, load_rule(weave), "", "", settings or Settings())


@pytest.mark.parametrize("weave", ["barrel", "european-4-in-1"])
@pytest.mark.parametrize("topic", TOPICS)
def test_every_command_line_is_one_of_the_program(topic: str, weave: str) -> None:
    settings = Settings(paper="letter", clasp="12mm", bed="180x180x180mm", clearance="0.25mm")
    command = command_for(topic, chosen(weave, settings, width="20mm"))
    options = _parser().parse_args(command.arguments)
    assert options.wire == "0.9mm"
    assert options.inner == "3.2mm"
    assert len(Path(options.out).parts) == 2
    if hasattr(options, "bed"):
        assert (options.bed, options.clearance) == ("180x180x180mm", "0.25mm")


def test_what_is_typed_is_never_another_option_or_file() -> None:
    sly = "--out=/tmp/elsewhere"
    settings = Settings(clasp=sly, spares=sly).with_jig_option("winding-guide", "coil_length", sly)
    for topic in ("plan", "winding-guide"):
        command = command_for(topic, chosen(settings=settings, wire=sly, length=sly))
        options = _parser().parse_args(command.arguments)
        assert options.wire == sly
        assert not Path(options.out).is_absolute()
    own = replace(chosen(), own_rule_text="a rule", shop_text="a shop")
    command = command_for("plan", own)
    assert command.reads == {"weave.toml": "a rule", "shop.toml": "a shop"}
    assert command.arguments[1] == "weave.toml"
    assert "--shop shop.toml" in command.line()


def test_the_mandrel_goes_before_the_ring_and_the_shelf_before_the_wire() -> None:
    line = command_for("plan", chosen(mandrel="3.2mm", shelf="copper 0.9")).line()
    assert "--wire 'copper 0.9' --mandrel 3.2mm" in line
    assert "--inner" not in line
    assert "--metal" not in line


@pytest.mark.parametrize("topic", TOPICS)
def test_second_rings_go_into_every_command_line_that_takes_a_weave(topic: str) -> None:
    command = command_for(topic, chosen("helm-chain", second="small=1mm/4.1mm;big=1mm/9mm"))
    options = _parser().parse_args(command.arguments)
    takes = hasattr(options, "weave")
    assert getattr(options, "second", []) == (["small=1mm/4.1mm", "big=1mm/9mm"] if takes else [])
    sly = command_for("plan", chosen("helm-chain", second="--out=/tmp/elsewhere"))
    assert _parser().parse_args(sly.arguments).second == ["--out=/tmp/elsewhere"]


def test_options_of_a_jig_are_those_of_its_command() -> None:
    options = {option.name: option for option in jig_options("winding-guide")}
    assert options["hand"].choices == ("right", "left")
    assert options["coil_length"].default == "100mm"
    assert jig_options("sorting-tray")[-1].kind == "yes"
    line = command_for("winding-guide", chosen(temper="soft", metal="brass")).line()
    assert "--metal brass --temper soft" in line
    typed = Settings().with_jig_option("winding-guide", "temper", "half hard")
    assert "soft" not in command_for("winding-guide", chosen(settings=typed)).line()
    settings = Settings().with_jig_option("sorting-tray", "board", "yes")
    assert "--board" in command_for("sorting-tray", chosen(settings=settings)).arguments


def test_a_bundle_says_what_each_file_is_for() -> None:
    commands = {topic: command_for(topic, chosen()) for topic in ("plan", "ring-gauge")}
    commands["plan"] = replace(commands["plan"], reads={"shop.toml": "a shop"})
    made = {
        "plan/barrel.pdf": "plan",
        "plan/barrel.csv": "plan",
        "jigs/ring-gauge.3mf": "ring-gauge",
    }
    said = readme("barrel", commands, made)
    for words in ("Plan for the bench:", "Ring gauge:"):
        assert words in said.splitlines()
    told = {line.split()[0]: " ".join(line.split()[1:]) for line in said.splitlines() if line}
    assert told["plan/barrel.pdf"] == "to print"
    assert told["plan/barrel.csv"] == "table for a spreadsheet"
    assert told["jigs/ring-gauge.3mf"] == "for the slicer, with its unit"
    assert "opens all" in told["project.toml"]
    assert "read by" in told["shop.toml"]
    assert commands["plan"].line() in said


def test_a_page_that_turns_has_every_ring_and_loads_nothing() -> None:
    piece = shown_piece(check("one-in-one", "0.9mm", "3.2mm").report)
    page = turnable_page("One <in> one", "A part of it.", piece, [("wire", '1/16" & more')])
    assert "One &lt;in&gt; one" in page
    assert "1/16&quot; &amp; more" in page
    found = re.search('data-rings="([^"]*)"', page)
    assert found is not None
    told = json.loads(html.unescape(found[1]))
    assert len(told["rings"]) == 11 * len(piece)
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)=", page)
    assert "http" not in page.replace('http-equiv="', "")


def children_of(parent: int) -> list[int]:
    """All processes below one, as Linux tells them."""
    found = []
    for task in Path(f"/proc/{parent}/task").iterdir():
        for child in map(int, (task / "children").read_text().split()):
            found += [child, *children_of(child)]
    return found


def is_running(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def played(play: Callable[[TabFolders], Coroutine[Any, Any, None]]) -> None:
    async def all_of_it() -> None:
        rooms = TabFolders(Slow(1))
        try:
            await play(rooms)
        finally:
            await rooms.close()

    asyncio.run(all_of_it())


def test_files_are_made_in_private_and_go_with_the_tab() -> None:
    async def play(rooms: TabFolders) -> None:
        room, steps = TabFolder(rooms, "a"), []
        run = await room.make("drawing", DRAWING, lambda *step: steps.append(step))
        assert {what for what, _, _ in steps} == {"tightest ring"}
        assert steps[-1][1] == steps[-1][2]
        assert [file.name for file in run.files] == [
            f"drawing/one-in-one.{ending}" for ending in ("dxf", "pdf", "svg")
        ]
        assert stat.S_IMODE(run.folder.stat().st_mode) == 0o700
        pdf = run.file(".pdf")
        assert pdf is not None
        _, _, key, name = pdf.address.split("/")
        answer = rooms.answer(key, name)
        assert (answer.status_code, answer.media_type) == (200, "application/pdf")
        assert "one-in-one.pdf" in answer.headers["content-disposition"]
        assert rooms.answer(key, "one-in-one.svg").status_code == 404
        assert rooms.answer("x" * len(key), name).status_code == 404
        # Asked for again, it is not made again.
        assert await room.make("drawing", DRAWING, lambda *step: None) is run
        room.close()
        assert rooms.answer(key, name).status_code == 404
        assert not run.folder.exists()

    played(play)


def test_a_command_that_fails_says_why_and_leaves_nothing() -> None:
    async def play(rooms: TabFolders) -> None:
        room = TabFolder(rooms, "a")
        for wire, said in (("20ga", "20awg"), ("3mm", "does not close")):
            arguments = tuple(wire if one == "0.9mm" else one for one in DRAWING.arguments)
            with pytest.raises(BadInput, match=said):
                await room.make("drawing", Command(arguments, DRAWING.reads), lambda *step: None)
        assert room.made("drawing") is None
        only = rooms.new_folder()
        assert [one for one in only.parent.iterdir() if one.is_dir()] == [only]

    played(play)


def test_a_command_that_is_given_up_is_ended_with_its_processes() -> None:
    async def play(rooms: TabFolders) -> None:
        room = TabFolder(rooms, "a")
        command = Command(("assembly", "barrel", *SIZE, "--out", "steps/barrel"))
        begun, before = asyncio.Event(), set(children_of(os.getpid()))
        work = asyncio.create_task(room.make("steps", command, lambda *step: begun.set()))
        await begun.wait()
        mine = set(children_of(os.getpid())) - before
        room.give_up("steps")
        with pytest.raises(Superseded):
            await work
        end = time.monotonic() + 10
        while any(map(is_running, mine)) and time.monotonic() < end:
            await asyncio.sleep(0.05)
        assert mine
        assert not any(map(is_running, mine))

    played(play)


BEGIN = (
    "from ringwright.page.files.private_folder import private_folder as p; print(p(), flush=True)"
)


def test_what_a_killed_server_left_is_removed_by_the_next(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    mine = private_folder()
    program = [sys.executable, "-c", BEGIN + "; input()"]
    with subprocess.Popen(
        program,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "TMPDIR": str(tmp_path)},
    ) as other:
        assert other.stdout is not None
        left = Path(other.stdout.readline().decode().strip())
        assert stat.S_IMODE(left.stat().st_mode) == 0o700
        (left / "file").touch()
        (tmp_path / "ringwright-of-somebody").mkdir(mode=0o755)
        another = private_folder()
        assert left.is_dir()
        other.kill()
    last = private_folder()
    kept = {mine, another, last, tmp_path / "ringwright-of-somebody"}
    assert set(tmp_path.iterdir()) == kept
