"""Rules that are another weave with rings doubled or of other sizes."""

import re
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.solver.placement import linked_pairs, placed_unit, rule_links
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule, load_steps, rule_from_text
from ringwright.weaves.writing import rule_text

RULES = Path(__file__).parents[2] / "weaves"
ROOMY = RingSize(0.9, 4.05)
HEAD = 'name = "mine"\nsummary = "a variation"\n'
DOUBLED = (
    HEAD
    + """like = "one-in-one"

[[change]]
ring = "X"
doubled = true

[[change]]
ring = "Y"
doubled = true
"""
)
SMALL = (
    HEAD
    + """like = "barrel"

[[size]]
name = "small"
core = 0.9
wire = 0.8

[[change]]
ring = "C1"
size = "small"

[[change]]
ring = "C2"
size = "small"
"""
)
STRIP_SECTIONS = """
[[section]]
weave = "barrel"
repeats = 2

[[section]]
weave = "one-in-one"
repeats = 1
core = 0.85
wire = 0.9

[[section]]
weave = "two-in-two"
repeats = 1
"""
STRIP = HEAD + STRIP_SECTIONS


def refusal(read, text):
    with pytest.raises(BadInput) as caught:
        read(text)
    assert str(caught.value).isprintable()
    return str(caught.value)


def test_the_simple_chain_doubled_is_the_double_chain(read):
    made, known = check(read(DOUBLED), ROOMY), check(load_rule("two-in-two"), ROOMY)
    assert made.tightest.aspect_ratio == pytest.approx(known.tightest.aspect_ratio, abs=1e-4)
    assert made.repeat_mm == pytest.approx(known.repeat_mm, abs=1e-4)
    assert len(made.rule.links) == len(known.rule.links)


def test_doubled_rings_are_linked_started_and_woven_as_the_one_they_stand_for(read):
    rule = read(DOUBLED)
    assert [ring.name for ring in rule.rings] == ["X", "X_2", "Y", "Y_2"]
    assert [start.ring.name for start in rule.start] == ["Y", "Y_2"]
    assert [step.ring.name for step in rule.steps] == ["X", "X_2"]
    assert len(rule.steps[0].through) == 4
    assert set(linked_pairs(placed_unit(rule, ROOMY))) == set(rule_links(rule))


def test_rings_get_other_sizes_and_the_range_of_the_other_weave_is_dropped(read):
    rule = read(SMALL)
    assert {ring.name: ring.size and ring.size.core for ring in rule.rings}["C1"] == 0.9
    assert rule.common_aspect_ratio is None
    assert set(linked_pairs(placed_unit(rule, ROOMY))) == set(rule_links(rule))
    # A variation may be varied in turn.
    again = read(HEAD + 'like = "mine.toml"\n[[change]]\nring = "C1"\nsize = "main"\n', "two.toml")
    assert [ring.name for ring in again.rings if ring.size] == ["C2"]


def test_metals_alone_are_a_variation_and_come_down_to_a_variation_of_it(read, tmp_path):
    text = HEAD + 'like = "barrel"\nmetals = "open=copper,closed=steel/brass"\n'
    rule = read(text)
    assert rule.metals == "open=copper,closed=steel/brass"
    assert rule.rings == load_rule("barrel").rings
    (tmp_path / "base.toml").write_text(text)
    assert read(SMALL.replace('"barrel"', '"base.toml"')).metals == rule.metals
    # Written out in full it says the same.
    (tmp_path / "full.toml").write_text(rule_text(rule))
    assert load_rule(tmp_path / "full.toml").metals == rule.metals


def test_a_variation_that_changes_nothing_is_refused(read):
    assert "changes nothing" in refusal(read, HEAD + 'like = "barrel"\n')


