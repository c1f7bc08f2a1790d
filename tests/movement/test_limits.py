"""How far a weave goes, against closed forms."""

import json
import math

import numpy as np
import pytest
from scipy.optimize import brentq, minimize

from ringwright.answers.verdict import check
from ringwright.api.limits import limits
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.geometry.contact import Rings, carried, close_pairs, contacts
from ringwright.geometry.lattice import ALONE
from ringwright.geometry.linearise import moved, unknowns
from ringwright.making.plan.piece_size import COMPUTED, checked_measure, sized
from ringwright.movement.bend import (
    AXES,
    bent_tightly,
    bent_unit,
    inner_radius,
    joint_bend,
    tightest_bend,
)
from ringwright.movement.eye import eye_left, of_all_alike
from ringwright.movement.loads import contacts_loaded, loads, pushes_slant
from ringwright.movement.loops import Start, closed_loop, smallest_loop, widest
from ringwright.movement.play import crumpled, guided
from ringwright.movement.rod import rod_gaps
from ringwright.movement.symmetry import alike, is_even, symmetries
from ringwright.solver.climb import Unit
from ringwright.solver.placement import linked_pairs, placed_unit
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule

# Rings of 4 mm inside, of 1.2 mm wire.
USUAL = RingSize(1.2, 4.0)


@pytest.fixture(scope="module")
def chain():
    return load_rule("one-in-one")


@pytest.fixture(scope="module")
def unit(chain):
    return settle(chain, RingSize(1.0, 3.5)).unit


@pytest.fixture(scope="module")
def usual(chain):
    return settle(chain, USUAL).unit


def repeated(unit, count):
    """The rings of so many repeats as a piece of their own."""
    images = np.repeat([(k, 0) for k in range(count)], len(unit.rings.centres), axis=0)
    every = np.tile(np.arange(len(unit.rings.centres)), count)
    centres, axes = carried(unit.rings.centres[every], unit.rings.axes[every], images, unit.lattice)
    return Rings(centres, axes, unit.rings.core_radii[every], unit.rings.wire_radii[every])


def deepest(rings):
    return -contacts(rings, close_pairs(rings, 0.0)).gap.min(initial=0.0)


class TestPlay:
    @pytest.mark.parametrize("ratio", [2.5, 10 / 3, 5.0])
    def test_guided_straight_a_simple_chain_gives_until_rims_meet(self, chain, ratio):
        """A repeat of two rings is two inner diameters long, and then one outer diameter."""
        found = guided(settle(chain, RingSize(1.0, ratio)).unit)
        core = (ratio + 1) / 2
        assert found.longest * core == pytest.approx(2 * ratio, rel=1e-9)
        assert found.shortest * core == pytest.approx(ratio + 2, rel=1e-7)

    def test_at_the_usual_size_that_is_a_fifth(self, usual):
        assert guided(usual).percent == pytest.approx(20.0, abs=1e-4)

    def test_rings_that_may_fall_over_give_more(self, usual):
        found = crumpled(usual)
        assert found.longest == pytest.approx(usual.repeat, rel=1e-9)
        assert found.percent > 57.0
        assert 1 <= found.agreed <= found.starts

    def test_crumpled_in_thin_wire_first_more_is_found(self):
        """Separate code had found 48.2 per cent, where shaken starts came to 41.3."""
        found = crumpled(settle(load_rule("two-in-two"), RingSize(1.0, 4.17)).unit)
        assert found.percent > 48.2

    def test_rows_of_a_sheet_give_too(self):
        sheet = settle(load_rule("european-4-in-1"), RingSize(1.0, 4.0)).unit
        assert 0 < guided(sheet, 2).percent <= crumpled(sheet, 2).percent < 100


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

    def test_more_places_are_tried_than_the_roomiest(self):
        """The two roomiest places come to 0.3505, and one farther off to an eighth more."""
        strip = settle(load_rule("european-4-in-1-strip-3"), RingSize(1.0, 4.25)).unit
        assert eye_left(strip, 1).wire_radius > 0.385

    def test_a_wire_goes_through_the_middle_ring_of_a_strip_at_a_slant(self):
        """Six wires fill that eye so that nothing goes through squarely."""
        strip = settle(load_rule("european-6-in-1-strip-3"), RingSize(1.0, 5.4)).unit
        assert eye_left(strip, 1).wire_radius > 1.5 * strip.rings.wire_radii[1]

    def test_rings_that_lie_alike_have_the_same_room(self, usual):
        one, other = of_all_alike([eye_left(usual, 0)], [[0, 1]])
        assert (one.ring, other.ring) == (0, 1)
        assert one.wire_radius == other.wire_radius


