"""What a plan adds up, recomputed from the piece's own rings, for shops and weaves by chance."""

import math
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.answers.verdict import check
from ringwright.api.several_metals import Wires, mix_of_wires
from ringwright.base.sizes import RingSize
from ringwright.colour.metals import painted, parse_metals, parse_pattern
from ringwright.making.plan.piece_size import checked_measure, sized
from ringwright.making.plan.plan import Asked, plan
from ringwright.making.plan.plan_figures import plan_figures
from ringwright.making.shop.shop import shop_from_text
from ringwright.metals.metal_names import metal_named
from ringwright.piece.piece import piece_of_length
from ringwright.rest.counts import counted_unit
from ringwright.weaves import load_rule

HERE = Path(__file__).parents[1]
SIZE = RingSize(0.9, 3.7)
WEAVES = ("one-in-one", "european-4-in-1", HERE / "rules" / "mixed.toml")
PER_RING = ("wind", "cut", "deburr", "sort", "close", "open", "weave")
METALS = ("copper", "yellow brass", "fine silver", "titanium grade 1")


@cache
def report_of(weave):
    return check(load_rule(weave), SIZE)


@st.composite
def shops(draw):
    """The text of a shop file with a wire of every metal, and its prices by metal."""
    prices, lines = {}, []
    for metal in METALS:
        per = draw(st.sampled_from(["kg", "m"]))
        prices[metal] = (per, draw(st.floats(0.01, 900.0)))
        temper = metal_named(metal).tempers[0].name
        for wire in ("0.9mm", "0.72mm"):
            lines += [
                "[[wire]]", f'size = "{wire}"', f'metal = "{metal}"', f'temper = "{temper}"',
                f"price_per_{per} = {prices[metal][1]!r}",
            ]  # fmt: skip
    rates = {key: draw(st.floats(1.0, 40.0)) for key in ("per_hour", "markup", "retail")}
    rates["overhead"] = draw(st.floats(0.0, 60.0))
    pace = {step: draw(st.floats(0.1, 30.0)) for step in PER_RING}
    pace |= {step: draw(st.floats(1.0, 900.0)) for step in ("setup", "tumble", "clasp", "pack")}
    lines += ["[rates]", f'overhead = "{rates["overhead"]!r}%"']
    lines += [f"{key} = {rates[key]!r}" for key in ("per_hour", "markup", "retail")]
    lines += ["[pace]", *(f'{step} = "{seconds!r}s"' for step, seconds in pace.items())]
    kerf, coil = draw(st.floats(0.1, 0.5)), draw(st.floats(30.0, 150.0))
    lines += ["[saw]", f'kerf = "{kerf!r}mm"', f'coil = "{coil!r}mm"']
    return "\n".join(lines), (prices, rates, pace), coil


COLOURS = st.one_of(
    st.tuples(st.sampled_from(METALS), st.sampled_from(METALS)).map(
        lambda pair: "open={},closed={}".format(*pair)
    ),
    st.lists(st.sampled_from(METALS), min_size=1, max_size=5).map(",".join),
)


