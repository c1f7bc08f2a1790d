"""Chains worn as a necklace: held behind the neck, hanging in their own curve on a bust."""

from __future__ import annotations

import math

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput
from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import format_mm
from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal, outermost, weights
from ringwright.geometry.contact import Rings
from ringwright.geometry.vectors import lengths_along
from ringwright.piece.piece import Piece
from ringwright.rest.form import Cone
from ringwright.rest.start import in_core_radii, laid_along
from ringwright.rest.states import AT_THE_END, Lying, on_table, resting

# A display bust is about so far from the upright, all round: from memory.
SLOPE_DEG = 40.0
# Between the ends, for a clasp, in wires.
_CLASP = 2.0
_POINTS, _HALVINGS = 4096, 60
_ROUNDS = 400
# The steepest plane that cuts a cone all round, as a share of its own slope.
_STEEPEST = 0.98


def necklace(
    piece: Piece,
    neck_girth_mm: float,
    slope_deg: float = SLOPE_DEG,
    told: Tally = uncounted,
    near: Piece | None = None,
) -> Lying:
    """A chain round the neck of a bust, its ends held behind, the rest as it hangs.

    The bust is a round cone. The chain is laid on a table, so that what is down there comes to lie
    on the bust; laid round it where a sloping plane cuts the cone, as long as the chain is; and
    let go but for its ends.

    Parameters
    ----------
    piece : a chain pulled straight along x
    neck_girth_mm : of the bust where the ends are held
    slope_deg : how far the bust's side is from the upright
    told : called with (done, of) in every round
    near : the same rings, where they nearly lie on a table: quicker than from ``piece``

    Returns
    -------
    The piece about the upright z axis: its middle in front, at -y, its ends behind at z = 0.

    Raises
    ------
    BadInput
        When it is too short to go round the neck.
    """
    flat, scale = in_core_radii(on_table(piece, told, near).piece)
    bust = Cone(neck_girth_mm / (2.0 * math.pi * scale), math.radians(slope_deg))
    rings = _laid_round(flat, bust)
    if rings is None:
        raise BadInput(
            f"a chain of {format_mm(piece.length_mm())} does not go round a neck of "
            f"{format_mm(neck_girth_mm)}; take more repeats, or a smaller neck."
        )
    low, high = outermost(flat.centres[:, 0], AT_THE_END)
    weight = weights(rings)
    goal = Goal(np.outer(weight / weight.sum(), [0.0, 0.0, -1.0]))
    rest = fallen(rings, goal, (bust,), held=low | high, rounds=_ROUNDS, told=told)
    return resting(piece, rest, scale)


def _laid_round(flat: Rings, bust: Cone) -> Rings | None:
    """Rings on the table z = 0 laid round a bust; None where they are too short to."""
    height = float(flat.centres[:, 2].mean())
    x = flat.centres[:, 0]
    reach = flat.core_radii + flat.wire_radii
    wire = float(flat.wire_radii.max())
    length = float((x + reach).max() - (x - reach).min()) + _CLASP * 2.0 * wire
    least, most = 0.0, _STEEPEST / math.tan(bust.slope)
    if _curve(bust, least, height)[1][-1] > length:
        return None
    for _ in range(_HALVINGS):
        middle = 0.5 * (least + most)
        if _curve(bust, middle, height)[1][-1] > length:
            most = middle
        else:
            least = middle
    points, lengths = _curve(bust, least, height)
    along = x - 0.5 * (x.min() + x.max()) + 0.5 * lengths[-1]
    place = np.stack([np.interp(along, lengths, way) for way in points.T], axis=1)
    away = bust.away(place)
    onward = np.stack([np.interp(along, lengths, np.gradient(way)) for way in points.T], axis=1)
    onward -= np.einsum("ni,ni->n", onward, away.outward)[:, None] * away.outward
    onward /= np.linalg.norm(onward, axis=1)[:, None]
    return laid_along(flat, place, onward, away.outward)


def _curve(bust: Cone, steep: float, height: float) -> tuple[Floats, Floats]:
    """Points so far outside a bust where a plane through its neck behind cuts it, and the lengths.

    The plane falls by ``steep`` from behind to the front. Where the way from behind is t, the
    radius r of a cone of slope s is r0 - tan(s) steep (r cos(t) - r0).
    """
    turn = np.linspace(0.0, 2.0 * np.pi, _POINTS)
    falls = math.tan(bust.slope) * steep
    radius = bust.radius * (1.0 + falls) / (1.0 + falls * np.cos(turn))
    down = steep * (radius * np.cos(turn) - bust.radius)
    points = np.stack([-radius * np.sin(turn), radius * np.cos(turn), down], axis=1)
    points = points + height * bust.away(points).outward
    return points, lengths_along(points)
