"""Pieces worn round a wrist or a finger: laid on a table, wound round the form, drawn onto it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput
from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import format_mm
from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import WEIGHT, Goal, weights
from ringwright.falling.touches import Touches
from ringwright.geometry.contact import Rings, close_pairs, contacts
from ringwright.geometry.lattice import ALONE, Lattice
from ringwright.geometry.oval import Oval
from ringwright.piece.piece import Piece, place_in_weave, woven_piece
from ringwright.rest.fit import along_oval
from ringwright.rest.form import Column
from ringwright.rest.start import in_core_radii, set_down
from ringwright.rest.states import AT_THE_END, Lying, ends_of_rows, on_table, resting
from ringwright.solver.climb import Unit
from ringwright.solver.placement import LinkKey, linked_pairs
from ringwright.weaves.rule import WeaveRule

# Repeats of a piece that is worn; and how long a part of it is worn to see how much it covers,
# in core radii.
FEWEST, _SAMPLE = 3, 12.0
# On the form itself, and on each larger one on the way there.
_ROUNDS, _SOME = 400, 40
# Rings may begin so deep in one another, in wire radii; and how much more curved than the last one
# the next form is at least, as a share of the last form's curvature.
_DEEP, _LEAST_STEP = 1.0, 1.0 / 32.0
# What does not bend as it lies may do so upside down, or on its edge.
_WAYS_ROUND = (0, 2, 1, 3)
_QUARTER = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


# How far, in core radii, the middle ring of a piece may slide round the form.
_SLIDES = 1e-3


class TooLong(BadInput):
    """A piece goes round more than once."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _DrawnOn(Goal):
    """A piece about the z axis, drawn tight by its ends and onto a column by its weight.

    Attributes
    ----------
    column : what it lies round
    weight : (n,) how much each ring is drawn to it
    first, last : (n,) shares of 1 of the rings at the ends, the last one's way on from the first
        round z; the pull of 1 draws them to one another behind, at +y
    """

    column: Column
    weight: Floats
    first: Floats
    last: Floats

    def energy(self, rings: Rings, lattice: Lattice = ALONE) -> float:
        away = self.column.away(rings.centres).distance
        x, y = self._on_circle(rings)
        turn = np.arctan2(x, y)
        # The last ring may go on past half a turn, and the first one before it.
        last, first = (
            turn - 2.0 * np.pi * np.round(turn / (2.0 * np.pi) - middle) for middle in (0.25, -0.25)
        )
        wound = float(last @ self.last - first @ self.first)
        return float(self.weight @ away) - self.column.oval.half_axes[0] * wound

    def pull(self, rings: Rings, lattice: Lattice = ALONE) -> Floats:
        each = np.zeros((len(rings.centres), 5))
        each[:, :3] = -self.weight[:, None] * self.column.away(rings.centres).outward
        long, short = self.column.oval.half_axes
        x, y = self._on_circle(rings)
        drawn = long * (self.last - self.first) / (x**2 + y**2)
        each[:, 0] += drawn * y / long
        each[:, 1] += drawn * x / short
        return each.ravel()

    def _on_circle(self, rings: Rings) -> tuple[Floats, Floats]:
        """Where rings are on the circle that the oval is when its axes are made alike.

        Turns there are what the pull winds up: behind, where a turn is longest on the oval, the
        gap is held in its middle.
        """
        long, short = self.column.oval.half_axes
        return rings.centres[:, 0] / long, -rings.centres[:, 1] / short


@dataclass(frozen=True)
class _Skin:
    """What keeps a piece from sliding round a form: its middle ring stays where it was laid.

    Without friction the piece as a whole is all but free to, and rings that hold one another in
    another way at every place of an oval make it creep round without end.

    Attributes
    ----------
    ring : which one is the middle
    x : where it stays, in front
    """

    ring: int
    x: float

    def __call__(self, rings: Rings, reach: float) -> Touches:
        """How far the ring may still slide to either side."""
        sides = np.array([1.0, -1.0])
        slopes = np.zeros((2, 5))
        slopes[:, 0] = sides
        centre = rings.centres[self.ring]
        return Touches(
            np.full(2, self.ring),
            _SLIDES + sides * (centre[0] - self.x),
            centre + np.outer(sides, [1.0, 0.0, 0.0]),
            np.ones(2, np.bool_),
            slopes,
            np.zeros((2, 5, 5)),
        )


