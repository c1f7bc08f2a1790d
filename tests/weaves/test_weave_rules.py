"""Loading weave rules: the shipped ones, and everything that is wrong with others."""

import math
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from ringwright import weaves
from ringwright.base.errors import BadInput
from ringwright.base.wording import either
from ringwright.weaves import (
    Link,
    RingRef,
    RuleSize,
    StartRing,
    Step,
    list_rules,
    load_rule,
    wrapped,
)
from ringwright.weaves.family import FAMILIES
from ringwright.weaves.reading.keys import MOST_BYTES, REPEAT_KEYS
from tests.small_rules import KEY_LINES, SMALL_RULES

SETTINGS = settings(
    derandomize=True,
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
BARREL = (Path(weaves.__file__).parent / "barrel.toml").read_text(encoding="utf-8")


@pytest.fixture
def rule_file(tmp_path):
    """Write a rule file with the given content and return its path."""

    def write(content):
        path = tmp_path / "mine.toml"
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write


def changed(old, new, nth=0):
    """The barrel rule with one passage changed (the ``nth`` if it occurs several times)."""
    parts = BARREL.split(old)
    assert len(parts) > nth + 1, old
    return old.join(parts[: nth + 1]) + new + old.join(parts[nth + 1 :])


CHAIN, SCREW, SHEET, PIECE = (SMALL_RULES[name] for name in ("chain", "screw", "sheet", "piece"))
# A tube need not turn.
TURN = "turn_degrees = 0\n"
TUBE = SMALL_RULES["tube"].replace(KEY_LINES["turn_degrees"], TURN)


def with_change(text, old, new):
    assert old in text, old
    return text.replace(old, new, 1)


def refusal(path):
    with pytest.raises(BadInput) as caught:
        load_rule(path)
    message = str(caught.value)
    assert message.isprintable()
    return message


# --- the rules that come with the package ---------------------------------------------


def test_the_shipped_rules_load_and_are_sorted_by_name():
    names = [rule.name for rule in list_rules()]
    assert {"barrel", "one-in-one"} <= set(names)
    assert names == sorted(set(names))


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_a_shipped_rule_goes_by_its_name_its_trade_names_and_its_path(rule):
    for name in (rule.name, *rule.trade_names):
        assert load_rule(name) is rule
    assert load_rule(rule.path) == rule
    assert load_rule(str(rule.path)) == rule


@pytest.mark.parametrize("rule", list_rules(), ids=lambda rule: rule.name)
def test_the_steps_of_a_shipped_rule_make_exactly_its_links(rule):
    def pair(one, other):
        ahead = (other.image[0] - one.image[0], other.image[1] - one.image[1])
        back = (-ahead[0], -ahead[1])
        if rule.family.closes_round:
            ahead, back = wrapped(ahead, rule.around), wrapped(back, rule.around)
        return frozenset({(one.name, other.name, ahead), (other.name, one.name, back)})

    made = [pair(step.ring, ref) for step in rule.steps for ref in step.through]
    listed = [pair(link.first, link.second) for link in rule.links]
    assert sorted(made, key=sorted) == sorted(listed, key=sorted)
    assert all(link.first.image == (0, 0) for link in rule.links)


@pytest.mark.parametrize("name", ["BARREL", " barrel ", "Barrel_Weave", "barrel-chain"])
def test_capitals_and_spacing_of_a_name_do_not_matter(name):
    assert load_rule(name).name == "barrel"


def test_the_barrel_rule_says_what_its_file_says():
    rule = load_rule("barrel")
    assert [(ring.name, ring.role) for ring in rule.rings] == [
        ("B", "open"),
        ("C1", "closed"),
        ("C2", "closed"),
        ("D", "open"),
        ("E", "open"),
    ]
    assert rule.rings[1].centre == (-0.15, 0.0, 0.0)
    assert (rule.family.name, rule.turn, rule.around) == ("chain", 0.0, 1)
    assert rule.repeat_vectors == ((2.8, 0.0, 0.0),)
    assert all(ring.size is None for ring in rule.rings)
    common = rule.common_aspect_ratio
    assert (common.low, common.high) == (3.5, 4.7)
    assert common.provenance.startswith("source: Charlene Anderson")
    assert rule.start == (StartRing(RingRef("E", (-1, 0)), "closed"),)
    assert rule.steps[0] == Step(
        RingRef("B"), (RingRef("E", (-1, 0)), RingRef("C1"), RingRef("C2"))
    )
    assert Link(RingRef("B"), RingRef("E", (-1, 0))) in rule.links


@pytest.mark.parametrize("name", ["barel", "", "no such weave", "x" * 10_000, "barrel\x1b[31m"])
def test_an_unknown_name_is_refused_with_what_to_do(name):
    message = refusal(name)
    assert message.startswith("no weave is called '")
    assert "barrel" in message
    assert "path of a rule file" in message
    assert len(message) < 300


def test_a_near_name_is_suggested():
    assert "perhaps barrel is meant" in refusal("barel")


# --- spellings that mean the same -----------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('[{ name = "B" }, { name = "C1" }]', '["B", "C1"]'),
        ('[{ name = "B" }, { name = "C1" }]', '["C1", { name = "B", image = 0 }]'),
        ('[{ name = "B" }, { name = "E", image = -1 }]', '[{ name = "B", image = 1 }, "E"]'),
        (
            '[{ name = "B" }, { name = "E", image = -1 }]',
            '[{ name = "E", image = 2 }, { name = "B", image = 3 }]',
        ),
        ('ring = "B"', 'ring = { name = "B" }'),
        ("repeat_vector = [2.8, 0.0, 0.0]", "repeat_vector = [2.8, 0, 0]"),
        ("\n", "\r\n"),
        ("# Barrel", "\ufeff# Barrel"),
    ],
)
def test_two_spellings_of_a_rule_load_the_same(rule_file, old, new):
    text = BARREL.replace(old, new) if old == "\n" else changed(old, new)
    mine, shipped = load_rule(rule_file(text)), load_rule("barrel")
    assert mine.links == shipped.links
    assert mine.steps == shipped.steps
    assert mine.repeat_vectors == shipped.repeat_vectors


