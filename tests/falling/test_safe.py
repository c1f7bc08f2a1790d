"""Safe steps: core circles never meet on the way, whatever the step."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.falling.gaps import gaps_of
from ringwright.falling.safe import safe_share
from ringwright.geometry.circles import distance_minima
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import ALONE
from ringwright.geometry.linearise import moved

REACH = 0.6


def random_rings(random, count=6):
    axes = random.normal(size=(count, 3))
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    centres = 1.2 * random.normal(size=(count, 3))
    return Rings(centres, axes, random.uniform(0.6, 1.4, count), np.full(count, 0.05))


def least_distance(rings):
    one, two = np.triu_indices(len(rings.centres), 1)
    found = distance_minima(
        rings.centres[one], rings.axes[one], rings.core_radii[one],
        rings.centres[two], rings.axes[two], rings.core_radii[two],
    )  # fmt: skip
    return found.distance.min()


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), size=st.floats(0.01, 0.5))
def test_no_two_core_circles_meet(seed, size):
    random = np.random.default_rng(seed)
    rings = random_rings(random)
    step = size * random.uniform(-1.0, 1.0, 5 * len(rings.centres))
    share = safe_share(gaps_of(rings, ALONE, (), REACH), step, REACH)
    assert 0.0 < share <= 1.0
    before = least_distance(rings)
    for part in np.linspace(0.0, 1.0, 9):
        # Nine tenths of the way at most.
        assert least_distance(moved(rings, part * share * step)) >= 0.1 * before - 1e-12


def test_rings_that_move_together_are_not_slowed():
    rings = Rings(
        np.array([[0.0, 0.0, 0.0], [1.2, 0.0, 0.0]]),
        np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]),
        np.ones(2),
        np.full(2, 0.1),
    )
    step = np.tile([0.4, -0.3, 0.2, 0.0, 0.0], 2)
    assert safe_share(gaps_of(rings, ALONE, (), REACH), step, REACH) == 1.0
    # One alone is: it would go through the other.
    alone = np.concatenate([np.zeros(5), [2.0, 0.0, 0.0, 0.0, 0.0]])
    assert safe_share(gaps_of(rings, ALONE, (), REACH), alone, REACH) < 0.5