def test_a_sheet_may_be_doubled_too(read):
    sheet = HEAD + 'like = "European 4-in-1"\n[[change]]\nring = "Q"\ndoubled = true\n'
    rule = read(sheet)
    assert len(rule.links) == 8
    assert set(linked_pairs(placed_unit(rule, ROOMY))) == set(rule_links(rule))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('like = "barrel"', 'like = "barel"', "perhaps barrel is meant"),
        ('like = "barrel"', 'like = "../x.toml"', "a file in the same folder"),
        ('like = "barrel"', 'like = "mine.toml"', "leads on through 4 files"),
        ('like = "barrel"', 'like = "none.toml"', "does not exist"),
        ('like = "barrel"', "like = 3", "is 3, expected"),
        ('ring = "C2"', 'ring = "Q"', 'expected "B", "C1", "C2", "D" or "E"'),
        ('ring = "C2"', 'ring = "C1"', "is C1 again"),
        ('size = "small"\n\n', "\n", "changes nothing"),
        ('size = "small"\n\n', "doubled = 1\n\n", "expected true or false"),
        ('size = "small"\n\n', 'size = "big"\n\n', 'expected "small"'),
        ('name = "small"', 'name = "tiny"', 'expected "tiny"'),
        ('summary = "a variation"', "", "summary is missing"),
        ('summary = "a variation"', 'summary = "a"\nfamily = "chain"', "unknown key"),
    ],
)
def test_a_broken_variation_is_refused(read, old, new, said):
    assert old in SMALL
    assert said in refusal(read, SMALL.replace(old, new, 1))


def test_rings_without_a_placement_cannot_be_varied(read, tmp_path):
    steps = """name = "s"\ntrade_names = []\nsummary = "s"\nfamily = "piece"
ring = [{ name = "a", role = "open" }, { name = "b", role = "closed" }]
step = [{ ring = "a", through = ["b"] }]
"""
    (tmp_path / "steps.toml").write_text(steps)
    assert load_steps(tmp_path / "steps.toml").links
    said = refusal(read, HEAD + 'like = "steps.toml"\n[[change]]\nring = "a"\ndoubled = true\n')
    assert "has no placement" in said


def test_a_ring_is_not_given_a_name_that_is_taken(read):
    read(DOUBLED, "first.toml")
    said = refusal(read, HEAD + 'like = "first.toml"\n[[change]]\nring = "X"\ndoubled = true\n')
    assert "X_2 is taken" in said


@settings(
    derandomize=True,
    deadline=None,
    max_examples=150,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    text=st.sampled_from([DOUBLED, SMALL, STRIP]),
    at=st.integers(0, 30),
    line=st.sampled_from((DOUBLED + SMALL + STRIP_SECTIONS).split("\n"))
    | st.text(alphabet='abXY_2=[]{}"(),.-01 \n', max_size=30)
    | st.sampled_from(['like = "/etc/passwd"', "doubled = []", "change = {}", 'like = ".toml"']),
)
def test_a_variation_with_a_line_exchanged_is_read_or_refused(tmp_path, text, at, line):
    lines = text.split("\n")
    lines[at % len(lines)] = line
    path = tmp_path / "mine.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    outcome = rule_or_refusal(path)
    assert outcome.isprintable() if isinstance(outcome, str) else outcome.links


def rule_or_refusal(path):
    try:
        return load_rule(path)
    except BadInput as error:
        return str(error)


# --- lengths of chain joined -----------------------------------------------------------


def test_sections_are_joined_by_a_ring_through_both_ends(read):
    rule = read(STRIP)
    # 2 x 5 + 1, 2 + 1 and 4 + 2 rings, and two that join them.
    assert len(rule.rings) == 11 + 3 + 6 + 2
    assert (rule.family.name, rule.start) == ("piece", ())
    joints = {step.ring.name: {ref.name for ref in step.through} for step in rule.steps[-2:]}
    assert joints == {
        "J1": {"E_1_2", "Y_2_0"},
        "J2": {"Y_2_1", "Y1_3_0", "Y2_3_0"},
    }
    # The barrel has 8 links a repeat, the chain 2, the double chain 8; the joints have 5.
    assert len(rule.links) == 2 * 8 + 2 + 8 + 5
    assert set(linked_pairs(placed_unit(rule, ROOMY))) == set(rule_links(rule))


