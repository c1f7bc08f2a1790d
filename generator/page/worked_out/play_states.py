"""How a weave moves within its play, worked out once and then looked at in the browser.

Plain functions that a process runs; what they give holds the places of all rings in every
state, so that the page need not ask again while a slider is dragged.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.base.arrays import Bools
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import close_pairs, contacts
from ringwright.movement.bend import inner_radius
from ringwright.movement.motion import bending, pushing
from ringwright.movement.play import guided
from ringwright.outputs.gallery.gallery import shown_repeats
from ringwright.piece.piece import Piece, place_in_weave, woven_piece
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

ALONG, ACROSS, UP, SIDEWAYS = "along", "across", "up", "sideways"
# A bent chain is shown so far to either side of its middle, or less where its ends would meet.
_ARCS = tuple(math.radians(degrees) for degrees in (150, 120, 90, 60))
_DEEPEST_MM = 1e-6


@dataclass(frozen=True, eq=False)
class Stop:
    """One state.

    Attributes
    ----------
    poses : (n, 6) centre in millimetres and axis of every ring; the axis is zero for a ring that
        is not shown, as the bent chain would come round to meet itself there
    length_mm : of one repeat along what is pushed; of a bent chain, along the arc
    turn : from one repeat to the next, radians, negative to the first of the path's two sides
    inner_radius_mm : of a bend, to the nearest metal; None where it is straight
    """

    poses: NDArray[np.float32]
    length_mm: float
    turn: float = 0.0
    inner_radius_mm: float | None = None


@dataclass(frozen=True, eq=False)
class Path:
    """States in order: from pushed to pulled, or from bent to one side to bent to the other.

    Attributes
    ----------
    kind : one of the names above
    rest : which of the stops is at rest, pulled straight
    guided_percent : how much shorter it gets when pushed and guided straight; None for a bend
    """

    kind: str
    stops: tuple[Stop, ...]
    rest: int
    guided_percent: float | None = None


@dataclass(frozen=True, eq=False)
class PlayStates:
    """All ways in which a piece moves, and the piece at rest, in the middle of the view."""

    piece: Piece
    paths: tuple[Path, ...]


def moves(on_progress: Progress, rule: WeaveRule, size: RingSize, unit: Unit) -> PlayStates:
    """Push, pull and bend some repeats.

    Parameters
    ----------
    unit : at rest, at this size

    Raises
    ------
    BadInput
        For a finished piece.
    """
    if not rule.family.repeats:
        raise BadInput(
            "This weave is a finished piece without repeats; there is nothing to push or bend."
        )
    lay = _Lay(rule, size, unit)
    kinds = [ALONG]
    kinds += [ACROSS] if rule.family.has_rows else []
    kinds += [UP, SIDEWAYS] if rule.family.bends else []
    paths = []
    for done, kind in enumerate(kinds):
        on_progress("ways it moves", done, len(kinds))
        paths.append(_bent(lay, unit, kind) if kind in (UP, SIDEWAYS) else _pushed(lay, unit, kind))
    on_progress("ways it moves", len(kinds), len(kinds))
    return PlayStates(lay.at_rest, tuple(paths))


def _pushed(lay: _Lay, unit: Unit, kind: str) -> Path:
    value = 2 if kind == ACROSS else 0
    states = pushing(unit, value)[::-1]
    stops = [Stop(lay.poses(one), lay.mm(one.lattice.values[value])) for one in states]
    return Path(kind, tuple(stops), len(stops) - 1, guided(unit, value).percent)


def _bent(lay: _Lay, unit: Unit, kind: str) -> Path:
    # A chain that is bent up curls about an axis above it.
    first, second = (1, -1) if kind == UP else (-1, 1)
    low = [_bend(lay, one, -1.0) for one in bending(unit, kind, first)]
    high = [_bend(lay, one, 1.0) for one in bending(unit, kind, second)]
    return Path(kind, (*low[:0:-1], *high), len(low) - 1)


def _bend(lay: _Lay, unit: Unit, side: float) -> Stop:
    turn = float(unit.lattice.values[1])
    inner_mm = lay.mm(inner_radius(unit)) if turn > 0.0 else None
    return Stop(lay.poses(unit), lay.mm(unit.repeat), side * turn, inner_mm)


class _Lay:
    """Lays out some repeats of a state, its middle repeat always in the same place."""

    def __init__(self, rule: WeaveRule, size: RingSize, unit: Unit) -> None:
        self._rule, self._scale = rule, size.core_radius_mm
        self._many = shown_repeats(rule, unit)
        self._middle = (self._many[0] // 2, self._many[1] // 2 if rule.family.has_rows else 0)
        self.at_rest = self._centred(unit)
        images = np.array([place_in_weave(name)[1] for name in self.at_rest.names])
        self._away = np.abs(images[:, 0] - self._middle[0])

    def mm(self, length: float) -> float:
        """A length in core radii in millimetres."""
        return float(length) * self._scale

    def poses(self, unit: Unit) -> NDArray[np.float32]:
        """As in :class:`Stop`."""
        piece = self._centred(unit)
        axes = piece.axes.copy()
        if unit.lattice.kind.is_bent:
            axes[~self._apart(piece, float(unit.lattice.values[1]))] = 0.0
        return np.column_stack([piece.centres_mm, axes]).astype(np.float32)

    def _apart(self, piece: Piece, turn: float) -> Bools:
        """Which rings of a bent chain to show, so that its ends do not run into one another."""
        for arc in _ARCS:
            shown = self._away * turn <= arc
            if _is_clear(piece, shown):
                return np.asarray(shown)
        return np.asarray(self._away == 0)

    def _centred(self, unit: Unit) -> Piece:
        piece = woven_piece(self._rule, unit, self._scale, *self._many)
        turn, shift = unit.lattice.motion(np.array([self._middle], np.intp))
        return Piece(
            piece.names,
            piece.roles,
            (piece.centres_mm - shift[0] * self._scale) @ turn[0],
            piece.axes @ turn[0],
            piece.core_radii_mm,
            piece.wire_radii_mm,
        )


def _is_clear(piece: Piece, shown: Bools) -> bool:
    rings = piece.rings().of(shown)
    found = contacts(rings, close_pairs(rings, 0.0))
    return bool(found.gap.min(initial=0.0) >= -_DEEPEST_MM)
