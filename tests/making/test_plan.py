"""Size of a piece and the cutting plan: counts, wire, hours, money, cautions, and the sheet."""

import csv
import errno
import io
import json
import math
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy.integrate import quad

import ringwright as rw
from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.verdict import check
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.figures import GRAMS, WORDS, number, read_from
from ringwright.base.sizes import RingSize, parse_allowance, parse_percent
from ringwright.cli import main
from ringwright.making.plan import write_plan as write_plan_module
from ringwright.making.plan.piece_figures import RingFigures
from ringwright.making.plan.piece_size import (
    BAND,
    COMPUTED,
    FITTED,
    checked_measure,
    graded,
    sized,
)
from ringwright.making.plan.plan import Asked, Batch, Rings, plan
from ringwright.making.plan.plan_figures import plan_figures
from ringwright.making.plan.plan_pdf import plan_pdf
from ringwright.making.plan.report_plan import CSV_HEADS, csv_rows, plan_text, ring_table
from ringwright.making.plan.write_plan import write_plan, write_plan_csv
from ringwright.making.ring.cautions import STEPS, cautions_for
from ringwright.making.ring.coil import SHEARS, saw
from ringwright.making.ring.wire import bending
from ringwright.making.shop.shop import load_shop
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.metals.metal_names import metal_named
from ringwright.movement.loops import closed_loop
from ringwright.outputs.models.artist import PictureUnavailable
from ringwright.piece.piece import piece_of_length
from ringwright.rest.counts import counted_unit
from ringwright.rest.unit import lying_unit
from ringwright.weaves import load_rule
from ringwright.weaves.rule import CommonRange

SETTINGS = settings(derandomize=True, deadline=None, max_examples=100)
HERE = Path(__file__).parents[1]
PAPERS_PT = {"A4": (595.28, 841.89), "letter": (612.0, 792.0)}
WEAVES = {
    "chain": ("one-in-one", RingSize(0.9, 3.2)),
    "sheet": ("european-4-in-1", RingSize(0.9, 4.0)),
    "mixed": (HERE / "rules" / "mixed.toml", RingSize(0.9, 3.6)),
}


@cache
def report_of(kind):
    name, size = WEAVES[kind]
    return check(load_rule(name), size)


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(STARTING_SHOP, encoding="utf-8")
    return load_shop(path)


def copper(kind, cut=SHEARS, coil_mm=100.0, **more):
    metal = metal_named("copper")
    return Rings(
        report_of(kind).size, None, cut, coil_mm, metal, "soft", bending(metal, "soft", 0.9), **more
    )


def planned(kind, rings=None, measure=None, **asked):
    report = report_of(kind)
    sizing = sized(report, measure or checked_measure("length", 120.0, None, None))
    return plan(report, rings or copper(kind), sizing, Asked(**asked))


class TestSize:
    def test_closed_into_itself_both_neighbours_are_closed_loops(self):
        report = report_of("chain")
        found = sized(report, checked_measure("wrist", 120.0, None, None))
        wanted = 120.0 + defaults.EASE_MM["wrist"]
        assert found.longer.repeats == found.shorter.repeats + 1
        assert found.shorter.inner_mm <= wanted < found.longer.inner_mm
        for one in (found.shorter, found.longer):
            loop = closed_loop(report.unit, "up", one.repeats)
            assert one.how == COMPUTED
            assert one.inner_mm == pytest.approx(
                loop.inner_circumference * report.size.core_radius_mm
            )
            assert one.lost_mm == pytest.approx(one.repeats * report.repeat_mm - one.inner_mm)

    def test_with_a_clasp_the_loss_is_less_than_that_of_a_solid_band(self):
        """A band of thickness t bent round a circle loses pi t inside against its middle.

        A simple chain is as thick as its rings are wide, if they stand up; round a wrist they lean
        and take off less, about half of it.
        """
        report = report_of("chain")
        found = sized(report, checked_measure("wrist", 120.0, 0.0, 15.0))
        band = math.pi * report.size.outer_mm
        for one in (found.shorter, found.longer):
            assert one.finished_mm == pytest.approx(one.flat_mm + 15.0)
            assert one.inner_mm == pytest.approx(one.finished_mm - one.lost_mm)
            assert 0.5 * band < one.lost_mm < band
            assert one.how.startswith("approximation")
            assert "clasp" in one.how

    @SETTINGS
    @given(st.floats(10.0, 600.0))
    def test_a_length_has_the_neighbours_that_the_pieces_measure(self, length):
        report = report_of("chain")
        found = sized(report, checked_measure("length", length, None, None))
        piece, repeats = piece_of_length(
            report.rule, report.unit, report.size.core_radius_mm, length
        )
        assert found.longer.repeats == repeats
        assert found.longer.flat_mm == pytest.approx(piece.length_mm())
        assert found.longer.inner_mm is None
        if found.shorter is not found.longer:
            assert found.longer.flat_mm >= length
            shorter = 0.0 if found.shorter is None else found.shorter.flat_mm
            assert shorter <= length
            assert found.longer.repeats - 1 == (found.shorter.repeats if found.shorter else 0)

    def test_a_length_that_fits_exactly_has_one_neighbour_on_both_sides(self):
        report = report_of("chain")
        exact = sized(report, checked_measure("length", 100.0, None, None)).longer.flat_mm
        found = sized(report, checked_measure("length", exact, None, None))
        assert found.shorter == found.longer
        assert found.longer.flat_mm == pytest.approx(exact)

    def test_a_sheet_is_bent_as_a_solid_band_and_says_so(self):
        report = report_of("sheet")
        found = sized(report, checked_measure("ankle", 200.0, None, None))
        assert found.longer.how == BAND
        thick_mm = lying_unit(report.unit).thickness() * report.size.core_radius_mm
        assert found.longer.lost_mm == pytest.approx(math.pi * thick_mm)

    def test_grading_says_which_sizes_are_read_between_computed_loops(self):
        report = report_of("chain")
        wrists = (120.0, 135.0, 150.0)
        found = graded(report, [checked_measure("wrist", mm, 10.0, None) for mm in wrists])
        assert [one.longer.inner_mm for one in found] == sorted(
            one.longer.inner_mm for one in found
        )
        for one in found:
            assert one.shorter.inner_mm <= one.measure.wanted_mm < one.longer.inner_mm
        middle = found[1].longer
        assert middle.how == FITTED
        loop = closed_loop(report.unit, "up", middle.repeats)
        computed = loop.inner_circumference * report.size.core_radius_mm
        assert middle.inner_mm == pytest.approx(computed, abs=0.3)

    @pytest.mark.parametrize(
        ("measure", "said"),
        [
            (("length", 100.0, 5.0, None), "ease"),
            (("length", 10.0, None, 12.0), "clasp"),
        ],
    )
    def test_measures_that_cannot_be_are_refused(self, measure, said):
        with pytest.raises(BadInput, match=said):
            checked_measure(*measure)

    def test_pieces_too_short_or_too_large_are_refused(self):
        report = report_of("chain")
        with pytest.raises(BadInput, match="less than one repeat"):
            sized(report, checked_measure("length", 2.0, None, None))
        with pytest.raises(BadInput, match="more than 20000 rings"):
            sized(report, checked_measure("length", 9.9e6, None, None))


