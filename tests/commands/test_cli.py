"""The command line as a maker uses it: answers, files, and bad input of every kind."""

import json
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ringwright.cli import main
from ringwright.weaves import list_rules

ROOT = Path(__file__).parents[2]
SIZE = ["--wire", "0.9mm", "--inner", "3.2mm"]
CHECK_KEYS = [
    "weave", "wire_mm", "inner_mm", "aspect_ratio", "verdict", "can_be_woven", "smallest_gap_mm",
    "min_aspect_ratio", "common_aspect_ratio", "repeat_mm", "rings_per_repeat", "width_mm",
    "thickness_mm", "links",
]  # fmt: skip
PREVIEW_KEYS = ["repeats", "rings_total", "rings_open", "rings_closed", "length_mm", "files"]


def ran(*arguments, **options):
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "ringwright.cli", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        **options,
    )


def refused(capsys, *arguments, status=2):
    """Run in this process; return the one sentence on stderr."""
    assert main(arguments) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("ringwright: ")
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err


class TestAnswers:
    def test_check_prints_one_json_object_with_the_fixed_keys(self, capsys):
        assert main(["check", "barrel", *SIZE, "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert [key for key in CHECK_KEYS if key not in facts] == []
        assert facts["can_be_woven"] is True
        low, high = facts["working_aspect_ratios"]
        works = low <= facts["aspect_ratio"] <= high
        assert (facts["verdict"] == "in the working range") == works
        assert facts["aspect_ratio"] == pytest.approx(3.2 / 0.9)
        assert len(facts["links"]) == 8

    def test_too_tight_says_which_rings_collide_and_exits_1(self, capsys):
        assert main(["check", "barrel", "--wire", "1.3mm", "--inner", "3mm", "--why"]) == 1
        out = capsys.readouterr().out
        assert "Verdict: cannot be woven." in out
        assert "B with E" in out

    @pytest.mark.parametrize("command", ["preview", "drawing"])
    def test_a_refusal_points_to_why_or_says_it(self, command, capsys, tmp_path):
        asked = [command, "barrel", "--wire", "1.3mm", "--inner", "3mm", "--length", "50mm"]
        asked += ["--out", str(tmp_path / "it")]
        assert main(asked) == 1
        short = capsys.readouterr().out
        assert short.endswith("Nothing was written. 'ringwright check' with --why says more.\n")
        assert main([*asked, "--why"]) == 1
        full = capsys.readouterr().out
        assert "How this was found" in full
        assert full.endswith("Nothing was written.\n")
        assert list(tmp_path.iterdir()) == []

    def test_ratio_replaces_inner(self, capsys):
        main(["check", "one-in-one", "--wire", "18awg", "--ratio", "3", "--json"])
        facts = json.loads(capsys.readouterr().out)
        assert facts["wire_mm"] == pytest.approx(1.0237, abs=1e-4)
        assert facts["inner_mm"] == pytest.approx(3 * facts["wire_mm"])
        assert facts["repeat_mm"] == pytest.approx(2 * facts["inner_mm"], rel=1e-6)

    def test_weaves_lists_what_check_takes(self, capsys):
        assert main(["weaves", "--json"]) == 0
        listed = [weave["weave"] for weave in json.loads(capsys.readouterr().out)["weaves"]]
        assert listed == [rule.name for rule in list_rules()]
        assert {"barrel", "european-4-in-1", "one-in-one", "two-in-two"} <= set(listed)
        assert main(["weaves"]) == 0
        assert "barrel" in capsys.readouterr().out

    def test_a_rule_file_of_ones_own_is_taken_by_path(self, capsys, tmp_path):
        mine = tmp_path / "mine.toml"
        text = (ROOT / "weaves" / "barrel.toml").read_text(encoding="utf-8")
        mine.write_text(text.replace('name = "barrel"', 'name = "mine"', 1), encoding="utf-8")
        assert main(["check", str(mine), *SIZE, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["weave"] == "mine"

    def test_help_needs_no_heavy_library(self):
        heavy = "numpy,scipy,cadquery,pyvista,vtkmodules,trimesh,pint,rich"
        code = (
            "import sys; from ringwright.cli import main\n"
            "try: main(['--help'])\nexcept SystemExit: pass\n"
            f"print([m for m in '{heavy}'.split(',') if m in sys.modules], file=sys.stderr)"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
        )
        assert done.stderr.strip() == "[]"
        assert "check" in done.stdout


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("preview")
    done = ran("preview", "barrel", *SIZE, "--length", "40mm", "--out", f"{folder}/strip",
               "--json")  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout), done.stderr


class TestPreview:
    def test_json_has_the_fixed_keys(self, made):
        _, facts, _ = made
        assert [key for key in CHECK_KEYS + PREVIEW_KEYS if key not in facts] == []
        assert facts["rings_total"] == 5 * facts["repeats"] + 1
        assert facts["rings_open"] + facts["rings_closed"] == facts["rings_total"]
        assert facts["length_mm"] >= 40

    def test_all_files_are_there_and_nothing_else(self, made):
        folder, facts, stderr = made
        kinds = {"stl", "step", "glb", "json", "png"}
        if facts["files"]["png"] is None:
            # A machine without drawing libraries says so and writes the rest.
            assert "picture" in stderr
            kinds.remove("png")
        assert {path.name for path in folder.iterdir()} == {f"strip.{kind}" for kind in kinds}

    def test_ring_table_agrees_with_the_answer(self, made):
        folder, facts, _ = made
        table = json.loads((folder / "strip.json").read_text(encoding="utf-8"))
        assert len(table["rings"]) == facts["rings_total"]
        assert sum(ring["role"] == "open" for ring in table["rings"]) == facts["rings_open"]
        assert {key: table[key] for key in facts} == facts

    def test_a_size_that_cannot_be_woven_writes_nothing(self, capsys, tmp_path):
        out = tmp_path / "new" / "strip"
        tight = ["--wire", "1.3mm", "--inner", "3mm", "--length", "50mm", "--out", str(out)]
        assert main(["preview", "barrel", *tight]) == 1
        assert "Nothing was written" in capsys.readouterr().out
        assert list(tmp_path.iterdir()) == []

    def test_the_same_command_writes_the_same_bytes(self, made, tmp_path):
        folder, _, _ = made
        done = ran("preview", "barrel", *SIZE, "--length", "40mm", "--out", f"{tmp_path}/strip")
        assert done.returncode == 0
        for kind in ("stl", "step", "glb"):
            first = (folder / f"strip.{kind}").read_bytes()
            assert (tmp_path / f"strip.{kind}").read_bytes() == first, kind

    @pytest.mark.usefixtures("unpictured")
    def test_a_sheet_is_as_long_and_wide_as_asked(self, capsys, tmp_path):
        rule = str(ROOT / "tests" / "rules" / "sheet.toml")
        size = ["--wire", "1mm", "--inner", "4.2mm", "--length", "30mm", "--width", "15mm"]
        assert main(["preview", rule, *size, "--out", f"{tmp_path}/sheet", "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert facts["length_mm"] >= 30
        table = json.loads((tmp_path / "sheet.json").read_text(encoding="utf-8"))
        across = [ring["centre_mm"][1] for ring in table["rings"]]
        assert max(across) - min(across) + 6.2 >= 15

    def test_width_is_for_sheets(self, capsys, tmp_path):
        size = [*SIZE, "--length", "30mm", "--width", "15mm", "--out", f"{tmp_path}/a"]
        assert "--width is for sheets" in refused(capsys, "preview", "barrel", *size)


class TestBadInput:
    @pytest.mark.parametrize(
        ("wire", "inner", "said"),
        [
            ("-1mm", "3mm", "wire"),
            ("0mm", "3mm", "wire"),
            ("nanmm", "3mm", "wire"),
            ("infmm", "3mm", "wire"),
            ("1e999mm", "3mm", "wire"),
            ("3kg", "3mm", "mass"),
            ("1mm", "0.5mm", "aspect ratio"),
            ("0.1mm", "9mm", "aspect ratio"),
            ("1.2", "4mm", "1.2 in (30.48 mm)"),
            ("16", "4mm", "16swg"),
            ("16ga", "4mm", "16awg"),
            ("9**9**9mm", "4mm", "wire"),
        ],
    )
    def test_sizes(self, capsys, wire, inner, said):
        assert said in refused(capsys, "check", "barrel", f"--wire={wire}", f"--inner={inner}")

    def test_both_or_neither_of_inner_and_ratio(self, capsys):
        assert "both" in refused(capsys, "check", "barrel", *SIZE, "--ratio", "3")
        assert "neither" in refused(capsys, "check", "barrel", "--wire", "1mm")

    def test_unknown_weave_suggests_near_names(self, capsys):
        assert "barrel" in refused(capsys, "check", "barel", *SIZE)

    def test_unknown_command_and_option(self, capsys):
        assert "check" in refused(capsys, "chek")
        assert "--wier" in refused(capsys, "check", "barrel", *SIZE, "--wier", "1mm")

    def test_two_hyphens_are_no_value(self, capsys):
        given = ("check", "barrel", "--wire=--", "--inner", "3.2mm")
        assert "argument --wire: '--' is no value" in refused(capsys, *given)

    def test_broken_rule_file(self, capsys, tmp_path):
        broken = tmp_path / "broken.toml"
        broken.write_text("name = \n", encoding="utf-8")
        assert "broken.toml" in refused(capsys, "check", str(broken), *SIZE)
        broken.write_bytes(b"\xff\xfe\x00")
        assert "broken.toml" in refused(capsys, "check", str(broken), *SIZE)

    def test_an_error_with_json_is_an_object_too(self, capsys):
        assert main(["check", "barel", *SIZE, "--json"]) == 2
        out, err = capsys.readouterr()
        assert json.loads(out)["error"] in err

    def test_length_shorter_than_a_repeat(self, capsys, tmp_path):
        said = refused(
            capsys, "preview", "barrel", *SIZE, "--length", "4mm", "--out", f"{tmp_path}/a"
        )
        assert "shorter than one repeat" in said
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize("out", ["", "  ", "folder/", "/", ".", ".."])
    def test_out_without_a_file_name(self, capsys, out):
        refused(capsys, "preview", "barrel", *SIZE, "--length", "40mm", f"--out={out}")

    def test_out_below_a_file(self, capsys, tmp_path):
        (tmp_path / "file").write_text("here first", encoding="utf-8")
        out = f"{tmp_path}/file/strip"
        refused(capsys, "preview", "barrel", *SIZE, "--length", "40mm", "--out", out, status=3)
        assert (tmp_path / "file").read_text(encoding="utf-8") == "here first"


class TestInterruption:
    ARGUMENTS = ("preview", "barrel", *SIZE, "--length", "40mm", "--out")

    def test_full_disk_leaves_the_old_files(self, tmp_path):
        old = tmp_path / "strip.stl"
        old.write_text("the old one", encoding="utf-8")

        def small_files_only():
            resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

        done = ran(*self.ARGUMENTS, f"{tmp_path}/strip", preexec_fn=small_files_only)
        assert done.returncode == 3
        assert done.stderr.count("\n") == 1
        assert "Traceback" not in done.stderr
        assert [path.name for path in tmp_path.iterdir()] == ["strip.stl"]
        assert old.read_text(encoding="utf-8") == "the old one"

    @pytest.mark.parametrize("wait_s", [1.0, 2.5, 4.0])
    def test_ctrl_c_leaves_nothing_half_written(self, tmp_path, wait_s):
        running = subprocess.Popen(
            [sys.executable, "-m", "ringwright.cli", *self.ARGUMENTS, f"{tmp_path}/new/strip"],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        time.sleep(wait_s)
        # To the whole group, as a terminal does.
        os.killpg(running.pid, signal.SIGINT)
        _, err = running.communicate(timeout=60)
        assert "Traceback" not in err
        # Before the command has begun, the interpreter itself ends on the signal.
        assert running.returncode in (0, 130, -signal.SIGINT)
        written = {path.name for path in tmp_path.rglob("*") if path.is_file()}
        models = {f"strip{ending}" for ending in (".stl", ".step", ".glb", ".json")}
        # Also where the signal comes when all is written and nothing is left but to say so.
        assert written - {"strip.png"} in (set(), models)
        assert running.returncode != 0 or written
        assert written or list(tmp_path.iterdir()) == []

    def test_a_closed_pipe_is_no_error(self):
        done = subprocess.run(
            f"{sys.executable} -m ringwright.cli weaves | head -1",
            shell=True,
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        )
        assert "barrel" in done.stdout
        assert done.stderr == ""

    # A script must not take a full disk for a weave that cannot be woven.
    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a full disk to print to")
    @pytest.mark.parametrize("to", ["> /dev/full", ">&-", "> /dev/full 2>&1"])
    @pytest.mark.parametrize(
        "command", ["check barrel", "check barrel --wire 3 --json", "weaves", "--help", "--version"]
    )
    def test_an_answer_that_cannot_be_printed(self, command, to):
        done = subprocess.run(
            f"{sys.executable} -m ringwright.cli {command} {to}",
            shell=True,
            cwd=ROOT,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert "Traceback" not in done.stderr
        mistyped = command == "check barrel" and to == "> /dev/full"
        assert done.returncode == (2 if mistyped else 3)
