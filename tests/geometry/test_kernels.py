"""The compiled loops against NumPy's: the same bits, and used only where they can be had."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ringwright
from ringwright.geometry import speed
from ringwright.geometry.circles import (
    distance_minima,
    linking_number,
    nearest_on_circle,
    plane_basis,
)

FIELDS = ("pair", "distance", "point_a", "point_b")


@pytest.fixture(scope="module")
def loops():
    found = speed.load()
    assert found is not None
    return found


def random_pairs(random, count):
    normals = random.normal(size=(2, count, 3))
    normals /= np.linalg.norm(normals, axis=2, keepdims=True)
    centres = random.normal(size=(2, count, 3))
    radii = np.exp(0.5 * random.normal(size=(2, count)))
    return [centres[0], normals[0], radii[0], centres[1], normals[1], radii[1]]


def nearly_parallel(random, count):
    """Pairs in nearly parallel planes, one circle nearly touching the other from inside."""
    ca, na, ra, _, nb, rb = random_pairs(random, count)
    nb = na + 10.0 ** random.uniform(-5, -1, (count, 1)) * nb
    nb /= np.linalg.norm(nb, axis=1)[:, None]
    u, v = plane_basis(na)
    angle = random.uniform(0, 2 * np.pi, (count, 1))
    short = 1.0 - 10.0 ** random.uniform(-5, -1.5, (count, 1))
    away = np.abs(ra - rb)[:, None] * short * (np.cos(angle) * u + np.sin(angle) * v)
    return [ca, na, ra, ca + away + 0.2 * random.normal(size=(count, 1)) * na, nb, rb]


def brushing(random, count):
    """Pairs in which the first circle passes close by the second's axis."""
    ca, na, ra, cb, nb, rb = random_pairs(random, count)
    point = ca + ra[:, None] * plane_basis(na)[0]
    return [ca, na, ra, point + random.normal(size=(count, 1)) * nb + 0.02 * cb, nb, rb]


def on_a_grid(random, count):
    """Equal circles at whole places and along the axes: touching, coaxial, identical."""
    ca, _, _, cb, _, _ = random_pairs(random, count)
    normals = np.eye(3)[random.integers(0, 3, size=(2, count))]
    return [np.round(ca), normals[0], np.ones(count), np.round(cb), normals[1], np.ones(count)]


KINDS = [random_pairs, nearly_parallel, brushing, on_a_grid]


class TestSameBits:
    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(st.integers(0, 10**6), st.sampled_from(KINDS), st.sampled_from([1, 2, 30, 700]))
    def test_all_minima(self, loops, seed, kind, count):
        pairs = kind(np.random.default_rng(seed), count)
        with speed.using(None):
            expected = distance_minima(*pairs)
        with speed.using(loops):
            found = distance_minima(*pairs)
        for field in FIELDS:
            np.testing.assert_array_equal(getattr(found, field), getattr(expected, field))

    @settings(max_examples=60, deadline=None, derandomize=True)
    @given(st.integers(0, 10**6), st.sampled_from(KINDS))
    def test_linking_numbers(self, loops, seed, kind):
        pairs = kind(np.random.default_rng(seed), 300)
        with speed.using(None):
            expected = linking_number(*pairs)
        with speed.using(loops):
            assert linking_number(*pairs).tolist() == expected.tolist()

    def test_more_pairs_than_one_part_holds(self, loops, monkeypatch):
        pairs = on_a_grid(np.random.default_rng(1), 900)
        with speed.using(loops):
            expected = distance_minima(*pairs)
            monkeypatch.setattr("ringwright.geometry.circles._COMPILED_BLOCK", 50)
            found = distance_minima(*pairs)
        for field in FIELDS:
            np.testing.assert_array_equal(getattr(found, field), getattr(expected, field))

    def test_arrays_in_any_layout(self, loops):
        pairs = random_pairs(np.random.default_rng(2), 20)
        odd = [np.asfortranarray(array) for array in pairs]
        for array in odd:
            array.flags.writeable = False
        with speed.using(loops):
            expected, found = distance_minima(*pairs), distance_minima(*odd)
            none = distance_minima(*(array[:0] for array in pairs))
        np.testing.assert_array_equal(found.distance, expected.distance)
        assert none.point_a.shape == (0, 3)


