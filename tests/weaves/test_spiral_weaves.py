"""Spirals, Persian weaves and tubes: what is known of them without the solver.

Who goes through whom, which way round, and what turns one ring into another. Linking
numbers have a sign once every ring has a sense: here that of its axis in the rule.
"""

import dataclasses
import itertools

import numpy as np
import pytest

from ringwright.answers.verdict import check
from ringwright.base.sizes import RingSize
from ringwright.geometry import lattice_kind
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import Lattice, rotations
from ringwright.outputs.sweep.sweep import row
from ringwright.solver.climb import Unit, climb, longest, thickest
from ringwright.solver.placement import linked_pairs, placed_unit
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule
from ringwright.weaves.family import CHAIN, SCREW

SPIRALS = ["tight-spiral", "spiral-4-in-1"]
TUBES = ["roundmaille", "european-4-in-1-tube"]
NEIGHBOURS = {
    "tight-spiral": 4,
    "spiral-4-in-1": 4,
    "half-persian-3-in-1": 3,
    "half-persian-4-in-1": 4,
    "full-persian-6-in-1": 6,
    "double-spiral": 8,
    "spiral-3-in-1": 3,
    "roundmaille": 4,
    "european-4-in-1-tube": 4,
}
ALL = list(NEIGHBOURS)
X = np.array([1.0, 0.0, 0.0])
HALF_TURN_ABOUT_Z = np.diag([-1.0, -1.0, 1.0])


def placed(name):
    return placed_unit(load_rule(name), RingSize(1.0, 4.0))


@pytest.fixture(scope="module")
def limits():
    """The tightest state of each weave, from its placement and one shaken start."""
    return {name: tightest(load_rule(name), RingSize(1.0, 4.0), 2, workers=0) for name in ALL}


def signs(unit, ring=0):
    """Signed linking number of one ring with each of its neighbours, by (other, k1, k2)."""
    found = {}
    around = unit.lattice.around
    for (i, j, (k1, k2)), number in linked_pairs(unit).items():
        if i == ring:
            found[j, k1, k2 % around if around > 1 else k2] = number
        if j == ring:
            found[i, -k1, -k2 % around if around > 1 else -k2] = number
    return found


def in_a_row(unit, k2=0):
    """Signs of ring 0 with the rings of one neighbouring row, along it."""
    found = signs(unit)
    return [found[key] for key in sorted(found) if key[2] == k2]


class TestNeighbours:
    @pytest.mark.parametrize("name", ALL)
    def test_every_ring_has_as_many_as_the_name_says(self, name):
        unit = placed(name)
        for ring in range(len(unit.rings.centres)):
            assert len(signs(unit, ring)) == NEIGHBOURS[name]

    @pytest.mark.parametrize("name", SPIRALS)
    def test_of_a_spiral_are_the_two_before_and_the_two_after(self, name):
        assert set(signs(placed(name))) == {(0, k, 0) for k in (-2, -1, 1, 2)}

    @pytest.mark.parametrize(
        "name", ["half-persian-3-in-1", "half-persian-4-in-1", "spiral-3-in-1"]
    )
    def test_of_two_rows_are_next_to_each_other_in_the_other_row(self, name):
        unit = placed(name)
        for ring, other in ((0, 1), (1, 0)):
            rows, steps, _ = zip(*sorted(signs(unit, ring)), strict=True)
            assert set(rows) == {other}
            assert set(np.diff(steps)) == {1}

    def test_of_full_persian_are_three_of_either_row_beside(self):
        unit = placed("full-persian-6-in-1")
        for ring, other in ((0, 1), (1, 0)):
            beside = itertools.product((other,), (-1, 0, 1), (0, 1))
            assert set(signs(unit, ring)) == set(beside)

    def test_of_three_quarter_persian_are_those_of_the_full_one_less_a_row(self):
        """Rows A, B and C are rows A, B and, half a turn on, A again; signs and all."""
        unit, full = placed("three-quarter-persian"), signs(placed("full-persian-6-in-1"), 1)
        from_full = {(0 if k2 == 0 else 2, k1, 0): sign for (_, k1, k2), sign in full.items()}
        assert signs(unit, 1) == from_full
        assert len(signs(unit, 0)) == len(signs(unit, 2)) == 3

    @pytest.mark.parametrize("name", TUBES)
    def test_of_a_tube_are_two_of_either_round_beside(self, name):
        unit = placed(name)
        for ring, other, rounds in ((0, 1, (0, 1)), (1, 0, (-1, 0))):
            found = sorted((j, k1) for j, k1, _ in signs(unit, ring))
            assert found == [(other, k1) for k1 in rounds for _ in range(2)]

    @pytest.mark.parametrize("name", ALL)
    def test_are_no_more_than_fit_an_eye(self, name, limits):
        """Wires through an eye are circles packed in a circle (Graham et al. 1998, from memory)."""
        packing = {3: 2.1547, 4: 2.4142, 6: 3.0, 8: 3.3048}
        assert limits[name].aspect_ratio >= packing[NEIGHBOURS[name]] - 1e-4


