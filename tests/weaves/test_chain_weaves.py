"""Chains: what is known of each weave without the solver."""

import dataclasses
import math

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.linearise import unknowns
from ringwright.solver.climb import Goal, Unit, climb, farthest
from ringwright.solver.placement import linked_pairs, ring_radii, rule_links
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule
from ringwright.weaves.captive import unreachable_captive
from ringwright.weaves.rule import RuleSize

# (aspect ratio to settle at, wires through the eye of each ring by the letters of its name)
CHAINS = {
    "byzantine": (3.8, dict.fromkeys("ABCDEF", 4)),
    "long-byzantine": (3.8, dict.fromkeys("ABCD", 4)),
    "byzantine-and-large": (3.8, {**dict.fromkeys("AD", 4), **dict.fromkeys("BCEF", 3)}),
    "box-chain": (4.8, {"M": 4, "F": 4}),
    "two-and-one": (3.8, {"X": 4, "Y": 2}),
    "mixed-gauge-chain": (4.0, {"X": 4, "Y": 2}),
    "large-and-small-chain": (6.5, {"L": 4, "S": 2}),
    "three-in-three": (4.8, {"X": 6, "Y": 6}),
    "twisted-one-in-one": (4.0, {"X": 2}),
    "helm-chain": (6.6, {"L": 4, "S": 4, "F": 0}),
}
KNOTTED = ["byzantine", "long-byzantine", "byzantine-and-large"]


@pytest.fixture(scope="module")
def settled():
    """Rule and settled unit of a chain at its ratio, each worked out once."""
    known = {}

    def of(name):
        if name not in known:
            rule = load_rule(name)
            found = settle(rule, RingSize(1.0, CHAINS[name][0]))
            assert found is not None
            assert found.converged
            known[name] = rule, found.unit
        return known[name]

    return of


def by_name(rule, unit):
    """Centre and axis of every ring of the unit."""
    names = [ring.name for ring in rule.rings]
    return dict(zip(names, zip(unit.rings.centres, unit.rings.axes, strict=True), strict=True))


def wires_through(rule):
    count = dict.fromkeys((ring.name for ring in rule.rings), 0)
    for link in rule.links:
        count[link.first.name] += 1
        count[link.second.name] += 1
    return count


@pytest.mark.parametrize("name", CHAINS)
def test_wires_through_every_eye(name):
    eyes = CHAINS[name][1]
    assert wires_through(load_rule(name)) == {
        ring.name: eyes[ring.name.rstrip("0123456789")] for ring in load_rule(name).rings
    }


def same_rings(rule, unit, moved_centres, moved_axes):
    """Each moved ring's place in the endless chain, as the ring it lands on."""
    landed = []
    centres, axes = unit.rings.centres, unit.rings.axes
    for centre, axis in zip(moved_centres, moved_axes, strict=True):
        away = centres - centre
        away[:, 0] -= unit.repeat * np.round(away[:, 0] / unit.repeat)
        off = np.linalg.norm(away, axis=1) + np.linalg.norm(np.cross(axes, axis), axis=1)
        assert off.min() < 2e-3
        landed.append(rule.rings[int(off.argmin())].name)
    return landed


QUARTER = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
ENDS = np.diag([-1.0, 1.0, 1.0])


def carried_to(rule, unit, turn, centre_from, centre_to):
    """The rings under a turn that carries one point of the x axis onto another."""
    moved = (unit.rings.centres - [centre_from, 0.0, 0.0]) @ turn.T + [centre_to, 0.0, 0.0]
    return same_rings(rule, unit, moved, unit.rings.axes @ turn.T)


def middle(rings, pair):
    return (rings[pair + "1"][0][0] + rings[pair + "2"][0][0]) / 2


