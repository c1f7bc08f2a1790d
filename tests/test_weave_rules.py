"""Loading weave rules: the shipped ones, and everything that is wrong with others."""

import math
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

import weaves
from generator.errors import BadInput
from weaves import CommonRange, Link, RingRef, StartRing, Step, list_rules, load_rule
from weaves.loader import MOST_BYTES

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
        low = min(one.image, other.image)
        return frozenset({(one.name, one.image - low), (other.name, other.image - low)})

    made = [pair(step.ring, ref) for step in rule.steps for ref in step.through]
    listed = [pair(link.first, link.second) for link in rule.links]
    assert sorted(made, key=sorted) == sorted(listed, key=sorted)
    assert all(link.first.image == 0 for link in rule.links)


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
    assert rule.rings[1].centre == (0.0, 1.25, 0.0)
    assert rule.repeat_vector == (2.8, 0.0, 0.0)
    assert rule.common_aspect_ratio == CommonRange(3.3, 3.8, "common practice, no source")
    assert rule.start == (StartRing(RingRef("E", -1), "closed"),)
    assert rule.steps[0] == Step(RingRef("B"), (RingRef("E", -1), RingRef("C1"), RingRef("C2")))
    assert Link(RingRef("B"), RingRef("E", -1)) in rule.links


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
    assert mine.repeat_vector == shipped.repeat_vector


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
    assert rule.links == (Link(RingRef("A", 0), RingRef("A", 1)),)


# --- one thing wrong in the barrel rule -----------------------------------------------

LINK_B_C1 = 'rings = [{ name = "B" }, { name = "C1" }]'
STEP_B = 'through = [{ name = "E", image = -1 }, { name = "C1" }, { name = "C2" }]'
STEP_D = 'through = [{ name = "C1" }, { name = "C2" }, { name = "E", image = -1 }]'
STEP_E = 'through = [{ name = "B" }, { name = "D" }]'
START_E = '[[start]]\nring = { name = "E", image = -1 }'
RING_C1 = '[[ring]]\nname = "C1"'
LAST_LINK = '[[link]]\nrings = [{ name = "E" }, { name = "D" }]'
A_LOOSE_RING = (
    '[[ring]]\nname = "L"\nrole = "open"\ncentre = [0, 0, 0]\naxis = [0, 0, 1]\n\n' + RING_C1
)

