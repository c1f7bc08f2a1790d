"""Resting places, against closed forms, packing bounds and independent sampling."""

import dataclasses

import numpy as np
import pytest

from generator.circles import nearest_on_circle, plane_basis
from generator.climb import climb, longest
from generator.errors import BadInput
from generator.placement import linked_pairs, placed_unit, rule_links
from generator.settle import follow, settle, tightest
from generator.sizes import RingSize
from weaves import load_rule

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


class TestBarrel:
    @pytest.mark.parametrize("ratio", [2.8, 3.0, 3.3, 3.8, 5.0, 9.0])
    def test_repeat_is_that_of_two_stacked_rings_between_upright_ones(self, barrel, ratio):
        """Closed form, own derivation.

        The flat rings touch, so each lies r above or below the middle plane. In the
        plane of an end ring (core radius 1, centre half a repeat away) their far wires
        are points, inside that ring's circle and 2 r from it:
        (1 - 2 r)^2 = (repeat / 2 - 1)^2 + r^2.
        """
        r = wire_at(ratio)
        settled = settle(barrel, size_at(ratio))
        expected = 2 * (1 + np.sqrt((1 - 2 * r) ** 2 - r**2))
        assert settled.unit.repeat == pytest.approx(expected, rel=1e-6)

    def test_common_sizes_measure_as_makers_say(self, barrel):
        """Common practice, no source: 1.25 mm wire, 4.5 mm inner, about 9 mm a repeat."""
        core_mm = (4.5 + 1.25) / 2
        settled = settle(barrel, RingSize(1.25, 4.5))
        assert settled.unit.repeat * core_mm == pytest.approx(9.0, rel=0.05)

    def test_free_rings_stay_where_the_rule_has_them(self, barrel):
        unit = settle(barrel, size_at(3.6)).unit
        centres, axes = unit.rings.centres, unit.rings.axes
        names = [ring.name for ring in barrel.rings]
        one, two = centres[names.index("C1")], centres[names.index("C2")]
        assert one * [1, -1, 1] == pytest.approx(two, abs=1e-4)
        assert np.abs(axes[names.index("C1")]) == pytest.approx([1, 0, 0], abs=1e-4)
        assert centres[names.index("B"), 2] == pytest.approx(-centres[names.index("D"), 2], 1e-3)

    def test_tightest_is_agreed_on(self, limits):
        limit = limits["barrel"]
        assert limit.agreed >= 8
        assert len(limit.spread) == limit.starts == 12
        assert limit.spread[0] == pytest.approx(limit.aspect_ratio, abs=1e-6)

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
        assert loaded == {frozenset(pair) for pair in (("B", "E"), ("D", "E"), ("B", "D"))}


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

    @pytest.mark.parametrize("ratio", [3.0, 4.2, 7.5])
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

    @pytest.mark.parametrize("ratio", [2.7, 3.5, 6.0])
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
