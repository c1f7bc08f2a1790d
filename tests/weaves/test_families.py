"""Weaves of every family settle; what must not change does not; closed forms where known."""

import dataclasses
import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.base.sizes import RingSize
from ringwright.geometry import lattice_kind
from ringwright.geometry.circles import linking_number
from ringwright.geometry.contact import Rings, close_pairs, contacts
from ringwright.geometry.lattice import Lattice, rotations
from ringwright.geometry.lattice_kind import CHAIN, LOOP, SCREW, SHEET, TUBE, LatticeKind
from ringwright.geometry.linearise import gap_gradients, gap_rows, moved, unknowns
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import meshes_collide, second_opinion
from ringwright.solver.climb import Unit, climb, longest, shaken, thickest
from ringwright.solver.placement import linked_pairs, placed_unit, ring_radii, rule_links
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule
from ringwright.weaves.rule import RuleSize
from tests.benchmarks.ipopt import longest_repeat

RULES = Path(__file__).parents[1] / "rules"
FAMILIES = ["sheet", "screw", "tube", "hopf"]
# The others have tests of their own, in test_every_weave.
SHIPPED = ["one-in-one", "barrel", "two-in-two"]


def rule_of(name):
    return load_rule(name if name in SHIPPED else RULES / f"{name}.toml")


def size_of(name):
    """A ring in the middle of the weave's common range, or one that any test weave takes."""
    common = rule_of(name).common_aspect_ratio
    return RingSize(1.0, (common.low + common.high) / 2 if common else 4.2)


class TestEveryFamily:
    @pytest.mark.parametrize("name", [*FAMILIES, *SHIPPED])
    def test_settles_with_its_links_and_without_overlap(self, name):
        rule, size = rule_of(name), size_of(name)
        settled = settle(rule, size)
        assert set(linked_pairs(settled.unit)) == set(rule_links(rule))
        piece = woven_piece(rule, settled.unit, size.core_radius_mm, 4, 3)
        opinion = second_opinion(piece)
        assert opinion.smallest_gap_mm >= -1e-6
        assert opinion.links == expected_links(rule, piece)

    @pytest.mark.parametrize("name", ["sheet", "tube"])
    def test_meshes_of_a_settled_weave_do_not_collide(self, name):
        """Outside check: FCL, on rings thinned by twice the facets' error, since they touch."""
        rule, size = rule_of(name), RingSize(1.0, 4.2)
        piece = woven_piece(rule, settle(rule, size).unit, size.core_radius_mm, 2, 2)
        assert not meshes_collide(piece, 0.02)
        assert meshes_collide(piece, -0.1)

    @pytest.mark.parametrize("name", [*FAMILIES[:3], *SHIPPED])
    def test_pulled_state_is_a_proved_optimum(self, name):
        settled = settle(rule_of(name), size_of(name))
        assert settled.certificate.residual < 1e-4


class TestClosedForms:
    def test_two_linked_rings_may_fill_each_other(self):
        """The tight Hopf link: ropelength 8 pi in wire radii, so each core circle has radius 2 r.

        Cantarella, Kusner and Sullivan, "On the minimum ropelength of knots and links",
        Inventiones Mathematicae 150 (2002).
        """
        limit = tightest(rule_of("hopf"), RingSize(1.0, 4.0))
        assert limit.aspect_ratio == pytest.approx(1.0, abs=1e-6)
        assert limit.agreed == limit.starts

    @pytest.mark.parametrize("ratio", [2.5, 4.0])
    def test_simple_chain_as_a_screw_of_one_ring(self, ratio):
        """Each ring adds one inner diameter, whatever the turn."""
        size = RingSize(1.0, ratio)
        settled = settle(rule_of("screw"), size)
        assert settled.unit.repeat * size.core_radius_mm == pytest.approx(ratio, rel=1e-6)

    def test_stretched_sheet_has_its_rings_pulled_taut(self):
        """Pulled along its rows, a four-in-one sheet can be no longer than the simple chain.

        Along a row every ring is joined to the next by a ring of the row beside it, so
        the step along the row is at most two inner diameters.
        """
        size = RingSize(1.0, 4.2)
        settled = settle(rule_of("sheet"), size)
        assert settled.unit.repeat * size.core_radius_mm <= 2 * 4.2 + 1e-6

    def test_a_general_solver_finds_the_same_rest(self):
        """Outside check: the same problem posed to IPOPT, which knows nothing of rings."""
        rule, size = rule_of("one-in-one"), RingSize(1.0, 3.3)
        placed = placed_unit(rule, size).with_wire_radii(ring_radii(rule, size)[1])
        peer = longest_repeat(placed, points=24)
        assert peer == pytest.approx(settle(rule, size).unit.repeat, rel=1e-5)


