"""The JSON that commands print, held against the schema of their records."""

import importlib
import json
import pkgutil

import jsonschema
import pytest

from ringwright import commands
from ringwright.cli import main
from ringwright.commands.json_schema import OUTPUTS
from ringwright.making.shop.starting_shop import STARTING_SHOP

pytestmark = pytest.mark.usefixtures("unpictured")

WEAVES = {
    "a chain": ["one-in-one", "--wire", "1mm", "--inner", "4mm"],
    "a sheet": ["european-4-in-1", "--wire", "1mm", "--inner", "4.2mm"],
    "two sizes": ["mixed-gauge-chain", "--wire", "1.6mm", "--inner", "6mm"],
}
MEASURES = {
    "length": ["--length", "60mm"],
    "closed": ["--wrist", "120mm"],
    "clasp": ["--ankle", "130mm", "--clasp", "12mm"],
}


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(STARTING_SHOP, encoding="utf-8")
    return str(path)


def schema(capsys, name):
    """The schema that the command prints, itself a sound one."""
    assert main(["json-schema", name]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def told(capsys, *arguments, status=0):
    """The JSON of a command, held against its schema."""
    assert main([*arguments, "--json"]) == status
    facts = json.loads(capsys.readouterr().out)
    jsonschema.validate(facts, schema(capsys, arguments[0]))
    return facts


@pytest.mark.parametrize("weave", WEAVES.values(), ids=WEAVES)
@pytest.mark.parametrize("measure", MEASURES.values(), ids=MEASURES)
def test_size(weave, measure, capsys):
    assert told(capsys, "size", *weave, *measure)["sizes"]


@pytest.mark.parametrize("weave", WEAVES.values(), ids=WEAVES)
def test_plan(weave, tmp_path, capsys):
    asked = [*MEASURES["closed"], "--metal", "copper", "--temper", "soft"]
    facts = told(capsys, "plan", *weave, *asked, "--out", f"{tmp_path}/plan")
    assert facts["rings"][0]["coils"]


@pytest.mark.parametrize("weave", WEAVES.values(), ids=WEAVES)
def test_check(weave, capsys):
    assert told(capsys, "check", *weave)["can_be_woven"]


def test_check_of_rings_that_are_too_small(capsys, shop):
    rings = ["byzantine", "--wire", "1mm", "--inner", "2mm"]
    facts = told(capsys, "check", *rings, "--shop", shop, status=1)
    assert facts["collisions"]
    assert facts["nearest_ring"]["rings_from"] in facts["nearest_said"]


def test_limits(capsys):
    facts = told(capsys, "limits", *WEAVES["a chain"], "--repeats", "12")
    assert facts["eyes"]
    assert facts["bracelets"]
    assert facts["play_across"] is None


@pytest.mark.parametrize("metals", [[], ["--metals", "open=copper,closed=steel"]])
def test_preview_and_its_file(metals, tmp_path, capsys):
    out = tmp_path / "piece"
    asked = [*WEAVES["a chain"], "--length", "20mm", *metals, "--out", str(out)]
    facts = told(capsys, "preview", *asked)
    assert len(facts["metals"]) == len(metals)
    written = json.loads(out.with_suffix(".json").read_text(encoding="utf-8"))
    jsonschema.validate(written, schema(capsys, "preview"))
    assert {**facts, "rings": written["rings"]} == written
    assert len(written["rings"]) == facts["rings_total"]
    assert ("metal" in written["rings"][0]) == bool(metals)


def test_weaves(capsys):
    assert len(told(capsys, "weaves")["weaves"]) > 30


def test_match(capsys, shop):
    facts = told(capsys, "match", "one-in-one", "--shop", shop, "--length", "60mm")
    assert facts["fits"][0]["rank"] == 1


@pytest.mark.parametrize("made", [[], ["--metal", "copper", "--temper", "soft"]])
def test_regauge(made, capsys):
    more = ["--to", "1.2mm,18awg", "--length", "60mm", *made]
    facts = told(capsys, "regauge", *WEAVES["a chain"], *more)
    assert [bool(one["mandrel"]) for one in facts["wires"]] == [bool(made)] * 3


@pytest.mark.parametrize(
    "more",
    [
        ["--inner", "4mm"],
        ["--mandrel", "4mm", "--metal", "copper", "--temper", "soft", "--load", "5N"],
    ],
)
def test_ring(more, capsys):
    facts = told(capsys, "ring", "--wire", "18awg", *more)
    assert facts["other_gauge"]["name"] == "18swg"
    assert (facts["made"] is None) == ("--metal" not in more)


@pytest.mark.parametrize(
    "sizes",
    [
        ["--ratio-from", "1.5", "--ratio-to", "4", "--steps", "2"],
        ["--wires", "1mm", "--inners", "4mm"],
    ],
)
def test_sweep(sizes, tmp_path, capsys):
    facts = told(capsys, "sweep", "one-in-one", *sizes, "--out", f"{tmp_path}/sweep")
    closes = [row["can_be_woven"] for row in facts["rows"]]
    assert closes == ([True] if "--wires" in sizes else [False, True])


def test_drawing(tmp_path, capsys):
    facts = told(capsys, "drawing", *WEAVES["a chain"], "--out", f"{tmp_path}/drawing")
    assert facts["dimensions_mm"]["width"] > 0.0


def test_place(tmp_path, capsys):
    out = ["--candidates", "1", "--tries", "2", "--out", f"{tmp_path}/placed"]
    facts = told(capsys, "place", *WEAVES["a chain"], *out)
    assert facts["candidates"][0]["number"] == 1
    assert list(facts["files"]["rules"]) == ["1"]


# What these print is where a file is, or a list of names.
NO_FIGURES = {"jigs", "launcher", "new-weave", "shop-file"}


def test_every_command_with_figures_has_a_schema(capsys):
    modules = [one.name for one in pkgutil.iter_modules(commands.__path__)]
    names = {
        name.replace("_", "-")
        for name in modules
        if hasattr(importlib.import_module(f"ringwright.commands.{name}"), "run")
    }
    print_json = set()
    for name in names - {"jig"}:
        with pytest.raises(SystemExit):
            main([name, "--help"])
        print_json |= {name} if "[--json]" in capsys.readouterr().out else set()
    assert set(OUTPUTS) == (print_json - NO_FIGURES) | {"jig"}


def test_a_figure_of_the_plan_is_described(capsys):
    rings = schema(capsys, "plan")["properties"]["rings"]["items"]
    assert rings["properties"]["wire_diameter_mm"] == {
        "description": "wire diameter", "type": "number", "unit": "mm",
    }  # fmt: skip
    assert rings["properties"]["mandrel_mm"]["anyOf"] == [{"type": "number"}, {"type": "null"}]


def test_an_unknown_output_is_refused(capsys):
    assert main(["json-schema", "nonsense"]) == 2
    assert "plan" in capsys.readouterr().err
