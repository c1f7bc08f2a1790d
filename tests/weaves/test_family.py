"""The record of every family says what the family's own mathematics says."""

import numpy as np
import pytest

from ringwright.base.errors import BadInput
from ringwright.solver.placement import rule_lattice
from ringwright.weaves import list_rules
from ringwright.weaves.family import PIECE
from ringwright.weaves.refusals import refuse_without_rows
from ringwright.weaves.rule import without_placement
from tests.small_rules import SMALL_RULES


@pytest.fixture(
    params=[*SMALL_RULES.values(), *list_rules()],
    ids=[*SMALL_RULES, *(f"weave {rule.name}" for rule in list_rules())],
)
def rule(request, read):
    """A small rule of each family, and every weave that comes with the program."""
    return read(request.param) if isinstance(request.param, str) else request.param


class TestEveryFamily:
    def test_has_as_many_repeat_vectors_as_its_record_says(self, rule):
        assert len(rule.repeat_vectors) == rule.family.lattice.vectors

    def test_images_are_turned_just_where_x_is_a_screw_axis(self, rule):
        if rule.family.repeats:
            (turn,), _ = rule_lattice(rule).motion(np.array([[1, 0]]))
            assert rule.family.turns or np.allclose(turn, np.eye(3))
        assert rule.family.turns or rule.turn == 0.0

    def test_units_around_the_axis_come_back_to_the_first(self, rule):
        if rule.family.closes_round:
            assert rule.around > 1
            (turn,), (shift,) = rule_lattice(rule).motion(np.array([[0, rule.around]]))
            assert np.allclose(turn, np.eye(3))
            assert np.allclose(shift, 0.0)
        else:
            assert rule.around == 1

    def test_links_use_no_more_image_numbers_than_it_has(self, rule):
        used = {
            n + 1
            for link in rule.links
            for n, number in enumerate(link.second.image)
            if number != 0
        }
        assert max(used, default=0) == rule.family.image_numbers

    def test_what_begins_at_an_end_has_a_ring_there(self, rule):
        assert bool(rule.start) or not rule.family.needs_start

    def test_start_rings_are_woven_before_the_first_repeat(self, rule):
        assert all(rule.family.is_before(start.ring.image) for start in rule.start)
        assert not rule.family.is_before((0, 0))

    def test_the_rule_tells_it_by_name(self, rule):
        # A stopped sweep is known again by this text.
        assert f"family={rule.family.name!r}" in repr(without_placement(rule))

    def test_what_is_for_sheets_is_refused_of_all_others(self, rule):
        if rule.family.has_rows:
            assert refuse_without_rows(rule, "--width") is None
            return
        with pytest.raises(BadInput) as refused:
            refuse_without_rows(rule, "--width", instead="go without")
        kind = rule.family.name
        said = f"--width is for sheets, and {rule.name} is a {kind}; go without."
        assert refused.value.typed == said


def test_a_piece_has_nothing_before_it():
    assert not PIECE.is_before((-1, 0))
