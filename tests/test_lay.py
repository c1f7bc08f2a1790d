"""What steps say of the lay: read and written, held against geometry, and found by it."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from generator.embed import embedded, pattern
from generator.errors import BadInput
from generator.lays import agrees, signed_cycles, ties
from generator.passing import against, relations
from generator.placement import linked_pairs, placed_unit, ring_radii, rule_links
from generator.settle import settle
from generator.sizes import RingSize
from weaves import list_rules, load_rule, rule_from_text
from weaves.rule import Overlap, RingRef, without_placement
from weaves.writing import rule_text

TOLD = [rule for rule in list_rules() if relations(rule)]
NAMES = [rule.name for rule in TOLD]


def with_step(rule, number, **changes):
    steps = list(rule.steps)
    steps[number] = replace(steps[number], **changes)
    return replace(rule, steps=tuple(steps))


def roomy(rule):
    """A size that the weave can surely be woven in."""
    return RingSize(1.0, rule.common_aspect_ratio.low + 0.3)


def test_the_weaves_that_links_do_not_tell_apart_say_their_lay():
    assert {"barrel", "half-persian-3-in-1", "half-persian-4-in-1"} <= {*NAMES}


@pytest.mark.parametrize("rule", TOLD, ids=NAMES)
def test_what_the_steps_say_is_so_where_the_rings_are_written_and_where_they_rest(rule):
    placed, rest = placed_unit(rule, roomy(rule)), settle(rule, roomy(rule)).unit
    for unit in (placed, rest):
        assert against(rule, unit) is None
        assert agrees(rule, unit)


def seen_from_above(unit, ring, other):
    """How far one ring is above another wherever their wires cross: plain sampling."""

    def wire(at):
        axis = unit.rings.axes[at]
        first = np.cross(axis, [0.3, 0.5, 0.8])
        first /= np.linalg.norm(first)
        turn = np.linspace(0.0, 2.0 * np.pi, 2000)
        across = np.cross(axis, first)
        return (
            unit.rings.centres[at] + np.outer(np.cos(turn), first) + np.outer(np.sin(turn), across)
        )

    one, two = wire(ring), wire(other)
    near = np.linalg.norm(one[:, None, :2] - two[None, :, :2], axis=2) < 0.005
    i, j = np.nonzero(near)
    return one[i, 2] - two[j, 2]


def test_the_barrel_rests_as_its_steps_say_by_plain_sampling():
    rule = load_rule("barrel")
    unit = settle(rule, roomy(rule)).unit
    place = {ring.name: at for at, ring in enumerate(rule.rings)}
    heights = seen_from_above(unit, place["D"], place["B"])
    assert len(heights)
    assert (heights > 0.0).all()
    # Both flat: their eyes overlap as discs in the plane do. An end ring stands across them, its
    # wire coming down between both rims; each hoop's two strands come down outside.
    (b, d) = (unit.rings.centres[place[name], :2] for name in "BD")
    for name, inside in (("E", True), ("C1", False), ("C2", False)):
        centre, axis = unit.rings.centres[place[name]], unit.rings.axes[place[name]]
        along = np.cross(axis, [0.0, 0.0, 1.0])[:2]
        ends = [centre[:2] + along, centre[:2] - along]
        both = [sum(np.linalg.norm(end - rim) < 1.0 for rim in (b, d)) for end in ends]
        assert sorted(both) == ([0, 2] if inside else [1, 1])


@pytest.mark.parametrize("name", ["half-persian-3-in-1", "half-persian-4-in-1"])
def test_a_side_said_wrong_is_refused(name):
    rule = load_rule(name)
    for at, side in enumerate(rule.steps[0].sides):
        sides = list(rule.steps[0].sides)
        sides[at] = "below" if side == "above" else "above"
        wrong = with_step(rule, 0, sides=tuple(sides))
        with pytest.raises(BadInput, match=r"step\[0\]\.through: ring A does not go through"):
            placed_unit(wrong, roomy(rule))
        # Up through two and down through one is the three-in-one as seen from its other end.
        turned = name == "half-persian-3-in-1" and wrong.steps[0].sides == (
            "below",
            "below",
            "above",
        )
        assert agrees(wrong, placed_unit(rule, roomy(rule))) is turned
    # Seen from below, all of it is so too: only how it goes through them one after another counts.
    other = tuple("below" if side == "above" else "above" for side in rule.steps[0].sides)
    assert against(with_step(rule, 0, sides=other), placed_unit(rule, roomy(rule))) is None


@pytest.mark.parametrize(
    ("step", "changes", "said"),
    [
        (1, {"over": (), "under": (RingRef("B"),)}, r"step\[1\]\.under: ring D is said to lie"),
        (2, {"over": (RingRef("C1"),)}, r"step\[2\]\.over: ring E is said to lie over ring C1"),
        (
            2,
            {"overlaps": (Overlap((RingRef("B"), RingRef("D")), (), (RingRef("E"),)),)},
            r"step\[2\]\.overlap: ring E does not go around the overlap of rings B and D",
        ),
        (
            1,
            {"overlaps": (Overlap((RingRef("B"), RingRef("D")), (RingRef("C1"),), ()),)},
            r"step\[1\]\.overlap: ring C1 does not go through the overlap of rings B and D",
        ),
        (
            1,
            {"overlaps": (Overlap((RingRef("C1"), RingRef("E", (-1, 0))), (RingRef("B"),)),)},
            r"step\[1\]\.overlap: rings C1 and E \(image -1\) stand across each other",
        ),
        (1, {"sides": ("above", "above", "")}, r"step\[1\]\.through: ring C1 stands upright"),
    ],
)
def test_a_lay_that_is_not_so_is_refused(step, changes, said):
    rule = with_step(load_rule("barrel"), step, **changes)
    with pytest.raises(BadInput, match=said):
        placed_unit(rule, RingSize(1.0, 4.2))


BARREL = rule_text(load_rule("barrel"))
PERSIAN = rule_text(load_rule("half-persian-3-in-1"))


@pytest.mark.parametrize("name", NAMES)
def test_the_lay_is_written_as_it_is_read(name):
    rule = load_rule(name)
    again = rule_from_text(rule_text(rule))
    assert again.steps == rule.steps
    assert tomllib.loads(rule_text(rule))["step"]


@pytest.mark.parametrize(
    ("text", "old", "new", "said"),
    [
        (PERSIAN, 'from = "below"', 'from = "beside"', r'expected "above" or "below"'),
        (PERSIAN, ', from = "above" }', " }", "of one ring alone"),
        (BARREL, 'over = ["B"]', 'over = ["C1"]', "what it is not linked with"),
        (BARREL, 'over = ["B"]', 'over = ["E"]', "which is not there by this step"),
        (BARREL, 'over = ["B"]', 'over = ["B", "B"]', "is B again"),
        (BARREL, 'of = ["B", "D"]', 'of = ["B"]', "expected a list of two rings"),
        (BARREL, 'around = ["C1", "C2"]', 'around = ["B"]', "which is not linked with both B"),
        (BARREL, 'around = ["C1", "C2"]', 'around = ["C1"]\nbeyond = ["C2"]', "an unknown key"),
        (
            BARREL,
            'around = ["C1", "C2"]',
            'around = [{ name = "E", image = -1 }]',
            "through and around the same overlap",
        ),
    ],
)
def test_what_is_written_of_the_lay_is_checked(text, old, new, said):
    assert old in text
    changed = text.replace(old, new, 1) if "alone" not in said else text.replace(old, new)
    with pytest.raises(BadInput, match=said):
        rule_from_text(changed)


def test_a_rule_like_another_has_its_lay_for_every_copy_of_a_ring():
    doubled = rule_from_text(
        'name = "full"\nlike = "barrel"\nsummary = "three hoops"\n'
        '[[change]]\nring = "C1"\ndoubled = true\n'
    )
    assert doubled.steps[1].overlaps[0].around == (RingRef("C1"), RingRef("C1_2"), RingRef("C2"))
    assert len(doubled.steps[1].through) == 4
    assert against(doubled, placed_unit(doubled, RingSize(1.0, 5.0))) is None


@pytest.mark.parametrize("name", ["barrel", "half-persian-3-in-1", "half-persian-4-in-1"])
def test_random_placements_are_pushed_into_the_lay_that_is_told(name):
    """At least half come to it; of the barrel without what the steps say, one in ten."""
    rule = without_placement(load_rule(name))
    core, wire = ring_radii(rule, RingSize(1.0, 5.0))
    links = set(rule_links(rule))
    signs = signed_cycles(placed_unit(load_rule(name), RingSize(1.0, 5.0)))
    want = pattern((core, wire * 1e-3), (rule.family, rule.around), links, ties(rule))
    made = [unit for seed in range(8) if (unit := embedded(want, seed)) is not None]
    right = [unit for unit in made if set(linked_pairs(unit)) == links and agrees(rule, unit)]
    assert len(right) >= 4
    assert {signed_cycles(unit) for unit in right} == {signs}
