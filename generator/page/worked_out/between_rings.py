"""What lies between two rings of a piece."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.geometry.contact import Pairs, contacts, linking
from ringwright.piece.piece import Piece

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Between:
    """Two rings, measured.

    Attributes
    ----------
    centres_mm : distance of their centres
    gap_mm : the smallest distance of the wires' surfaces; below zero they overlap
    is_linked : whether one runs through the other
    angle : between their planes, degrees, 0 to 90
    first_centre, second_centre : (3,) mm
    first_nearest, second_nearest : (3,) mm, on the surfaces, where the wires are nearest
    """

    centres_mm: float
    gap_mm: float
    is_linked: bool
    angle: float
    first_centre: Point
    second_centre: Point
    first_nearest: Point
    second_nearest: Point


def between(piece: Piece, first: int, second: int) -> Between:
    """Measure two different rings of a piece, by their places in it."""
    rings = piece.rings()
    pair = Pairs(np.array([first]), np.array([second]), np.zeros((1, 2), np.intp))
    found = contacts(rings, pair)
    nearest = int(np.argmin(found.gap))
    one, two = found.point_first[nearest], found.point_second[nearest]
    way = two - one
    away = way / max(float(np.linalg.norm(way)), 1e-12)
    ours, theirs = piece.wire_radii_mm[first], piece.wire_radii_mm[second]
    centres, axes = piece.centres_mm[[first, second]], piece.axes[[first, second]]
    leaning = float(np.linalg.norm(np.cross(*axes))), abs(float(axes[0] @ axes[1]))
    return Between(
        float(np.linalg.norm(centres[1] - centres[0])),
        float(found.gap[nearest]),
        bool(linking(rings, pair)[0]),
        math.degrees(math.atan2(*leaning)),
        *(_point(centres[0]), _point(centres[1])),
        *(_point(one + ours * away), _point(two - theirs * away)),
    )


def _point(at: np.ndarray) -> Point:
    return (float(at[0]), float(at[1]), float(at[2]))
