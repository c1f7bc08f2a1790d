"""How many rings a woven European sheet takes, beside what is published.

"The Ring Lord: sizes for the book Chainmail Jewelry" (found as abcdocz.com/doc/98846) lists rings
of 0.039 in wire, 0.16 in inside as measured, with about 7,954 of them to a square foot, and says
neither how the sheet lay nor what it was woven in; European 4 in 1 is the first of the two weaves
that it is about. A supplier's sheet lies as it comes, between hung from its first row, which draws
it together, and spread out.

"Family portraits: inch sizes" (spiderchain.com/reference/family-portraits/inch-sizes) counts rings
to an inch of chains of silver, sizes named by mandrel and American gauge: of a simple chain, and of
a strip of European 4 in 1 five rows wide. Of thirteen sizes of the strip eight have counts, and as
the table is stored they stand under the first eight; but the ounces that it gives for them are
those of the second to the ninth. Read one size too small, they are 16 to 25 % below those of the
strip here.

"Calculating Rings Per Coverage" (Chainmailbasket_com, M.A.I.L. article 647) measures sheets
stretched out one way only, so its counts are those of hung ones; no figures of it were at hand.
"""

import math

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


# Mandrels in 64ths of an inch, American gauges, rings to an inch.
SIMPLE = {
    (4, 22): 15.25, (4, 21): 15.25, (5, 20): 12.5, (5, 19): 12.5, (6, 18): 10.25, (6, 17): 10.25,
    (7, 16): 8.75, (8, 15): 7.75, (9, 14): 7.0, (10, 13): 6.0, (11, 12): 5.5, (12, 11): 5.25,
    (14, 10): 4.5,
}  # fmt: skip
# And inches to a troy ounce of sterling silver, of 10.36 g/cm3.
STRIP = {
    (6, 21): (55, 13.8), (7, 20): (45, 11.3), (8, 19): (38, 9.4), (9, 18): (33, 7.5),
    (10, 17): (31, 5.5), (11, 16): (28, 4.25), (13, 15): (23, 3.7), (14, 14): (21, 2.9),
}  # fmt: skip
OUNCE_G, SILVER_G_MM3 = 31.1035, 0.01036


def wire_mm(gauge):
    # Each of the 39 steps from 0.46 to 0.005 in is the same share (ASTM B258).
    return 0.127 * 92 ** ((36 - gauge) / 39)


def mandrel_mm(size):
    return size / 64 * INCH_MM


@pytest.fixture(scope="module")
def sprung():
    """How much wider that maker's rings are than their mandrels.

    Of a simple chain pulled straight, each ring takes its own inner diameter.
    """
    shares = [INCH_MM / count / mandrel_mm(size) for (size, _), count in SIMPLE.items()]
    mean = sum(shares) / len(shares)
    assert 1.02 < mean < 1.06
    return mean


def test_the_counts_of_the_strip_belong_to_the_sizes_that_weigh_as_much(sprung):
    for (size, gauge), (count, inches) in STRIP.items():
        wire, inner = wire_mm(gauge), sprung * mandrel_mm(size)
        ring_g = SILVER_G_MM3 * math.pi * (inner + wire) * math.pi / 4 * wire**2
        assert OUNCE_G / ring_g == pytest.approx(count * inches, rel=0.08)


def test_a_strip_of_five_rows_takes_as_many_rings_as_one_maker_counts(sprung):
    rule, off = load_rule("european_4_in_1_strip_5"), []
    for size, gauge in [(6, 21), (8, 19), (10, 17), (13, 15)]:
        made = RingSize(wire_mm(gauge), sprung * mandrel_mm(size))
        settled = settle(rule, made)
        assert settled is not None
        repeat_mm = settled.unit.repeat * made.core_radius_mm
        count, _ = STRIP[size, gauge]
        off.append(len(rule.rings) * INCH_MM / repeat_mm / count - 1.0)
    assert off == pytest.approx([0.0] * 4, abs=0.05)
    assert sum(off) / 4 == pytest.approx(0.0, abs=0.025)
