"""The Python API: light to import, the commands' own figures and sentences, whole files."""

import json
import subprocess
import sys

import jsonschema
import pint
import pytest

import ringwright as rw
from ringwright.cli import main
from ringwright.commands.json_schema import schema_of

HEAVY = ("numpy", "scipy", "pint", "cadquery", "vtk", "vtkmodules", "pyvista", "trimesh", "OCP")


def command(capsys, *arguments):
    """What a command prints as JSON, its status, and its complaint."""
    status = main([*arguments, "--json"])
    out, err = capsys.readouterr()
    facts = json.loads(out)
    if status == 0:
        jsonschema.validate(facts, schema_of(arguments[0]))
    return facts, status, err.removeprefix("ringwright: ").strip()


@pytest.fixture(scope="module")
def barrel():
    return rw.check("barrel", wire="0.9mm", inner="3.2mm")


class TestImport:
    def test_nothing_heavy_is_loaded_before_it_is_used(self):
        code = (
            "import sys, ringwright as rw; dir(rw); rw.RingSize(0.9, 3.2); rw.BadInput; "
            f"print([name for name in {HEAVY!r} if name in sys.modules])"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        assert done.stdout.strip() == "[]", done.stderr

    def test_every_name_is_there_and_no_other(self):
        assert dir(rw) == sorted(rw.__all__)
        assert all(callable(getattr(rw, name)) for name in rw.__all__)
        with pytest.raises(AttributeError, match="no attribute 'bracelet'"):
            _ = rw.bracelet

    def test_weaves_is_a_function_and_a_package(self):
        import ringwright.weaves as package

        assert package.load_rule("barrel").name == "barrel"
        assert len(rw.weaves()) == len(package()) == len(package.list_rules())
        assert [weave.name for weave in rw.weaves()] == [r.name for r in package.list_rules()]

    @pytest.mark.parametrize(
        "first",
        [
            "import ringwright.weaves.loader",
            "from ringwright.weaves.listed import weaves",
            "import ringwright.weaves as package; package.list_rules()",
            "import ringwright.cli",
            "from ringwright import weaves; weaves()",
            "import ringwright; ringwright.weaves()",
        ],
    )
    def test_weaves_is_a_function_whatever_was_imported_before(self, first):
        code = (
            f"{first}\nimport ringwright as rw; from ringwright import weaves\n"
            "import ringwright.weaves.rule; print(len(rw.weaves()) == len(weaves()) > 30)"
        )
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        assert done.stdout.strip() == "True", done.stderr


class TestSizes:
    def test_a_ring_checks_itself(self):
        for wire_mm, inner_mm in ((0.9, -3.2), (0.0, 3.2), (float("nan"), 3.2), (0.9, 1e999)):
            with pytest.raises(rw.BadInput, match="not a length above zero"):
                rw.RingSize(wire_mm, inner_mm)

    def test_texts_quantities_and_rings_come_to_the_same(self, barrel):
        units = pint.UnitRegistry()
        for found in (
            rw.check(rw.load_rule("barrel"), rw.RingSize(0.9, 3.2)),
            rw.check("barrel", 0.09 * units.cm, inner=3.2 * units.mm),
            rw.check("barrel", wire="0.9mm", outer="5mm"),
        ):
            assert found.repeat_mm == pytest.approx(barrel.repeat_mm, abs=1e-9)

    def test_what_is_no_length_is_refused(self):
        units = pint.UnitRegistry()
        with pytest.raises(rw.BadInput, match="wire '3 gram' is not a length"):
            rw.check("barrel", wire=3 * units.gram, inner="3.2mm")
        with pytest.raises(rw.BadInput, match="has no unit"):
            rw.check("barrel", wire=0.9, inner="3.2mm")
        with pytest.raises(rw.BadInput, match="leave inner, outer and ratio out"):
            rw.check("barrel", rw.RingSize(0.9, 3.2), inner="3mm")
        with pytest.raises(rw.BadInput, match="outside 1 to 50"):
            rw.check("barrel", rw.RingSize(3.2, 0.9))

    def test_second_rings_in_every_form(self):
        from ringwright.api.asked import asked_rule

        ring = rw.RingSize(1.0, 4.1)
        rules = [
            asked_rule("helm-chain", second)
            for second in ("1mm/4.1mm", ring, {"small": ring}, ["small=1mm/4.1mm"])
        ]
        assert all(rule.sizes == rules[0].sizes for rule in rules)
        assert rules[0].has_own_second


class TestCheck:
    def test_facts_are_the_commands_json(self, capsys, barrel):
        facts, status, _ = command(capsys, "check", "barrel", "--wire", "0.9mm", "--inner", "3.2mm")
        assert status == 0
        assert barrel.facts() == facts
        assert barrel.verdict == facts["verdict"]
        assert round(barrel.repeat_mm, 9) == facts["repeat_mm"]

    def test_is_small_and_frozen(self, barrel):
        assert len(repr(barrel).splitlines()) <= 2
        assert len(repr(barrel)) < 200
        with pytest.raises(AttributeError):
            barrel.report = None

    def test_a_notebook_gets_a_model_to_turn(self, barrel):
        shown = barrel._repr_html_()
        assert shown.startswith("<iframe ")
        assert 'sandbox="allow-scripts"' in shown
        assert "data-rings=" in shown
        assert shown.count("<iframe") == shown.count("</iframe>") == 1

    def test_a_size_that_does_not_close_is_an_answer(self):
        found = rw.check("barrel", wire="1.3mm", inner="3mm")
        assert (found.can_be_woven, found.repeat_mm) == (False, None)
        assert "cannot be woven" in repr(found)
        assert "data-rings=" not in found._repr_html_()
        with pytest.raises(rw.NoRest, match="there is no piece of it"):
            found.piece(length="50mm")

    def test_complaints_are_the_commands_sentences(self, capsys):
        for weave, wire, inner in (("barel", "1mm", "4mm"), ("barrel", "1", "4mm")):
            _, status, said = command(capsys, "check", weave, "--wire", wire, "--inner", inner)
            assert status == 2
            with pytest.raises(rw.BadInput) as error:
                rw.check(weave, wire=wire, inner=inner)
            assert said == str(error.value)


class TestPiece:
    def test_files_are_those_that_preview_writes(self, tmp_path, capsys, barrel):
        out = tmp_path / "told" / "piece"
        size = ("--wire", "0.9mm", "--inner", "3.2mm", "--length", "30mm")
        facts, status, _ = command(capsys, "preview", "barrel", *size, "--out", str(out))
        assert status == 0
        piece = barrel.piece(length="30mm")
        assert piece.rings == facts["rings_total"]
        for kind in ("stl", "glb", "step", "png"):
            mine = piece.save(tmp_path / f"piece.{kind}")
            told = out.with_suffix(f".{kind}").read_bytes()
            if kind == "step":
                # The head of a STEP file says when it was written.
                told, written = (one.split(b"ENDSEC;", 1)[1] for one in (told, mine.read_bytes()))
                assert written == told
            else:
                assert mine.read_bytes() == told
        kept = json.loads(piece.save(tmp_path / "piece.json").read_text())
        assert kept["files"] == {"json": str(tmp_path / "piece.json")}
        assert len(kept["rings"]) == piece.rings

    def test_an_unknown_ending_is_refused_and_nothing_written(self, tmp_path, barrel):
        with pytest.raises(rw.BadInput, match=r"does not end in \.stl"):
            barrel.piece(length="30mm").save(tmp_path / "piece.obj")
        assert list(tmp_path.iterdir()) == []

    def test_a_file_that_fails_leaves_the_old_one(self, tmp_path, barrel, monkeypatch):
        from ringwright.outputs.models import preview

        def fail(piece, path, chord_error_mm):
            path.write_bytes(b"half")
            raise OSError(28, "full", str(path))

        path = tmp_path / "piece.stl"
        path.write_bytes(b"old")
        monkeypatch.setattr(preview, "write_stl", fail)
        with pytest.raises(rw.BadInput, match="could not be written"):
            barrel.piece(length="30mm").save(path)
        assert path.read_bytes() == b"old"
        assert list(tmp_path.iterdir()) == [path]

    def test_a_piece_on_a_table_is_the_commands(self, tmp_path, capsys, barrel):
        out = tmp_path / "told" / "piece"
        size = ("--wire", "0.9mm", "--inner", "3.2mm", "--length", "15mm", "--laid", "on-table")
        facts, status, _ = command(capsys, "preview", "barrel", *size, "--out", str(out))
        assert status == 0
        piece = barrel.piece(length="15mm", laid="on-table")
        assert facts["laid"] == piece.facts()["laid"]
        assert facts["laid"]["settled"] is True
        # That pulled straight stays the length that a piece is counted in.
        assert facts["length_mm"] == barrel.piece(length="15mm").facts()["length_mm"]
        assert "as it lies" in piece.text()
        assert repr(piece).endswith("mm long, lying on a table>")
        assert piece.save(tmp_path / "a.stl").read_bytes() == out.with_suffix(".stl").read_bytes()
        rings = json.loads(out.with_suffix(".json").read_text())["rings"]
        lowest = min(ring["centre_mm"][2] for ring in rings)
        assert 0 < lowest < 3

    def test_a_state_that_does_not_suit_the_weave_is_refused(self, barrel):
        with pytest.raises(rw.BadInput, match=r"not for barrel, which is a chain; give pulled"):
            barrel.piece(length="30mm", laid="spread")
        with pytest.raises(rw.BadInput, match=r"'flat' is no way to lay a piece"):
            barrel.piece(length="30mm", laid="flat")

    def test_width_is_for_sheets(self, barrel):
        with pytest.raises(rw.BadInput, match="is for sheets"):
            barrel.piece(length="30mm", width="20mm")


@pytest.mark.usefixtures("processes")
def test_limits_are_the_commands(capsys):
    facts, status, _ = command(capsys, "limits", "one-in-one", "--wire", "1mm", "--inner", "4mm")
    assert status == 0
    found = rw.limits("one-in-one", wire="1mm", inner="4mm")
    assert found.facts() == facts
    with pytest.raises(rw.BadInput, match="does not make a bracelet"):
        rw.limits("one-in-one", wire="1mm", inner="4mm", repeats=2)


def test_a_script_without_a_main_guard_works(tmp_path):
    """No process is started, which would run the script anew."""
    script = tmp_path / "mine.py"
    script.write_text(
        "import ringwright as rw\nprint(rw.check('one-in-one', wire='1mm', inner='4mm').verdict)\n",
        encoding="utf-8",
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True)
    assert done.stdout == "in the working range\n", done.stderr


class TestSweep:
    @pytest.mark.usefixtures("processes")
    def test_is_the_commands_with_and_without_processes(self, capsys, tmp_path):
        span = ("--ratio-from", "3", "--ratio-to", "4", "--steps", "2")
        facts, status, _ = command(
            capsys, "sweep", "one-in-one", *span, "--out", str(tmp_path / "told")
        )
        assert status == 0
        mine = rw.sweep("one-in-one", ratio_from=3, ratio_to=4, steps=2, out=tmp_path / "mine")
        assert mine.facts()["rows"] == facts["rows"]
        for kind in ("csv", "svg", "png"):
            told = (tmp_path / f"told.{kind}").read_bytes()
            assert (tmp_path / f"mine.{kind}").read_bytes() == told
        alone = rw.sweep("one-in-one", ratio_from="3", ratio_to="4", steps=2)
        assert (alone.rows, alone.files) == (mine.rows, {})

    def test_either_a_range_or_a_grid(self):
        with pytest.raises(rw.BadInput, match="give one of these pairs"):
            rw.sweep("one-in-one", ratio_from=3)
        grid = rw.sweep("one-in-one", wires=["1mm"], inners="3mm,4mm")
        assert [row.inner_mm for row in grid.rows] == [3.0, 4.0]

    def test_no_processes_are_not_for_the_command(self, capsys, tmp_path):
        span = ("--ratio-from", "3", "--ratio-to", "4")
        out = str(tmp_path / "x")
        status = main(["sweep", "one-in-one", *span, "--workers", "0", "--out", out])
        assert status == 2
        assert "--workers 0 is outside 1 to 256" in capsys.readouterr().err


@pytest.mark.usefixtures("processes")
def test_match_is_the_commands(capsys, tmp_path):
    shop = tmp_path / "shop.toml"
    shop.write_text(
        '[[stock_ring]]\nname = "bag"\nwire = "1mm"\ninner = "4mm"\nmetal = "copper"\n',
        encoding="utf-8",
    )
    facts, status, _ = command(
        capsys, "match", "one-in-one", "--shop", str(shop), "--length", "180mm"
    )
    found = rw.match("one-in-one", shop, "180mm")
    assert status == 0
    assert found.facts() == facts
    assert found.best.candidate.name == "bag"
    with pytest.raises(rw.BadInput, match="is for sheets"):
        rw.match("one-in-one", shop, "180mm", width="20mm")


@pytest.mark.usefixtures("processes")
def test_place_is_the_commands(capsys, tmp_path):
    few = ("--candidates", "1", "--tries", "4")
    facts, status, _ = command(
        capsys,
        *("place", "one-in-one", "--wire", "1mm", "--inner", "4mm", *few),
        *("--out", str(tmp_path / "told")),
    )
    assert status == 0
    size = {"wire": "1mm", "inner": "4mm"}
    found = rw.place("one-in-one", **size, candidates=1, tries=4)
    assert found.facts()["candidates"] == facts["candidates"]
    assert (found.files, len(found.candidates)) == ({}, 1)
    rw.place("one-in-one", **size, candidates=1, tries=4, out=tmp_path / "mine")
    for name in ("-1.toml", "-1.png"):
        told = (tmp_path / f"told{name}").read_bytes()
        assert (tmp_path / f"mine{name}").read_bytes() == told
    with pytest.raises(rw.BadInput, match="give out"):
        rw.place("one-in-one", **size, keep=1)


class TestJig:
    def test_is_the_commands(self, capsys, tmp_path):
        facts, status, _ = command(
            capsys,
            # A coil of a few turns, quickly drawn.
            *("jig", "cutting-cradle", "--wire", "2.5mm", "--inner", "10mm", "--kerf", "0.3mm"),
            *("--coil-length", "25mm", "--out", str(tmp_path / "told")),
        )
        assert status == 0
        made = rw.jig(
            "cutting-cradle", wire="2.5mm", inner="10mm", kerf="0.3mm", coil_length="25mm"
        )
        written = made.save_all(tmp_path / "mine")
        told = json.loads(json.dumps(written.facts))
        assert {**told, "files": {}} == {**facts, "files": {}}
        assert len(written.files) == len(facts["files"])

    def test_complaints_are_sentences(self):
        with pytest.raises(rw.BadInput, match="no jig 'anvil'"):
            rw.jig("anvil")
        with pytest.raises(
            rw.BadInput, match="cutting-cradle has no 'colour': expected some of wire, inner"
        ):
            rw.jig("cutting-cradle", wire="1mm", inner="4mm", kerf="0.3mm", colour="red")


def test_plan_is_the_commands(capsys, tmp_path):
    size = ("--wire", "1mm", "--inner", "4mm", "--length", "180mm")
    facts, status, _ = command(capsys, "plan", "one-in-one", *size, "--out", str(tmp_path / "told"))
    assert status == 0
    found = rw.plan("one-in-one", wire="1mm", inner="4mm", length="180mm")
    mine = json.loads(json.dumps(found.facts()))
    assert {**mine, "files": {}} == {**facts, "files": {}}
    found.save_all(tmp_path / "mine")
    assert (tmp_path / "mine.csv").read_bytes() == (tmp_path / "told.csv").read_bytes()
    with pytest.raises(TypeError, match="colour"):
        rw.plan("one-in-one", wire="1mm", inner="4mm", length="180mm", colour="red")
