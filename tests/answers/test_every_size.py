"""An answer for every size: a sample of what ``python -m tests.benchmarks.every_size`` asks."""

from dataclasses import replace
from functools import cache

import pytest

from ringwright.answers.minimums import usual_size
from ringwright.answers.verdict import check
from ringwright.base.errors import NoRest
from ringwright.base.sizes import RingSize, awg_mm
from ringwright.falling.at_rest import AT_REST
from ringwright.solver.settle import settle
from ringwright.solver.tightest import known_tightest
from ringwright.weaves import list_rules, load_rule
from tests.benchmarks.every_size import asked, drawn

RULES = list_rules()
SAMPLE = list(drawn(RULES, len(RULES), seed=4))


@cache
def limit_of(name):
    rule = load_rule(name)
    return known_tightest(rule, usual_size(rule), workers=0)


@pytest.mark.parametrize(
    ("rule", "size"), SAMPLE, ids=[f"{r.name}-{s.wire_mm:.3f}-{s.inner_mm}" for r, s in SAMPLE]
)
def test_a_size_of_the_trade_has_an_answer_at_rest(rule, size):
    outcome = asked(rule, size, limit_of(rule.name))
    assert outcome.failure is None
    assert outcome.residual is None or outcome.residual <= AT_REST


@pytest.mark.parametrize("name", ["three-in-three", "mixed-gauge-chain", "large-and-small-chain"])
@pytest.mark.parametrize("above", [1e-6, 2e-3, 1.0])
def test_rings_that_lie_along_each_other_come_to_rest(name, above):
    limit = limit_of(name)
    settled = settle(load_rule(name), RingSize(1.0, limit.aspect_ratio + above), limit.unit)
    assert settled.converged
    assert settled.certificate.residual <= AT_REST


def test_byzantine_of_the_wire_and_rings_that_beginners_are_told_to_take():
    rule = load_rule("byzantine")
    report = check(rule, RingSize(awg_mm(18), 3.5), limit=limit_of("byzantine"))
    assert report.can_be_woven
    assert report.settled.certificate.residual <= AT_REST


def test_rings_that_are_not_at_rest_are_given_no_figures(monkeypatch):
    """What the residual says decides, in the verdict too."""
    rule, size = load_rule("byzantine"), RingSize(1.0, 4.0)
    limit = limit_of("byzantine")
    found = settle(rule, size, limit.unit)
    loose = replace(found.certificate, residual=3.2e-4)
    monkeypatch.setattr(
        "ringwright.answers.verdict.settle",
        lambda *_: replace(found, certificate=loose, converged=loose.residual <= AT_REST),
    )
    with pytest.raises(NoRest, match="forces between the rings balance the pull only to 3"):
        check(rule, size, limit=limit)


@pytest.mark.parametrize("ratio", [19.0, 19.5, 20.0, 20.5])
def test_european_4_in_1_of_very_thin_wire(ratio):
    report = check(
        load_rule("european-4-in-1"), RingSize(1.0, ratio), limit=limit_of("european-4-in-1")
    )
    assert report.settled.certificate.residual <= AT_REST
