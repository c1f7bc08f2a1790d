"""Contact of rings, against brute force, finite differences and a collision library."""

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from ringwright.geometry.circles import nearest_on_circle, plane_basis
from ringwright.geometry.contact import Rings, carried, close_pairs, contacts
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.lattice_kind import CHAIN, SCREW
from ringwright.geometry.linearise import gap_curvature, gap_gradients, gap_rows, moved, unknowns


def random_rings(seed, count, spread=1.5, gauges=(0.05, 0.3)):
    random = np.random.default_rng(seed)
    axes = random.normal(size=(count, 3))
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    return Rings(
        random.normal(size=(count, 3)) * spread,
        axes,
        random.uniform(0.6, 1.4, count),
        random.uniform(*gauges, count),
    )


def chain(repeat):
    return Lattice(CHAIN, np.array([repeat]))


def triples(pairs):
    return list(
        zip(pairs.first.tolist(), pairs.second.tolist(), pairs.image[:, 0].tolist(), strict=True)
    )


class TestClosePairs:
    @settings(max_examples=40, deadline=None, derandomize=True)
    @given(st.integers(0, 10**6), st.integers(1, 12), st.floats(0.0, 2.0))
    def test_are_those_of_a_search_through_all(self, seed, count, reach):
        rings = random_rings(seed, count, spread=3.0)
        bound = rings.core_radii + rings.wire_radii
        expected = [
            (i, j, 0)
            for i in range(count)
            for j in range(i + 1, count)
            if np.linalg.norm(rings.centres[i] - rings.centres[j]) <= bound[i] + bound[j] + reach
        ]
        assert triples(close_pairs(rings, reach)) == expected

    @pytest.mark.parametrize("lattice", [None, chain(9.0)])
    def test_trees_find_the_same_as_a_search_through_all(self, monkeypatch, lattice):
        random = np.random.default_rng(8)
        rings = random_rings(8, 60, spread=3.0)
        size = 10.0 ** random.uniform(-3, 1, 60)
        rings = Rings(rings.centres, rings.axes, rings.core_radii * size, rings.wire_radii * size)
        every = triples(close_pairs(rings, 0.2, lattice))
        monkeypatch.setattr("ringwright.geometry.contact._FEW", 0)
        assert triples(close_pairs(rings, 0.2, lattice)) == every
        assert len(every) > 60

    def test_one_large_ring_does_not_make_small_ones_look_far(self):
        """One search as wide as the large ring, from every ring, would not fit into memory."""
        count = 20_000
        centres = np.zeros((count, 3))
        centres[1:, 0] = np.arange(count - 1) * 3.0
        radii = np.ones(count)
        radii[0] = 3.0 * count
        rings = Rings(centres, np.tile([0.0, 0.0, 1.0], (count, 1)), radii, 0.1 * radii)
        pairs = close_pairs(rings, 0.9)
        assert (pairs.first == 0).sum() == count - 1
        assert (pairs.second - pairs.first)[pairs.first > 0].tolist() == [1] * (count - 2)

    def test_reach_across_repeats_once_each(self):
        rings = random_rings(3, 4, spread=0.5)
        repeat, reach = 1.1, 0.3
        bound = rings.core_radii + rings.wire_radii
        expected = set()
        for image in range(12):
            for i in range(4):
                for j in range(4):
                    other = rings.centres[j] + [image * repeat, 0.0, 0.0]
                    near = np.linalg.norm(rings.centres[i] - other) <= bound[i] + bound[j] + reach
                    if near and (image > 0 or i < j):
                        expected.add((i, j, image))
        found = triples(close_pairs(rings, reach, chain(repeat)))
        assert len(found) == len(set(found))
        assert set(found) == expected


class TestInterference:
    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(st.integers(0, 10**6))
    def test_agrees_with_a_collision_library(self, seed):
        """Outside check: FCL, through trimesh, on tessellated tori of different gauges."""
        rings = random_rings(seed, 2, spread=0.7)
        gap = contacts(rings, close_pairs(rings, 9.0)).gap.min()
        # The facets lie at most 0.004 inside the true surfaces.
        assume(abs(gap) > 0.01)
        manager = trimesh.collision.CollisionManager()
        for index in range(2):
            torus = trimesh.creation.torus(rings.core_radii[index], rings.wire_radii[index], 96, 48)
            turn = trimesh.geometry.align_vectors([0, 0, 1], rings.axes[index])
            turn[:3, 3] = rings.centres[index]
            manager.add_object(str(index), torus, turn)
        assert manager.in_collision_internal() == (gap < 0.0)

    def test_mixed_gauges_subtract_both_radii(self):
        rings = Rings(
            np.array([[0.0, 0, 0], [0, 0, 5]]),
            np.array([[0.0, 0, 1], [0, 0, 1]]),
            np.array([2.0, 2.0]),
            np.array([0.25, 1.5]),
        )
        assert contacts(rings, close_pairs(rings, 9.0)).gap == pytest.approx([3.25] * 4)


