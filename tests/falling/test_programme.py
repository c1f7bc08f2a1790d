"""Quadratic programmes: the best step and its forces, as exactly as is asked for."""

import numpy as np
import pytest
from scipy.sparse import csr_matrix, identity

from ringwright.falling.programme import FINEST, best_step

# Drawn along x with a force of 1 against a wall at x = 0.2, which pushes back.
PULL, WALL = np.array([1.0, 0.0]), csr_matrix([[-1.0, 0.0]])


@pytest.mark.parametrize("accuracy", [FINEST, 1e-6, 1e-4])
def test_a_step_is_as_exact_as_is_asked_for(accuracy):
    model = (0.5 * identity(2)).tocsc()
    found = best_step(PULL, model, WALL, np.array([0.2]), np.ones(2), accuracy)
    assert found is not None
    step, forces = found
    # Where the wall stops it, the force is what the model leaves of the pull: 1 - 0.5 * 0.2.
    assert np.abs(step - [0.2, 0.0]).max() <= 10.0 * accuracy
    assert abs(forces[0] - 0.9) <= 10.0 * accuracy


def test_overlap_deeper_than_a_step_is_undone_in_part():
    model = identity(2).tocsc()
    found = best_step(np.zeros(2), model, WALL, np.array([-0.3]), np.full(2, 0.1))
    assert found is not None
    # Three tenths of the overlap are within reach; all of it is not.
    assert found[0][0] == pytest.approx(-0.09, abs=1e-7)
