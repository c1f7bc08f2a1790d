"""In which state a piece is counted, and what it would take in the others."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.piece.piece import Piece, repeats_and_rows, ring_count, rows_of, woven_piece
from ringwright.rest.hanging import HANGINGS, hanging_unit
from ringwright.rest.unit import as_the_unit_lies, lying_unit
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rest_states import HUNG_BY_ROW, PULLED, SPREAD, RestState
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True)
class Count:
    """What a piece of some size takes in one state.

    Attributes
    ----------
    repeats, rows, rings : of the piece, rows as makers count them, end rings included; None for
        what its width decides, where its weight alone does not say how wide it hangs
    """

    state: RestState
    repeats: int | None
    rows: int | None
    rings: int | None


@dataclass(frozen=True)
class Counted:
    """In which state a piece is as long and wide as asked, and what it takes in others.

    Attributes
    ----------
    length_mm, width_mm : over the outsides in that state; the width of a sheet alone
    if_hung : what a sheet as large as asked takes hung, by either edge
    """

    rule: WeaveRule
    state: RestState
    length_mm: float
    width_mm: float | None
    if_hung: tuple[Count, ...]

    @property
    def rings_hung(self) -> list[int | None]:
        """What it would take hung by each of its edges."""
        return [count.rings for count in self.if_hung]


def counted_state(rule: WeaveRule) -> RestState:
    """The state in which pieces of a weave are counted: a sheet spread, all else pulled."""
    return SPREAD if rule.family.has_rows else PULLED


def counted_unit(rule: WeaveRule, unit: Unit) -> Unit:
    """The unit in that state, by which repeats and rows are counted.

    Parameters
    ----------
    unit : settled, pulled straight
    """
    return lying_unit(unit).unit if rule.family.has_rows else unit


def counted_piece(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    piece: Piece,
    least_mm: tuple[float, float | None],
) -> Counted:
    """In which state a piece is counted, and what a sheet as large takes hung.

    Parameters
    ----------
    unit : settled, pulled straight
    piece : of that unit
    least_mm : the length and, of a sheet, the width that was asked for
    """
    if not rule.family.has_rows:
        return Counted(rule, counted_state(rule), piece.length_mm(), None, ())
    spread = as_the_unit_lies(rule, piece, counted_unit(rule, unit))
    low, high = extent(spread.rings(), np.array([0.0, 1.0, 0.0]))
    hung = if_hung(rule, unit, core_radius_mm, *least_mm)
    return Counted(rule, counted_state(rule), spread.length_mm(), high - low, hung)


def if_hung(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    length_mm: float,
    width_mm: float | None = None,
) -> tuple[Count, ...]:
    """What a sheet takes that is to be so long and wide as it hangs, by either edge.

    Parameters
    ----------
    unit : settled, pulled straight
    length_mm : along its rows
    width_mm : across them; the usual one when left out

    Returns
    -------
    tuple
        A count for each of ``HANGINGS``; nothing for what is no sheet.
    """
    if not rule.family.has_rows:
        return ()
    return tuple(
        _count(rule, unit, state, core_radius_mm, length_mm, width_mm) for state in HANGINGS
    )


def _count(
    rule: WeaveRule,
    unit: Unit,
    state: RestState,
    scale: float,
    length_mm: float,
    width_mm: float | None,
) -> Count:
    hangs = hanging_unit(unit, state)
    if not hangs.settled:
        return Count(state, None, None, None)
    # One repeat is enough for what is shorter.
    along, _, pitch = (scale * hangs.unit.lattice.values).tolist()
    wide_mm = None if width_mm is None else max(width_mm, pitch)
    repeats, across = repeats_and_rows(rule, hangs.unit, scale, max(length_mm, along), wide_mm)
    rows = rows_across(rule, counted_unit(rule, unit), across)
    if hangs.told:
        return Count(state, repeats, rows, ring_count(rule, repeats, across))
    # How long it hangs is known all the same.
    by_row = state == HUNG_BY_ROW
    return Count(state, None if by_row else repeats, rows if by_row else None, None)


def rows_across(rule: WeaveRule, counted: Unit, repeats: int) -> int:
    """How many rows makers count in so many repeats across a sheet; a repeat may be two of them."""
    return len(rows_of(woven_piece(rule, counted, 1.0, 1, repeats), lying=True))
