"""What a plan adds up, recomputed from the piece's own rings, for shops and weaves by chance."""

import math
import random
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from ringwright.answers.minimums import usual_size
from ringwright.answers.verdict import check
from ringwright.api.plan import AskedPlan, planned
from ringwright.api.several_metals import Wires, mix_of_stock, mix_of_wires
from ringwright.base.errors import BadInput
from ringwright.colour.metals import (
    Colouring,
    grid_of,
    painted,
    paints_of,
    parse_metals,
    parse_pattern,
)
from ringwright.making.plan import piece_size
from ringwright.making.plan import plan as making_plan
from ringwright.making.plan.piece_size import checked_measure
from ringwright.making.plan.plan import Asked
from ringwright.making.plan.plan_figures import plan_figures
from ringwright.making.shop.shop import shop_from_text
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal_names import metal_named
from ringwright.piece.end_kinds import BAR, ONE, TAPER
from ringwright.piece.ends import end_rings, gathered_by_one, refs_of, taper, with_tapers
from ringwright.piece.piece import woven_piece
from ringwright.rest.counts import counted_unit
from ringwright.solver.measure import extent
from ringwright.weaves import WeaveRule, list_rules, load_rule

HERE = Path(__file__).parents[1]
# Rings of two sizes; one that tapers in several layers; one that tapers from two repeats on alone.
OWN = load_rule(HERE / "rules" / "mixed.toml")
STRIP, ROUND = load_rule("european-4-in-1-strip-5"), load_rule("roundmaille")


def rules_by_chance():
    """Of every family a few weaves; that each of them settles takes longer than all counting."""
    families = {}
    for rule in list_rules():
        families.setdefault(rule.family.name, []).append(rule)
    found = [
        rule
        for family, rules in sorted(families.items())
        for rule in random.Random(family).sample(rules, k=3 if family == "chain" else 2)
    ]
    return list(dict.fromkeys([OWN, STRIP, ROUND, *found]))


NAMES = [metal.name for metal in METALS if metal.tempers]
PER_RING = ("wind", "cut", "deburr", "sort", "close", "open", "weave")
OF_THE_SAW = ("setup", "wind", "cut", "deburr", "tumble")
CLASP_MM, CLASP_PRICE = 12.0, 7.25


@pytest.fixture(scope="module", autouse=True)
def not_hung():
    """How a sheet hangs goes into no total, and takes longer than all else here."""
    with pytest.MonkeyPatch.context() as patch:
        for module in (piece_size, making_plan):
            patch.setattr(module, "if_hung", lambda *_: ())
        yield


@cache
def report_of(rule):
    return check(rule, usual_size(rule))


@cache
def repeat_of(rule):
    """One repeat with its ends, and the sizes of its rings."""
    report = report_of(rule)
    scale = report.size.core_radius_mm
    piece = woven_piece(rule, counted_unit(rule, report.unit), scale, 1)
    return piece, {kind_of(piece, ring) for ring in range(len(piece))}


def kind_of(piece, ring):
    """Its wire, and its inside."""
    wire_mm, core_mm = 2.0 * piece.wire_radii_mm[ring], 2.0 * piece.core_radii_mm[ring]
    return round(float(wire_mm), 3), round(float(core_mm - wire_mm), 3)


@dataclass(frozen=True)
class Shop:
    """A shop file, and what stands in it; prices by metal, and of bought rings by their kind."""

    text: str
    wire_prices: dict
    ring_prices: dict
    rates: dict
    pace: dict
    coil_mm: float