CASES = [
    # unknown, missing and mistyped keys
    ('family = "chain"', 'famly = "chain"', "famly", "unknown key: perhaps family is meant"),
    ('family = "chain"', "", "family is missing", 'expected the family "chain"'),
    ('family = "chain"', 'family = "sheet"', "family is 'sheet'", 'expected "chain"'),
    ('family = "chain"', "family = 1", "family is 1", 'expected "chain"'),
    ("low = 3.3", "lowest = 3.3", "common_aspect_ratio.lowest", "perhaps low is meant"),
    ('role = "closed"\ncentre', "centre", "ring[1].role", 'expected either "open" or "closed"'),
    ("axis = [1.0, 0.0, 0.0]\n", "", "ring[1].axis", "expected a list of three numbers"),
    ("centre = [0.0, 1.25", "center = [0.0, 1.25", "ring[1].center", "perhaps centre is meant"),
    ("low = 3.3", '"a\\nb" = 1', "common_aspect_ratio.'a\\nb'", "unknown key"),
    ('{ name = "E", image = -1 }', '{ name = "E", img = 1 }', "link[0].rings[1].img", "image"),
    ('{ name = "E", image = -1 }', "{ image = -1 }", "link[0].rings[1].name", "is missing"),
    # texts
    ('name = "barrel"', 'name = ""', "name is ''", "1 to 40 letters"),
    ('name = "barrel"', 'name = "../barrel"', "name is '../barrel'", "1 to 40 letters"),
    ('name = "barrel"', "name = 3", "name is 3", "1 to 40 letters"),
    ('summary = "single', 'summary = "\\u001b[31m', "summary is '\\x1b[31m", "printable"),
    ('"barrel chain"]', "7]", "trade_names[1] is 7", "expected a name"),
    ('trade_names = ["barrel weave", "barrel chain"]', 'trade_names = "x"', "trade_names", "list"),
    ('provenance = "common practice, no source"', 'provenance = "source: "', "provenance", "from"),
    ('provenance = "common practice, no source"', 'provenance = "a friend"', "'a friend'", "from"),
    # numbers
    ("low = 3.3", "low = true", "common_aspect_ratio.low is true", "a number from 1 to 50"),
    ("low = 3.3", "low = 0.9", "common_aspect_ratio.low is 0.9", "a number from 1 to 50"),
    ("low = 3.3", "low = 1979-05-27", "low is a date or time", "a number from 1 to 50"),
    ("high = 3.8", "high = 3.2", "high is 3.2", "a number from 3.3 to 50"),
    ("high = 3.8", "high = nan", "high is nan", "a number from 3.3 to 50"),
    ("[2.8, 0.0, 0.0]", "[-2.8, 0.0, 0.0]", "repeat_vector is [-2.8, 0, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[2.8, 0.1, 0.0]", "repeat_vector is [2.8, 0.1, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[0, 0, 0]", "repeat_vector is [0, 0, 0]", "along +x"),
    ("[2.8, 0.0, 0.0]", "[2.8, 0.0]", "repeat_vector is a list of 2", "three numbers"),
    ("[2.8, 0.0, 0.0]", "2.8", "repeat_vector is 2.8", "three numbers"),
    (
        "centre = [0.0, 1.25, 0.0]",
        "centre = [0, inf, 0]",
        "ring[1].centre[1]",
        "is inf, expected a number from -100 to 100",
    ),
    (
        "centre = [0.0, 1.25, 0.0]",
        "centre = [0, 101, 0]",
        "ring[1].centre[1]",
        "is 101, expected a number from -100 to 100",
    ),
    (
        "centre = [0.0, 1.25, 0.0]",
        "centre = [0, '1', 0]",
        "ring[1].centre[1]",
        "is '1', expected a number from -100 to 100",
    ),
    (
        "centre = [0.0, 1.25, 0.0]",
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
    ('[[step]]\nring = "E"\n' + STEP_E, "", "step", "never adds the open ring E"),
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


# --- files that are no rule at all ----------------------------------------------------


def test_a_file_that_is_not_there_or_is_a_directory(tmp_path):
    assert "does not exist" in refusal(tmp_path / "nothing.toml")
    assert "is a directory" in refusal(tmp_path)
    assert "cannot be read" in refusal(f"{tmp_path}/a\0b.toml")
    assert "cannot be read" in refusal(f"{tmp_path}/{'x' * 5000}.toml")


def test_a_file_that_may_not_be_read(rule_file, monkeypatch):
    def denied(path, flags):
        raise PermissionError(13, "Permission denied", path)

    path = rule_file(BARREL)
    monkeypatch.setattr("weaves.loader.os.open", denied)
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
    assert f"but a rule has at most {MOST_BYTES}" in refusal(path)


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


@SETTINGS
@given(
    line=st.integers(0, BARREL.count("\n")),
    text=st.sampled_from(BARREL.split("\n"))
    | st.text(alphabet='abBCDE12=[]{}",.-\n ', max_size=30)
    | st.sampled_from(["ring = {}", "axis = {}", "rings = [[]]", "name = []", "image = 1e9"]),
)
def test_the_barrel_rule_with_a_line_exchanged_loads_or_is_refused(rule_file, line, text):
    lines = BARREL.split("\n")
    lines[line] = text
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
@given(
    line=st.sampled_from([n for n, x in enumerate(BARREL.split("\n")) if " = " in x]), value=VALUES
)
def test_the_barrel_rule_with_any_value_exchanged_loads_or_is_refused(rule_file, line, value):
    lines = BARREL.split("\n")
    lines[line] = f"{lines[line].split(' = ')[0]} = {value}"
    check_loads_or_refuses(rule_file("\n".join(lines)))
