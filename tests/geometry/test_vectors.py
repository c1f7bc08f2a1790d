"""Vector products, against numpy's own."""

import numpy as np
import pytest

from ringwright.geometry.vectors import cross


@pytest.mark.parametrize(
    ("one", "other"),
    [((7, 3), (7, 3)), ((3,), (7, 3)), ((5, 1, 4, 3), (5, 2, 4, 3)), ((0, 3), (3,))],
)
def test_to_the_last_bit_as_numpy_has_them(one, other):
    random = np.random.default_rng(3)
    a, b = random.normal(size=one), random.normal(size=other)
    assert np.array_equal(cross(a, b), np.cross(a, b))
