"""The choosing side of the bench without a browser: units, rings by mandrel, the shop's text."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import MagicMock

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import awg_mm, parse_length, swg_mm
from ringwright.cli import main
from ringwright.making.plan.plan_figures import plan_figures
from ringwright.making.plan.report_plan import coil_table, ring_table
from ringwright.making.ring.ring_figures import Loaded, OneRingFigures
from ringwright.making.shop.shop import MOST_BYTES, load_shop, shop_from_text
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.choosing.second_rings import joined, parted
from ringwright.page.main_view.counted_rows import rows, tables
from ringwright.page.main_view.scale import Axis
from ringwright.page.state.chosen import (
    Wanted,
    beside_from_query,
    beside_query,
    from_mapping,
    from_query,
)
from ringwright.page.state.units import AWG, GAUGES, INCH, MM, SWG, Units, nearest_gauge, typed
from ringwright.page.worked_out.counted_piece import counting, counts
from ringwright.page.worked_out.ring_from_mandrel import ring_of, with_ring
from ringwright.weaves import load_rule
from ringwright.weaves.rule import CommonRange

EMPTY = shop_from_text("", Path("shop.toml"))
FULL = shop_from_text(STARTING_SHOP, Path("shop.toml"))


# --- units ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("units", "wire_mm", "said"),
    [
        (Units(), 0.9, "0.9 mm"),
        (Units(INCH, INCH), 1.5875, "1/16 in"),
        (Units(INCH, INCH), 30.1625, "1 3/16 in"),
        (Units(INCH, MM), 0.9, "0.0354 in"),
        (Units(AWG, MM), awg_mm(18), "18 AWG (1.024 mm)"),
        (Units(AWG, INCH), awg_mm(18), "18 AWG (0.0403 in)"),
        (Units(SWG, MM), swg_mm(20), "20 SWG (0.914 mm)"),
        (Units(AWG, MM), 0.9, "0.9 mm (near 19 AWG)"),
    ],
)
def test_a_wire_is_said_in_the_makers_unit(units: Units, wire_mm: float, said: str) -> None:
    assert units.wire(wire_mm) == said


@pytest.mark.parametrize(
    ("units", "typed_text", "length", "wire"),
    [
        (Units(), "0.9", "0.9mm", "0.9mm"),
        (Units(), " .9 ", ".9mm", ".9mm"),
        (Units(INCH, INCH), "0.04", "0.04in", "0.04in"),
        (Units(INCH, INCH), "3/16", "3/16in", "3/16in"),
        (Units(INCH, INCH), "1 1/8", "1 1/8in", "1 1/8in"),
        (Units(AWG, MM), "0.9", "0.9mm", "0.9"),
        # What has a unit, and what is none of a length, stays as it is.
        (Units(), "18awg", "18awg", "18awg"),
        (Units(), "0,9", "0,9", "0,9"),
        (Units(), "3/16", "3/16", "3/16"),
        (Units(), "", "", ""),
    ],
)
def test_a_number_alone_is_read_in_the_unit_of_the_page(
    units: Units, typed_text: str, length: str, wire: str
) -> None:
    assert (units.with_unit(typed_text), units.wire_with_unit(typed_text)) == (length, wire)


@pytest.mark.parametrize("units", [Units(), Units(INCH, INCH), Units(AWG, MM), Units(SWG, INCH)])
def test_a_bare_gauge_stays_refused(units: Units) -> None:
    for gauge in ("18", "20", "9"):
        with pytest.raises(BadInput, match="has no unit"):
            parse_length(units.wire_with_unit(gauge), "wire")


@given(st.sampled_from([AWG, SWG]), st.data())
def test_a_gauge_is_nearest_to_itself(table: str, data: Any) -> None:
    gauge = data.draw(st.sampled_from(list(GAUGES[table])))
    across_mm = parse_length(f"{gauge}{table}", "wire")
    assert nearest_gauge(across_mm, table) == gauge
    assert Units(table).wire(across_mm).startswith(f"{gauge} {table.upper()}")


@given(st.floats(0.01, 500.0), st.sampled_from([MM, INCH]))
def test_what_is_typed_in_a_unit_is_read_as_the_same_length(length_mm: float, unit: str) -> None:
    assert parse_length(typed(length_mm, unit), "length") == pytest.approx(length_mm, abs=6e-4)


@pytest.mark.parametrize("given_", [{"wires": "ga"}, {"lengths": "awg"}])
def test_a_unit_that_is_none_is_refused(given_: dict[str, str]) -> None:
    with pytest.raises(BadInput, match="given in"):
        from_mapping(given_)


# --- the ring by its mandrel ------------------------------------------------------------

BY_MANDREL = {"mandrel": "3mm", "wire": "20awg", "metal": "Sterling", "temper": "half hard"}


@pytest.mark.parametrize("kerf", ["", "0.3mm"])
@pytest.mark.parametrize("mandrel", ["", "3mm"])
def test_a_ring_is_that_of_the_command(kerf: str, mandrel: str, capsys: Any) -> None:
    wanted = from_mapping({**BY_MANDREL, "mandrel": mandrel, "kerf": kerf})
    asked = ["--mandrel", mandrel] if mandrel else ["--inner", wanted.inner]
    asked += ["--kerf", kerf] if kerf else []
    about = ["--wire", "20awg", "--metal", "sterling", "--temper", "half hard"]
    assert main(["ring", *about, *asked, "--json"]) == 0
    found = OneRingFigures.of(Loaded(ring_of(wanted, EMPTY)))
    assert found.facts() == json.loads(capsys.readouterr().out)


def test_the_choice_holds_the_ring_to_its_last_digit() -> None:
    wanted = with_ring(from_mapping(BY_MANDREL), EMPTY)
    assert wanted.size() == ring_of(wanted, EMPTY).size
    assert wanted.metal == "sterling silver"
    # Once more, and through an address, it is the same.
    assert with_ring(wanted, EMPTY) == wanted


def test_a_wire_of_the_shelf_decides_on_everything_about_it() -> None:
    wanted = with_ring(Wanted(shelf="silver 20 AWG", wire="3mm", mandrel="3mm"), FULL)
    assert (wanted.wire, wanted.metal, wanted.temper) == ("20awg", "sterling silver", "half hard")
    # The shop's saw takes 0.3 mm.
    assert ring_of(wanted, FULL).cut.kerf_mm == pytest.approx(0.3)
    assert wanted.size().inner_mm < with_ring(Wanted(**{**BY_MANDREL}), EMPTY).size().inner_mm
    with pytest.raises(BadInput, match="no wire"):
        with_ring(wanted, EMPTY)


def test_without_shelf_and_mandrel_nothing_is_changed() -> None:
    assert with_ring(Wanted(metal="cheese"), EMPTY) == Wanted(metal="cheese")
    with pytest.raises(BadInput, match="cheese"):
        with_ring(Wanted(metal="cheese", mandrel="3mm"), EMPTY)


# --- rings of a second size -----------------------------------------------------------


@pytest.mark.parametrize(
    ("second", "wire", "inner"),
    [
        ("small=1mm/4.1mm", "1mm", "4.1mm"),
        ("1mm/4.1mm", "1mm", "4.1mm"),
        ("small=18swg/3/16in", "18swg", "3/16in"),
        # As the maker has it before it is right.
        ("small=1 elephant/4.1mm", "1 elephant", "4.1mm"),
        ("small=1mm/1/8", "1mm", "1/8"),
        # Not typed: what the rule gives, 0.6 of the core circle and 0.8 of the wire.
        ("", "0.8mm", "4mm"),
    ],
)
def test_second_rings_are_shown_as_they_were_typed(second: str, wire: str, inner: str) -> None:
    wanted = Wanted(weave="helm-chain", wire="1mm", inner="7mm", second=second)
    given_ = parted(wanted, load_rule("helm-chain"))
    assert given_ == {"small": (wire, inner)}
    if second:
        again = replace(wanted, second=joined(given_))
        assert parted(again, load_rule("helm-chain")) == given_


def test_second_rings_are_kept_in_the_address_and_woven() -> None:
    wanted = from_query(Wanted(weave="helm-chain", second="small=1mm/4.1mm").query())
    (size,) = wanted.woven(load_rule("helm-chain")).sizes
    assert (size.wire_mm, size.inner_mm) == (1.0, 4.1)
    assert wanted.ring_alone().second == wanted.second
    with pytest.raises(BadInput, match="has only one"):
        wanted.woven(load_rule("barrel"))


# --- the shop's text --------------------------------------------------------------------


def test_a_shop_from_text_is_that_of_the_file(tmp_path: Any) -> None:
    path = tmp_path / "shop.toml"
    path.write_text(STARTING_SHOP)
    assert shop_from_text(STARTING_SHOP, path) == load_shop(path)
    # Browsers and other systems end lines in their own way.
    assert shop_from_text(STARTING_SHOP.replace("\n", "\r\n"), path) == load_shop(path)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("x" * (MOST_BYTES + 1), "at most"),
        ("é" * (MOST_BYTES // 2 + 1), "at most"),
        ("a." * 300 + "a = 1", "characters in line"),
        ("[[wire]]\nname =", "not valid TOML"),
        ("[[wier]]", "unknown key"),
    ],
)
def test_a_text_is_read_as_carefully_as_a_file(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        shop_from_text(text, EMPTY.path)


# --- where a size stands ----------------------------------------------------------------


@given(
    st.floats(1.2, 8.0),
    st.one_of(st.none(), st.floats(1.0, 1.3)),
    st.one_of(
        st.none(),
        st.tuples(st.floats(1.0, 9.0), st.floats(0.0, 3.0)).map(
            lambda ends: CommonRange(ends[0], ends[0] + ends[1], "made up")
        ),
    ),
    st.floats(0.0, 1.0),
)
def test_every_zone_of_the_scale_has_its_verdict(
    minimum: float, above: float | None, common: CommonRange | None, share: float
) -> None:
    limits = RatioLimits(minimum, None if above is None else above * minimum, common)
    ends = [zone.low for zone in limits.zones[1:]]
    assert ends == [zone.high for zone in limits.zones[:-1]]
    assert ends == sorted(ends)
    for zone in limits.zones:
        low = 1.0 if zone.low is None else zone.low
        high = max(2 * low, 12.0) if zone.high is None else zone.high
        ratio = low + (high - low) * (0.001 + 0.998 * share)
        if ratio - low > 1e-6 and high - ratio > 1e-6:
            assert limits.verdict(ratio) == zone.verdict
    axis = Axis(limits)
    places = [axis.place(end) for end in (1.0, *ends, 99.0)]
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0.0, 100.0)


# --- the piece --------------------------------------------------------------------------


TRIAL = """
[[trial]]
wire = "copper 0.9"
mandrel = "3mm"
inner = "3.2mm"
"""


@pytest.mark.parametrize("named", [True, False])
def test_a_piece_is_counted_as_the_plan_does(
    named: bool, tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The command's figures without its picture and its paper.
    monkeypatch.setattr("ringwright.outputs.models.artist.Artist", lambda _: MagicMock())
    monkeypatch.setattr("ringwright.api.plan.write_plan", lambda made, *_: (plan_figures(made), ""))
    shop = tmp_path / "shop.toml"
    shop.write_text(STARTING_SHOP + TRIAL)
    # By its name, or as the only wire of that size, metal and temper.
    wanted = Wanted("one-in-one", mandrel="3mm", shelf="copper 0.9" if named else "")
    wanted = with_ring(wanted, load_shop(shop))
    report = check(load_rule("one-in-one"), wanted.size())
    found = counts(report, counting(wanted, load_shop(shop), report.rule))
    out = ["--length", "180mm", "--out", str(tmp_path / "p"), "--json"]
    wire = ["copper 0.9"] if named else ["0.9mm", "--metal", "copper", "--temper", "soft"]
    asked = ["--shop", str(shop), "--mandrel", "3mm", "--wire", *wire]
    assert main(["plan", "one-in-one", *asked, *out]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads(json.dumps(found.facts()))
    said = dict(rows(found, Units()))
    assert said["Rings in the weave"] == str(told["rings_in_piece"])
    assert said["Length"] == f"{told['flat_mm']:.1f} mm"
    assert said["Wire to cut, with spares"] == f"{told['wire_m']:.2f} m"
    assert said["Price of the material"] == f"{told['cost']['material']:.2f} EUR"
    assert "-" not in said.values()
    rings, coils = tables(found, Units())
    for one, printed in ((rings, ring_table(found)), (coils, coil_table(found))):
        assert [head.lower() for head, *_ in one.rows] == [
            head.lower() for head in printed.heads[1:]
        ]
    assert rings.heads == ()
    assert dict(rings.rows)["Open"] == str(told["rings_open"])
    assert dict(rings.rows)["Wire"] == "0.9 mm"
    upright = {head: cells for head, *cells in coils.rows}
    wound = told["rings"][0]["coils"]
    assert upright["Wire each"] == [f"{coil['wire_length_mm']} mm" for coil in wound]
    assert upright["Mandrel"] == ["3 mm"] * len(wound)
    rings, _ = tables(replace(found, rings=found.rings * 2), Units(INCH, INCH))
    assert rings.heads == ("Rings", "first-size", "first-size", "all")
    upright = {head: cells for head, *cells in rings.rows}
    wire, make = f"{0.9 / 25.4:.4f} in", told["rings_to_make"]
    assert upright["Wire"] == [wire, wire, ""]
    assert upright["Make"] == [str(make), str(make), str(2 * make)]


# --- kept beside ------------------------------------------------------------------------


@given(st.lists(st.builds(Wanted, st.sampled_from(["barrel", "a&beside=b"])), max_size=3))
def test_an_address_leads_back_to_what_is_kept_beside(kept: list[Wanted]) -> None:
    address = Wanted("box-chain").query() + beside_query(kept)
    assert list(beside_from_query(address)) == kept
    assert from_query(address) == Wanted("box-chain")


def test_the_scale_says_what_springback_may_lead_to() -> None:
    axis = Axis(RatioLimits(2.5, None, CommonRange(3.0, 4.0, "made up")))
    assert axis.said_of_span((3.2, 3.4)).endswith("3.20 to 3.40: in the working range.")
    said = axis.said_of_span((2.9, 3.1))
    assert said.endswith("from closes but very tight to in the working range.")
