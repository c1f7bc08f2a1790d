"""Sweeps: figures against closed forms, stopping and going on, and bad input of every kind."""

import csv
import json
import math
import os
import resource
import signal
import subprocess
import sys
import time
from dataclasses import asdict, replace
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest

from ringwright.answers.ratio_limits import CANNOT, LOOSE, VERY_TIGHT, WORKING
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.sizes import RingSize
from ringwright.base.version import program_version
from ringwright.cli import main
from ringwright.commands.json_schema import schema_of
from ringwright.outputs.sweep import sweep_run
from ringwright.outputs.sweep.journal import Journal
from ringwright.outputs.sweep.plot_sweep import SIGNS, plot_sweep, sweep_figure
from ringwright.outputs.sweep.snaps import snaps
from ringwright.outputs.sweep.sweep import NO_REST, Row, Sweep, over_grid, over_ratios, row
from ringwright.outputs.sweep.sweep_report import sweep_text
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import ON_TABLE

ROOT = Path(__file__).parents[2]
KINDS = ("csv", "json", "svg", "png")
# Of the three sizes the first cannot be woven: the one-in-one chain exists from 2 on.
RANGE = ["one-in-one", "--ratio-from", "1.8", "--ratio-to", "3", "--steps", "3"]


def command(*arguments):
    return [sys.executable, "-m", "ringwright.cli", "sweep", *arguments]


def started(folder, *arguments, **options):
    """The command in a process group of its own, in ``folder``."""
    return subprocess.Popen(
        command(*arguments),
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        **options,
    )


def ended(running):
    """Exit status and what was printed. Waits for the workers too: they hold the same pipes."""
    out, err = running.communicate(timeout=120)
    assert "Traceback" not in err
    return running.returncode, out, err


