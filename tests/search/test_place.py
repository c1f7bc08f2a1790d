"""Rules from assembly steps alone, and the placements found for them."""

import io
import json
from contextlib import redirect_stdout
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ringwright.answers.verdict import check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.geometry.lattice_kind import CHAIN
from ringwright.search.candidates import as_linked, find_candidates, mirror_image
from ringwright.search.embed import embedded, pattern
from ringwright.search.lays import grown, is_handed, mirrored, relabellings, same_lay, signed_cycles
from ringwright.solver.placement import (
    linked_pairs,
    placed_unit,
    ring_radii,
    rough_unit,
    rule_links,
)
from ringwright.weaves import load_rule, load_steps, without_placement
from ringwright.weaves.writing import kept_text, rule_text

SIZE = RingSize(0.9, 3.2)
ROOMY = RingSize(0.9, 4.05)
STEPS = """\
# Told by its steps alone.
name = "mine"
trade_names = []
summary = "each ring through the next"
family = "chain"  # goes on and on

[[ring]]  # the one that is opened
name = "a"
role = "open"

[[ring]]
name = "b"
role = "closed"  # carried in

[[start]]
ring = { name = "b", image = -1 }
role = "closed"

[[step]]
ring = "a"
through = [{ name = "b", image = -1 }, "b"]
"""


@pytest.fixture
def steps_file(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(STEPS, encoding="utf-8")
    return path


def refusal(path, text):
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load_steps(path)
    return str(caught.value)


def rule_or_refusal(path):
    try:
        return load_steps(path)
    except BadInput as error:
        return str(error)


# --- reading ---------------------------------------------------------------------------


def test_the_steps_say_which_rings_are_linked(steps_file):
    rule = load_steps(steps_file)
    shipped = load_rule("one-in-one")
    assert [ring.role for ring in rule.rings] == ["open", "closed"]
    assert len(rule.links) == len(shipped.links) == 2
    assert {link.second.image for link in rule.links} == {(0, 0), (-1, 0)}


@pytest.mark.parametrize("name", ["one-in-one", "two-in-two", "barrel", "european-4-in-1"])
def test_the_steps_of_a_shipped_rule_make_its_links(tmp_path, name):
    rule = load_rule(name)
    text = rule_text(rule)
    # As a person would do it: every line of the placement and every link deleted.
    for key in ("centre", "axis", "repeat_vector", "repeat_vectors"):
        text = "\n".join(line for line in text.split("\n") if not line.startswith(f"{key} ="))
    alone = "[[".join(part for part in text.split("[[") if not part.startswith("link]]"))
    path = tmp_path / "alone.toml"
    path.write_text(alone, encoding="utf-8")
    found = load_steps(path)
    assert set(rule_links(found)) == set(rule_links(rule))
    assert found.steps == rule.steps


def test_check_says_which_command_finds_a_placement(steps_file, capsys):
    assert main(["check", str(steps_file), "--wire", "0.9mm", "--ratio", "3.5"]) == 2
    said = capsys.readouterr().err
    assert "ringwright place" in said
    assert said.count("\n") == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('role = "open"\n', 'role = "open"\ncentre = [0, 0, 0]\n', "repeat_vector is missing"),
        (
            'role = "open"\n',
            'role = "open"\ncentre = [0,0,0]\naxis = [0,0,1]\n',
            "ringwright place",
        ),
        ('family = "chain"', 'repeat_vector = [2, 0, 0]\nfamily = "chain"', "ringwright place"),
        ('through = [{ name = "b", image = -1 }, "b"]', 'through = ["a", "b"]', "linked to itself"),
        ('through = [{ name = "b", image = -1 }, "b"]', 'through = ["b"]', "would come apart"),
        ("image = -1 }, ", "image = -4 }, ", "image"),
        ('[[step]]\nring = "a"', '[[link]]\nrings = ["a", "b"]\n[[step]]\nring = "a"', "apart"),
    ],
)
def test_half_a_placement_or_a_wrong_step_is_refused(steps_file, old, new, said):
    assert old in STEPS
    assert said in refusal(steps_file, STEPS.replace(old, new, 1))


@settings(
    derandomize=True,
    deadline=None,
    max_examples=200,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    at=st.integers(0, 40),
    line=st.sampled_from(STEPS.split("\n"))
    | st.text(alphabet='abcring=[]{}"(),.-01 \n', max_size=30)
    | st.sampled_from(["axis = [0, 0, 1]", "link = []", "around = 3", 'family = "tube"', "ring=1"]),
)
def test_a_rule_of_steps_with_a_line_exchanged_is_read_or_refused(steps_file, at, line):
    lines = STEPS.split("\n")
    lines[at % len(lines)] = line
    steps_file.write_text("\n".join(lines), encoding="utf-8")
    outcome = rule_or_refusal(steps_file)
    assert outcome.isprintable() if isinstance(outcome, str) else outcome.links