class TestLay:
    """Which way a ring goes through its neighbours: up (one sign) or down (the other)."""

    def test_half_persian_three_goes_up_through_one_and_down_through_two(self):
        """As makers describe it (common practice, no source)."""
        one, *two = in_a_row(placed("half-persian-3-in-1"))
        assert two == [-one, -one]

    def test_half_persian_three_is_rounded_on_top(self):
        """The planes of the two rows cross above the rings' centres: a chevron, point up."""
        unit = placed("half-persian-3-in-1")
        (_, y, _), (_, across, up) = unit.rings.centres[0], unit.rings.axes[0]
        assert across * y / up > 0.1

    def test_half_persian_three_begins_to_bind_where_makers_say_it_curls(self, limits):
        """It curls below 3.9 (Half Persian 3 in 1, Maille Artisans International League)."""
        assert limits["half-persian-3-in-1"].aspect_ratio == pytest.approx(3.9, abs=0.02)

    def test_half_persian_four_goes_up_through_two_and_down_through_two(self):
        first, second, third, fourth = in_a_row(placed("half-persian-4-in-1"))
        assert first == second == -third == -fourth

    def test_spiral_three_goes_the_same_way_through_three(self):
        """The same links as half Persian, the lay of the European six-in-one."""
        assert len(set(in_a_row(placed("spiral-3-in-1")))) == 1

    def test_every_face_of_full_persian_is_a_half_persian_three_in_one(self):
        unit = placed("full-persian-6-in-1")
        faces = in_a_row(unit, 0), in_a_row(unit, 1)
        assert faces[1] == [-sign for sign in faces[0]]
        for first, second, third in faces:
            assert first == -third
            assert second in (first, third)

    def test_arrows_on_neighbouring_faces_of_full_persian_point_opposite_ways(self):
        """Rings of one row lean along the chain one way, seen from the chain's middle outwards."""
        rings = placed("full-persian-6-in-1").rings
        outwards = rings.centres * [0.0, 1.0, 1.0]
        leans = rings.axes[:, 0] * np.einsum("ni,ni->n", rings.axes, outwards)
        assert leans[0] == pytest.approx(-leans[1])

    @pytest.mark.parametrize("name", TUBES)
    def test_tubes_have_the_lay_of_the_sheet(self, name):
        """A ring goes one way through the two of the row below, the other through those above.

        The tubes are the sheet with its rows around: what lies along the row in the sheet is a
        ring further around.
        """
        sheet, tube = signs(placed("european-4-in-1")), signs(placed(name))
        assert sheet[1, 0, 0] == sheet[1, 1, 0] == -sheet[1, 0, 1] == -sheet[1, 1, 1]
        last = load_rule(name).around - 1
        assert tube[1, 0, 0] == tube[1, 1, 0] == -tube[1, 0, last] == -tube[1, 1, last]

    def test_both_spirals_are_one_lay_of_one_hand(self):
        """Three rings through each other: no turning over changes the product of their signs."""
        tight, loose = (signs(placed(name)) for name in SPIRALS)
        assert tight == loose
        assert tight[0, 1, 0] ** 2 * tight[0, 2, 0] == 1