class TestFolded:
    """Of pairs that all go through the pair before and after, and differ in lay alone."""

    @pytest.mark.parametrize("name", ["byzantine", "long-byzantine", "box-chain"])
    def test_links_are_those_of_the_two_in_two_chain(self, name):
        """Pair by pair in a row, each ring through both rings of the next."""
        rule = load_rule(name)
        pairs = [ring.name[0] for ring in rule.rings[::2]]
        expected = set()
        for place, pair in enumerate(pairs):
            following, image = (place + 1, 0) if place + 1 < len(pairs) else (0, 1)
            for i in "12":
                for j in "12":
                    expected.add((pair + i, pairs[following] + j, image))
        names = [ring.name for ring in rule.rings]
        found = {(names[i], names[j], image[0]) for i, j, image in rule_links(rule)}
        assert found == expected

    @pytest.mark.parametrize("name", KNOTTED)
    def test_a_knot_is_folded(self, settled, name):
        """C hangs on B but lies behind it; A is between the rings of C, D between those of B."""
        rings = by_name(*settled(name))
        assert middle(rings, "C") < middle(rings, "B")
        for ring, (centre, _) in rings.items():
            if ring[0] == "A":
                assert rings["C2"][0][2] < centre[2] < rings["C1"][0][2]
            if ring[0] == "D":
                assert rings["B2"][0][1] < centre[1] < rings["B1"][0][1]

    @pytest.mark.parametrize("name", ["byzantine", "byzantine-and-large"])
    def test_it_turns_a_quarter_from_knot_to_knot(self, settled, name):
        rule, unit = settled(name)
        landed = carried_to(rule, unit, QUARTER, 0.0, unit.repeat / 2)
        turned = dict(zip("ABCDEF", "DEFABC", strict=True))
        assert [name[0] for name in landed] == [turned[ring.name[0]] for ring in rule.rings]

    @pytest.mark.parametrize("name", KNOTTED)
    def test_a_knot_looks_the_same_from_both_ends(self, settled, name):
        """Mirrored end for end and turned a quarter, B lands on C and C on B."""
        rule, unit = settled(name)
        rings = by_name(rule, unit)
        knot = (middle(rings, "B") + middle(rings, "C")) / 2
        landed = carried_to(rule, unit, QUARTER @ ENDS, knot, knot)
        swapped = {"A": "D", "B": "C", "C": "B", "D": "A", "E": "F", "F": "E"}
        assert [name[0] for name in landed] == [swapped[ring.name[0]] for ring in rule.rings]

    def test_a_second_connecting_pair_adds_one_link_of_the_two_in_two_chain(self, settled):
        one, two = settled("byzantine")[1], settled("long-byzantine")[1]
        straight = settle(load_rule("two-in-two"), RingSize(1.0, 3.8)).unit
        assert two.repeat - one.repeat / 2 == pytest.approx(straight.repeat / 2, rel=1e-5)

    def test_box_is_square_and_its_chevrons_point_both_ways(self, settled):
        """A quarter turn with the ends swapped carries one pair onto the other."""
        rule, unit = settled("box-chain")
        rings = by_name(rule, unit)
        centre = (middle(rings, "M") + middle(rings, "F")) / 2
        landed = carried_to(rule, unit, QUARTER @ ENDS, centre, centre)
        assert [name[0] for name in landed] == ["F", "F", "M", "M"]
        # The planes of a pair meet behind the M pairs and ahead of the F pairs.
        for pair, across, way in (("M", 1, 1.0), ("F", 2, -1.0)):
            centre, axis = rings[pair + "1"]
            meets = centre[0] + centre[across] * axis[across] / axis[0]
            assert way * (centre[0] - meets) > 0
            assert abs(meets - centre[0]) > 1.0

    def test_box_turns_rectangular_where_it_is_tight_or_pushed_together(self, settled):
        """M.A.I.L. weave 12: in tight rings it squishes into rectangular arrangements."""

        def sides(unit):
            rings = by_name(rule, unit)
            return [np.linalg.norm(rings[f"{pair}1"][0] - rings[f"{pair}2"][0]) for pair in "MF"]

        rule, square = settled("box-chain")
        assert sides(square)[0] == pytest.approx(sides(square)[1], rel=1e-4)
        pushed = climb(square, farthest(square, 0, -1.0), rounds=200, tolerance=1e-7).unit
        for unit in (settle(rule, RingSize(1.0, 4.2)).unit, pushed):
            assert max(sides(unit)) > 1.3 * min(sides(unit))

    def test_box_is_denser_than_the_two_in_two_chain_of_the_same_links(self, settled):
        box = settled("box-chain")[1]
        straight = settle(load_rule("two-in-two"), RingSize(1.0, CHAINS["box-chain"][0]))
        assert box.repeat < 0.6 * straight.unit.repeat