class TestSymmetry:
    @pytest.mark.parametrize(
        ("name", "groups"),
        [
            ("one-in-one", "XY"),
            ("european-4-in-1-strip-3", "R1R3 R2"),
            ("byzantine", "A1A2D1D2 B1B2C1C2E1E2F1F2"),
            ("european-4-in-1", "PQ"),
            ("spiral-4-in-1", "X"),
            ("three-ring-rosette", "A B C"),
        ],
    )
    def test_rings_that_lie_alike(self, name, groups):
        rule = load_rule(name)
        found = alike(symmetries(placed_unit(rule, RingSize(1.0, 5.0))))
        rings = [ring.name for ring in rule.rings]
        assert " ".join("".join(rings[ring] for ring in group) for group in found) == groups

    def test_they_are_a_group_that_keeps_sizes_and_links(self):
        rule = load_rule("helm-chain")
        unit = placed_unit(rule, RingSize(1.0, 7.0))
        links = {
            frozenset([(link.first.name, 0), (link.second.name, link.second.image[0])])
            for link in rule.links
        }
        names = [ring.name for ring in rule.rings]
        for one in symmetries(unit):
            assert (unit.rings.core_radii[one.ring] == unit.rings.core_radii).all()
            for link in rule.links:
                ends = [
                    (
                        names[one.ring[names.index(ref.name)]],
                        one.image[names.index(ref.name)][0] + ref.image[0] * one.onward[0][0],
                    )
                    for ref in (link.first, link.second)
                ]
                shifted = [frozenset((name, int(k - base)) for name, k in ends) for _, base in ends]
                assert links & set(shifted)


def simple_loop(repeats, wire):
    """The widest inside of 2 n rings in a ring, each the mirror image of the one before.

    In core radii, from its own equations: the rings' planes hold the tangent and lean by
    plus and minus the same angle, their centres lie a little up and down; neighbours are as far
    apart as touching wires let them be. Then the nearest point is straight inwards.
    """
    turns = np.arange(2000) * (2 * np.pi / 2000)
    alpha = math.pi / repeats

    def apart(radius, lean, height):
        across, up = np.array([-math.sin(alpha), math.cos(alpha), 0.0]), np.array([0.0, 0.0, 1.0])
        outward = np.array([math.cos(alpha), math.sin(alpha), 0.0])
        point = (
            np.array([radius, 0.0, height])
            + np.cos(turns)[:, None] * np.array([0.0, 1.0, 0.0])
            + np.sin(turns)[:, None] * np.array([-math.sin(lean), 0.0, math.cos(lean)])
        )
        normal = np.cross(across, math.sin(lean) * outward + math.cos(lean) * up)
        away = point - radius * outward + height * up
        off = away @ normal
        in_plane = np.linalg.norm(away - off[:, None] * normal, axis=1)
        return np.hypot(in_plane - 1.0, off).min()

    def inside(at):
        radii = np.linspace(0.2, 2.2, 60) / alpha
        room = np.array([apart(radius, *at) for radius in radii]) - 2 * wire
        ends = np.flatnonzero((room[:-1] >= 0.0) & (room[1:] < 0.0))
        if not len(ends):
            return 0.0
        low, high = radii[ends[0]], radii[ends[0] + 1]
        widest = brentq(lambda radius: apart(radius, *at) - 2 * wire, low, high, xtol=1e-12)
        return widest - math.sin(at[0]) - wire

    best = minimize(
        lambda at: -inside(at), [0.5, 0.0], method="Nelder-Mead", options={"fatol": 1e-10}
    )
    return -best.fun


