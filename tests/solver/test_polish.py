"""Rest to the last digits, and what is left where there is none."""

import dataclasses

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import Rings
from ringwright.geometry.quadratic import convex_model, quadratic_programme
from ringwright.solver.certify import certify
from ringwright.solver.climb import Unit, climb, longest, shaken, thickest
from ringwright.solver.placement import linked_pairs, placed_unit, ring_radii
from ringwright.solver.polish import polished
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

SIZE = RingSize(1.0, 3.6)


def nudged(unit, wire=1.0):
    """Rings moved by about a hundred-thousandth, as a climb leaves them."""
    centres = unit.rings.centres
    off = 1e-5 * np.random.default_rng(0).normal(size=centres.shape)
    rings = dataclasses.replace(unit.rings, centres=centres + off)
    lattice = unit.lattice.with_values(unit.lattice.values - 1e-5)
    return Unit(rings.with_wire_radii(wire * rings.wire_radii), lattice)


def roughly_pulled(name):
    """A repeat pulled, then nudged."""
    rule = load_rule(name)
    wires = ring_radii(rule, SIZE)[1]
    placed = placed_unit(rule, SIZE)
    fitted = climb(placed, thickest(placed), enough=float(wires.mean())).unit
    fitted = fitted.with_wire_radii(wires)
    return nudged(climb(fitted, longest(fitted)).unit)


@pytest.mark.parametrize("name", ["one-in-one", "barrel", "two-in-two", "tight-spiral"])
def test_what_is_missing_to_rest_is_found(name):
    rough = roughly_pulled(name)
    goal = longest(rough)
    before = certify(rough, goal).residual
    exact = polished(rough, goal)
    assert before > 1e-7
    assert exact.certificate.residual < 1e-9
    assert linked_pairs(exact.unit) == linked_pairs(rough)


def test_one_in_one_comes_to_its_exact_repeat():
    rough = roughly_pulled("one-in-one")
    inner = 2.0 * SIZE.inner_mm / (SIZE.inner_mm + SIZE.wire_mm)
    assert polished(rough, longest(rough)).unit.repeat == pytest.approx(2 * inner, rel=1e-12)


def test_forty_rings_of_barrel_come_to_the_repeat_of_five():
    """Eight repeats in one unit, shaken: many contacts alike, none of which may be lost."""
    one = settle(load_rule("barrel"), SIZE).unit
    along = [one.rings.centres + np.array([k * one.repeat, 0.0, 0.0]) for k in range(8)]
    rings = Rings(
        np.concatenate(along),
        np.tile(one.rings.axes, (8, 1)),
        np.tile(one.rings.core_radii, 8),
        np.tile(one.rings.wire_radii, 8),
    )
    eight = Unit(rings, one.lattice.with_values(8 * one.lattice.values))
    start = shaken(eight.with_wire_radii(0.9 * rings.wire_radii), seed=1, steps=3)
    fitted = climb(start, thickest(start), enough=float(rings.wire_radii.mean())).unit
    pulled = climb(fitted.with_wire_radii(rings.wire_radii), longest(fitted))
    exact = polished(pulled.unit, longest(pulled.unit))
    assert pulled.converged
    assert exact.certificate.residual < 1e-9
    assert exact.unit.repeat == pytest.approx(8 * one.repeat, rel=1e-9)


# The minimum is that of twelve starts that agree (python -m tests.tools.write_minimums two-in-two).
def test_the_thickest_wire_is_polished_too():
    placed = placed_unit(load_rule("two-in-two"), SIZE)
    rough = nudged(climb(placed, thickest(placed)).unit, wire=1.0 - 1e-5)
    goal = thickest(rough)
    exact = polished(rough, goal)
    assert certify(rough, goal).residual > 1e-8
    assert exact.certificate.residual < 1e-9
    assert 1.0 / exact.unit.rings.wire_radii[0] - 1.0 == pytest.approx(2.6212784125, abs=1e-9)


def test_rings_far_from_rest_are_left_as_they_are():
    """No wire may be passed through, so nothing goes far."""
    placed = placed_unit(load_rule("barrel"), SIZE)
    thin = placed.with_wire_radii(0.5 * ring_radii(load_rule("barrel"), SIZE)[1])
    found = polished(thin, longest(thin))
    moved = np.abs(found.unit.rings.centres - thin.rings.centres).max()
    assert moved <= 0.15 * thin.rings.wire_radii.min()
    assert found.certificate.residual > 1e-3


class TestQuadraticProgramme:
    def test_forces_balance_the_pull(self):
        x, forces = quadratic_programme(
            np.array([1.0, 0.0]),
            np.eye(2),
            np.array([[-1.0, 0.0]]),
            np.array([-0.25]),
            np.full(2, 9.0),
        )
        assert x == pytest.approx([0.25, 0.0])
        assert forces == pytest.approx([0.75])

    def test_rows_that_cannot_bind_make_no_difference(self):
        random = np.random.default_rng(0)
        slope, rows = random.normal(size=4), random.normal(size=(6, 4))
        least = random.uniform(-0.5, -0.1, 6)
        limit = np.full(4, 0.2)
        near = quadratic_programme(slope, np.eye(4), rows, least, limit)
        more = np.vstack([rows, random.normal(size=(50, 4))])
        far = quadratic_programme(
            slope, np.eye(4), more, np.concatenate([least, np.full(50, -9.0)]), limit
        )
        assert far[0] == pytest.approx(near[0])
        assert far[1] == pytest.approx([*near[1], *np.zeros(50)])

    def test_what_cannot_be_solved_is_none_and_not_standing_still(self):
        nothing = np.full(2, np.nan)
        assert (
            quadratic_programme(nothing, np.eye(2), np.eye(2), np.full(2, -0.1), np.ones(2)) is None
        )

    def test_a_climb_that_cannot_step_has_not_converged(self, monkeypatch):
        monkeypatch.setattr("ringwright.solver.climb.quadratic_programme", lambda *_: None)
        rough = roughly_placed()
        end = climb(rough, longest(rough))
        assert not end.converged
        assert end.unit.repeat == rough.repeat

    def test_a_saddle_is_made_convex_without_moving_what_is_loaded(self):
        """On the loaded gap nothing changes; across it the weight speaks."""
        bend = np.array([[-2.0, 0.0], [0.0, 3.0]])
        made = convex_model(bend, np.array([[1.0, 0.0]]), np.zeros(1), np.ones(2, bool), held=1e-9)
        assert np.linalg.eigvalsh(made.model).min() > 0.0
        assert made.model[1, 1] == pytest.approx(3.0)
        assert made.pull == pytest.approx([0.0, 0.0])


def roughly_placed():
    rule = load_rule("one-in-one")
    placed = placed_unit(rule, SIZE)
    return dataclasses.replace(placed, rings=placed.rings.with_wire_radii(np.full(2, 0.05)))
