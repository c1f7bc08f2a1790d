"""European and Japanese sheets and strips, and rosettes: what is known of them from outside."""

import dataclasses
import functools
import itertools
import math
from collections import Counter

import numpy as np
import pytest
from scipy.optimize import minimize

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import woven_piece
from ringwright.solver.climb import Unit
from ringwright.solver.placement import linked_pairs, placed_unit, rule_links
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule

# How many rings of the unit have how many neighbours, as counted at the bench.
NEIGHBOURS = {
    "european-4-in-1-strip-3": {2: 2, 4: 1},
    "european-4-in-1-strip-5": {2: 2, 4: 3},
    "european-6-in-1-strip-3": {3: 2, 6: 1},
    "european-4-in-1-two-gauges": {4: 2},
    "european-6-in-1": {6: 2},
    "european-8-in-1": {8: 2},
    "japanese-4-in-1": {4: 1, 2: 2},
    "japanese-6-in-1": {6: 1, 2: 3},
    "japanese-8-in-2": {8: 2, 4: 4},
    "japanese-12-in-2": {12: 2, 4: 6},
    "japanese-flower": {6: 1, 3: 6, 2: 12},
    "three-ring-rosette": {2: 3},
    "five-ring-rosette": {4: 5},
}
STRIPS = [name for name in NEIGHBOURS if "strip" in name]
EUROPEAN = [name for name in NEIGHBOURS if name.startswith("european")]
JAPANESE_SHEETS = [
    "japanese-4-in-1",
    "japanese-6-in-1",
    "japanese-8-in-2",
    "japanese-12-in-2",
]
ROSETTES = {"three-ring-rosette": 3, "five-ring-rosette": 5}
ANGLES = np.arange(180) * (2 * np.pi / 180)


@functools.cache
def settled_mid(name):
    """The weave at rest in the middle of its common range, and the ring it is made of."""
    rule = load_rule(name)
    common = rule.common_aspect_ratio
    size = RingSize(1.0, (common.low + common.high) / 2)
    return settle(rule, size), size


@functools.cache
def smallest_ratio(name):
    return tightest(load_rule(name), RingSize(1.0, 5.0), starts=2, workers=0).aspect_ratio


def placed(name):
    return placed_unit(load_rule(name), RingSize(1.0, 5.0))