class TestLoop:
    @pytest.mark.parametrize("direction", list(AXES))
    def test_the_inside_of_a_ring_of_24_repeats(self, usual, direction):
        """Separate code had found a ring without overlap of 180.1 mm."""
        loop = closed_loop(usual, direction, 24)
        assert loop.inner_circumference * USUAL.core_radius_mm > 180.1
        assert loop.inner_circumference == pytest.approx(24 * usual.repeat - loop.lost)

    @pytest.mark.parametrize("repeats", [3, 4, 23])
    def test_as_wide_as_rings_turned_by_turns_can_be(self, usual, repeats):
        wire = float(usual.rings.wire_radii[0])
        expected = 2 * math.pi * simple_loop(repeats, wire)
        for direction in AXES:
            loop = closed_loop(usual, direction, repeats)
            assert loop.inner_circumference == pytest.approx(expected, rel=1e-5)

    @pytest.mark.parametrize("name", ["one-in-one", "two-in-two", "european-4-in-1-strip-3"])
    def test_a_repeat_more_is_never_smaller(self, name):
        unit = settle(load_rule(name), RingSize(1.0, 4.2)).unit
        inside = [closed_loop(unit, "up", n).inner_circumference for n in (14, 15, 16, 17)]
        grown = np.diff(inside)
        assert (grown > 0.0).all()
        # About a repeat each, and less and less of the thickness is lost.
        assert (grown < 1.05 * unit.repeat).all()

    @pytest.mark.parametrize("name", ["one-in-one", "two-in-two", "byzantine"])
    def test_up_is_sideways_where_a_quarter_turn_changes_nothing(self, name):
        unit = settle(load_rule(name), RingSize(1.0, 4.2)).unit
        up, sideways = (closed_loop(unit, direction, 16) for direction in AXES)
        assert up.inner_circumference == pytest.approx(sideways.inner_circumference, rel=1e-5)

    def test_no_inside_of_a_band_as_thick_as_the_chain_is_lost(self, unit):
        """A band of thickness t round a circle: the inside is pi t shorter than the middle."""
        loop = closed_loop(unit, "up", 24)
        outer = 2 * (1 + 1 / 4.5)
        assert 0 < loop.lost <= np.pi * outer

    def test_the_smallest_loop_is_found_and_no_floor(self):
        """Four thin rings close, which are two repeats; a strip takes more of them."""
        thin = settle(load_rule("one-in-one"), RingSize(1.0, 12.0)).unit
        loop = smallest_loop(thin, joint_bend(thin, "up"))
        assert loop.repeats == 2
        wire = float(thin.rings.wire_radii[0])
        # Rings across from each other are in the way here, which the equations leave out.
        assert 0.0 < loop.inner_circumference < 2 * math.pi * simple_loop(2, wire)
        strip = settle(load_rule("european-4-in-1-strip-3"), USUAL).unit
        assert smallest_loop(strip, joint_bend(strip, "up")).repeats > 3

    def test_size_offers_no_repeat_too_many(self, chain):
        report = check(chain, USUAL)
        found = sized(report, checked_measure("wrist", 180.0, 0.0, None))
        assert (found.shorter.repeats, found.longer.repeats) == (23, 24)
        assert found.longer.inner_mm > 180.1


