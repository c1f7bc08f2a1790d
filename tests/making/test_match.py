"""A weave against the shelf, in other wires, and single rings; as commands and as figures."""

import argparse
import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from ringwright import weaves
from ringwright.answers.ratio_limits import AT_LIMIT, CANNOT, LOOSE, VERY_TIGHT, WORKING
from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_length
from ringwright.cli import main
from ringwright.commands.shared import add_size, asked_size
from ringwright.making.ring.coil import made_ring, saw
from ringwright.making.ring.wire import bending
from ringwright.making.shop.mandrel_choice import ORDER
from ringwright.making.shop.match import FAR_TOO_LOOSE, candidates, match
from ringwright.making.shop.match_figures import match_facts
from ringwright.making.shop.regauge import listed_wires, regauge
from ringwright.making.shop.report_match import match_text
from ringwright.making.shop.shop import load_shop
from ringwright.metals.metal_names import metal_named
from ringwright.weaves import load_rule

WEAVES = Path(weaves.__file__).parent

SHELF = """
[[wire]]
name = "copper"
size = "0.9mm"
metal = "copper"
temper = "soft"
price_per_kg = 25
[[wire]]
name = "silver"
size = "20awg"
metal = "sterling silver"
temper = "half hard"
price_per_m = 5
[[mandrel]]
size = "1mm"
[[mandrel]]
size = "2.5mm"
[[mandrel]]
size = "3mm"
[[mandrel]]
name = "fat"
size = "9mm"
[[stock_ring]]
name = "ready"
wire = "0.9mm"
outer = "4.7mm"
metal = "aluminium 5356"
price_per_100 = 3
[saw]
kerf = "0.3mm"
"""

WIRE_AND_RODS = """
[[wire]]
name = "copper"
size = "0.9mm"
metal = "copper"
temper = "soft"
[[mandrel]]
size = "3mm"
[[mandrel]]
name = "fat"
size = "9mm"
"""


def nothing(what, done, of):
    pass


def shop_of(folder, text):
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return load_shop(path)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    return shop_of(tmp_path_factory.mktemp("shelf"), SHELF)


@pytest.fixture(scope="module")
def chain(shelf):
    return match(load_rule("one-in-one"), shelf, 180.0)


@pytest.fixture(scope="module")
def far_off(tmp_path_factory):
    text = SHELF.replace('size = "2.5mm"', 'size = "8mm"').replace('size = "3mm"', 'size = "8.5mm"')
    shop = shop_of(tmp_path_factory.mktemp("far"), text.replace('outer = "4.7mm"', 'inner = "9mm"'))
    return match(load_rule("one-in-one"), shop, 180.0)


def test_every_wire_is_tried_on_every_mandrel_and_every_bought_ring(chain, shelf):
    names = {fit.candidate.name for fit in chain.fits}
    wound = {f"{wire.name} on {mandrel.name}" for wire in shelf.wires for mandrel in shelf.mandrels}
    assert names == wound | {"ready"}


def test_rings_are_those_of_the_mandrel_after_springback_and_kerf(chain):
    copper = next(fit for fit in chain.fits if fit.candidate.name == "copper on 3mm")
    bends = bending(metal_named("copper"), "soft", 0.9)
    made = made_ring(3.0, 0.9, bends.flow, saw(0.3))
    assert copper.candidate.size == made.ring
    low, likely, high = copper.candidate.ratios
    assert low < likely < high
    assert likely == copper.candidate.size.aspect_ratio


def test_a_chain_of_single_rings_repeats_every_two_inner_diameters(chain):
    # Two rings pulled straight touch inside to inside: a closed form, known from outside.
    laid_out = [fit for fit in chain.fits if fit.layout]
    assert len(laid_out) >= 4
    for fit in laid_out:
        inner, wire = fit.candidate.size.inner_mm, fit.candidate.size.wire_mm
        assert fit.layout.repeat_mm == pytest.approx(2.0 * inner, rel=1e-6)
        assert fit.layout.length_mm == pytest.approx(fit.layout.rings * inner + 2 * wire, rel=1e-6)
        assert fit.layout.length_mm >= 180.0 - 1e-6


