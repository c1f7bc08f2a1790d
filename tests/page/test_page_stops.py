"""Where the scale of the page stops, and the size that makes a weave work."""

from pathlib import Path

import pytest

from ringwright.answers.ratio_limits import WORKING, RatioLimits
from ringwright.api.check import check
from ringwright.base.errors import BadInput
from ringwright.making.shop.shop import load_shop, shop_from_text
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.state.chosen import Wanted, from_query
from ringwright.page.worked_out.counted_piece import counting
from ringwright.page.worked_out.ring_from_mandrel import with_ring
from ringwright.page.worked_out.stops import limits_at_hand, stops, that_works
from ringwright.page.worked_out.tonight import evening, takes
from ringwright.weaves import list_rules, load_rule
from ringwright.weaves.rule import CommonRange

NO_SHOP = shop_from_text("", Path("shop.toml"))


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    path = tmp_path_factory.mktemp("shop") / "shop.toml"
    path.write_text(STARTING_SHOP)
    return load_shop(path)


@pytest.mark.parametrize(("unit", "first", "said"), [("mm", "1mm", "1 mm"), ("inch", None, "1/16")])
def test_without_a_shop_rings_are_those_that_are_sold(unit, first, said):
    wanted = Wanted(wire="1mm", lengths=unit)
    found = stops(wanted, NO_SHOP)
    assert found[0].said.startswith(said)
    assert first in (None, found[0].inner)
    ratios = [one.ratio for one in found]
    assert ratios == sorted(set(ratios))
    for one in found:
        # What is chosen by a stop is a ring of its ratio.
        chosen = from_query(f"wire=1mm&inner={one.inner}")
        if one.ratio > 1.2:
            assert chosen.size().aspect_ratio == pytest.approx(one.ratio, abs=1e-3)


def test_a_makers_own_mandrels_come_first_and_say_what_they_make(shop):
    wanted = Wanted(wire="0.9mm")
    found = stops(wanted, shop)
    assert len(found) == len(shop.mandrels)
    for one in found:
        assert one.mandrel
        ring = with_ring(Wanted(wire="0.9mm", **one.wanted), shop)
        assert ring.size().aspect_ratio == pytest.approx(one.ratio, abs=2e-3)
        assert "wound on" in one.said


def test_a_wire_that_cannot_be_read_has_no_stops():
    assert stops(Wanted(wire="20ga"), NO_SHOP) == ()


def test_what_makes_it_work_is_a_size_one_can_buy_in_the_working_range():
    limits = RatioLimits(3.0, 3.2, CommonRange(3.5, 4.5, "made up"))
    found = that_works(limits, stops(Wanted(wire="1.1mm"), NO_SHOP))
    assert found is not None
    assert limits.verdict(found.ratio) == WORKING
    # 4.4 mm would be the middle.
    assert found.inner == "4.5mm"
    assert that_works(RatioLimits(3.0, None, CommonRange(3.51, 3.52, "made up")), ()) is None


def test_limits_at_hand_are_those_of_a_check():
    rule = load_rule("byzantine")
    kept, checked = limits_at_hand(rule), check("byzantine", "1.2mm", "5.1mm").report.limits
    assert kept is not None
    assert kept.minimum == pytest.approx(checked.minimum, rel=1e-3)
    assert kept.working == checked.working
    assert kept.common == checked.common
    # For nearly every weave of the library something is known before it is asked about.
    known = [limits_at_hand(one) is not None for one in list_rules()]
    assert sum(known) > 0.8 * len(known)


def test_an_address_of_very_many_parts_is_refused_in_a_sentence():
    with pytest.raises(BadInput, match="more than 40 parts"):
        from_query("&".join(f"a{k}=1" for k in range(50)))


# --- what is made in an evening -------------------------------------------------------------


def test_pieces_are_counted_and_those_that_take_too_long_or_are_too_wide_left_out() -> None:
    wanted = Wanted(wire="1mm", inner="4mm", length="180mm")
    rules = [load_rule(name) for name in ("one-in-one", "three-ring-rosette", "box-chain")]
    asked = [(rule, counting(wanted, NO_SHOP, rule)) for rule in rules]
    steps: list[tuple[str, int, int]] = []
    found = takes(lambda *step: steps.append(step), wanted.size(), asked)
    assert steps[-1] == ("weaves", 3, 3)
    # Of rings through one another a repeat is two inner diameters: 180 mm are 45 rings.
    assert found["one-in-one"].rings == 45
    assert found["three-ring-rosette"].rings == 3
    assert evening("0.75", "60", "").has_time_for(found["one-in-one"])
    assert not evening("0.7", "60", "").has_time_for(found["one-in-one"])
    assert not evening("3", "60", "4mm").has_time_for(found["one-in-one"])
    assert evening("3", "60", "5mm").has_time_for(found["one-in-one"])


@pytest.mark.parametrize(
    "texts", [("0", "60", ""), ("x", "60", ""), ("3", "nan", ""), ("3", "60", "6")]
)
def test_an_evening_that_cannot_be_is_refused(texts: tuple[str, str, str]) -> None:
    with pytest.raises(BadInput):
        evening(*texts)