def test_a_rule_may_leave_out_the_common_aspect_ratio(rule_file):
    table = BARREL[BARREL.index("[common_aspect") : BARREL.index("# The end ring")]
    assert load_rule(rule_file(BARREL.replace(table, ""))).common_aspect_ratio is None


def test_a_ring_may_be_linked_to_its_own_next_image(rule_file):
    rule = load_rule(
        rule_file(
            """
            name = "own chain"
            trade_names = []
            summary = "every ring goes through the one before"
            family = "chain"
            repeat_vector = [1.3, 0, 0]
            ring = [{ name = "A", role = "open", centre = [0, 0, 0], axis = [0, 1, 1] }]
            link = [{ rings = [{ name = "A", image = 2 }, { name = "A", image = 1 }] }]
            start = [{ ring = { name = "A", image = -1 }, role = "closed" }]
            step = [{ ring = "A", through = [{ name = "A", image = -1 }] }]
            """
        )
    )
    assert rule.links == (Link(RingRef("A"), RingRef("A", (1, 0))),)


# --- one thing wrong in the barrel rule -----------------------------------------------

LINK_B_C1 = 'rings = [{ name = "B" }, { name = "C1" }]'
STEP_B = 'through = [{ name = "E", image = -1 }, { name = "C1" }, { name = "C2" }]'
STEP_D = 'through = [{ name = "C1" }, { name = "C2" }, { name = "E", image = -1 }]'
LAST_STEP = BARREL[BARREL.index('[[step]]\nring = "E"') :]
START_E = '[[start]]\nring = { name = "E", image = -1 }'
RING_C1 = '[[ring]]\nname = "C1"'
PROVENANCE = next(line for line in BARREL.splitlines() if line.startswith("provenance"))
LAST_LINK = '[[link]]\nrings = [{ name = "E" }, { name = "D" }]'
A_LOOSE_RING = (
    '[[ring]]\nname = "L"\nrole = "open"\ncentre = [0, 0, 0]\naxis = [0, 0, 1]\n\n' + RING_C1
)

