"""How many rings a woven European sheet takes, beside what is published.

"The Ring Lord: sizes for the book Chainmail Jewelry" (found as abcdocz.com/doc/98846) lists rings
of 0.039 in wire, 0.16 in inside as measured, with about 7,954 of them to a square foot, and says
neither how the sheet lay nor what it was woven in; European 4 in 1 is the first of the two weaves
that it is about. A supplier's sheet lies as it comes, between hung from its first row, which draws
it together, and spread out.

"Calculating Rings Per Coverage" (Chainmailbasket_com, M.A.I.L. article 647) measures sheets
stretched out one way only, so its counts are those of hung ones; no figures of it were at hand.
"""

import pytest

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import woven_piece
from ringwright.rest.states import hung_sheet
from ringwright.rest.unit import lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

INCH_MM, SQUARE_FOOT_MM2 = 25.4, (12 * 25.4) ** 2
SIZE = RingSize(0.039 * INCH_MM, 0.16 * INCH_MM)
PUBLISHED = 7954


@pytest.fixture(scope="module")
def sheet():
    rule = load_rule("european_4_in_1")
    settled = settle(rule, SIZE)
    assert settled is not None
    return rule, settled.unit


def test_a_suppliers_count_is_between_spread_and_hung(sheet):
    rule, unit = sheet
    along, _, across = lying_unit(unit).unit.lattice.values
    spread_mm2 = along * across * SIZE.core_radius_mm**2 / len(unit.rings.centres)
    piece = woven_piece(rule, unit, SIZE.core_radius_mm, 5, 5)
    hung = hung_sheet(piece, "row")
    assert hung.settled
    assert SQUARE_FOOT_MM2 / spread_mm2 < PUBLISHED < SQUARE_FOOT_MM2 / hung.area_per_ring_mm2()
    # The two are 26 % apart; the count is near the middle of them.
    middle_mm2 = (spread_mm2 * hung.area_per_ring_mm2()) ** 0.5
    assert SQUARE_FOOT_MM2 / middle_mm2 == pytest.approx(PUBLISHED, rel=0.05)