def shop_by(chance, kinds, metals):
    """A shop with the wire and the bought rings of every metal, in all sizes of a weave."""
    wire_prices, ring_prices, lines = {}, {}, []
    for metal in metals:
        per = chance.choice(["kg", "m"])
        wire_prices[metal] = (per, chance.uniform(0.01, 900.0))
        temper = chance.choice(metal_named(metal).tempers).name
        for wire_mm in sorted({wire_mm for wire_mm, _ in kinds}):
            lines += [
                "[[wire]]", f'size = "{wire_mm!r}mm"', f'metal = "{metal}"',
                f'temper = "{temper}"', f"price_per_{per} = {wire_prices[metal][1]!r}",
            ]  # fmt: skip
        for wire_mm, inner_mm in sorted(kinds):
            price, pack = chance.uniform(0.01, 90.0), chance.choice([None, 7, 100])
            by_pack = pack is not None and chance.random() < 0.5
            ring_prices[wire_mm, inner_mm, metal] = price, pack, by_pack
            lines += [
                "[[stock_ring]]", f'wire = "{wire_mm!r}mm"', f'inner = "{inner_mm!r}mm"',
                f'metal = "{metal}"', f"price_per_{'pack' if by_pack else '100'} = {price!r}",
                *([] if pack is None else [f"pack_of = {pack}"]),
            ]  # fmt: skip
    rates = {key: chance.uniform(1.0, 40.0) for key in ("per_hour", "markup", "retail")}
    rates["overhead"] = chance.uniform(0.0, 60.0)
    pace = {step: chance.uniform(0.1, 30.0) for step in PER_RING}
    pace |= {step: chance.uniform(1.0, 900.0) for step in ("setup", "tumble", "clasp", "pack")}
    lines += ["[rates]", f'overhead = "{rates["overhead"]!r}%"']
    lines += [f"{key} = {rates[key]!r}" for key in ("per_hour", "markup", "retail")]
    lines += ["[pace]", *(f'{step} = "{seconds!r}s"' for step, seconds in pace.items())]
    kerf, coil_mm = chance.uniform(0.1, 0.5), chance.uniform(30.0, 150.0)
    lines += ["[saw]", f'kerf = "{kerf!r}mm"', f'coil = "{coil_mm!r}mm"']
    return Shop("\n".join(lines), wire_prices, ring_prices, rates, pace, coil_mm)


def colouring_by(chance, rule, metals):
    """Which ring is of which metal: by role or ring, in turn or, of a sheet, by a grid."""

    def some(most):
        return chance.choices(metals, k=chance.randint(1, most))

    way = chance.choice(["role", "ring", "turn", *(["grid"] * 3 if rule.family.has_rows else [])])
    if way == "turn":
        return parse_pattern(",".join(some(5)))
    if way == "grid":
        wide = chance.randint(1, 2)
        rows = [chance.choices(metals, k=wide) for _ in range(chance.randint(1, 2))]
        return grid_of(rows, "the grid")
    keys = ("open", "closed") if way == "role" else [ring.name for ring in rule.rings]
    return parse_metals(",".join(f"{key}={'/'.join(some(2))}" for key in keys), rule)


@dataclass(frozen=True)
class Wish:
    """A small piece: its metals, wound or bought, and how far off a whole repeat its length is."""

    rule: WeaveRule
    shop: Shop
    colouring: Colouring
    bought: bool
    clasp: bool
    repeats: int
    rows: int
    off: float
    asked: Asked


def wish_by(chance, rule):
    """What is wished of a weave, by chance."""
    metals = chance.sample(NAMES, k=chance.randint(1, 4))
    repeats = rule.family.repeats
    clasp = repeats and chance.random() < 0.75
    return Wish(
        rule,
        shop=shop_by(chance, repeat_of(rule)[1], metals),
        colouring=colouring_by(chance, rule, metals),
        bought=chance.random() < 0.4,
        clasp=clasp,
        repeats=chance.randint(2, 5) if repeats else 1,
        rows=chance.randint(2, 4) if rule.family.has_rows else 1,
        off=chance.choice([0.0, chance.uniform(0.0, 0.9)]),
        asked=Asked(
            shorter=repeats and chance.random() < 0.5,
            clasp_rings=chance.choice([None, None, chance.randint(0, 5)]) if clasp else None,
            ends=chance.choice([None, ONE, BAR, TAPER, TAPER]) if clasp else None,
            spares_percent=chance.uniform(0.0, 30.0),
            clasp_price=CLASP_PRICE if clasp else None,
        ),
    )


def mixed(wish):
    """Where its rings come from."""
    size, shop = report_of(wish.rule).size, shop_from_text(wish.shop.text, Path("shop.toml"))
    if not wish.bought:
        wires = Wires(size, f"{size.wire_mm!r}mm", None, None, shop, shop.cut, shop.coil_mm)
        return mix_of_wires(wish.colouring, wires)
    named = metal_named(paints_of(wish.colouring)[0]).name
    of_the_size = [
        ring
        for ring in shop.stock_rings
        if ring.metal.name == named and abs(ring.size.inner_mm - size.inner_mm) < 1e-6
        if abs(ring.size.wire_mm - size.wire_mm) < 1e-6
    ]
    return mix_of_stock(wish.colouring, of_the_size[0], shop)