def points_of(centres, axes, radii):
    """Points all round some circles, (n, 180, 3)."""
    helper = np.where(np.abs(axes[:, :1]) < 0.9, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    u = np.cross(axes, helper)
    u /= np.linalg.norm(u, axis=1)[:, None]
    v = np.cross(axes, u)
    turn = ANGLES[:, None]
    return centres[:, None] + radii[:, None, None] * (
        np.cos(turn) * u[:, None] + np.sin(turn) * v[:, None]
    )


def distances(centre, axis, radius, points):
    """How far points are from a circle, straight from its equation."""
    away = points - centre
    up = away @ axis
    out = np.sqrt(np.maximum((away**2).sum(axis=-1) - up**2, 0.0))
    return np.hypot(out - radius, up)


def wires_through(piece, ring):
    """How many times the other rings' core circles pass through the disc of one ring."""
    others = np.arange(len(piece)) != ring
    points = points_of(piece.centres_mm[others], piece.axes[others], piece.core_radii_mm[others])
    away = points - piece.centres_mm[ring]
    up = away @ piece.axes[ring]
    after = np.roll(up, -1, axis=1)
    share = up / np.where(up == after, 1.0, up - after)
    crossing = away + share[..., None] * (np.roll(away, -1, axis=1) - away)
    inside = np.linalg.norm(crossing, axis=-1) < piece.core_radii_mm[ring]
    return int(np.sum((up > 0.0) != (after > 0.0), where=inside))


def is_carried_onto_itself(unit, turn, shift=(0.0, 0.0, 0.0)):
    """Whether a motion or reflection takes the endless weave onto itself, rings and all."""
    rings, lattice = unit.rings, unit.lattice
    steps = np.array(list(itertools.product(range(-4, 5), repeat=2)))
    if not lattice.kind.repeats:
        steps = np.zeros((1, 2), int)
    elif not lattice.kind.has_rows:
        steps = steps[steps[:, 1] == 0]
    _, shifts = lattice.motion(steps)
    for centre, axis, core in zip(rings.centres, rings.axes, rings.core_radii, strict=True):
        at, along = turn @ centre + shift, turn @ axis
        near = np.linalg.norm(rings.centres[:, None] + shifts - at, axis=2).min(axis=1) < 1e-3
        alike = (np.abs(rings.axes @ along) > 1 - 1e-6) & (rings.core_radii == core)
        if not np.any(near & alike):
            return False
    return True


def turned(axis, degrees):
    """Rotation about a coordinate axis."""
    a, b = [k for k in range(3) if k != "xyz".index(axis)]
    turn = np.eye(3)
    angle = math.radians(degrees)
    turn[a, a] = turn[b, b] = math.cos(angle)
    turn[a, b], turn[b, a] = -math.sin(angle), math.sin(angle)
    return turn


UPSIDE_DOWN = np.diag([1.0, 1.0, -1.0])
LENGTHWISE = np.diag([1.0, -1.0, 1.0])


class TestNeighbours:
    @pytest.mark.parametrize("name", NEIGHBOURS)
    def test_every_ring_has_the_neighbours_counted_at_the_bench(self, name):
        rule = load_rule(name)
        linked = Counter(ring for i, j, _ in rule_links(rule) for ring in (i, j))
        assert len(linked) == len(rule.rings)
        assert Counter(linked.values()) == NEIGHBOURS[name]

    @pytest.mark.parametrize("name", NEIGHBOURS)
    def test_just_so_many_wires_pass_through_each_eye_at_rest(self, name):
        """Counted where core circles cross the disc of a ring in the middle of a piece."""
        rule = load_rule(name)
        settled, size = settled_mid(name)
        repeats = {"piece": (1, 1), "chain": (9, 1), "sheet": (9, 5)}[rule.family.name]
        piece = woven_piece(rule, settled.unit, size.core_radius_mm, *repeats)
        middle = {"piece": "1", "chain": "5", "sheet": "5.3"}[rule.family.name]
        through = [
            wires_through(piece, piece.names.index(f"{ring.name}.{middle}")) for ring in rule.rings
        ]
        assert Counter(through) == NEIGHBOURS[name]


class TestEuropean:
    @pytest.mark.parametrize("name", EUROPEAN)
    def test_rows_lean_one_way_and_the_other_by_turns(self, name):
        """Along the row, at rest as well as placed."""
        rings = settled_mid(name)[0].unit.rings
        lean = rings.axes[:, 0] / rings.axes[:, 2]
        by_row = lean[np.argsort(rings.centres[:, 1])]
        assert np.all(np.sign(by_row[1:]) == -np.sign(by_row[:-1]))
        assert np.abs(rings.axes[:, 1]).max() < 0.05

    @pytest.mark.parametrize("name", EUROPEAN)
    def test_half_turn_across_the_rows(self, name):
        """About an axis along y through a ring of the first row."""
        unit = placed(name)
        half = turned("y", 180)
        centre = unit.rings.centres[0]
        assert is_carried_onto_itself(unit, half, centre - half @ centre)

    @pytest.mark.parametrize("name", STRIPS)
    def test_a_strip_is_its_own_reflection_in_its_length(self, name):
        assert is_carried_onto_itself(placed(name), LENGTHWISE)

    @pytest.mark.parametrize("name", EUROPEAN)
    def test_reflected_in_the_table_it_is_another_lay(self, name):
        """Reflected in the table, rows lean the other way: the lean has a sense."""
        unit = placed(name)
        centre = unit.rings.centres[0]
        assert not is_carried_onto_itself(unit, UPSIDE_DOWN, centre - UPSIDE_DOWN @ centre)

    @pytest.mark.parametrize("name", ["european-6-in-1", "european-8-in-1"])
    def test_half_turn_that_exchanges_the_rows(self, name):
        unit = placed(name)
        half = turned("z", 180)
        middle = unit.rings.centres.mean(axis=0)
        assert is_carried_onto_itself(unit, half, middle - half @ middle)

    @pytest.mark.parametrize(
        ("name", "wires"),
        [("european-4-in-1", 4), ("european-6-in-1", 6), ("european-8-in-1", 8)],
    )
    def test_tightest_sheet_by_another_method(self, name, wires):
        """Outside check: a direct search over pitch, spacing and lean of the regular sheets.

        Distances are sampled here; nothing is taken from the solver. SciPy's
        Nelder-Mead looks for the widest distance between core circles.
        """
        each = wires // 2
        beside = np.arange(2 * each + 4) - each - 1.5 + (0.5 if each % 2 else 0.0)

        def negative_distance(place):
            pitch, spacing, lean = place
            own, other = np.array([[-lean, 0.0, 1.0], [lean, 0.0, 1.0]]) / math.hypot(lean, 1.0)
            along = np.arange(1, each + 3)
            two_rows_on = np.arange(-each, each + 1)
            centres = [(pitch * k, 0.0, 0.0) for k in along]
            centres += [(pitch * k, 2 * spacing, 0.0) for k in two_rows_on]
            axes = [own] * len(centres)
            centres += [(pitch * k, spacing, 0.0) for k in beside]
            axes += [other] * len(beside)
            ones = np.ones(len(centres))
            points = points_of(np.array(centres), np.array(axes), ones)
            return -distances(np.zeros(3), own, 1.0, points).min()

        start = {4: (1.2, 1.2, 0.6), 6: (0.85, 1.15, 0.7), 8: (0.65, 1.12, 0.7)}[wires]
        for _ in range(2):
            found = minimize(negative_distance, start, method="Nelder-Mead")
            start = found.x
        # Wires touch when core circles are one wire apart: ratio = (2 - wire) / wire.
        assert 2.0 / -found.fun - 1.0 == pytest.approx(smallest_ratio(name), abs=5e-3)

    @pytest.mark.parametrize("name", STRIPS)
    def test_a_strip_binds_where_its_sheet_binds(self, name):
        """A strip's middle rings have all the neighbours they have in the sheet."""
        sheet = name.removesuffix("-strip-3").removesuffix("-strip-5")
        assert smallest_ratio(name) == pytest.approx(smallest_ratio(sheet), abs=1e-3)

    def test_both_gauges_come_off_one_mandrel_at_ratio_four(self):
        rule, size = load_rule("european-4-in-1-two-gauges"), RingSize(1.0, 4.0)
        rings = settle(rule, size).unit.rings
        inside = 2 * (rings.core_radii - rings.wire_radii) * size.core_radius_mm
        assert inside == pytest.approx([4.0, 4.0])
        assert smallest_ratio(rule.name) < smallest_ratio("european-4-in-1")


class TestJapanese:
    @pytest.mark.parametrize(
        ("name", "turn"),
        [
            ("japanese-4-in-1", 90),
            ("japanese-8-in-2", 90),
            ("japanese-6-in-1", 60),
            ("japanese-12-in-2", 60),
            ("japanese-flower", 60),
        ],
    )
    def test_lattice_has_its_turn_and_both_its_sides_alike(self, name, turn):
        unit = placed(name)
        assert is_carried_onto_itself(unit, turned("z", turn))
        assert is_carried_onto_itself(unit, UPSIDE_DOWN)
        assert is_carried_onto_itself(unit, LENGTHWISE)
        assert not is_carried_onto_itself(unit, turned("z", turn / 2))

    @pytest.mark.parametrize("name", [*JAPANESE_SHEETS, "japanese-flower"])
    def test_flat_rings_lie_flat_and_connectors_stand(self, name):
        rule = load_rule(name)
        rings = settled_mid(name)[0].unit.rings
        flat = np.array([ring.size is None for ring in rule.rings])
        assert np.abs(rings.axes[flat, 2]).min() > 0.995
        assert np.abs(rings.axes[~flat, 2]).max() < 0.1

    @pytest.mark.parametrize("name", JAPANESE_SHEETS)
    def test_pulled_rows(self, name):
        """A pulled row of single rings measures one inside of each kind for every repeat.

        Pairs need room beside each other, so their rows are shorter.
        """
        settled, size = settled_mid(name)
        rings = settled.unit.rings
        insides = 2 * (rings.core_radii - rings.wire_radii)
        most = float(insides[0] + insides[-1])
        if name.endswith("in-1"):
            assert settled.unit.repeat == pytest.approx(most, rel=1e-6)
        else:
            assert 0.9 * most < settled.unit.repeat < most
        assert size.aspect_ratio > smallest_ratio(name)

    @pytest.mark.parametrize("name", ["japanese-4-in-1", "japanese-6-in-1"])
    def test_two_wires_side_by_side_bind_in_the_connector(self, name):
        """Closed form: two circles in a circle need twice their radius.

        The connector's inside, core less wire radius, then is two flat-ring wire radii:
        c - w r = 2 r with core c and wire w in units of the flat ring's, r = 1 / (AR + 1).
        """
        connector = load_rule(name).rings[-1].size
        closed_form = (2 + connector.wire) / connector.core - 1
        assert smallest_ratio(name) == pytest.approx(closed_form, abs=1e-4)

    @pytest.mark.parametrize("name", ["japanese-8-in-2", "japanese-12-in-2"])
    def test_four_wires_bind_in_the_connector(self, name):
        """Four circles in a circle need 1 + sqrt 2 of their radius.

        Published optimum (Graham et al., "Dense packings of congruent circles in a
        circle", Discrete Mathematics 181 (1998), table; from memory). Flat rings that
        bend away leave the second connector less room, so a little more is needed.
        """
        connector = load_rule(name).rings[-1].size
        bound = (1 + math.sqrt(2) + connector.wire) / connector.core - 1
        assert bound < smallest_ratio(name) < 1.05 * bound

    def test_a_flower_is_a_patch_of_the_sheet(self):
        """Hub and petals bind where the endless mesh does, in the connectors."""
        connector = load_rule("japanese-flower").rings[-1].size
        sheet = load_rule("japanese-6-in-1").rings[-1].size
        assert (connector.core, connector.wire) == (sheet.core, sheet.wire)
        flower, mesh = placed("japanese-flower"), placed("japanese-6-in-1")
        away = np.linalg.norm(flower.rings.centres[1:7, :2], axis=1)
        assert away == pytest.approx(np.full(6, mesh.repeat), abs=1e-3)


class TestRosettes:
    @pytest.mark.parametrize(("name", "count"), ROSETTES.items())
    def test_every_ring_goes_through_all_others_with_one_hand(self, name, count):
        """With all axes up, every two rings are linked the same way round."""
        unit = placed(name)
        assert unit.rings.axes[:, 2].min() > 0.0
        found = linked_pairs(unit)
        assert len(found) == count * (count - 1) // 2
        assert len(set(found.values())) == 1

    @pytest.mark.parametrize(("name", "count"), ROSETTES.items())
    def test_rosette_rests_in_rotation(self, name, count):
        settled, _ = settled_mid(name)
        assert is_carried_onto_itself(settled.unit, turned("z", 360 / count))
        assert not is_carried_onto_itself(settled.unit, UPSIDE_DOWN)

    @pytest.mark.parametrize("name", ROSETTES)
    def test_mirror_image_is_the_rosette_of_the_other_hand(self, name):
        rule, size = load_rule(name), settled_mid(name)[1]
        rings = tuple(
            dataclasses.replace(
                ring,
                centre=(-ring.centre[0], *ring.centre[1:]),
                axis=(-ring.axis[0], *ring.axis[1:]),
            )
            for ring in rule.rings
        )
        mirrored = settle(dataclasses.replace(rule, rings=rings), size).unit
        here = linked_pairs(settled_mid(name)[0].unit)
        assert linked_pairs(mirrored) == {key: -sign for key, sign in here.items()}

    @pytest.mark.parametrize(
        ("name", "flat_limit"), [("three-ring-rosette", 2.10), ("five-ring-rosette", 4.25)]
    )
    def test_makers_begin_where_the_regular_rosette_has_room(self, name, flat_limit):
        """Outside check: a direct search over the regular rosettes, with sampled distances."""
        count = ROSETTES[name]
        turns = 2 * np.pi * np.arange(count) / count
        outward = np.stack([np.cos(turns), np.sin(turns), 0 * turns], axis=1)

        def negative_distance(place):
            away, lean = place
            axes = math.cos(lean) * np.array([0.0, 0.0, 1.0]) + math.sin(lean) * np.cross(
                outward, [0.0, 0.0, 1.0]
            )
            points = points_of(away * outward[1:], axes[1:], np.ones(count - 1))
            return -distances(away * outward[0], axes[0], 1.0, points).min()

        found = minimize(negative_distance, (0.6, 0.6), method="Nelder-Mead")
        regular = 2.0 / -found.fun - 1.0
        assert regular == pytest.approx(flat_limit, abs=0.01)
        assert regular < load_rule(name).common_aspect_ratio.low
        assert smallest_ratio(name) < regular

    def test_three_rings_close_until_two_wires_fill_an_eye(self):
        """Two circles in a circle need twice their radius: inner / wire is 2."""
        assert smallest_ratio("three-ring-rosette") == pytest.approx(2.0, abs=1e-3)


def test_units_at_rest_are_not_sheared():
    """Placed square or regular, the rows of a sheet stay so when it is pulled."""
    for name in [*JAPANESE_SHEETS, "european-6-in-1", "european-8-in-1"]:
        unit: Unit = settled_mid(name)[0].unit
        start = placed(name)
        share = start.lattice.values[1] / start.repeat
        assert unit.lattice.values[1] / unit.repeat == pytest.approx(share, abs=0.02)
