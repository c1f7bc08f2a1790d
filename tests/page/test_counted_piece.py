"""The page's figures of a piece are those of its plan, whatever the plan's fields say."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import ringwright as rw
from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.making.shop.shop import load_shop, shop_from_text
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.file_settings import AS_COLOURED, FROM_GRID, Settings
from ringwright.page.worked_out.counted_piece import counting, counts
from ringwright.weaves import load_rule

SIZE = {"wire": "0.9mm", "inner": "3.7mm"}
GRID = "x,o\no,o\n"


@cache
def report_of(weave):
    return check(load_rule(weave), Wanted(weave, **SIZE).size())


CASES = {
    "ends": (
        Wanted("one-in-one"),
        Settings(clasp="12mm", ends="bar", clasp_rings="3", clasp_price="2.5", spares="20%"),
        {"clasp": "12mm", "ends": "bar", "clasp_rings": 3, "clasp_price": 2.5, "spares": "20%"},
    ),
    "annealed": (
        Wanted("one-in-one", metal="yellow brass", temper="half hard"),
        Settings(anneal="yes"),
        {"metal": "yellow brass", "temper": "half hard", "anneal": True},
    ),
    "by role": (
        Wanted("one-in-one", paint="open=copper,closed=fine silver"),
        Settings(metals=AS_COLOURED, anneal="yes"),
        {"metals": "open=copper,closed=fine silver", "temper": "soft", "anneal": True},
    ),
    "in turn": (
        Wanted("one-in-one", paint="2*copper,fine silver"),
        Settings(metals=AS_COLOURED),
        {"pattern": "2*copper,fine silver", "temper": "soft"},
    ),
    "looked at alone": (
        Wanted("one-in-one", paint="fine silver"),
        Settings(),
        {"metal": "copper", "temper": "soft"},
    ),
    "a grid": (
        Wanted("european-4-in-1", width="20mm"),
        Settings(metals=FROM_GRID, grid=GRID, legend="x=copper,o=fine silver"),
        {"grid": "grid.csv", "legend": "x=copper,o=fine silver", "width": "20mm", "temper": "soft"},
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_piece_is_counted_as_its_plan_is(case, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("shop.toml").write_text(STARTING_SHOP, encoding="utf-8")
    Path("grid.csv").write_text(GRID, encoding="utf-8")
    wanted, settings, options = CASES[case]
    wanted = replace(wanted, **SIZE, length="60mm")
    what = counting(wanted, load_shop(Path("shop.toml")), load_rule(wanted.weave), settings)
    shown = counts(report_of(wanted.weave), what).facts()
    made = rw.plan(wanted.weave, **SIZE, length="60mm", shop="shop.toml", **options).facts()
    assert json.dumps(shown) == json.dumps(made)


@pytest.mark.parametrize(
    ("wanted", "settings", "said"),
    [
        (Wanted("one-in-one", metal="galvanised steel"), Settings(anneal="yes"), "zinc fume"),
        (Wanted("one-in-one", mandrel="3mm"), Settings(anneal="yes"), "the plan has their figures"),
        (Wanted("one-in-one"), Settings(metals=FROM_GRID, grid="copper"), "is for sheets"),
        (Wanted("european-4-in-1"), Settings(metals=FROM_GRID), "is empty"),
        (Wanted("one-in-one"), Settings(clasp="12mm", clasp_rings="two"), "not a whole number"),
        (Wanted("one-in-one"), Settings(clasp="12mm", clasp_price="two"), "not a number"),
        (
            Wanted("one-in-one", paint="copper,fine silver", mandrel="3mm"),
            Settings(metals=AS_COLOURED),
            "by its inside",
        ),
        (
            Wanted("one-in-one", paint="copper,#123456"),
            Settings(metals=AS_COLOURED),
            "needs a metal",
        ),
    ],
)
def test_no_figures_of_one_metal_stand_for_what_cannot_be_planned(wanted, settings, said):
    wanted, rule = replace(wanted, **SIZE), load_rule(wanted.weave)
    with pytest.raises(BadInput, match=said):
        counting(wanted, shop_from_text("", Path("shop.toml")), rule, settings)