A_FAMILY = either([f'"{name}"' for name in FAMILIES])
CASES = [
    # unknown, missing and mistyped keys
    ('family = "chain"', 'famly = "chain"', "famly", "unknown key: perhaps family is meant"),
    ('family = "chain"', "", "family is missing", f"expected the family {A_FAMILY}"),
    ('family = "chain"', 'family = "cube"', "family is 'cube'", f"expected {A_FAMILY}"),
    ('family = "chain"', "family = 1", "family is 1", f"expected {A_FAMILY}"),
    ("low = 3.5", "lowest = 3.3", "common_aspect_ratio.lowest", "perhaps low is meant"),
    ('role = "closed"\ncentre', "centre", "ring[1].role", 'expected either "open" or "closed"'),
    ("axis = [1.0, 0.0, 0.0]\n", "", "ring[1].axis", "expected a list of three numbers"),
    ("centre = [-0.15, 0.0", "center = [-0.15, 0.0", "ring[1].center", "perhaps centre is meant"),
    ("low = 3.5", '"a\\nb" = 1', "common_aspect_ratio.'a\\nb'", "unknown key"),
    ('{ name = "E", image = -1 }', '{ name = "E", img = 1 }', "link[0].rings[1].img", "image"),
    ('{ name = "E", image = -1 }', "{ image = -1 }", "link[0].rings[1].name", "is missing"),
    # texts
    ('name = "barrel"', 'name = ""', "name is ''", "1 to 40 letters"),
    ('name = "barrel"', 'name = "../barrel"', "name is '../barrel'", "1 to 40 letters"),
    ('name = "barrel"', "name = 3", "name is 3", "1 to 40 letters"),
    ('summary = "pairs', 'summary = "\\u001b[31m', "summary is '\\x1b[31m", "printable"),
    ('"barrel chain"]', "7]", "trade_names[1] is 7", "expected a name"),
    ('trade_names = ["barrel weave", "barrel chain"]', 'trade_names = "x"', "trade_names", "list"),
    (PROVENANCE, 'provenance = "source: "', "provenance", "from"),
    (PROVENANCE, 'provenance = "a friend"', "'a friend'", "from"),
    # numbers
    ("low = 3.5", "low = true", "common_aspect_ratio.low is true", "a number from 1 to 50"),
    ("low = 3.5", "low = 0.9", "common_aspect_ratio.low is 0.9", "a number from 1 to 50"),
    ("low = 3.5", "low = 1979-05-27", "low is a date or time", "a number from 1 to 50"),
    ("high = 4.7", "high = 3.2", "high is 3.2", "a number from 3.5 to 50"),
    ("high = 4.7", "high = nan", "high is nan", "a number from 3.5 to 50"),
    ("[2.8, 0.0, 0.0]", "[-2.8, 0.0, 0.0]", "repeat_vector is [-2.8, 0, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[2.8, 0.1, 0.0]", "repeat_vector is [2.8, 0.1, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[0, 0, 0]", "repeat_vector is [0, 0, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[2.8, 0.0]", "repeat_vector is a list of 2", "three numbers"),
    ("[2.8, 0.0, 0.0]", "2.8", "repeat_vector is 2.8", "three numbers"),
    (
        "centre = [-0.15, 0.0, 0.0]",
        "centre = [0, inf, 0]",
        "ring[1].centre[1]",
        "is inf, expected a number from -100 to 100",
    ),
    (
        "centre = [-0.15, 0.0, 0.0]",
        "centre = [0, 101, 0]",
        "ring[1].centre[1]",
        "is 101, expected a number from -100 to 100",
    ),
    (
        "centre = [-0.15, 0.0, 0.0]",
        "centre = [0, '1', 0]",
        "ring[1].centre[1]",
        "is '1', expected a number from -100 to 100",
    ),
    (
        "centre = [-0.15, 0.0, 0.0]",
        f"centre = [0, 0x{'f' * 300}, 0]",
        "ring[1].centre[1] ([[ring]] number 2) is a huge whole number",
        "-100",
    ),
    ("axis = [1.0, 0.0, 0.0]", "axis = [0, 0, 0]", "ring[1].axis", "zero, expected a direction"),
    ("image = -1", "image = -1.0", "link[0].rings[1].image", "is -1.0, expected a whole number"),
    ("image = -1", "image = true", "link[0].rings[1].image", "is true, expected a whole number"),
    ("image = -1", "image = -4", "link[0].rings[1].image", "a whole number from -3 to 3"),
    # rings
    ('name = "C1"\nrole', 'name = "1C"\nrole', "ring[1].name", "a letter followed by"),
    ('name = "C1"\nrole', 'name = "C1/../x"\nrole', "ring[1].name", "a letter followed by"),
    ('name = "C1"\nrole', f'name = "{"C" * 17}"\nrole', "ring[1].name", "up to 15"),
    ('name = "C1"\nrole', 'name = "B"\nrole', "ring[1].name", "is 'B' again"),
    ('role = "closed"\ncentre', 'role = "shut"\ncentre', "ring[1].role", '"open" or "closed"'),
    (RING_C1, A_LOOSE_RING, "link", "has no link for ring L"),
    # links
    (
        LINK_B_C1,
        'rings = ["B", "Q"]',
        "link[2].rings[1]",
        "is 'Q', expected one of the rings B, C1",
    ),
    (LINK_B_C1, 'rings = ["B"]', "link[2].rings", "is a list of 1, expected a list of two rings"),
    (LINK_B_C1, 'rings = ["B", 3]', "link[2].rings[1]", "is 3, expected a ring name, or {"),
    (LINK_B_C1, 'rings = ["B", "B"]', "link[2].rings", "a ring cannot be linked to itself"),
    (LINK_B_C1, 'rings = ["E", "B"]', "link[6].rings", "the same link as link[2]"),
    (
        LINK_B_C1,
        'rings = [{ name = "E", image = 1 }, { name = "B", image = 2 }]',
        "link[2].rings",
        "is E (image 1) and B (image 2), the same link as link[0]",
    ),
    (
        LINK_B_C1,
        'rings = [{ name = "B", image = 3 }, { name = "C1", image = -1 }]',
        "link[2].rings",
        "4 repeats apart: expected at most 3",
    ),
    (LAST_LINK, "", "step[2].through", "puts E through D, but no [[link]] joins these two"),
    # start
    (START_E, '[[start]]\nring = "E"', "start[0].ring", "needs an image below 0"),
    (START_E, START_E.replace("E", "Z"), "start[0].ring.name", "is 'Z', expected one of the rings"),
    (
        START_E,
        START_E.replace("-1", "-3"),
        "start[0].ring",
        "is E (image -3), which no link joins to the first repeat",
    ),
    (START_E, START_E + '\nrole = "open"\n' + START_E, "start[1].ring", "is E (image -1) again"),
    (
        START_E + '\nrole = "closed"',
        START_E + '\nrole = "?"',
        "start[0].role",
        '"open" or "closed"',
    ),
    # steps
    ('ring = "B"\n', 'ring = { name = "B", image = 1 }\n', "step[0].ring", "image 0"),
    ('ring = "B"\n', 'ring = "C1"\n', "step[0].ring", 'is C1, whose role is "closed"'),
    ('ring = "E"\n', 'ring = "B"\n', "step[2].ring", "is B, which an earlier step has added"),
    (STEP_B, "through = []", "step[0].through", "is a list of 0, expected a list of 1 to 60 rings"),
    (STEP_B, 'through = ["D"]', "step[0].through[0]", "is D, which is not there yet"),
    (STEP_B, 'through = ["B"]', "step[0].through[0]", "is B itself"),
    (STEP_B, 'through = ["C1", "C1"]', "step[0].through[1]", "is C1 again"),
    (
        STEP_B,
        'through = [{ name = "E", image = 1 }]',
        "step[0].through[0]",
        "is E (image 1), which is not there yet",
    ),
    (
        STEP_B,
        'through = [{ name = "D", image = -1 }]',
        "step[0].through",
        "puts B through D (image -1), but no [[link]] joins these two",
    ),
    (STEP_D, 'through = ["C1", "C2"]', "step", "never makes link[1] of D and E (image -1)"),
    (LAST_STEP, "", "step", "never adds the open ring E"),
]


@pytest.mark.parametrize(("old", "new", "key", "reason"), CASES)
def test_a_broken_rule_is_refused_by_file_key_and_reason(rule_file, old, new, key, reason):
    path = rule_file(changed(old, new))
    message = refusal(path)
    assert message.startswith(f"weave file {str(path)!r}: ")
    assert key in message
    assert reason in message


def test_an_entry_of_a_list_is_also_counted_from_one(rule_file):
    message = refusal(rule_file(changed("axis = [1.0, 0.0, 0.0]", "axis = 5", nth=1)))
    assert "ring[2].axis ([[ring]] number 3) is 5, expected a list of three numbers" in message


def test_a_closed_ring_that_no_step_carries_in_is_refused(rule_file):
    text = changed(STEP_B, 'through = [{ name = "E", image = -1 }, "C2"]')
    text = text.replace(STEP_D, 'through = ["C2", { name = "E", image = -1 }]')
    text = text.replace('around = ["C1", "C2"]', 'around = ["C2"]')
    assert "step never carries in the closed ring C1" in refusal(rule_file(text))


def two_rings(link):
    """A small rule of two open rings whose links are up to the test."""
    return f"""
        name = "two"
        trade_names = []
        summary = "two rings"
        family = "chain"
        repeat_vector = [2, 0, 0]
        ring = [
            {{ name = "A", role = "open", centre = [0, 0, 0], axis = [0, 0, 1] }},
            {{ name = "B", role = "open", centre = [1, 0, 0], axis = [0, 1, 0] }},
        ]
        link = [{link}]
        start = [{{ ring = {{ name = "A", image = -1 }}, role = "closed" }}]
        step = [{{ ring = "A", through = ["B"] }}]
        """


