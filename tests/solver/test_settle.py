"""Resting places, against closed forms, packing bounds and independent sampling."""

import dataclasses

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.spatial import cKDTree

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.circles import nearest_on_circle, plane_basis
from ringwright.solver.climb import climb, longest
from ringwright.solver.placement import linked_pairs, placed_unit, rule_links
from ringwright.solver.settle import follow, settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule

# Smallest radius of a circle that holds n unit circles, less 1: published optima for
# n = 1..7 (Graham et al., "Dense packings of congruent circles in a circle", Discrete
# Mathematics 181 (1998), table; from memory).
PACKING = {0: 0.0, 1: 1.0, 2: 2.0, 3: 2.1547, 4: 2.4142, 5: 2.7013, 6: 3.0, 7: 3.0}


@pytest.fixture(scope="module")
def barrel():
    return load_rule("barrel")


@pytest.fixture(scope="module")
def chain():
    return load_rule("one-in-one")


@pytest.fixture(scope="module")
def limits(barrel, chain):
    return {rule.name: tightest(rule, RingSize(1.0, 4.0)) for rule in (barrel, chain)}


def size_at(aspect_ratio):
    return RingSize(1.0, aspect_ratio)


def wire_at(aspect_ratio):
    """Wire radius on a core circle of radius 1."""
    return 1.0 / (aspect_ratio + 1.0)


class TestOneInOne:
    """Exact: pulled straight, each ring adds one inner diameter, and two wires fill an eye."""

    @pytest.mark.parametrize("ratio", [2.0, 2.2, 3.0, 4.5, 8.0, 20.0, 50.0])
    def test_repeat_is_twice_the_inner_diameter(self, chain, limits, ratio):
        settled = settle(chain, size_at(ratio), limits[chain.name].unit)
        inner = 2.0 * (1.0 - wire_at(ratio))
        assert settled.unit.repeat == pytest.approx(2 * inner, rel=1e-6)

    def test_tightest_ring_has_aspect_ratio_2(self, limits):
        assert limits["one-in-one"].aspect_ratio == pytest.approx(2.0, abs=1e-6)
        assert limits["one-in-one"].agreed >= 6


