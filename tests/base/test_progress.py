"""A tally told on as progress."""

import pytest

from ringwright.base.errors import BadInput
from ringwright.base.progress import tallied


def two_rounds_of_nine(on_progress, trouble=None):
    with tallied("links", on_progress) as told:
        told(1, 9)
        told(2, 9)
        if trouble is not None:
            raise trouble


def test_work_that_ends_before_its_last_round_is_told_as_done():
    said = []
    two_rounds_of_nine(lambda *told: said.append(told))
    assert said == [("links", 1, 9), ("links", 2, 9), ("links", 9, 9)]


def test_work_that_fails_is_not():
    said = []
    with pytest.raises(BadInput, match="too short"):
        two_rounds_of_nine(lambda *told: said.append(told), BadInput("it is too short"))
    assert said == [("links", 1, 9), ("links", 2, 9)]