def pulled_straight(flat, joining, flat_wire, joining_wire):
    """Repeat of flat rings joined by upright pairs, from core and wire radii.

    The wires of a pair lie side by side in the flat ring's eye, each pressed against its
    inside one joining wire off the middle line.
    """
    inside = flat - flat_wire - joining_wire
    return 2 * (math.sqrt(inside**2 - joining_wire**2) + joining)


class TestSinglesAndPairs:
    @pytest.mark.parametrize("name", ["two-and-one", "mixed-gauge-chain", "large-and-small-chain"])
    def test_repeat_is_the_closed_form(self, settled, name):
        rule, unit = settled(name)
        core, wire = ring_radii(rule, RingSize(1.0, CHAINS[name][0]))
        assert unit.repeat == pytest.approx(
            pulled_straight(core[0], core[1], wire[0], wire[1]), rel=1e-6
        )

    @pytest.mark.parametrize(
        ("name", "smallest"),
        [
            # Four equal circles packed in a circle (Graham et al., "Dense packings of
            # congruent circles in a circle", Discrete Mathematics 181 (1998); from memory).
            ("two-and-one", 1 + math.sqrt(2)),
            # Two heavy wires fill the thin ring's eye: 0.8 (AR + 1) - 0.6 = 2.
            ("mixed-gauge-chain", 2.6 / 0.8 - 1),
            # Two wires fill the small ring's eye: 0.5 (AR + 1) - 1 = 2.
            ("large-and-small-chain", 5.0),
        ],
    )
    def test_smallest_ratio_is_a_full_eye(self, name, smallest):
        limit = tightest(load_rule(name), RingSize(1.0, 6.0), starts=4)
        assert limit.aspect_ratio == pytest.approx(smallest, abs=1e-4)


class TestThreeInThree:
    def test_the_outer_rings_of_a_three_mirror_each_other(self, settled):
        rule, unit = settled("three-in-three")
        rings = by_name(rule, unit)
        for three, flip in (("X", [1, 1, -1]), ("Y", [1, -1, 1])):
            middle = rings[three + "2"][0]
            one, other = (rings[three + end][0] - middle for end in "13")
            assert one == pytest.approx(other * flip, abs=2e-3)

    def test_every_further_ring_makes_the_chain_shorter(self, settled):
        size = RingSize(1.0, CHAINS["three-in-three"][0])
        single, double = (
            settle(load_rule(name), size).unit.repeat for name in ("one-in-one", "two-in-two")
        )
        assert settled("three-in-three")[1].repeat < double < single


def unwound(unit):
    """The twist as small as it gets at this length."""

    def slope(unit):
        only = np.zeros(unknowns(unit.rings, unit.lattice))
        only[-2] = -1.0
        return only

    goal = Goal(lambda unit: -float(unit.lattice.values[1]), slope, values_free=(False, True))
    return climb(unit, goal)


class TestTwisted:
    @pytest.mark.parametrize("ratio", [2.8, 3.5, 5.0])
    def test_it_keeps_its_twist_and_is_as_long_as_the_simple_chain(self, ratio):
        size = RingSize(1.0, ratio)
        unit = settle(load_rule("twisted-one-in-one"), size).unit
        assert unit.repeat * size.core_radius_mm == pytest.approx(ratio, rel=1e-6)
        assert unit.lattice.values[1] == pytest.approx(math.radians(65), abs=1e-6)

    def test_how_far_it_winds_up_before_it_gets_shorter(self, settled):
        """Two circles that press on each other where they cross at an angle a.

        With s and t along them from there and d = 2 r between them, the squared distance is
        d^2 + (s^2 + t^2) (1 - d) - 2 s t cos a to second order (core radius 1): the crossing
        is the nearest place while cos a <= 1 - d = 1 - 2 / (AR + 1).
        """
        unit = settled("twisted-one-in-one")[1]
        let_out = unit.lattice.values * [1 - 1e-9, 1.0]
        end = unwound(Unit(unit.rings, unit.lattice.with_values(let_out)))
        assert end.converged
        wanted = math.acos(1 - 2 / (CHAINS["twisted-one-in-one"][0] + 1))
        assert end.unit.lattice.values[1] == pytest.approx(wanted, abs=1e-3)

    def test_mirrored_it_turns_the_other_way(self, settled):
        """The mirror image has every linking number of the other sign."""
        rule, unit = settled("twisted-one-in-one")
        other = settle(dataclasses.replace(rule, turn=-rule.turn), RingSize(1.0, 4.0)).unit
        assert other.repeat == pytest.approx(unit.repeat, rel=1e-9)
        assert other.lattice.values[1] == pytest.approx(-unit.lattice.values[1], abs=1e-6)
        (one,), (two,) = linked_pairs(unit).values(), linked_pairs(other).values()
        assert one == -two


