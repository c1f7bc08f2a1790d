"""What makers see of a weave when they lay it down comes out of its rings; nothing is told to."""

import numpy as np
import pytest

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import woven_piece
from ringwright.rest.laid import laid
from ringwright.rest.unit import lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import ON_TABLE


def settled(name, size):
    rule = load_rule(name)
    found = settle(rule, size)
    assert found is not None
    return rule, found.unit


def test_a_tube_of_a_loose_weave_falls_flat():
    size = RingSize(1.0, 4.4)
    rule, unit = settled("european_4_in_1_tube", size)
    lies = laid(rule, unit, woven_piece(rule, unit, size.core_radius_mm, 4), ON_TABLE)
    assert lies.lying.settled
    _, wide, thick = lies.lying.size_mm()
    assert wide > 1.2 * thick


def test_a_tight_tube_stays_round():
    # Its rings fill the middle, so there is nothing to fall into.
    size = RingSize(1.0, 5.6)
    rule, unit = settled("full_persian_6_in_1", size)
    lies = laid(rule, unit, woven_piece(rule, unit, size.core_radius_mm, 6), ON_TABLE)
    _, wide, thick = lies.lying.size_mm()
    assert wide == pytest.approx(thick, rel=0.1)


def test_the_connectors_of_a_japanese_sheet_lean():
    size = RingSize(1.0, 5.4)
    _, unit = settled("japanese_4_in_1", size)
    lies = lying_unit(unit)
    assert lies.settled
    upright = np.abs(lies.unit.rings.axes[:, 2])
    # One ring of the unit lies, as flat as the connectors through it let it; the others stand, and
    # lean by what they have to spare.
    flat, connectors = upright.max(), np.sort(upright)[:-1]
    assert flat > 0.98
    assert (connectors > 0.05).all()
    assert (connectors < 0.75).all()


def test_a_spiral_winds_up_and_is_as_long_as_before():
    size = RingSize(1.0, 4.4)
    rule, unit = settled("spiral_4_in_1", size)
    piece = woven_piece(rule, unit, size.core_radius_mm, 10)
    lies = laid(rule, unit, piece, ON_TABLE)
    assert lies.lying.settled

    def along(one):
        order = np.argsort(one.centres_mm[:, 0])
        turn = np.degrees(np.arctan2(one.axes[order, 2], one.axes[order, 1]))
        # A ring turned by half looks the same.
        back = np.abs((np.diff(turn) + 90.0) % 180.0 - 90.0)
        return float(back.mean()), one.centres_mm[order, 0]

    (before, _), (after, x) = along(piece), along(lies.piece)
    # It is woven with planes that turn back by 55 degrees. Three rings then lie lowest where they
    # make up half a turn, as three sides of a rope do.
    assert before == pytest.approx(55.0, abs=0.1)
    assert after == pytest.approx(60.0, abs=2.0)
    # Away from the ends a ring and the second next still pull on one another end to end.
    assert (x[2:] - x[:-2])[2:-2] == pytest.approx(size.inner_mm, rel=0.01)
