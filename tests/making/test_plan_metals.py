"""A plan of a piece in several metals: each by itself, or refused."""

import re

import pytest

import ringwright as rw
from ringwright.base.errors import BadInput
from ringwright.base.figures import number
from ringwright.cli import main
from ringwright.metals.metal_names import metal_named

SHOP = """\
[[wire]]
name = "red reel"
size = "0.9mm"
metal = "copper"
temper = "soft"
price_per_m = 2.0

[[wire]]
name = "yellow reel"
size = "0.9mm"
metal = "yellow brass"
temper = "half hard"
price_per_m = 3.0

[[wire]]
name = "white reel"
size = "0.9mm"
metal = "sterling silver"
temper = "soft"
price_per_m = 9.0

[[stock_ring]]
name = "red rings"
wire = "0.9mm"
inner = "3.2mm"
metal = "copper"
price_per_100 = 4.0

[[stock_ring]]
name = "yellow rings"
wire = "0.9mm"
inner = "3.2mm"
metal = "yellow brass"
price_per_100 = 7.0

[[metal]]
name = "door bronze"
density_g_per_cm3 = 8.5
youngs_modulus_mpa = 105000
tempers = [{ name = "soft", yield_mpa = 130, tensile_mpa = 310 }]
"""
CHAIN = ["plan", "one-in-one", "--wire", "0.9mm", "--inner", "3.2mm", "--length", "60mm"]


@pytest.fixture
def shop(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(SHOP, encoding="utf-8")
    return str(path)


def planned(_, weave, *options):
    """The plan's JSON object, without files."""
    names = [name.removeprefix("--") for name in options[::2]]
    return rw.plan(weave, **dict(zip(names, options[1::2], strict=True))).facts()


def refused(capsys, tmp_path, *arguments):
    assert main([*arguments, "--out", f"{tmp_path}/out/plan"]) == 2
    assert not (tmp_path / "out").exists()
    return capsys.readouterr().err


def test_each_metal_has_its_own_wire_mandrel_mass_and_price(shop):
    facts = planned(*CHAIN, "--metals", "open=copper,closed=yellow brass", "--shop", shop)
    by_metal = {one["metal"]: one for one in facts["rings"]}
    copper, brass = by_metal["copper"], by_metal["yellow brass"]
    assert (copper["rings_from"], brass["rings_from"]) == ("red reel", "yellow reel")
    assert (copper["closed"], brass["open"]) == (0, 0)
    assert copper["open"] == facts["rings_open"]
    assert brass["closed"] == facts["rings_closed"]
    # Harder wire springs further open, so it is wound on less.
    assert brass["mandrel_mm"] < copper["mandrel_mm"]
    ratio = brass["wire_g"] / brass["wire_m"] / (copper["wire_g"] / copper["wire_m"])
    densities = [metal_named(one).density_g_per_cm3 for one in ("yellow brass", "copper")]
    assert ratio == pytest.approx(densities[0] / densities[1], rel=5e-3)
    material = 2.0 * copper["wire_m"] + 3.0 * brass["wire_m"]
    # The sum of two costs that are shown to a hundredth.
    assert facts["cost"]["material"] == pytest.approx(material, abs=0.0101)
    said = " ".join(line for step in facts["steps"] for line in step["do"])
    assert f"For copper rings: Cut 1 piece of {number(0.9)} mm wire" in said
    assert f"Close {brass['closed']} yellow brass rings" in said


def test_a_metals_name_keeps_its_capitals_in_every_step():
    facts = planned(*CHAIN, "--metals", "open=copper,closed=stainless steel 316L")
    said = " ".join(line for step in facts["steps"] for line in step["do"])
    assert "Sort into piles. Closed: " in said
    assert "316L" in said
    assert "316l" not in said


def test_a_rules_own_metals_are_planned(shop, tmp_path):
    rule = tmp_path / "two.toml"
    rule.write_text(
        'name = "two"\nsummary = "two"\nlike = "one-in-one"\n'
        'metals = "open=copper,closed=yellow brass"\n',
        encoding="utf-8",
    )
    facts = planned("plan", str(rule), *CHAIN[2:], "--shop", shop)
    assert [one["metal"] for one in facts["metals"]] == ["copper", "yellow brass"]


def test_metals_that_take_turns_are_counted_ring_by_ring():
    facts = planned(*CHAIN, "--pattern", "3*copper,fine silver", "--temper", "soft")
    rings = facts["rings_in_piece"]
    counts = {one["metal"]: one["open"] + one["closed"] for one in facts["rings"]}
    assert counts == {"copper": rings - rings // 4, "fine silver": rings // 4}


def test_bought_rings_are_taken_of_every_metal(shop):
    stock = ["plan", "one-in-one", "--stock", "red rings", "--length", "60mm", "--shop", shop]
    facts = planned(*stock, "--metals", "open=copper,closed=yellow brass")
    of = {one["metal"]: one for one in facts["rings"]}
    assert of["copper"]["cost"] == pytest.approx(0.04 * of["copper"]["to_make"], abs=0.006)
    assert of["yellow brass"]["cost"] == pytest.approx(
        0.07 * of["yellow brass"]["to_make"], abs=0.006
    )
    assert facts["cut"] is None


def test_a_word_for_several_metals_means_that_on_the_shelf(shop):
    facts = planned(*CHAIN, "--pattern", "silver,copper", "--shop", shop)
    assert {one["metal"] for one in facts["metals"]} == {"sterling silver", "copper"}


def test_a_makers_own_metal_is_planned_too(shop):
    metals = ["--metals", "open=door bronze,closed=copper", "--temper", "soft"]
    facts = planned(*CHAIN, *metals, "--shop", shop)
    (bronze,) = (one for one in facts["metals"] if one["metal"] == "door bronze")
    assert bronze["cost"] is None
    assert facts["cost"]["total"] is None
    assert bronze["all_g"] > 0.0


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--pattern", "silver,copper"], "'silver' can be"),
        (["--pattern", "#102030,copper"], "a plan needs a metal for every ring"),
        (["--pattern", "black,copper"], "a plan needs a metal for every ring"),
        (["--pattern", "brass,copper", "--metal", "copper"], "--metal is not for a piece in sev"),
        (["--pattern", "brass,copper", "--trial", "3mm", "3.1mm"], "--trial is not for a piece"),
        (["--pattern", "brass,copper", "--mandrel", "3mm"], "--mandrel is not for a piece in sev"),
        (["--grid", "rows.csv"], "--grid is for sheets"),
        (["--metals", "open=copper"], "gives no metal for ring"),
    ],
)
def test_what_cannot_be_planned_is_refused(more, said, capsys, tmp_path):
    assert said in refused(capsys, tmp_path, *CHAIN, *more)


