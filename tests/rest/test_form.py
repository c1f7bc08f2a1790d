"""Columns, pins and hooks: gaps against points all round, derivatives against differences."""

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.linearise import moved
from ringwright.geometry.oval import Oval
from ringwright.rest.form import Column, Cone, Rail

# Askew, and not about the origin.
FRAME = Rotation.from_euler("xyz", [0.4, -0.7, 1.1]).as_matrix()
MIDDLE = np.array([0.3, -0.5, 0.2])
OVAL = Oval(30.0, 1.4)
WRIST = Column(OVAL, FRAME, MIDDLE)
RADIUS, WIRE = 1.1, 0.2


def ring_at(column, angle, out, spin):
    """One ring, its centre so far out from a place of the column, turned about."""
    long, short = column.oval.half_axes
    place = [(long + out) * np.cos(angle), (short + out) * np.sin(angle), 0.4]
    axis = Rotation.from_rotvec(spin).apply(np.eye(3)[2])
    return Rings(
        (column.middle + place @ column.frame)[None], (axis @ column.frame)[None],
        np.array([RADIUS]), np.array([WIRE]),
    )  # fmt: skip


def distance(column, points):
    """From points to the column, by the nearest of very many places of its oval."""
    long, short = column.oval.half_axes
    flat = ((points - column.middle) @ column.frame.T)[:, :2]
    angles = np.linspace(0.0, 2.0 * np.pi, 400_000)
    rim = np.stack([long * np.cos(angles), short * np.sin(angles)], axis=1)
    inside = np.hypot(flat[:, 0] / long, flat[:, 1] / short) < 1.0
    return np.where(inside, -1.0, 1.0) * cKDTree(rim).query(flat)[0]


def points_of(ring, count):
    u, v = plane_basis(ring.axes)
    angles = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    return ring.centres + ring.core_radii * (np.cos(angles) * u + np.sin(angles) * v)


LEANS = [
    (0.3, 1.2, [0.5, 0.2, 0.0]),
    (1.5, 0.3, [1.5, 0.0, 0.0]),
    (2.2, 1.0, [0.1, 1.6, 0.3]),
    (4.0, 0.6, [0.7, -0.9, 0.0]),
    # Nearly flat on the skin.
    (4.7, 0.21, [1.55, 0.02, 0.0]),
]


@pytest.mark.parametrize(("angle", "out", "spin"), LEANS)
def test_the_nearest_point_is_the_nearest_of_all(angle, out, spin):
    ring = ring_at(WRIST, angle, out, spin)
    found = WRIST(ring, np.inf)
    least = distance(WRIST, points_of(ring, 2000)).min() - WIRE
    assert found.gap[found.slides].min() == pytest.approx(least, abs=1e-5)
    # And the point named is as far.
    assert distance(WRIST, found.point) - WIRE == pytest.approx(found.gap, abs=1e-7)
    assert np.linalg.norm(found.point - ring.centres, axis=1) == pytest.approx(RADIUS)


def gap_after(support, ring, found, row, step):
    """The gap of a row after a small step: of the point fixed to the ring, or the nearest there."""
    after = moved(ring, step)
    if found.slides[row]:
        again = support(after, np.inf)
        near = np.linalg.norm(again.point - found.point[row], axis=1) + 10.0 * ~again.slides
        return again.gap[near.argmin()]
    u, v = plane_basis(ring.axes)
    turn = Rotation.from_rotvec((step[3] * u[0] + step[4] * v[0]) / RADIUS)
    point = after.centres[0] + turn.apply(found.point[row] - ring.centres[0])
    return support.away(point[None]).distance[0] - WIRE


def slopes_and_bends_hold(support, ring):
    found = support(ring, np.inf)
    random = np.random.default_rng(3)
    small = 1e-4
    for row in range(len(found.gap)):
        step = random.normal(size=5)
        at = [gap_after(support, ring, found, row, size * step) for size in (-small, 0.0, small)]
        slope = (at[2] - at[0]) / (2.0 * small)
        bend = (at[2] - 2.0 * at[1] + at[0]) / small**2
        assert found.slopes[row] @ step == pytest.approx(slope, abs=1e-5)
        assert step @ found.bends[row] @ step == pytest.approx(bend, rel=2e-3, abs=1e-4)
    return found


@pytest.mark.parametrize(("angle", "out", "spin"), LEANS)
def test_slopes_and_bends_are_those_of_the_gap(angle, out, spin):
    slopes_and_bends_hold(WRIST, ring_at(WRIST, angle, out, spin))


