"""The model's part of the page, without a browser."""

import re
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.circles import plane_basis
from ringwright.movement.bend import tightest_bend
from ringwright.movement.motion import pushing
from ringwright.movement.play import crumpled, guided
from ringwright.outputs.assembly_sheet.views import screen
from ringwright.outputs.assembly_sheet.words import lines, read_back
from ringwright.page.panels.weaving_panel import how_hard, step_marks
from ringwright.page.state.chosen import LYING, Wanted, from_mapping
from ringwright.page.state.units import INCH, Units
from ringwright.page.worked_out.at_rest import worn_on_somebody
from ringwright.page.worked_out.between_rings import between
from ringwright.page.worked_out.colours import coloured, legend
from ringwright.page.worked_out.play_states import moves
from ringwright.page.worked_out.solve import overlaps_of
from ringwright.page.worked_out.weaving_steps import steps
from ringwright.page.worked_out.whole_piece import MOST_RINGS, whole_piece
from ringwright.piece.piece import Piece, expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.solver.climb import Unit
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import WeaveRule, load_rule
from ringwright.weaves.rest_states import FINGER, NECK, Body, worn_by

SIZE = RingSize(0.9, 3.2)


@pytest.fixture(scope="module")
def sheet() -> tuple[WeaveRule, Unit]:
    rule = load_rule("european-4-in-1")
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, settled.unit


def test_the_whole_piece_is_as_long_and_wide_as_wanted(sheet: tuple[WeaveRule, Unit]) -> None:
    rule, unit = sheet
    whole = whole_piece(rule, SIZE, unit, (60.0, 30.0))
    repeat_mm = unit.repeat * SIZE.core_radius_mm
    assert 60.0 <= whole.length_mm < 60.0 + repeat_mm
    assert abs(whole.smallest_gap_mm) < 1e-6
    # Inside a sheet of four in one every ring runs through four others; the edges lack some.
    assert 1.5 * len(whole.piece) < whole.links < 2 * len(whole.piece)
    with pytest.raises(BadInput, match=str(MOST_RINGS)):
        whole_piece(rule, SIZE, unit, (450.0, 250.0))


def test_colours_are_those_of_the_command_and_counted(sheet: tuple[WeaveRule, Unit]) -> None:
    rule, unit = sheet
    piece = woven_piece(rule, unit, SIZE.core_radius_mm, 5, 4)
    by_role = legend(coloured(piece, rule, "role"))
    assert sum(entry.rings for entry in by_role) == len(piece)
    assert [entry.rings for entry in by_role] == [
        piece.roles.count(role) for role in ("closed", "open")
    ]
    turns = legend(coloured(piece, rule, "2*copper,brass"))
    assert {entry.name: entry.rings for entry in turns} == {"copper": 27, "brass": 13}
    parts = legend(coloured(piece, rule, "open=copper,closed=steel/brass"))
    assert {entry.name for entry in parts} == {"copper", "steel", "brass"}
    with pytest.raises(BadInput, match="Metals"):
        coloured(piece, rule, "Q=copper")


def test_what_is_only_looked_at_in_another_way_asks_nothing_of_the_solver() -> None:
    one = Wanted()
    other = from_mapping({"view": "whole", "paint": "copper", "length": "7in", "laid": "pulled"})
    assert other.ring_alone() == one.ring_alone()
    assert from_mapping({"wire": "0.8mm"}).ring_alone() != one.ring_alone()
    with pytest.raises(BadInput, match="view"):
        from_mapping({"view": "none"})
    with pytest.raises(BadInput, match="laid"):
        from_mapping({"laid": "afloat"})


def test_a_piece_is_worn_on_what_was_chosen(chain: tuple[WeaveRule, Unit]) -> None:
    rule, sheet = chain[0], load_rule("european-4-in-1")
    worn = from_mapping({"laid": "worn", "worn": "finger", "girth": "2.25in"})
    assert worn.ring_alone() == Wanted().ring_alone()
    state = worn.state(rule)
    assert state is not None
    assert state.body == Body(FINGER, pytest.approx(57.15), 1.0)
    assert replace(worn, worn="neck", girth="").state(rule).body == Body(NECK, 400.0, 1.0)
    with pytest.raises(BadInput, match="between 40 and 600"):
        replace(worn, girth="9mm").state(rule)
    with pytest.raises(BadInput, match="necklace"):
        replace(worn, worn="neck").state(sheet)
    with pytest.raises(BadInput, match="worn is one of"):
        from_mapping({"worn": "hat"})
    # Nobody wears a rosette, which lies on a table as if nothing had been said.
    assert worn.way_of(load_rule("three-ring-rosette")) == LYING


