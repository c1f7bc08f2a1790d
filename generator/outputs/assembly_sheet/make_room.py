"""Room for a ring that stands open: it and the rings about it give way until no metal cuts metal.

A ring is opened little by little from where it lies closed. After every little the rings that
overlap are moved apart, each as little as will do, as they would slide aside on the wire. No
ring moves as far as a wire is thick in one go, so none passes through another on the way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.circles import nearest_on_circle
from ringwright.outputs.assembly_sheet.open_ring import OpenRing
from ringwright.piece.piece import Piece

# Points along every ring; the room that is asked for, in wire radii, so that between them
# there is some too.
_POINTS = 60
_MARGIN = 0.04
# In so many stages a ring is opened; so many times the rings give way in each, and in the last.
_STAGES, _TIMES, _LAST = 5, 6, 40
# The farthest that a ring moves at a time, in wire radii.
_STEP = 0.3
# Gaps of less than so many wire radii are looked after when rings give way.
_NEAR = 0.8
# Rings whose rims lie within so many wire radii of one another may meet as they give way.
_REACH = 4.0


@dataclass(frozen=True, eq=False)
class Opened:
    """A ring that stands open in a piece, and how the others lie about it.

    Attributes
    ----------
    ring : the open one
    piece : all rings; the open one's entry is where it lies when its halves are turned back
    room_mm : the least gap between any two rings; below 0 they cut into one another
    moved_mm : the farthest that a ring's middle has given way
    """

    ring: OpenRing
    piece: Piece
    room_mm: float
    moved_mm: float


def stand_open(piece: Piece, held: tuple[int, ...], place: int, opened: OpenRing) -> Opened:
    """A ring opened, those about it out of its way.

    Parameters
    ----------
    piece : closed rings, none of which overlap
    held : rings that do not move
    place : the ring's place in ``piece``
    opened : how it is to stand open, about the place where it lies closed
    """
    bodies = _Bodies(piece, held, place, opened)
    for stage in range(1, _STAGES + 1):
        bodies.open_to(stage / _STAGES)
        for _ in range(_LAST if stage == _STAGES else _TIMES):
            if not bodies.give_way():
                break
    return bodies.result()


def least_room(piece: Piece, place: int, opened: OpenRing, points: int = 240) -> float:
    """The least gap between an open ring and any other of a piece, in mm; below 0 they overlap."""
    others = np.flatnonzero(np.arange(len(piece)) != place)
    line = opened.core_line(points)
    circles = (piece.centres_mm[others], piece.axes[others], piece.core_radii_mm[others])
    near = nearest_on_circle(line[:, None], *circles)
    away = np.linalg.norm(near - line[:, None], axis=-1) - piece.wire_radii_mm[others]
    return float(away.min() - opened.wire_radius_mm)


class _Bodies:
    """The rings of a piece while one of them is being opened."""

    def __init__(self, piece: Piece, held: tuple[int, ...], place: int, opened: OpenRing) -> None:
        self.piece, self.place, self.wanted, self.ring = piece, place, opened, opened
        self._began = piece.centres_mm
        self.free = np.ones(len(piece))
        self.free[list(held)] = 0.0
        self.first, self.second = _neighbours(piece, place, self.free)

    def open_to(self, share: float) -> None:
        """Turn the halves of the ring apart by a share of what is wanted."""
        self.ring = replace(self.ring, shift_mm=share * self.wanted.shift_mm)

    def give_way(self) -> bool:
        """Move rings that come too near one another apart; False when there are none."""
        import daqp

        gaps, points, near = self._gaps()
        wire_mm = float(self.piece.wire_radii_mm.min())
        short = _MARGIN * wire_mm - gaps
        if short.max(initial=0.0) < 0.5 * _MARGIN * wire_mm:
            return False
        # Where the gap is least along the ring, and what is short already.
        lowest = (gaps <= np.roll(gaps, 1, axis=0)) & (gaps <= np.roll(gaps, -1, axis=0))
        at, row = np.nonzero((gaps < _NEAR * wire_mm) & (lowest | (short > 0.0)))
        slope = self._slopes(points[at, row], near[at, row], row)
        # Each ring moves as little as will do: a quadratic programme, soft where all will not.
        size, rows = slope.shape[1], len(at)
        limit = np.full(size, _STEP * wire_mm)
        step, _, flag, _ = daqp.solve(
            np.eye(size),
            np.zeros(size),
            slope,
            np.concatenate([limit, np.full(rows, 1e30)]),
            np.concatenate([-limit, short[at, row]]),
            np.concatenate([np.zeros(size, np.int32), np.full(rows, 8, np.int32)]),
        )
        if flag < 0:
            return False
        self._move(step.reshape(-1, 6))
        return True

    def _slopes(self, points: Floats, near: Floats, row: Ints) -> Floats:
        """How gaps change with the rings' motions, each six lengths; (rows, 6 n)."""
        piece, every = self.piece, np.arange(len(row))
        away = points - near
        away /= np.linalg.norm(away, axis=1)[:, None]
        i, j = self.first[row], self.second[row]
        slope = np.zeros((len(row), len(piece), 6))
        slope[every, i, :3] = away
        slope[every, j, :3] = -away
        for body, place, sign in ((i, points, 1.0), (j, near, -1.0)):
            arms = (place - piece.centres_mm[body]) / piece.core_radii_mm[body, None]
            slope[every, body, 3:] = sign * np.cross(arms, away)
        slope *= self.free[None, :, None]
        return slope.reshape(len(row), -1)

    def result(self) -> Opened:
        gaps, _, _ = self._gaps(240)
        moved = np.linalg.norm(self.piece.centres_mm - self._began, axis=1)
        return Opened(self.ring, self.piece, float(gaps.min(initial=np.inf)), float(moved.max()))

    def _gaps(self, count: int = _POINTS) -> tuple[Floats, Floats, Floats]:
        """Gaps of points along the first rings to the second ones, (count, pairs)."""
        piece = self.piece
        lines = _lines(piece, count)
        lines[:, self.place] = self.ring.core_line(count)
        points = lines[:, self.first]
        j = self.second
        near = nearest_on_circle(points, piece.centres_mm[j], piece.axes[j], piece.core_radii_mm[j])
        wires = piece.wire_radii_mm[self.first] + piece.wire_radii_mm[j]
        return np.linalg.norm(points - near, axis=2) - wires, points, near

    def _move(self, step: Floats) -> None:
        piece, ring = self.piece, self.ring
        turns = step[:, 3:] / piece.core_radii_mm[:, None]
        self.piece = replace(
            piece,
            centres_mm=piece.centres_mm + step[:, :3],
            axes=_turned(piece.axes, turns),
        )
        turn = turns[[self.place]]
        axis = _turned(ring.axis[None], turn)[0]
        cut = _turned(ring.cut[None], turn)[0]
        cut -= (cut @ axis) * axis
        self.ring = replace(
            ring,
            centre_mm=self.piece.centres_mm[self.place],
            axis=axis,
            cut=cut / np.linalg.norm(cut),
        )


