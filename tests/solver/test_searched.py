"""What is kept of the searches for the tightest ring, and when a rule is searched anew."""

from dataclasses import replace

import pytest

from ringwright.base.sizes import RingSize
from ringwright.solver import searched as kept
from ringwright.solver import tightest as solver
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


def test_a_start_that_ends_elsewhere_than_it_did_is_not_trusted(anew, monkeypatch):
    rule = load_rule("barrel")
    found = kept.searched(rule)
    monkeypatch.setattr(
        solver, "searched", lambda _: replace(found, aspect_ratio=found.aspect_ratio - 1e-3)
    )
    assert known_tightest(rule, SIZE) == "searched"