def longest_barrel(wire_radius):
    """The barrel's longest repeat, by a search of its own that shares nothing with the solver.

    Half turns about the chain's length and about the vertical carry the lay into itself, so six
    numbers tell all of it: the repeat, how far the flat rings are slid apart and lie above one
    another, how they tilt, how the end rings lean, and how far the hoops are apart. Distances are
    those of points on the rings.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    along, across = np.eye(3)[0], np.eye(3)[1]

    def circle(centre, axis, start):
        return (
            np.asarray(centre)
            + np.cos(turn)[:, None] * start
            + np.sin(turn)[:, None] * np.cross(axis, start)
        )

    def gaps(values):
        repeat, slid, raised, tilt, lean, hoop = values
        axis = np.array([0.0, -np.sin(tilt), np.cos(tilt)])
        low = circle((0.0, -slid, -raised), axis, along)
        high = circle((0.0, slid, raised), axis, along)
        end = circle((repeat / 2, 0.0, 0.0), (0.0, np.cos(lean), -np.sin(lean)), along)
        hoops = circle((hoop, 0.0, 0.0), along, across)
        near = [cKDTree(other).query(low)[0].min() for other in (high, end, hoops)]
        return np.array([*near, 2 * hoop]) - 2 * wire_radius

    found = minimize(
        lambda values: -values[0],
        [2.5, 0.42, 0.28, 0.12, 0.5, 1.1 * wire_radius],
        constraints={"type": "ineq", "fun": gaps},
        method="SLSQP",
        bounds=[(2.2, 3.8), (0.1, 0.7), (0.05, 0.5), (-0.4, 0.6), (0.1, 1.0), (wire_radius, 0.6)],
        options={"ftol": 1e-8, "maxiter": 40, "eps": 1e-4},
    )
    assert gaps(found.x).min() > -1e-3
    return found.x[0]


class TestBarrel:
    @pytest.mark.parametrize("ratio", [3.8, 4.4])
    def test_repeat_is_that_of_a_search_over_symmetric_barrels(self, barrel, ratio):
        settled = settle(barrel, size_at(ratio))
        assert settled.unit.repeat == pytest.approx(longest_barrel(wire_at(ratio)), rel=1e-3)

    @pytest.mark.parametrize("inner_mm", [4.5, 4.7])
    def test_common_sizes_measure_as_makers_say(self, barrel, inner_mm):
        """Common practice, no source: 1.25 mm wire on a 4.5 mm mandrel, about 9 mm a repeat.

        Measured by a ruler, and rings come off larger than their mandrel.
        """
        size = RingSize(1.25, inner_mm)
        settled = settle(barrel, size)
        assert settled.unit.repeat * size.core_radius_mm == pytest.approx(9.0, rel=0.1)

    @pytest.mark.parametrize(
        ("wire_mm", "inner_mm", "rings_per_inch"),
        [(1.024, 4.0, 20), (1.291, 5.0, 15), (1.628, 6.0, 12)],
    )
    def test_published_counts(self, barrel, wire_mm, inner_mm, rings_per_inch):
        """The Beadman, "Barrel Chain Tutorial": rings to have at hand for an inch (AWG).

        Counts for buying, two of three of them whole repeats an inch, so never fewer than are
        woven in, and at most half a repeat more.
        """
        size = RingSize(wire_mm, inner_mm)
        repeat_mm = settle(barrel, size).unit.repeat * size.core_radius_mm
        woven = 5 * 25.4 / repeat_mm
        assert woven <= rings_per_inch <= woven + 3.0

    def test_lay_is_that_of_a_row_of_barrels(self, barrel):
        """The Beadman's tutorial: pairs slid apart, ends through the lens, hoops around it."""
        unit = settle(barrel, size_at(3.6)).unit
        names = [ring.name for ring in barrel.rings]
        centres = dict(zip(names, unit.rings.centres, strict=True))
        axes = dict(zip(names, unit.rings.axes, strict=True))
        # The flat rings lie apart sideways and above one another, not along the chain.
        apart = centres["D"] - centres["B"]
        assert abs(apart[0]) < 1e-3
        assert apart[1] > 0.5
        assert apart[2] > 2 * wire_at(3.6)
        assert min(abs(axes["B"][2]), abs(axes["D"][2])) > 0.95
        # The end rings reach in where both overlap; the hoops stand across, around that place.
        for reach in (1.0, -1.0):
            inner = centres["E"] - [(1 + reach) / 2 * unit.repeat, 0, 0] + [reach, 0, 0]
            for flat in ("B", "D"):
                assert np.linalg.norm((inner - centres[flat])[:2]) < 1.0
        for hoop in ("C1", "C2"):
            assert abs(axes[hoop][0]) > 0.99
            assert np.abs(centres[hoop][1:]).max() < 0.1
            for side, flat, other in ((-1.0, "B", "D"), (1.0, "D", "B")):
                strand = centres[hoop] + [0.0, side, 0.0]
                assert np.linalg.norm((strand - centres[flat])[:2]) < 1.0
                assert np.linalg.norm((strand - centres[other])[:2]) > 1.0
        assert 2 * wire_at(3.6) <= centres["C2"][0] - centres["C1"][0] + 1e-9

    def test_tightest_is_agreed_on(self, limits):
        limit = limits["barrel"]
        assert limit.agreed >= 8
        assert len(limit.spread) == limit.starts == 12
        assert limit.spread[0] == pytest.approx(limit.aspect_ratio, abs=1e-6)

    def test_the_starts_shared_out_give_what_one_process_gives(self, chain):
        alone = tightest(chain, size_at(3.0), starts=4, workers=0)
        shared = tightest(chain, size_at(3.0), starts=4, workers=2)
        assert shared.spread == alone.spread
        assert (shared.unit.rings.centres == alone.unit.rings.centres).all()

    def test_a_long_walk_finds_roundmaille_tighter_than_all_near_starts(self):
        """Rounds that lean unequally, which no small shake of the rule's placement leads to."""
        rule = load_rule("roundmaille")
        limit = tightest(rule, size_at(4.0), workers=0)
        near = [ratio for ratio in limit.spread if ratio > limit.aspect_ratio + 0.02]
        assert len(near) >= 9
        assert min(near) == pytest.approx(3.5422, abs=1e-4)
        assert limit.aspect_ratio == pytest.approx(3.5164, abs=1e-4)
        assert linked_pairs(limit.unit) == linked_pairs(placed_unit(rule, size_at(4.0)))

    def test_the_pull_goes_through_every_joint(self, barrel):
        """Cut anywhere, contact forces along the chain add up to the pull."""
        settled = settle(barrel, size_at(3.6))
        held = settled.certificate
        names = [ring.name for ring in barrel.rings]
        loaded = {
            frozenset((names[i], names[j]))
            for i, j, force in zip(held.pairs.first, held.pairs.second, held.forces, strict=True)
            if force > 1e-3
        }
        assert {frozenset(pair) for pair in (("B", "E"), ("D", "E"))} <= loaded
        # What presses the flat rings together is held by the hoops or by each other.
        assert loaded & {frozenset(pair) for pair in (("B", "C1"), ("D", "C2"), ("B", "D"))}


