"""Climbs side by side end where each ends alone."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.solver.climb import all_shaken, climb, climbs, farthest, shaken, thickest
from ringwright.solver.placement import placed_unit
from ringwright.weaves.loader import load_rule


@pytest.fixture(params=["one-in-one", "european-4-in-1", "spiral-4-in-1"])
def starts(request):
    placed = placed_unit(load_rule(request.param), RingSize(1.0, 5.5))
    return [placed, *all_shaken(placed, (1, 2), 3)]


def assert_same(one, other):
    np.testing.assert_array_equal(one.rings.centres, other.rings.centres)
    np.testing.assert_array_equal(one.rings.wire_radii, other.rings.wire_radii)
    np.testing.assert_array_equal(one.lattice.values, other.lattice.values)


def test_units_shaken_together_are_those_shaken_alone(starts):
    for seed, unit in enumerate(starts):
        if seed:
            assert_same(unit, shaken(starts[0], seed, 3))


def test_every_climb_ends_where_it_ends_alone(starts):
    thin = [unit.with_wire_radii(0.2 * unit.rings.wire_radii) for unit in starts]
    together = climbs([(unit, farthest(unit)) for unit in thin], rounds=12, tolerance=1e-9)
    for unit, end in zip(thin, together, strict=True):
        alone = climb(unit, farthest(unit), rounds=12, tolerance=1e-9)
        assert_same(end.unit, alone.unit)
        assert (end.rounds, end.converged) == (alone.rounds, alone.converged)


def test_each_stops_at_what_is_enough_for_it(starts):
    wanted = [0.05, 0.08, 0.11]
    ends = climbs([(unit, thickest(unit)) for unit in starts], enough=wanted)
    for end, wire in zip(ends, wanted, strict=True):
        assert end.unit.rings.wire_radii.mean() == pytest.approx(wire, rel=1e-12)