class TestRod:
    @pytest.mark.parametrize("seed", range(6))
    def test_the_nearest_metal_moves_as_its_slope_and_curvature_say(self, seed):
        random = np.random.default_rng(seed)
        straight = placed_unit(load_rule("byzantine"), RingSize(1.0, 4.0))
        bent = bent_unit(straight, AXES["up"], 2 * np.pi / 9, 9)
        size = unknowns(bent.rings, bent.lattice)
        # Turned and moved a little, so that one ring comes nearest.
        rings = moved(bent.rings, 0.1 * random.normal(size=size))
        inset = bent.repeat / bent.lattice.values[1] - inner_radius(Unit(rings, bent.lattice))

        def at(step):
            values = bent.lattice.values + np.array([step[-3], 0.0])
            return rod_gaps(Unit(moved(rings, step), bent.lattice.with_values(values)), inset)

        here, way, tiny = at(np.zeros(size)), random.normal(size=size), 1e-4
        way[-2:] = 0.0
        ahead, behind = (at(step).gap.min() for step in (tiny * way, -tiny * way))
        nearest = int(here.gap.argmin())
        assert here.gap[nearest] == pytest.approx(0.0, abs=1e-5)
        assert here.gradients[nearest] @ way == pytest.approx(
            (ahead - behind) / (2 * tiny), abs=1e-5
        )
        weights = np.zeros(len(here.gap))
        weights[nearest] = 1.0
        bend = (ahead - 2 * here.gap[nearest] + behind) / tiny**2
        assert way @ here.curvature(weights) @ way == pytest.approx(bend, rel=1e-3, abs=1e-4)


class TestBend:
    def test_all_along_no_rings_overlap_however_many_repeats_apart(self, unit):
        bend = tightest_bend(unit, "up")
        assert bend.converged
        end = bent_tightly(unit, "up", 1).unit
        assert deepest(repeated(end, 3)) < 1e-7

    @pytest.mark.parametrize(
        ("name", "even"), [("barrel", True), ("two-in-two", True), ("half-persian-3-in-1", False)]
    )
    def test_what_is_alike_to_both_sides_bends_as_far_to_one_as_to_the_other(self, name, even):
        rule, size = load_rule(name), RingSize(1.0, 4.4)
        assert is_even(symmetries(placed_unit(rule, size))) is even
        if even:
            unit = settle(rule, size).unit
            one, other = (bent_tightly(unit, "up", sense).unit for sense in (1, -1))
            assert one.lattice.values[1] == pytest.approx(other.lattice.values[1], rel=1e-5)

    def test_one_joint_bends_farther_than_the_chain_all_along(self, usual):
        bend, joint = (find(usual, "up") for find in (tightest_bend, joint_bend))
        assert joint.degrees == pytest.approx(162.877, abs=0.01)
        assert bend.turn < joint.turn - 0.5

    def test_a_closed_ring_of_three_or_more_never_bends_more_than_one_joint_can(self, usual):
        joint = joint_bend(usual, "up")
        fewest = next(n for n in range(3, 9) if closed_loop(usual, "up", n))
        assert 2 * math.pi / fewest <= joint.turn + 1e-9

    def test_rings_of_a_closed_chain_keep_clear_all_round(self, usual):
        """Also of two repeats, whose rings have one neighbour on both sides."""
        for repeats in (2, 3, 5):
            (end,) = widest(usual, [Start(AXES["up"], 1, repeats)])
            whole = repeated(end, repeats)
            assert deepest(whole) < 1e-7
            assert len(linked_pairs(Unit(whole, ALONE))) == 2 * repeats


class TestLoads:
    def test_a_simple_chain_bears_the_whole_pull_in_every_contact(self, chain):
        settled = settle(chain, USUAL)
        (load,) = loads(settled, symmetries(settled.unit))
        assert (load.count, load.even) == (2, True)
        assert load.force == pytest.approx(1.0, abs=1e-9)
        assert not pushes_slant(settled)

    def test_contacts_that_lie_alike_are_listed_once(self):
        rule = load_rule("byzantine")
        settled = settle(rule, RingSize(1.0, 3.9))
        found = loads(settled, symmetries(placed_unit(rule, RingSize(1.0, 3.9))))
        assert len(found) < 10
        assert [load.force for load in found] == sorted(
            (load.force for load in found), reverse=True
        )
        every = contacts_loaded(settled)
        assert sum(load.count * load.force for load in found) == pytest.approx(
            sum(every.values()), abs=0.02
        )
        assert pushes_slant(settled)


