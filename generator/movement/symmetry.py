"""Which rings of a weave lie alike: motions and mirrors that carry it onto itself.

Rings that lie alike have the same room and bear the same load, so one of them speaks for all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.contact import in_images
from ringwright.geometry.lattice import rotations
from ringwright.geometry.lattice_kind import LatticeKind
from ringwright.solver.climb import Unit

# How far a ring may miss its place, in core radii. The middles of touching wires are many times
# as far apart, so that no ring meets another on the rest of the way.
_NEAR = 0.02
# Turns about the axis of a weave that are tried, in parts of a full one.
_TURNS = 24
# Images of a unit that its rings may come to lie in, each way.
_FAR = 2


@dataclass(frozen=True, eq=False)
class Symmetry:
    """A motion or mirror that carries a weave onto itself.

    Attributes
    ----------
    turn : (3, 3) an orthogonal matrix
    ring : (n,) in whose place each ring comes
    image : (n, 2) and in which image of the unit that is
    onward : (2, 2) a row for each of the unit's neighbours (1, 0) and (0, 1): the image that
        lies next to its place in that way
    """

    turn: Floats
    ring: Ints
    image: Ints
    onward: Ints


def symmetries(unit: Unit) -> list[Symmetry]:
    """The symmetries of a weave, the one that changes nothing first.

    Tried are turns by 15 degrees about the axis of a chain, a screw or a tube, and about an
    upright one for a sheet, each with mirrors and turned end for end. Of a finished piece and
    of a bent chain only the one that changes nothing is given.
    """
    count = len(unit.rings.centres)
    if not unit.lattice.kind.vectors:
        none = np.zeros((count, 2), np.intp)
        return [Symmetry(np.eye(3), np.arange(count), none, np.eye(2, dtype=np.intp))]
    found: list[Symmetry] = []
    around = _Around(unit)
    for turn in _turns(unit.lattice.kind):
        for onto in range(count):
            one = around.carried_by(turn, onto)
            if one is not None and not any(_same(one, other) for other in found):
                found.append(one)
    return found


def alike(symmetries: Sequence[Symmetry]) -> list[list[int]]:
    """The rings sorted into those that lie alike, in the order of the first of each."""
    of = np.arange(len(symmetries[0].ring))
    for one in symmetries:
        for ring, place in enumerate(one.ring):
            joined = (of == of[ring]) | (of == of[place])
            of[joined] = of[joined].min()
    return [[int(ring) for ring in np.flatnonzero(of == first)] for first in np.unique(of)]


def is_even(symmetries: Sequence[Symmetry]) -> bool:
    """Whether a chain is alike to both sides, up and down as well as to the left and right."""
    sides = np.eye(3)[1:]
    return all(
        any(np.abs(one.turn @ side + side).max() < 1e-6 for one in symmetries) for side in sides
    )


def _turns(kind: LatticeKind) -> list[Floats]:
    """The matrices that are tried, the one that changes nothing first."""
    axis = np.array([0.0, 0.0, 1.0] if kind.has_rows else [1.0, 0.0, 0.0])
    about = rotations(axis, np.asarray(2 * np.pi * np.arange(_TURNS) / _TURNS, np.float64))
    over = np.eye(3) - 2 * np.outer(axis, axis)
    mirror = np.diag([1.0, -1.0, 1.0])
    return [turn @ flip for turn in about for flip in (np.eye(3), mirror, over, over @ mirror)]


class _Around:
    """A unit and its images, in which its rings are looked for after a motion."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit
        self._images = _images(unit)
        count = len(unit.rings.centres)
        self._ring = np.tile(np.arange(count), len(self._images))
        self._image = np.repeat(self._images, count, axis=0)
        there = in_images(unit.rings, self._images, unit.lattice)
        self._centres, self._axes = there.centres, there.axes

    def carried_by(self, turn: Floats, onto: int) -> Symmetry | None:
        """The symmetry that turns so and brings ring 0 to ``onto``; None where it is none."""
        rings = self._unit.rings
        centres = rings.centres @ turn.T
        shift = rings.centres[onto] - centres[0]
        onward = self._onward(turn, shift)
        if onward is None:
            return None
        away = np.linalg.norm((centres + shift)[:, None] - self._centres, axis=2)
        straight = np.abs(rings.axes @ turn.T @ self._axes.T)
        tilt = np.sqrt(np.maximum(1.0 - straight**2, 0.0)) * rings.core_radii[:, None]
        other = [np.abs(radii[:, None] - radii[self._ring]) for radii in _radii(self._unit)]
        missed = away + tilt + sum(other)
        place = missed.argmin(axis=1)
        ring = self._ring[place]
        if missed.min(axis=1).max() > _NEAR or len(np.unique(ring)) < len(ring):
            return None
        return Symmetry(turn, ring, self._image[place], onward)

    def _onward(self, turn: Floats, shift: Floats) -> Ints | None:
        """What becomes of the neighbours (1, 0) and (0, 1); None if they do not come to images."""
        turns, shifts = self._unit.lattice.motion(self._images)
        found = np.zeros((2, 2), np.intp)
        for row in range(self._unit.lattice.kind.image_numbers):
            image = np.eye(2, dtype=np.intp)[row : row + 1]
            (own_turn,), (own_shift,) = self._unit.lattice.motion(image)
            tilted = np.abs(turn @ own_turn - turns @ turn).max(axis=(1, 2))
            moved = np.abs(turn @ own_shift + shift - turns @ shift - shifts).max(axis=1)
            missed = tilted + moved
            if missed.min() > _NEAR:
                return None
            found[row] = self._images[missed.argmin()]
        return found


def _radii(unit: Unit) -> tuple[Floats, Floats]:
    return unit.rings.core_radii, unit.rings.wire_radii


def _images(unit: Unit) -> Ints:
    """The unit's images near it, itself first."""
    ways = np.arange(-_FAR, _FAR + 1)
    across = ways if unit.lattice.kind.has_rows else np.arange(unit.lattice.beside)
    every = np.array([(k1, k2) for k1 in ways for k2 in across], np.intp)
    return every[np.argsort(np.abs(every).sum(axis=1), kind="stable")]


def _same(one: Symmetry, other: Symmetry) -> bool:
    return bool(
        np.array_equal(one.ring, other.ring)
        and np.array_equal(one.image, other.image)
        and np.array_equal(one.onward, other.onward)
    )