@pytest.mark.parametrize(
    ("link", "reason"),
    [
        ('{ rings = ["A", "B"] }', "joins no repeat to the next"),
        (
            '{ rings = ["A", "B"] }, { rings = ["A", { name = "B", image = 2 }] }',
            "joins only repeats that are 2 apart",
        ),
        (
            '{ rings = ["A", { name = "A", image = 1 }] }, '
            '{ rings = ["B", { name = "B", image = 1 }] }',
            "joins ring B to some rings but never to A",
        ),
    ],
)
def test_a_chain_that_would_come_apart_is_refused(rule_file, link, reason):
    message = refusal(rule_file(two_rings(link)))
    assert f": link {reason}" in message
    assert "come apart" in message


@pytest.mark.parametrize(("kind", "most"), [("ring", 60), ("link", 600), ("step", 60)])
def test_lists_are_bounded(rule_file, kind, most):
    cut = BARREL.index(f"[[{kind}]]")
    path = rule_file(BARREL[:cut] + f"[[{kind}]]\n" * (most + 1) + BARREL[cut:])
    assert f"{kind} is a list of" in refusal(path)
    assert f"expected a list of 1 to {most} [[{kind}]] tables" in refusal(path)


# --- the families -----------------------------------------------------------------------


@pytest.mark.parametrize("family", FAMILIES)
def test_a_rule_of_every_family_loads(rule_file, family):
    rule = load_rule(rule_file(SMALL_RULES[family]))
    assert rule.family is FAMILIES[family]
    assert [ring.name for ring in rule.rings] == ["A", "B"]
    assert len(rule.links) == 1 + rule.family.image_numbers
    assert rule.links[0] == Link(RingRef("A"), RingRef("B"))


def test_a_screw_repeats_along_x_and_turns(rule_file):
    rule = load_rule(rule_file(SCREW))
    assert rule.repeat_vectors == ((2.4, 0.0, 0.0),)
    assert rule.turn == pytest.approx(math.pi / 5)
    assert rule.around == 1
    left_handed = load_rule(rule_file(with_change(SCREW, "36.0", "-179.5")))
    assert left_handed.turn == pytest.approx(-math.radians(179.5))


def test_a_sheet_repeats_along_two_vectors(rule_file):
    rule = load_rule(rule_file(SHEET))
    assert rule.repeat_vectors == ((2.0, 0.0, 0.0), (0.5, 1.5, 0.0))
    assert (rule.turn, rule.around, rule.start) == (0.0, 1, ())
    assert Link(RingRef("A"), RingRef("B", (0, -1))) in rule.links


def test_a_tube_repeats_along_x_and_around_it(rule_file):
    rule = load_rule(rule_file(TUBE))
    assert rule.repeat_vectors == ((2.4, 0.0, 0.0),)
    assert (rule.turn, rule.around, rule.start) == (0.0, 5, ())
    turned = load_rule(rule_file(with_change(TUBE, "turn_degrees = 0", "turn_degrees = -12")))
    assert turned.turn == pytest.approx(-math.pi / 15)


def test_a_piece_does_not_repeat(rule_file):
    for text in (PIECE, PIECE + "start = []\n"):
        rule = load_rule(rule_file(text))
        assert (rule.repeat_vectors, rule.turn, rule.around, rule.start) == ((), 0.0, 1, ())
        assert rule.steps == (Step(RingRef("A"), (RingRef("B"),)),)


# Every key that says how a unit repeats, and the families it belongs to.
OWNERS = {
    key: [name for name, family in FAMILIES.items() if key in family.keys] for key in REPEAT_KEYS
}


@pytest.mark.parametrize("key", OWNERS)
@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_has_all_its_own_keys_and_no_others(rule_file, family, key):
    text, line = SMALL_RULES[family], KEY_LINES[key]
    if family in OWNERS[key]:
        message = refusal(rule_file(with_change(text, line, "")))
        assert f": {key} is missing: expected " in message
    else:
        message = refusal(rule_file(with_change(text, "family", f"{line}family")))
        assert f": {key} belongs to the family " in message
        assert all(f'"{owner}"' in message for owner in OWNERS[key])
        assert f'but this rule\'s family is "{family}"' in message