def test_a_ring_that_lies_on_the_skin_has_rows_all_round_it():
    flat = WRIST(ring_at(WRIST, 4.7, 0.21, [1.55, 0.02, 0.0]), np.inf)
    assert (~flat.slides).sum() == 24
    upright = WRIST(ring_at(WRIST, 4.7, 1.4, [0.0, 0.0, 0.0]), np.inf)
    assert upright.slides.all()


def pin(radius):
    """A round column along y, thin enough to go through a ring."""
    return Column(Oval(2.0 * np.pi * radius, 1.0), np.eye(3)[[2, 0, 1]], np.zeros(3))


@pytest.mark.parametrize("axis", [[0.3, 1.0, 0.2], [-0.8, 0.1, 0.4], [0.1, -0.6, 0.5]])
def test_a_bust(axis):
    bust = Cone(6.0, 0.6)
    axes = np.array([axis]) / np.linalg.norm(axis)
    ring = Rings(np.array([[2.4, -8.1, -2.0]]), axes, np.array([RADIUS]), np.array([WIRE]))
    found = slopes_and_bends_hold(bust, ring)
    # Its side falls by 1 for every tan(slope) further out.
    x, y, z = points_of(ring, 50_000).T
    away = (np.hypot(x, y) + z * np.tan(0.6) - 6.0) * np.cos(0.6)
    assert found.gap[found.slides].min() == pytest.approx(away.min() - WIRE, abs=1e-6)


def test_a_pin_through_a_ring():
    ring = Rings(np.array([[0.4, 0.1, 0.0]]), np.array([[0.1, 0.9, 0.2]]), np.ones(1), np.ones(1))
    ring = Rings(ring.centres, ring.axes / np.linalg.norm(ring.axes), ring.core_radii * RADIUS,
                 ring.wire_radii * WIRE)  # fmt: skip
    through = pin(0.3)
    found = slopes_and_bends_hold(through, ring)
    apart = np.hypot(*points_of(ring, 100_000)[:, [0, 2]].T)
    assert found.gap.min() == pytest.approx(apart.min() - 0.3 - WIRE, abs=1e-8)


def test_a_ring_hangs_from_a_round_pin():
    # Its wire's inside lies on the pin: the centre is R - r less the pin's radius below its axis.
    ring = Rings(
        np.array([[0.1, 0.2, 0.05]]), np.array([[0.3, 1.0, 0.1]]) / np.sqrt(1.1),
        np.array([RADIUS]), np.array([WIRE]),
    )  # fmt: skip
    through = pin(0.4)
    rest = fallen(ring, Goal(np.array([[1.0, 0.0, 0.0]])), (through,))
    assert rest.settled
    assert rest.rings.centres[0, 0] == pytest.approx(RADIUS - WIRE - 0.4, abs=1e-8)
    assert rest.rings.centres[0, 2] == pytest.approx(0.0, abs=1e-4)


def test_a_ring_hangs_lower_from_a_thin_hook():
    ring = Rings(
        np.array([[0.1, 0.2, 0.05]]), np.array([[0.3, 0.8, 0.3]]) / np.sqrt(0.82),
        np.array([RADIUS]), np.array([WIRE]),
    )  # fmt: skip
    rail = Rail(np.array([True]))
    rest = fallen(ring, Goal(np.array([[1.0, 0.0, 0.0]])), (rail,))
    assert rest.settled
    assert rest.rings.centres[0, 0] == pytest.approx(RADIUS - WIRE, abs=1e-9)
    assert rest.rings.axes[0, 0] == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize("axis", [[0.3, 1.0, 0.2], [-0.8, 0.1, 0.4], [0.1, -0.2, 1.0]])
def test_slopes_and_bends_of_a_hook(axis):
    axes = np.array([axis]) / np.linalg.norm(axis)
    ring = Rings(np.array([[0.4, 0.1, 0.0]]), axes, np.array([RADIUS]), np.array([WIRE]))
    rail = Rail(np.array([True]))
    found = slopes_and_bends_hold(rail, ring)
    highest = points_of(ring, 100_000)[:, 0].min()
    # Inside, so a wire radius lower; above the rail is a gap.
    assert found.gap == pytest.approx([-(highest + WIRE)], abs=1e-8)
    assert found.point[0, 0] == pytest.approx(highest, abs=1e-8)


def test_rings_out_of_reach_have_no_rows():
    assert len(WRIST(ring_at(WRIST, 1.0, 5.0, [0.0, 0.0, 0.0]), 0.5).gap) == 0
    assert len(Rail(np.array([False]))(ring_at(WRIST, 1.0, 1.0, [0.0, 0.0, 0.0]), 9.0).gap) == 0