class TestCounts:
    @pytest.mark.parametrize("kind", WEAVES)
    def test_are_the_rings_of_the_previewed_piece(self, kind):
        width = 20.0 if kind == "sheet" else None
        report = report_of(kind)
        found = planned(kind, width_mm=width)
        unit = counted_unit(report.rule, report.unit)
        piece, repeats = piece_of_length(
            report.rule, unit, report.size.core_radius_mm, 120.0, width
        )
        assert found.repeats == repeats
        assert found.piece.names == piece.names
        batches = found.batches
        assert sum(batch.rings_open for batch in batches) == piece.roles.count("open")
        assert sum(batch.rings_closed for batch in batches) == piece.roles.count("closed")
        assert sum(batch.end_rings for batch in batches) == len(report.rule.start)
        facts = plan_figures(found).facts()
        assert facts["rings_in_piece"] == len(piece)
        assert facts["flat_mm"] == pytest.approx(piece.length_mm(), abs=0.051)

    def test_of_a_weave_of_two_sizes_are_kept_apart(self):
        found = planned("mixed")
        main, small = found.batches
        assert (main.name, small.name) == ("main", "small")
        assert small.size.wire_mm == pytest.approx(0.8 * 0.9)
        assert small.size.core_radius_mm == pytest.approx(0.75 * main.size.core_radius_mm)
        assert main.in_piece == found.repeats
        assert small.in_piece == found.repeats + 1
        assert small.mandrel_mm < small.size.inner_mm < main.mandrel_mm

    def test_closed_into_itself_the_end_rings_are_those_of_the_last_repeat(self):
        found = planned("chain", measure=checked_measure("wrist", 120.0, None, None))
        (batch,) = found.batches
        assert batch.in_piece == 2 * found.repeats
        assert batch.rings_open == batch.rings_closed == found.repeats
        assert batch.end_rings == 0
        assert len(found.piece) == batch.in_piece + len(found.left_off)

    def test_the_shorter_neighbour_can_be_taken(self):
        longer, shorter = planned("chain"), planned("chain", shorter=True)
        assert shorter.repeats == longer.repeats - 1
        assert shorter.piece.length_mm() < 120.0 <= longer.piece.length_mm()

    @SETTINGS
    @given(st.floats(0.0, 100.0), st.integers(0, 6))
    def test_spares_are_a_share_of_all_rings_rounded_up(self, percent, clasp_rings):
        measure = checked_measure("length", 120.0, None, 12.0)
        found = planned("chain", measure=measure, spares_percent=percent, clasp_rings=clasp_rings)
        (batch,) = found.batches
        exact = (len(found.piece) + clasp_rings) * percent / 100.0
        assert exact - 1e-6 <= batch.spares < exact + 1.0
        assert batch.clasp_rings == clasp_rings
        assert found.to_make == len(found.piece) + clasp_rings + batch.spares
        assert sum(batch.winding.coil_rings) == found.to_make