class TestEveryRingIsAlike:
    """A symmetry of the whole weave carries one ring of the repeat into the other."""

    def assert_carried(self, unit, motion):
        """Ring 0 moved by ``motion`` about the middle of the chain is an image of ring 1."""
        rings = unit.rings
        images = np.array([(k1, k2) for k1 in range(-3, 4) for k2 in range(unit.lattice.around)])
        other = np.ones(len(images), int)
        centres, axes = carried(rings.centres[other], rings.axes[other], images, unit.lattice)
        moved = motion @ rings.centres[0]
        apart = np.linalg.norm((centres - moved)[:, 1:], axis=1)
        turned = np.abs(axes @ (motion @ rings.axes[0]))
        assert ((apart < 0.01) & (turned > 1.0 - 1e-4)).any()

    @pytest.mark.parametrize(
        "name", ["half-persian-3-in-1", "half-persian-4-in-1", "spiral-3-in-1"]
    )
    def test_half_turn_of_two_rows(self, name):
        self.assert_carried(placed(name), HALF_TURN_ABOUT_Z)

    def test_half_persian_four_is_alike_on_top_and_below(self):
        self.assert_carried(placed("half-persian-4-in-1"), np.diag([1.0, 1.0, -1.0]))

    @pytest.mark.parametrize("name", ["full-persian-6-in-1", *TUBES])
    def test_turn_of_a_tube_with_its_length_reversed(self, name):
        unit = placed(name)
        turn = rotations(X, np.array([np.pi / unit.lattice.around]))[0]
        self.assert_carried(unit, np.diag([-1.0, 1.0, 1.0]) @ turn)

    def test_the_same_of_the_tightest_full_persian(self, limits):
        unit = limits["full-persian-6-in-1"].unit
        self.assert_carried(
            unit, np.diag([-1.0, 1.0, 1.0]) @ rotations(X, np.array([np.pi / 2]))[0]
        )


class TestSpirals:
    @pytest.mark.parametrize("ratio", [4.0, 4.2, 5.0])
    def test_a_loose_spiral_pulls_straight_to_half_an_inner_diameter_a_ring(self, ratio):
        """Every second ring hangs in the end of the last, and the third next is clear of it."""
        size = RingSize(1.0, ratio)
        found = settle(load_rule("spiral-4-in-1"), size)
        assert found.unit.repeat * size.core_radius_mm == pytest.approx(ratio / 2, rel=1e-6)

    @pytest.mark.parametrize("ratio", [3.0, 3.7, 3.9])
    def test_below_four_the_third_next_ring_is_in_the_way(self, ratio):
        """Three half inner diameters are then less than an outer one."""
        size = RingSize(1.0, ratio)
        for name in SPIRALS:
            found = settle(load_rule(name), size)
            assert found.unit.repeat * size.core_radius_mm < ratio / 2 - 1e-3

    def test_the_tight_spiral_tightens_to_thirds_of_a_turn(self, limits):
        tight = limits["tight-spiral"]
        assert np.degrees(tight.unit.lattice.values[1]) == pytest.approx(120.0, abs=1e-3)
        assert tight.aspect_ratio == pytest.approx(limits["spiral-4-in-1"].aspect_ratio, abs=1e-4)

    @pytest.mark.parametrize("ratio", [2.8, 2.9, 3.0])
    def test_the_tight_spiral_holds_its_turn_in_its_own_range(self, ratio):
        found = settle(load_rule("tight-spiral"), RingSize(1.0, ratio))
        assert np.degrees(found.unit.lattice.values[1]) == pytest.approx(120.0, abs=0.5)

    def test_three_rings_on_their_own_come_out_as_one_carried_round(self, limits):
        """The rule has all rings alike; rings that need not be find nothing better."""
        one = placed("tight-spiral")
        images = np.array([(k, 0) for k in range(3)])
        each = np.zeros(3, int)
        centres, axes = carried(one.rings.centres[each], one.rings.axes[each], images, one.lattice)
        lattice = Lattice(lattice_kind.SCREW, 3 * one.lattice.values)
        three = Unit(Rings(centres, axes, np.ones(3), np.full(3, 1e-3)), lattice)
        tight = climb(three, thickest(three), tolerance=1e-10).unit
        ratio = 1.0 / tight.rings.wire_radii[0] - 1.0
        assert ratio == pytest.approx(limits["tight-spiral"].aspect_ratio, abs=1e-5)
        wires = np.full(3, 1.0 / 4.0)
        ready = climb(three, thickest(three), enough=wires[0]).unit.with_wire_radii(wires)
        alone = settle(load_rule("tight-spiral"), RingSize(1.0, 3.0))
        assert climb(ready, longest(ready)).unit.repeat == pytest.approx(
            3 * alone.unit.repeat, rel=1e-6
        )

    def test_spiral_three_twists_by_itself(self, limits):
        """Begun without any twist it settles to the rule's, and straight it binds far earlier."""
        rule, size = load_rule("spiral-3-in-1"), RingSize(1.0, 4.4)
        straight = dataclasses.replace(
            rule,
            family=CHAIN,
            turn=0.0,
            repeat_vectors=((0.9, 0.0, 0.0),),
            rings=tuple(
                dataclasses.replace(ring, centre=(0.0, y, 0.0), axis=axis)
                for ring, y, axis in zip(
                    rule.rings,
                    (0.46, -0.46),
                    ((-0.63, 0.04, 0.77), (0.63, 0.04, 0.77)),
                    strict=True,
                )
            ),
        )
        free = dataclasses.replace(straight, family=SCREW)
        one, other = settle(rule, size).unit, settle(free, size).unit
        assert other.lattice.values == pytest.approx(one.lattice.values, abs=1e-5)
        assert np.degrees(one.lattice.values[1]) == pytest.approx(-34.0, abs=1.0)
        held = tightest(straight, size, 2, workers=0)
        assert held.aspect_ratio > limits["spiral-3-in-1"].aspect_ratio + 0.5

    def test_the_double_spiral_is_two_double_chains_in_one_another(self):
        """Every second pair stands square to the last and hangs in it, as in the two-in-two."""
        size = RingSize(1.0, 5.5)
        spiral = settle(load_rule("double-spiral"), size).unit
        chain = settle(load_rule("two-in-two"), size).unit
        assert spiral.repeat == pytest.approx(chain.repeat / 4, rel=1e-6)
        assert np.degrees(2 * spiral.lattice.values[1]) == pytest.approx(270.0, abs=1e-2)

    @pytest.mark.parametrize("name", SPIRALS)
    def test_the_mirror_image_winds_the_other_way(self, name):
        rule, size = load_rule(name), RingSize(1.0, 3.9)
        (ring,) = rule.rings
        x, y, z = ring.axis
        mirrored = dataclasses.replace(
            rule, turn=-rule.turn, rings=(dataclasses.replace(ring, axis=(-x, -y, z)),)
        )
        one, other = settle(rule, size).unit, settle(mirrored, size).unit
        assert other.repeat == pytest.approx(one.repeat, rel=1e-7)
        assert other.lattice.values[1] == pytest.approx(-one.lattice.values[1], abs=1e-3)
        assert signs(other) == {key: -sign for key, sign in signs(one).items()}