AROUND = KEY_LINES["around"]
IMAGE_B = '{ name = "B", image = -1 }'
IMAGE_ALONG = '{ name = "B", image = [-1, 0] }'
IMAGE_ACROSS = '{ name = "B", image = [0, -1] }'
START_B = "start = [{ ring = "
FAMILY_CASES = [
    # measures
    (SCREW, "36.0", "0.0", "turn_degrees is 0.0", "above -180 and below 180 other than 0"),
    (SCREW, "36.0", "180", "turn_degrees is 180", "above -180 and below 180"),
    (SCREW, "36.0", "-180.0", "turn_degrees is -180.0", "above -180 and below 180"),
    (SCREW, "36.0", "nan", "turn_degrees is nan", "above -180 and below 180"),
    (SCREW, "36.0", "true", "turn_degrees is true", "above -180 and below 180"),
    (TUBE, TURN, "turn_degrees = 400\n", "turn_degrees is 400", "above -180 and below 180"),
    (TUBE, AROUND, "around = 1\n", "around is 1", "a whole number from 2 to 60"),
    (TUBE, AROUND, "around = 61\n", "around is 61", "a whole number from 2 to 60"),
    (TUBE, AROUND, "around = 5.0\n", "around is 5.0", "a whole number from 2 to 60"),
    (SHEET, "[2, 0, 0]", "[2, 1, 0]", "repeat_vectors[0] is [2, 1, 0]", "expected along +x"),
    (SHEET, "[2, 0, 0]", "[0, 0, 0]", "repeat_vectors[0] is [0, 0, 0]", "expected along +x"),
    (SHEET, "[0.5, 1.5, 0]", "[0.5, 0, 0]", "repeat_vectors[1] is [0.5, 0, 0]", "towards +y"),
    (SHEET, "[0.5, 1.5, 0]", "[0.5, -1, 0]", "repeat_vectors[1] is [0.5, -1, 0]", "towards +y"),
    (SHEET, "[0.5, 1.5, 0]", "[0, 1, 1]", "repeat_vectors[1] is [0, 1, 1]", "towards +y"),
    (SHEET, "[0.5, 1.5, 0]", "[0, 1]", "repeat_vectors[1] is a list of 2", "three numbers"),
    (SHEET, ", [0.5, 1.5, 0]]", "]", "repeat_vectors is a list of 1", "two lists"),
    # images
    (SCREW, IMAGE_B, IMAGE_ALONG, "link[1].rings[1].image", "expected a whole number"),
    (SHEET, IMAGE_ALONG, IMAGE_B, "link[1].rings[1].image", "is -1, expected a list of two"),
    (SHEET, "image = [-1, 0]", "image = [-1]", "link[1].rings[1].image", "is a list of 1"),
    (SHEET, "image = [-1, 0]", "image = [-4, 0]", "link[1].rings[1].image[0]", "from -3 to 3"),
    (SHEET, "image = [-1, 0]", "image = [0, 4]", "link[1].rings[1].image[1]", "from -3 to 3"),
    (SHEET, "image = [-1, 0]", "image = [0, 1.0]", "link[1].rings[1].image[1]", "is 1.0"),
    (SHEET, IMAGE_ALONG, "3", "link[1].rings[1]", '{ name = "A", image = [-1, 0] }'),
    (TUBE, "image = [-1, 0]", "image = [0, 5]", "link[1].rings[1].image[1]", "from -4 to 4"),
    (
        TUBE.replace(AROUND, "around = 12\n"),
        "image = [-1, 0]",
        "image = [0, 5]",
        "link[1].rings[1].image[1]",
        "is 5, expected one at most 3 units away around the tube of 12",
    ),
    (
        PIECE,
        '["A", "B"]',
        '["A", { name = "B", image = 0 }]',
        "link[0].rings[1].image",
        "no repeats",
    ),
    (PIECE, '["A", "B"]', '["A", 3]', "link[0].rings[1]", "is 3, expected a ring name"),
    # links
    (SHEET, '["A", "B"]', '["B", "B"]', "link[0].rings", "cannot be linked to itself"),
    (
        TUBE,
        '["A", "B"]',
        '["A", { name = "B", image = [0, 4] }]',
        "link[2].rings",
        "is A and B (image [0, -1]), the same link as link[0]",
    ),
    (
        TUBE.replace(AROUND, "around = 3\n"),
        '["A", "B"]',
        '["B", { name = "B", image = [0, 3] }]',
        "link[0].rings",
        "cannot be linked to itself",
    ),
    (
        SHEET,
        '["A", "B"]',
        '[{ name = "A", image = [2, 3] }, { name = "B", image = [-2, 0] }]',
        "link[0].rings",
        "is A (image [2, 3]) and B (image [-2, 0]), [4, 3] repeats apart: "
        "expected at most 3 each way",
    ),
    # start
    (SCREW, START_B + IMAGE_B, START_B + '"B"', "start[0].ring", "in image 0: a ring there"),
    (SCREW, "start = ", "start = []\n#", "start is a list of 0", "expected a list of 1 to 60"),
    (SCREW, "start = ", "#", "start is missing", "a [[start]] table"),
    (
        SHEET + START_B + IMAGE_ALONG + ', role = "shut" }]',
        "",
        "",
        "start[0].role",
        '"open" or "closed"',
    ),
    (
        SHEET + START_B + '{ name = "B", image = [-1, 1] }, role = "closed" }]',
        "",
        "",
        "start[0].ring",
        "is B in image [-1, 1]: a ring there before the first repeat needs an image [k1, k2] "
        "with k2 below 0, or with k2 = 0 and k1 below 0",
    ),
    (
        SHEET + START_B + '{ name = "B", image = [0, -2] }, role = "closed" }]',
        "",
        "",
        "start[0].ring",
        "is B (image [0, -2]), which no link joins to the first repeat",
    ),
    (
        TUBE + START_B + IMAGE_ACROSS + ', role = "closed" }]',
        "",
        "",
        "start[0].ring",
        "is B in image [0, -1]: a ring there before the first repeat needs an image [k1, k2] "
        "with k1 below 0",
    ),
    (
        PIECE + 'start = [{ ring = "B", role = "closed" }]',
        "",
        "",
        "start[0].ring",
        'is B, but nothing is there before a "piece": leave [[start]] out',
    ),
    # steps
    (
        SHEET,
        'through = [\n    "B", ' + IMAGE_ALONG,
        'through = ["B", { name = "B", image = [1, 0] }',
        "step[0].through[1]",
        "is B (image [1, 0]), which is not there yet",
    ),
    (
        TUBE,
        'through = [\n    "B", ' + IMAGE_ALONG,
        'through = ["B", { name = "B", image = [1, 0] }',
        "step[0].through",
        "puts A through B (image [1, 0]), but no [[link]] joins these two",
    ),
    (
        TUBE,
        ', { name = "B", image = [0, -1] },\n] }]',
        "] }]",
        "step",
        "never makes link[2] of A and B (image [0, -1])",
    ),
    (TUBE, 'ring = "A"', 'ring = { name = "A", image = [0, 1] }', "step[0].ring", "image [0, 0]"),
]


@pytest.mark.parametrize(("text", "old", "new", "key", "reason"), FAMILY_CASES)
def test_a_broken_rule_of_any_family_is_refused(rule_file, text, old, new, key, reason):
    message = refusal(rule_file(with_change(text, old, new)))
    assert f": {key}" in message
    assert reason in message


@pytest.mark.parametrize("image", ["[-1, 0]", "[3, -1]", "[0, -1]"])
def test_a_sheet_may_start_beside_or_below_its_first_repeat(rule_file, image):
    text = SHEET.replace("[0, -1]", "[3, -1]") if image == "[3, -1]" else SHEET
    start = f'start = [{{ ring = {{ name = "B", image = {image} }}, role = "open" }}]'
    (ring,) = load_rule(rule_file(text + start)).start
    assert str(list(ring.ring.image)) == image
    assert ring.role == "open"


