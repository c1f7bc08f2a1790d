"""How far a weave goes, against closed forms."""

import json

import numpy as np
import pytest

from generator.assembly import SWEPT, working_minimum
from generator.bend import closed_loop, tightest_bend
from generator.cli import main
from generator.eye import eye_left
from generator.play import play
from generator.settle import settle
from generator.sizes import RingSize
from weaves import load_rule


@pytest.fixture(scope="module")
def chain():
    return load_rule("one-in-one")


@pytest.fixture(scope="module")
def unit(chain):
    return settle(chain, RingSize(1.0, 3.5)).unit


class TestPlay:
    def test_longest_is_the_settled_repeat_and_shortest_is_shorter(self, unit):
        found = play(unit)
        assert found.longest == pytest.approx(unit.repeat, rel=1e-9)
        assert 0 < found.shortest < found.longest
        assert found.percent == pytest.approx(100 * (1 - found.shortest / found.longest))


class TestEye:
    @pytest.mark.parametrize("ratio", [3.0, 3.5, 5.0])
    def test_simple_chain_leaves_inner_less_two_wires(self, chain, ratio):
        """In a row across the eye: two wires of the chain and the further one."""
        core = (ratio + 1) / 2
        eye = eye_left(settle(chain, RingSize(1.0, ratio)).unit, 0)
        assert 2 * eye.wire_radius * core >= ratio - 2 - 1e-4

    def test_three_wires_in_an_eye_of_two(self, chain):
        """Circles of 1 and 1 in one of 2 leave room for one of 2/3 (Descartes' circle theorem).

        Wires need not cross the eye's plane squarely, so a little more may pass.
        """
        eye = eye_left(settle(chain, RingSize(1.0, 2.0)).unit, 0)
        assert 2 * eye.wire_radius * 1.5 == pytest.approx(2 / 3, rel=0.01)


class TestBend:
    def test_a_tight_bend_turns_further_than_a_wide_ring_of_repeats(self, unit):
        bend = tightest_bend(unit, "up")
        assert bend.converged
        assert bend.turn > 2 * np.pi / 3

    def test_a_bracelet_is_shorter_inside_by_about_pi_thicknesses(self, unit):
        """A band of thickness t round a circle: the inside is pi t shorter than the middle.

        A chain's joints give a little, so it is no more than for a solid band, and the
        part lost is positive.
        """
        loop = closed_loop(unit, "up", 24)
        assert loop is not None
        outer = 2 * (1 + 1 / 4.5)
        assert 0 < loop.lost <= np.pi * outer * 1.05
        assert loop.inner_circumference == pytest.approx(24 * unit.repeat - loop.lost)


class TestAssembly:
    def test_simple_chain_takes_one_wire_and_a_swept_one(self, chain):
        """Each eye holds one wire already and has the next ring swept through."""
        (step,) = working_minimum(chain, RingSize(1.0, 4.0))
        assert step.aspect_ratio == pytest.approx(1 + SWEPT, rel=1e-4)

    def test_every_step_of_the_barrel_is_looked_at(self):
        rule = load_rule("barrel")
        steps = working_minimum(rule, RingSize(1.0, 4.0))
        assert [step.ring for step in steps] == ["B", "D", "E"]
        # More room than the finished weave needs, within what makers take: up to 3.9.
        assert 3.2446 < max(step.aspect_ratio for step in steps) < 3.9


def test_the_command_answers_in_one_json_object(capsys):
    assert main(["limits", "one-in-one", "--wire", "0.8mm", "--ratio", "3", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["play"]["longest_mm"] == pytest.approx(facts["repeat_mm"], abs=1e-5)
    assert [eye["ring"] for eye in facts["eyes"]] == ["X", "Y"]
    assert {bend["direction"] for bend in facts["bends"]} == {"up", "sideways"}
    assert facts["working_min_aspect_ratio"] >= facts["min_aspect_ratio"]
    assert "approximation" in facts["working_min_model"]
    assert {tuple(held["rings"]) for held in facts["load_path"]} == {("X", "Y"), ("Y", "X")}


def test_a_bracelet_of_so_many_repeats(capsys):
    arguments = ["limits", "one-in-one", "--wire", "0.8mm", "--ratio", "3", "--json"]
    assert main([*arguments, "--repeats", "20"]) == 0
    facts = json.loads(capsys.readouterr().out)
    for bracelet in facts["bracelets"]:
        assert bracelet["repeats"] == 20
        assert bracelet["inner_circumference_mm"] == pytest.approx(
            20 * facts["repeat_mm"] - bracelet["shorter_than_flat_mm"], abs=1e-3
        )
    assert main([*arguments, "--repeats", "2"]) == 2


def test_the_command_in_words(capsys):
    assert main(["limits", "one-in-one", "--wire", "0.8mm", "--ratio", "3"]) == 0
    out = capsys.readouterr().out
    for said in ("play", "tightest bend, up", "working minimum AR", "where the pull goes"):
        assert said in out


def test_what_cannot_be_woven_has_no_limits(capsys):
    assert main(["limits", "one-in-one", "--wire", "1mm", "--ratio", "1.5"]) == 1
    assert "cannot be woven" in capsys.readouterr().out