def test_the_command_answers_in_one_json_object(capsys):
    assert main(["limits", "one-in-one", "--wire", "0.8mm", "--ratio", "3", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["play"]["longest_mm"] == pytest.approx(facts["repeat_mm"], abs=1e-5)
    assert [eye["ring"] for eye in facts["eyes"]] == ["X", "Y"]
    assert {bend["direction"] for bend in facts["bends"]} == {"up", "sideways"}
    assert {bend["direction"] for bend in facts["joint_bends"]} == {"up", "sideways"}
    assert facts["crumpled"]["percent"] > facts["play"]["percent"] > 0.0
    assert facts["loads"] == [
        {"rings": ["X", "Y"], "image": 0, "contacts": 2, "force": pytest.approx(1.0), "even": True}
    ]
    assert facts["working_min_aspect_ratio"] >= facts["min_aspect_ratio"]
    assert facts["working_min_model"].startswith("found, not proved")
    (step,) = facts["assembly_steps"]
    assert (step["ring"], step["way_found"]) == ("X", True)
    # The other wire of 0.8 mm has to pass between the ends.
    assert step["opened_mm"] > 0.8
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
    for said in (
        "play, guided",
        "play, crumpled",
        "at least",
        "tightest bend",
        "bend at one place",
        "working minimum",
        "where the pull goes     most on X and Y: 100 %",
    ):
        assert said in out


def test_where_no_way_in_is_found_it_says_for_which_ring_and_what_makers_weave(
    monkeypatch, tmp_path
):
    """A search that finds nothing stands in for one that is too weak for a weave."""
    text = load_rule("one-in-one").path.read_text(encoding="utf-8")
    path = tmp_path / "chain.toml"
    path.write_text(text.replace("working_minimum = 2.03\n", ""), encoding="utf-8")
    # In this process, where the search can be taken away.
    said = limits(path, wire="0.8mm", ratio=3).text()
    assert "makers weave" not in said.split("working minimum")[1]
    monkeypatch.setattr("ringwright.movement.assembly.way_out", lambda *_: None)
    words = " ".join(limits(path, wire="0.8mm", ratio=3).text().split())
    said = words.split("working minimum")[1]
    assert "none found: at 3.000 the search found no way in for X" in said
    assert "makers weave it at 2.8 to " in said


def test_contacts_half_way_round_a_tube_are_counted_once_whichever_way_they_are_listed():
    """Such a contact is its own opposite; by its other name it was looked for without an end."""
    settled = settle(load_rule("full-persian-6-in-1"), RingSize(1.0, 5.65))
    around = settled.unit.lattice.around
    assert around % 2 == 0
    held = settled.certificate
    half = (held.pairs.image[:, 0] == 0) & (2 * np.abs(held.pairs.image[:, 1]) == around)
    assert (held.pairs.first > held.pairs.second)[half].any()
    found = loads(settled, symmetries(settled.unit))
    assert len({load.contact for load in found}) == len(found)
    total = sum(load.count * load.force for load in found)
    assert total == pytest.approx(held.forces.sum(), abs=1e-2)


def test_what_cannot_be_woven_has_no_limits(capsys):
    assert main(["limits", "one-in-one", "--wire", "1mm", "--ratio", "1.5"]) == 1
    assert "cannot be woven" in capsys.readouterr().out


def test_a_piece_closed_into_itself_is_offered_only_where_it_was_found_to_close():
    """Two repeats of the simple chain close at AR 12; of two-in-two at 8 it takes three."""
    for name, ratio, fewest in (("one-in-one", 12.0, 2), ("two-in-two", 8.0, 3)):
        rule, size = load_rule(name), RingSize(1.0, ratio)
        report = check(rule, size, limit=tightest(rule, size, starts=1, workers=0))
        found = sized(report, checked_measure("finger", 15.0, 0.0, None))
        assert found.shorter is None
        assert found.longer.repeats == fewest
        assert found.longer.how == COMPUTED
        assert closed_loop(report.unit, "up", fewest) is not None
        assert fewest == 2 or closed_loop(report.unit, "up", fewest - 1) is None
