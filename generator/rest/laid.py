"""A finished piece in the state that was asked for, measured again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress, Tally, quiet, tallied
from ringwright.falling.at_rest import AT_REST
from ringwright.piece.piece import Piece, PieceCheck, check_piece, expected_links
from ringwright.rest.fit import Fit
from ringwright.rest.form import Column
from ringwright.rest.grown import nearly_spread
from ringwright.rest.on_body import worn_on
from ringwright.rest.states import Lying, hung, hung_sheet, let_lie, on_table, spread
from ringwright.rest.unit import as_the_unit_lies, can_lie, lying_unit
from ringwright.solver.climb import Unit
from ringwright.weaves.rest_states import (
    HUNG,
    HUNG_BY_ENDS,
    HUNG_BY_ROW,
    ON_TABLE,
    PULLED,
    SPREAD,
    SPREAD_AS_MIDDLE,
    RestState,
)
from ringwright.weaves.rule import WeaveRule

# More rings than this take minutes, and gigabytes.
MOST_LAID = 2_000
# More than this take longer than is waited for unasked.
MOST_AS_USUAL = 300

# From a piece, who waits, and where the rings nearly are, to how they rest.
_WAYS: dict[RestState, Callable[[Piece, Tally, Piece | None], Lying]] = {
    ON_TABLE: on_table,
    SPREAD: spread,
    HUNG: lambda piece, told, _: hung(piece, told),
    HUNG_BY_ROW: lambda piece, told, _: hung_sheet(piece, "row", told),
    HUNG_BY_ENDS: lambda piece, told, _: hung_sheet(piece, "ends", told),
}


@dataclass(frozen=True, eq=False)
class Laid:
    """A piece in another state than pulled straight.

    Attributes
    ----------
    state : which
    pulled : the piece as it was, pulled straight
    lying : as it is now
    checked : every pair of rings, measured again as they are now
    fit : how it fits where it is worn; None where it is not
    """

    state: RestState
    pulled: Piece
    lying: Lying
    checked: PieceCheck
    fit: Fit | None = None

    @property
    def piece(self) -> Piece:
        """Its rings as they are now."""
        return self.lying.piece

    def size_mm(self) -> tuple[float, float, float]:
        """Length, width and thickness; of a worn piece along, across and away from the form."""
        if self.fit is None:
            return self.lying.size_mm()
        return self.fit.along_mm, self.fit.width_mm, self.fit.thickness_mm


def laid(
    rule: WeaveRule, unit: Unit, piece: Piece, state: RestState, on_progress: Progress = quiet
) -> Laid:
    """Let a piece come to rest in one of its family's states, but pulled straight, as it is.

    Parameters
    ----------
    unit : settled, pulled straight
    piece : some repeats of it
    on_progress : called with (what, done, of)

    Raises
    ------
    BadInput
        When it has too many rings.
    NoRest
        When rings were still in each other's way after the last round.
    """
    if len(piece) > MOST_LAID:
        raise BadInput(
            f"{len(piece)} rings are too many to work out how they lie, which is {MOST_LAID} at "
            "most; ask for a smaller piece, or leave --laid out."
        )
    with tallied(f"{rule.name}, {state.said}", on_progress) as told:
        if state.body is not None:
            found = worn_on(rule, unit, piece, state.body, told)
            lying, fit, closed_after = found.lying, found.fit, found.fit.closed_after
        else:
            lying, fit, closed_after = _at_rest(rule, unit, piece, state, told), None, 0
    checked = _sound(rule, lying.piece, state, closed_after)
    return Laid(state, piece, lying, checked, fit)


def _at_rest(rule: WeaveRule, unit: Unit, piece: Piece, state: RestState, told: Tally) -> Lying:
    """A piece at rest that is not worn."""
    if state == ON_TABLE and not has_ends(rule):
        return let_lie(piece, told)
    # Only the ends and edges of a piece lie otherwise than an endless one.
    near = None
    if state.lies and can_lie(unit):
        lies = lying_unit(unit).unit
        near = as_the_unit_lies(rule, piece, lies)
        begun = nearly_spread(rule, lies, piece, told) if state == SPREAD else None
        if begun is not None:
            lying = spread(piece, told, near, begun)
            if lying.settled:
                return lying
    return _WAYS[state](piece, told, near)


def laid_if_asked(
    rule: WeaveRule,
    unit: Unit,
    piece: Piece,
    state: RestState | None,
    on_progress: Progress = quiet,
) -> Laid | None:
    """A piece as a picture shows it; None for pulled straight.

    Parameters
    ----------
    state : that was asked for; None for as its family is pictured, if that takes seconds and the
        piece comes to rest so
    """
    if state is None:
        return _as_usual(rule, unit, piece, on_progress)
    return None if state == PULLED else laid(rule, unit, piece, state, on_progress)


def _as_usual(rule: WeaveRule, unit: Unit, piece: Piece, on_progress: Progress) -> Laid | None:
    state = rule.family.pictured
    if state == SPREAD_AS_MIDDLE:
        return _as_middle(rule, unit, piece)
    if state == PULLED or len(piece) > MOST_AS_USUAL:
        return None
    try:
        return laid(rule, unit, piece, state, on_progress)
    except NoRest:
        return None


def _as_middle(rule: WeaveRule, unit: Unit, piece: Piece) -> Laid | None:
    """A sheet all of which lies as one unit does within a larger one; None if that has no rest."""
    found = lying_unit(unit)
    if not found.settled:
        return None
    lies = as_the_unit_lies(rule, piece, found.unit)
    lying = Lying(lies, found.residual, found.rounds, found.settled)
    return Laid(SPREAD_AS_MIDDLE, piece, lying, _sound(rule, lies, SPREAD_AS_MIDDLE))


def has_ends(rule: WeaveRule) -> bool:
    """Whether a piece is drawn straight by its ends; a sheet is spread, a rosette set down."""
    return not rule.family.has_rows and (rule.family.repeats or any(rule.ends))


def seen_round(laid: Laid) -> Piece:
    """A piece as it lies, but turned so that what is worn goes round in the plane z = 0."""
    if laid.fit is None or (isinstance(laid.fit.form, Column) and not laid.fit.closed):
        return laid.piece
    return laid.piece.turned(np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]))


def upright(piece: Piece) -> Piece:
    """A piece that hangs along x, turned so that down is down, against z."""
    return piece.turned(np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]]))


def _sound(rule: WeaveRule, piece: Piece, state: RestState, closed_after: int = 0) -> PieceCheck:
    """Every pair measured again; ``closed_after`` as of :func:`expected_links`."""
    checked = check_piece(piece)
    if checked.links != expected_links(rule, piece, closed_after):
        raise RuntimeError("the links of the piece at rest are not those of the rule")
    # As deep as rings at rest may be in each other.
    if checked.smallest_gap_mm < -AT_REST * float(piece.core_radii_mm.max()):
        raise NoRest(
            f"{rule.name} did not come to rest {state.said}: rings are still "
            f"{-checked.smallest_gap_mm:.1g} mm into each other; ask for a smaller piece, or leave "
            "--laid out."
        )
    return checked