def test_the_best_come_first(chain):
    keys = [
        (ORDER.index(fit.verdict), not fit.sure, round(fit.off_middle, 4)) for fit in chain.fits
    ]
    assert keys == sorted(keys)
    assert chain.best is chain.fits[0]


def test_mass_and_cost_are_those_of_the_rings(chain):
    for fit in chain.fits:
        one, layout = fit.candidate, fit.layout
        if layout is None:
            assert fit.mass_g is None
            assert fit.cost is None
            continue
        around = 2.0 * math.pi * one.size.core_radius_mm * layout.rings
        section = math.pi * one.size.wire_mm**2 / 4.0
        assert fit.mass_g == pytest.approx(around * section * one.density_g_per_cm3 / 1000.0)
        if one.stock is not None:
            assert fit.cost == pytest.approx(0.03 * layout.rings)
            continue
        # Kerf for every ring and something for the ends, but no more than a quarter in all.
        assert around + 0.3 * layout.rings < fit.wire_mm < 1.25 * around
        if one.wire.name == "silver":
            assert fit.cost == pytest.approx(fit.wire_mm * 5.0 / 1000.0)
        else:
            assert fit.cost == pytest.approx(fit.wire_mm * section * 8.94e-6 * 25.0)


def test_what_is_far_too_loose_is_said_and_not_laid_out(chain):
    fat = [fit for fit in chain.fits if fit.candidate.name.endswith("fat")]
    assert {fit.verdict for fit in fat} == {LOOSE}
    assert {fit.note for fit in fat} == {FAR_TOO_LOOSE}
    assert "Not laid out" in match_text(chain)


def test_verdicts_that_need_a_word_get_it_where_they_occur(chain):
    verdicts = {fit.verdict for fit in chain.fits}
    text = match_text(chain)
    assert ("At the limit: " in text) == (AT_LIMIT in verdicts)
    first = chain.fits[0]
    limits = replace(first.limits, working=1.05 * first.candidate.size.aspect_ratio)
    tight = replace(chain, fits=(replace(first, limits=limits, verdict=VERY_TIGHT),))
    assert "Very tight: below the working minimum" in match_text(tight)
    assert f"working minimum         {limits.working:.3f}" in match_text(tight)
    (fit,) = match_facts(tight)["fits"]
    assert fit["working_min_aspect_ratio"] == round(limits.working, 4)
    held = replace(chain, fits=(replace(first, verdict=AT_LIMIT),))
    assert "'ringwright check' says what such rings have to measure" in " ".join(
        match_text(held).split()
    )


def test_too_tight_stays_in_the_list_last(chain):
    last = chain.fits[-1]
    assert last.verdict == CANNOT
    assert last.layout is None
    assert last.candidate.size.aspect_ratio < last.limits.minimum


def test_the_table_and_the_json_say_the_same(chain):
    facts, text = match_facts(chain), match_text(chain)
    json.dumps(facts, allow_nan=False)
    assert [fit["rank"] for fit in facts["fits"]] == list(range(1, len(chain.fits) + 1))
    for fit in facts["fits"]:
        line = next(line for line in text.splitlines() if f"  {fit['rings_from']}  " in line)
        assert f"{fit['aspect_ratio']:.2f}" in line
        assert fit["verdict"] in line
        if fit["mass_g"] is not None:
            assert f"{fit['mass_g']:.1f}" in line
    # Half the metals here may hold lead or eat away in pickle.
    assert facts["cautions"] == list(chain.cautions()) != []
    assert facts["mandrels"][0]["safe_rounding"] in ("up", "down", "either", "neither")