def test_a_section_has_rings_of_its_own_size(read):
    rule = read(STRIP)
    sizes = {ring.name: ring.size for ring in rule.rings}
    assert sizes["X_2_1"].core == 0.85
    assert sizes["X_2_1"].wire == 0.9
    assert sizes["E_1_2"] is sizes["J1"] is None


def test_every_open_ring_of_a_piece_is_woven_once_and_links_are_those_of_the_steps(read):
    rule = read(STRIP)
    steps = [step.ring.name for step in rule.steps]
    assert sorted(steps) == sorted(ring.name for ring in rule.rings if ring.role == "open")
    made = {frozenset((s.ring.name, ref.name)) for s in rule.steps for ref in s.through}
    assert made == {frozenset((one.first.name, one.second.name)) for one in rule.links}


def test_a_chain_joined_to_itself_rests_as_the_chain_does(read):
    text = HEAD + '[[section]]\nweave = "one-in-one"\nrepeats = 1\n' * 2
    report = check(read(text), ROOMY)
    assert report.can_be_woven
    # A chain of single rings exists from aspect ratio 2 on (a closed form).
    assert report.tightest.aspect_ratio == pytest.approx(2.0, abs=1e-3)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("repeats = 2", "repeats = 40", "a finished piece has at most 60"),
        ("repeats = 2", "repeats = 0", "a whole number from 1"),
        ('weave = "barrel"', 'weave = "european-4-in-1"', "only chains and spirals"),
        ('weave = "barrel"', 'weave = "barrl"', "perhaps barrel is meant"),
        ("core = 0.85", "core = -1", "a number above 0"),
        ('summary = "a variation"', 'summary = "a"\nlike = "barrel"', "unknown key"),
    ],
)
def test_sections_that_cannot_be_joined_are_refused(read, old, new, said):
    assert old in STRIP
    assert said in refusal(read, STRIP.replace(old, new, 1))


def test_a_piece_is_pulled_straight_by_its_ends(read):
    # Single rings one in one: each adds its inner diameter, exactly, the larger ones at the
    # ends included; the ends are two such rings, and three more lie between them.
    end = "[[section]]\nrings = 1\ncore = 1.2\nwire = 0.9\n"
    text = HEAD + end + '[[section]]\nweave = "one-in-one"\nrepeats = 1\n' + end
    rule = read(text)
    assert rule.ends == (("R1_1_1",), ("R1_3_1",))
    settled = settle(rule, ROOMY)
    rings = settled.unit.rings
    inside = 2 * (rings.core_radii - rings.wire_radii)
    x = {ring.name: place[0] for ring, place in zip(rule.rings, rings.centres, strict=True)}
    between = x["R1_3_1"] - x["R1_1_1"]
    ends = [ring.name in ("R1_1_1", "R1_3_1") for ring in rule.rings]
    assert between == pytest.approx(inside.sum() - inside[ends].sum() / 2, abs=1e-6)
    assert settled.certificate.residual < 1e-6


def test_ends_of_one_size_are_counted_together(read):
    end = "[[section]]\nrings = 1\ncore = 1.2\nwire = 0.9\n"
    rule = read(HEAD + end + '[[section]]\nweave = "one-in-one"\nrepeats = 1\n' + end)
    assert {ring.size.name for ring in rule.rings if ring.size is not None} == {"s1"}