def test_a_rule_written_out_reads_as_it_was(tmp_path):
    for name in ("barrel", "european-4-in-1", "two-in-two"):
        rule = load_rule(name)
        path = tmp_path / "again.toml"
        path.write_text(rule_text(rule), encoding="utf-8")
        again = load_rule(path)
        assert again.rings == rule.rings
        assert again.links == rule.links
        assert again.steps == rule.steps
        assert again.common_aspect_ratio == rule.common_aspect_ratio


def read_back(path):
    def read(text):
        path.write_text(text, encoding="utf-8")
        try:
            return load_rule(path)
        except BadInput:
            return None

    return read


def test_a_placement_is_put_into_the_makers_own_file(steps_file, tmp_path):
    places = [((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), ((1.2, 0.0, 0.0), (0.0, 1.0, 0.0))]
    rule = load_steps(steps_file).placed(places, ((2.4, 0.0, 0.0),), 0.0)
    text = kept_text(rule, STEPS, read_back(tmp_path / "kept.toml"))
    for line in STEPS.split("\n"):
        assert line in text.split("\n")
    assert load_rule(tmp_path / "kept.toml").rings == rule.rings
    # Put in once more, another placement takes the place of the first.
    other = mirror_image(rule)
    again = kept_text(other, text, read_back(tmp_path / "kept.toml"))
    assert again.count("centre = ") == 2
    assert load_rule(tmp_path / "kept.toml").rings == other.rings


def test_a_file_whose_lines_cannot_be_kept_is_written_afresh(tmp_path):
    rule = load_rule("one-in-one")
    text = kept_text(rule, "ring = [{ name = 'X' }]", read_back(tmp_path / "kept.toml"))
    assert text == rule_text(rule)


# --- placements ------------------------------------------------------------------------


def wanted(name):
    rule = without_placement(load_rule(name))
    core, wire = ring_radii(rule, SIZE)
    links = set(rule_links(rule))
    return pattern((core, wire * 1e-3), (rule.family.lattice, rule.around), links), links


@pytest.mark.parametrize("name", ["one-in-one", "two-in-two", "barrel", "european-4-in-1"])
def test_a_random_placement_has_the_links_asked_for_and_no_others(name):
    want, links = wanted(name)
    for seed in (0, 1):
        unit = embedded(want, seed)
        assert set(linked_pairs(unit)) == links
        again = embedded(want, seed)
        assert (again.rings.centres == unit.rings.centres).all()


def test_links_that_round_rings_cannot_have_are_not_found():
    # A circle and the same circle moved lie in parallel planes, so they are never linked.
    want = pattern((np.ones(1), np.full(1, 1e-3)), (CHAIN, 1), {(0, 0, (1, 0))})
    assert embedded(want, 0) is None


@pytest.fixture(scope="module")
def hands():
    """The lay of the one-in-one chain that comes in two hands, and its usual lay."""
    want, _ = wanted("one-in-one")
    lays = [grown(embedded(want, seed), 0) for seed in range(6)]
    ordered = sorted(lays, key=lambda lay: lay.aspect_ratio)
    return ordered[0], ordered[-1]


def test_signed_threes_and_fours_are_those_counted_by_hand():
    # Of the double chain: each pair goes through the next the same way, so all fours are
    # positive. One ring of either pair twice gives 1 four between neighbouring pairs, of
    # which a repeat has 2, and two of one pair with one each of the pairs beside it give 4
    # more for each of its 2 pairs.
    unit = placed_unit(load_rule("two-in-two"), SIZE)
    assert signed_cycles(unit) == (0, 0, 10, 0)
    assert signed_cycles(placed_unit(load_rule("one-in-one"), SIZE)) == (0, 0, 0, 0)


def test_a_lay_and_its_mirror_image_are_one_lay_in_two_hands(hands):
    usual, twisted = hands
    # A straight chain of single rings closes down to aspect ratio 2 (a closed form: two
    # wires side by side in each eye), and is its own mirror image.
    assert usual.aspect_ratio == pytest.approx(2.0, abs=1e-4)
    assert not is_handed([usual])
    assert is_handed([twisted])
    assert not same_lay(usual, twisted)
    other = grown(mirrored(twisted.unit), 0)
    assert other.aspect_ratio == pytest.approx(twisted.aspect_ratio, abs=1e-6)
    assert same_lay(twisted, other)


@pytest.mark.parametrize("name", ["roundmaille", "box-chain", "barrel", "tight-spiral"])
def test_the_other_hand_of_a_weave_has_the_links_that_its_rule_lists(name):
    # Around a tube a mirror counts images the other way.
    rule = load_rule(name)
    other = as_linked(mirror_image(rule), SIZE)
    unit = rough_unit(other, SIZE)
    assert set(linked_pairs(unit)) == set(rule_links(rule))


def test_a_sheet_that_is_its_own_mirror_image_is_not_offered_in_two_hands():
    # Turned over, a European sheet is the same sheet with its two leaning rows exchanged.
    want, _ = wanted("european-4-in-1")
    lay = grown(embedded(want, 4), 0)
    assert lay.aspect_ratio == pytest.approx(2.9809, abs=1e-3)
    assert not is_handed([lay])


@pytest.mark.parametrize(
    ("name", "count"),
    # Counted by hand: a chain moved by half a repeat; both pairs turned round, and that
    # moved by half a repeat; stacked rings and side rings exchanged; rows exchanged.
    [("one-in-one", 2), ("two-in-two", 8), ("barrel", 4), ("european-4-in-1", 2)],
)
def test_rings_can_be_renamed_in_as_many_ways_as_the_weave_has_symmetries(name, count):
    unit = placed_unit(load_rule(name), ROOMY)
    found = relabellings(unit, most=99)
    assert len(set(found)) == len(found) == count


def test_a_captive_ring_that_no_other_goes_through_keeps_its_name():
    unit = placed_unit(load_rule("helm-chain"), ROOMY)
    captive = [ring.name for ring in load_rule("helm-chain").rings].index("F")
    found = relabellings(unit, most=99)
    # The two large rings of a pair, and the two small ones, may be exchanged.
    assert len(found) > 1
    assert {names[captive][0] for names in found} == {captive}


@pytest.mark.parametrize(
    ("name", "size", "tries"),
    [
        ("one-in-one", SIZE, 3),
        ("two-in-two", ROOMY, 10),
        ("european-4-in-1", ROOMY, 4),
        # The lay that makers weave, of the many with these links, by what its steps say of it.
        ("barrel", RingSize(1.0, 4.2), 30),
    ],
)
def test_the_known_weave_is_found_from_its_links_alone(name, size, tries):
    rule = load_rule(name)
    known = check(rule, size)
    found = find_candidates(without_placement(rule), size, lambda *_: None, 1, tries)
    (best,) = found.listed
    assert best.report.tightest.aspect_ratio == pytest.approx(known.tightest.aspect_ratio, abs=1e-3)
    if rule.family.name != "sheet":
        # A sheet's rows may come out along it or across it, and it is pulled along.
        assert best.report.repeat_mm == pytest.approx(known.repeat_mm, abs=2e-3)
    # What is offered is a rule as any other, its placement and its links checked anew.
    assert set(rule_links(best.rule)) == set(rule_links(rule))
    assert set(linked_pairs(placed_unit(best.rule, size))) == set(rule_links(rule))


def test_a_unit_of_many_rings_is_refused_with_the_limit():
    rule = without_placement(load_rule("barrel"))
    many = replace(rule, rings=rule.rings * 3)
    with pytest.raises(BadInput, match=r"15 rings in a repeat.*at most 12"):
        find_candidates(many, SIZE, lambda *_: None)
    for numbers, said in (((0, 5), "candidates 0"), ((3, 0), "tries 0")):
        with pytest.raises(BadInput, match=said):
            find_candidates(rule, SIZE, lambda *_: None, *numbers)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("place")
    (folder / "mine.toml").write_text(STEPS, encoding="utf-8")
    asked = [str(folder / "mine.toml"), "--wire", "0.9mm", "--inner", "3.2mm", "--json"]
    asked += ["--tries", "3", "--candidates", "2", "--keep", "1"]
    with redirect_stdout(io.StringIO()) as out:
        assert main(["place", *asked, "--out", str(folder / "out" / "mine")]) == 0
    return folder, json.loads(out.getvalue()), asked


class TestCommand:
    def test_every_candidate_is_a_rule_file_that_can_be_checked(self, made, capsys):
        _, facts, _ = made
        for one in facts["candidates"]:
            path = facts["files"]["rules"][str(one["number"])]
            assert main(["check", path, "--wire", "0.9mm", "--inner", "3.2mm", "--json"]) == 0
            assert json.loads(capsys.readouterr().out)["repeat_mm"] == pytest.approx(
                one["repeat_mm"], abs=1e-6
            )

    def test_the_one_to_keep_is_written_with_the_remarks_of_the_file(self, made):
        folder, facts, _ = made
        kept = folder / "out" / "mine.toml"
        assert facts["files"]["kept"] == str(kept)
        assert kept.read_text().startswith("# Told by its steps alone.\n")
        assert kept.read_text() == (folder / "out" / "mine-1.toml").read_text()
        assert (folder / "mine.toml").read_text() == STEPS

    def test_the_file_that_was_read_is_never_replaced(self, made, capsys):
        folder, _, asked = made
        assert main(["place", *asked, "--out", str(folder / "mine")]) == 2
        assert "is the rule file itself" in capsys.readouterr().err
        assert (folder / "mine.toml").read_text() == STEPS

    def test_a_candidate_that_cannot_be_among_those_asked_for(self, made, capsys):
        folder, _, asked = made
        assert main(["place", *asked, "--keep", "3", "--out", str(folder / "x")]) == 2
        assert "--keep 3 is not among" in capsys.readouterr().err
