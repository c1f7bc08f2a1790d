"""What the page asks of a plan becomes options of its command; paces go into the shop's text."""

from dataclasses import fields, replace
from pathlib import Path

import pytest

from ringwright.api.plan import asked_plan
from ringwright.base.errors import BadInput
from ringwright.cli import _parser
from ringwright.making.shop.shop import Pace, shop_from_text
from ringwright.page.files.command_lines import Chosen, command_for
from ringwright.page.shop.shop_forms import _SINGLE
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import AS_COLOURED, FROM_GRID, Settings
from ringwright.page.state.shop_edits import with_value
from ringwright.weaves import load_rule


def plan_of(settings, **wanted):
    """The plan that the page's command asks for, and the command."""
    want = replace(Wanted(), weave="european-4-in-1", inner="4mm", **wanted)
    command = command_for("plan", Chosen(want, load_rule(want.weave), "", "", settings))
    for name, text in command.reads.items():
        Path(name).write_text(text, encoding="utf-8")
    return asked_plan(_parser().parse_args(command.arguments)), command


@pytest.fixture(autouse=True)
def _in_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_ends_annealing_and_inches_are_asked_for():
    settings = Settings(clasp="12mm", ends="taper", clasp_rings="3", clasp_price="4.5")
    settings = replace(settings, anneal="yes", inches="yes")
    asked = plan_of(settings, temper="hard")[0].asked
    assert (asked.ends, asked.clasp_rings, asked.clasp_price) == ("taper", 3, 4.5)
    assert asked.anneal
    assert asked.units == "both"


def test_what_holds_a_clasp_is_not_asked_of_a_piece_without_one():
    asked = plan_of(Settings(ends="bar", clasp_rings="3", clasp_price="4.5"))[0].asked
    assert (asked.ends, asked.clasp_rings, asked.clasp_price) == (None, None, None)


@pytest.mark.parametrize("paint", ["open=copper,closed=fine silver", "2*copper,fine silver"])
def test_metals_are_those_that_the_rings_are_shown_in(paint):
    wanted, _ = plan_of(Settings(metals=AS_COLOURED), paint=paint)
    assert set(wanted.mix.sources) == {"copper", "fine silver"}
    assert plan_of(Settings(), paint=paint)[0].mix is None


def test_a_grid_is_a_file_beside_the_plan():
    settings = Settings(metals=FROM_GRID, legend="x=copper,o=yellow brass")
    with pytest.raises(BadInput, match="#d97036"):
        plan_of(replace(settings, grid="x,o\no,#d97036\n"))
    wanted, command = plan_of(replace(settings, grid="x,o\no,x\n"))
    assert set(wanted.mix.sources) == {"copper", "yellow brass"}
    assert set(command.reads) == {"grid.csv"}


def test_every_pace_of_the_shop_has_its_field():
    names = _SINGLE["Paces"][1]
    text = ""
    for name in names:
        text = with_value(text, "pace", name, "90s")
    pace = shop_from_text(text, Path("shop.toml")).pace
    assert [pace.of(name) for name in names] == [(90.0, False)] * len(names)
    assert set(names) == {field.name.removesuffix("_s") for field in fields(Pace)}