def apart_along(coordinate, one, others, sign):
    """How far one ring's centre is from the mean of others', along an axis of the frame."""
    rows = np.array(others)

    def value(unit):
        at = unit.rings.centres[:, coordinate]
        return sign * float(at[one] - at[rows].mean())

    def slope(unit):
        only = np.zeros(unknowns(unit.rings, unit.lattice))
        only[5 * one + coordinate] = sign
        only[5 * rows + coordinate] -= sign / len(rows)
        return only

    return Goal(value, slope, values_free=(True,))


class TestHelm:
    def test_captive_ring_lies_between_the_pairs_and_round_the_joint(self, settled):
        rule, unit = settled("helm-chain")
        rings = by_name(rule, unit)
        captive = rings["F"][0]
        assert rings["L2"][0][2] < captive[2] < rings["L1"][0][2]
        # The small rings of the joint before meet the captive ring's plane in its eye.
        for small in ("S1", "S2"):
            joint = rings[small][0] - [unit.repeat, 0.0, 0.0]
            core = unit.rings.core_radii[[ring.name for ring in rule.rings].index(small)]
            for end in (-core, core):
                away = joint + np.array([end, 0.0, 0.0]) - captive
                assert np.hypot(away[0], away[1]) < 1.0

    @pytest.mark.parametrize("coordinate", [0, 1, 2])
    @pytest.mark.parametrize("sign", [1.0, -1.0])
    def test_captive_ring_cannot_be_pushed_out(self, settled, coordinate, sign):
        """However far it goes from the large rings, it stays within the width of one."""
        rule, unit = settled("helm-chain")
        names = [ring.name for ring in rule.rings]
        large = [names.index("L1"), names.index("L2")]
        start = apart_along(coordinate, names.index("F"), large, sign)
        end = climb(unit, start, rounds=80, tolerance=1e-5)
        assert end.converged
        # One large ring on either side: the middle between them is the joint's.
        assert start.value(end.unit) < 1.0

    def test_smallest_ratio_is_four_large_wires_in_a_small_eye(self):
        """Two and two a captive wire apart: circles at (+-0.5, +-1) in one of 0.6 (AR + 1) - 0.8.

        The small rings stand to either side of the middle line, where the large ones have
        begun to curve away, so it is a little more.
        """
        limit = tightest(load_rule("helm-chain"), RingSize(1.0, 6.0), starts=2)
        flat = (2 * math.hypot(0.5, 1.0) + 1 + 0.8) / 0.6 - 1
        assert flat < limit.aspect_ratio < 1.01 * flat

    @pytest.mark.parametrize(
        ("large", "small", "closes"),
        [((1.22, 6.7), (1.0, 4.1), True), ((1.6, 8.0), (1.2, 4.8), False)],
    )
    def test_sizes_that_makers_name(self, large, small, closes):
        """Two sizes that makers name (no source): this lay has no room for the second."""
        rule = load_rule("helm-chain")
        (wire, inner), (thin, eye) = large, small
        size = RuleSize("small", (eye + thin) / (inner + wire), thin / wire, None, None)
        rings = tuple(dataclasses.replace(r, size=size if r.size else None) for r in rule.rings)
        limit = tightest(dataclasses.replace(rule, rings=rings), RingSize(wire, inner / wire), 2)
        assert (limit.aspect_ratio < inner / wire) is closes

    def test_repeat_is_near_that_of_large_rings_a_captive_wire_apart(self, settled):
        """Each end wire presses on the small ring's inside at its place off the middle.

        Taken in the small rings' planes; the large rings cross these a little aslant, so
        the chain is somewhat shorter.
        """
        rule, unit = settled("helm-chain")
        core, wire = ring_radii(rule, RingSize(1.0, CHAINS["helm-chain"][0]))
        small, thin = core[3], wire[3]
        reach = math.sqrt((small - thin - wire[0]) ** 2 - (2 * wire[0]) ** 2)
        flat = 2 * (math.sqrt(1 - thin**2) + reach)
        assert 0.995 * flat < unit.repeat <= flat


