"""Units that are looked at together are seen as each by itself, to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from ringwright.geometry.contact import Rings, close_pairs
from ringwright.geometry.lattice import Lattice, Lattices
from ringwright.geometry.lattice_kind import CHAIN, LOOP, PIECE, SCREW, SHEET, TUBE
from ringwright.geometry.linearise import gap_bends, gap_rows, gap_slopes
from ringwright.geometry.together import bends_seen, gaps_seen

_UP = np.array([0.0, 1.0, 0.0])
# Of every kind: values, how many close it, and an axis; a tiny repeat has more images near than
# are kept by a lattice.
LATTICES = {
    "piece": [Lattice(PIECE, np.zeros(0))] * 2,
    "chain": [Lattice(CHAIN, np.array([repeat])) for repeat in (0.3, 1.4, 2.2)],
    "screw": [Lattice(SCREW, np.array([0.7, turn])) for turn in (0.2, 1.1)],
    "sheet": [Lattice(SHEET, np.array([1.3, lean, 1.9])) for lean in (0.0, 0.4)],
    "tube": [Lattice(TUBE, np.array([1.2, 0.3]), around=around) for around in (3, 5)],
    "loop": [
        Lattice(LOOP, np.array([1.8, turn]), around=around, axis=sense * _UP)
        for turn, around, sense in ((0.0, 1, 1), (0.3, 1, -1), (0.9, 2, 1), (0.2, 5, -1))
    ],
}
REACHES = (0.2, 1.9, 0.9, 1.4)


def some_rings(random: np.random.Generator, count: int) -> Rings:
    centres, axes = random.normal(size=(2, count, 3))
    centres[:, 2] += 1.5
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    return Rings(centres, axes, random.uniform(0.5, 1.2, count), random.uniform(0.05, 0.2, count))


@pytest.fixture(params=LATTICES)
def units(request: pytest.FixtureRequest) -> list[tuple[Rings, Lattice]]:
    random = np.random.default_rng(7)
    lattices = LATTICES[request.param]
    return [(some_rings(random, 2 + number), one) for number, one in enumerate(lattices)]


def assert_same(one: object, other: object) -> None:
    for name, value in vars(one).items():
        if isinstance(value, np.ndarray):
            np.testing.assert_array_equal(value, getattr(other, name))
        else:
            assert_same(value, getattr(other, name))


class TestSeenTogether:
    def test_the_gaps_of_every_unit_are_those_it_has_alone(self, units):
        for (rings, lattice), reach, seen in zip(
            units, REACHES, gaps_seen(units, REACHES[: len(units)]), strict=False
        ):
            rows = gap_rows(rings, close_pairs(rings, reach, lattice), lattice, reach)
            slopes, columns = gap_slopes(rings, rows, lattice)
            assert len(rows.gap) > 0
            assert_same(rows, seen.rows)
            np.testing.assert_array_equal(slopes, seen.slopes)
            np.testing.assert_array_equal(columns, seen.columns)

    def test_so_are_their_bends(self, units):
        seen = gaps_seen(units, REACHES[: len(units)])
        some = [gaps.rows.of(np.arange(0, len(gaps.rows.gap), 2)) for gaps in seen]
        for (rings, lattice), rows, found in zip(units, some, bends_seen(units, some), strict=True):
            for alone, together in zip(gap_bends(rings, rows, lattice), found, strict=True):
                np.testing.assert_array_equal(alone, together)

    def test_nothing_is_seen_of_no_units(self):
        assert bends_seen([], []) == []

    def test_large_units_are_seen_too(self):
        random = np.random.default_rng(1)
        units = [(some_rings(random, 70), one) for one in LATTICES["chain"][1:]]
        for (rings, lattice), seen in zip(units, gaps_seen(units, (0.1, 0.2)), strict=True):
            reach = 0.1 if rings is units[0][0] else 0.2
            rows = gap_rows(rings, close_pairs(rings, reach, lattice), lattice, reach)
            assert_same(rows, seen.rows)


class TestLattices:
    def test_images_are_those_of_whose_they_are(self, units):
        lattices = tuple(lattice for _, lattice in units)
        together = Lattices(lattices)
        random = np.random.default_rng(3)
        for farthest in (3, 20):
            images = random.integers(-farthest, farthest + 1, (30, 3))
            images[:, 2] = random.integers(0, len(lattices), 30)
            if lattices[0].kind.image_numbers < 2:
                images[:, 1] = 0
            turn, shift = together.motion(images)
            drift = together.drift(images)
            for number, lattice in enumerate(lattices):
                own = images[:, 2] == number
                alone = lattice.motion(images[own, :2])
                np.testing.assert_array_equal(turn[own], alone[0])
                np.testing.assert_array_equal(shift[own], alone[1])
                np.testing.assert_array_equal(drift[own], lattice.drift(images[own, :2]))
