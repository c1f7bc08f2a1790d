"""What steps say of the lay: read and written, held against geometry, and found by it."""

import math
import tomllib
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import carried
from ringwright.outputs.assembly_sheet import words
from ringwright.outputs.assembly_sheet.lay import lay_notes
from ringwright.piece.half_made import half_made
from ringwright.search.candidates import _as_told, _placed
from ringwright.search.embed import embedded, pattern
from ringwright.search.lays import agrees, grown, same_lay, signed_cycles, ties
from ringwright.solver.passing import against, relations
from ringwright.solver.placement import link_key, linked_pairs, placed_unit, ring_radii, rule_links
from ringwright.solver.settle import settle
from ringwright.weaves import list_rules, load_rule, rule_from_text
from ringwright.weaves.rule import Overlap, RingRef, Step, without_placement, wrapped
from ringwright.weaves.writing import rule_text

TOLD = [rule for rule in list_rules() if relations(rule)]
NAMES = [rule.name for rule in TOLD]
IN_WORDS = [rule for rule in list_rules() if rule.lay_in_words]


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
    want = pattern((core, wire * 1e-3), (rule.family.lattice, rule.around), links, ties(rule))
    made = [unit for seed in range(8) if (unit := embedded(want, seed)) is not None]
    right = [unit for unit in made if set(linked_pairs(unit)) == links and agrees(rule, unit)]
    assert len(right) >= 4
    assert {signed_cycles(unit) for unit in right} == {signs}


# --- what lies between two rings --------------------------------------------------------


def lies_between(ring, one, other):
    """Whether a wire crosses the space between the discs of two rings; each is centre and axis.

    Found by plain sampling of its core circle, of radius 1.
    """
    centre, axis = ring
    first = np.cross(axis, [0.3, 0.5, 0.8])
    first /= np.linalg.norm(first)
    turn = np.linspace(0.0, 2.0 * np.pi, 720)
    wire = centre + np.outer(np.cos(turn), first) + np.outer(np.sin(turn), np.cross(axis, first))
    heights, inside = [], np.ones(len(wire), bool)
    for middle, normal in (one, other):
        way = normal * np.sign(normal @ one[1])
        height = (wire - middle) @ way
        inside &= np.linalg.norm(wire - middle - np.outer(height, way), axis=1) < 1.0
        heights.append(height)
    return bool((inside & (heights[0] * heights[1] < 0.0)).any())


def told_between(text):
    """Which ring lies between which two, by a text."""
    return [
        (ring, remark.others)
        for read in words.read_back(text)
        for remark in read.remarks
        if remark.kind == "between"
        for ring in remark.rings
    ]


def where(unit, at, ref):
    """Centre and axis of a ring in any repeat."""
    image = np.array([ref.image])
    centres, axes = carried(unit.rings.centres[[at]], unit.rings.axes[[at]], image, unit.lattice)
    return centres[0], axes[0]


@pytest.mark.parametrize(
    "name",
    [
        "box-chain",
        *(pytest.param(f"{a}byzantine", marks=pytest.mark.slow) for a in ("", "long-")),
        pytest.param("byzantine-and-large", marks=pytest.mark.slow),
    ],
)
def test_what_the_words_lay_between_two_rings_is_there_and_read_back(name):
    """Of a box chain it tells the lay: in a chain of pairs with its links it is not so."""
    rule = load_rule(name)
    settled = settle(rule, roomy(rule)).unit
    states, numbers = list(half_made(rule, settled)), words.numbered(rule)
    ring, place = ({n: ref for ref, n in numbers.items()}, [each.name for each in rule.rings])
    lines = words.lines(rule, lay_notes(rule, states, numbers))[-len(states) :]
    plain = settle(load_rule("two-in-two"), roomy(rule)).unit
    folded, after = 0, 0
    for line, state in zip(lines, states, strict=True):
        at = {numbers[ref]: number for number, ref in enumerate(state.rings)}
        rings = state.unit.rings
        assert len(told_between(line.text)) >= line.text.count("between")
        folded += "First fold" in line.text
        for ring_told, pair in told_between(line.text):
            named = (ring_told, *pair)
            assert lies_between(*((rings.centres[at[n]], rings.axes[at[n]]) for n in named))
            if name == "box-chain":
                refs = [(place.index(ring[n].name), ring[n]) for n in named]
                assert lies_between(*(where(settled, *ref) for ref in refs))
                assert not lies_between(*(where(plain, *ref) for ref in refs))
            after += 1
    assert folded
    assert after >= 2 * folded


