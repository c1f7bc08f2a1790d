"""The proved lower bound: its constants, its proof on rings as they lie, and where it is met."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import minimize

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import carried
from ringwright.solver.packing_bound import packing_bound
from ringwright.solver.placement import linked_pairs
from ringwright.solver.settle import settle
from ringwright.weaves import Link, RingRef, list_rules, load_rule

RULES = {rule.name: rule for rule in list_rules()}


@pytest.mark.parametrize("name", RULES)
def test_no_weave_was_found_below_what_is_proved(name):
    rule = RULES[name]
    bound = packing_bound(rule)
    assert bound >= 1.0
    assert rule.computed.geometric >= bound - 1e-12


@pytest.mark.parametrize(
    ("name", "exact"),
    [
        ("one-in-one", 2.0),
        ("three-ring-rosette", 2.0),
        ("two-and-one", 1 + math.sqrt(2)),
        ("mixed-gauge-chain", 2.25),
        ("japanese-4-in-1", 11 / 3),
        ("large-and-small-chain", 5.0),
    ],
)
def test_these_weaves_are_proved_to_be_found_at_their_tightest(name, exact):
    assert packing_bound(RULES[name]) == pytest.approx(exact)
    assert RULES[name].computed.geometric == pytest.approx(exact, abs=1e-4)


@pytest.mark.parametrize("count", range(2, 10))
def test_discs_do_lie_in_a_disc_no_larger_than_the_constant(count):
    """Were a constant too large, the bound would not be one; found by a general solver."""
    rule = chain_with(count)
    # Of one ring with ``count`` others through it the bound is the constant itself.
    assert smallest_disc(count) == pytest.approx(packing_bound(rule), abs=1e-5)


def chain_with(count):
    """A rule of which one ring has so many links; only the links matter to the bound."""
    rule = load_rule("one-in-one")
    names = [f"N{n}" for n in range(count)]
    other = rule.rings[1]
    rings = (rule.rings[0], *(replace(other, name=name) for name in names))
    links = tuple(Link(RingRef(rule.rings[0].name), RingRef(name)) for name in names)
    return replace(rule, rings=rings, links=links)


def smallest_disc(count):
    """The smallest radius found of a disc that holds so many of radius 1."""
    random = np.random.default_rng(count)
    pairs = np.array(list(itertools.combinations(range(count), 2)))

    def room(x):
        points = x[:-1].reshape(-1, 2)
        apart = points[pairs[:, 0]] - points[pairs[:, 1]]
        return np.concatenate(
            [np.einsum("ij,ij->i", apart, apart) - 4.0, (x[-1] - 1.0) ** 2 - (points**2).sum(1)]
        )

    found = math.inf
    for _ in range(12):
        start = np.append(random.uniform(-2.0, 2.0, 2 * count), 5.0)
        end = minimize(
            lambda x: x[-1],
            start,
            jac=lambda x: np.eye(len(x))[-1],
            constraints={"type": "ineq", "fun": room},
            bounds=[(None, None)] * (2 * count) + [(1.0, None)],
            method="SLSQP",
            options={"maxiter": 300},
        )
        if room(end.x).min() > -1e-7:
            found = min(found, float(end.x[-1]))
    return found


@pytest.mark.parametrize("name", ["barrel", "european-4-in-1", "spiral-4-in-1"])
def test_wires_cross_an_eye_as_the_proof_says(name):
    """Two wire radii apart from one another and from the core circle, on the flat disc."""
    size = RingSize(1.0, 4.0)
    unit = settle(RULES[name], size).unit
    rings, wire = unit.rings, float(unit.rings.wire_radii[0])
    crossings = {ring: [] for ring in range(len(rings.centres))}
    for i, j, image in linked_pairs(unit):
        crossings[i].append(crossing(unit, i, j, image))
        crossings[j].append(crossing(unit, j, i, (-image[0], -image[1])))
    for points in crossings.values():
        assert len(points) >= 1
        for point in points:
            assert np.linalg.norm(point) <= 1.0 - 2.0 * wire + 1e-6
        for one, other in itertools.combinations(points, 2):
            assert np.linalg.norm(one - other) >= 2.0 * wire - 1e-6


def crossing(unit, ring, other, image):
    """Where another ring's core circle meets a ring's flat disc, from the ring's centre."""
    rings = unit.rings
    centres, axes = carried(
        rings.centres[[other]], rings.axes[[other]], np.array([image], np.intp), unit.lattice
    )
    axis, normal = axes[0], rings.axes[ring]
    away = centres[0] - rings.centres[ring]
    line = np.cross(axis, normal)
    line /= np.linalg.norm(line)
    down = np.cross(line, axis)
    # centre + down cos a + line sin a lies in the disc's plane.
    cosine = -(away @ normal) / (down @ normal)
    sine = math.sqrt(1.0 - cosine**2)
    points = [away + cosine * down + side * sine * line for side in (1.0, -1.0)]
    return min(points, key=np.linalg.norm)