def woven(wish):
    """Its piece ring by ring, and how it ends, None where its weave does not end so."""
    report, rule = report_of(wish.rule), wish.rule
    unit, scale = counted_unit(rule, report.unit), report.size.core_radius_mm
    piece = woven_piece(rule, unit, scale, wish.repeats, wish.rows)
    if not wish.clasp:
        return piece, ()
    there, both = refs_of(piece), end_rings(rule, piece)
    fits = all(gathered_by_one(rule, there, end) for end in both)
    kind = wish.asked.ends or (ONE if fits else BAR)
    if kind == TAPER:
        tapers = [taper(rule, there, end) for end in both]
        if None in tapers:
            return piece, None
        return with_tapers(rule, unit, scale, piece, tapers), (1, 1)
    if kind == ONE:
        return piece, (1, 1) if fits else None
    return piece, tuple(map(len, both))


def planned_as(wish, ends_mm=0.0):
    """Its plan, from a length that no other number of repeats comes nearer to on that side."""
    report, mix, asked = report_of(wish.rule), mixed(wish), wish.asked
    one, measure = repeat_of(wish.rule)[0], None
    if wish.rule.family.has_rows:
        unit = counted_unit(wish.rule, report.unit)
        pitch_mm = float(unit.lattice.values[2]) * report.size.core_radius_mm
        asked = replace(asked, width_mm=across_mm(one) + (wish.rows - 1 - wish.off) * pitch_mm)
    if wish.rule.family.repeats:
        repeats = wish.repeats - 1 + (wish.off if asked.shorter else -wish.off)
        repeat_mm = counted_unit(wish.rule, report.unit).repeat * report.size.core_radius_mm
        clasp_mm = CLASP_MM if wish.clasp else None
        length_mm = one.length_mm() + repeats * repeat_mm + ends_mm + (clasp_mm or 0.0)
        measure = checked_measure("length", length_mm, None, clasp_mm)
    rings = next(iter(mix.sources.values()))
    return planned(report, AskedPlan(wish.rule, rings, asked, measure, "A4", mix)).plan