def test_when_nothing_works_it_says_what_to_buy_and_that_would_work(far_off, tmp_path):
    assert all(fit.verdict != WORKING for fit in far_off.fits)
    assert "Nothing on the shelf is in the working range" in match_text(far_off)
    assert {wire.name for wire, _ in far_off.to_buy} == {"copper", "silver"}
    for wire, choice in far_off.to_buy:
        bought = choice.chosen
        assert bought is not None
        ratio = made_ring(bought.mandrel_mm, wire.wire_mm, wire.bending.flow, saw(0.3))
        limits = dict(far_off.limits)[wire.name]
        assert limits.verdict(ratio.ring.aspect_ratio) == bought.verdict == WORKING


def test_ready_rings_to_buy_would_work_from_end_to_end(far_off):
    # 20 AWG is 0.8118 mm (ASTM B258).
    assert [rings.wire_mm for rings in far_off.rings_to_buy] == pytest.approx(
        [0.8118, 0.9], abs=1e-4
    )
    limits = dict(far_off.limits)["copper"]
    for rings in far_off.rings_to_buy:
        for inner in (rings.lowest_mm, rings.highest_mm):
            assert limits.verdict(inner / rings.wire_mm) == WORKING
        for inner in (rings.lowest_mm - 0.0101, rings.highest_mm + 0.0101):
            assert limits.verdict(inner / rings.wire_mm) != WORKING


def test_a_shelf_of_bought_rings_alone_is_told_which_to_buy(tmp_path):
    text = '[[stock_ring]]\nwire = "0.9mm"\ninner = "1.2mm"\nmetal = "304"\n'
    found = match(load_rule("one-in-one"), shop_of(tmp_path, text), 60.0)
    assert found.best is None
    assert found.to_buy == ()
    assert "ready rings of 0.9 mm wire" in match_text(found)


def test_an_empty_shelf_is_refused(tmp_path):
    with pytest.raises(BadInput, match="has no rings to try"):
        candidates(shop_of(tmp_path, '[[mandrel]]\nsize = "3mm"\n'))


def test_a_shelf_on_which_nothing_makes_a_ring_is_refused_with_a_reason(tmp_path):
    far = WIRE_AND_RODS.replace('size = "3mm"', 'size = "95mm"').replace(
        'size = "9mm"', 'size = "9cm"'
    )
    with pytest.raises(BadInput, match="makes a ring; copper on fat: its aspect ratio"):
        candidates(shop_of(tmp_path, far))


def test_what_makes_no_ring_is_left_out_with_why(tmp_path):
    text = SHELF.replace('size = "20awg"', 'size = "0.1mm"').replace(
        'size = "9mm"', 'size = "90mm"'
    )
    found, left_out = candidates(shop_of(tmp_path, text))
    whys = dict(left_out)
    assert "silver on fat" in whys
    assert "outside 1 to 50" in whys["copper on fat"]
    assert len(found) + len(left_out) == 9


def test_rings_fixed_in_millimetres_are_counted_apart_and_may_not_fit_at_all(tmp_path):
    text = (WEAVES / "one_in_one.toml").read_text(encoding="utf-8")
    fixed = text.replace(
        '[[ring]]\nname = "Y"\n',
        '[[size]]\nname = "own"\nwire_mm = 0.9\ninner_mm = 3.0\n\n'
        '[[ring]]\nname = "Y"\nsize = "own"\n',
    )
    (tmp_path / "fixed.toml").write_text(fixed, encoding="utf-8")
    rule = load_rule(tmp_path / "fixed.toml")
    # Round a rod of 30 mm the ring cannot reach both neighbours of 3 mm as the rule has them.
    shelf = WIRE_AND_RODS.replace('size = "9mm"', 'size = "30mm"')
    found = match(rule, shop_of(tmp_path, shelf), 60.0)
    assert [fit.candidate.name for fit in found.fits] == ["copper on 3mm"]
    assert [what for what, _ in found.left_out] == ["copper on fat"]
    fit = found.fits[0]
    assert fit.layout.main_rings < fit.layout.rings
    assert 0.0 < fit.layout.other_metal_mm3 < fit.layout.metal_mm3
    assert "rings of the first size" in match_text(found)