# --- from the words alone ---------------------------------------------------------------


def read_steps(rule):
    """The steps of one repeat as the sheet's words tell them, rings by their numbers alone."""
    ring = {number: ref for ref, number in words.numbered(rule).items()}
    steps = []
    for line in words.lines(rule):
        for read in words.read_back(line.text):
            named = [ring[number] for number in read.through]
            remarks = {kind: [] for kind in ("over", "under", "through", "around")}
            for remark in read.remarks:
                remarks[remark.kind].append(remark)
            overlaps = tuple(
                Overlap(
                    tuple(ring[number] for number in remark.others),
                    **{kind: tuple(ring[number] for number in remark.rings)},
                )
                for kind in ("through", "around")
                for remark in remarks[kind]
            )
            over, under = (
                tuple(ring[number] for remark in remarks[kind] for number in remark.others)
                for kind in ("over", "under")
            )
            sides = read.sides if any(read.sides) else ()
            step = Step(ring[read.ring], tuple(named), (), sides, over, under, overlaps)
            steps.append(step)
    return steps


def read_relations(rule):
    """What the words say on which way rings pass, as if all of it were of one repeat."""
    return relations(replace(rule, steps=tuple(read_steps(rule))))


class Passed:
    """Which way rings pass others by the words, and where these say nothing of it.

    Then a ring passes all that it is put through in one step the same way, unless what is said
    of it says otherwise.
    """

    def __init__(self, rule, only_said):
        self.rule = rule
        self.rows = {ring.name: {} for ring in rule.rings}
        read = read_steps(rule)
        for relation in relations(replace(rule, steps=tuple(read))):
            self._tie(relation)
        for step in () if only_said else read:
            alike = replace(step, sides=("above",) * len(step.through), overlaps=())
            for relation in relations(replace(rule, steps=(alike,))):
                self._tie(relation)

    def _at_home(self, ring, ref):
        k1, k2 = ref.image[0] - ring.image[0], ref.image[1] - ring.image[1]
        around = self.rule.around
        return ref.name, wrapped((k1, k2), around) if around > 1 else (k1, k2)

    def _tie(self, relation):
        """Rings that are passed one way have one label, those passed against it its negative."""
        row = self.rows[relation.ring.name]
        one, other = (self._at_home(relation.ring, ref) for ref in (relation.one, relation.other))
        for ref in (one, other):
            row.setdefault(ref, len(row) + 1)
        if abs(row[one]) != abs(row[other]):
            way = (1 if relation.alike else -1) * int(np.sign(row[one] * row[other]))
            old, new = abs(row[other]), way * abs(row[one])
            for ref, label in row.items():
                if abs(label) == old:
                    row[ref] = int(np.sign(label)) * new

    def alike(self, ring, one, other):
        """1 where a ring passes two others the same way, -1 where not, 0 where it is not told."""
        row = self.rows[ring.name]
        labels = [row.get(self._at_home(ring, ref), 0) for ref in (one, other)]
        if 0 in labels or abs(labels[0]) != abs(labels[1]):
            return 0
        return 1 if labels[0] == labels[1] else -1


def told_sign(rule):
    """The sign of a closed four of rings by the words: first by what they say, then by the rest."""
    every = [Passed(rule, only_said=True), Passed(rule, only_said=False)]

    def sign(one, first, other, second):
        for passed in every:
            for pair, rings in (((one, other), (first, second)), ((first, second), (one, other))):
                found = passed.alike(rings[0], *pair) * passed.alike(rings[1], *pair)
                if found:
                    return found
        return 1

    return sign