class TestWire:
    @pytest.mark.parametrize(("kind", "cut"), [("chain", saw(0.3)), ("mixed", SHEARS)])
    def test_is_what_the_helices_add_up_to_by_integration(self, kind, cut):
        found = planned(kind, copper(kind, cut, coil_mm=30.0))
        for batch in found.batches:
            radius = (batch.made.coil_inner_mm + batch.size.wire_mm) / 2.0
            climb = batch.size.wire_mm / (2.0 * math.pi)

            def speed(angle, radius=radius, climb=climb):
                tangent = (-radius * math.sin(angle), radius * math.cos(angle), climb)
                return float(np.linalg.norm(tangent))

            turn = quad(speed, 0.0, 2.0 * math.pi)[0]
            assert len(batch.winding.coil_rings) > 1 or kind == "mixed"
            # A turn lost and 40 mm of tail for every coil: common practice, no source.
            exact = sum((rings + 1) * turn + 40.0 for rings in batch.winding.coil_rings)
            assert batch.winding.wire_mm == pytest.approx(exact, rel=1e-9)
            assert exact <= batch.wire_length_mm < exact + len(batch.winding.coil_rings)
            assert sum(coil.coils * coil.rings for coil in batch.coils) == batch.to_make
            # What the same wire makes on the mandrel, by its own helix.
            narrow = math.hypot(
                math.pi * (batch.mandrel_mm + batch.size.wire_mm), batch.size.wire_mm
            )
            for coil in batch.coils:
                assert coil.turns_wound == pytest.approx((coil.rings + 1) * turn / narrow)
                assert coil.turns_wound > coil.turns == coil.rings + 1
                assert coil.length_mm < coil.length_wound_mm <= 30.0
            assert all(coil.wire_length_mm == int(coil.wire_length_mm) for coil in batch.coils)
            mass = math.pi * (batch.size.wire_mm / 20.0) ** 2 * (batch.wire_length_mm / 10.0) * 8.94
            assert batch.wire_g == pytest.approx(mass, rel=5e-3)

    def test_goes_into_piece_spares_and_waste(self):
        facts = plan_figures(planned("mixed")).facts()
        shares = facts["piece_g"] + facts["spares_g"] + facts["waste_g"]
        assert facts["wire_g"] == pytest.approx(shares)
        assert facts["waste_g"] > 0.0
        assert facts["wire_m"] == pytest.approx(
            sum(
                coil["coils"] * coil["wire_length_mm"] / 1000.0
                for batch in facts["rings"]
                for coil in batch["coils"]
            )
        )

    def test_without_a_metal_coils_are_known_but_neither_mandrel_nor_mass(self):
        size = report_of("chain").size
        found = planned("chain", Rings(size, None, SHEARS, 100.0))
        (batch,) = found.batches
        assert batch.mandrel_mm is None
        assert {(coil.turns_wound, coil.length_wound_mm) for coil in batch.coils} == {(None, None)}
        assert batch.wire_g is None
        assert batch.wire_length_mm == planned("chain").wire_length_mm
        assert "let go" in plan_text(plan_figures(found))

    def test_the_nearest_mandrel_of_the_shelf_is_named(self, shop):
        (batch,) = planned("chain", copper("chain", shop=shop)).batches
        assert batch.nearest.mandrel_mm in [one.mandrel_mm for one in shop.mandrels]
        off = abs(batch.nearest.ring.inner_mm - batch.size.inner_mm)
        assert 0.0 < off < 0.3


class TestTimeAndMoney:
    def test_follow_from_the_shops_pace_and_rates(self, shop):
        """By hand: 120 mm of one-in-one and a clasp; pace and rates of the shop to start from."""
        wire = shop.wire("copper 0.9")
        rings = copper("chain", shop.cut, shop.coil_mm, wire=wire, shop=shop)
        measure = checked_measure("length", 120.0, None, 12.0)
        found = planned("chain", rings, measure, clasp_price=4.0)
        (batch,) = found.batches
        opened, closed, made = batch.rings_open + 2, batch.rings_closed, batch.to_make
        by_hand = made * 1.0 + made * 3.0 + closed * 6.0 + opened * (5.0 + 20.0)
        # Usual ones, of which the file says nothing: deburr and sort, then setting up, a load of
        # the tumbler, the clasp and packing.
        by_hand += made * (0.5 + 0.5) + 300.0 + 600.0 + 180.0 + 300.0
        assert found.seconds == pytest.approx(by_hand)
        facts = plan_figures(found).facts()
        time, cost = facts["time"], facts["cost"]
        assert time["minutes"] == sum(step["minutes"] for step in time["steps"])
        assert time["minutes"] == pytest.approx(by_hand / 60.0, abs=0.5 * len(time["steps"]))
        usual = [step["step"] for step in time["steps"] if step["is_usual"]]
        assert usual == ["setup", "deburr", "tumble", "sort", "clasp", "pack"]
        assert cost["material"] == pytest.approx(batch.wire_g * 25.0 / 1000.0, abs=0.0051)
        assert cost["work"] == pytest.approx(time["minutes"] * 20.0 / 60.0, abs=0.0051)
        assert cost["overhead"] == pytest.approx(
            0.1 * (cost["material"] + cost["work"] + 4.0), abs=0.0051
        )
        assert cost["total"] == pytest.approx(
            cost["material"] + cost["work"] + 4.0 + cost["overhead"]
        )
        assert cost["price"] == pytest.approx(cost["total"] * 1.5, abs=0.0051)
        assert cost["retail_price"] == pytest.approx(cost["price"] * 2.0, abs=0.0051)

    def test_rings_sold_by_the_pack_are_bought_and_paid_by_the_pack(self, tmp_path):
        path = tmp_path / "shop.toml"
        ring = '[[stock_ring]]\nname = "dull"\nwire = "0.9mm"\ninner = "3.2mm"\nmetal = "copper"\n'
        path.write_text(f"{ring}pack_of = 40\nprice_per_pack = 3.5\n", encoding="utf-8")
        facts = rw.plan("one-in-one", stock="dull", shop=path, length="120mm").facts()
        made = facts["rings_to_make"]
        packs = facts["rings"][0]["packs"]
        assert 40 * (packs - 1) < made <= 40 * packs
        assert facts["cost"]["material"] == pytest.approx(3.5 * packs)
        steps = [step["step"] for step in facts["time"]["steps"]]
        assert steps == ["close", "open", "sort", "weave", "pack"]
        path.write_text(f"{ring}pack_of = 40\nprice_per_100 = 5.0\n", encoding="utf-8")
        again = rw.plan("one-in-one", stock="dull", shop=path, length="120mm").facts()
        assert again["cost"]["material"] == pytest.approx(40 * packs * 0.05, abs=0.0051)
        assert f"To buy of dull: {packs} pack" in plan_text(
            rw.plan("one-in-one", stock="dull", shop=path, length="120mm").figures
        )

    def test_a_retail_factor_that_nobody_gave_is_marked(self, shop):
        rings = copper("chain", shop.cut, shop.coil_mm, wire=shop.wire("copper 0.9"), shop=shop)
        told = plan_text(plan_figures(planned("chain", rings)))
        assert "retail price, at 2 times that: " in told
        bare = replace(shop, rates=replace(shop.rates, retail_is_own=False))
        told = plan_text(plan_figures(planned("chain", replace(rings, shop=bare))))
        assert "retail price, at 2 times that (common practice, no source): " in told
        assert "usual paces (common practice, no source)" in told

    def test_what_is_not_known_is_said_and_no_price_made_up(self):
        sheet = plan_figures(planned("chain"))
        facts = sheet.facts()
        assert facts["time"]["missing"] == ["wind", "cut", "close", "open", "weave"]
        assert facts["cost"]["missing"] == ["material", "work"]
        assert facts["cost"]["price"] is None
        assert "no total, as these are not known" in plan_text(sheet)

    def test_bought_rings_are_neither_wound_nor_cut(self, shop):
        (stock,) = shop.stock_rings
        rings = Rings(stock.size, None, SHEARS, 100.0, stock.metal, None, stock=stock, shop=shop)
        facts = plan_figures(planned("chain", rings)).facts()
        assert facts["cut"] is None
        assert facts["wire_m"] is None
        assert [step["step"] for step in facts["steps"]] == ["close", "open", "sort", "weave"]
        assert facts["cost"]["material"] == pytest.approx(
            facts["rings_to_make"] * 2.5 / 100.0, abs=0.0051
        )


