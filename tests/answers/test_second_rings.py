"""Rings of a second size that are the maker's own: asked for, checked, and which would do."""

import argparse
import json
import math

import numpy as np
import pytest

from ringwright.answers import verdict
from ringwright.answers.partners import partners
from ringwright.answers.ratio_limits import CANNOT, VERY_TIGHT
from ringwright.answers.second import asked_second, ring_of
from ringwright.answers.verdict import check
from ringwright.api import check as api_check
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.cli import main
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import ALONE
from ringwright.jigs import jig_module
from ringwright.jigs.parts.options import asked_weave
from ringwright.outputs.stills.studio import LIGHT
from ringwright.outputs.stills.words import described
from ringwright.piece.piece import woven_piece
from ringwright.search.lays import signed_cycles
from ringwright.solver.climb import Unit
from ringwright.solver.placement import linked_pairs, placed_unit, ring_radii
from ringwright.solver.resize import meets_nothing, resized
from ringwright.solver.settle import settle
from ringwright.solver.tightest import has_one_limit, tightest
from ringwright.weaves import list_rules, load_rule
from ringwright.weaves.loader import rule_from_text
from ringwright.weaves.second import in_proportion, with_second
from ringwright.weaves.writing import rule_text

TWO_SIZES = [rule.name for rule in list_rules() if rule.sizes]


def helm(wire_mm, inner_mm):
    return with_second(load_rule("helm-chain"), {"small": (wire_mm, inner_mm)})


def spans(rule, size):
    limit = tightest(rule, size, starts=3, workers=0)
    return {one.name: one.span for one in partners(rule, size, limit.unit)}


def once(work):
    """The same answer, worked out the first time that a rule and a size are asked for."""
    found = {}

    def asked(rule, size, *more, **settings):
        if (rule, size) not in found:
            found[rule, size] = work(rule, size, *more, **settings)
        return found[rule, size]

    return asked