def _neighbours(piece: Piece, place: int, free: Floats) -> tuple[Ints, Ints]:
    """Pairs of rings that may come near one another, the open one never second.

    Two that do not move stay as they are.
    """
    reach = piece.core_radii_mm + _REACH * piece.wire_radii_mm
    apart = np.linalg.norm(piece.centres_mm[:, None] - piece.centres_mm, axis=2)
    near = apart < reach[:, None] + reach
    np.fill_diagonal(near, False)
    near[:, place] = False
    near &= (free[:, None] + free) > 0.0
    first, second = np.nonzero(near)
    return first, second


def _lines(piece: Piece, count: int) -> Floats:
    """(count, n, 3) points along the middle of every ring's wire."""
    return np.swapaxes(piece.rings().core_points(count), 0, 1)


def _turned(vectors: Floats, turns: Floats) -> Floats:
    """Unit vectors turned by small rotation vectors."""
    angle = np.linalg.norm(turns, axis=1)[:, None]
    axis = turns / np.where(angle == 0.0, 1.0, angle)
    along = np.einsum("ni,ni->n", vectors, axis)[:, None]
    found = np.cos(angle) * vectors + np.sin(angle) * np.cross(axis, vectors)
    found = found + (1.0 - np.cos(angle)) * along * axis
    unit: Floats = found / np.linalg.norm(found, axis=1)[:, None]
    return unit
