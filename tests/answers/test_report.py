"""An answer in short: eight lines whatever the verdict, with the rings to take among them."""

import pytest

from ringwright.answers.report import report_text
from ringwright.answers.verdict import check
from ringwright.base.sizes import RingSize
from ringwright.solver.tightest import known_tightest
from ringwright.weaves import load_rule

SHELF = (
    "Nearest on your shelf: silver 20 AWG on 3.5mm (wire 0.812 mm, 3.6 mm inside, aspect ratio "
    "4.43), closes but very tight."
)


@pytest.fixture(scope="module")
def box():
    rule = load_rule("box-chain")
    return rule, known_tightest(rule, RingSize(1.0, 4.0), workers=0)


@pytest.mark.parametrize("inner_mm", [3.5, 3.9, 4.0, 4.3, 4.47, 5.0, 6.5])
@pytest.mark.parametrize("shelf", [(), (SHELF,)])
def test_whatever_the_verdict_it_is_eight_lines_and_what_to_take_is_among_them(
    box, inner_mm, shelf
):
    rule, limit = box
    report = check(rule, RingSize(1.0, inner_mm), limit=limit)
    lines = report_text(report, shelf).splitlines()
    assert len(lines) <= 8
    assert lines[-1].strip()
    said = " ".join(lines)
    assert ("Take rings 4.5 to 5.5 mm inside for this wire" in said) is (inner_mm != 5.0)
    assert all(one.split()[0] in said for one in shelf)


def test_rings_that_overlap_are_not_given_a_negative_room(box):
    rule, limit = box
    said = report_text(check(rule, RingSize(1.0, 3.5), limit=limit))
    assert "overlap by 0.110 mm" in said


@pytest.mark.parametrize("inner_mm", [3.5, 3.9])
def test_a_short_answer_says_which_rings_collide(box, inner_mm):
    rule, limit = box
    report = check(rule, RingSize(1.0, inner_mm), limit=limit)
    others = len(report.collisions) - 1
    named = f"none: M1 with M1 of the next repeat and {others} more pairs overlap by "
    assert named in report_text(report)