def test_as_much_as_goes_round_is_shown_on_what_it_is_worn_on() -> None:
    rule, size = load_rule("one-in-one"), RingSize(0.9, 3.2)
    settled = settle(rule, size)
    assert settled is not None
    state, told = worn_by(Body(FINGER, 42.0)), []
    asked = state, rule, settled.unit, size
    lies = worn_on_somebody(lambda *step: told.append(step), *asked, None, None)
    assert told
    assert lies.straight is not None
    assert second_opinion(lies.piece).links == expected_links(rule, lies.straight)
    # No wire in the form, whose side is a circle of that length, and some on it.
    assert lies.form is not None
    out = np.hypot(*lies.form.vertices[:, :2].T)
    assert 2.0 * np.pi * out.max() == pytest.approx(42.0, rel=0.02)
    piece = lies.piece
    angles = np.linspace(0.0, 2.0 * np.pi, 360)[None, :, None]
    u, v = (one[:, None] for one in plane_basis(piece.axes))
    arms = piece.core_radii_mm[:, None, None] * (np.cos(angles) * u + np.sin(angles) * v)
    wire = piece.centres_mm[:, None] + arms
    inside_mm = np.hypot(wire[..., 0], wire[..., 1]).min() - piece.wire_radii_mm.min()
    assert inside_mm == pytest.approx(42.0 / (2.0 * np.pi), abs=1e-3)
    short = woven_piece(rule, settled.unit, size.core_radius_mm, 9)
    with pytest.raises(BadInput, match="does not go round"):
        worn_on_somebody(lambda *_: None, worn_by(Body(NECK, 400.0)), *asked[1:], short, None)


@pytest.fixture(scope="module")
def chain() -> tuple[WeaveRule, Unit]:
    rule = load_rule("half-persian-3-in-1")
    settled = settle(rule, RingSize(0.9, 3.9))
    assert settled is not None
    return rule, settled.unit


def test_a_weave_moves_without_overlap_between_the_ends_that_limits_tells(
    chain: tuple[WeaveRule, Unit],
) -> None:
    rule, unit = chain
    found = moves(lambda *step: None, rule, RingSize(0.9, 3.9), unit)
    along, up, sideways = found.paths
    assert [path.kind for path in found.paths] == ["along", "up", "sideways"]
    lengths = [stop.length_mm for stop in along.stops]
    assert lengths == sorted(lengths)
    assert 100 * (1 - lengths[0] / lengths[-1]) == pytest.approx(crumpled(unit).percent, abs=1e-6)
    assert along.guided_percent == guided(unit).percent
    for path in (up, sideways):
        turns = [stop.turn for stop in path.stops]
        assert turns == sorted(turns)
        assert turns[path.rest] == 0.0
        tightest = tightest_bend(unit, path.kind).turn
        assert max(-turns[0], turns[-1]) == pytest.approx(tightest, abs=1e-9)
    for path in found.paths:
        # Every so often a state, measured again as a piece of its own.
        for stop in path.stops[::8]:
            shown = np.linalg.norm(stop.poses[:, 3:], axis=1) > 0.5
            assert shown.any()
            assert not overlaps_of(_posed(found.piece, stop.poses, shown))
        # It moves from state to state, and does not jump.
        middle = np.abs(found.piece.centres_mm[:, 0]) < found.piece.core_radii_mm.max()
        steps = [
            np.abs(two.poses[middle, :3] - one.poses[middle, :3]).max()
            for one, two in pairwise(path.stops)
        ]
        assert max(steps) < 0.1 * found.piece.core_radii_mm.max()


def test_a_chain_in_another_shape_than_its_rules_moves_along_its_length() -> None:
    """Wound further than the rule has it, from the shape that the check found it in."""
    rule, size = load_rule("spiral-3-in-1"), RingSize(1.0, 3.1)
    report = check(rule, size, limit=tightest(rule, size, starts=3, workers=0))
    assert report.shape is not None
    (along,) = moves(lambda *step: None, report.rule, size, report.unit).paths
    assert along.kind == "along"
    assert along.stops[0].length_mm < along.stops[-1].length_mm
    assert along.stops[-1].length_mm == pytest.approx(report.repeat_mm, abs=1e-6)