def worn(piece: Piece, oval: Oval, told: Tally = uncounted, near: Piece | None = None) -> Lying:
    """A chain or sheet round a wrist or finger, its ends drawn to one another behind.

    It is laid on a table, so that what is down there comes to lie on the skin; wound round the
    oval; and drawn tight by its ends a hundred times as hard as every ring is drawn to the skin.
    Ends that reach one another hold one another; shorter pieces leave a gap for the clasp.

    Parameters
    ----------
    piece : pulled straight along x
    oval : the form, in millimetres; its long axis along x
    told : called with (done, of) in every round
    near : the same rings, where they nearly lie on a table: quicker than from ``piece``

    Returns
    -------
    The piece about the z axis: its middle in front, at -y, its ends behind.

    Raises
    ------
    TooLong
        When it goes round more than once.
    BadInput
        When it does not bend so far.
    """
    flat, scale = in_core_radii(on_table(piece, told, near).piece)
    most_mm = _round_mm(flat, scale, oval)
    if piece.length_mm() > most_mm:
        raise TooLong(
            f"a piece of {format_mm(piece.length_mm())} is too long to be worn round "
            f"{format_mm(oval.girth)}, which {format_mm(most_mm)} of it goes round once; take "
            "fewer repeats, or a larger form."
        )
    for quarters in _WAYS_ROUND:
        rolled = set_down(flat.turned(np.linalg.matrix_power(_QUARTER, quarters)))
        rest = _bent_round(piece, rolled, oval.scaled(1.0 / scale), told)
        if rest is not None:
            return resting(piece, rest, scale)
    raise BadInput(
        f"a piece of {format_mm(piece.length_mm())} does not bend round {format_mm(oval.girth)}; "
        "take a larger form."
    )


def _bent_round(piece: Piece, flat: Rings, oval: Oval, told: Tally) -> Rest | None:
    """A piece on a table bent more and more, and at rest round an oval; None where it jams.

    Rings that would lie too far in one another are drawn round larger forms first.

    Parameters
    ----------
    flat : on the table z = 0, in core radii as the oval is
    """
    ends = [ends_of_rows(piece, sign * flat.centres[:, 0], AT_THE_END) for sign in (1.0, -1.0)]
    first, last = (end / end.sum() for end in ends)
    links, lie, share, step = linked_pairs(Unit(flat, ALONE)), _lie_flat(flat), 0.0, 1.0
    middle = int(np.abs(lie.along).argmin())
    skin = _Skin(middle, float(lie.along[middle]))
    while True:
        form = oval.scaled(1.0 / (share + step))
        rings = lie.on(form, flat)
        if not _may_begin(rings, links):
            step *= 0.5
            if step < _LEAST_STEP:
                return None
            continue
        share += step
        column = Column(form, np.eye(3), np.zeros(3))
        goal = _DrawnOn(
            forces=np.zeros_like(rings.centres),
            column=column,
            weight=WEIGHT * weights(rings),
            first=first,
            last=last,
        )
        if share >= 1.0:
            return fallen(rings, goal, (column, skin), rounds=_ROUNDS, told=told)
        rings = fallen(rings, goal, (column, skin), rounds=_SOME, told=told).rings
        lie, step = _lie_on(form, rings, lie.height), min(2.0 * step, 1.0 - share)


def _may_begin(rings: Rings, links: dict[LinkKey, int]) -> bool:
    """Whether rings are linked as they should be and not too far in one another."""
    near = contacts(rings, close_pairs(rings, 0.0))
    if float(near.gap.min()) <= -_DEEP * float(rings.wire_radii.min()):
        return False
    return linked_pairs(Unit(rings, ALONE)) == links


