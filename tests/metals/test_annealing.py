"""Every metal's steps are held against its own cautions and against what is known of metals."""

import pytest

import ringwright as rw
from ringwright.base.errors import BadInput
from ringwright.making.ring.annealed import annealed, how_to_anneal
from ringwright.making.ring.cautions import ANNEAL, cautions_for
from ringwright.making.ring.wire import bending
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal_names import metal_named

by_name = pytest.mark.parametrize("metal", METALS, ids=lambda metal: metal.name)


def share(metal, element):
    return dict(metal.alloy).get(element, 0.0)


@by_name
def test_every_metal_has_steps_or_a_reason_against_them(metal):
    how = metal.annealing
    assert how is not None
    assert bool(how.steps) != bool(how.refused)
    if how.refused:
        assert not how.acid
        assert not how.never
        with pytest.raises(BadInput, match=f"{metal.name} is not annealed at the bench"):
            annealed(metal, 1.0, None)
    else:
        assert how_to_anneal(metal) is how
        assert 3 <= len(how.steps) <= 4


@by_name
def test_steps_do_nothing_that_the_metals_own_cautions_forbid(metal):
    how, beware = metal.annealing, metal.beware.lower()
    steps = " ".join(how.steps).lower()
    if "never heat" in beware:
        assert how.refused
        assert "fume" in how.refused
    if "heating" in beware and "bare" in beware:
        assert how.refused
    if "do not pickle" in beware:
        assert not how.acid
        assert "pickle" not in steps
        assert any("never put it in pickle" in text.lower() for text in how.never)
    if "no colour before it melts" in beware:
        assert "glow" not in steps
        assert "red" not in steps.replace("all round", "")
    if "dull red" in beware and not how.refused:
        # Zinc: low, and told why.
        assert "begins to glow" in steps or "dull red" in steps
        assert "cherry" not in steps
        assert any("fume" in text for text in how.never)


@by_name
def test_ends_are_smoothed_in_no_way_that_the_metals_own_cautions_forbid(metal):
    how, beware = metal.deburr.lower(), metal.beware.lower()
    assert "until no end catches on cloth" in how
    if "filing" in beware:
        assert "do not file" in how
        assert "or file" not in how
    if "long tumbling" in beware:
        assert "briefly" in how
        assert "do not leave them in" in how
    if "dry grinding" in beware:
        assert "wet" in how
        assert "do not grind them dry" in how
    # What is a skin on another metal wears off, whatever its cautions say.
    if metal.name in ("gold-filled", "galvanised steel"):
        assert "long tumbling" in beware


def test_a_plan_smooths_each_metal_in_its_own_way():
    size = {"wire": "0.9mm", "inner": "3.6mm", "length": "20mm", "temper": "half hard"}
    said = "open=gold-filled,closed=yellow brass"
    steps = rw.plan("one-in-one", metals=said, **size).figures.steps
    (lines,) = (step.do for step in steps if step.step == "deburr")
    assert {line.partition(":")[0] for line in lines} == {"Gold-filled", "Yellow brass"}
    for line in lines:
        assert ("Do not file" in line) == line.startswith("Gold-filled")
    (alone,) = (
        step.do
        for step in rw.plan("one-in-one", metal="copper", **size).figures.steps
        if step.step == "deburr"
    )
    assert alone == ("Tumble or file the rings until no end catches on cloth.",)


@by_name
def test_steps_fit_what_the_metal_is_made_of(metal):
    how = metal.annealing
    steps = " ".join(how.steps).lower()
    if share(metal, "Al") > 50.0:
        # Acid and lye dissolve aluminium.
        assert not how.acid
    if share(metal, "Ti") > 50.0 or share(metal, "Nb") > 50.0 or share(metal, "Fe") > 50.0:
        # They take up air, or want heats and acids of a mill.
        assert how.refused
    if share(metal, "Zn") > 0.0 and share(metal, "Au") == 0.0:
        assert any("zinc" in text.lower() for text in how.never)
    if how.acid:
        assert "pickle it" in steps
        assert "rinse" in steps
        # Pickle takes off the oxides of copper; what holds none needs none.
        assert share(metal, "Cu") > 0.0 or share(metal, "Ag") > 0.0
    if share(metal, "Ag") > 99.0 or share(metal, "Au") > 99.0:
        assert not how.acid
    if share(metal, "Ni") > 0.0 and not how.refused:
        # Alloys with nickel crack when they are quenched hot.
        assert "quench" not in steps
        assert any("never quench" in text.lower() for text in how.never)


@by_name
def test_the_cautions_beside_the_steps_speak_of_acid_only_where_there_is_some(metal):
    said = [one.text for one in cautions_for([ANNEAL], metal) if one.step == ANNEAL]
    assert any("fireproof" in text for text in said)
    assert any(text.startswith("Pickle is acid") for text in said) == metal.annealing.acid
    for never in metal.annealing.never:
        assert any(never[1:] in text for text in said)
    last = cautions_for([ANNEAL], metal)[-1].text
    assert "safety sheets and local rules" in last


@by_name
def test_annealed_wire_is_soft_in_the_sums(metal):
    if metal.annealing.refused:
        return
    temper, bends = annealed(metal, 1.0, None)
    assert temper == "soft"
    if metal.has_temper("soft"):
        assert bends == bending(metal, "soft", 1.0)
    else:
        assert bends is None


def test_trials_of_annealed_wire_go_before_the_table():
    copper = metal_named("copper")
    tried = bending(copper, "soft", 1.0)
    assert annealed(copper, 0.5, tried) == ("soft", tried)


def test_a_metal_that_is_not_known_is_not_heated():
    with pytest.raises(BadInput, match="anneal needs metal"):
        annealed(None, 1.0, None)
