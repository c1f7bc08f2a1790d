"""A large sheet begun as a small one lies: its edges lean already, and its middle is repeated."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.base.progress import Tally, uncounted
from ringwright.piece.piece import Piece, check_piece, place_in_weave, woven_piece
from ringwright.rest.states import spread
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

# Farther from an edge, in core radii, rings lie as in the middle.
_EDGE = 12.0
# A sheet of so many times the small one's rings is quicker begun from it, and loses little where
# the small one turns out to be no start.
_WORTH = 3.0
# Where edges are felt as far as the middle, as in loose weaves, drawn out its rings are in each
# other: by more than so much of the wire's radius, to begin there saves no rounds.
_DEEPEST = 0.02


def nearly_spread(
    rule: WeaveRule, lies: Unit, piece: Piece, told: Tally = uncounted
) -> Piece | None:
    """The rings of a sheet where they nearly lie spread; None where that would save nothing.

    Parameters
    ----------
    lies : the unit as it lies within an endless sheet, in units of the core radius
    piece : a sheet of whole repeats and rows
    told : called with (done, of) in every round
    """
    names, images = _placed(piece)
    along, across, sheer = lies.lattice.values
    sides = np.array([along, np.hypot(across, sheer)])
    counts = images.max(axis=0) + 1
    few = np.minimum(counts, 2 * np.ceil(_EDGE / sides).astype(np.intp))
    main = [ring.name for ring in rule.rings].index(names[0])
    radius_mm = float(piece.core_radii_mm[0] / lies.rings.core_radii[main])
    small = woven_piece(rule, lies, radius_mm, int(few[0]), int(few[1]))
    if len(piece) < _WORTH * len(small):
        return None
    rest = spread(small, told, small)
    if not rest.settled:
        return None
    begun = _drawn_out(rest.piece, few, piece, counts)
    apart_mm = check_piece(begun).smallest_gap_mm
    return begun if apart_mm > -_DEEPEST * float(piece.wire_radii_mm.min()) else None


def _drawn_out(small: Piece, few: Ints, piece: Piece, counts: Ints) -> Piece:
    """The rings of a sheet as those of a small one lie, with its middle repeat again and again.

    Parameters
    ----------
    few, counts : (2,) repeats and rows of the small one and of the sheet
    """
    names, images = _placed(small)
    places = zip(names, images.tolist(), strict=True)
    at = {(name, *image): ring for ring, (name, image) in enumerate(places)}
    names, images = _placed(piece)
    half = few // 2
    # Each as the one that lies as far from the edge that is nearer.
    alike = np.where(images < half, images, np.maximum(half, images - (counts - few)))
    chosen = [at[(name, *image)] for name, image in zip(names, alike.tolist(), strict=True)]
    steps = np.stack([_step(small, half, way) for way in np.eye(2, dtype=np.intp)])
    centres_mm = small.centres_mm[chosen] + (images - alike) @ steps
    return replace(piece, centres_mm=centres_mm, axes=small.axes[chosen])


def _step(small: Piece, half: Ints, way: Ints) -> Floats:
    """From the repeat before the middle to that at it, in millimetres; (3,)."""
    _, images = _placed(small)
    there, before = (
        small.centres_mm[(images == place).all(axis=1)].mean(axis=0)
        for place in (half, np.maximum(half - way, 0))
    )
    return np.asarray(there - before)


def _placed(piece: Piece) -> tuple[list[str], Ints]:
    """Every ring's name in the rule, and its repeat and row, (n, 2)."""
    placed = [place_in_weave(name) for name in piece.names]
    return [name for name, _ in placed], np.array([image for _, image in placed], np.intp)