def _posed(piece: Piece, poses: NDArray[np.float32], shown: NDArray[np.bool_]) -> Piece:
    return Piece(
        *(tuple(np.array(piece.names)[shown]), tuple(np.array(piece.roles)[shown])),
        *(poses[shown, :3].astype(float), poses[shown, 3:].astype(float)),
        *(piece.core_radii_mm[shown], piece.wire_radii_mm[shown]),
    )


def test_single_rings_pull_straight_to_their_insides_and_a_sheet_moves_both_ways(
    sheet: tuple[WeaveRule, Unit],
) -> None:
    rule = load_rule("one-in-one")
    settled = settle(rule, SIZE)
    assert settled is not None
    # Of single rings a repeat is two, and a ring pulled straight takes its inner diameter.
    states = [one.repeat * SIZE.core_radius_mm for one in pushing(settled.unit)]
    assert states[0] == pytest.approx(2 * 3.2, abs=1e-6)
    assert states == sorted(states, reverse=True)
    assert len(states) > 20
    across = moves(lambda *step: None, sheet[0], SIZE, sheet[1])
    assert [path.kind for path in across.paths] == ["along", "across"]
    with pytest.raises(BadInput, match="finished piece"):
        moves(lambda *step: None, load_rule("three-ring-rosette"), SIZE, settled.unit)


def test_every_step_shows_the_rings_that_its_words_name(chain: tuple[WeaveRule, Unit]) -> None:
    rule, unit = chain
    told: list[tuple[str, int, int]] = []
    found = steps(lambda *step: told.append(step), rule, RingSize(0.9, 3.9), unit)
    # What is read off the half-made rings comes in addition to what the rule says.
    for step, line in zip(found, lines(rule), strict=True):
        ways = [(each.ring, each.through, each.sides) for each in read_back(line.text)]
        assert [(each.ring, each.through, each.sides) for each in read_back(step.text)] == ways
    assert told[-1][1] == told[-1][2] == len(found)
    assert {what for what, *_ in told} == {"half-made pieces", "ways in"}
    for step in found:
        marks = step_marks(step)
        # Every number of the sentences stands at a ring, and no other.
        assert {mark.text for mark in marks} == set(re.findall(r"\d+", step.text))
        assert step.new not in step.piece.names
        for one, two in combinations(marks, 2):
            right, up = screen(step.toward)
            apart = np.subtract(one.at_mm, two.at_mm)
            assert np.hypot(apart @ right, apart @ up) > 0.03 * step.across_mm
        # How hard it is stands at every ring that is put in, in the units that are chosen.
        assert (how_hard(step, Units()) == "") == (step.new is None)
        if step.way is not None:
            gap_mm = round(step.way.gap_mm, 1)
            assert f"opened by {gap_mm:g} mm between" in how_hard(step, Units())
            assert f"opened by {gap_mm / 25.4:.4f} in between" in how_hard(step, Units(INCH, INCH))
        if step.open_line is not None:
            # The ends stand so far apart that the wire passes between them.
            ends = np.linalg.norm(step.open_line[0] - step.open_line[-1])
            assert ends - 2 * step.open_wire_mm > 0.9
    assert found[0].new is None


def test_between_two_rings_as_by_hand() -> None:
    def pair(centre: tuple[float, float, float], axis: tuple[float, float, float]) -> Piece:
        return Piece(
            *(("A.1", "B.1"), ("open", "closed")),
            *(np.array([(0.0, 0.0, 0.0), centre]), np.array([(0.0, 0.0, 1.0), axis])),
            *(np.array([3.0, 3.0]), np.array([0.5, 0.4])),
        )

    # Side by side in one plane: 10 less both rings' outer radii.
    apart = between(pair((10.0, 0.0, 0.0), (0.0, 0.0, 1.0)), 0, 1)
    assert (apart.centres_mm, apart.is_linked) == (10.0, False)
    assert apart.gap_mm == pytest.approx(10.0 - 3.5 - 3.4)
    assert apart.angle == pytest.approx(0.0)
    assert apart.first_nearest == pytest.approx((3.5, 0.0, 0.0))
    assert apart.second_nearest == pytest.approx((6.6, 0.0, 0.0))
    # Through one another at right angles, the second's wire 2 from the first's middle.
    linked = between(pair((4.0, 0.0, 0.0), (0.0, 1.0, 0.0)), 1, 0)
    assert linked.is_linked
    assert linked.gap_mm == pytest.approx(2.0 - 0.9)
    assert linked.angle == pytest.approx(90.0)
    # As deep as the wires are thick where the middles cross: an overlap.
    assert between(pair((6.0, 0.0, 0.0), (0.0, 1.0, 0.0)), 0, 1).gap_mm == pytest.approx(-0.9)