HELM = load_rule("helm-chain").path.read_text(encoding="utf-8")


class TestCaptiveRings:
    """Rings without links, which a step holds."""

    def test_one_between_rings_that_are_joined_already_is_refused(self, tmp_path):
        """Laid in once the upper ring is there, before the next lower one.

        By then the upper and the lower ring of a pair hang on the small pairs at both of their
        ends, and close a string of rings around which the captive ring would be a hoop.
        """
        held = 'holding = ["F"]\n'
        rings, lower, upper = HELM.split("[[step]]")
        path = tmp_path / "mine.toml"
        path.write_text(
            "[[step]]".join([rings, f"{upper.replace(held, '')}\n", f"{lower.rstrip()}\n{held}"]),
            encoding="utf-8",
        )
        with pytest.raises(BadInput, match=r"step\[1\].* holds F, which cannot be laid .*L1.*L2"):
            load_rule(path)

    def test_one_between_rings_that_are_loose_on_one_side_is_taken(self):
        assert unreachable_captive(load_rule("helm-chain")) is None

    def test_a_step_says_which_ring_it_holds(self):
        steps = load_rule("helm-chain").steps
        assert [[ref.name for ref in step.holding] for step in steps] == [[], ["F"]]

    @pytest.mark.parametrize(
        ("old", "new", "said"),
        [
            ('holding = ["F"]\n', "", "no link for ring F"),
            ('holding = ["F"]', "holding = []", "a list of names of closed rings"),
            ('holding = ["F"]', 'holding = ["F", "F"]', "every captive ring is held once"),
            ('holding = ["F"]', 'holding = ["F", "S1"]', "name it in through instead"),
            ('holding = ["F"]', 'holding = [{ name = "F", image = -1 }]', "of this repeat"),
            (
                'name = "F"\nrole = "closed"',
                'name = "F"\nrole = "open"',
                "a captive ring is closed",
            ),
        ],
    )
    def test_a_captive_ring_is_closed_without_links_and_held_once(self, tmp_path, old, new, said):
        assert old in HELM
        path = tmp_path / "mine.toml"
        path.write_text(HELM.replace(old, new, 1), encoding="utf-8")
        with pytest.raises(BadInput, match=said):
            load_rule(path)


def test_box_chain_is_four_rows_of_european_4_in_1_closed_round(read):
    """As M.A.I.L. weave 12 describes it: the tube of ten rows, written down with four."""
    tube = load_rule("european-4-in-1-tube").path.read_text(encoding="utf-8")
    head, rest = tube.split("[computed]")
    rings = rest[rest.index("[[ring]]") : rest.index("[[step]]")]
    four_rows = (
        (head + rings)
        .replace("around = 5", "around = 2")
        .replace("repeat_vector = [1.5,", "repeat_vector = [1.2,")
        .replace("centre = [0.0, 1.75, 0.0]", "centre = [0.0, 0.75, 0.0]")
        .replace("centre = [-0.75, 1.416, 1.029]", "centre = [-0.6, 0.0, 0.75]")
        .replace("axis = [-0.42, 0.736, 0.535]", "axis = [-0.42, 0.0, 0.91]")
    )
    step = """[[step]]
    ring = "Q"
    through = [
        { name = "P", image = [-1, 0] }, { name = "P", image = [-1, 1] },
        "P", { name = "P", image = [0, 1] },
    ]
    """
    rule, size = read(four_rows + step), RingSize(1.0, 5.0)
    found = tightest(rule, size, workers=0)
    kept = load_rule("box-chain").computed.geometric
    assert found.aspect_ratio == pytest.approx(kept, abs=1e-4)
    # One repeat of either is four rings.
    one, two = settle(rule, size), settle(load_rule("box-chain"), size)
    assert one.unit.repeat == pytest.approx(two.unit.repeat, abs=1e-4)
