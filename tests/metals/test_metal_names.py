"""Metals: every figure has a source, and a name means one metal or is asked back about."""

import pytest

from ringwright.base.errors import BadInput
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal_names import metal_named

by_name = pytest.mark.parametrize("metal", METALS, ids=lambda metal: metal.name)


@by_name
def test_every_metal_has_a_density_an_alloy_and_a_colour_each_with_its_source(metal):
    assert 1.5 < metal.density_g_per_cm3 < 23.0
    assert metal.density_source
    assert metal.alloy_source
    assert sum(share for _, share in metal.alloy) <= 100.0
    assert all(0.0 <= part <= 1.0 for part in metal.surface.colour)


def test_no_two_metals_share_a_name():
    names = [name.casefold() for metal in METALS for name in (metal.name, *metal.also)]
    assert len(names) == len(set(names))


def test_names_are_found_however_they_are_written():
    assert metal_named("Sterling-Silver") is metal_named("925 silver")
    assert metal_named("jewelers brass").name == "jeweller's brass"
    assert metal_named("copper").temper("Dead Soft").name == "soft"


def test_a_name_that_metals_share_is_asked_back_about():
    with pytest.raises(BadInput, match=r"sterling silver.* or .*: say which"):
        metal_named("silver")
    with pytest.raises(BadInput, match=r"stainless steel.*say which"):
        metal_named("steel")


def test_unknown_names_are_refused_with_the_nearest():
    with pytest.raises(BadInput, match="perhaps copper is meant"):
        metal_named("coper")
    with pytest.raises(BadInput, match="expected one of sterling silver"):
        metal_named("@@@")
    with pytest.raises(BadInput, match="trial ring"):
        metal_named("niobium").temper("half hard")


def test_nickel_and_lead_are_named_with_the_rule():
    said = " ".join(metal_named("nickel silver").cautions())
    assert "REACH Annex XVII entry 27" in said
    assert "lead" in said
    assert metal_named("fine silver").cautions() == ()