@pytest.mark.parametrize("name", ["barrel", "one-in-one"])
class TestEveryWeave:
    def test_no_tightest_ring_beats_the_packing_of_its_wires(self, limits, name):
        rule = load_rule(name)
        through = dict.fromkeys(range(len(rule.rings)), 0)
        for i, j, _ in rule_links(rule):
            through[i] += 1
            through[j] += 1
        bound = max(PACKING[count] for count in through.values())
        assert limits[name].aspect_ratio >= bound - 1e-4

    def test_a_wire_thicker_than_the_tightest_does_not_fit(self, limits, name):
        rule, limit = load_rule(name), limits[name]
        assert settle(rule, size_at(limit.aspect_ratio - 0.005), limit.unit) is None

    def test_just_above_the_limit_it_settles(self, limits, name):
        rule, limit = load_rule(name), limits[name]
        assert settle(rule, size_at(limit.aspect_ratio + 0.005), limit.unit) is not None

    @pytest.mark.parametrize("ratio", [3.3, 4.2, 7.5])
    def test_rest_is_free_of_overlap_when_sampled(self, name, ratio):
        """Shares nothing with the solver: points of every ring against every other ring."""
        rule = load_rule(name)
        unit = settle(rule, size_at(ratio)).unit
        rings, angles = unit.rings, np.linspace(0, 2 * np.pi, 720, endpoint=False)
        u, v = plane_basis(rings.axes)
        spokes = np.cos(angles)[:, None, None] * u + np.sin(angles)[:, None, None] * v
        points = rings.centres + spokes
        for image in range(4):
            for i in range(len(rings.centres)):
                for j in range(len(rings.centres)):
                    if image == 0 and i == j:
                        continue
                    other = points[:, i] - [image * unit.repeat, 0, 0]
                    one = slice(j, j + 1)
                    near = nearest_on_circle(
                        other[:, None], rings.centres[one], rings.axes[one], rings.core_radii[one]
                    )[:, 0]
                    least = np.linalg.norm(other - near, axis=1).min()
                    assert least >= 2 * wire_at(ratio) - 1e-8

    @pytest.mark.parametrize("ratio", [3.3, 3.5, 6.0])
    def test_rest_is_a_proved_optimum(self, name, ratio):
        settled = settle(load_rule(name), size_at(ratio))
        assert settled.certificate.residual < 1e-4
        assert settled.agreed == settled.starts == 3

    def test_links_are_those_of_the_rule(self, name):
        rule = load_rule(name)
        unit = settle(rule, size_at(3.5)).unit
        assert linked_pairs(unit) == linked_pairs(placed_unit(rule, size_at(3.5)))
        assert set(linked_pairs(unit)) == set(rule_links(rule))

    def test_the_same_input_gives_the_same_state(self, name):
        rule = load_rule(name)
        one, two = (settle(rule, size_at(3.4)).unit for _ in range(2))
        assert one.repeat == two.repeat
        assert np.array_equal(one.rings.centres, two.rings.centres)


class TestPlacement:
    def test_rings_that_are_linked_but_not_listed_are_named(self, barrel):
        # D tilted and pushed aside, so that it dips through B once and keeps its other links.
        astray = {"centre": (0.0, 0.5, 0.0), "axis": (-0.643, 0.0, 0.766)}
        rings = [
            dataclasses.replace(ring, **astray) if ring.name == "D" else ring
            for ring in barrel.rings
        ]
        crossed = dataclasses.replace(barrel, rings=tuple(rings))
        with pytest.raises(BadInput, match=r"rings B and D run through one another"):
            placed_unit(crossed, size_at(3.5))

    def test_rings_that_are_listed_but_not_linked_are_named(self, barrel):
        rings = [
            dataclasses.replace(ring, centre=(0.0, 9.0, 0.0)) if ring.name == "C1" else ring
            for ring in barrel.rings
        ]
        apart = dataclasses.replace(barrel, rings=tuple(rings))
        with pytest.raises(BadInput, match=r"rings B and C1 are listed as linked"):
            placed_unit(apart, size_at(3.5))

    def test_rings_that_meet_leave_their_lay_open(self, chain):
        """Two core circles that cross: it is not said which wire lies over the other."""
        rings = (
            chain.rings[0],
            dataclasses.replace(chain.rings[1], centre=(1.0, 0.0, 0.0), axis=(0.0, 0.0, 1.0)),
        )
        meeting = dataclasses.replace(chain, rings=rings)
        with pytest.raises(BadInput, match=r"rings X and Y meet in the rough placement"):
            placed_unit(meeting, size_at(4.0))

    def test_overlapping_rings_are_pushed_apart(self, chain):
        placed = placed_unit(chain, size_at(4.0))
        thick = placed.rings.with_wire_radii(np.full(2, 0.3))
        end = climb(dataclasses.replace(placed, rings=thick), longest(placed))
        assert end.converged
        assert end.unit.repeat == pytest.approx(4 * 0.7, rel=1e-6)


@pytest.mark.parametrize("name", ["barrel", "european-4-in-1", "spiral-4-in-1"])
def test_what_is_dragged_has_the_repeat_of_what_is_settled(name):
    rule = load_rule(name)
    at = rule.common_aspect_ratio.high
    near = settle(rule, size_at(at)).unit
    for ratio in (at + 0.04, at - 0.05):
        near = follow(rule, size_at(ratio), near)
        assert near.repeat == pytest.approx(settle(rule, size_at(ratio)).unit.repeat, abs=1e-6)
        assert linked_pairs(near).keys() == rule_links(rule).keys()