class TestCautions:
    @pytest.mark.parametrize(
        "said",
        [
            "eye protection", "hair, sleeves and gloves", "slow speed", "never let go of the wire",
            "lubricant", "fine metal dust", "flex shaft", "saw", "sharp", "nickel",
            "reach annex xvii entry 27", "lead", "small parts", "children", "strangle",
            "break-away", "heat on a fireproof", "pickle", "local rules", "licensed practitioner",
            "lifting",
        ],
    )  # fmt: skip
    def test_name_every_danger_of_the_bench(self, said):
        text = " ".join(one.text for one in cautions_for(STEPS, None, "neck")).lower()
        assert said in text

    def test_stand_in_bench_order_at_the_steps_that_are_used(self):
        found = cautions_for(["wind", "shear", "weave"], metal_named("copper"), "wrist")
        order = [STEPS.index(one.step) for one in found]
        assert order == sorted(order)
        assert {one.step for one in found} == {"wind", "shear", "weave", "wear", "always"}

    @pytest.mark.parametrize("steps", [["weave"], ["weave", "clasp"]])
    def test_round_the_neck_always_ask_for_a_breakaway_clasp(self, steps):
        found = [one.text for one in cautions_for(steps, metal_named("copper"), "neck")]
        assert any("break-away" in text for text in found)
        assert not any("break-away" in one.text for one in cautions_for(steps, None, "wrist"))

    def test_of_the_metal_are_those_of_its_table(self):
        found = [one.text for one in cautions_for([], metal_named("nickel silver"))]
        text = metal_named("nickel silver").cautions()[0]
        assert text[0].upper() + text[1:] in found

    def test_stand_beside_their_steps(self):
        facts = plan_figures(planned("chain", copper("chain", saw(0.3)), anneal=True)).facts()
        steps = [step["step"] for step in facts["steps"]]
        assert steps == ["anneal", "wind", "saw", "deburr", "close", "open", "sort", "weave"]
        by_step = {step["step"]: " ".join(step["cautions"]) for step in facts["steps"]}
        assert "mandrel" in by_step["wind"]
        assert "dust" in by_step["saw"]
        assert "acid" in by_step["anneal"]


def annealed_plan(**more):
    return rw.plan("one-in-one", **{"wire": "1mm", "inner": "4mm", "length": "60mm", **more})


class TestAnnealing:
    def test_annealed_wire_is_wound_as_soft_wire_is(self):
        hard, soft, annealed = (
            annealed_plan(metal="copper", **more).facts()
            for more in (
                {"temper": "half hard"},
                {"temper": "soft"},
                {"temper": "half hard", "anneal": True},
            )
        )
        mandrels = [one["rings"][0]["mandrel_mm"] for one in (hard, soft, annealed)]
        assert mandrels[2] == mandrels[1] > mandrels[0]
        assert annealed["temper"] == "soft"

    @pytest.mark.parametrize(
        ("metal", "why"),
        [
            ("galvanised steel", "zinc fume.*never heat it"),
            ("titanium", "brittle"),
            ("304", "1000 C"),
            ("gold-filled", "lays it bare"),
        ],
    )
    def test_metals_that_are_not_to_be_heated_are_refused_whatever_their_temper(self, metal, why):
        for temper in ("hard", "half hard"):
            with pytest.raises(BadInput, match=why):
                annealed_plan(metal=metal, temper=temper, anneal=True)
        with pytest.raises(BadInput, match=why):
            annealed_plan(metals=f"X=copper,Y={metal}", anneal=True)

    def test_without_a_metal_nothing_is_heated(self):
        with pytest.raises(BadInput, match="anneal needs metal"):
            annealed_plan(anneal=True)

    def test_a_hard_wire_of_the_shelf_is_soft_then_and_trials_of_it_are_of_no_use(self, tmp_path):
        shelf = tmp_path / "shop.toml"
        shelf.write_text(
            '[[wire]]\nname = "spool"\nsize = "1mm"\nmetal = "copper"\ntemper = "hard"\n'
            '[[trial]]\nwire = "spool"\nmandrel = "4mm"\ninner = "4.4mm"\n'
        )
        told = annealed_plan(wire="spool", shop=shelf, anneal=True).facts()
        soft = annealed_plan(metal="copper", temper="soft").facts()
        assert told["rings"][0]["mandrel_mm"] == soft["rings"][0]["mandrel_mm"]

    def test_several_trials_may_be_given(self):
        one = annealed_plan(trial=("4mm", "4.2mm")).facts()
        same = annealed_plan(trial=[("4mm", "4.2mm")], caliper="0.03mm").facts()
        two = annealed_plan(trial=[("4mm", "4.2mm"), ("8mm", "8.9mm")]).facts()
        mandrels = [one["rings"][0]["mandrel_mm"] for one in (one, same, two)]
        assert mandrels[0] == mandrels[1] != mandrels[2]
        with pytest.raises(BadInput, match="a trial is a mandrel and an inner diameter"):
            annealed_plan(trial=["4mm"])


