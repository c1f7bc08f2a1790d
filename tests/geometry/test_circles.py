"""Distance and linking of circles, against brute force, the CAD kernel and Gauss's integral."""

import cadquery as cq
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ringwright.geometry.circles import (
    distance_minima,
    linking_number,
    nearest_on_circle,
    plane_basis,
)

unit = st.floats(-1.0, 1.0, allow_nan=False)


@st.composite
def circles(draw):
    """A circle as one-row arrays: centre, normal, radius."""
    centre = np.array([[2.0 * draw(unit) for _ in range(3)]])
    normal = np.array([[draw(unit) for _ in range(3)]])
    length = np.linalg.norm(normal)
    normal = normal / length if length > 1e-3 else np.array([[0.0, 0.0, 1.0]])
    return centre, normal, np.array([draw(st.floats(0.2, 2.0))])


def points_on(circle, angles):
    centre, normal, radius = circle
    u, v = plane_basis(normal)
    return centre + radius[:, None] * (np.cos(angles)[:, None] * u + np.sin(angles)[:, None] * v)


def row(*values):
    return np.array([values], dtype=float)


def circle(centre, normal, radius=1.0):
    normal = row(*normal)
    return row(*centre), normal / np.linalg.norm(normal), np.array([radius])


class TestDistance:
    @settings(max_examples=300, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_is_never_beaten_by_dense_sampling(self, a, b):
        angles = np.linspace(0, 2 * np.pi, 2001)
        points = points_on(a, angles)
        sampled = np.linalg.norm(points - nearest_on_circle(points, *b), axis=1)
        found = distance_minima(*a, *b).distance.min()
        # Between two samples the distance drops by less than half their spacing.
        assert sampled.min() - np.pi * a[2][0] / 2000 <= found <= sampled.min() + 1e-9

    @settings(max_examples=120, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_equals_the_cad_kernels(self, a, b):
        """Outside check: the edge-to-edge distance of Open CASCADE through CadQuery."""
        edges = [
            cq.Edge.makeCircle(c[2][0], cq.Vector(*c[0][0]), cq.Vector(*c[1][0])) for c in (a, b)
        ]
        assert distance_minima(*a, *b).distance.min() == pytest.approx(
            edges[0].distance(edges[1]), abs=2e-6
        )

    def test_a_sample_on_a_crest_hides_no_valley_beside_it(self):
        """Mirror-symmetric circles: a crest between two valleys lies just on a sample."""
        a = (np.array([[0.0, 1.75, -2.0]]), np.array([[0.0, 0.0, 1.0]]), np.array([1.4375]))
        normal = np.array([[0.0, -0.78086881, -0.62469505]])
        b = (np.array([[0.0, -0.4375, 1.25]]), normal / np.linalg.norm(normal), np.array([2.0]))
        angles = np.linspace(0, 2 * np.pi, 100_001)
        points = points_on(b, angles)
        lowest = np.linalg.norm(points - nearest_on_circle(points, *a), axis=1).min()
        for one, other in ((a, b), (b, a)):
            assert distance_minima(*one, *other).distance == pytest.approx([lowest] * 2, abs=1e-8)

    @settings(max_examples=200, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_finds_the_same_minima_from_either_circle(self, a, b):
        ab, ba = distance_minima(*a, *b), distance_minima(*b, *a)
        assert ab.distance.min() == pytest.approx(ba.distance.min(), abs=1e-12)
        if not (is_nearly_level(a, b) or is_nearly_level(b, a)):
            assert np.sort(ab.distance) == pytest.approx(np.sort(ba.distance), abs=1e-9)

    @settings(max_examples=200, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_reports_points_on_both_circles_that_face_each_other(self, a, b):
        found = distance_minima(*a, *b)
        for point, (centre, normal, radius) in ((found.point_a, a), (found.point_b, b)):
            assert np.linalg.norm(point - centre, axis=1) == pytest.approx(radius[0], rel=1e-12)
            assert (point - centre) @ normal[0] == pytest.approx(0.0, abs=1e-12)
        apart = found.point_a - found.point_b
        assert np.linalg.norm(apart, axis=1) == pytest.approx(found.distance, abs=1e-12)
        # At a minimum the line between the points is at right angles to both circles.
        for point, (centre, normal, _) in ((found.point_a, a), (found.point_b, b)):
            along = np.cross(normal, point - centre)
            assert np.einsum("ki,ki->k", apart, along) == pytest.approx(0.0, abs=1e-9)

    def test_counts_the_minima_that_fine_sampling_counts(self):
        random = np.random.default_rng(11)
        normals = random.normal(size=(2, 300, 3))
        normals /= np.linalg.norm(normals, axis=2, keepdims=True)
        centres = random.normal(size=(2, 300, 3))
        radii = np.exp(0.5 * random.normal(size=(2, 300)))
        a, b = ((centres[k], normals[k], radii[k]) for k in (0, 1))
        counted = np.bincount(distance_minima(*a, *b).pair, minlength=300)
        angles = np.linspace(0, 2 * np.pi, 6000, endpoint=False)
        u, v = plane_basis(a[1])
        spoke = np.cos(angles)[:, None, None] * u + np.sin(angles)[:, None, None] * v
        points = a[0] + a[2][:, None] * spoke
        apart = np.linalg.norm(points - nearest_on_circle(points, *b), axis=2)
        sampled = ((apart < np.roll(apart, 1, 0)) & (apart <= np.roll(apart, -1, 0))).sum(axis=0)
        assert counted.tolist() == sampled.tolist()


def is_nearly_level(a, b):
    """Whether the distance hardly varies along the first circle, so minima are ill defined."""
    points = points_on(a, np.linspace(0, 2 * np.pi, 400))
    apart = np.linalg.norm(points - nearest_on_circle(points, *b), axis=1)
    return np.ptp(apart) < 1e-6


class TestSpecialPlacements:
    def test_coaxial_circles_are_level_all_round(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1), 2.0), *circle((0, 0, 3), (0, 0, 1)))
        assert found.distance == pytest.approx([np.sqrt(10.0)] * 4, abs=1e-12)

    def test_identical_circles_touch_everywhere(self):
        same = circle((1, 2, 3), (1, 1, 0))
        assert distance_minima(*same, *same).distance == pytest.approx([0.0] * 4, abs=1e-12)

    def test_concentric_circles_in_one_plane(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1), 3.0), *circle((0, 0, 0), (0, 0, -1)))
        assert found.distance == pytest.approx([2.0] * 4, abs=1e-12)

    def test_coplanar_circles_apart(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1)), *circle((5, 0, 0), (0, 0, 1)))
        assert found.distance == pytest.approx([3.0], abs=1e-12)
        assert found.point_a[0] == pytest.approx([1, 0, 0], abs=1e-9)

    def test_coplanar_circles_that_cross_meet_twice(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1)), *circle((1, 0, 0), (0, 0, 1)))
        assert found.distance == pytest.approx([0.0, 0.0], abs=1e-12)
        assert np.abs(found.point_a[:, 1]) == pytest.approx(np.sqrt(0.75), abs=1e-9)

    def test_coplanar_circles_that_touch_from_outside_and_inside(self):
        outside = distance_minima(*circle((0, 0, 0), (0, 0, 1)), *circle((2, 0, 0), (0, 0, 1)))
        assert outside.distance.min() == pytest.approx(0.0, abs=1e-12)
        inside = distance_minima(
            *circle((0, 0, 0), (0, 0, 1), 0.5), *circle((0.5, 0, 0), (0, 0, 1))
        )
        assert inside.distance.min() == pytest.approx(0.0, abs=1e-12)

    def test_parallel_planes_off_axis(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1)), *circle((0.5, 0, 1), (0, 0, 1)))
        # Equal circles cross in projection: there they are exactly the height apart.
        assert found.distance == pytest.approx([1.0, 1.0], abs=1e-12)

    def test_concentric_circles_at_right_angles(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1), 2.0), *circle((0, 0, 0), (1, 0, 0)))
        assert found.distance == pytest.approx([1.0, 1.0], abs=1e-12)

    def test_linked_circles_touch_in_two_places(self):
        found = distance_minima(*circle((0, 0, 0), (0, 0, 1)), *circle((0.8, 0, 0), (0, 1, 0)))
        # Along the common line the wires cross it at -1, -0.2, 1 and 1.8.
        assert np.sort(found.distance) == pytest.approx([0.8, 0.8], abs=1e-12)

    def test_no_pairs_at_all(self):
        none = np.zeros((0, 3))
        assert len(distance_minima(none, none, np.zeros(0), none, none, np.zeros(0)).pair) == 0

    def test_a_brush_past_the_others_axis_hides_no_minimum(self):
        # A small circle whose two minima lie within a few degrees as seen from the large one.
        small = circle((0.0, 2.2, 0.004), (0.0, 0.3, 1.0), 0.5)
        large = circle((0.0, 0.0, 0.3), (1.0, 0.2, 0.1), 2.2)
        ab, ba = distance_minima(*small, *large), distance_minima(*large, *small)
        assert np.sort(ab.distance) == pytest.approx(np.sort(ba.distance), abs=1e-10)