class TestMixedSizes:
    def test_a_fixed_ring_keeps_its_size(self):
        rule = rule_of("one-in-one")
        fixed = RuleSize("fixed", 1.0, 1.0, 0.7, 3.0)
        rings = (rule.rings[0], dataclasses.replace(rule.rings[1], size=fixed))
        mixed = dataclasses.replace(rule, rings=rings)
        for main in (RingSize(1.0, 4.0), RingSize(1.2, 6.0)):
            settled = settle(mixed, main)
            unit, scale = settled.unit, main.core_radius_mm
            assert unit.rings.core_radii[1] * scale == pytest.approx(1.85)
            assert unit.rings.wire_radii[1] * scale == pytest.approx(0.35)
            # Pulled straight: the two inner diameters, one after the other.
            assert unit.repeat * scale == pytest.approx(main.inner_mm + 3.0, rel=1e-6)

    def test_a_scaled_ring_follows_the_main_one(self):
        rule = rule_of("one-in-one")
        small = RuleSize("small", 0.8, 0.5, None, None)
        rings = (rule.rings[0], dataclasses.replace(rule.rings[1], size=small))
        mixed = dataclasses.replace(rule, rings=rings)
        settled = settle(mixed, RingSize(1.0, 4.0))
        inner = 2 * (0.8 * 2.5 - 0.25)
        assert settled.unit.repeat * 2.5 == pytest.approx(4.0 + inner, rel=1e-6)


def turned(unit, turn):
    rings = unit.rings
    return Rings(rings.centres @ turn.T, rings.axes @ turn.T, rings.core_radii, rings.wire_radii)


class TestSymmetries:
    @settings(max_examples=20, deadline=None, derandomize=True)
    @given(st.integers(0, 10**6))
    def test_rigid_motions_change_no_gap_and_no_link(self, seed):
        random = np.random.default_rng(seed)
        rule = rule_of("barrel")
        piece = woven_piece(rule, settle(rule, RingSize(1.0, 3.5)).unit, 1.0, 2).rings()
        axis = random.normal(size=3)
        turn = rotations(axis / np.linalg.norm(axis), np.array([random.uniform(0, 6)]))[0]
        away = Rings(
            piece.centres @ turn.T + random.normal(size=3),
            piece.axes @ turn.T,
            piece.core_radii,
            piece.wire_radii,
        )
        pairs = close_pairs(piece, 0.5)
        assert contacts(away, pairs).gap.min() == pytest.approx(
            contacts(piece, pairs).gap.min(), abs=1e-9
        )
        i, j = pairs.first, pairs.second
        numbers = [
            linking_number(
                r.centres[i], r.axes[i], r.core_radii[i], r.centres[j], r.axes[j], r.core_radii[j]
            ).tolist()
            for r in (piece, away)
        ]
        assert numbers[0] == numbers[1]

    @pytest.mark.parametrize("name", ["barrel", "sheet", "screw"])
    def test_a_mirrored_rule_comes_out_as_the_mirror_image(self, name):
        """Same lengths, mirrored places, and every linking number of the other sign."""
        rule, size = rule_of(name), RingSize(1.0, 4.2)
        flip = np.array([1.0, 1.0, -1.0])
        rings = tuple(
            dataclasses.replace(
                ring,
                centre=tuple(flip * ring.centre),
                # The mirror turns a ring's sense round, so its axis is reflected and reversed.
                axis=tuple(-flip * ring.axis),
            )
            for ring in rule.rings
        )
        # What lay over lies under.
        steps = tuple(
            dataclasses.replace(step, over=step.under, under=step.over) for step in rule.steps
        )
        mirrored = dataclasses.replace(rule, rings=rings, turn=-rule.turn, steps=steps)
        one, two = settle(rule, size).unit, settle(mirrored, size).unit
        assert two.repeat == pytest.approx(one.repeat, rel=1e-7)
        assert two.rings.centres * flip == pytest.approx(one.rings.centres, abs=2e-3)
        assert linked_pairs(two) == {key: -sign for key, sign in linked_pairs(one).items()}

    def test_relabelling_changes_only_the_labels(self):
        rule, size = rule_of("barrel"), RingSize(1.0, 3.6)
        order = [3, 0, 4, 2, 1]
        other = dataclasses.replace(rule, rings=tuple(rule.rings[k] for k in order))
        one, two = settle(rule, size).unit, settle(other, size).unit
        assert two.repeat == pytest.approx(one.repeat, rel=1e-8)
        assert two.rings.centres == pytest.approx(one.rings.centres[order], abs=1e-3)

    def test_a_thicker_wire_never_lengthens_the_repeat(self):
        rule = rule_of("barrel")
        lengths = [
            settle(rule, RingSize(wire, 4.0 - wire)).unit.repeat
            for wire in (0.5, 0.6, 0.7, 0.8, 0.9)
        ]
        assert all(thin > thick for thin, thick in itertools.pairwise(lengths))