def test_rings_that_the_shop_has_of_one_metal_only_are_refused(capsys, tmp_path, shop):
    stock = ["plan", "one-in-one", "--stock", "red rings", "--length", "60mm", "--shop", shop]
    said = refused(capsys, tmp_path, *stock, "--pattern", "copper,fine silver")
    assert "has no rings of fine silver in the size of 'red rings'" in said


def test_a_wire_of_none_of_the_metals_is_refused(capsys, tmp_path, shop):
    named = ["plan", "one-in-one", "--wire", "red reel", *CHAIN[4:], "--shop", shop]
    said = refused(capsys, tmp_path, *named, "--pattern", "brass,fine silver")
    assert "'red reel' is of copper, of which the piece has no ring" in said


def test_the_cautions_of_every_metal_stand_on_the_plan_once():
    facts = planned(*CHAIN, "--pattern", "nickel silver,copper")
    texts = [one["text"] for one in facts["cautions"]]
    assert len(texts) == len(set(texts))
    assert any(re.match("Nickel silver is alloyed with nickel", text) for text in texts)


class TestMatch:
    """What is on the shelf is judged for the rings of its own metal."""

    SHELF = SHOP + '\n[[mandrel]]\nsize = "3mm"\n'

    def found(self, tmp_path, **metals):
        path = tmp_path / "shelf.toml"
        path.write_text(self.SHELF, encoding="utf-8")
        return rw.match("one-in-one", path, length="60mm", **metals).facts()

    def test_each_choice_counts_the_rings_of_its_metal_alone(self, tmp_path):
        one = self.found(tmp_path)
        two = self.found(tmp_path, metals="open=copper,closed=yellow brass")
        assert (one["metals"], two["metals"]) == ([], ["copper", "yellow brass"])
        whole = {fit["rings_from"]: fit for fit in one["fits"]}
        for fit in two["fits"]:
            all_of_it = whole[fit["rings_from"]]
            assert fit["metal"] in two["metals"]
            assert fit["length_mm"] == all_of_it["length_mm"]
            assert fit["mass_g"] < all_of_it["mass_g"]
            opened = fit["metal"] == "copper"
            assert fit["rings_open"] == (all_of_it["rings_open"] if opened else 0)
            assert fit["rings_closed"] == (0 if opened else all_of_it["rings_closed"])
        red, yellow = (
            next(fit for fit in two["fits"] if fit["stock_ring"] == name)
            for name in ("red rings", "yellow rings")
        )
        assert red["cost"] == pytest.approx(0.04 * red["rings_open"])
        assert yellow["cost"] == pytest.approx(0.07 * yellow["rings_closed"])
        assert "white reel on 3mm" in [one["what"] for one in two["left_out"]]

    def test_a_metal_that_is_not_on_the_shelf_is_named(self, tmp_path):
        two = self.found(tmp_path, metals="open=copper,closed=titanium grade 1")
        assert {one["what"]: one["why"] for one in two["left_out"]}["titanium grade 1"] == (
            "nothing on the shelf is of this metal"
        )
        with pytest.raises(rw.BadInput, match="is of titanium grade 1, of which"):
            self.found(tmp_path, metals="open=titanium grade 1,closed=titanium grade 1")


def test_a_colour_is_planned_as_the_metal_that_it_nearly_is_and_the_plan_says_so():
    size = {"wire": "0.9mm", "inner": "3.2mm", "length": "30mm", "temper": "soft"}
    metals = "open=#d87036,closed=titanium grade 1"
    made = rw.plan("one-in-one", metals=metals, **size)
    assert {one.metal for one in made.figures.metals} == {"copper", "titanium grade 1"}
    assert made.figures.colours_taken == {"#d87036": "copper"}
    assert "colours taken for metals: #d87036 as copper" in made.text()
    with pytest.raises(BadInput, match=r"#00ff00 is near to none of .* give the metal's name"):
        rw.plan("one-in-one", metals="open=#00ff00,closed=copper", **size)
