"""What is looked at, at rest in the state that is wanted: on a table, hung, worn."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.outputs.stills.form import form_for
from ringwright.piece.mesh import Mesh
from ringwright.piece.piece import Piece, piece_of_length
from ringwright.piece.piece import place_in_weave as place
from ringwright.rest.fit import Fit
from ringwright.rest.laid import MOST_AS_USUAL, Laid, laid, laid_if_asked, upright
from ringwright.rest.on_body import snug
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rest_states import Body, RestState
from ringwright.weaves.rule import WeaveRule

# A worn piece of more rings takes longer than a maker waits before the page.
MOST_WORN = 600
# Points about what a piece is worn on, and how far they are apart along it.
_AROUND, _ALONG_MM = 96, 4.0
_X, _Y, _UP = np.eye(3)


@dataclass(frozen=True, eq=False)
class Lies:
    """Rings at rest.

    Attributes
    ----------
    said : how they are, in words
    on_table : whether they lie on a table
    straight : the same rings pulled straight, where these are others than were given
    form : what they are worn on, where they are
    fit : how they fit it
    """

    piece: Piece
    said: str
    on_table: bool = True
    straight: Piece | None = None
    form: Mesh | None = None
    fit: Fit | None = None


def settled_in(
    on_progress: Progress, state: RestState | None, rule: WeaveRule, unit: Unit, straight: Piece
) -> Lies | None:
    """How a piece is at rest in a state; None where it has too many rings, or finds no rest.

    Its middle stays where it is.

    Parameters
    ----------
    on_progress : called with (what, done, of)
    state : one of the family's in which nobody wears it; None for as it is pictured
    unit : settled, pulled straight
    straight : some repeats of it
    """
    try:
        found = _in_state(on_progress, state, rule, unit, straight)
    except NoRest:
        return None
    if found is None or not found.lying.settled:
        return None
    piece = upright(found.piece) if found.state.hangs else found.piece
    return Lies(about_the_same_middle(straight, piece), found.state.said, found.state.lies)


def _in_state(
    on_progress: Progress, state: RestState | None, rule: WeaveRule, unit: Unit, straight: Piece
) -> Laid | None:
    if state is None:
        usual = laid_if_asked(rule, unit, straight, None, on_progress)
        if usual is not None:
            return usual
    if len(straight) > MOST_AS_USUAL:
        return None
    return laid(rule, unit, straight, state or rule.family.lies, on_progress)


def worn_on_somebody(
    on_progress: Progress,
    state: RestState,
    rule: WeaveRule,
    unit: Unit,
    size: RingSize,
    piece: Piece | None,
    width_mm: float | None,
) -> Lies:
    """A piece worn, and what it is worn on.

    Parameters
    ----------
    on_progress : called with (what, done, of)
    state : in which it is worn
    unit : settled, pulled straight
    piece : None for as much as goes round
    width_mm : of such a sheet at least; None for the usual one

    Raises
    ------
    BadInput
        When it is too long or too short for that, or of too many rings.
    NoRest
        When it came to no rest.
    """
    assert state.body is not None
    if piece is None:
        piece = _as_much_as_goes_round(on_progress, state.body, rule, unit, size, width_mm)
    if len(piece) > MOST_WORN:
        raise BadInput(
            f"It would be {len(piece)} rings, and this page bends at most {MOST_WORN} round "
            "anything; ask for a smaller piece."
        )
    found = laid(rule, unit, piece, state, on_progress)
    if not found.lying.settled or found.fit is None:
        raise NoRest(f"It did not come to rest {state.said}.")
    form = form_for(found.piece, found.fit.form).mesh(_ALONG_MM, _AROUND)
    return Lies(found.piece, state.said, False, piece, form, found.fit)


def _as_much_as_goes_round(
    on_progress: Progress,
    body: Body,
    rule: WeaveRule,
    unit: Unit,
    size: RingSize,
    width_mm: float | None,
) -> Piece:
    scale, rows = size.core_radius_mm, 1
    if rule.family.has_rows:
        one, _ = piece_of_length(rule, unit, scale, unit.repeat * scale, width_mm)
        rows = 1 + max(place(name)[1][1] for name in one.names)
    return snug(rule, unit, scale, body, rows, on_progress)


def about_the_same_middle(straight: Piece, lying: Piece) -> Piece:
    """A piece moved so that its middle is where another one's is."""
    shift: Floats = np.array(
        [
            sum(extent(straight.rings(), along)) - sum(extent(lying.rings(), along))
            for along in (_X, _Y, _UP)
        ]
    )
    return replace(lying, centres_mm=lying.centres_mm + 0.5 * shift)