@pytest.fixture(scope="module")
def two_wires():
    copper = metal_named("copper")
    wires = [("0.9mm", 0.9), ("1.8mm", 1.8)]
    rule = load_rule("one-in-one")
    hard = bending(copper, "hard", 0.9)
    return regauge(rule, wires, 3.4, 8.94, hard, saw(0.3), 200.0, nothing)


class TestRegauge:
    def test_everything_scales_with_the_wire(self, two_wires):
        one, double = two_wires
        assert double.report.verdict == one.report.verdict
        for key in ("repeat_mm", "width_mm", "thickness_mm"):
            single = getattr(one.report, key)
            assert getattr(double.report, key) == pytest.approx(2.0 * single, rel=1e-9)
        assert double.rings_per_m == pytest.approx(one.rings_per_m / 2.0)
        assert double.mass_g_per_m == pytest.approx(4.0 * one.mass_g_per_m)

    def test_rings_and_mass_by_hand(self, two_wires):
        one = two_wires[0]
        inner = 3.4 * 0.9
        assert one.rings_per_m == pytest.approx(1000.0 / inner)
        ring_g = math.pi * (inner + 0.9) * math.pi * 0.45**2 * 8.94e-3
        assert one.mass_g_per_m == pytest.approx(1000.0 / inner * ring_g)
        assert one.layout.rings == pytest.approx((200.0 - 1.8) / inner, abs=2.0)

    def test_the_mandrel_makes_that_ring(self, two_wires):
        for one in two_wires:
            size = one.report.size
            # Thick wire of a temper is weaker, so each has its own.
            flow = bending(metal_named("copper"), "hard", size.wire_mm).flow
            made = made_ring(one.mandrel.exact_mm, size.wire_mm, flow, saw(0.3))
            assert made.ring.inner_mm == pytest.approx(size.inner_mm)

    def test_lists_of_wires(self):
        assert listed_wires("20awg, 1.2mm", parse_length)[1] == ("1.2mm", 1.2)
        with pytest.raises(BadInput, match="in the list twice"):
            listed_wires("1.2mm,0.12cm", parse_length)
        with pytest.raises(BadInput, match="at most 20"):
            listed_wires(",".join(f"{n}mm" for n in range(1, 23)), parse_length)