class TestDerivatives:
    """Against central differences of the gaps themselves, matched by place."""

    @pytest.fixture(params=["chain", "screw"])
    def state(self, request):
        # A shaken barrel-like unit: flat pair, upright ring, end ring, one repeat on.
        axes = np.array([[0.1, 0, 1], [0, 0.05, 1], [1, 0.1, 0], [0.1, 1, 0.1]])
        axes /= np.linalg.norm(axes, axis=1)[:, None]
        centres = np.array([[0, 0.03, 0.3], [0, 0, -0.25], [0.1, 1.3, 0], [1.4, 0, 0.1]])
        rings = Rings(centres, axes, np.array([1.0, 1.1, 0.9, 1.0]), np.full(4, 0.1))
        lattice = chain(2.8)
        if request.param == "screw":
            lattice = Lattice(SCREW, np.array([2.8, 0.4]))
        return rings, lattice, gap_rows(rings, close_pairs(rings, 1.2, lattice), lattice, 1.2)

    @staticmethod
    def weighted_gap(state, weights, step):
        rings, lattice, rows = state
        after = moved(rings, step)
        mean = rings.wire_radii.mean()
        after = after.with_wire_radii(rings.wire_radii * (mean + step[-1]) / mean)
        changed = lattice.with_values(lattice.values + step[5 * len(rings.centres) : -1])
        found = contacts(after, close_pairs(after, 1.5, lattice), changed)
        total = 0.0
        for row in np.flatnonzero(rows.slides):
            same = np.flatnonzero(
                (found.pairs.first == rows.pairs.first[row])
                & (found.pairs.second == rows.pairs.second[row])
                & (found.pairs.image == rows.pairs.image[row]).all(axis=1)
            )
            off = np.linalg.norm(found.point_first[same] - rows.point_first[row], axis=1)
            total += weights[row] * found.gap[same[off.argmin()]]
        return total

    @pytest.mark.parametrize("seed", range(5))
    def test_first_and_second(self, state, seed):
        rings, lattice, rows = state
        random = np.random.default_rng(seed)
        weights = random.uniform(0.1, 1.0, len(rows.gap)) * rows.slides
        along = random.normal(size=unknowns(rings, lattice))
        along[-1] *= 0.1
        step = 1e-4 * along
        high, low = (self.weighted_gap(state, weights, s) for s in (step, -step))
        middle = self.weighted_gap(state, weights, 0 * step)
        slope = (
            weights
            @ gap_gradients(rings, rows, lattice, rings.wire_radii / rings.wire_radii.mean())
            @ along
        )
        assert (high - low) / 2e-4 == pytest.approx(slope, rel=1e-5, abs=1e-5)
        bend = along @ gap_curvature(rings, rows, lattice, weights) @ along
        assert (high + low - 2 * middle) / 1e-8 == pytest.approx(bend, rel=1e-3)

    def test_rows_at_fixed_angles_follow_their_ring(self, state):
        """The point is carried along by its ring's motion; only the other ring's point slides."""
        rings, lattice, rows = state
        fixed = np.flatnonzero(~rows.slides)
        assert fixed.size > 10
        step = 1e-5 * np.random.default_rng(0).normal(size=unknowns(rings, lattice))
        step[5 * len(rings.centres) :] = 0.0
        after, expected = (
            moved(rings, step),
            gap_gradients(rings, rows, lattice, rings.wire_radii / rings.wire_radii.mean()) @ step,
        )
        each, (u, v) = step[: 5 * len(rings.centres)].reshape(-1, 5), plane_basis(rings.axes)
        for row in fixed:
            i, j = rows.pairs.first[row], rows.pairs.second[row]
            turn = (each[i, 3] * u[i] + each[i, 4] * v[i]) / rings.core_radii[i]
            arm = Rotation.from_rotvec(turn).apply(rows.point_first[row] - rings.centres[i])
            point = after.centres[i] + arm
            other, image = slice(j, j + 1), rows.pairs.image[row : row + 1]
            centre, axis = carried(after.centres[other], after.axes[other], image, lattice)
            nearest = nearest_on_circle(point, centre, axis, after.core_radii[other])
            gap = np.linalg.norm(point - nearest) - 0.2
            assert gap - rows.gap[row] == pytest.approx(expected[row], abs=1e-8)