def refused(capsys, *arguments, status=2):
    assert main(["sweep", *map(str, arguments)]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("ringwright: ")
    assert err.count("\n") == 1
    return err


def lines_of(journal):
    return journal.read_bytes().count(b"\n") if journal.exists() else 0


def wait_for_sizes(journal, sizes):
    """Until so many sizes are kept, below the line that names the question."""
    until = time.monotonic() + 60
    while lines_of(journal) < sizes + 1:
        assert time.monotonic() < until, "no size was kept"
        time.sleep(0.02)


def written(folder, name="a"):
    return {kind: (folder / f"{name}.{kind}").read_bytes() for kind in KINDS}


@pytest.fixture(scope="module")
def swept(tmp_path_factory):
    """Folder and answer of a sweep by two workers."""
    folder = tmp_path_factory.mktemp("swept")
    status, out, err = ended(started(folder, *RANGE, "--out", "new/a", "--workers", "2", "--json"))
    assert (status, err) == (0, "")
    return folder / "new", json.loads(out)


@pytest.fixture(scope="module")
def rows(swept):
    return [Row(**facts) for facts in swept[1]["rows"]]


@pytest.fixture
def question():
    return over_ratios(load_rule("one-in-one"), "1mm", "1.8", "3", 3)


class TestFigures:
    def test_sizes_are_evenly_spaced_and_as_typed(self, rows):
        assert [r.aspect_ratio for r in rows] == [1.8, 2.4, 3.0]
        assert {r.wire_mm for r in rows} == {1.0}

    def test_one_in_one_has_its_closed_forms(self, rows):
        # Pulled straight, each ring's inside lies on the next ring's inside: two rings make
        # two inner diameters. With equal gaps all round, the wires of its two neighbours lie in
        # a ring's eye with a gap to either side and one between them.
        for r in rows:
            assert r.room_mm == pytest.approx((r.inner_mm - 2 * r.wire_mm) / 3, abs=1e-7)
        for r in rows[1:]:
            assert r.repeat_mm == pytest.approx(2 * r.inner_mm, rel=1e-8)
            assert r.rings_per_m == pytest.approx(1000 / r.inner_mm, rel=1e-8)

    def test_metal_is_that_of_tori(self, rows):
        # Volume of a torus by its radii inside and outside, (pi^2 / 4)(a + b)(b - a)^2.
        for r in rows[1:]:
            a, b = r.inner_mm / 2, r.inner_mm / 2 + r.wire_mm
            volume = math.pi**2 / 4 * (a + b) * (b - a) ** 2
            assert r.metal_mm3_per_m == pytest.approx(volume * r.rings_per_m, rel=1e-8)
            assert r.wire_mm_per_m == pytest.approx(math.pi * (a + b) * r.rings_per_m, rel=1e-8)

    def test_a_size_that_cannot_be_woven_is_a_row_without_lengths(self, rows):
        first = rows[0]
        assert (first.verdict, first.can_be_woven) == (CANNOT, False)
        assert first.room_mm < 0
        assert {first.repeat_mm, first.width_mm, first.play_percent, first.rings_per_m} == {None}

    def test_looser_rings_give_more_play(self, rows):
        plays = [r.play_percent for r in rows[1:]]
        assert plays == sorted(plays)
        assert all(0 < play < 100 for play in plays)

    def test_a_row_says_what_check_says(self, rows, capsys):
        assert main(["check", "one-in-one", "--wire", "1mm", "--ratio", "2.4", "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        shared = {key: value for key, value in asdict(rows[1]).items() if key in facts}
        residual = shared.pop("kkt_residual")
        assert shared == {key: facts[key] for key in shared}
        assert len(shared) == 12
        assert residual == pytest.approx(facts["kkt_residual"], rel=1e-2)

    def test_rings_fixed_in_millimetres_have_a_limit_at_every_size(self, tmp_path):
        text = (ROOT / "weaves" / "one_in_one.toml").read_text(encoding="utf-8")
        size = '[[size]]\nname = "big"\nwire_mm = 1.0\ninner_mm = 6.0\n\n'
        text = text.replace("[[ring]]", f"{size}[[ring]]", 1)
        text = text.replace('role = "closed"\ncentre', 'role = "closed"\nsize = "big"\ncentre', 1)
        path = tmp_path / "mixed.toml"
        path.write_text(text.replace("[2.4,", "[4.0,").replace("[1.2,", "[2.0,"), encoding="utf-8")
        rule = load_rule(path)
        assert not Sweep(rule, ()).has_one_limit
        found = row(rule, RingSize(1.0, 4.0), None)
        # As above, with two different insides.
        assert found.repeat_mm == pytest.approx(6.0 + 4.0, rel=1e-8)
        volume = 2 * math.pi**2 * (2.5 + 3.5) * 0.25
        assert found.metal_mm3_per_m == pytest.approx(volume * 100, rel=1e-8)

    def test_no_resting_place_is_a_row_too(self, monkeypatch, question):
        limit = tightest(question.rule, question.sizes[-1], starts=1, workers=0)
        monkeypatch.setattr("ringwright.answers.verdict.settle", lambda *arguments: None)
        found = row(question.rule, RingSize(1.0, 3.0), limit)
        assert (found.verdict, found.can_be_woven, found.repeat_mm) == (NO_REST, None, None)
        assert found.room_mm == pytest.approx(1 / 3)


class TestFiles:
    def test_all_are_there_and_nothing_else(self, swept):
        folder, facts = swept
        assert {path.name for path in folder.iterdir()} == {f"a.{kind}" for kind in KINDS}
        assert facts["files"] == {kind: f"new/a.{kind}" for kind in KINDS}

    def test_data_is_the_answer(self, swept):
        folder, facts = swept
        assert json.loads((folder / "a.json").read_text(encoding="utf-8")) == facts
        assert facts["min_aspect_ratio"] == pytest.approx(2, abs=1e-6)

    def test_table_reads_back_as_the_rows(self, swept, rows):
        with (swept[0] / "a.csv").open(encoding="utf-8", newline="") as file:
            table = list(csv.DictReader(file))
        assert [line["verdict"] for line in table] == [r.verdict for r in rows]
        assert [line["can_be_woven"] for line in table] == ["no", "yes", "yes"]
        for line, r in zip(table, rows, strict=True):
            for key in ("room_mm", "repeat_mm", "play_percent", "metal_mm3_per_m"):
                value = getattr(r, key)
                assert line[key] == ("" if value is None else str(value))

    def test_plots_are_an_svg_and_a_png(self, swept):
        folder, _ = swept
        assert ElementTree.parse(folder / "a.svg").getroot().tag.endswith("svg")
        content = (folder / "a.png").read_bytes()
        assert content[:8] == b"\x89PNG\r\n\x1a\n"
        assert int.from_bytes(content[16:20], "big") == 1200

    def test_in_words_there_is_a_line_per_size(self, swept, rows, question):
        text = sweep_text(question, rows, swept[1]["files"])
        assert [line.split("  ")[-1] for line in text.splitlines() if "  1.000 " in line] == [
            r.verdict for r in rows
        ]


class TestPlot:
    def test_limit_and_usual_range_are_marked(self, question, rows):
        upper, lower = sweep_figure(question, rows).axes
        for axes in (upper, lower):
            marks = {
                round(float(line.get_xdata()[0]), 6)
                for line in axes.lines
                if line.get_xdata()[0] == line.get_xdata()[-1] and len(line.get_xdata()) == 2
            }
            # 5, the upper end of the working range, lies outside the picture.
            assert marks == {2.0, 2.8}
        names = [text.get_text() for text in upper.texts]
        assert "closes from AR 2.000" in names
        assert "working range\n2.80 to 5.00" in names
        assert "/ inner diameter" in upper.get_ylabel()
        assert "/ wire" in lower.get_ylabel()

    def test_rows_of_no_length_have_no_mark_above(self, question, rows):
        upper, lower = sweep_figure(question, rows).axes
        dots = [[line for line in axes.lines if len(line.get_xdata()) == 1]
                for axes in (upper, lower)]  # fmt: skip
        assert [len(found) for found in dots] == [2, 3]

    def test_a_map_says_every_verdict_in_a_word(self):
        rule = load_rule("one-in-one")
        asked = over_grid(rule, "18swg, 0.8mm", "3mm,2mm")
        verdicts = (VERY_TIGHT, LOOSE, CANNOT, WORKING)
        made = [Row(s.wire_mm, s.inner_mm, s.aspect_ratio, verdict, True, 2.0, 0.1)
                for s, verdict in zip(asked.sizes, verdicts, strict=True)]  # fmt: skip
        (axes,) = sweep_figure(asked, made).axes
        words = [text.get_text() for text in axes.texts if not text.get_text().startswith("AR")]
        assert words == ["tight", "loose", "no", "works"]
        assert [text.get_text() for text in axes.get_yticklabels()] == ["0.8 mm", "18swg\n1.219 mm"]
        assert [text.get_text() for text in axes.get_xticklabels()] == ["2 mm", "3 mm"]

    def test_colours_stay_apart_in_grey(self):
        # Rec. 709 luma (from memory).
        greys = sorted(
            sum(share * int(sign.colour[at : at + 2], 16) / 255
                for share, at in ((0.2126, 1), (0.7152, 3), (0.0722, 5)))
            for sign in SIGNS.values()
        )  # fmt: skip
        assert min(b - a for a, b in pairwise(greys)) > 0.08

    def test_a_makers_own_settings_change_nothing(self, question, rows, tmp_path):
        import matplotlib

        plot_sweep(question, rows, [tmp_path / "a.svg"])
        with matplotlib.rc_context({"lines.linewidth": 9, "axes.facecolor": "red"}):
            plot_sweep(question, rows, [tmp_path / "b.svg"])
        assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


class TestGoingOn:
    def test_stopped_and_killed_it_comes_to_the_same_bytes(self, swept, tmp_path):
        journal = tmp_path / "new" / "a.sweep-part"
        arguments = (*RANGE, "--out", "new/a", "--workers", "1")

        running = started(tmp_path, *arguments)
        wait_for_sizes(journal, 1)
        # To the whole group, as a terminal does.
        os.killpg(running.pid, signal.SIGINT)
        status, out, err = ended(running)
        kept = lines_of(journal) - 1
        assert (status, out) == (130, "")
        assert err == (
            f"ringwright: Stopped; {kept} of 3 sizes are kept; run the same command again to go "
            "on.\n"
        )

        running = started(tmp_path, *arguments)
        wait_for_sizes(journal, kept + 1)
        os.kill(running.pid, signal.SIGKILL)
        assert ended(running)[0] == -signal.SIGKILL
        kept = lines_of(journal) - 1
        assert list((tmp_path / "new").iterdir()) == [journal]

        with journal.open("ab") as file:
            file.write(b'{"size": 2, "row": {"wire_mm": 1.0, "inn')
        status, out, err = ended(started(tmp_path, *arguments, "--json"))
        assert (status, json.loads(out)) == (0, swept[1])
        assert err == f"ringwright: Going on with {kept} of 3 sizes kept in new/a.sweep-part.\n"
        # By one worker and in three goes, as by two at once.
        assert written(tmp_path / "new") == written(swept[0])
        assert not journal.exists()

    def test_files_appear_all_or_none_and_sizes_stay(self, swept, rows, question, tmp_path, capsys):
        with Journal(tmp_path / "a.sweep-part", question, program_version()) as journal:
            for index, found in enumerate(rows):
                journal.keep(index, found)
        (tmp_path / "a.png").mkdir()
        (tmp_path / "a.csv").write_text("the old one", encoding="utf-8")
        assert main(["sweep", *RANGE, "--out", f"{tmp_path}/a"]) == 3
        going_on, said = capsys.readouterr().err.splitlines()
        assert "3 of 3 sizes kept" in going_on
        assert "a.png" in said
        assert {path.name for path in tmp_path.iterdir()} == {"a.png", "a.csv", "a.sweep-part"}
        assert (tmp_path / "a.csv").read_text(encoding="utf-8") == "the old one"

        (tmp_path / "a.png").rmdir()
        assert main(["sweep", *RANGE, "--out", f"{tmp_path}/a"]) == 0
        assert (tmp_path / "a.csv").read_bytes() == (swept[0] / "a.csv").read_bytes()
        assert not (tmp_path / "a.sweep-part").exists()

    @pytest.mark.parametrize("change", ["sizes", "rule", "version"])
    def test_another_question_is_refused_and_left_alone(self, change, question, rows, tmp_path):
        path = tmp_path / "a.sweep-part"
        with Journal(path, question, "1.0") as journal:
            journal.keep(2, rows[2])
        before = path.read_bytes()
        other = {
            "sizes": replace(question, sizes=question.sizes[1:]),
            "rule": replace(question, rule=replace(question.rule, repeat_vectors=((2.3, 0, 0),))),
            "version": question,
        }[change]
        version = "1.1" if change == "version" else "1.0"
        with (
            pytest.raises(BadInput, match=r"another sweep \(one-in-one, 3 sizes.*with fresh"),
            Journal(path, other, version),
        ):
            pass
        assert path.read_bytes() == before
        with Journal(path, other, version, fresh=True) as journal:
            assert journal.rows == {}

    def test_the_same_rule_elsewhere_is_the_same_question(self, question, rows, tmp_path):
        with Journal(tmp_path / "a", question, "1.0") as journal:
            journal.keep(2, rows[2])
        moved = replace(question, rule=replace(question.rule, path=Path("elsewhere.toml")))
        with Journal(tmp_path / "a", moved, "1.0") as journal:
            assert journal.rows == {2: rows[2]}

    @pytest.mark.parametrize("cut", [1, 30, 250, 400])
    def test_cut_anywhere_it_keeps_the_whole_lines(self, cut, question, rows, tmp_path):
        path = tmp_path / "a.sweep-part"
        with Journal(path, question, "1.0") as journal:
            for index, found in enumerate(rows):
                journal.keep(index, found)
        content = path.read_bytes()
        path.write_bytes(content[:cut])
        with Journal(path, question, "1.0") as journal:
            kept = dict(journal.rows)
            assert len(kept) == max(0, content[:cut].count(b"\n") - 1)
            for index in set(range(3)) - set(kept):
                journal.keep(index, rows[index])
        assert path.read_bytes() == content

    def test_something_else_by_that_name_is_left_alone(self, question, tmp_path):
        path = tmp_path / "a.sweep-part"
        path.write_bytes(b"\x00\xff holiday notes\n")
        with pytest.raises(BadInput, match="something else"), Journal(path, question, "1.0"):
            pass
        assert path.read_bytes() == b"\x00\xff holiday notes\n"

    def test_without_a_size_nothing_stays(self, question, tmp_path):
        with Journal(tmp_path / "one" / "two" / "a.sweep-part", question, "1.0"):
            assert (tmp_path / "one" / "two" / "a.sweep-part").exists()
        assert list(tmp_path.iterdir()) == []

    def test_full_disk(self, tmp_path):
        def small_files_only():
            resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))

        running = started(tmp_path, *RANGE, "--out", "new/a", preexec_fn=small_files_only)
        status, out, err = ended(running)
        assert (status, out) == (3, "")
        assert "full" in err
        assert err.count("\n") == 1
        assert list(tmp_path.iterdir()) == []

    def test_ctrl_c_while_a_size_is_written_keeps_that_size(self, question, rows, tmp_path):
        path = tmp_path / "a.sweep-part"

        class Pressed(Journal):
            def _append(self, facts):
                super()._append(facts)
                if "row" in facts:
                    # Right between the line on the disk and its being counted.
                    signal.raise_signal(signal.SIGINT)

        with pytest.raises(KeyboardInterrupt), Pressed(path, question, "1.0") as journal:
            journal.keep(0, rows[0])
        assert journal.rows == {0: rows[0]}
        with Journal(path, question, "1.0") as journal:
            assert journal.rows == {0: rows[0]}


class TestBadInput:
    @pytest.mark.parametrize(
        ("arguments", "said"),
        [
            ([], "either"),
            (["--ratio-from", "3"], "either"),
            (["--wires", "1mm"], "either"),
            (["--wires", "1mm", "--inners", "3mm", "--ratio-from", "3"], "either"),
            (["--wires", "1mm", "--inners", "3mm", "--steps", "3"], "either"),
            (["--wires", "1mm", "--inners", "3mm", "--wire", "1mm"], "either"),
            (["--ratio-from", "3", "--ratio-to", "3"], "not below"),
            (["--ratio-from", "4", "--ratio-to", "3"], "not below"),
            (["--ratio-from", "0.5", "--ratio-to", "3"], "outside 1 to 50"),
            (["--ratio-from", "3", "--ratio-to", "51"], "outside 1 to 50"),
            (["--ratio-from", "nan", "--ratio-to", "5"], "plain number"),
            (["--ratio-from", "3mm", "--ratio-to", "5"], "unit"),
            (["--ratio-from", "3", "--ratio-to", "5", "--steps", "1"], "--steps 1"),
            (["--ratio-from", "3", "--ratio-to", "5", "--steps", "2001"], "2000"),
            (["--ratio-from", "3", "--ratio-to", "5", "--steps", "many"], "--steps"),
            (["--ratio-from", "3", "--ratio-to", "5", "--wire", "1"], "no unit"),
            (["--ratio-from", "3", "--ratio-to", "5", "--workers", "0"], "--workers 0"),
            (["--ratio-from", "3", "--ratio-to", "5", "--scheduler", "here"], "tcp://"),
            (["--ratio-from", "3", "--ratio-to", "5", "--scheduler", "tcp://a:b"], "tcp://"),
            (
                [*RANGE[1:], "--scheduler", "tcp://127.0.0.1:1", "--workers", "2"],
                "leave one of them out",
            ),
            (["--wires", "1mm,", "--inners", "3mm"], "empty"),
            (["--wires", "1mm,2", "--inners", "3mm"], "no unit"),
            (["--wires", "1mm", "--inners", "3mm,4kg"], "mass"),
            (["--wires", "1mm,0.1cm", "--inners", "3mm"], "twice"),
            (["--wires", "1mm,4mm", "--inners", "3mm"], "aspect ratio"),
            (["--wires", ",".join(f"1.{k}mm" for k in range(11, 60)), "--inners", "3mm"], "most"),
        ],
    )
    def test_what_is_asked(self, capsys, tmp_path, arguments, said):
        assert said in refused(capsys, "one-in-one", *arguments, "--out", tmp_path / "new" / "a")
        assert list(tmp_path.iterdir()) == []

    def test_unknown_weave(self, capsys, tmp_path):
        assert "barrel" in refused(capsys, "barel", *RANGE[1:], "--out", tmp_path / "a")

    @pytest.mark.parametrize("out", ["", "folder/", ".", ".."])
    def test_out_without_a_file_name(self, capsys, out):
        refused(capsys, *RANGE, f"--out={out}")

    def test_out_below_a_file_or_on_a_folder(self, capsys, tmp_path):
        (tmp_path / "file").write_text("here first", encoding="utf-8")
        below = tmp_path / "file" / "a"
        assert "is a file" in refused(capsys, *RANGE, "--out", below, status=3)
        assert "is a folder" in refused(capsys, *RANGE, "--out", tmp_path)
        (tmp_path / "a.sweep-part").mkdir()
        said = refused(capsys, *RANGE, "--out", tmp_path / "a", status=3)
        assert "a folder of that name" in said

    def test_an_error_with_json_is_an_object_too(self, capsys, tmp_path):
        assert main(["sweep", "one-in-one", "--json", "--out", f"{tmp_path}/a"]) == 2
        out, err = capsys.readouterr()
        assert json.loads(out)["error"] in err

    def test_a_lost_worker_is_one_sentence(self, capsys, monkeypatch, tmp_path):
        monkeypatch.setattr(sweep_run, "row", _ends_its_process)
        said = refused(capsys, *RANGE, "--out", tmp_path / "a", "--workers", "1")
        assert "stopped from outside" in said
        assert list(tmp_path.iterdir()) == []


def _ends_its_process(*arguments):
    os._exit(9)


class TestCluster:
    def test_same_bytes_as_on_this_machine(self, swept, tmp_path):
        distributed = pytest.importorskip("distributed")
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster:
            address = cluster.scheduler_address
            arguments = (*RANGE, "--out", "new/a", "--scheduler", address)
            status, out, err = ended(started(tmp_path, *arguments, "--json"))
        assert (status, err, json.loads(out)) == (0, "", swept[1])
        assert written(tmp_path / "new") == written(swept[0])

    def test_not_installed(self, capsys, monkeypatch, tmp_path):
        monkeypatch.setitem(sys.modules, "distributed", None)
        arguments = (*RANGE, "--out", tmp_path / "a", "--scheduler", "tcp://127.0.0.1:1")
        assert "pip install 'distributed" in refused(capsys, *arguments)

    def test_nobody_answers(self, capsys, monkeypatch, tmp_path):
        pytest.importorskip("distributed")
        monkeypatch.setattr(sweep_run, "_REACHED_WITHIN_S", 1)
        arguments = (*RANGE, "--out", tmp_path / "new" / "a", "--scheduler", "tcp://127.0.0.1:1")
        assert "No Dask scheduler answers at tcp://127.0.0.1:1" in refused(capsys, *arguments)
        assert list(tmp_path.iterdir()) == []

    @pytest.mark.parametrize(
        ("answer", "said"),
        [
            ({"tcp://a:1": "0.0.1"}, "have ringwright 0.0.1"),
            (ModuleNotFoundError("ringwright"), "cannot run ringwright"),
            (TimeoutError(), "has no workers"),
        ],
    )
    def test_workers_that_cannot_do_it(self, answer, said):
        class Client:
            def wait_for_workers(self, count, timeout):
                if isinstance(answer, TimeoutError):
                    raise answer

            def run(self, function):
                if isinstance(answer, Exception):
                    raise answer
                return answer

        with pytest.raises(BadInput, match=said):
            sweep_run._check_workers(Client(), "tcp://a:8786")


def test_sizes_are_measured_as_they_lie_too(tmp_path, capsys):
    asked = ["one-in-one", "--ratio-from", "1.8", "--ratio-to", "3", "--steps", "2"]
    out = ["--out", str(tmp_path / "a"), "--workers", "1"]
    assert main(["sweep", *asked, "--laid", "on-table", *out, "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    jsonschema.validate(facts, schema_of("sweep"))
    assert facts["laid"] == "on-table"
    too_tight, woven = facts["rows"]
    assert too_tight["lying_settled"] is None
    # Rings through each other lean: wider than a wire, lower than a ring on its edge, 5 mm.
    assert woven["lying_settled"] is True
    assert 1.0 < woven["lying_thickness_mm"] < 5.0
    with (tmp_path / "a.csv").open(encoding="utf-8") as file:
        kept = list(csv.DictReader(file))
    assert float(kept[1]["lying_thickness_mm"]) == woven["lying_thickness_mm"]


def test_what_does_not_come_to_rest_as_it_lies_is_said(monkeypatch):
    def restless(*_):
        raise NoRest("rings are in each other's way")

    monkeypatch.setattr("ringwright.outputs.sweep.sweep.lying_measures", restless)
    rule = load_rule("one-in-one")
    found = replace(over_ratios(rule, "1mm", "3", "4", 2), state=rule.family.lies)
    rows = [row(rule, size, None, found.state) for size in found.sizes]
    assert [one.lying_settled for one in rows] == [False, False]
    assert rows[0].repeat_mm == pytest.approx(6.0)
    assert "Not quite at rest there, so rough: aspect ratio 3.000, 4.000." in sweep_text(
        found, rows, {}
    ).replace("\n", " ")


class TestSnaps:
    @pytest.mark.parametrize(
        ("figures", "places"),
        [
            ([5.0, 5.1, 5.2, 6.9, 7.0, 7.1, 7.2], [2]),
            ([7.2, 7.1, 5.1, 5.0, 4.9, 4.8], [1]),
            # Smooth, however steep.
            ([5.0, 5.3, 5.7, 6.2, 6.8, 7.5], []),
            # Sizes that cannot be woven have no figure.
            ([None, None, 5.0, 5.1, 6.9, 7.0, 7.1, None], [3]),
            # A jump that could not be seen on the bench.
            ([5.0, 5.001, 5.002, 5.05, 5.051, 5.052], []),
            ([5.0, 9.0], []),
        ],
    )
    def test_a_jump_is_told_from_a_slope(self, figures, places):
        assert snaps(figures, wire_mm=1.0) == places

    def test_it_is_said_between_which_sizes(self, question, rows):
        widths = (5.0, 5.1, 5.2, 6.9, 7.0, 7.1)
        lying = [
            replace(rows[-1], aspect_ratio=3.0 + 0.1 * place, lying_width_mm=width)
            for place, width in enumerate(widths)
        ]
        text = sweep_text(replace(question, state=ON_TABLE), lying, {})
        said = " ".join(text.split())
        assert "Between aspect ratio 3.200 and 3.300 its width changes at once" in said
        assert "from 5.20 to 6.90 mm" in said

    def test_columns_without_a_figure_are_left_out(self, question, rows):
        lying = [replace(row, lying_width_mm=5.0) for row in rows]
        text = sweep_text(replace(question, state=ON_TABLE), lying, {})
        assert "lying width" in text
        assert "mm2/ring" not in text