@pytest.fixture(scope="module", autouse=True)
def searched_once():
    """Several whole commands here ask the same of the same rings."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(verdict, "known_tightest", once(verdict.known_tightest))
        patch.setattr(api_check, "partners", once(api_check.partners))
        yield


class TestRule:
    def test_only_rings_of_that_size_are_changed(self):
        rule, own = load_rule("helm-chain"), helm(1.0, 4.1)
        for before, after in zip(rule.rings, own.rings, strict=True):
            if before.size is None:
                assert after == before
            else:
                assert (after.size.wire_mm, after.size.inner_mm) == (1.0, 4.1)
                assert after.size.instead_of == before.size
        assert own.links == rule.links
        assert own.steps == rule.steps

    def test_figures_of_other_rings_are_left_out(self):
        rule, own = load_rule("helm-chain"), helm(1.0, 4.1)
        assert rule.computed is not None
        assert rule.common_aspect_ratio is not None
        assert own.computed is None
        assert own.common_aspect_ratio is None
        assert not has_one_limit(own)
        assert own.has_own_second
        assert not rule.has_own_second

    def test_nothing_asked_is_the_rule_itself(self):
        rule = load_rule("helm-chain")
        assert with_second(rule, {}) is rule

    def test_asked_again_it_still_stands_for_the_rules_own(self):
        again = with_second(helm(1.0, 4.1), {"small": (0.9, 3.9)})
        assert again.sizes[0].instead_of == load_rule("helm-chain").sizes[0]

    def test_its_file_reads_as_fixed_rings(self):
        read = rule_from_text(rule_text(helm(1.0, 4.1)), "own.toml")
        assert (read.sizes[0].wire_mm, read.sizes[0].inner_mm) == (1.0, 4.1)


class TestAsked:
    @pytest.mark.parametrize(
        ("text", "wire_mm", "inner_mm"),
        [
            ("1mm/4.1mm", 1.0, 4.1),
            ("small=1mm/4.1mm", 1.0, 4.1),
            (" small = 1 mm / 4.1 mm ", 1.0, 4.1),
            ("18awg/4mm", 1.0237, 4.0),
            ("18swg/3/16in", 1.2192, 4.7625),
            ("3/64in/3/16in", 1.190625, 4.7625),
            ("3/64in/4mm", 1.190625, 4.0),
            ("4/0swg/30mm", 10.16, 30.0),
        ],
    )
    def test_forms(self, text, wire_mm, inner_mm):
        size = asked_second(load_rule("helm-chain"), [text]).sizes[0]
        assert size.wire_mm == pytest.approx(wire_mm, abs=1e-4)
        assert size.inner_mm == pytest.approx(inner_mm)

    @pytest.mark.parametrize(
        ("weave", "texts", "said"),
        [
            ("byzantine", ["1mm/4mm"], "byzantine has only one: leave it out"),
            ("helm-chain", ["smal=1mm/4mm"], "no rings named 'smal'; its second rings are named"),
            ("helm-chain", ["1mm"], "not a wire and an inner diameter with a slash between"),
            ("helm-chain", ["1/16in"], "wire '1' has no unit"),
            ("helm-chain", ["1mm/4mm/5mm"], "write it like 1mm/4.1mm"),
            ("helm-chain", ["4.1mm/1mm"], "perhaps wire and inner diameter are swapped"),
            ("helm-chain", ["1mm/4mm", "small=1mm/4mm"], "gives the rings 'small' twice"),
            ("helm-chain", [""], "write it like 1mm/4.1mm"),
        ],
    )
    def test_mistakes(self, weave, texts, said):
        with pytest.raises(BadInput, match=said):
            asked_second(load_rule(weave), texts)

    def test_several_sizes_have_to_be_named(self):
        text = rule_text(load_rule("helm-chain"))
        text = text.replace(
            '[[size]]\nname = "small"',
            "[[size]]\nname = 'tiny'\ncore = 0.6\nwire = 0.8\n\n[[size]]\nname = \"small\"",
            1,
        )
        text = text.replace('size = "small"', 'size = "tiny"', 1)
        rule = rule_from_text(text, "three.toml")
        with pytest.raises(BadInput, match=r"does not say which rings it is: .* tiny and small"):
            asked_second(rule, ["1mm/4mm"])
        with pytest.raises(BadInput, match="did you mean 'small'"):
            asked_second(rule, ["smal=1mm/4mm"])
        own = asked_second(rule, ["small=1mm/4mm", "tiny=0.9mm/4mm"])
        assert [size.wire_mm for size in own.sizes] == [0.9, 1.0]

    def test_said_again_it_is_read_to_the_last_bit(self):
        ring = RingSize(1.0237464, 4.1000000000000005)
        said = f"small={ring.wire_mm!r}mm/{ring.inner_mm!r}mm"
        size = asked_second(load_rule("helm-chain"), [said]).sizes[0]
        assert (size.wire_mm, size.inner_mm) == (ring.wire_mm, ring.inner_mm)


class TestResizing:
    def linked(self):
        """Two rings that run through one another, and one that lies apart."""
        centres = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [3.5, 0.0, 0.0]])
        axes = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [0.0, 1.0, 0.0]])
        rings = Rings(centres, axes, np.ones(3), np.full(3, 1e-3))
        return Unit(rings, ALONE)

    def test_circles_that_would_meet_on_the_way_are_seen(self):
        unit = self.linked()
        # The third ring ends at x = 2.5; the second, growing about x = 1, gets there at 1.5.
        assert meets_nothing(unit, np.array([1.0, 1.45, 1.0]), 0.01)
        assert not meets_nothing(unit, np.array([1.0, 1.5, 1.0]), 0.01)
        # Beyond, they lie apart again, but the lay is another.
        assert not meets_nothing(unit, np.array([1.0, 3.0, 0.2]), 0.01)

    def test_links_and_lay_stay(self):
        rule, size = load_rule("byzantine-and-large"), RingSize(1.0, 3.9)
        unit = placed_unit(rule, size)
        for factor in (0.6, 2.5):
            core, wire = ring_radii(rule, size)
            other = resized(unit, np.where(core > 1.0, factor * core, core), wire)
            assert linked_pairs(other) == linked_pairs(unit)
            assert signed_cycles(other) == signed_cycles(unit)

    def test_a_captive_ring_stays_captive(self):
        """Small rings too large for the captive one's eye never come to lie around it."""
        own, size = helm(0.8, 7.2), RingSize(1.0, 7.15)
        limit = tightest(own, size, starts=2, workers=0)
        assert limit.aspect_ratio > 1.2 * size.aspect_ratio

    @pytest.mark.parametrize("name", TWO_SIZES)
    def test_the_rules_own_size_asked_for_is_the_rule(self, name):
        rule = load_rule(name)
        common = rule.common_aspect_ratio
        size = RingSize(1.0, (common.low + common.high) / 2)
        given = rule.sizes[0]
        wire_mm = given.wire * size.wire_mm
        inner_mm = 2 * given.core * size.core_radius_mm - wire_mm
        own = with_second(rule, {given.name: (wire_mm, inner_mm)})
        one, other = placed_unit(rule, size), placed_unit(own, size)
        assert other.rings.core_radii == pytest.approx(one.rings.core_radii)
        settled, again = settle(rule, size), settle(own, size)
        values = settled.unit.lattice.values
        assert again.unit.lattice.values == pytest.approx(values, rel=1e-6, abs=1e-6)


