"""Chains: what is known of each weave without the solver."""

import math

import numpy as np
import pytest

from generator.placement import ring_radii, rule_links
from generator.settle import settle, tightest
from generator.sizes import RingSize
from weaves import load_rule

# (aspect ratio to settle at, wires through the eye of each ring by the letters of its name)
CHAINS = {
    "byzantine": (3.8, dict.fromkeys("ABCDEF", 4)),
    "long-byzantine": (3.8, dict.fromkeys("ABCD", 4)),
    "box-chain": (4.8, {"M": 4, "F": 4}),
    "two-and-one": (3.8, {"X": 4, "Y": 2}),
    "mixed-gauge-chain": (4.0, {"X": 4, "Y": 2}),
    "large-and-small-chain": (6.5, {"L": 4, "S": 2}),
}


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

    @pytest.mark.parametrize("name", ["byzantine", "long-byzantine"])
    def test_a_knot_is_folded(self, settled, name):
        """C hangs on B but lies behind it; A is between the rings of C, D between those of B."""
        rule, unit = settled(name)
        rings = by_name(rule, unit)
        assert middle(rings, "C") < middle(rings, "B")
        for inner in ("A1", "A2"):
            assert rings["C2"][0][2] < rings[inner][0][2] < rings["C1"][0][2]
        for inner in ("D1", "D2"):
            assert rings["B2"][0][1] < rings[inner][0][1] < rings["B1"][0][1]

    def test_byzantine_turns_a_quarter_from_knot_to_knot(self, settled):
        rule, unit = settled("byzantine")
        landed = carried_to(rule, unit, QUARTER, 0.0, unit.repeat / 2)
        assert [name[0] for name in landed] == list("DDEEFFAABBCC")

    @pytest.mark.parametrize("name", ["byzantine", "long-byzantine"])
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
