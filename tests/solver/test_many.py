"""Units of many rings: the sparse core comes to where the climb does."""

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import ALONE
from ringwright.solver.climb import Unit, climb, longest, nearest_to
from ringwright.solver.many import brought_near, pulled_apart, pulled_straight
from ringwright.solver.settle import MANY, is_large, settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.2, 5.1)
HAIR = 1e-6


def times(unit, count):
    """So many repeats of a chain as one unit."""
    repeats = [
        carried(
            unit.rings.centres,
            unit.rings.axes,
            np.tile([[number, 0]], (len(unit.rings.centres), 1)),
            unit.lattice,
        )
        for number in range(count)
    ]
    rings = Rings(
        np.vstack([centres for centres, _ in repeats]),
        np.vstack([axes for _, axes in repeats]),
        np.tile(unit.rings.core_radii, count),
        np.tile(unit.rings.wire_radii, count),
    )
    return Unit(rings, unit.lattice.with_values(count * unit.lattice.values))


@pytest.fixture(scope="module")
def barrel():
    settled = settle(load_rule("barrel"), SIZE)
    assert settled is not None
    return settled.unit


def test_four_repeats_are_four_times_as_long_as_one(barrel):
    four = times(barrel, 4)
    assert is_large(four)
    assert len(four.rings.centres) == MANY
    # Let out, and not pulled yet.
    slack = Unit(four.rings, four.lattice.with_values(0.98 * four.lattice.values))
    end = pulled_straight(slack)
    assert end.converged
    assert end.unit.repeat == pytest.approx(4.0 * barrel.repeat, abs=1e-6)


def test_it_is_as_near_as_a_climb_comes(barrel):
    slack = Unit(barrel.rings, barrel.lattice.with_values(barrel.lattice.values - HAIR))
    random = np.random.default_rng(5)
    centres = barrel.rings.centres + 0.02 * random.normal(size=barrel.rings.centres.shape)
    target = Rings(centres, barrel.rings.axes, barrel.rings.core_radii, barrel.rings.wire_radii)
    near = brought_near(slack, target).unit
    dense = climb(slack, nearest_to(target), tolerance=1e-10).unit
    assert near.lattice.values == pytest.approx(slack.lattice.values, abs=0.0)
    assert near.rings.centres == pytest.approx(dense.rings.centres, abs=2e-3)
    goal = nearest_to(target)
    assert goal.value(near) == pytest.approx(goal.value(dense), rel=1e-3)


def test_ends_are_pulled_apart_and_held_rings_stay():
    # Two linked rings: two core radii less the wire between the insides.
    rings = Rings(
        np.array([[0.0, 0.0, 0.0], [1.2, 0.0, 0.0]]),
        np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]),
        np.ones(2),
        np.full(2, 0.2),
    )
    piece = Unit(rings, ALONE)
    end = pulled_apart(piece, (0,), (1,))
    assert end.converged
    assert np.ptp(end.unit.rings.centres[:, 0]) == pytest.approx(2.0 - 0.4, abs=1e-6)
    target = Rings(rings.centres + 0.1, rings.axes, rings.core_radii, rings.wire_radii)
    near = brought_near(piece, target, held=(0,)).unit
    assert near.rings.centres[0] == pytest.approx(rings.centres[0], abs=0.0)
    assert near.rings.centres[1] == pytest.approx(target.centres[1], abs=1e-5)


def test_a_pull_straight_is_the_climbs(barrel):
    slack = Unit(barrel.rings, barrel.lattice.with_values(0.98 * barrel.lattice.values))
    dense = climb(slack, longest(slack), tolerance=1e-10)
    assert pulled_straight(slack).unit.repeat == pytest.approx(dense.unit.repeat, abs=1e-6)
