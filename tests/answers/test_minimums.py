"""Computed minimums: read from a rule's file, written into it, and shown only where they hold."""

import json
from dataclasses import replace

import pytest

from ringwright.answers.minimums import kept_minimums, minimums, range_against_minimum
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.movement.assembly import working_minimum
from ringwright.solver.tightest import tightest
from ringwright.weaves import Minimums, load_rule, load_steps, without_placement
from ringwright.weaves.writing import kept_text, rule_text, with_minimums
from tests.tools.write_minimums import write_minimums

SIZE = RingSize(0.9, 3.6)
CHAIN = rule_text(load_rule("one-in-one"))
TABLE = "[computed]\ngeometric_minimum = 2.0\nworking_minimum = 2.03\n"
# The upright rings stay at 0.8 mm wire and 3 mm inside, whatever the flat ones are.
FIXED = (
    CHAIN.replace('name = "Y"\nrole = "closed"', 'name = "Y"\nrole = "closed"\nsize = "own"')
    + '\n[[size]]\nname = "own"\nwire_mm = 0.8\ninner_mm = 3.0\n'
)
FIXED_TABLE = TABLE + "wire_mm = 0.9\ninner_mm = 3.6\n"


def test_one_in_one_keeps_what_closed_forms_say(read):
    """Two wires side by side in an eye; a way in is found from hardly more on."""
    assert TABLE in CHAIN
    assert read(CHAIN).computed == Minimums(2.0, 2.03)
    assert minimums(load_rule("one-in-one"), SIZE) == Minimums(2.0, 2.03)


def test_a_rule_may_keep_none_or_the_geometric_one_alone(read):
    bare = read(CHAIN.replace(TABLE, ""))
    assert bare.computed is None
    assert range_against_minimum(bare) is None
    alone = read(CHAIN.replace("working_minimum = 2.03\n", ""))
    assert alone.computed == Minimums(2.0, None)
    assert range_against_minimum(alone) == pytest.approx(2.8 / 2.0 - 1)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("geometric_minimum = 2.0\n", "", "computed.geometric_minimum is missing"),
        ("= 2.0\n", "= true\n", "computed.geometric_minimum is true, expected a number"),
        ("= 2.0\n", "= nan\n", "computed.geometric_minimum is nan, expected a number"),
        ("= 2.0\n", "= 51\n", "computed.geometric_minimum is 51, expected a number from 0 to 50"),
        ("= 2.03\n", "= 1.9\n", "computed.working_minimum is 1.9, expected a number from 2 to 50"),
        ("= 2.03\n", '= "2.5"\n', "computed.working_minimum is '2.5', expected a number"),
        ("working_minimum", "working", "computed.working is an unknown key"),
        (TABLE, "computed = 2\n" + TABLE.replace("[computed]", "[x]"), "unknown key"),
        ("= 2.03\n", "= 2.03\nwire_mm = 0.9\n", "computed has wire_mm, but no ring of this rule"),
        ("high = 5.0\n", "high = 5.0\nnote = 3\n", "common_aspect_ratio.note is 3"),
        ("high = 5.0\n", f'high = 5.0\nnote = "{"x" * 301}"\n', "common_aspect_ratio.note"),
        ("high = 5.0\n", 'high = 5.0\nnote = "a\\u001b[31m"\n', "common_aspect_ratio.note"),
    ],
)
def test_what_is_no_minimum_is_refused_in_one_sentence(read, old, new, said):
    text = CHAIN if "note" not in new else bare_of_note(CHAIN)
    assert old in text
    with pytest.raises(BadInput) as refused:
        read(text.replace(old, new, 1))
    assert said in str(refused.value)
    assert str(refused.value).isprintable()


def bare_of_note(text):
    return "".join(
        line for line in text.splitlines(keepends=True) if not line.startswith("note = ")
    )


def test_with_rings_fixed_in_millimetres_it_says_for_which_main_ring(read):
    # Figures from before the rings got sizes of their own are not taken for theirs.
    assert read(FIXED).computed is None
    with pytest.raises(BadInput, match=r"computed\.inner_mm is missing"):
        read(FIXED.replace(TABLE, f"{TABLE}wire_mm = 0.9\n"))
    kept = read(FIXED.replace(TABLE, FIXED_TABLE)).computed
    assert (kept.wire_mm, kept.inner_mm) == (0.9, 3.6)


def test_a_variation_a_strip_and_another_placement_inherit_none(read):
    variation = 'name = "v"\nlike = "one-in-one"\nsummary = "s"\nmetals = "open=copper"\n'
    assert read(variation).computed is None
    assert read(variation + TABLE).computed == Minimums(2.0, 2.03)
    section = '[[section]]\nweave = "one-in-one"\nrepeats = 1\n'
    assert read(f'name = "s"\nsummary = "s"\n{section}{section}').computed is None
    rule = load_rule("one-in-one")
    places = [(ring.centre, ring.axis) for ring in rule.rings]
    assert without_placement(rule).placed(places, rule.repeat_vectors, 0.0).computed is None


def test_without_a_placement_they_are_read_and_dropped(tmp_path):
    placement = ("centre", "axis", "repeat_vector")
    text = "\n".join(line for line in CHAIN.splitlines() if not line.startswith(placement))
    path = tmp_path / "steps.toml"
    path.write_text(text)
    places = [((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)), ((1.2, 0.0, 0.0), (0.0, 1.0, 0.0))]
    assert load_steps(path).placed(places, ((2.4, 0.0, 0.0),), 0.0).computed is None
    path.write_text(text.replace("= 2.03", "= 1.5"))
    with pytest.raises(BadInput, match=r"computed\.working_minimum is 1\.5"):
        load_steps(path)


