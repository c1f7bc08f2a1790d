"""Rings ready to fall: in their core radii, off balance, set on a table or along a line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.linearise import moved
from ringwright.piece.piece import Piece
from ringwright.solver.measure import extent

# Rings balance on their edges: so much, in core radii, each is moved at the start.
_NUDGE = 1e-3
# A ring lies off the middle, or leans, by more than so much.
_TELLS = 1e-4
# x, z and y.
_TOLD_IN_TURN = (0, 2, 1)
# Rolls that are tried, in degrees, to either side; and heights that count as the same.
_ROLLS, _AS_LOW = range(0, 181, 2), 1e-3
_UP = np.array([0.0, 0.0, 1.0])


def in_core_radii(piece: Piece) -> tuple[Rings, float]:
    """The rings in units of their mean core radius, and that in millimetres."""
    scale = float(piece.core_radii_mm.mean())
    return piece.rings().scaled(1.0 / scale), scale


def nudged(rings: Rings) -> Rings:
    """Every ring moved a hair, each another way, so that none stays balanced on its edge.

    The mirror image of a piece is nudged as the mirror image: the ways x, y and z of the nudge are
    those of the piece itself.
    """
    random = np.random.default_rng(1)
    shift, turn = _NUDGE * random.normal(size=(2, *rings.centres.shape))
    ways = _own_ways(rings)
    # A turn is mirrored as what turns, not as an arrow.
    shift, turn = shift * ways, turn * ways * ways.prod()
    tilt = [np.einsum("ni,ni->n", turn, way) for way in plane_basis(rings.axes)]
    return moved(rings, np.column_stack([shift, *tilt]).ravel())


def _own_ways(rings: Rings) -> Floats:
    """Signs of x, y and z that change when the piece is mirrored that way.

    The first ring that lies off the middle tells; where none does, the first that leans between
    that way and one that is known. Up comes before across: of a chain along a line, whose turn
    by half looks the same, the mirror image is taken to be that from left to right.
    """
    low, high = rings.centres.min(axis=0), rings.centres.max(axis=0)
    ways = np.ones(3)
    for place, way in enumerate(_TOLD_IN_TURN):
        off = rings.centres[:, way] - 0.5 * (low[way] + high[way])
        leans = [
            ways[other] * rings.axes[:, other] * rings.axes[:, way]
            for other in _TOLD_IN_TURN[:place]
        ]
        for told in (off, *leans):
            if np.abs(told).max() > _TELLS:
                ways[way] = np.sign(told[np.abs(told) > _TELLS][0])
                break
    return ways


def own_side(rings: Rings, ways: tuple[int, ...] = (0, 1)) -> Floats:
    """Signs of x, y and z by which rings are mirrored to lie as the usual one of their images.

    What falls as that, and is mirrored back, lies as its mirror image does to the last bit: where
    rings slide for next to nothing, rounding would else part the two.

    Parameters
    ----------
    ways : 0, 1 or 2, along which gravity and supports are their own mirror images
    """
    signs = np.ones(3)
    signs[list(ways)] = _own_ways(rings)[list(ways)]
    return signs


def mirrored(rings: Rings, signs: Floats) -> Rings:
    """The rings with those of x, y and z turned about whose sign is -1."""
    return replace(rings, centres=rings.centres * signs, axes=rings.axes * signs)


def rolled_low(rings: Rings) -> Rings:
    """A chain along x rolled to where its rings, as they are, lie lowest.

    What a chain weighs is little beside its pull, so it seldom tips over as it falls; on a bench
    it is rolled until it lies well. Of ways that are as low the least roll is taken.
    """
    way = _own_ways(rings)[1:].prod()
    rolls = way * np.radians([turn * side for turn in _ROLLS for side in (1, -1)])
    # Lowest point and mean height of the rings, seen along every way that could be down.
    down = np.stack([0.0 * rolls, -np.sin(rolls), -np.cos(rolls)], axis=1)
    mass = rings.core_radii * rings.wire_radii**2
    lean = np.sqrt(np.maximum(0.0, 1.0 - (rings.axes @ down.T) ** 2))
    below = rings.centres @ down.T
    reach = below + rings.core_radii[:, None] * lean + rings.wire_radii[:, None]
    heights = reach.max(axis=0) - mass @ below / mass.sum()
    roll = rolls[np.flatnonzero(heights <= heights.min() + _AS_LOW)[0]]
    return rings.rolled(roll)


def set_down(rings: Rings) -> Rings:
    """The rings with the lowest point of all on the table."""
    low, _ = extent(rings, _UP)
    return replace(rings, centres=rings.centres - low * _UP)


def laid_along(flat: Rings, places: Floats, onward: Floats, outward: Floats) -> Rings:
    """Rings on the table z = 0, laid so that a line at their mean height follows another line.

    Parameters
    ----------
    places : (n, 3) of that other line, one for each ring
    onward, outward : (n, 3) unit vectors there, along it and away from what is under it
    """
    frame = np.stack([onward, np.cross(outward, onward), outward], axis=1)
    offset = flat.centres * [0.0, 1.0, 1.0] - float(flat.centres[:, 2].mean()) * _UP
    return replace(
        flat,
        centres=places + np.einsum("ni,nij->nj", offset, frame),
        axes=np.einsum("ni,nij->nj", flat.axes, frame),
    )