def fitting(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    oval: Oval,
    rows: int = 1,
    told: Tally = uncounted,
) -> Piece:
    """The longest piece of whole repeats that goes round a form, a wire to spare between its ends.

    Parameters
    ----------
    unit : the settled unit, in units of the core radius
    core_radius_mm : that unit in millimetres
    oval : the form, in millimetres
    rows : of a sheet
    told : called with (done, of) in every round

    Raises
    ------
    BadInput
        When not even three repeats go round it, or it does not bend so far.
    """
    half = 0.5 * oval.girth / (unit.repeat * core_radius_mm)
    count = max(FEWEST, min(math.ceil(_SAMPLE / unit.repeat), math.floor(half)))
    sample = woven_piece(rule, unit, core_radius_mm, count, rows)
    # As much on the whole as one repeat covers where all of the form is curved alike.
    one_mm, all_mm = _covered_mm(sample, Oval(oval.girth, 1.0), told)
    room_mm = oval.girth - all_mm - 2.0 * float(sample.wire_radii_mm.max())
    return woven_piece(rule, unit, core_radius_mm, count + math.floor(room_mm / one_mm), rows)


def _covered_mm(sample: Piece, form: Oval, told: Tally) -> tuple[float, float]:
    """How much of a form one repeat of a piece covers, and all of it, metal to metal."""
    laid = worn(sample, form, told).piece
    low, high = along_oval(laid, form)
    _, _, middle = form.clearance(laid.centres_mm)
    places = [place_in_weave(name) for name in laid.names]
    number = np.array([image[0] for _, image in places])
    # The same ring of the first and of the last repeat, and of every row.
    first, last = number == 0, number == number.max()
    each = float(middle[last].mean() - middle[first].mean()) / float(number.max())
    return each, high - low


def _round_mm(lying: Rings, scale: float, oval: Oval) -> float:
    """How long a piece may be to go round an oval once.

    Parameters
    ----------
    lying : on the table z = 0
    scale : their unit of length, in millimetres
    oval : in millimetres
    """
    # A line so far outside is longer by that times a whole turn.
    return oval.girth + 2.0 * np.pi * float(lying.centres[:, 2].mean()) * scale


@dataclass(frozen=True, eq=False)
class _Lie:
    """How rings lie on a form or a table, whatever its shape.

    Attributes
    ----------
    along : (n,) where, from the middle in front, by the length of a line ``height`` outside
    across, out : (n,) along the form's axis, and from its surface
    axes : (n, 3) the rings' axes: onward, across, out
    height : of the line that keeps its length as the form changes
    """

    along: Floats
    across: Floats
    out: Floats
    axes: Floats
    height: float

    def on(self, form: Oval, rings: Rings) -> Rings:
        """Rings laid so on another form."""
        lengths, outside = _line(form, self.height)
        points, frame = _frames(form, np.interp(self.along, outside, lengths))
        offset = np.stack([np.zeros_like(self.out), self.across, self.out], axis=1)
        return replace(
            rings,
            centres=points + np.einsum("ni,nij->nj", offset, frame),
            axes=np.einsum("ni,nij->nj", self.axes, frame),
        )


def _lie_flat(rings: Rings) -> _Lie:
    """How rings lie on the table z = 0."""
    x, y, z = rings.centres.T
    return _Lie(x - 0.5 * (x.min() + x.max()), y, z, rings.axes, float(z.mean()))


def _lie_on(form: Oval, rings: Rings, height: float) -> _Lie:
    """How rings lie on a form about the z axis."""
    out, _, along = form.clearance(rings.centres)
    lengths, outside = _line(form, height)
    _, frame = _frames(form, along)
    axes = np.einsum("nj,nij->ni", rings.axes, frame)
    return _Lie(np.interp(along, lengths, outside), rings.centres[:, 2], out, axes, height)


def _line(form: Oval, height: float) -> tuple[Floats, Floats]:
    """Lengths along a form from behind, and along a line so far outside, from its middle."""
    lengths = form.lengths
    _, onward, _ = form.frames(lengths)
    turned = np.unwrap(np.arctan2(onward[:, 1], onward[:, 0]))
    outside = lengths + height * (turned - turned[0])
    return lengths, outside - 0.5 * outside[-1]


def _frames(form: Oval, lengths: Floats) -> tuple[Floats, Floats]:
    """Points of a form, and there the ways onward, across and out, (n, 3, 3)."""
    points, onward, outward = form.frames(lengths)
    across = np.broadcast_to(np.eye(3)[2], onward.shape)
    return points, np.stack([onward, across, outward], axis=1)
