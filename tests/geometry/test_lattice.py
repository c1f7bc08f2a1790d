"""The motions that carry a unit onto its images."""

import numpy as np
import pytest

from ringwright.geometry.lattice import Lattice
from ringwright.geometry.lattice_kind import LOOP, SCREW


@pytest.mark.parametrize(
    "lattice",
    [
        Lattice(SCREW, np.array([1.3, 0.4])),
        Lattice(LOOP, np.array([1.3, 0.4]), around=9, axis=np.array([0.0, 1.0, 0.0])),
    ],
    ids=lambda lattice: lattice.kind.name,
)
def test_images_near_the_unit_move_as_all_others_do(lattice):
    """They are worked out once and kept; among farther ones each is worked out by itself."""
    near = np.array([[3, 0], [-2, 0], [0, 0], [3, 0]])
    with_a_far_one = np.vstack([near, [[40, 0]]])
    for kept, each in zip(lattice.motion(near), lattice.motion(with_a_far_one), strict=True):
        assert np.array_equal(kept, each[:-1])
    assert np.array_equal(lattice.drift(near), lattice.drift(with_a_far_one)[:-1])