class TestSpans:
    """Against closed forms and against the rules' own limits."""

    def test_two_rings_side_by_side_need_two_wires(self):
        found = spans(load_rule("large-and-small-chain"), RingSize(1.0, 7.5))["small"]
        assert found.smallest_mm == pytest.approx(2.0, rel=2e-4)
        assert found.smallest_mm >= 2.0
        assert found.is_open

    def test_four_wires_in_an_eye(self):
        """Four equal circles in a square fit into 1 + sqrt(2) of their diameters."""
        found = spans(load_rule("large-and-small-chain"), RingSize(1.0, 7.5))[None]
        assert found.smallest_mm == pytest.approx(1.0 + math.sqrt(2.0), rel=2e-4)

    def test_ends_of_a_span_are_where_the_verdict_turns(self):
        size = RingSize(1.22, 6.7)
        found = spans(helm(1.0, 4.1), size)["small"]
        assert not found.is_open
        ends = (found.smallest_mm, found.largest_mm)
        for inner_mm, beyond_mm in zip(ends, (0.998 * ends[0], 1.002 * ends[1]), strict=True):
            inside = check(helm(1.0, inner_mm), size)
            outside = check(helm(1.0, beyond_mm), size)
            assert inside.can_be_woven
            assert not outside.can_be_woven

    def test_a_main_ring_at_the_end_of_its_span_just_closes(self):
        found = spans(helm(1.0, 4.1), RingSize(1.22, 6.7))[None]
        limit = tightest(helm(1.0, 4.1), RingSize(1.22, found.smallest_mm), starts=3, workers=0)
        assert limit.aspect_ratio * 1.22 == pytest.approx(found.smallest_mm, rel=1e-3)

    def test_too_small_a_second_ring_finds_those_that_close(self):
        found = spans(helm(1.2, 4.8), RingSize(1.6, 8.0))
        assert found[None] is None
        assert 4.8 < found["small"].smallest_mm < found["small"].largest_mm < 8.0

    def test_a_rule_of_one_size_has_none(self):
        rule, size = load_rule("one-in-one"), RingSize(1.0, 4.0)
        assert partners(rule, size, placed_unit(rule, size)) == ()


