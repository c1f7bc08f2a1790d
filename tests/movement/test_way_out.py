"""A ring opened to a helix and turned out along its own wire, checked without the search's code."""

import itertools

import numpy as np
import pytest
from scipy.spatial import cKDTree

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings
from ringwright.geometry.helix import opened_ring
from ringwright.geometry.lattice import ALONE
from ringwright.movement.assembly import largest, ways_in, working_minimum
from ringwright.movement.way_out import TRIES, Try, way_out
from ringwright.solver.climb import Unit
from ringwright.solver.placement import linked_pairs
from ringwright.solver.tightest import known_tightest
from ringwright.weaves import load_rule


def circle(centre, axis, radius, count):
    u = np.cross(axis, [0.3, 0.5, 0.8])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    return centre + radius * (np.cos(turn) * u + np.sin(turn) * v)


def lines(pose, count=400):
    """Points along the middle of all wires, the opened ring's first."""
    rings = pose.others
    closed = [
        circle(centre, axis, radius, count)
        for centre, axis, radius in zip(rings.centres, rings.axes, rings.core_radii, strict=True)
    ]
    return [pose.helix.line(pose.helix.turns(count)), *closed]


def least_gap(pose):
    """The least gap between points along all wires, by a tree of them.

    Of the opened ring to the others it is above the room that the search keeps; closed rings
    may touch, and do.
    """
    found = lines(pose)
    wires = [pose.helix.wire_radius, *pose.others.wire_radii]
    trees = [cKDTree(line) for line in found]
    gaps = [
        trees[j].query(a)[0].min() - wires[i] - wires[j]
        for i, a in enumerate(found)
        for j in range(i + 1, len(found))
    ]
    return min(gaps)


def two_linked(ratio=4.0):
    wire = 1.0 / (ratio + 1.0)
    return Rings(
        np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]),
        np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0]]),
        np.ones(2),
        np.full(2, wire),
    )


class TestHelix:
    def test_closed_it_is_the_ring_and_open_its_wire_is_as_long(self):
        ring = opened_ring(np.zeros(3), np.array([0.0, 0.6, 0.8]), (1.0, 0.2), 0.7, 1)
        turns = ring.turns(2000)
        assert np.linalg.norm(ring.line(turns), axis=1) == pytest.approx(1.0)
        opened = ring.moved(np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.9]))
        length = np.linalg.norm(np.diff(opened.line(turns), axis=0), axis=1).sum()
        assert length == pytest.approx(turns[-1] - turns[0], rel=1e-6)
        ends = opened.line(np.array([-np.pi, np.pi]))
        assert (ends[1] - ends[0]) @ opened.frame[2] == pytest.approx(0.9)
        assert opened.gap == pytest.approx(0.5)

    @pytest.mark.parametrize("hand", [1, -1])
    def test_turned_with_its_advance_it_slides_along_itself(self, hand):
        ring = opened_ring(
            np.array([1.0, 2.0, 3.0]), np.array([0.0, 0.6, 0.8]), (2.0, 0.3), 0.7, hand
        )
        opened = ring.moved(np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.5]))
        slid = opened.moved(np.array([0.0, 0.0, 0.2 * opened.advance, 0.0, 0.0, 0.2, 0.0]))
        turns = np.linspace(-3.0, 2.0, 50)
        assert slid.line(turns) == pytest.approx(opened.line(turns + 0.1), abs=1e-12)


class TestTwoRings:
    @pytest.mark.parametrize("ratio", [2.5, 4.0, 8.0])
    def test_the_other_wire_has_to_pass_between_the_ends(self, ratio):
        """One wire between the ends is just too little, for the turns of a helix lie aslant."""
        narrow = tuple(Try(1.9, 0, hand, sense) for hand in (1, -1) for sense in (1, -1))
        assert way_out(two_linked(ratio), 0, narrow) is None
        found = way_out(two_linked(ratio), 0)
        assert found is not None
        assert found[0].gap > 2.0 / (ratio + 1.0)

    def test_nothing_overlaps_and_nothing_passes_through(self):
        rings = two_linked()
        poses = way_out(rings, 0)[0].poses
        assert all(least_gap(pose) > 0.0 for pose in poses)
        for before, after in itertools.pairwise(poses):
            one, two = lines(before, 200), lines(after, 200)
            own, other = (
                np.sqrt(((a[:, None] - b) ** 2).sum(axis=2).min(axis=1)).max()
                for a, b in zip(one, two, strict=True)
            )
            apart = np.sqrt(((one[0][:, None] - one[1]) ** 2).sum(axis=2).min())
            assert own + other < apart
        line, eye = lines(poses[-1])[0], poses[-1].others
        height = (line - eye.centres[0]) @ eye.axes[0]
        crossing = np.flatnonzero(height[:-1] * height[1:] < 0.0)
        assert np.all(np.linalg.norm(line[crossing] - eye.centres[0], axis=1) > 0.98)

    def test_the_same_again_is_the_same(self):
        one, two = (way_out(two_linked(), 1)[0] for _ in range(2))
        assert np.array_equal(one.poses[-1].others.centres, two.poses[-1].others.centres)


@pytest.fixture(scope="module")
def limit():
    found = {}

    def of(name):
        if name not in found:
            rule = load_rule(name)
            found[name] = known_tightest(rule, RingSize(1.0, 4.0), workers=0)
        return found[name]

    return of


@pytest.mark.parametrize(
    ("name", "ratio"),
    # First figures of an earlier search with separate code, which this one has to come to or pass.
    [
        ("one-in-one", 2.10),
        ("two-in-two", 2.70),
        ("tight-spiral", 2.76),
        ("byzantine", 3.4),
        # Where the ranges that makers use begin; two wires at a time go between the ends.
        ("full-persian-6-in-1", 5.3),
        ("three-quarter-persian", 5.2),
        ("european-8-in-1", 6.2),
        ("three-in-three", 4.2),
        ("byzantine-and-large", 3.4),
    ],
)
def test_ways_in_are_found_where_makers_weave_and_keep_the_lay(name, ratio, limit):
    rule = load_rule(name)
    steps = ways_in(rule, RingSize(1.0, ratio), limit(name))
    assert [step.ring for step in steps] == [step.ring.name for step in rule.steps]
    assert all(step.way for step in steps)
    for step in steps:
        poses = step.way.poses
        for pose in poses[1 :: len(poses) // 6]:
            assert least_gap(pose) > -2e-6
        links = [linked_pairs(Unit(pose.others, ALONE)) for pose in (poses[0], poses[-1])]
        assert links[0] == links[1]


def test_the_working_minimum_of_the_simple_chain_is_near_two_wires_in_an_eye(limit):
    """Two wires side by side, 2.0, is the least there is; the third only passes by."""
    rule = load_rule("one-in-one")
    steps = working_minimum(rule, RingSize(1.0, 4.0), limit("one-in-one"))
    assert 2.0 < largest(steps, 2.0) < 2.1


def test_a_step_without_a_way_leaves_no_working_minimum(limit, monkeypatch):
    monkeypatch.setattr("ringwright.movement.assembly.way_out", lambda *_: None)
    rule = load_rule("one-in-one")
    steps = working_minimum(rule, RingSize(1.0, 4.0), limit("one-in-one"))
    assert [step.aspect_ratio for step in steps] == [None]
    assert largest(steps, 2.0) is None
    assert ways_in(rule, RingSize(1.0, 4.0), limit("one-in-one"))[0].way is None


def test_all_ways_to_open_a_ring_are_tried_but_once():
    assert len(set(TRIES)) == len(TRIES) == 96
