"""A short box chain closes in rings that a long one does not: its ends are free.

A library of weaves (M.A.I.L., weave 12) has the box chain possible from aspect ratio 3.8, squashed
to rectangles; an endless one of rigid rings was found from 4.05.
"""

import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from ringwright.base.sizes import RingSize
from ringwright.geometry import lattice_kind
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import Lattice
from ringwright.solver.climb import Unit, climb, nearest_to
from ringwright.solver.placement import linked_pairs, placed_unit
from ringwright.weaves import load_rule

SAMPLE = tomllib.loads(
    (Path(__file__).parents[1] / "rules" / "box_chain_sample.toml").read_text(encoding="utf-8")
)["ring"]
# The smallest that the library has.
PUBLISHED = 3.8
# Points on a wire, and by how much less than sampled two wires may be apart, in core radii.
POINTS = 1440
ROUNDING = 2.0 * np.pi / POINTS


def piece(centres, axes, wire):
    """Rings of core radius 1 that nothing repeats."""
    count = len(centres)
    rings = Rings(np.array(centres), np.array(axes), np.ones(count), np.full(count, wire))
    return Unit(rings, Lattice(lattice_kind.PIECE, np.zeros(0)))


def sample(wire):
    return piece([ring["centre"] for ring in SAMPLE], [ring["axis"] for ring in SAMPLE], wire)


def own_lay():
    """The same rings as the rule's file places them."""
    rule = load_rule("box-chain")
    unit = placed_unit(rule, RingSize(1.0, 1000.0))
    place = [ring.name for ring in rule.rings]
    at = [place.index(ring["name"]) for ring in SAMPLE]
    images = np.array([(ring["repeat"], 0) for ring in SAMPLE])
    centres, axes = carried(unit.rings.centres[at], unit.rings.axes[at], images, unit.lattice)
    return piece(centres - centres.mean(axis=0), axes, 1e-3)


def wire_line(centre, axis):
    first = np.cross(axis, [0.3, 0.5, 0.8])
    first /= np.linalg.norm(first)
    turn = np.linspace(0.0, 2.0 * np.pi, POINTS, endpoint=False)
    return centre + np.outer(np.cos(turn), first) + np.outer(np.sin(turn), np.cross(axis, first))


def test_ten_pairs_close_in_rings_in_which_an_endless_chain_does_not():
    """By plain sampling of all wires, whatever the solver says."""
    rings = sample(0.0).rings
    lines = [
        wire_line(*ring)
        for ring in zip(
            rings.centres,
            rings.axes / np.linalg.norm(rings.axes, axis=1, keepdims=True),
            strict=True,
        )
    ]
    trees = [cKDTree(line) for line in lines]
    # Rings with their middles farther apart than this are clear of one another.
    near = [
        (one, other)
        for one, other in combinations(range(len(lines)), 2)
        if np.linalg.norm(rings.centres[one] - rings.centres[other]) < 2.5
    ]
    least = min(trees[one].query(lines[other])[0].min() for one, other in near)
    # Two wires of this ratio side by side.
    assert least - ROUNDING > 2.0 / (PUBLISHED + 1.0)
    assert load_rule("box-chain").computed.geometric > 1.05 * PUBLISHED
    assert set(linked_pairs(sample(1e-3))) == set(linked_pairs(own_lay()))


def test_its_ends_lie_wide_one_way_and_the_other():
    """Rectangles, as the library says, and not the same ones all along."""
    centres = sample(0.0).rings.centres
    apart = np.linalg.norm(centres[0::2] - centres[1::2], axis=1)
    wide, close = apart[[0, 7, 9]], apart[[1, 8]]
    assert wide.min() > 2.0 * close.max()


def test_no_ring_passes_another_from_the_rules_own_lay_to_it():
    target = own_lay().rings
    end = climb(sample(1e-3), nearest_to(target), rounds=300, tolerance=1e-9).unit
    assert end.rings.centres == pytest.approx(target.centres, abs=1e-3)