class TestPublishedSizes:
    """Sizes that makers of helm chain give, and what their rings measure.

    https://chainmaillers.com/resources/joining-helm-chain.95/ (Phong) gives four pairs by
    gauge and inch, and two rules: the small ring's outside is less than the large one's
    inside, and its inside at least three of the large one's wires. Such inches name the
    mandrel: https://www.mailleartisans.org/articles/articledisplay.php?key=635 measures
    stainless steel rings of 27/128 in as 0.237 in and of 19/64 in as 0.334 in inside.
    """

    PAIRS = (
        ("16swg/5/16in", "18swg/3/16in"),
        ("18swg/7/32in", "20awg/5/32in"),
        ("20awg/3/16in", "20awg/1/8in"),
        ("22awg/1/8in", "24awg/5/64in"),
    )
    SPRUNG = (0.237 / (27 / 128), 0.334 / (19 / 64))

    @pytest.mark.parametrize(("large", "small"), PAIRS)
    def test_they_close_as_steel_rings_measure(self, large, small):
        large, small = RingSize.from_pair(large, "large"), RingSize.from_pair(small, "small")
        for sprung in self.SPRUNG:
            own = helm(small.wire_mm, sprung * small.inner_mm)
            size = RingSize(large.wire_mm, sprung * large.inner_mm)
            limit = tightest(own, size, starts=2, workers=0)
            assert size.aspect_ratio > limit.aspect_ratio
            # As tight as the maker's two rules of thumb say: none has a quarter wire to spare.
            assert size.aspect_ratio < 1.25 * limit.aspect_ratio

    @pytest.mark.parametrize(
        ("weave", "main", "second", "least_room"),
        [
            # "Japanese Flower Earrings", Marilyn Gardiner, marilyngardiner.com/make-jewellery/
            # free-tutorials: large rings of 1.0 mm wire and 5 mm inside, small ones of 0.8 mm
            # and 2.8 mm, all doubled; single they have the more room.
            ("japanese-6-in-1", "1mm/5mm", "0.8mm/2.8mm", 0.25),
            ("japanese-flower", "1mm/5mm", "0.8mm/2.8mm", 0.25),
            # Phong's helm chain, as above, is begun with a chain of one large and two small.
            ("large-and-small-chain", "16swg/5/16in", "18swg/3/16in", 0.25),
            ("large-and-small-chain", "22awg/1/8in", "24awg/5/64in", 0.25),
        ],
    )
    def test_other_weaves_close_as_published(self, weave, main, second, least_room):
        own, size = asked_second(load_rule(weave), [second]), RingSize.from_pair(main, "main")
        limit = tightest(own, size, starts=2, workers=0)
        # Room, in wires.
        room = (size.aspect_ratio + 1.0) / (limit.aspect_ratio + 1.0) - 1.0
        assert least_room < room < 1.5

    def test_doubled_rings_that_the_first_way_misses(self):
        """Main rings close this at 3.48 mm, by a way that shrinking them from 5.55 mm misses."""
        found = spans(load_rule("japanese-12-in-2"), RingSize(1.0, 5.55))[None]
        assert found.smallest_mm < 3.6

    def test_measured_rings(self):
        """1.22 x 6.7 mm with 1.0 x 4.1 mm.

        "Helm Chain Tutorial", metalandmineral.wordpress.com, has nearly these, after springback.
        """
        report = check(helm(1.0, 4.1), RingSize(1.22, 6.7))
        assert report.verdict == VERY_TIGHT
        assert 0.0 < report.room_mm < 0.05

    def test_named_sizes_taken_for_measures_do_not_close(self):
        """1.6 x 8 mm with 1.2 x 4.8 mm, as published: the mandrels of 5/16 and 3/16 in.

        The four large wires in a small ring's eye lie two and two, a captive wire apart: three
        wires high and two wide, which takes 1 + sqrt(5) wires, 5.18 mm.
        """
        size = RingSize(1.6, 8.0)
        assert check(helm(1.2, 4.8), size).verdict == CANNOT
        least_mm = (1.0 + math.sqrt(5.0)) * 1.6
        found = spans(helm(1.2, 4.8), size)["small"]
        assert found.smallest_mm == pytest.approx(least_mm, rel=0.01)
        assert found.smallest_mm > least_mm


class TestInProportion:
    def test_the_look_is_kept(self):
        own = helm(1.0, 4.1)
        half = in_proportion(own, 1.22, 6.7)
        assert has_one_limit(half)
        assert ring_of(half.sizes[0], RingSize(0.61, 3.35)).inner_mm == pytest.approx(2.05)
        assert ring_of(half.sizes[0], RingSize(0.61, 3.35)).wire_mm == pytest.approx(0.5)
        size = RingSize(1.22, 6.7)
        one, other = (tightest(rule, size, starts=2, workers=0) for rule in (own, half))
        assert other.aspect_ratio == pytest.approx(one.aspect_ratio, rel=1e-9)

    def test_a_rule_without_own_rings_is_left_alone(self):
        rule = load_rule("helm-chain")
        assert in_proportion(rule, 1.0, 7.0) == rule