def test_a_tube_may_start_from_a_whole_round_before_it(rule_file):
    round_before = ", ".join(
        f'{{ ring = {{ name = "B", image = [-1, {k2}] }}, role = "closed" }}' for k2 in range(5)
    )
    text = with_change(TUBE, "image = [0, -1] }]", "image = [-1, -1] }]")
    text = with_change(text, "image = [0, -1] },\n", "image = [-1, -1] },\n")
    start = load_rule(rule_file(f"{text}start = [{round_before}]")).start
    assert [ring.ring.image for ring in start] == [(-1, 0), (-1, 1), (-1, 2), (-1, -2), (-1, -1)]


def test_the_last_unit_of_a_tube_goes_through_the_first(rule_file):
    closing = with_change(TUBE, IMAGE_ACROSS + ",\n] }]", '{ name = "B", image = [0, 4] }] }]')
    assert load_rule(rule_file(closing)).steps == load_rule(rule_file(TUBE)).steps


def test_in_a_tube_of_two_the_unit_before_is_the_one_after(rule_file):
    tube = TUBE.replace(AROUND, "around = 2\n")
    rule = load_rule(rule_file(tube))
    assert rule.links[2] == Link(RingRef("A"), RingRef("B", (0, 1)))
    assert rule == load_rule(rule_file(tube.replace("[0, -1]", "[0, 1]")))


# --- one way to write a link ----------------------------------------------------------

IMAGES = st.tuples(st.integers(-1, 1), st.integers(-1, 1))


def said_ref(name, image):
    return f'{{ name = "{name}", image = [{image[0]}, {image[1]}] }}'


@SETTINGS
@given(
    around=st.sampled_from([None, 2, 3, 4, 5, 6, 7]),
    other=st.sampled_from("AB"),
    apart=IMAGES,
    moved=IMAGES,
    wraps=st.integers(0, 1),
    swapped=st.booleans(),
)
def test_no_spelling_of_a_link_passes_for_another(
    rule_file, around, other, apart, moved, wraps, swapped
):
    """A link, moved by some repeats, wound once around and reversed, is the same link."""
    if other == "A" and (wrapped(apart, around) if around else apart) == (0, 0):
        return
    end = (apart[0] + moved[0], apart[1] + moved[1])
    if around and abs(end[1] - around * wraps) < max(4, around):
        end = (end[0], end[1] - around * wraps)
    one, two = said_ref("A", moved), said_ref(other, end)
    pairs = [
        f'["A", {said_ref(other, apart)}]',
        f"[{two}, {one}]" if swapped else f"[{one}, {two}]",
    ]
    text = TUBE.replace(AROUND, f"around = {around}\n") if around else SHEET
    head = text[: text.index("link = ")]
    links = ", ".join(f"{{ rings = {pair} }}" for pair in pairs)
    step = 'step = [{ ring = "A", through = ["B"] }]'
    message = refusal(rule_file(f"{head}link = [{links}]\n{step}"))
    assert "link[1].rings" in message
    assert "the same link as link[0]: give every link once" in message


@pytest.mark.parametrize(
    ("text", "image", "stored"),
    [
        (SHEET, (0, -1), (0, 1)),
        (SHEET, (1, -1), (-1, 1)),
        (SHEET, (-2, 0), (2, 0)),
        (TUBE, (0, -1), (0, 1)),
        (TUBE, (0, 4), (0, 1)),
        (TUBE, (0, 3), (0, 2)),
        (TUBE.replace(AROUND, "around = 4\n"), (-1, 2), (1, 2)),
        (TUBE.replace(AROUND, "around = 2\n"), (-1, -1), (1, 1)),
    ],
)
def test_of_two_images_of_a_ring_the_later_is_second(rule_file, text, image, stored):
    link = f'link = [{{ rings = ["A", {said_ref("A", image)}] }},'
    step = f"through = [{said_ref('A', image)},"
    rule = load_rule(rule_file(text.replace("link = [", link).replace("through = [", step)))
    assert rule.links[0] == Link(RingRef("A"), RingRef("A", stored))


@given(k1=st.integers(-9, 9), k2=st.integers(-200, 200), around=st.integers(2, 60))
@settings(derandomize=True, deadline=None)
def test_an_image_is_wrapped_the_shorter_way_around(k1, k2, around):
    same, shorter = wrapped((k1, k2), around)
    assert same == k1
    assert -around < 2 * shorter <= around
    assert (shorter - k2) % around == 0


# --- one piece or several -------------------------------------------------------------


def reaches_every_image(family, around, steps):
    """Whether walking by the steps and back leads to both neighbours, by trying it out.

    The walk keeps to 12 images each way, which is far more than steps of up to 2
    need to come back from.
    """
    found, edge = {(0, 0)}, [(0, 0)]
    for k1, k2 in edge:
        for d1, d2 in [*steps, *((-a, -b) for a, b in steps)]:
            there = (k1 + d1, k2 + d2)
            if family.closes_round:
                there = wrapped(there, around)
            if max(map(abs, there)) <= 12 and there not in found:
                found.add(there)
                edge.append(there)
    return {(1, 0), wrapped((0, 1), around) if family.closes_round else (0, 1)} <= found


@SETTINGS
@given(
    family=st.sampled_from([one for one in FAMILIES.values() if one.image_numbers == 2]),
    around=st.integers(2, 6),
    images=st.lists(
        st.tuples(st.integers(-2, 0), st.integers(-2, 2)), min_size=1, max_size=3, unique=True
    ),
)
def test_a_weave_is_one_piece_if_its_links_lead_to_every_image(rule_file, family, around, images):
    text = SMALL_RULES[family.name].replace(AROUND, f"around = {around}\n")
    if family.closes_round:
        images = list(dict.fromkeys(wrapped(image, around) for image in images))
    images = [image for image in images if image != (0, 0)]
    refs = ['"B"', *(said_ref("B", image) for image in images)]
    head = text[: text.index("link = ")]
    links = ", ".join(f'{{ rings = ["A", {ref}] }}' for ref in refs)
    step = f'step = [{{ ring = "A", through = [{", ".join(refs)}] }}]'
    outcome = rule_or_refusal(rule_file(f"{head}link = [{links}]\n{step}"))
    apart = isinstance(outcome, str) and "the weave would come apart" in outcome
    assert apart != reaches_every_image(family, around, images)