def across_mm(piece):
    low, high = extent(piece.rings(), np.array([0.0, 1.0, 0.0]))
    return high - low


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("rule", rules_by_chance(), ids=lambda rule: rule.name)
def test_totals_are_those_of_the_pieces_own_rings(rule, seed):
    wish = wish_by(random.Random(f"{rule.name} {seed}"), rule)
    # The piece afresh, ring by ring.
    piece, ends = woven(wish)
    if ends is None:
        with pytest.raises(BadInput, match=r"; give ends (one|bar)"):
            planned_as(wish)
        wish = replace(wish, asked=replace(wish.asked, ends=BAR))
        piece, ends = woven(wish)
    plain = woven(replace(wish, clasp=False))[0]
    made = planned_as(wish, piece.length_mm() - plain.length_mm())
    assert made.repeats == (wish.repeats if wish.rule.family.repeats else None)
    piece = painted(piece, wish.colouring)
    grams, kinds = {}, {}
    for ring, metal in enumerate(piece.metals):
        core, wire = piece.core_radii_mm[ring], piece.wire_radii_mm[ring]
        density = metal_named(metal).density_g_per_cm3
        kind = *kind_of(piece, ring), metal
        kinds[kind] = kinds.get(kind, 0) + 1
        grams[kind] = grams.get(kind, 0.0) + 2e-3 * math.pi**2 * core * wire**2 * density
    assert {batch_kind(one): one.in_piece for one in made.batches} == kinds
    clasp_rings = sum(ends)
    if wish.asked.clasp_rings is not None:
        clasp_rings = wish.asked.clasp_rings
    assert sum(one.clasp_rings for one in made.batches) == clasp_rings

    cost = wire_m = wire_g = piece_g = 0.0
    for one in made.batches:
        kind = batch_kind(one)
        assert one.ring_g * one.in_piece == pytest.approx(grams[kind])
        needed, spares = kinds[kind] + one.clasp_rings, wish.asked.spares_percent
        assert needed * spares / 100.0 - 1e-6 <= one.spares < needed * spares / 100.0 + 1.0
        piece_g += grams[kind] + one.ring_g * one.clasp_rings
        if wish.bought:
            assert (one.coils, one.mandrel_mm, one.wire_g) == ((), None, None)
            cost += price_of(wish.shop.ring_prices[kind], needed + one.spares)
            continue
        assert sum(coil.coils * coil.rings for coil in one.coils) == needed + one.spares
        assert all(coil.length_wound_mm <= wish.shop.coil_mm + 1e-6 for coil in one.coils)
        metres = sum(coil.coils * coil.wire_length_mm for coil in one.coils) / 1000.0
        density = metal_named(kind[-1]).density_g_per_cm3
        mass = metres * math.pi * one.size.wire_mm**2 / 4.0 * density
        per, price = wish.shop.wire_prices[kind[-1]]
        cost += price * (metres if per == "m" else mass / 1000.0)
        wire_m, wire_g = wire_m + metres, wire_g + mass
        assert mass > one.ring_g * (needed + one.spares)

    facts = plan_figures(made).facts()
    by_metal = facts["metals"]
    assert facts["rings_in_piece"] == len(piece)
    assert facts["piece_g"] == pytest.approx(piece_g, abs=0.0051 * len(made.batches))
    # Each batch is rounded to a hundredth, and sums are those of what is shown.
    assert facts["piece_g"] == pytest.approx(sum(one["piece_g"] for one in by_metal), abs=1e-6)
    if wish.bought:
        nothing = ("wire_m", "wire_g", "waste_g", "cut")
        assert [facts[name] for name in nothing] == [None] * len(nothing)
    else:
        assert facts["wire_m"] == pytest.approx(wire_m, abs=1e-3)
        assert facts["wire_g"] == pytest.approx(wire_g, abs=0.01 * len(made.batches))
        shown_g = sum(one["wire_g"] for one in facts["rings"])
        assert facts["wire_g"] == pytest.approx(shown_g, abs=1e-6)
        assert facts["wire_g"] == pytest.approx(sum(one["all_g"] for one in by_metal), abs=1e-6)
        parts = facts["piece_g"] + facts["spares_g"] + facts["waste_g"]
        assert facts["wire_g"] == pytest.approx(parts, abs=1e-6)
        assert sum(one["wire_m"] for one in by_metal) == pytest.approx(wire_m, abs=0.004)
    assert facts["cost"]["material"] == pytest.approx(cost, abs=0.0051 * len(made.batches))
    shown = sum(one["cost"] for one in by_metal)
    assert facts["cost"]["material"] == pytest.approx(shown, abs=1e-6)
    assert sum(one["rings"] for one in by_metal) == facts["rings_to_make"]
    assert {one["metal"] for one in by_metal} == set(piece.metals)

    # Time, by hand: closed rings are closed, all others and the clasp's opened and woven in.
    pace, rates = wish.shop.pace, wish.shop.rates
    opened = piece.roles.count("open") + clasp_rings
    done = dict.fromkeys(("wind", "cut", "deburr", "sort"), facts["rings_to_make"])
    done |= {"close": piece.roles.count("closed"), "open": opened, "weave": opened}
    done |= {"setup": len(kinds), "tumble": len(set(piece.metals)), "clasp": wish.clasp, "pack": 1}
    if wish.bought:
        done = {step: times for step, times in done.items() if step not in OF_THE_SAW}
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
    spent = money["material"] + money["work"] + (CLASP_PRICE if wish.clasp else 0.0)
    assert money["overhead"] == pytest.approx(spent * rates["overhead"] / 100.0, abs=0.0051)
    assert money["total"] == pytest.approx(spent + money["overhead"], abs=1e-6)
    assert money["price"] == pytest.approx(money["total"] * rates["markup"], abs=0.0051)
    assert money["retail_price"] == pytest.approx(money["price"] * rates["retail"], abs=0.0051)


def test_a_weave_tapers_though_one_repeat_of_it_would_not():
    """One repeat ends at both its ends in all its rings."""
    taken = making_plan.ends_mm(report_of(ROUND), Asked(ends=TAPER))
    unit, scale = counted_unit(ROUND, report_of(ROUND).unit), report_of(ROUND).size.core_radius_mm
    plain = woven_piece(ROUND, unit, scale, 4)
    both = [taper(ROUND, refs_of(plain), end) for end in end_rings(ROUND, plain)]
    tapered = with_tapers(ROUND, unit, scale, plain, both)
    assert taken == pytest.approx(tapered.length_mm() - plain.length_mm())
    assert taken > 0.0


def batch_kind(batch):
    size = batch.size
    return round(size.wire_mm, 3), round(size.inner_mm, 3), batch.source.metal.name


def price_of(sold, rings):
    """Of bought rings, in whole packs where they are sold by the pack."""
    price, pack, by_pack = sold
    if pack is None:
        return price * rings / 100.0
    packs = math.ceil(rings / pack)
    return price * packs if by_pack else price * packs * pack / 100.0