class TestLay:
    def test_rings_never_pass_through_each_other(self):
        """Shaken hard and pulled, which flat ring lies on top stays as it was."""
        unit = placed_unit(rule_of("barrel"), RingSize(1.0, 6.0))
        for seed in range(1, 6):
            start = shaken(unit, seed, steps=12)
            assert linked_pairs(start) == linked_pairs(unit)
            wire = climb(start, thickest(start), enough=1.0 / 7.0).unit
            end = climb(wire, longest(wire)).unit
            assert linked_pairs(end) == linked_pairs(unit)

    def test_a_weave_and_its_other_lay_are_both_kept(self):
        """The flat rings of the barrel weave exchanged: same links, the other one on top."""
        rule, size = rule_of("barrel"), RingSize(1.0, 3.6)
        lift = {"B": 0.15, "D": -0.15}
        rings = tuple(
            dataclasses.replace(
                ring, centre=(*ring.centre[:2], lift.get(ring.name, ring.centre[2]))
            )
            for ring in rule.rings
        )
        # What the steps say of over and under is of the one lay.
        steps = tuple(dataclasses.replace(step, over=(), under=()) for step in rule.steps)
        other = settle(dataclasses.replace(rule, rings=rings, steps=steps), size).unit
        same = settle(rule, size).unit
        names = [ring.name for ring in rule.rings]
        b, d = names.index("B"), names.index("D")
        assert same.rings.centres[b, 2] < same.rings.centres[d, 2]
        assert other.rings.centres[b, 2] > other.rings.centres[d, 2]
        assert other.repeat == pytest.approx(same.repeat, rel=1e-8)


LATTICES = {
    "chain": Lattice(CHAIN, np.array([1.9])),
    "screw": Lattice(SCREW, np.array([1.4, 0.7])),
    "sheet": Lattice(SHEET, np.array([2.1, 0.3, 1.6])),
    "tube": Lattice(TUBE, np.array([1.7, 0.1]), around=7),
    "loop": Lattice(LOOP, np.array([1.8, 0.35]), axis=np.array([0.0, 0.0, 1.0])),
    "straight arc": Lattice(LOOP, np.array([1.8, 0.0]), axis=np.array([0.0, 1.0, 0.0])),
}


