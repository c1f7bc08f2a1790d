"""What is kept of the searches for the tightest ring, and when a rule is searched anew."""

import json
from dataclasses import replace

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.solver import searched as kept
from ringwright.solver import tightest as solver
from ringwright.solver.placement import placed_unit
from ringwright.solver.tightest import has_one_limit, known_tightest
from ringwright.weaves import list_rules, load_rule

SIZE = RingSize(1.0, 4.5)


@pytest.fixture
def anew(monkeypatch):
    """Rules that are searched from all starts."""
    asked = []

    def searched_again(rule, size, **rest):
        asked.append(rule)
        return "searched"

    monkeypatch.setattr(solver, "tightest", searched_again)
    return asked


def moved(rule):
    """The rule with one ring placed a hundred-thousandth of a radius farther on."""
    first = rule.rings[0]
    centre = (first.centre[0] + 1e-5, *first.centre[1:])
    return replace(rule, rings=(replace(first, centre=centre), *rule.rings[1:]))


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_every_weave_of_the_library_is_kept(rule):
    found = kept.searched(rule)
    assert (found is not None) == has_one_limit(rule)
    if found is not None:
        assert found.aspect_ratio == pytest.approx(found.spread[0], abs=1e-6)
        assert 0 < found.agreed <= len(found.spread)


def test_a_fingerprint_is_of_the_rings_and_the_solver(monkeypatch):
    rule = load_rule("barrel")
    mark = kept.fingerprint(rule)
    assert kept.fingerprint(replace(rule, name="mine", summary="another")) == mark
    others = [
        moved(rule),
        replace(rule, links=rule.links[:-1]),
        replace(rule, turn=0.1),
        replace(rule, repeat_vectors=((2.9, 0.0, 0.0),)),
    ]
    marks = {mark, *map(kept.fingerprint, others)}
    monkeypatch.setattr(kept, "SOLVER", kept.SOLVER + 1)
    assert len({*marks, kept.fingerprint(rule)}) == 6


@pytest.mark.parametrize("name", ["barrel", "spiral-4-in-1", "roundmaille", "box-chain"])
def test_what_is_kept_is_come_to_again_without_a_search(name, anew):
    found = known_tightest(load_rule(name), SIZE)
    assert found.kept
    assert found.aspect_ratio == pytest.approx(kept.searched(load_rule(name)).aspect_ratio)
    assert found.certificate.residual < 1e-6
    assert anew == []


def test_a_rule_that_was_changed_is_searched_anew(anew):
    rule = moved(load_rule("barrel"))
    assert known_tightest(rule, SIZE) == "searched"
    assert anew == [rule]


def test_rings_of_another_ratio_than_is_kept_beside_them_are_not_trusted(anew, monkeypatch):
    rule = load_rule("barrel")
    found = kept.searched(rule)
    monkeypatch.setattr(
        solver, "searched", lambda _: replace(found, aspect_ratio=found.aspect_ratio - 1e-3)
    )
    assert known_tightest(rule, SIZE) == "searched"


def test_rings_that_can_still_give_way_are_not_trusted(anew, monkeypatch):
    """In thinner wire, of the ratio that is kept beside it, nothing is at rest."""
    rule = load_rule("barrel")
    found = kept.searched(rule)
    thinner = found.rings * np.array([1.0] * 6 + [0.99])
    ratio = 1.0 / float(thinner[0, 6]) - 1.0
    assert known_tightest(rule, SIZE).kept
    monkeypatch.setattr(
        solver, "searched", lambda _: replace(found, rings=thinner, aspect_ratio=ratio)
    )
    assert known_tightest(rule, SIZE) == "searched"


def test_what_is_recorded_is_read_again_to_the_last_bit(monkeypatch):
    rule = load_rule("byzantine")
    placed = placed_unit(rule, SIZE)
    found = kept.record(rule.name, 4.0, (1, 9), 2, (4.0, 4.1), placed)
    text = json.dumps({kept.fingerprint(rule): found})
    monkeypatch.setattr(kept, "_kept", lambda: json.loads(text))
    read = kept.searched(rule)
    assert (read.aspect_ratio, read.path, read.agreed, read.spread) == (4.0, (1, 9), 2, (4.0, 4.1))
    unit = read.unit(placed)
    assert (unit.rings.centres == placed.rings.centres).all()
    assert (unit.rings.axes == placed.rings.axes).all()
    assert (unit.rings.wire_radii == placed.rings.wire_radii).all()
    assert (unit.lattice.values == placed.lattice.values).all()