class TestCommands:
    def test_the_shop_file_is_written_once_and_never_over_another(self, tmp_path, capsys):
        path = tmp_path / "shop.toml"
        assert main(["shop-file", str(path)]) == 0
        written = path.read_bytes()
        assert load_shop(path).wires
        assert main(["shop-file", str(path)]) == 2
        assert "exists already" in capsys.readouterr().err
        assert path.read_bytes() == written
        assert main(["shop-file", str(tmp_path / "shop.txt")]) == 2

    def test_match_prints_one_json_object(self, tmp_path, capsys):
        shop = tmp_path / "shop.toml"
        shop.write_text(WIRE_AND_RODS, encoding="utf-8")
        asked = ["match", "one-in-one", "--shop", str(shop), "--length", "100mm", "--json"]
        assert main(asked) == 0
        facts = json.loads(capsys.readouterr().out)
        assert facts["weave"] == "one-in-one"
        assert len(facts["fits"]) == 2
        assert facts["fits"][0]["rings_total"] > 20

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            (["--length", "100"], "has no unit"),
            (["--length", "100mm", "--width", "10mm"], "--width is for sheets"),
            (["--length", "100mm", "--workers", "0"], "outside 1 to 256"),
            (["--length", "100mm", "--shop", "none.toml"], "does not exist"),
        ],
    )
    def test_match_refuses_what_it_cannot_use(self, shelf, more, said, capsys):
        assert main(["match", "one-in-one", "--shop", str(shelf.path), *more]) == 2
        assert said in capsys.readouterr().err

    def test_a_wound_ring(self, capsys):
        asked = ["ring", "--wire", "18awg", "--mandrel", "3.2mm", "--kerf", "0.3mm"]
        metal = ["--metal", "sterling silver", "--temper", "half hard", "--load", "500g"]
        assert main([*asked, *metal, "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert facts["other_gauge"]["name"] == "18swg"
        assert facts["other_gauge"]["aspect_ratio"] < facts["aspect_ratio"]
        low, high = facts["made"]["inner_mm_range"]
        assert low < facts["inner_mm"] < high
        strength = facts["strength"]
        pull = strength["begins_to_spread_n"]
        assert strength["safety_factor"] == pytest.approx(pull / 4.903325, abs=1e-5)
        assert "never for lifting" in strength["warning"]
        assert main([*asked, *metal]) == 0
        text = capsys.readouterr().out
        assert "never for lifting, restraint, climbing or pets' leads" in " ".join(text.split())
        assert "eye protection" in text

    def test_a_bought_ring_and_the_mandrel_that_would_make_it(self, capsys):
        asked = ["ring", "--wire", "0.9mm", "--outer", "5mm", "--trial", "3mm", "3.1mm", "--json"]
        assert main(asked) == 0
        facts = json.loads(capsys.readouterr().out)
        assert facts["inner_mm"] == pytest.approx(3.2)
        assert 3.0 < facts["made"]["mandrel_mm"] < 3.2
        assert facts["strength"] is None
        assert facts["made"]["cut"] == "shears"

    @pytest.mark.parametrize(
        ("asked", "said"),
        [
            (["--mandrel", "3mm"], "how far the wire springs back"),
            (["--mandrel", "3mm", "--inner", "3mm"], "leave out --inner"),
            (["--inner", "3.2mm", "--load", "5N"], "--load needs to know how hard"),
            (["--inner", "3.2mm", "--temper", "soft"], "--temper has no meaning without"),
            (["--inner", "3.2mm", "--outer", "5mm"], "leave one of them out"),
            (["--inner", "3.2mm", "--metal", "coper"], "perhaps copper is meant"),
            (["--inner", "3.2mm", "--kerf", "9mm"], "width of the saw cut"),
        ],
    )
    def test_ring_refuses_what_it_cannot_use(self, asked, said, capsys):
        assert main(["ring", "--wire", "0.9mm", *asked]) == 2
        assert said in capsys.readouterr().err

    def test_a_wire_of_the_shop_file_brings_its_trial_and_its_saw(self, tmp_path, capsys):
        trial = '[[trial]]\nwire = "copper"\nmandrel = "3mm"\ninner = "3.2mm"\n'
        unlisted = WIRE_AND_RODS.replace('"soft"', '"as it came"')
        shop = shop_of(tmp_path, f'{unlisted}{trial}[saw]\nkerf = "0.3mm"\n')
        asked = ["ring", "--shop", str(shop.path), "--mandrel", "3mm", "--wire"]
        assert main([*asked, "copper", "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert facts["made"]["coil_inner_mm"] == pytest.approx(3.2)
        assert facts["made"]["kerf_mm"] == 0.3
        assert facts["metal"] == "copper"
        # No handbook knows how strong that is.
        assert facts["strength"] is None
        assert main([*asked, "silver"]) == 2
        assert "expected one of 'copper'" in capsys.readouterr().err
        assert main([*asked, "copper", "--metal", "copper"]) == 2
        assert "leave out --metal" in capsys.readouterr().err

    def test_regauge_lists_the_wires_with_the_first_on_top(self, capsys):
        asked = ["regauge", "one-in-one", "--wire", "0.9mm", "--ratio", "3.4", "--to", "20awg"]
        metal = ["--metal", "copper", "--temper", "soft"]
        assert main([*asked, *metal, "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert [wire["wire"] for wire in facts["wires"]] == ["0.9mm", "20awg"]
        assert facts["wires"][1]["inner_mm"] == pytest.approx(3.4 * 0.8118, abs=1e-3)

    def test_every_command_that_takes_a_size_takes_an_outer_diameter(self):
        parser = argparse.ArgumentParser()
        add_size(parser)
        asked = parser.parse_args(["one-in-one", "--wire", "0.9mm", "--outer", "5mm"])
        assert asked_size(asked)[1].inner_mm == pytest.approx(3.2)