@pytest.mark.parametrize(
    ("text", "images", "reason"),
    [
        (SHEET, [(-1, 0)], "does not join the repeats both along and across"),
        (SHEET, [(-1, 0), (0, -2)], "leaves the repeats in 2 sets that no link joins"),
        (TUBE, [(0, -1)], "does not join the repeats both along and across"),
        (TUBE, [(-2, 0), (0, -1)], "leaves the repeats in 2 sets that no link joins"),
        (TUBE, [(-1, 0)], "leaves the repeats in 5 sets that no link joins"),
    ],
)
def test_a_sheet_or_tube_that_would_come_apart_is_refused(rule_file, text, images, reason):
    links = ", ".join(
        f"{{ rings = [{ref}] }}"
        for ref in ['"A", "B"', *(f'"A", {said_ref("B", image)}' for image in images)]
    )
    head, tail = text[: text.index("link = ")], text[text.index("step = ") :]
    assert f": link {reason}: the weave would" in refusal(
        rule_file(f"{head}link = [{links}]\n{tail}")
    )


def test_a_tube_closes_around_by_steps_of_two_if_it_is_odd(rule_file):
    text = TUBE.replace("[0, -1]", "[0, -2]")
    assert load_rule(rule_file(text)).links[2] == Link(RingRef("A"), RingRef("B", (0, -2)))
    message = refusal(rule_file(text.replace(AROUND, "around = 6\n")))
    assert "leaves the repeats in 2 sets" in message


def test_a_piece_in_two_parts_is_refused(rule_file):
    two = (
        ', { name = "C", role = "open", centre = [5, 0, 0], axis = [0, 0, 1] }'
        ', { name = "D", role = "closed", centre = [6, 0, 0], axis = [0, 1, 0] },\n]\n\nlink = ['
        '{ rings = ["C", "D"] }, '
    )
    message = refusal(rule_file(with_change(PIECE, ",\n]\n\nlink = [", two)))
    assert "joins ring C to some rings but never to A: the weave would come apart" in message


# --- sizes ------------------------------------------------------------------------------

RING_B = 'name = "B", role = "closed",'


def sized(size, ring_size='"small"'):
    """The piece with one size, which ring B has."""
    text = with_change(PIECE, RING_B, f"{RING_B} size = {ring_size},")
    return f"{text}\n{size}\n"


def a_size(measures, name="small"):
    return f'[[size]]\nname = "{name}"\n{measures}\n'


@pytest.mark.parametrize(
    ("measures", "size"),
    [
        ("core = 0.7", RuleSize("small", 0.7, 1.0, None, None)),
        ("wire = 1.5", RuleSize("small", 1.0, 1.5, None, None)),
        ("core = 20\nwire = 0.01", RuleSize("small", 20.0, 0.01, None, None)),
        ("wire_mm = 0.8\ninner_mm = 3.2", RuleSize("small", 1.0, 1.0, 0.8, 3.2)),
        ("wire_mm = 50\ninner_mm = 500", RuleSize("small", 1.0, 1.0, 50.0, 500.0)),
    ],
)
def test_a_ring_may_have_a_size_of_its_own(rule_file, measures, size):
    rule = load_rule(rule_file(sized(a_size(measures))))
    assert [ring.size for ring in rule.rings] == [None, size]


def test_rings_of_any_family_and_several_sizes_may_be_mixed(rule_file):
    third = ' { name = "C", role = "closed", size = "fixed", centre = [1, 1, 0], axis = [0, 1, 0] }'
    for text in SMALL_RULES.values():
        text = with_change(text, RING_B, f'{RING_B} size = "small",')
        text = with_change(text, "\n]\n", f"\n{third},\n]\n")
        text = with_change(text, "link = [", 'link = [{ rings = ["A", "C"] }, ')
        text = with_change(text, "through = [", 'through = ["C", ')
        text += a_size("core = 0.5") + a_size("wire_mm = 1\ninner_mm = 5", name="fixed")
        rule = load_rule(rule_file(text))
        assert [ring.size and ring.size.name for ring in rule.rings] == [None, "small", "fixed"]


@pytest.mark.parametrize(
    ("text", "key", "reason"),
    [
        (sized(""), "ring[1].size ([[ring]] number 2)", "is 'small', expected the name of a [[s"),
        (sized(a_size("core = 2"), "3"), "ring[1].size", 'is 3, expected "small"'),
        (sized(a_size("core = 2"), '"smal"'), "ring[1].size", "is 'smal', expected \"small\""),
        (PIECE + a_size("core = 2"), "size", 'describes the size "small", which no [[ring]] has'),
        (
            sized(a_size("core = 2")).replace('name = "A",', 'name = "A", size = "small",', 1),
            "ring",
            "expected at least one ring of the first size",
        ),
        (sized(a_size("core = 2") * 2), "size[1].name", "is 'small' again"),
        (sized(a_size("core = 2", name="no name")), "size[0].name", "a letter followed by up to"),
        (sized("[[size]]\ncore = 2\n"), "size[0].name", "is missing"),
        (sized(a_size("corr = 2")), "size[0].corr", "perhaps core is meant"),
        (sized(a_size("core = 0")), "size[0].core", "is 0, expected a number above 0 and at most"),
        (sized(a_size("core = -1.5")), "size[0].core", "is -1.5, expected a number above 0"),
        (sized(a_size("wire = 20.1")), "size[0].wire", "is 20.1, expected a number above 0"),
        (sized(a_size("wire = inf")), "size[0].wire", "is inf, expected a number above 0"),
        (sized(a_size("wire = true")), "size[0].wire", "is true, expected a number above 0"),
        (sized(a_size("")), "size[0] ([[size]] number 1)", "has no measures: expected either core"),
        (sized(a_size("core = 1\nwire_mm = 1")), "size[0]", "has core and wire_mm: expected"),
        (
            sized(a_size("wire = 1\nwire_mm = 1\ninner_mm = 4")),
            "size[0]",
            "has wire and wire_mm: expected either core and wire",
        ),
        (sized(a_size("wire_mm = 1")), "size[0].inner_mm", "is missing: expected the inside in"),
        (sized(a_size("inner_mm = 1")), "size[0].wire_mm", "is missing: expected the wire in"),
        (
            sized(a_size("wire_mm = 0.04\ninner_mm = 4")),
            "size[0].wire_mm",
            "is 0.04, expected a number from 0.05 to 50",
        ),
        (
            sized(a_size("wire_mm = 1\ninner_mm = 501")),
            "size[0].inner_mm",
            "is 501, expected a number from 0.1 to 500",
        ),
        (sized(a_size("core = 2") * 21), "size", "is a list of 21, expected a list of 1 to 20"),
    ],
)
def test_a_broken_size_is_refused(rule_file, text, key, reason):
    message = refusal(rule_file(text))
    assert f": {key}" in message
    assert reason in message