@settings(derandomize=True, deadline=None, max_examples=40)
@given(
    st.sampled_from(WEAVES),
    shops(),
    COLOURS,
    st.floats(60.0, 110.0),
    st.floats(0.0, 30.0),
    st.integers(0, 5),
)
def test_totals_are_those_of_the_pieces_own_rings(
    weave, shop_said, colours, length_mm, spares, clasp_rings
):
    text, (prices, rates, pace), coil_mm = shop_said
    report, shop = report_of(weave), shop_from_text(text, Path("shop.toml"))
    rule = report.rule
    colouring = parse_metals(colours, rule) if "=" in colours else parse_pattern(colours)
    mix = mix_of_wires(colouring, Wires(SIZE, "0.9mm", None, None, shop, shop.cut, shop.coil_mm))
    measure = checked_measure("length", length_mm, None, 12.0)
    sizing = sized(report, measure)
    asked = Asked(spares_percent=spares, clasp_rings=clasp_rings, clasp_price=7.25)
    made = plan(report, next(iter(mix.sources.values())), sizing, asked, mix)

    # The piece afresh, ring by ring.
    width_mm = None
    flat_mm = sizing.longer.flat_mm
    unit = counted_unit(rule, report.unit)
    piece, _ = piece_of_length(rule, unit, SIZE.core_radius_mm, flat_mm, width_mm)
    piece = painted(piece, colouring)
    grams, kinds = {}, {}
    for ring, metal in enumerate(piece.metals):
        core, wire = piece.core_radii_mm[ring], piece.wire_radii_mm[ring]
        density = metal_named(metal).density_g_per_cm3
        kind = round(2.0 * wire, 3), metal
        kinds[kind] = kinds.get(kind, 0) + 1
        grams[kind] = grams.get(kind, 0.0) + 2e-3 * math.pi**2 * core * wire**2 * density
    assert {
        (round(one.size.wire_mm, 3), one.source.metal.name): one.in_piece for one in made.batches
    } == kinds
    assert sum(one.clasp_rings for one in made.batches) == clasp_rings

    cost = wire_m = wire_g = piece_g = 0.0
    for one in made.batches:
        kind = round(one.size.wire_mm, 3), one.source.metal.name
        assert one.ring_g * one.in_piece == pytest.approx(grams[kind])
        needed = kinds[kind] + one.clasp_rings
        assert needed * spares / 100.0 - 1e-6 <= one.spares < needed * spares / 100.0 + 1.0
        assert sum(coil.coils * coil.rings for coil in one.coils) == needed + one.spares
        assert all(coil.length_wound_mm <= coil_mm + 1e-6 for coil in one.coils)
        metres = sum(coil.coils * coil.wire_length_mm for coil in one.coils) / 1000.0
        density = metal_named(kind[1]).density_g_per_cm3
        mass = metres * math.pi * one.size.wire_mm**2 / 4.0 * density
        per, price = prices[kind[1]]
        cost += price * (metres if per == "m" else mass / 1000.0)
        wire_m, wire_g = wire_m + metres, wire_g + mass
        piece_g += grams[kind] + one.ring_g * one.clasp_rings
        assert mass > one.ring_g * (needed + one.spares)

    facts = plan_figures(made).facts()
    assert facts["rings_in_piece"] == len(piece)
    assert facts["wire_m"] == pytest.approx(wire_m, abs=1e-3)
    assert facts["wire_g"] == pytest.approx(wire_g, abs=0.01 * len(made.batches))
    assert facts["piece_g"] == pytest.approx(piece_g, abs=0.0051 * len(made.batches))
    # Each batch is rounded to a hundredth, and sums are those of what is shown.
    shown_g = sum(one["wire_g"] for one in facts["rings"])
    assert facts["wire_g"] == pytest.approx(shown_g, abs=1e-6)
    assert facts["wire_g"] == pytest.approx(sum(one["all_g"] for one in facts["metals"]), abs=1e-6)
    assert facts["piece_g"] == pytest.approx(
        sum(one["piece_g"] for one in facts["metals"]), abs=1e-6
    )
    parts = facts["piece_g"] + facts["spares_g"] + facts["waste_g"]
    assert facts["wire_g"] == pytest.approx(parts, abs=1e-6)
    assert facts["cost"]["material"] == pytest.approx(cost, abs=0.0051 * len(made.batches))
    by_metal = facts["metals"]
    shown = sum(one["cost"] for one in by_metal)
    assert facts["cost"]["material"] == pytest.approx(shown, abs=1e-6)
    assert sum(one["rings"] for one in by_metal) == facts["rings_to_make"]
    assert sum(one["wire_m"] for one in by_metal) == pytest.approx(wire_m, abs=0.004)
    assert {one["metal"] for one in by_metal} == set(piece.metals)

    # Time, by hand: closed rings are closed, all others and the clasp's opened and woven in.
    opened = piece.roles.count("open") + clasp_rings
    done = dict.fromkeys(("wind", "cut", "deburr", "sort"), facts["rings_to_make"])
    done |= {"close": piece.roles.count("closed"), "open": opened, "weave": opened}
    done |= {"setup": len(kinds), "tumble": len(set(piece.metals)), "clasp": 1, "pack": 1}
    minutes = {step: times * pace[step] / 60.0 for step, times in done.items() if times}
    steps = facts["time"]["steps"]
    assert {one["step"] for one in steps} == set(minutes)
    assert all(abs(one["minutes"] - minutes[one["step"]]) <= 0.5 + 1e-9 for one in steps)
    assert facts["time"]["minutes"] == sum(one["minutes"] for one in steps)
    # Money, of the figures that are shown, each rounded to a hundredth.
    money = facts["cost"]
    assert money["work"] == pytest.approx(
        facts["time"]["minutes"] / 60.0 * rates["per_hour"], abs=0.0051
    )
    spent = money["material"] + money["work"] + 7.25
    assert money["overhead"] == pytest.approx(spent * rates["overhead"] / 100.0, abs=0.0051)
    assert money["total"] == pytest.approx(spent + money["overhead"], abs=1e-6)
    assert money["price"] == pytest.approx(money["total"] * rates["markup"], abs=0.0051)
    assert money["retail_price"] == pytest.approx(money["price"] * rates["retail"], abs=0.0051)
