"""Names in quotes, choices and counts, as sentences have them."""

import doctest

import pytest

from ringwright.base import wording
from ringwright.base.wording import counted, either, near, perhaps, quoted, quoted_path


@pytest.mark.parametrize(
    ("choices", "said"),
    [(["a"], "a"), (["a", "b"], "a or b"), (["a", "b", "c"], "a, b or c")],
)
def test_choices_are_listed_as_a_person_would(choices, said):
    assert either(choices) == said


@pytest.mark.parametrize(("count", "said"), [(0, "0 rings"), (1, "1 ring"), (2, "2 rings")])
def test_one_is_one_and_all_else_is_several(count, said):
    assert counted(count, "ring") == said


def test_near_names_are_named_the_nearest_first_or_not_at_all():
    assert near("chek", ["weave", "check"]) == ["check"]
    assert perhaps("barel", ["barrel", "copper"]) == "perhaps barrel is meant"
    assert perhaps("@@@", ["barrel", "copper"]) == ""


def test_what_is_quoted_is_cut_short_and_cannot_steer_a_terminal():
    assert quoted("x" * 41) == f"'{'x' * 37}...'"
    assert quoted("\x1b[2J") == r"'\x1b[2J'"


def test_a_path_on_windows_can_be_copied_out_of_its_quotes():
    assert quoted_path("C:\\rings\\shop.toml") == "'C:\\rings\\shop.toml'"
    assert quoted("C:\\rings") == "'C:\\rings'"


def test_the_examples_hold():
    done = doctest.testmod(wording)
    assert done.attempted
    assert not done.failed
