"""The whole piece of the wanted length, as the command ``preview`` lays it out."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize
from ringwright.outputs.models.preview import laid_piece, sound_piece
from ringwright.piece.piece import Piece
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

# So many rings turn smoothly on a tablet.
MOST_RINGS = 10_000


@dataclass(frozen=True, eq=False)
class Whole:
    """A whole piece, every pair of its rings measured.

    Attributes
    ----------
    repeats : how many along it
    length_mm : over its end rings
    smallest_gap_mm : between any two rings
    links : how many pairs run through one another
    """

    piece: Piece
    repeats: int
    length_mm: float
    smallest_gap_mm: float
    links: int


def whole_piece(
    rule: WeaveRule, size: RingSize, unit: Unit, least_mm: tuple[float, float | None]
) -> Whole:
    """Lay a piece out and measure every pair of its rings.

    Parameters
    ----------
    unit : at rest, at this size
    least_mm : the piece is at least so long, and a sheet so wide

    Raises
    ------
    BadInput
        When the length does not hold a repeat, or takes more rings than the page shows.
    """
    piece, repeats = laid_piece(rule, size, unit, least_mm, None)
    if len(piece) > MOST_RINGS:
        raise BadInput(
            f"The whole piece has {len(piece)} rings, and this page shows at most {MOST_RINGS}; "
            "ask for a shorter one, or make the files with 'ringwright preview'."
        )
    checked = sound_piece(rule, piece)
    return Whole(piece, repeats, piece.length_mm(), checked.smallest_gap_mm, len(checked.links))