class TestLinking:
    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_equals_gauss_integral(self, a, b):
        """Outside check: Gauss's linking integral, summed over both circles."""
        assume(distance_minima(*a, *b).distance.min() > 0.1)
        angles = np.linspace(0, 2 * np.pi, 400, endpoint=False)
        p, q = points_on(a, angles), points_on(b, angles)
        dp, dq = np.cross(a[1], p - a[0]), np.cross(b[1], q - b[0])
        apart = p[:, None] - q[None]
        triple = np.einsum("ijk,ijk->ij", apart, np.cross(dp[:, None], dq[None]))
        integral = (triple / np.linalg.norm(apart, axis=2) ** 3).sum() * np.pi / 400**2
        assert linking_number(*a, *b)[0] == pytest.approx(integral, abs=0.02)

    @settings(max_examples=150, deadline=None, derandomize=True)
    @given(circles(), circles())
    def test_is_symmetric_and_changes_sign_with_an_axis(self, a, b):
        assume(distance_minima(*a, *b).distance.min() > 1e-9)
        number = linking_number(*a, *b)[0]
        assert linking_number(*b, *a)[0] == number
        assert linking_number(a[0], -a[1], a[2], *b)[0] == -number
        mirror = np.array([1.0, 1.0, -1.0])
        # A mirror turns the sense of a circle round, so its normal is a pseudovector.
        mirrored = [(c[0] * mirror, -c[1] * mirror, c[2]) for c in (a, b)]
        assert linking_number(*mirrored[0], *mirrored[1])[0] == -number
