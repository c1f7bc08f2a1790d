"""Half-made pieces: the right rings, the right links, hanging or lying as they should."""

from itertools import pairwise

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.piece.half_made import _held, half_made
from ringwright.piece.piece import Piece
from ringwright.piece.verify import second_opinion
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule


def states_of(name, ratio):
    rule = load_rule(name)
    return list(half_made(rule, settle(rule, RingSize(1.0, ratio)).unit))


@pytest.fixture(scope="module")
def barrel():
    return states_of("barrel", 3.6)


@pytest.fixture(scope="module")
def sheet():
    return states_of("european-4-in-1", 4.2)


def second_look(state):
    rings = state.unit.rings
    names = tuple(f"{place:03}" for place in range(len(state.rings)))
    roles = ("open",) * len(names)
    return second_opinion(
        Piece(names, roles, rings.centres, rings.axes, rings.core_radii, rings.wire_radii)
    )


def test_rings_come_as_the_maker_brings_them(barrel):
    """Barrel: B takes both side rings along, D goes in alone, E alone; then again."""
    assert [[ref.name for ref in state.new] for state in barrel] == [
        ["C1", "C2", "B"],
        ["D"],
        ["E"],
    ] * 2
    assert [len(state.rings) for state in barrel] == [4, 5, 6, 9, 10, 11]


@pytest.mark.parametrize("name", ["barrel", "sheet"])
def test_nothing_overlaps_and_the_links_are_those_made_so_far(name, request):
    states = request.getfixturevalue(name)
    made = set()
    for state in states:
        opinion = second_look(state)
        assert state.at_rest
        assert opinion.smallest_gap_mm > -1e-6
        links = {(int(a), int(b)) for a, b in opinion.links}
        assert links == set(state.links)
        # The ring put in goes through just the rings of its step, and no earlier link is lost.
        new = state.rings.index(state.step.ring)
        through = {state.rings.index(ref) for ref in state.step.through}
        assert {a + b - new for a, b in links - made if new in (a, b)} == through
        assert links >= made
        made = links


def test_a_first_ring_hangs_its_own_length_below():
    """Two rings hang straight: their centres are an inner diameter apart, 2 R - 2 r."""
    first = states_of("one-in-one", 3.6)[0]
    ring = first.rings.index(first.step.ring)
    (hook,) = first.held
    drop = first.unit.rings.centres[ring] - first.unit.rings.centres[hook]
    wire = first.unit.rings.wire_radii[0]
    assert drop[0] == pytest.approx(2.0 - 2.0 * wire, abs=1e-4)
    assert np.abs(drop[1:]).max() < 5e-3


def test_rings_stay_as_they_were_from_step_to_step(barrel, sheet):
    """What a step does not lift up or fold back turns little, so that it is known again."""
    for states, far, most in ((barrel, 0.7, 0.9), (sheet, 0.5, 0.35)):
        for before, after in pairwise(states):
            # The hoops that hung on one flat ring are lifted as the other goes through them.
            lifted = {ref for ref in after.step.through if ref.name in ("C1", "C2")}
            old = [at for at, ref in enumerate(before.rings) if ref not in lifted]
            assert after.rings[: len(before.rings)] == before.rings
            one, other = before.unit.rings, after.unit.rings
            turned = np.abs(np.einsum("ni,ni->n", one.axes[old], other.axes[old]))
            assert np.linalg.norm(one.centres[old] - other.centres[old], axis=1).max() < far
            assert np.arccos(np.minimum(turned, 1.0)).max() < most


def test_a_sheet_lies_on_the_table(sheet):
    """Held by nothing, and no wire higher than three lie on one another, 2.5 from the middle."""
    for states in (sheet, states_of("japanese-4-in-1", 5.2)):
        assert all(state.at_rest and not state.held for state in states)
        assert all(second_look(state).smallest_gap_mm > -1e-6 for state in states)
    rings = [state.unit.rings for state in sheet]
    high = [
        np.abs(each.centres[:, 2]) + each.core_radii * np.sqrt(1.0 - each.axes[:, 2] ** 2)
        for each in rings
    ]
    assert np.concatenate(high).max() < 5.0 * rings[0].wire_radii[0]


def test_a_part_that_is_not_yet_joined_is_held_in_the_other_hand():
    assert _held(((0, 1), (2, 3)), [True, False, False, False, False]) == (0, 2)


def test_what_hangs_is_held_by_its_first_rings_alone():
    """A helm chain's start is a joint: two pairs of small rings, and a large ring through both."""
    state = states_of("helm-chain", 6.2)[0]
    held = [state.rings[place] for place in state.held]
    names = {ref.name for ref in held}
    assert len(held) == 2
    assert len(names) == 2
    heights = state.unit.rings.centres[:, 0]
    assert heights[list(state.held)].max() < np.delete(heights, state.held).min()
    # A spiral would unwind, so both rings of its start are held.
    assert len(states_of("spiral-4-in-1", 4.2)[0].held) == 2
