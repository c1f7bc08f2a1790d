"""How much of a sheet one ring takes, away from its edges."""

from __future__ import annotations

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput
from ringwright.piece.piece import Piece, place_in_weave

# Of the repeats along each way, those before and after this share are left out as edge.
_EDGE = 0.25


def area_per_ring_mm2(piece: Piece) -> float:
    """The area a ring takes in the middle of a sheet.

    Measured from repeat to repeat, not over the outsides: two vectors are fitted to the centres of
    all whole repeats in the middle half of the sheet, both ways; they span the parallelogram that
    the rings of one repeat take. Rings at the edges, which lean out, do not count.

    Raises
    ------
    BadInput
        When the sheet has not two whole repeats each way.
    """
    places, centres, rings = _cells(piece)
    middle = np.ones(len(places), bool)
    for numbers in places.T:
        low, high = np.quantile(np.unique(numbers), [_EDGE, 1.0 - _EDGE])
        # Two at least.
        low, high = min(low, high - 1.0), max(high, low + 1.0)
        middle &= (numbers >= np.floor(low)) & (numbers <= np.ceil(high))
    along = np.column_stack([np.ones(int(middle.sum())), places[middle]])
    fit, _, rank, _ = np.linalg.lstsq(along, centres[middle], rcond=None)
    if rank < 3:
        raise BadInput(
            "the area of a ring is measured on a sheet of two rows and two repeats or more; "
            "give a larger piece."
        )
    return float(np.linalg.norm(np.cross(fit[1], fit[2]))) / rings


def _cells(piece: Piece) -> tuple[Floats, Floats, int]:
    """Each whole repeat's two numbers and its middle, and how many rings it has."""
    found: dict[tuple[int, int], list[int]] = {}
    for at, name in enumerate(piece.names):
        _, (along, across) = place_in_weave(name)
        found.setdefault((along, across), []).append(at)
    most = max(len(rings) for rings in found.values())
    whole = {place: rings for place, rings in found.items() if len(rings) == most}
    middles = [piece.centres_mm[rings].mean(axis=0) for rings in whole.values()]
    return np.array(list(whole), float), np.array(middles), most
