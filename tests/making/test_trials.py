"""What trial rings tell: strength and hardening of a spool, and how sure the next mandrel is."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.errors import BadInput
from ringwright.making.ring.coil import SHEARS, made_ring, saw
from ringwright.making.ring.made_ring import bought_ring, mandrel_span_mm
from ringwright.making.ring.springback import relaxed_inner_mm
from ringwright.making.ring.trials import Trial
from ringwright.making.ring.wire import bending, tried
from ringwright.metals.flow import Flow
from ringwright.metals.metal_names import metal_named

SETTINGS = settings(derandomize=True, deadline=None, max_examples=40)
# A spool: neither the usual strength nor the usual hardening of any temper.
SPOOL = Flow(0.0047, 0.26, 1.09)


def trial_of(spool, mandrel_mm, wire_mm=0.9, off_mm=0.0, error_mm=0.03):
    inner_mm = relaxed_inner_mm(mandrel_mm, wire_mm, spool) + off_mm
    return Trial(wire_mm, mandrel_mm, inner_mm, None, error_mm)


def span(bends, mandrel_mm, wire_mm=0.9):
    least, most = bends.ends(mandrel_mm, wire_mm)
    return [relaxed_inner_mm(mandrel_mm, wire_mm, flow) for flow in (least, bends.flow, most)]


def test_a_trial_goes_before_the_handbook():
    copper = metal_named("copper")
    found = bending(copper, "soft", 0.9, [Trial(0.9, 3.0, 3.2, None)])
    assert found.trials == 1
    assert "1 trial ring of your own" in found.source
    assert relaxed_inner_mm(3.0, 0.9, found.flow) == pytest.approx(3.2, abs=1e-4)
    assert found.flow.at_tenth > 1.5 * copper.flow("soft", 0.9).at_tenth


@pytest.mark.parametrize("error_mm", [0.01, 0.03, 0.08])
def test_one_trial_is_as_sure_as_its_caliper_and_no_surer(error_mm):
    found = tried([trial_of(SPOOL, 4.0, error_mm=error_mm)])
    low, likely, high = span(found, 4.0)
    assert likely - low == pytest.approx(error_mm, rel=0.15)
    assert high - likely == pytest.approx(error_mm, rel=0.15)


def test_away_from_its_trial_a_ring_is_less_sure_and_unlike_mandrels_mend_that():
    one = tried([trial_of(SPOOL, 4.0)])
    near, far = span(one, 4.0), span(one, 9.0)
    assert far[2] - far[0] > 2.0 * (near[2] - near[0])
    several = tried([trial_of(SPOOL, mandrel) for mandrel in (2.5, 4.0, 9.0)])
    sure = span(several, 9.0)
    assert sure[2] - sure[0] < 0.5 * (far[2] - far[0])


def test_trials_from_unlike_mandrels_find_strength_and_hardening():
    exact = [trial_of(SPOOL, mandrel, error_mm=0.001) for mandrel in (2.0, 6.0, 14.0)]
    found = tried(exact).flow
    assert found.at_tenth == pytest.approx(SPOOL.at_tenth, rel=0.03)
    assert found.hardening == pytest.approx(SPOOL.hardening, abs=0.03)
    # One ring alone leaves the hardening where most metals have it.
    assert tried(exact[:1]).flow.hardening == pytest.approx(0.17, abs=0.01)


def test_the_hardening_is_that_of_the_temper_where_that_is_known():
    near = metal_named("copper").flow("hard", 0.9)
    found = tried([trial_of(SPOOL, 4.0)], near).flow
    assert found.hardening == pytest.approx(near.hardening, abs=0.01)


def test_nineteen_rings_of_twenty_lie_in_the_range_that_trials_leave():
    # Spools, mandrels and the caliper's errors by chance; the next ring of the spool is asked for.
    chance = np.random.default_rng(7)
    inside = 0
    rounds = 120
    for _ in range(rounds):
        spool = Flow(chance.uniform(0.002, 0.009), float(np.clip(chance.normal(0.17, 0.1), 0, 0.5)))
        mandrels = chance.uniform(2.0, 7.0, size=chance.integers(1, 4))
        rings = [trial_of(spool, one, off_mm=chance.normal(0.0, 0.015)) for one in mandrels]
        found = tried([ring for ring in rings if ring.inner_mm > ring.mandrel_mm - 0.03])
        asked = chance.uniform(2.0, 9.0)
        low, _, high = span(found, asked)
        inside += low <= relaxed_inner_mm(asked, 0.9, spool) <= high
    assert 0.9 <= inside / rounds <= 1.0
    # Nor is it idly wide: the range of a table would be.
    low, _, high = span(tried([trial_of(SPOOL, one) for one in (3.0, 4.0)]), 3.5)
    assert high - low < 0.06


def test_rings_that_scatter_more_than_the_caliper_are_less_sure():
    calm = tried([trial_of(SPOOL, 4.0, off_mm=off) for off in (-0.01, 0.0, 0.01)])
    wild = tried([trial_of(SPOOL, 4.0, off_mm=off) for off in (-0.1, 0.0, 0.1)])
    calm_span, wild_span = span(calm, 4.0), span(wild, 4.0)
    assert wild_span[2] - wild_span[0] > 2.0 * (calm_span[2] - calm_span[0])
    assert wild_span[1] == pytest.approx(calm_span[1], abs=0.01)


def test_a_sawn_trial_ring_is_as_good_as_its_coil():
    made = made_ring(3.0, 0.9, SPOOL, saw(0.3))
    sawn = Trial(0.9, 3.0, made.ring.inner_mm, 0.3)
    assert sawn.coil_mm() == pytest.approx(made.coil_inner_mm)
    coil = Trial(0.9, 3.0, made.coil_inner_mm, None)
    assert tried([sawn]).flow.at_tenth == pytest.approx(tried([coil]).flow.at_tenth, rel=0.02)


def test_a_ring_that_reads_narrower_than_its_mandrel_is_dead_soft_or_refused():
    dead = tried([Trial(0.9, 3.0, 2.98, None)])
    low, likely, high = span(dead, 3.0)
    assert low == likely == pytest.approx(3.0, abs=2e-3)
    assert 3.0 < high < 3.1
    with pytest.raises(BadInput, match="cannot come from a mandrel"):
        tried([Trial(0.9, 3.0, 2.96, None)])
    with pytest.raises(BadInput, match="caliper's error"):
        tried([Trial(0.9, 3.0, 3.1, None, 0.0)])


def test_another_spool_of_the_temper_is_less_sure():
    own = tried([trial_of(SPOOL, 4.0)])
    other = own.of_another_spool()
    assert other.flow == own.flow
    assert "another spool" in other.source
    mine, theirs = span(own, 4.0), span(other, 4.0)
    assert theirs[2] - theirs[0] > 1.2 * (mine[2] - mine[0])
    assert other.of_another_spool() == other
    assert own.of_wire(1.2) == other


def test_the_table_is_asked_again_for_another_diameter():
    steel = metal_named("304")
    thick = bending(steel, "spring hard", 2.0)
    assert thick.of_wire(0.6) == bending(steel, "spring hard", 0.6)
    assert thick.of_another_spool() == thick


@SETTINGS
@given(st.floats(0.5, 2.0), st.floats(3.0, 6.0), st.floats(3.0, 6.0))
def test_the_next_mandrel_is_said_with_how_sure_it_is(wire, tried_ratio, asked_ratio):
    bends = tried([trial_of(SPOOL, tried_ratio * wire, wire)])
    ring = made_ring(asked_ratio * wire, wire, bends.flow, SHEARS).ring
    low, high = mandrel_span_mm(ring, bends, SHEARS)
    assert low < asked_ratio * wire < high
    for mandrel, end in ((low, 1), (high, 0)):
        flow = bends.ends(mandrel, wire)[end]
        made = made_ring(mandrel, wire, flow, SHEARS).ring
        assert made.inner_mm == pytest.approx(ring.inner_mm, abs=1e-4)
    bought = bought_ring(ring, None, None, None, bends, SHEARS)
    assert bought.mandrel_span_mm == (low, high)