def fours(rule, unit):
    """Every closed four of linked rings once or more: its rings in turn, and its sign."""
    place = {ring.name: at for at, ring in enumerate(rule.rings)}
    signs = linked_pairs(unit)

    def sign(one, other):
        return signs.get(link_key(place, one, other, rule.around), 0)

    def moved_by(ref, image):
        k1, k2 = ref.image[0] + image[0], ref.image[1] + image[1]
        return RingRef(ref.name, wrapped((k1, k2), rule.around) if rule.around > 1 else (k1, k2))

    def beside(ref):
        for link in rule.links:
            for here, there in ((link.first, link.second), (link.second, link.first)):
                if here.name == ref.name:
                    by = (ref.image[0] - here.image[0], ref.image[1] - here.image[1])
                    yield moved_by(there, by)

    for one in (RingRef(ring.name) for ring in rule.rings):
        near = sorted(beside(one), key=lambda ref: (ref.name, ref.image))
        for first, second in combinations(near, 2):
            for other in set(beside(first)) & set(beside(second)) - {one}:
                pairs = ((one, first), (first, other), (other, second), (second, one))
                yield one, first, other, second, math.prod(sign(a, b) for a, b in pairs)


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_the_words_of_every_weave_say_which_way_its_rings_pass(rule):
    """The words give the sign of every closed four of linked rings, which no motion changes.

    Threes are of one sign each, that is, of the one hand or the other.
    """
    unit, told = placed_unit(rule, RingSize(1.0, 9.0)), told_sign(rule)
    for *rings, sign in fours(rule, unit):
        assert sign == told(*rings)
    plus, minus, _, _ = signed_cycles(unit)
    assert 0 in (plus, minus)


def test_the_words_of_a_weave_are_read_as_its_steps_say_them():
    for rule in TOLD:
        assert set(read_relations(rule)) == set(relations(rule))
        # Over and under too, of each repeat that is shown.
        read = {(step.ring.name, ref.name) for step in read_steps(rule) for ref in step.over}
        assert read == {(step.ring.name, ref.name) for step in rule.steps for ref in step.over}


def best_by_words(rule, size, seeds, enough):
    """The tightest lay found from a rule's words alone, of equally tight ones the longest.

    Random starts with the links that the words make are pushed into the lay that they tell, kept
    where every closed four has the sign that they give it, grown, and kept where all lies over and
    under as they say.
    """
    steps = without_placement(replace(rule, steps=tuple(read_steps(rule))))
    links, told = set(rule_links(steps)), told_sign(rule)
    core, wire = ring_radii(steps, size)
    thin = wire * 1e-3 / wire.max()
    want = pattern((core, thin), (rule.family.lattice, rule.around), links, ties(steps))
    main = [ring.size is None for ring in rule.rings].index(True)
    found = []
    for seed in range(seeds):
        unit = embedded(want, seed)
        if unit is None or set(linked_pairs(unit)) != links:
            continue
        if not all(sign == told(*rings) for *rings, sign in fours(rule, unit)):
            continue
        lay = grown(unit, main)
        if _as_told(_placed(steps, lay.unit), size) is not None:
            found.append(lay)
        if len(found) == enough:
            break
    return min(found, key=lambda lay: (round(lay.aspect_ratio, 3), -round(lay.repeat, 2)))


@pytest.mark.parametrize("rule", IN_WORDS, ids=[rule.name for rule in IN_WORDS])
def test_a_placement_found_from_the_words_alone_is_the_weaves_lay(rule):
    """So says the rule's file: its words need no picture to tell one lay from another."""
    size = RingSize(1.0, rule.common_aspect_ratio.high + 0.5)
    own = grown(placed_unit(rule, size), [ring.size is None for ring in rule.rings].index(True))
    assert same_lay(own, best_by_words(rule, size, 40, 4))