class TestWriting:
    def test_figures_come_and_go_and_remarks_stay(self):
        text = load_rule("barrel").path.read_text(encoding="utf-8")
        without = with_minimums(text, None)
        assert "[computed]" not in without
        assert with_minimums(without, load_rule("barrel").computed) == text
        other = with_minimums(text, Minimums(2.6, None))
        assert "geometric_minimum = 2.6\n\n" in other
        assert "working_minimum" not in other
        remarks = [line for line in text.splitlines() if line.startswith("#")]
        assert [line for line in other.splitlines() if line.startswith("#")] == remarks

    def test_without_a_common_range_they_stand_before_the_rings(self, read):
        text = load_rule("barrel").path.read_text(encoding="utf-8")
        head, rest = text.split("[common_aspect_ratio]")
        bare = head + rest[rest.index("# The end ring") :]
        assert read(with_minimums(bare, Minimums(2.5, 2.8))).computed == Minimums(2.5, 2.8)

    def test_a_rule_written_out_says_them_and_its_note(self, read):
        rule = load_rule("barrel")
        again = read(rule_text(rule))
        assert again.computed == rule.computed
        assert again.common_aspect_ratio == rule.common_aspect_ratio

    def test_another_placement_put_into_a_file_drops_them(self, read):
        rule = load_rule("barrel")
        text = kept_text(
            replace(rule, computed=None), rule.path.read_text(encoding="utf-8"), lambda t: read(t)
        )
        assert "[computed]" not in text
        assert "# The end ring of the repeat before" in text

    def test_the_developers_tool_writes_what_it_was_given(self, read):
        rule = read(CHAIN)
        assert write_minimums(rule, Minimums(2.1, 2.6)).computed == Minimums(2.1, 2.6)
        text = rule.path.read_text(encoding="utf-8")
        inline = text.replace("[computed]\n", "").replace(
            "geometric_minimum = 2.1\nworking_minimum = 2.6\n", ""
        )
        odd = read("computed = { geometric_minimum = 2.0 }\n" + inline)
        before = odd.path.read_text(encoding="utf-8")
        with pytest.raises(BadInput):
            write_minimums(odd, Minimums(2.1, 2.6))
        assert odd.path.read_text(encoding="utf-8") == before


class TestWhereTheyHold:
    def test_stale_figures_are_not_given(self):
        rule = load_rule("one-in-one")
        limit = tightest(rule, SIZE, starts=2, workers=0)
        assert kept_minimums(rule, SIZE, limit) == rule.computed
        stale = replace(rule, computed=Minimums(2.01, 2.03))
        assert kept_minimums(stale, SIZE, limit) is None
        assert kept_minimums(replace(rule, computed=None), SIZE, limit) is None

    def test_with_fixed_rings_only_at_the_size_they_are_for(self, read):
        rule = read(FIXED.replace(TABLE, FIXED_TABLE))
        limit = tightest(rule, SIZE, starts=2, workers=0)
        found = minimums(rule, SIZE, limit)
        assert (found.wire_mm, found.inner_mm) == (0.9, 3.6)
        rule = replace(rule, computed=found)
        assert kept_minimums(rule, SIZE, limit) == found
        assert kept_minimums(rule, RingSize(0.9, 3.7), limit) is None

    def test_the_list_of_weaves_has_them_and_the_note(self, capsys):
        assert main(["weaves", "--json"]) == 0
        weaves = {one["weave"]: one for one in json.loads(capsys.readouterr().out)["weaves"]}
        assert all(one["kept_minimums"]["geometric_min_aspect_ratio"] for one in weaves.values())
        kept = load_rule("barrel").computed
        barrel = weaves["barrel"]
        assert barrel["kept_minimums"]["working_min_aspect_ratio"] == kept.working
        assert weaves["one-in-one"]["common_aspect_ratio"]["note"].startswith("Begins ")
        assert main(["weaves"]) == 0
        told = f"closes from AR {kept.geometric:.2f}, can be put together from {kept.working:.2f}"
        assert f"computed: {told}" in capsys.readouterr().out

    def test_a_check_says_that_they_are_kept_and_not_of_changed_rings(self, capsys, tmp_path):
        arguments = ["--wire", "0.9mm", "--ratio", "4"]
        assert main(["check", "one-in-one", *arguments, "--why"]) == 0
        out = capsys.readouterr().out
        assert "2.030 (kept in the rule's file)" in out
        assert "Begins 38 % above" in " ".join(out.split())
        larger = CHAIN.replace(
            'name = "Y"\nrole = "closed"', 'name = "Y"\nrole = "closed"\nsize = "s"'
        )
        (tmp_path / "mine.toml").write_text(larger + '\n[[size]]\nname = "s"\ncore = 0.9\n')
        assert main(["check", str(tmp_path / "mine.toml"), *arguments, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["kept_minimums"] is None


def test_the_working_minimum_of_a_screw_is_that_of_a_piece_long_enough():
    """Two rings alone would take the third at 2.03, as in a simple chain."""
    rule = load_rule("tight-spiral")
    (step,) = working_minimum(rule, RingSize(1.0, 3.0))
    assert step.aspect_ratio > rule.computed.geometric > 2.5