def test_a_piece_of_steps_alone_keeps_its_ends(tmp_path):
    path = tmp_path / "mine.toml"
    text = """name = "row"
trade_names = []
summary = "two rings"
family = "piece"
ends = [["A"], ["B"]]

[[ring]]
name = "A"
role = "closed"

[[ring]]
name = "B"
role = "open"

[[step]]
ring = "B"
through = ["A"]
"""
    path.write_text(text, encoding="utf-8")
    assert load_steps(path).ends == (("A",), ("B",))
    path.write_text(text.replace('["B"]]', '["Q"]]'), encoding="utf-8")
    with pytest.raises(BadInput, match="no ring is called that"):
        load_steps(path)


def test_rings_side_by_side_are_a_section(read):
    text = STRIP + "\n[[section]]\nrings = 2\n"
    rule = read(text)
    last = rule.steps[-1]
    assert last.ring.name == "J3"
    assert {ref.name for ref in last.through} == {"Y1_3_1", "Y2_3_1", "R1_4_1", "R2_4_1"}
    assert rule.ends[1] == ("R1_4_1", "R2_4_1")


@pytest.mark.parametrize("weave", ["spiral-4-in-1", "half-persian-3-in-1", "helm-chain"])
def test_spirals_and_persian_chains_are_joined_too(read, weave):
    text = HEAD + f'[[section]]\nweave = "{weave}"\nrepeats = 3\n[[section]]\nrings = 1\n'
    rule = read(text)
    assert set(linked_pairs(placed_unit(rule, ROOMY))) == set(rule_links(rule))


@pytest.mark.parametrize(
    ("section", "said"),
    [
        ("rings = 5", "1 to 4"),
        ('rings = 1\nweave = "barrel"', "cannot stand beside rings"),
        ("rings = 1\nrepeats = 2", "cannot stand beside rings"),
        ("core = 1.2", "has no weave"),
        ('weave = "barrel"', "has no repeats"),
        ('weave = "box-chain"\nrepeats = 3', "cannot be joined to what comes before it"),
    ],
)
def test_sections_that_make_no_sense_are_refused(read, section, said):
    assert said in refusal(read, STRIP + f"\n[[section]]\n{section}\n")


@pytest.mark.parametrize(
    ("ends", "said"),
    [
        ('[["A"], ["Q"]]', "no ring is called that"),
        ('[["A"], ["A"]]', "a ring at both ends"),
        ('[["A"]]', "two lists"),
        ("[[], []]", "1 to 20 rings"),
    ],
)
def test_ends_that_are_none_are_refused(read, ends, said):
    text = (RULES / "three_ring_rosette.toml").read_text(encoding="utf-8")
    assert said in refusal(read, f"ends = {ends}\n" + text)


def test_the_rule_files_of_the_guide_can_be_read(tmp_path):
    text = (files("ringwright.guide") / "own-weaves.md").read_text(encoding="utf-8")
    examples = re.findall(r"```toml\n(.*?)```", text, re.DOTALL)
    assert len(examples) == 3
    for example in examples:
        (tmp_path / "mine.toml").write_text(example, encoding="utf-8")
        assert load_steps(tmp_path / "mine.toml").links


def test_a_text_is_read_as_a_file_is_but_leads_to_no_other_file(tmp_path, monkeypatch):
    file = tmp_path / "weave.toml"
    file.write_text(DOUBLED)
    monkeypatch.chdir(tmp_path)
    assert rule_from_text(DOUBLED) == load_rule(Path("weave.toml"))
    beside = DOUBLED.replace('"one-in-one"', '"weave.toml"')
    with pytest.raises(BadInput, match=r"like is 'weave.toml'.*comes with ringwright"):
        rule_from_text(beside)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (("#" * 399 + "\n") * 1000, "has .* bytes, but a weave rule has at most"),
        ("\ud800", "is not UTF-8"),
        ("like = [", "is not valid TOML"),
        ("", "name is missing"),
    ],
)
def test_a_text_that_is_no_rule_is_refused_with_a_sentence(text, said):
    with pytest.raises(BadInput, match=said):
        rule_from_text(text)
