"""Bands: as a heavy string hangs over a round bar, sound, and what is told of how they fit."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal
from ringwright.geometry.contact import Rings
from ringwright.geometry.oval import Oval
from ringwright.piece.piece import expected_links, woven_piece
from ringwright.piece.verify import second_opinion
from ringwright.rest.band import band, hung_line, strip
from ringwright.rest.on_body import worn_on
from ringwright.rest.start import nudged
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import Body
from tests.rest.test_worn_at_rest import core_points, from_skin_mm

SIZE = RingSize(1.0, 4.1)
FINGER = Body("finger", 54.0)
BAR = Oval(54.0, 1.0)


@pytest.fixture(scope="module")
def simple():
    rule = load_rule("one_in_one")
    return rule, settle(rule, SIZE).unit


@pytest.fixture(scope="module")
def hung(simple):
    piece = woven_piece(*simple, SIZE.core_radius_mm, 9)
    return piece, worn_on(*simple, piece, FINGER)


def lowest_of_string_mm(radius_mm, length_mm):
    """How far below its axis a closed heavy string hangs under a round bar.

    A heavy string without stiffness hangs as a catenary z = a cosh(x / a) (E. J. Routh, A Treatise
    on Analytical Statics, vol. 1, 2nd ed., 1896, ch. X; from memory). It leaves the bar along its
    tangent: at an angle t below level, x = r cos t, its slope is cot t = sinh(x / a), and half of
    what hangs is a cot t long.
    """

    def hangs(t):
        x = radius_mm * math.cos(t)
        a = x / math.asinh(1.0 / math.tan(t))
        return a, x

    def too_long(t):
        a, _ = hangs(t)
        return 2.0 * (radius_mm * (0.5 * math.pi + t) + a / math.tan(t)) - length_mm

    t = brentq(too_long, 1e-4, 0.5 * math.pi - 1e-4)
    a, x = hangs(t)
    return radius_mm * math.sin(t) + a * (math.cosh(x / a) - 1.0)


class TestHungLine:
    def test_on_a_round_bar_it_is_the_closed_form(self):
        points, onward = hung_line(8.0, 8.0, 66.0)
        assert -points[:, 2].min() == pytest.approx(lowest_of_string_mm(8.0, 66.0), rel=1e-5)
        assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(
            66.0, rel=1e-5
        )
        assert np.hypot(points[:, 0], points[:, 2]).min() == pytest.approx(8.0, rel=1e-5)
        # It goes round once and smoothly.
        turned = np.unwrap(np.arctan2(onward[:, 2], onward[:, 0]))
        assert abs(turned[-1] - turned[0]) == pytest.approx(2.0 * np.pi, abs=1e-2)
        assert np.abs(np.diff(turned)).max() < 0.01

    def test_as_long_as_an_oval_is_round_it_lies_on_it(self):
        long, short = 12.0, 9.0
        around, _ = quad(lambda t: math.hypot(long * math.sin(t), short * math.cos(t)), 0, math.tau)
        points, _ = hung_line(long, short, around * (1.0 + 1e-9))
        size = np.hypot(points[:, 0] / long, points[:, 2] / short)
        assert size == pytest.approx(1.0, abs=2e-3)


class TestLoose:
    def test_it_is_sound_closed_and_at_rest(self, simple, hung):
        laid = hung[1]
        assert laid.lying.settled
        seen = second_opinion(laid.lying.piece)
        assert seen.links == expected_links(simple[0], laid.lying.piece, 9)
        # Every ring has two neighbours, and there are no ends.
        assert len(seen.links) == len(laid.lying.piece) == 18
        assert seen.smallest_gap_mm > -1e-6

    def test_it_hangs_as_a_string_does(self, hung):
        piece, laid = hung
        centres = laid.lying.piece.centres_mm
        skin = from_skin_mm(replace(laid.lying.piece, centres_mm=centres[:, [0, 2, 1]],
                                    axes=laid.lying.piece.axes[:, [0, 2, 1]]), BAR)  # fmt: skip
        assert skin.min() == pytest.approx(0.0, abs=1e-4)
        # One inner diameter from each ring to the next; about as far from the bar as on top.
        radius = float(np.hypot(*centres[centres[:, 2] > 0.0][:, [0, 2]].T).mean())
        drop = lowest_of_string_mm(radius, len(centres) * SIZE.inner_mm)
        assert -centres[:, 2].min() == pytest.approx(drop, rel=0.03)
        # The top lies on, and the bottom hangs free.
        assert skin[centres[:, 2].argmin()] > 1.0
        # The ring it was started from is left out.
        assert piece.names[0] not in laid.lying.piece.names

    def test_what_is_told_of_it(self, hung):
        fit = hung[1].fit
        assert (fit.closed, fit.goes_round, fit.repeats, fit.open_mm) == (True, True, 9, None)
        assert fit.room_mm == pytest.approx(fit.inside_mm - 54.0)
        assert fit.inside_mm > 54.0
        # As far as the nearest metal of the two rings that hang lowest is from the bar.
        centres, points = hung[1].lying.piece.centres_mm, core_points(hung[1].lying.piece)
        free = np.hypot(points[..., 0], points[..., 2]).min(axis=1) - SIZE.wire_mm / 2.0
        lowest = centres[:, 2].argsort()[:2]
        assert fit.sag_mm == pytest.approx(free[lowest].min() - BAR.half_axes[0], abs=0.3)


@pytest.mark.slow
def test_a_band_that_fits_lies_on_all_round(simple):
    snug = strip(*simple, woven_piece(*simple, SIZE.core_radius_mm, 8))
    bar = Oval(snug.round_mm, 1.0)
    lying = band(snug, bar)
    centres = lying.piece.centres_mm
    # Every ring about as far from the bar's axis as a tight string of that length.
    away = np.hypot(centres[:, 0], centres[:, 2])
    assert away.mean() == pytest.approx(16 * SIZE.inner_mm / math.tau, rel=0.03)


def test_a_chain_between_two_nails_hangs_as_a_catenary():
    # Its ends are held level, d apart; the rest, s long between the held centres, is a catenary:
    # s = 2 a sinh(d / 2a), and its middle hangs a (cosh(d / 2a) - 1) below (Routh, as above).
    radius, wire, count, apart = 1.0, 0.15, 15, 15.0
    pitch = 2.0 * (radius - wire)
    length = (count - 1) * pitch
    a = brentq(lambda a: 2.0 * a * math.sinh(apart / (2.0 * a)) - length, 1.0, 100.0)
    at = a * np.arcsinh((np.arange(count) - (count - 1) / 2.0) * pitch / a)
    sag = a * (math.cosh(apart / (2.0 * a)) - 1.0)
    # It begins as a parabola, a little slack.
    fine = np.linspace(-0.5 * apart, 0.5 * apart, 20_001)

    def parabola(depth):
        z = depth * ((2.0 * fine / apart) ** 2 - 1.0)
        return z, np.append(0.0, np.cumsum(np.hypot(np.diff(fine), np.diff(z))))

    depth = brentq(lambda depth: parabola(depth)[1][-1] - 0.985 * length, 0.1, 30.0)
    low, lengths = parabola(depth)
    way = np.linspace(0.0, lengths[-1], count)
    x, z = np.interp(way, lengths, fine), np.interp(way, lengths, low)
    onward = np.stack([np.ones(count), 0.0 * x, 8.0 * depth * x / apart**2], axis=1)
    onward /= np.linalg.norm(onward, axis=1)[:, None]
    across = np.array([0.0, 1.0, 0.0])
    axes = np.where(np.arange(count)[:, None] % 2, np.cross(onward, across), across)
    rings = Rings(
        np.stack([x, 0.0 * x, z], axis=1), axes, np.full(count, radius), np.full(count, wire)
    )
    held = (np.arange(count) == 0) | (np.arange(count) == count - 1)
    goal = Goal(np.tile([0.0, 0.0, -1.0 / count], (count, 1)))
    rest = fallen(nudged(rings), goal, held=held)
    assert rest.settled
    low = rest.rings.centres[:, 2]
    assert low[[0, -1]].mean() - low.min() == pytest.approx(sag, rel=0.03)
    assert rest.rings.centres[:, 0] == pytest.approx(at, abs=0.05 * pitch)


def test_what_is_too_short_to_close_has_ends(simple):
    piece = woven_piece(*simple, SIZE.core_radius_mm, 5)
    found = worn_on(*simple, piece, FINGER)
    assert not found.fit.closed
    assert not found.fit.goes_round
    assert found.fit.open_mm == pytest.approx(54.0 - found.fit.inside_mm)
    assert len(found.lying.piece) == len(piece)


def test_a_spiral_is_wound_to_a_whole_turn_and_closed():
    rule, size = load_rule("spiral_3_in_1"), RingSize(1.2, 4.2)
    unit = settle(rule, size).unit
    piece = woven_piece(rule, unit, size.core_radius_mm, 30)
    closed = strip(rule, unit, piece)
    assert closed.links == expected_links(rule, closed.piece, 30)
    # The same rings, one repeat on, are those of one repeat on: also from the last to the first.
    a = closed.rings.axes[[ring for ring, name in enumerate(closed.piece.names) if "A" in name]]
    turns = np.einsum("ni,ni->n", a, np.roll(a, -1, axis=0))
    assert turns == pytest.approx(turns[0], abs=0.02)


def test_what_does_not_bend_so_far_is_refused():
    rule, size = load_rule("half_persian_4_in_1"), RingSize(1.6, 8.9)
    unit = settle(rule, size).unit
    one = unit.repeat * size.core_radius_mm
    piece = woven_piece(rule, unit, size.core_radius_mm, math.ceil(80.0 / one))
    with pytest.raises(BadInput, match="does not bend round 40 mm"):
        worn_on(rule, unit, piece, Body("finger", 40.0))
