"""The JSON that commands print, held against the schema of their records."""

import json

import jsonschema
import pytest

from ringwright.cli import main
from ringwright.outputs.models.artist import PictureUnavailable

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


class NoArtist:
    """Draws nothing, as where there is no graphics library."""

    def __init__(self, _):
        pass

    def __enter__(self):
        return self

    def __exit__(self, *_):
        pass

    def begin(self, _):
        pass

    def picture(self):
        raise PictureUnavailable("No picture was drawn: no pencil.")


def schema(capsys, name):
    """The schema that the command prints, itself a sound one."""
    assert main(["json-schema", name]) == 0
    found = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(found)
    return found


def told(capsys, *arguments):
    assert main([*arguments, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.mark.parametrize("weave", WEAVES.values(), ids=WEAVES)
@pytest.mark.parametrize("measure", MEASURES.values(), ids=MEASURES)
def test_size(weave, measure, capsys):
    facts = told(capsys, "size", *weave, *measure)
    jsonschema.validate(facts, schema(capsys, "size"))


@pytest.mark.parametrize("weave", WEAVES.values(), ids=WEAVES)
def test_plan(weave, tmp_path, capsys, monkeypatch):
    monkeypatch.setattr("ringwright.outputs.models.artist.Artist", NoArtist)
    asked = [*MEASURES["closed"], "--metal", "copper", "--temper", "soft"]
    facts = told(capsys, "plan", *weave, *asked, "--out", f"{tmp_path}/plan")
    jsonschema.validate(facts, schema(capsys, "plan"))


def test_a_figure_of_the_plan_is_described(capsys):
    rings = schema(capsys, "plan")["properties"]["rings"]["items"]
    assert rings["properties"]["wire_diameter_mm"] == {
        "description": "wire diameter", "type": "number", "unit": "mm",
    }  # fmt: skip
    assert rings["properties"]["mandrel_mm"]["anyOf"] == [{"type": "number"}, {"type": "null"}]


def test_an_unknown_output_is_refused(capsys):
    assert main(["json-schema", "nonsense"]) == 2
    assert "plan" in capsys.readouterr().err