class TestCommand:
    def run(self, capsys, *arguments):
        status = main([*arguments])
        return status, capsys.readouterr().out

    HELM = ("helm-chain", "--wire", "1.22mm", "--inner", "6.7mm", "--second")

    def test_json_says_which_rings_work(self, capsys):
        status, out = self.run(capsys, "check", *self.HELM, "small=1mm/4.1mm", "--json")
        facts = json.loads(out)
        assert status == 0
        (ring,) = facts["second_rings"]
        assert (ring["size"], ring["wire_mm"], ring["inner_mm"]) == ("small", 1.0, 4.1)
        assert ring["own"]
        span = ring["closes_inner_mm"]
        assert span["smallest"] <= 4.1 <= span["largest"]
        assert not span["larger_not_tried"]
        assert facts["main_closes_inner_mm"]["smallest"] <= 6.7
        assert facts["common_aspect_ratio"] is None
        assert facts["kept_minimums"] is None

    def test_words_say_it_too(self, capsys):
        _, out = self.run(capsys, "check", *self.HELM, "1mm/4.1mm", "--why")
        assert "small: 1 mm wire, 4.1 mm inside (your own; the plan uses these)" in out
        assert "small rings (1 mm wire) 3.99 to 4.64 mm inside" in out
        assert "the rule's range is for its own second rings" in out

    def test_without_it_the_rules_own_are_said(self, capsys):
        _, out = self.run(capsys, "check", "helm-chain", "--wire", "1mm", "--inner", "7mm")
        assert "small: 0.8 mm wire, 4 mm inside (in the rule's proportion" in out

    def test_rings_that_do_not_close_it_say_which_would(self, capsys):
        size = ("helm-chain", "--wire", "1.6mm", "--inner", "8mm", "--second", "1.2mm/4.8mm")
        status, out = self.run(capsys, "check", *size)
        assert status == 1
        words = " ".join(out.split())
        assert "it closes with small rings (1.2 mm wire) 5.22 to 5.49 mm inside" in words
        assert "no rings of the first size (1.6 mm wire) do." in words
        assert "must be at least" not in out

    @pytest.mark.usefixtures("unpictured")
    def test_a_plan_is_for_these_rings(self, capsys, tmp_path, monkeypatch):
        # How they lie is shown in its picture alone, and takes longest to work out.
        monkeypatch.setattr("ringwright.api.plan.laid_if_asked", lambda *asked: None)
        out = str(tmp_path / "plan")
        status, said = self.run(
            capsys, "plan", *self.HELM, "1mm/4.1mm", "--length", "60mm", "--out", out, "--json"
        )
        assert status == 0
        sizes = [
            (batch["size"], batch["wire_diameter_mm"], batch["inner_mm"])
            for batch in json.loads(said)["rings"]
        ]
        assert sizes == [("main", 1.22, 6.7), ("small", 1.0, 4.1)]
        assert "rings,small,inner,4.1,mm" in (tmp_path / "plan.csv").read_text(encoding="utf-8")

    def test_regauge_keeps_their_proportion(self, capsys):
        _, said = self.run(capsys, "regauge", *self.HELM, "1mm/4.1mm", "--to", "0.61mm", "--json")
        rings = [wire["second_rings"][0] for wire in json.loads(said)["wires"]]
        assert [ring["inner_mm"] for ring in rings] == pytest.approx([4.1, 2.05])

    def test_a_sweep_has_a_limit_at_every_size(self, capsys, tmp_path):
        out = str(tmp_path / "sweep")
        self.run(
            *(capsys, "sweep", "helm-chain", "--wires", "1.22mm", "--inners", "6mm,6.7mm"),
            *("--second", "1mm/4.1mm", "--out", out),
        )
        facts = json.loads((tmp_path / "sweep.json").read_text(encoding="utf-8"))
        assert facts["second_rings"] == [{"size": "small", "wire_mm": 1.0, "inner_mm": 4.1}]
        tight, closes = facts["rows"]
        assert not tight["can_be_woven"]
        assert closes["can_be_woven"]
        assert tight["min_aspect_ratio"] != closes["min_aspect_ratio"]
        assert {row["other_rings"] for row in facts["rows"]} == {"small: 1 mm wire, 4.1 mm inside"}

    def test_a_match_says_the_verdict_of_check(self, capsys, tmp_path):
        shop = tmp_path / "shop.toml"
        shop.write_text(
            '[[stock_ring]]\nname = "large"\nwire = "1.22mm"\ninner = "6.7mm"\nmetal = "copper"\n',
            encoding="utf-8",
        )
        _, said = self.run(
            *(capsys, "match", "helm-chain", "--shop", str(shop), "--length", "60mm"),
            *("--second", "1mm/4.1mm", "--json"),
        )
        facts = json.loads(said)
        assert facts["second_rings"] == [{"size": "small", "wire_mm": 1.0, "inner_mm": 4.1}]
        (fit,) = facts["fits"]
        assert fit["verdict"] == check(helm(1.0, 4.1), RingSize(1.22, 6.7)).verdict
        # What it asks of other rings beside these second ones, this ring's limits do not say.
        assert facts["rings_to_buy"] == facts["to_buy"] == facts["mandrels"] == []

    def test_a_drawing_and_an_assembly_sheet_name_them(self, capsys, tmp_path):
        self.run(capsys, "drawing", *self.HELM, "1mm/4.1mm", "--out", str(tmp_path / "drawing"))
        drawn = (tmp_path / "drawing.svg").read_text(encoding="utf-8")
        assert "small: 1 mm wire, 4.1 mm inside" in drawn
        words = described(helm(1.0, 4.1), RingSize(1.22, 6.7), self.piece(), "copper", LIGHT, ())
        assert "with others of other sizes (small: 1 mm wire, 4.1 mm inside)" in words

    def piece(self):
        own, size = helm(1.0, 4.1), RingSize(1.22, 6.7)
        return woven_piece(own, placed_unit(own, size), size.core_radius_mm, 1)

    @pytest.mark.parametrize("jig", ["sorting-tray", "weaving-stand", "giant-sample"])
    def test_jigs_take_them(self, jig):
        parser = argparse.ArgumentParser()
        jig_module(jig).add_options(parser)
        typed = ["helm-chain", "--wire", "1.22mm", "--inner", "6.7mm", "--second"]
        if jig == "sorting-tray":
            typed = ["--length", "60mm", *typed]
        report = asked_weave(parser.parse_args([*typed, "1mm/4.1mm"]))
        assert report.rule == helm(1.0, 4.1)
        with pytest.raises(BadInput, match="does not close with rings of just aspect ratio"):
            asked_weave(parser.parse_args([*typed, "1mm/3.5mm"]))

    def test_a_weave_of_one_size_says_nothing_of_others(self, capsys):
        _, out = self.run(capsys, "check", "one-in-one", "--wire", "1mm", "--ratio", "4", "--json")
        facts = json.loads(out)
        assert facts["second_rings"] == []
        assert facts["main_closes_inner_mm"] is None


def test_rings_that_springback_would_make_large_enough_are_to_be_measured(capsys):
    """Four large wires a captive wire apart, at a rectangle's corners, need 1 + sqrt(5) of them."""
    arguments = ["check", "helm-chain", "--wire", "1.6mm", "--inner", "8mm", "--second"]
    main([*arguments, "1.2mm/4.8mm"])
    words = " ".join(capsys.readouterr().out.split())
    assert (
        "It can be woven if your small rings (1.2 mm wire) measure at least 5.22 mm inside" in words
    )
    assert 1.6 * (1 + 5**0.5) < 5.22
    # A quarter larger is no springback.
    main([*arguments, "1.2mm/4mm"])
    assert "It can be woven if" not in " ".join(capsys.readouterr().out.split())