class TestHiddenMinima:
    @pytest.mark.parametrize("kind", KINDS[:3])
    def test_the_smallest_distance_is_never_missed(self, kind):
        """Against sampling the first circle ever more finely about its best angle."""
        pairs = kind(np.random.default_rng(5), 1500)
        a, b = pairs[:3], pairs[3:]
        u, v = plane_basis(a[1])

        def distance(angle):
            spoke = np.cos(angle)[..., None] * u + np.sin(angle)[..., None] * v
            points = a[0] + a[2][:, None] * spoke
            return np.linalg.norm(points - nearest_on_circle(points, *b), axis=-1)

        width = 2 * np.pi / 2000
        sampled = np.array([distance(np.full(1500, k * width)) for k in range(2000)])
        best = sampled.argmin(axis=0) * width
        while width > 1e-8:
            angles = best + width * np.linspace(-1.0, 1.0, 21)[:, None]
            best = np.take_along_axis(angles, distance(angles).argmin(axis=0)[None], 0)[0]
            width /= 8.0
        found = distance_minima(*pairs)
        least = np.full(1500, np.inf)
        np.minimum.at(least, found.pair, found.distance)
        assert least == pytest.approx(distance(best), abs=1e-10)


class TestChoice:
    @pytest.fixture(autouse=True)
    def fresh(self, monkeypatch):
        monkeypatch.setattr(speed, "_choice", speed._Choice())

    def test_compiled_loops_come_in_once_there_is_work_for_them(self, monkeypatch):
        made = SimpleNamespace()
        monkeypatch.setattr(speed, "load", lambda: made)
        asked = [speed.compiled(20_000) for _ in range(4)]
        assert asked == [None, None, made, made]

    def test_they_are_looked_for_once_only(self, monkeypatch):
        looked = []
        monkeypatch.setattr(speed, "load", lambda: looked.append(1))
        assert [speed.compiled(10**6) for _ in range(3)] == [None] * 3
        assert looked == [1]

    def test_without_numba_numpy_does_it_all(self, monkeypatch):
        monkeypatch.setitem(sys.modules, "numba", None)
        assert speed.load() is None
        assert speed.compiled(10**6) is None

    def test_switched_off_compiler_is_not_used(self, monkeypatch):
        monkeypatch.setattr(numba.config, "DISABLE_JIT", 1, raising=False)
        assert speed.load() is None

    @pytest.mark.parametrize("home_is_writable", [True, False])
    def test_a_read_only_package_folder(self, tmp_path, home_is_writable):
        """Machine code then goes to the user's cache folder, or NumPy does the work."""
        source, copy = Path(ringwright.__file__).parent, tmp_path / "site" / "ringwright"
        for folder in ("base", "geometry"):
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(source / folder, copy / folder, ignore=ignored)
        shutil.copy(source / "__init__.py", copy)
        package = copy / "geometry"
        home = tmp_path / "home"
        home.mkdir()
        # A file where the cache folder would be keeps it from being made, even for root.
        (package / "__pycache__").touch()
        cache = home / "cache"
        cache.mkdir() if home_is_writable else cache.touch()
        clean = {k: v for k, v in os.environ.items() if not k.startswith("NUMBA")}
        done = subprocess.run(
            [
                sys.executable,
                "-c",
                "from ringwright.geometry import speed; print(speed.load() is not None)",
            ],
            env=clean
            | {
                "HOME": str(home),
                "XDG_CACHE_HOME": str(cache),
                "PYTHONPATH": str(tmp_path / "site"),
            },
            cwd=tmp_path,
            capture_output=True,
            text=True,
        )
        assert done.stdout.strip() == str(home_is_writable), done.stderr
        assert any(home.rglob("*.nbi")) == home_is_writable
