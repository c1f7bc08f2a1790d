"""A whole piece at rest in the ways that makers see it: on a table, spread, hung."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ringwright.base.arrays import Bools, Floats
from ringwright.base.progress import Tally, uncounted
from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import WEIGHT, Goal, ends_apart, outermost, weights
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import rotations
from ringwright.piece.piece import Piece, place_in_weave
from ringwright.rest.area import area_per_ring_mm2
from ringwright.rest.form import Rail
from ringwright.rest.start import (
    in_core_radii,
    mirrored,
    nudged,
    own_side,
    rolled_low,
    set_down,
)
from ringwright.rest.table import table
from ringwright.solver.measure import extent

# What a sheet hangs by: its first row, or the ends of its rows.
Edge = Literal["row", "ends"]

_X, _Y, _UP = np.eye(3)
_AS_IT_IS = np.ones(3)
# A length lost to the weight by more than this share is pulled again, with less weight.
_LENGTH_LOST = 2e-3
_LIGHTER, _TRIES = 0.1, 2
# An end ring's centre is no farther than this from the outermost one's, in core radii.
AT_THE_END = 0.3
# A sheet's edge rings lean in and out.
_AT_THE_EDGE = 0.8
# The hook's own circle and wire, in those of the ring that hangs from it.
_HOOK, _HOOK_WIRE = 2.0, 0.6
# A hung sheet is drawn down so many rounds before it hangs by its own weight.
_DRAWN_ROUNDS = 100
# A quarter of a turn, so that y becomes x.
_Y_TO_X = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
# Rings side by side have axes that agree so far, as a cosine.
_SIDE_BY_SIDE = 0.95
# And their centres lie no farther off one axis, in core radii.
_ON_ONE_AXIS = 0.5


@dataclass(frozen=True, eq=False)
class Lying:
    """A piece at rest.

    Attributes
    ----------
    piece : its rings; on a table, the table is z = 0, and hung, down is along x
    residual : how far contact forces are from balancing, per unit of the pull
    rounds : how many programmes it took
    settled : whether the residual is at most 1e-6
    """

    piece: Piece
    residual: float
    rounds: int
    settled: bool

    def size_mm(self) -> tuple[float, float, float]:
        """Length, width and thickness: along x, along y and from the table up."""
        rings = self.piece.rings()
        spans = [extent(rings, along) for along in (_X, _Y, _UP)]
        long, wide, thick = (high - low for low, high in spans)
        return long, wide, thick

    def area_per_ring_mm2(self) -> float:
        """The area a ring takes in the middle of a sheet, by :mod:`ringwright.rest.area`."""
        return area_per_ring_mm2(self.piece)


def on_table(piece: Piece, told: Tally = uncounted, near: Piece | None = None) -> Lying:
    """A chain laid on a table and drawn straight by its ends, then as low as it lies.

    Its ends are pulled a hundred times as hard as a ring weighs. Where that costs more than two
    thousandths of the length, it is done again with a tenth of the weight.

    Parameters
    ----------
    piece : pulled straight along x
    told : called with (done, of) in every round
    near : the same rings, where they nearly lie: quicker than from ``piece``
    """
    start, scale = in_core_radii(near or piece)
    side = own_side(start)
    start = mirrored(start, side)
    start = set_down(nudged(start if near else rolled_low(start)))
    ends = np.outer(ends_apart(start.centres[:, 0], AT_THE_END), _X)
    straight_mm, weight = piece.length_mm(), WEIGHT
    for _ in range(_TRIES):
        goal = Goal(ends - np.outer(weight * weights(start), _UP))
        rest = fallen(start, goal, (table,), told=told)
        lying = resting(piece, rest, scale, side)
        if lying.size_mm()[0] >= straight_mm * (1.0 - _LENGTH_LOST):
            break
        weight *= _LIGHTER
    return lying


def let_lie(piece: Piece, told: Tally = uncounted) -> Lying:
    """A piece set down on a table and left alone, as low as it lies.

    Parameters
    ----------
    piece : with no ends to be drawn out by
    told : called with (done, of) in every round
    """
    start, scale = in_core_radii(piece)
    side = own_side(start)
    start = set_down(nudged(mirrored(start, side)))
    rest = fallen(start, Goal(-np.outer(weights(start), _UP)), (table,), told=told)
    return resting(piece, rest, scale, side)


def spread(
    piece: Piece,
    told: Tally = uncounted,
    near: Piece | None = None,
    begun: Piece | None = None,
) -> Lying:
    """A sheet on a table, drawn out evenly all round to its largest area, then as low as it lies.

    Parameters
    ----------
    piece : a sheet in the x, y plane
    told : called with (done, of) in every round
    near : the same rings, where they nearly lie: quicker than from ``piece``
    begun : with ``near``, the same rings as parts of a smaller sheet lie that was off balance at
        its start: quicker still
    """
    start, scale = in_core_radii(near or piece)
    x, y = start.centres[:, 0], start.centres[:, 1]
    edges = edges_of(piece, start)
    start = nudged(start) if begun is None else in_core_radii(begun)[0]
    start = set_down(_turned_widest(start, edges))
    # A pull of about 1 on every ring of an edge.
    area = float(np.ptp(x) * np.ptp(y))
    fewest = min(int(edge.sum()) for edge in edges)
    tension = fewest / np.sqrt(area)
    weight = np.outer(WEIGHT * weights(start), -_UP)
    goal, nearly = Goal(weight, edges, tension), near is not None
    rest = fallen(start, goal, (table,), told=told, begun=nearly)
    return resting(piece, rest, scale)


def hung(piece: Piece, told: Tally = uncounted) -> Lying:
    """A chain hung by its first ring, or first two, from a round hook; down is along x.

    The hook is a ring that is held, so the first ring finds its own place on it. Of first rings
    that lean apart, as in a byzantine chain, one is hooked, and the other dangles from the next.

    Parameters
    ----------
    piece : along x, its first ring that with the lowest x
    told : called with (done, of) in every round
    """
    start, scale = in_core_radii(piece)
    both = _with_hook(nudged(start))
    held = np.arange(len(both.centres)) == len(piece)
    weight = np.where(held, 0.0, weights(both))
    rest = fallen(both, Goal(np.outer(weight / weight.sum(), _X)), held=held, told=told)
    return resting(piece, replace(rest, rings=rest.rings.of(~held)), scale)


def hung_sheet(piece: Piece, edge: Edge, told: Tally = uncounted) -> Lying:
    """A sheet hung by an edge from a rail, a hook in every ring of it; down is along x.

    The hooks are thin and slide along the rail, so the sheet grows as narrow as it will.

    Parameters
    ----------
    piece : a sheet in the x, y plane, its rows along x
    edge : ``"row"`` for its row of lowest y, ``"ends"`` for the ends of its rows at low x
    told : called with (done, of) in every round
    """
    if edge == "row":
        # The row becomes the edge at low x, and the sheet's upper side stays so.
        piece = piece.turned(_Y_TO_X)
    start, scale = in_core_radii(piece)
    x, weight = start.centres[:, 0], weights(start)
    if edge == "row":
        hooked, lowest = outermost(x, AT_THE_END)
    else:
        hooked, lowest = (ends_of_rows(piece, sign * x, AT_THE_END) for sign in (1.0, -1.0))
    rail = Rail(hooked)
    rings = nudged(start)
    rings = replace(rings, centres=rings.centres + float(rail(rings, np.inf).gap.min()) * _X)
    weight /= weight.sum()
    # A pull at the lower edge brings it near to where it hangs in fewer rounds than its own weight.
    drawn = Goal(np.outer(lowest / lowest.sum() + WEIGHT * len(piece) * weight, _X))
    rings = fallen(rings, drawn, (rail,), rounds=_DRAWN_ROUNDS, told=told).rings
    rest = fallen(rings, Goal(np.outer(weight, _X)), (rail,), told=told)
    return resting(piece, rest, scale)


def _turned_widest(rings: Rings, edges: tuple[Bools, Bools, Bools, Bools]) -> Rings:
    """A sheet turned about the upright to where its edges are farthest apart, long times wide.

    Rows that begin one beside the other pull it round as a whole, for which its rings would have
    to go far. Where the sides lie at angles p from x and q from y, the product is as
    cos(t + p) cos(t + q) under a turn t, and largest at -(p + q) / 2.
    """
    low_x, high_x, low_y, high_y = (rings.centres[edge].mean(axis=0) for edge in edges)
    long, wide = high_x - low_x, high_y - low_y
    turn = -0.5 * (np.arctan2(long[1], long[0]) + np.arctan2(-wide[0], wide[1]))
    return rings.turned(rotations(_UP, np.array([turn]))[0])


def edges_of(piece: Piece, rings: Rings) -> tuple[Bools, Bools, Bools, Bools]:
    """The rings that a sheet is spread by: the ends of its rows at low and at high x, and two rows.

    Parameters
    ----------
    rings : the piece's, in core radii, where they are
    """
    x, y = rings.centres[:, 0], rings.centres[:, 1]
    low, high = (ends_of_rows(piece, sign * x, _AT_THE_EDGE) for sign in (1.0, -1.0))
    return low, high, *outermost(y, _AT_THE_EDGE)


def ends_of_rows(piece: Piece, along: Floats, within: float) -> Bools:
    """The rings at the low end of every row of repeats: rows may begin one beside the other."""
    row = np.array([place_in_weave(name)[1][1] for name in piece.names])
    first = np.full(len(row), np.inf)
    for number in np.unique(row):
        first[row == number] = along[row == number].min()
    return np.asarray(along <= first + within)


def _with_hook(rings: Rings) -> Rings:
    """The rings and, last, a hook through the first, or the first two side by side.

    The hook is a circle in a plane through x and the rings' axis.
    """
    first = int(rings.centres[:, 0].argmin())
    ends, _ = outermost(rings.centres[:, 0], AT_THE_END)
    axis = rings.axes[first]
    off = rings.centres - rings.centres[first]
    across = np.linalg.norm(off - np.outer(off @ axis, axis), axis=1)
    same = ends & (np.abs(rings.axes @ axis) > _SIDE_BY_SIDE)
    # Rings of a strip's outer rows are alike, but no hook goes through both.
    same &= across < _ON_ONE_AXIS * rings.core_radii[first]
    radius, wire = float(rings.core_radii[same].min()), float(rings.wire_radii[same].max())
    up = -_X + (axis @ _X) * axis
    up /= np.linalg.norm(up)
    hook, hook_wire = _HOOK * radius, _HOOK_WIRE * wire
    inside = rings.centres[same].mean(axis=0) + (radius - wire - hook_wire) * up
    return Rings(
        np.vstack([rings.centres, inside + hook * up]),
        np.vstack([rings.axes, np.cross(axis, up)]),
        np.append(rings.core_radii, hook),
        np.append(rings.wire_radii, hook_wire),
    )


def resting(piece: Piece, rest: Rest, scale: float, side: Floats = _AS_IT_IS) -> Lying:
    """A piece where its rings came to rest.

    Parameters
    ----------
    scale : their mean core radius in mm
    side : the signs of x, y and z by which they were mirrored (:func:`own_side`)
    """
    rings = mirrored(rest.rings, side)
    return Lying(placed(piece, rings, scale), rest.residual, rest.rounds, rest.settled)


def placed(piece: Piece, rings: Rings, scale: float) -> Piece:
    """A piece with its rings elsewhere, in a unit of length of so many millimetres."""
    return replace(piece, centres_mm=rings.centres * scale, axes=rings.axes)