# --- files that are no rule at all ----------------------------------------------------


def test_a_file_that_is_not_there_or_is_a_directory(tmp_path):
    assert "does not exist" in refusal(tmp_path / "nothing.toml")
    assert "is a folder" in refusal(tmp_path)
    assert "cannot be read" in refusal(f"{tmp_path}/a\0b.toml")
    assert "cannot be read" in refusal(f"{tmp_path}/{'x' * 5000}.toml")


def test_a_file_that_may_not_be_read(rule_file, monkeypatch):
    def denied(path, flags):
        raise PermissionError(13, "Permission denied", path)

    path = rule_file(BARREL)
    monkeypatch.setattr("ringwright.base.toml_file.os.open", denied)
    assert "cannot be read (Permission denied)" in refusal(path)


def test_a_pipe_is_refused_without_waiting_for_it(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    assert "is not a regular file" in refusal(tmp_path / "pipe.toml")


def test_an_endless_device_is_refused():
    assert "is not a regular file" in refusal("/dev/zero")


def test_a_huge_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "huge.toml"
    with path.open("wb") as stream:
        stream.truncate(1 << 40)
    assert f"but a weave rule has at most {MOST_BYTES}" in refusal(path)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"# a\nname = '\xff'\n", "is not UTF-8 text at line 2"),
        (BARREL.encode("utf-16"), "is not UTF-8 text at line 1"),
        ("name = 'x'\nfamily = \n", "is not valid TOML: Invalid value (at line 2, column 10)"),
        ("name = 'x'\nname = 'y'\n", "is not valid TOML"),
        ("when = 1979-99-99\n", "is not valid TOML"),
        ("\0", "is not valid TOML"),
        ("", "name is missing"),
        ("a=" + "[\n" * 100_000, "is nested too deeply"),
        ("a=1\n" + ".".join(["b"] * 100_000) + "=1", "has 200001 characters in line 2"),
    ],
)
def test_a_file_that_is_not_sound_toml(rule_file, content, reason):
    path = rule_file(content)
    message = refusal(path)
    assert message.startswith(f"weave file {str(path)!r}")
    assert reason in message


# --- anything at all ------------------------------------------------------------------


def rule_or_refusal(path):
    try:
        return load_rule(path)
    except BadInput as error:
        return str(error)


def check_loads_or_refuses(path):
    outcome = rule_or_refusal(path)
    if isinstance(outcome, str):
        assert outcome.isprintable()
        assert len(outcome) < 1500
    else:
        assert outcome.links
        assert all(math.isfinite(x) for ring in outcome.rings for x in ring.centre)


@SETTINGS
@given(content=st.binary(max_size=400) | st.text(max_size=400))
@example(content="a = 0x" + "f" * 300)
@example(content="[" * 390)
def test_any_file_is_a_rule_or_is_refused_in_one_line(rule_file, content):
    if isinstance(content, str):
        content = content.encode("utf-8", "surrogatepass")
    check_loads_or_refuses(rule_file(content))


LINES = [
    "ring = {}",
    "axis = {}",
    "rings = [[]]",
    "name = []",
    "image = 1e9",
    "around = 2",
    "turn_degrees = -1",
    "size = [{}]",
    "repeat_vectors = [[1, 0, 0], [0, 1, 0]]",
    "[[size]]\nname = 's'\ncore = 2",
    "size = 's'",
]


@SETTINGS
@given(
    text=st.sampled_from([BARREL, *SMALL_RULES.values()]),
    at=st.integers(0, 200),
    line=st.sampled_from(BARREL.split("\n"))
    | st.text(alphabet='abBCDE12=[]{}",.-\n ', max_size=30)
    | st.sampled_from([*LINES, *TUBE.split("\n")]),
)
def test_a_sound_rule_with_a_line_exchanged_loads_or_is_refused(rule_file, text, at, line):
    lines = text.split("\n")
    lines[at % len(lines)] = line
    check_loads_or_refuses(rule_file("\n".join(lines)))


VALUES = st.recursive(
    st.sampled_from(["true", "1", "-1", "1e400", "nan", "'B'", "'open'", "''", "07:32:00"]),
    lambda inner: (
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(st.sampled_from(["name", "image", "ring", "low"]), inner, max_size=2).map(
            lambda d: "{" + ", ".join(f"{k} = {v}" for k, v in d.items()) + "}"
        )
    ),
    max_leaves=6,
)


@SETTINGS
@given(text=st.sampled_from([BARREL, *SMALL_RULES.values()]), at=st.integers(0, 100), value=VALUES)
def test_a_sound_rule_with_any_value_exchanged_loads_or_is_refused(rule_file, text, at, value):
    parts = text.split(" = ")
    at = 1 + at % (len(parts) - 1)
    rest = parts[at].lstrip('"abcdefghijklmnopqrstuvwxyz')
    parts[at] = value + rest
    check_loads_or_refuses(rule_file(" = ".join(parts)))
