"""The table's gaps: against points all round a ring, and their derivatives against differences."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.linearise import moved
from ringwright.rest.table import table


def one_ring(lean, turn=0.7, height=1.5):
    axis = np.array([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), np.cos(lean)])
    return Rings(np.array([[0.3, -0.2, height]]), axis[None], np.array([1.1]), np.array([0.2]))


def height_after(ring, touches, row, step):
    """The gap of a row after a step, by turning what is its point."""
    after = moved(ring, step)
    if touches.slides[row]:
        lean = np.sqrt(1.0 - after.axes[0, 2] ** 2)
        return after.centres[0, 2] - 1.1 * lean - 0.2
    u, v = plane_basis(ring.axes)
    turn = Rotation.from_rotvec((step[3] * u[0] + step[4] * v[0]) / 1.1)
    return (after.centres[0] + turn.apply(touches.point[row] - ring.centres[0]))[2] - 0.2


@pytest.mark.parametrize("lean", [0.05, 0.4, 1.2, 1.57, 2.5])
def test_the_lowest_point_is_the_lowest_of_all(lean):
    ring = one_ring(lean)
    u, v = plane_basis(ring.axes)
    angles = np.linspace(0.0, 2.0 * np.pi, 100_000)[:, None]
    heights = 1.5 + 1.1 * (np.cos(angles) * u + np.sin(angles) * v)[:, 2] - 0.2
    touches = table(ring, np.inf)
    assert touches.gap[touches.slides] == pytest.approx([heights.min()], abs=1e-8)
    # And the point named is where that is.
    assert touches.point[touches.slides][0, 2] - 0.2 == pytest.approx(heights.min(), abs=1e-8)
    assert np.linalg.norm(touches.point[0] - ring.centres[0]) == pytest.approx(1.1)


@pytest.mark.parametrize("lean", [0.1, 0.25, 0.8, 1.4, 2.9])
def test_slopes_and_bends_are_those_of_the_gap(lean):
    ring = one_ring(lean)
    touches = table(ring, np.inf)
    random = np.random.default_rng(3)
    small = 1e-4
    for row in range(len(touches.gap)):
        step = random.normal(size=5)
        at = [height_after(ring, touches, row, size * step) for size in (-small, 0.0, small)]
        slope = (at[2] - at[0]) / (2.0 * small)
        bend = (at[2] - 2.0 * at[1] + at[0]) / small**2
        assert touches.slopes[row] @ step == pytest.approx(slope, abs=1e-5)
        assert step @ touches.bends[row] @ step == pytest.approx(bend, rel=1e-3, abs=1e-4)


def test_rings_out_of_reach_have_no_rows():
    assert len(table(one_ring(0.3, height=5.0), 0.5).gap) == 0