class TestLattice:
    @pytest.mark.parametrize("kind", LATTICES)
    def test_drift_is_the_derivative_of_the_motion(self, kind):
        lattice = LATTICES[kind]
        images = np.array([[1, 0], [2, 0], [1, 1], [3, -1], [0, 1]])
        if lattice.kind.image_numbers < 2:
            images[:, 1] = 0
        point = np.array([0.3, -0.8, 1.1])
        turn, shift = lattice.motion(images)
        at = turn @ point + shift
        for value in range(len(lattice.values)):
            step = np.zeros(len(lattice.values))
            step[value] = 1e-6
            ends = [
                lattice.with_values(lattice.values + sign * step).motion(images) for sign in (1, -1)
            ]
            moved_by = (ends[0][0] @ point + ends[0][1] - ends[1][0] @ point - ends[1][1]) / 2e-6
            twist = lattice.drift(images)[:, value]
            assert twist[:, :3] + np.cross(twist[:, 3:], at) == pytest.approx(moved_by, abs=1e-6)

    def test_every_kind_that_repeats_is_among_them(self):
        kinds = {one for one in vars(lattice_kind).values() if isinstance(one, LatticeKind)}
        tried = {lattice.kind for lattice in LATTICES.values()}
        assert tried == {one for one in kinds if one.repeats}

    @pytest.mark.parametrize("kind", LATTICES)
    def test_images_are_turned_unless_the_kind_is_flat(self, kind):
        lattice = LATTICES[kind]
        turns, _ = lattice.motion(np.array([[1, 0], [2, 0]]))
        assert lattice.kind.is_flat == (kind != "straight arc" and np.allclose(turns, np.eye(3)))

    @pytest.mark.parametrize("kind", LATTICES)
    def test_gap_gradients_in_every_lattice(self, kind):
        """Against central differences, in rings and lattice together."""
        lattice = LATTICES[kind]
        centres = np.array([[0.1, 0.2, 2.0], [0.9, -0.3, 2.2]])
        axes = np.array([[0.1, 0.9, 0.3], [0.2, -0.1, 1.0]])
        axes /= np.linalg.norm(axes, axis=1)[:, None]
        rings = Rings(centres, axes, np.array([1.0, 0.8]), np.full(2, 0.05))
        pairs = close_pairs(rings, 0.4, lattice)
        rows = gap_rows(rings, pairs, lattice, 0.4)
        gradients = gap_gradients(rings, rows, lattice, np.zeros(2))[rows.slides]
        step = 1e-6 * np.random.default_rng(2).normal(size=unknowns(rings, lattice))
        ends = []
        for sign in (1, -1):
            changed = lattice.with_values(lattice.values + sign * step[10:-1])
            found = contacts(moved(rings, sign * step), pairs, changed, 0.5)
            ends.append(found)
        for row, place in enumerate(rows.point_first[rows.slides]):
            gaps = []
            for found in ends:
                same = (
                    (found.pairs.first == rows.pairs.first[row])
                    & (found.pairs.second == rows.pairs.second[row])
                    & (found.pairs.image == rows.pairs.image[row]).all(axis=1)
                )
                off = np.linalg.norm(found.point_first - place, axis=1) + 9.0 * ~same
                gaps.append(found.gap[off.argmin()])
            assert (gaps[0] - gaps[1]) / 2 == pytest.approx(gradients[row] @ step, abs=1e-10)

    def test_of_a_wide_coil_the_images_a_full_turn_on_are_found(self):
        """Half a turn on they are too far away; a full turn, 18 images, lies 2.7 along x."""
        coil = Lattice(SCREW, np.array([0.15, np.radians(20.0)]))
        found = coil.images_near(np.array([0.0, 6.0, 0.0]), 1.5, 0.3)[:, 0]
        assert found.tolist() == [0, 1, 17, 18]

    def test_images_are_found_each_once(self):
        sheet = LATTICES["sheet"]
        found = [tuple(image) for image in sheet.images_near(np.zeros(3), 1.0, 2.5).tolist()]
        assert found[0] == (0, 0)
        assert len(found) == len(set(found))
        assert not any((-k1, -k2) in found for k1, k2 in found[1:])
        near = {
            (k1, k2)
            for k1 in range(-5, 6)
            for k2 in range(-5, 6)
            if np.hypot(2.1 * k1 + 0.3 * k2, 1.6 * k2) <= 4.5
        }
        assert {image for image in near if image >= (0, 0)} == set(found)


def test_a_unit_at_rest_is_the_same_in_any_frame_of_its_lattice():
    """A screw's unit may be any of its images: turned and moved, it settles to the same."""
    rule, size = rule_of("screw"), RingSize(1.0, 3.0)
    unit = placed_unit(rule, size)
    turn, shift = unit.lattice.motion(np.array([[1, 0]]))
    other = Unit(turned(unit, turn[0]), unit.lattice)
    other = Unit(
        dataclasses.replace(other.rings, centres=other.rings.centres + shift), unit.lattice
    )
    ends = []
    for start in (unit, other):
        wire = climb(start, thickest(start), enough=0.25).unit
        ends.append(climb(wire, longest(wire)).unit.repeat)
    assert ends[0] == pytest.approx(ends[1], rel=1e-8)