def rolled_sheet(around):
    """The four-in-one sheet's own unit with its rows bent into rounds of so many rings.

    Along the tube it keeps the sheet's row distance; around, a ring takes 2.2 core radii.
    """
    radius = 2.2 * around / (2 * np.pi)
    turn = rotations(X, np.array([np.pi / around]))[0]
    outwards = np.array([0.0, 1.0, 0.0])
    rings = Rings(
        np.array([radius * outwards, turn @ (radius * outwards) - 0.75 * X]),
        np.array([0.42 * X + 0.9075 * outwards, turn @ (0.9075 * outwards) - 0.42 * X]),
        np.ones(2),
        np.full(2, 1e-3),
    )
    return Unit(rings, Lattice(lattice_kind.TUBE, np.array([1.5, 0.0]), around=around))


class TestTubes:
    def test_the_rolled_up_sheet_is_these_tubes(self, limits):
        """Wider tubes close at smaller ratios, all of them at larger ones than the flat sheet."""
        ratios = {}
        for around in (3, 5, 8):
            unit = rolled_sheet(around)
            tight = climb(unit, thickest(unit), tolerance=1e-10).unit
            ratios[around] = 1.0 / tight.rings.wire_radii[0] - 1.0
        assert ratios[3] == pytest.approx(limits["roundmaille"].aspect_ratio, abs=1e-4)
        assert ratios[5] == pytest.approx(limits["european-4-in-1-tube"].aspect_ratio, abs=1e-4)
        sheet = tightest(load_rule("european-4-in-1"), RingSize(1.0, 4.0), 2, workers=0)
        assert ratios[3] > ratios[5] > ratios[8] > sheet.aspect_ratio

    def test_all_rings_around_are_counted(self, limits):
        name, size = "roundmaille", RingSize(1.0, 4.2)
        rule = load_rule(name)
        report = check(rule, size, limit=limits[name])
        assert rule.rings_per_repeat == 6
        assert report.rings_per_cm == pytest.approx(60.0 / report.repeat_mm)
        figures = row(rule, size, limits[name])
        assert figures.rings_per_m == pytest.approx(100 * report.rings_per_cm, rel=1e-6)
        wire_mm = figures.rings_per_m * np.pi * (size.inner_mm + size.wire_mm)
        assert figures.wire_mm_per_m == pytest.approx(wire_mm, rel=1e-6)
