"""Rings that fall: closed forms, energy that never rises, and forces that balance."""

import numpy as np
import pytest

from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.lattice_kind import CHAIN
from ringwright.rest.table import table

WIRE = 0.2


def rings_of(centres, axes):
    axes = np.array(axes, float)
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    count = len(axes)
    return Rings(np.array(centres, float), axes, np.ones(count), np.full(count, WIRE))


def weight(count, each=1.0):
    return np.tile([0.0, 0.0, -each], (count, 1))


@pytest.mark.parametrize("lean", [0.2, 0.9, 1.5])
def test_a_ring_falls_flat(lean):
    ring = rings_of([[0.0, 0.0, 2.0]], [[np.sin(lean), 0.0, np.cos(lean)]])
    rest = fallen(ring, Goal(weight(1)), (table,))
    assert rest.settled
    assert rest.rings.centres[0, 2] == pytest.approx(WIRE, abs=1e-9)
    assert abs(rest.rings.axes[0, 2]) == pytest.approx(1.0, abs=1e-9)


def test_two_linked_rings_pulled_on_a_table():
    # Pulled apart, both planes go through the line of the pull, and the wires touch on it. Points
    # s and t along the circles from there are closer by (s^2 + t^2) / 2R along the line and
    # s^2 + t^2 - 2 s t cos g apart across it, g being the angle between the planes: so that no
    # two come nearer than 2r, 1 - cos g must be 2r / R or more. Flattest, the planes lean by g / 2
    # to both sides of the level, and R sin(g / 2) = sqrt(r R).
    rings = rings_of([[-0.7, 0.0, 1.3], [0.7, 0.0, 1.3]], [[0.0, 1.0, 0.1], [0.0, -0.1, 1.0]])
    pull = np.array([[-1.0, 0.0, 0.0], [1.0, 0.0, 0.0]])
    rest = fallen(rings, Goal(pull + weight(2, 1e-3)), (table,))
    assert rest.settled
    assert rest.rings.centres[:, 2] == pytest.approx(np.sqrt(WIRE) + WIRE, abs=1e-3)
    assert np.ptp(rest.rings.centres[:, 0]) == pytest.approx(2.0 - 2.0 * WIRE, abs=1e-5)
    assert np.abs(rest.rings.axes[:, 2]) == pytest.approx(np.sqrt(1.0 - WIRE), abs=1e-3)


def test_rings_stacked_on_a_table():
    # A smaller ring on a larger one would fall through; equal ones lie on one another, the pull
    # keeping them from sliding off: the upper one's centre is three wire radii up.
    rings = rings_of([[0.0, 0.0, 0.3], [0.05, 0.0, 1.0]], [[0.0, 0.0, 1.0], [0.02, 0.05, 1.0]])
    held = np.array([True, False])
    rings.centres[0, 2] = WIRE
    rest = fallen(rings, Goal(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, -1.0]])), (table,), held=held)
    assert rest.rings.centres[0] == pytest.approx([0.0, 0.0, WIRE], abs=0.0)
    assert rest.rings.centres[1, 2] <= 3.0 * WIRE + 1e-9


def test_energy_never_rises():
    rings = rings_of(
        [[0.0, 0.0, 1.3], [1.3, 0.0, 1.3], [2.6, 0.0, 1.3]],
        [[0.0, 1.0, 0.05], [0.0, 0.05, 1.0], [0.03, 1.0, 0.0]],
    )
    goal = Goal(weight(3))
    energies = [goal.energy(rings)]
    # The same fall, ended after ever more rounds.
    for rounds in range(1, 25):
        rest = fallen(rings, goal, (table,), rounds=rounds)
        energies.append(goal.energy(rest.rings))
    # But by what it takes to undo an overlap that a step has left.
    assert max(np.diff(energies)) < 2e-3 * energies[0]
    assert energies[-1] < energies[0] - 1.0


def test_what_is_not_at_rest_is_not_called_so():
    rings = rings_of([[0.0, 0.0, 1.5]], [[0.3, 0.0, 1.0]])
    rest = fallen(rings, Goal(weight(1)), (table,), rounds=1)
    assert not rest.settled
    assert rest.residual > 0.1


def test_the_same_fall_twice_is_the_same():
    rings = rings_of([[0.0, 0.0, 1.3], [1.3, 0.0, 1.3]], [[0.0, 1.0, 0.05], [0.0, 0.05, 1.0]])
    one, two = (fallen(rings, Goal(weight(2)), (table,)) for _ in range(2))
    assert (one.rings.centres == two.rings.centres).all()
    assert (one.rings.axes == two.rings.axes).all()


def test_every_round_is_told_of():
    rings = rings_of([[0.0, 0.0, 1.5]], [[0.3, 0.0, 1.0]])
    heard = []
    rest = fallen(
        rings, Goal(weight(1)), (table,), rounds=40, told=lambda *round: heard.append(round)
    )
    assert heard == [(done, 40) for done in range(rest.rounds)]


@pytest.mark.parametrize("pitch", [0.9, 1.2, 1.7])
def test_a_row_of_coins_leans(pitch):
    # An endless row, each ring leaning on the next: parallel circles p apart whose axis has the
    # share s along the row are p s apart, so s = 2r / p. Leaning so, a ring is R s + r high. A push
    # P along the row holds its weight W where W R 2r / p + P p is least: at p^2 = 2 R r W / P.
    push = 2.0 * WIRE / pitch**2
    lean = 0.9
    ring = rings_of([[0.0, 0.0, 1.2]], [[np.sin(lean), 0.0, np.cos(lean)]])
    row = Lattice(CHAIN, np.array([1.5]))
    goal = Goal(weight(1), stretch=np.array([-push]))
    rest = fallen(ring, goal, (table,), lattice=row)
    assert rest.settled
    assert rest.lattice.values[0] == pytest.approx(pitch, abs=1e-5)
    assert abs(rest.rings.axes[0, 0]) == pytest.approx(2.0 * WIRE / pitch, abs=1e-5)
    assert rest.rings.centres[0, 2] == pytest.approx(2.0 * WIRE / pitch + WIRE, abs=1e-5)