def pdf_text(data):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)


def figures(text):
    """All numbers in a text, as floats; the pages' own numbers are none of the plan's."""
    return [float(found) for found in re.findall(r"\d+(?:\.\d+)?", re.sub(r"page \d+", "", text))]


def leaves(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        return [leaf for item in value for leaf in leaves(item)]
    return [] if value is None else [value]


@cache
def sheet_figures(kind):
    width = 20.0 if kind == "sheet" else None
    rings = copper(kind, saw(0.35))
    measure = checked_measure("neck", 350.0, None, 12.0)
    return plan_figures(planned(kind, rings, measure, width_mm=width, anneal=True))


@pytest.mark.parametrize(
    ("kind", "lies"), [("chain", "pulled straight"), ("sheet", "spread on a table")]
)
def test_the_weaving_step_says_in_which_state_the_piece_is_so_long(kind, lies):
    made = sheet_figures(kind)
    (step,) = (one for one in made.steps if one.step == "weave")
    assert step.do[0].endswith(f": {number(made.flat_mm)} mm {lies}, end rings included.")


@pytest.mark.parametrize("paper", PAPERS_PT)
@pytest.mark.parametrize("kind", WEAVES)
class TestSheetOfPaper:
    def test_every_figure_is_one_of_the_json(self, kind, paper):
        sheet = sheet_figures(kind)
        facts = json.loads(json.dumps(sheet.facts()))
        known = set()
        for leaf in leaves(facts):
            known |= set(figures(leaf)) if isinstance(leaf, str) else {float(leaf)}
        shown = figures(pdf_text(plan_pdf(sheet, None, paper)))
        assert len(shown) > 60
        assert [figure for figure in shown if figure not in known] == []

    def test_every_figure_of_the_bench_is_shown(self, kind, paper):
        sheet = sheet_figures(kind)
        facts = sheet.facts()
        shown = set(figures(pdf_text(plan_pdf(sheet, None, paper))))
        wanted = [facts[key] for key in ("wire_m", "wire_g", "piece_g", "spares_g", "waste_g")]
        wanted += leaves([facts["fit"][which] for which in ("shorter", "longer")])
        for batch in facts["rings"]:
            keys = ("wire_diameter_mm", "inner_mm", "open", "closed", "clasp", "spares", "to_make")
            wanted += [batch[key] for key in (*keys, "mandrel_mm")] + leaves(batch["coils"])
        lost = [facts["fit"][which]["lost_mm"] for which in ("shorter", "longer")]
        numbers = [one for one in wanted if not isinstance(one, str) and one not in lost]
        assert [one for one in numbers if float(one) not in shown] == []

    def test_is_one_or_two_pages_of_that_paper_large_enough_to_read(self, kind, paper):
        reader = pypdf.PdfReader(io.BytesIO(plan_pdf(sheet_figures(kind), None, paper)))
        assert 1 <= len(reader.pages) <= 2
        sizes = []

        def seen(text, _, place, font, points):
            if text.strip() and "page" not in text and "cutting plan" not in text:
                sizes.append(points * abs(place[3]))

        for page in reader.pages:
            assert (page.mediabox.width, page.mediabox.height) == pytest.approx(PAPERS_PT[paper])
            page.extract_text(visitor_text=seen)
        assert min(sizes) >= 11.0


LINE = rb"[\d.]+ [\d.]+ m ([\d.]+) [\d.]+ l"
_ring = read_from(Batch)


@dataclass(frozen=True)
class WideRingFigures(RingFigures):
    """Rings with columns that no plan has yet."""

    ring_g: float | None = _ring(lambda batch: batch.ring_g, "of one", GRAMS, head="each")
    all_g: float | None = _ring(
        lambda batch: batch.wire_g, "of the wire", GRAMS, head="mass of wire", summed=True
    )
    hidden: str = _ring(lambda batch: "dull", "of the ring", head="finish of surface")


@pytest.mark.parametrize("kind", WEAVES)
class TestFurtherColumns:
    @pytest.fixture
    def sheet(self, kind):
        made = planned(kind, copper(kind, saw(0.35)), checked_measure("neck", 350.0, None, 12.0))
        return replace(plan_figures(made), rings=tuple(map(WideRingFigures.of, made.batches)))

    def test_they_stand_in_every_table_with_their_sums(self, sheet):
        grams = [batch.all_g for batch in sheet.rings]
        table = ring_table(sheet)
        rows = [dict(zip(table.heads, row, strict=True)) for row in table.rows]
        assert [row["finish of surface"] for row in rows[: len(grams)]] == ["dull"] * len(grams)
        assert [row["mass of wire"] for row in rows[: len(grams)]] == [number(g) for g in grams]
        if len(grams) > 1:
            last = rows[-1]
            assert last["mass of wire"] == number(round(sum(grams), 2))
            assert last["each"] == last["finish of surface"] == last["wire"] == ""
            assert last["make"] == str(sheet.rings_to_make)

    def test_the_paper_is_wide_enough(self, sheet):
        for paper, size in PAPERS_PT.items():
            data = plan_pdf(sheet, None, paper)
            text = pdf_text(data)
            for head in ring_table(sheet).heads:
                assert head in text
            ends = [
                float(end)
                for page in pypdf.PdfReader(io.BytesIO(data)).pages
                for end in re.findall(LINE, page.get_contents().get_data())
            ]
            # Every table has a line below each row, as wide as it is.
            assert len(ends) > 10
            assert max(ends) <= size[0] - 14.0 * 72.0 / 25.4 + 0.1


def test_the_paper_names_roles_and_no_metal_that_is_not_planned():
    """Whoever reads it fetches the metal that it names."""
    drawn = io.BytesIO()
    Image.new("RGB", (400, 160), "white").save(drawn, "PNG")
    text = pdf_text(plan_pdf(sheet_figures("chain"), drawn.getvalue())).replace("\n", " ")
    assert "Dark: rings you leave open. Light: rings you close first." in text
    assert "copper" in text
    assert "steel" not in text


class TestTightRings:
    """A plan for rings that can hardly be woven says so wherever it is printed."""

    @pytest.fixture
    def sheet(self):
        chain = report_of("chain")
        # Whatever the rule's file keeps.
        limits = RatioLimits(2.0, 3.6, CommonRange(2.8, 5.0, "made up"))
        report = replace(chain, limits=limits)
        sizing = sized(report, checked_measure("length", 120.0, None, None))
        metal = metal_named("copper")
        bends = bending(metal, "soft", 0.9)
        rings = Rings(report.size, None, SHEARS, 100.0, metal, "soft", bends)
        return plan_figures(plan(report, rings, sizing, Asked()))

    def test_the_warning_stands_on_the_paper_and_in_every_file(self, sheet):
        said = sheet.warning
        assert said.startswith("Below the working minimum, aspect ratio 3.6: ")
        assert "Take rings 3.24 to 4.5 mm inside for this wire" in said
        assert said in pdf_text(plan_pdf(sheet, None)).replace("\n", " ").replace("  ", " ")
        assert said in re.sub(r"\s+", " ", plan_text(sheet))
        rows = [row for row in csv_rows(sheet) if row[4] == WORDS.name]
        assert [row[2:4] for row in rows] == [
            ("verdict", "closes but very tight"),
            ("warning", said),
        ]

    def test_the_limits_of_the_verdict_stand_beside_it(self, sheet):
        assert sheet.working_min_aspect_ratio == 3.6
        assert sheet.working_aspect_ratios == (3.6, 5.0)
        text = pdf_text(plan_pdf(sheet, None)).replace("\n", " ")
        assert (
            "Smallest aspect ratio 2 (geometry), working minimum 3.6, working range 3.6 to 5."
            in text
        )

    def test_rings_that_just_work_carry_no_warning(self):
        assert sheet_figures("chain").warning is None


class TestFile:
    def test_is_the_same_bytes_every_time_and_has_no_clocks_date(self):
        data = plan_pdf(sheet_figures("chain"), None)
        assert data == plan_pdf(sheet_figures("chain"), None)
        assert pypdf.PdfReader(io.BytesIO(data)).metadata.creation_date.year == 1970

    def test_has_its_fonts_within(self):
        reader = pypdf.PdfReader(io.BytesIO(plan_pdf(sheet_figures("chain"), None)))
        fonts = {
            str(font): font.get_object()["/DescendantFonts"][0].get_object()
            for page in reader.pages
            for font in page["/Resources"]["/Font"].values()
        }
        assert fonts
        for font in fonts.values():
            assert "DejaVu" in font["/BaseFont"]
            assert "/FontFile2" in font["/FontDescriptor"]

    def test_csv_follows_rfc_4180_and_says_what_the_json_says(self, tmp_path):
        sheet = sheet_figures("mixed")
        facts = sheet.facts()
        path = tmp_path / "plan.csv"
        write_plan_csv(sheet, path)
        raw = path.read_bytes()
        assert raw.count(b"\n") == raw.count(b"\r\n") > 40
        rows = list(csv.reader(io.StringIO(raw.decode("utf-8"), newline=""), strict=True))
        assert tuple(rows[0]) == CSV_HEADS
        assert {len(row) for row in rows} == {len(CSV_HEADS)}
        words = {row[2]: row[3] for row in rows[1:] if row[4] == WORDS.name}
        assert words == {"verdict": facts["verdict"]}
        by_key = {(*row[:3], row[4]): float(row[3]) for row in rows[1:] if row[4] != WORDS.name}
        assert len(by_key) == len(rows) - 2
        least = by_key["piece", facts["weave"], "min aspect ratio", ""]
        assert least == facts["min_aspect_ratio"]
        for batch in facts["rings"]:
            size, coil = batch["size"], batch["coils"][0]
            assert by_key["rings", size, "to make", "rings"] == batch["to_make"]
            assert by_key["coils", f"{size} 1", "wire length", "mm"] == coil["wire_length_mm"]
        assert by_key["metal", "all", "wire", "m"] == facts["wire_m"]
        assert by_key["metal", "all", "wire", "g"] == facts["wire_g"]


class NoArtist:
    def picture(self):
        raise PictureUnavailable("No picture was drawn: no pencil.")


class TestFiles:
    def test_are_there_without_the_picture_where_none_can_be_drawn(self, tmp_path):
        sheet, no_picture = write_plan(planned("chain"), tmp_path, "plan", "A4", NoArtist())
        assert no_picture == "No picture was drawn: no pencil."
        assert sorted(path.name for path in tmp_path.iterdir()) == [
            "plan.csv", "plan.json", "plan.pdf",
        ]  # fmt: skip
        assert json.loads((tmp_path / "plan.json").read_text(encoding="utf-8")) == sheet.facts()
        assert list(pypdf.PdfReader(tmp_path / "plan.pdf").pages[0].images) == []

    def test_are_none_when_one_of_them_fails(self, tmp_path, monkeypatch):
        def fails(*_):
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(write_plan_module, "plan_pdf", fails)
        (tmp_path / "plan.csv").write_text("older", encoding="utf-8")
        with pytest.raises(BadInput, match="full"):
            write_plan(planned("chain"), tmp_path, "plan", "A4", NoArtist())
        assert [path.name for path in tmp_path.iterdir()] == ["plan.csv"]
        assert (tmp_path / "plan.csv").read_text(encoding="utf-8") == "older"


CHAIN = ["one-in-one", "--wire", "0.9mm", "--inner", "3.2mm"]


def refused(capsys, *arguments):
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    return err


class TestCommands:
    def test_plan_writes_all_three_files_and_the_picture(self, tmp_path, capsys):
        out = tmp_path / "new" / "plan"
        shop = tmp_path / "shop.toml"
        shop.write_text(STARTING_SHOP, encoding="utf-8")
        wound = ["one-in-one", "--wire", "copper 0.9", "--mandrel", "3mm", "--shop", str(shop)]
        arguments = ["plan", *wound, "--length", "60mm", "--clasp", "12mm", "--out", str(out)]
        assert main([*arguments, "--paper", "letter", "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert json.loads(out.with_suffix(".json").read_text(encoding="utf-8")) == facts
        assert facts["rings"][0]["mandrel_mm"] == 3.0
        assert facts["inner_mm"] != 3.0
        assert facts["fit"]["longer"]["finished_mm"] >= 60.0
        page = pypdf.PdfReader(out.with_suffix(".pdf")).pages[0]
        assert (page.mediabox.width, page.mediabox.height) == (612, 792)
        (picture,) = page.images
        assert picture.image.size[0] > 1000
        assert sorted(path.name for path in out.parent.iterdir()) == [
            "plan.csv", "plan.json", "plan.pdf",
        ]  # fmt: skip

    @pytest.mark.usefixtures("unpictured")
    def test_plan_repeats_what_was_typed_and_says_inches_beside_millimetres(self, tmp_path, capsys):
        gauge, outer = "19awg", "9/32in"
        typed = ["one-in-one", "--wire", gauge, "--outer", outer, "--wrist", "6 1/4in"]
        more = ["--clasp", "12mm", "--units", "both", "--out", f"{tmp_path}/plan"]
        assert main(["plan", *typed, *more]) == 0
        said = re.sub(r"\s+", " ", capsys.readouterr().out)
        paper = re.sub(r"\s+", " ", pdf_text((tmp_path / "plan.pdf").read_bytes()))
        wire_in = 0.005 * 92.0 ** ((36 - 19) / 39.0)  # ASTM B258
        for text in (said, paper):
            assert f"wire {gauge} ({number(25.4 * wire_in)} mm, {wire_in:.4f} in)" in text
            assert f"outside {outer}" in text
            assert "wrist of 6 1/4in (158.75 mm)" in text or "6 1/4in (158.8 mm)" in text
            assert "12 mm (0.47 in) included" in text
            assert f"{number(25.4 * wire_in)} / {wire_in:.4f}" in text
        facts = json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
        assert facts["typed"] == {"wire": gauge, "outer": outer, "wrist": "6 1/4in"}
        assert facts["units"] == "both"

    def test_plan_of_what_cannot_be_woven_writes_nothing(self, tmp_path, capsys):
        size = ["one-in-one", "--wire", "1mm", "--inner", "1.5mm", "--length", "60mm"]
        assert main(["plan", *size, "--out", f"{tmp_path}/plan"]) == 1
        assert "Nothing was written" in capsys.readouterr().out
        assert list(tmp_path.iterdir()) == []

    def test_size_grades_a_list(self, capsys):
        arguments = [
            "size",
            *CHAIN,
            "--length",
            "160mm",
            "--sizes",
            "170mm,180mm",
            "--clasp",
            "1cm",
        ]
        assert main([*arguments, "--json"]) == 0
        facts = json.loads(capsys.readouterr().out)
        assert [fit["measure_mm"] for fit in facts["sizes"]] == [160.0, 170.0, 180.0]
        for fit in facts["sizes"]:
            assert (
                fit["shorter"]["finished_mm"] <= fit["measure_mm"] <= fit["longer"]["finished_mm"]
            )
        assert main(arguments) == 0
        said = capsys.readouterr().out
        assert "longer" in said
        assert "Lengths are counted pulled straight." in said

    def test_a_sheet_is_counted_spread_and_hung_beside_it(self, capsys):
        sheet = [str(HERE / "rules" / "sheet.toml"), "--wire", "1mm", "--inner", "4.2mm"]
        assert main(["size", *sheet, "--length", "160mm", "--json"]) == 0
        (fit,) = json.loads(capsys.readouterr().out)["sizes"]
        assert (fit["counted"], fit["counted_in"]) == ("spread on a table", "spread")
        by_row, by_ends = fit["if_hung"]
        # Hung by its first row it grows longer the other way, and so shorter this way.
        assert by_row["repeats"] > fit["longer"]["repeats"] >= by_ends["repeats"]
        assert fit["repeats_for_either"] == by_row["repeats"]
        assert str(by_row["repeats"]) in fit["safe_to_buy_by"]
        assert main(["size", *sheet, "--length", "160mm"]) == 0
        said = capsys.readouterr().out
        assert "Lengths are counted spread on a table." in said
        assert f"hung from its first row: {by_row['repeats']} repeats" in said
        assert fit["safe_to_buy_by"] in " ".join(said.split())

    def test_a_sheet_s_plan_says_how_many_rings_are_enough_for_either(self):
        found = planned("sheet", width_mm=20.0)
        facts, said = plan_figures(found).facts(), " ".join(plan_text(plan_figures(found)).split())
        hung = [one["rings"] for one in facts["if_hung"]]
        assert facts["rings_for_either"] == max(facts["rings_in_piece"], *hung)
        assert f"safe to buy by: {facts['rings_for_either']} rings" in said
        assert facts["thickness_mm"] == pytest.approx(found.thickness_mm, abs=0.051)

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            ([], "expected one of --length"),
            (["--length", "6cm", "--wrist", "16cm"], "--length and --wrist"),
            (["--length", "6cm", "--ease", "1cm"], "--ease"),
            (["--length", "6cm", "--spares", "5"], "5%"),
            (["--length", "6cm", "--spares", "101%"], "0 to 100"),
            (["--length", "6cm", "--paper", "a3"], "A4 or letter"),
            (["--length", "6cm", "--units", "inch"], "give mm or both"),
            (["--length", "6cm", "--width", "2cm"], "--width is for sheets"),
            (["--length", "6cm", "--mandrel", "3mm"], "--mandrel decides how large"),
            (["--length", "6cm", "--clasp-price", "3"], "--clasp"),
            (["--length", "6cm", "--clasp-rings", "-1"], "--clasp-rings -1 is out of range"),
            (["--length", "6cm", "--stock", "bright rings"], "needs --shop"),
        ],
    )
    def test_plan_refuses_what_cannot_be(self, more, said, tmp_path, capsys):
        assert said in refused(capsys, "plan", *CHAIN, *more, "--out", f"{tmp_path}/plan")
        assert list(tmp_path.iterdir()) == []

    def test_a_mandrel_needs_springback(self, tmp_path, capsys):
        arguments = ["one-in-one", "--wire", "0.9mm", "--mandrel", "3mm", "--length", "60mm"]
        assert "springs back" in refused(capsys, "plan", *arguments, "--out", f"{tmp_path}/plan")


class TestParsing:
    @SETTINGS
    @given(st.floats(0.0, 100.0), st.sampled_from(["%", " %", "  %"]))
    def test_a_share_is_read_as_it_was_written(self, share, sign):
        assert parse_percent(f"{share!r}{sign}", "spares") == share

    @pytest.mark.parametrize("text", ["", "5", "%", "-1%", "100.1%", "nan%", "inf%", "5%%", "5 mm"])
    def test_other_shares_are_refused(self, text):
        with pytest.raises(BadInput, match="spares"):
            parse_percent(text, "spares")

    @SETTINGS
    @given(st.floats(0.01, 390.0), st.sampled_from([("mm", 1.0), ("cm", 10.0), ("in", 25.4)]))
    def test_an_allowance_is_a_length(self, value, unit):
        name, factor = unit
        assert parse_allowance(f"{value!r}{name}", "ease") == pytest.approx(value * factor)

    @pytest.mark.parametrize("text", ["0mm", "0 in", "0.0cm", "-0mm"])
    def test_an_allowance_may_be_nothing(self, text):
        assert parse_allowance(text, "ease") == 0.0

    @pytest.mark.parametrize("text", ["0", "0kg", "0 parsnips", "", "-1mm"])
    def test_nothing_of_no_length_is_refused(self, text):
        with pytest.raises(BadInput, match="ease"):
            parse_allowance(text, "ease")


ENDED = {"wire": "0.9mm", "inner": "4mm", "length": "90mm", "clasp": "14mm"}
STRIP = "european-4-in-1-strip-5"


class TestEnds:
    def facts(self, **more):
        return rw.plan(STRIP, **ENDED, **more).facts()

    def test_a_wide_strip_takes_a_ring_for_each_of_its_last_rings(self):
        facts = self.facts()
        assert facts["ends"] == {"kind": "bar", "first": 3, "last": 3, "tapers": []}
        assert facts["rings_clasp"] == 6
        (said,) = (step["do"] for step in facts["steps"] if step["step"] == "clasp")
        assert "6 rings, one for each ring of the ends" in said[0]

    def test_a_taper_is_counted_measured_and_told(self):
        bar, taper = self.facts(), self.facts(ends="taper")
        assert taper["ends"]["tapers"] == [[2, 1], [2, 1]]
        assert taper["rings_clasp"] == 2
        # Of every further repeat five rings, and six in the tapers.
        fewer = bar["repeats"] - taper["repeats"]
        assert taper["rings_in_piece"] == bar["rings_in_piece"] - 5 * fewer + 6
        planned = taper["fit"]["longer"]
        assert planned["flat_mm"] == taper["flat_mm"]
        assert planned["finished_mm"] == pytest.approx(taper["flat_mm"] + 14.0, abs=0.051)
        assert taper["flat_mm"] >= 90.0 - 14.0

    def test_a_chain_takes_one_ring_at_each_end(self):
        size = {**ENDED, "inner": "3.2mm"}
        facts = rw.plan("one-in-one", **size).facts()
        assert (facts["ends"]["kind"], facts["rings_clasp"]) == ("one", 2)
        assert rw.plan("one-in-one", **size, clasp_rings=5).facts()["rings_clasp"] == 5

    @pytest.mark.parametrize(
        ("more", "said"),
        [
            ({"ends": "one"}, "no ring of this size goes through all 3 rings"),
            ({"ends": "knot"}, "give one, bar or taper"),
            ({"ends": "bar", "clasp": None}, "give --clasp|give clasp"),
        ],
    )
    def test_what_cannot_be_is_refused(self, more, said):
        with pytest.raises(BadInput, match=said):
            rw.plan(STRIP, **{**ENDED, **more})

    def test_the_rings_of_a_tubes_end_come_together_in_the_clasp(self):
        facts = rw.plan("roundmaille", **{**ENDED, "inner": "5mm"}).facts()
        assert facts["ends"]["first"] == facts["ends"]["last"] == facts["rings_clasp"] / 2
        (said,) = (step["do"] for step in facts["steps"] if step["step"] == "clasp")
        assert "together in the clasp's loop" in said[0]

    def test_a_weave_that_does_not_narrow_has_no_taper(self):
        with pytest.raises(BadInput, match="does not get narrower"):
            rw.plan("byzantine", **{**ENDED, "inner": "3.8mm"}, ends="taper")
