"""How a unit of rings repeats in space: the rigid motions that carry it onto its images.

An image is named by two whole numbers ``(k1, k2)``; the unit itself is ``(0, 0)``.

========  =============================================  ===========================
kind      image (k1, k2) is the unit ...                 values (the unknowns)
========  =============================================  ===========================
piece     (no images)                                    none
chain     moved k1 repeats along x                       repeat
screw     and turned k1 times about the x axis           repeat, turn
sheet     moved k1 rows along x and k2 along a second    row, second x, second y
          vector in the plane z = 0
tube      moved and turned as a screw, and turned        repeat, turn
          another k2 / ``around`` of a full circle
loop      moved k1 repeats along an arc that starts      repeat, turn
          along x and bends about ``axis``
========  =============================================  ===========================

Lengths are in the rings' unit of length, turns in radians.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.lattice_kind import PIECE, LatticeKind
from ringwright.geometry.vectors import cross, lengths

_X = np.array([1.0, 0.0, 0.0])
# So many images of a screw are looked at, however little it moves along from one to the next:
# with a pitch near none, rings a single turn on are in the way already.
_MOST_IMAGES = 1000
# Where images turn and are told by the first number alone, the motions of so many either way are
# worked out once.
_NEAR = 6
_NEAR_IMAGES = np.stack(
    [np.arange(-_NEAR, _NEAR + 1), np.zeros(2 * _NEAR + 1, np.intp)], axis=1
).astype(np.intp)
_UNTURNED = np.broadcast_to(np.eye(3), (10_000, 3, 3))


class Images(Protocol):
    """What carries units onto their images: a lattice, or those of several units at once."""

    @property
    def kind(self) -> LatticeKind:
        """How images lie."""

    @property
    def count(self) -> int:
        """How many values there are to a lattice."""

    def motion(self, images: Ints) -> tuple[Floats, Floats]:
        """As of :class:`Lattice`."""

    def drift(self, images: Ints) -> Floats:
        """As of :class:`Lattice`."""


@dataclass(frozen=True, eq=False)
class Lattice:
    """The images of a unit.

    Attributes
    ----------
    kind : how images lie
    values : (p,) the lattice's unknowns, as in the table above
    around : for a tube, the number of units that close the ring; for a loop too, where it is
        closed, and 1 for an open arc
    axis : for a loop, the unit vector it is bent about, at right angles to x; the
        centre of the bend lies repeat / turn away along axis x (1, 0, 0)
    """

    kind: LatticeKind
    values: Floats
    around: int = 1
    axis: Floats | None = None

    def with_values(self, values: Floats) -> Lattice:
        """The same kind of lattice with other values."""
        return Lattice(self.kind, values, self.around, self.axis)

    @property
    def count(self) -> int:
        """How many values there are."""
        return len(self.values)

    @property
    def beside(self) -> int:
        """How many units stand side by side around x."""
        return self.around if self.kind.closes else 1

    def motion(self, images: Ints) -> tuple[Floats, Floats]:
        """Rotation and translation that carry the unit onto images.

        Parameters
        ----------
        images : (m, 2)

        Returns
        -------
        turn : (m, 3, 3) rotation matrices
        shift : (m, 3): a point x of the unit goes to turn @ x + shift
        """
        if _all_near(self.kind, images):
            turns, shifts, _ = self._near_ones
            place = images[:, 0] + _NEAR
            return turns[place], shifts[place]
        return self._motion(images)

    def _motion(self, images: Ints) -> tuple[Floats, Floats]:
        return _motions(self.kind, images, self.values, self.around, self.axis)

    @cached_property
    def _near_ones(self) -> tuple[Floats, Floats, Floats]:
        """Motions and drifts of the images near the unit, which are asked for again and again."""
        return *self._motion(_NEAR_IMAGES), self._drift(_NEAR_IMAGES)

    def drift(self, images: Ints) -> Floats:
        """How images move when the values change, as twists, (m, p, 6).

        A point x of an image moves by v + w x x for a change of 1 in a value; a row
        holds (v, w).
        """
        if _all_near(self.kind, images):
            return self._near_ones[2][images[:, 0] + _NEAR]
        return self._drift(images)

    def _drift(self, images: Ints) -> Floats:
        return _drifts(self.kind, images, self.values, self.axis)

    def images_near(self, centre: Floats, radius: float, reach: float) -> Ints:
        """Images whose rings may come within ``reach`` of the unit's, each pair of images once.

        Found by walking out from the unit until whole balls are too far away. Along a screw
        every image is looked at that is not too far away along x: of a wide coil the images a
        full turn on are near again.

        Parameters
        ----------
        centre, radius : (3,) and its radius: a ball that holds the unit's rings
        reach : gap of interest between two rings

        Returns
        -------
        (m, 2)
            Starting with (0, 0), in a fixed order; of an image and its opposite only one.
        """
        if not self.kind.repeats:
            return np.zeros((1, 2), np.intp)
        if self.kind.is_wound:
            return self._along_screw(centre, 2 * radius + reach)
        if self.kind.image_numbers == 1:
            return self._onward(centre, 2 * radius + reach)
        steps = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, -1), (-1, 1), (1, 1), (-1, -1)]
        found = {(0, 0)}
        edge = [(0, 0)]
        while edge:
            ahead = sorted(
                {
                    following
                    for k1, k2 in edge
                    for d1, d2 in steps
                    if self._is_own(following := (k1 + d1, k2 + d2)) and following not in found
                }
            )
            turn, shift = self.motion(np.array(ahead, np.intp).reshape(-1, 2))
            apart = lengths(turn @ centre + shift - centre)
            edge = [k for k, d in zip(ahead, apart, strict=True) if d <= 2 * radius + reach]
            found.update(edge)
        return np.array(sorted(k for k in found if self._is_first(k)), np.intp).reshape(-1, 2)

    def _onward(self, centre: Floats, nearest: float) -> Ints:
        """Images in one direction, up to the first that is farther away than ``nearest``."""
        found, first, many = 1, 1, _NEAR
        while found == first:
            k1 = np.arange(first, first + many)
            images = np.stack([k1, np.zeros_like(k1)], axis=1)
            turn, shift = self.motion(images)
            apart = lengths(turn @ centre + shift - centre)
            near = [
                d <= nearest and self._is_own((k, 0))
                for k, d in zip(range(first, first + many), apart.tolist(), strict=True)
            ]
            first += many
            found += near.index(False) if False in near else many
        k1 = np.arange(found)
        return np.stack([k1, np.zeros_like(k1)], axis=1)

    def _along_screw(self, centre: Floats, nearest: float) -> Ints:
        """A screw's images, from the unit on, whose centres are no farther than ``nearest``."""
        pitch = max(abs(float(self.values[0])), nearest / _MOST_IMAGES)
        k1 = np.arange(int(nearest / pitch) + 1)
        images = np.stack([k1, np.zeros_like(k1)], axis=1)
        turn, shift = self.motion(images)
        apart = lengths(turn @ centre + shift - centre)
        return np.asarray(images[apart <= nearest])

    def _is_own(self, image: tuple[int, int]) -> bool:
        """Whether the image is a place of its own, not another name of an earlier one."""
        k1, k2 = image
        if self.kind.is_bent and self.around == 1:
            # Of an open arc, repeats past half a turn come round to those of the other side;
            # but three repeats at least are kept apart.
            return bool(abs(k1) <= 2 or abs(k1 * self.values[1]) <= np.pi + 1e-9)
        if self.kind.is_bent:
            return -self.around < 2 * k1 <= self.around
        if self.kind.closes:
            return -self.around < 2 * k2 <= self.around
        return True

    def _is_first(self, image: tuple[int, int]) -> bool:
        """Of an image and its opposite, the one that stands for both."""
        return bool(image >= (0, 0))


@dataclass(frozen=True, eq=False)
class Lattices:
    """The lattices of several units at once, all of one kind.

    A third number of an image says whose it is.

    Attributes
    ----------
    members : one or more
    """

    members: tuple[Lattice, ...]

    @property
    def kind(self) -> LatticeKind:
        """How images lie."""
        return self.members[0].kind

    @property
    def count(self) -> int:
        """How many values there are to each."""
        return self.members[0].count

    def motion(self, images: Ints) -> tuple[Floats, Floats]:
        """As of :class:`Lattice`, for (m, 3) images."""
        own, member = images[:, :2], images[:, 2]
        if self.kind.is_flat:
            return _motions(self.kind, own, self._values[member], 1, None)
        if _all_near(self.kind, own):
            turns, shifts, _ = self._near_ones
            place = own[:, 0] + _NEAR
            return turns[member, place], shifts[member, place]
        turn, shift = np.empty((len(images), 3, 3)), np.empty((len(images), 3))
        for number, one in enumerate(self.members):
            there = member == number
            turn[there], shift[there] = one.motion(own[there])
        return turn, shift

    def drift(self, images: Ints) -> Floats:
        """As of :class:`Lattice`, for (m, 3) images."""
        own, member = images[:, :2], images[:, 2]
        if self.kind.is_flat:
            # Whose they are makes no difference where images are only moved.
            return _drifts(self.kind, own, self._values, None)
        if _all_near(self.kind, own):
            return self._near_ones[2][member, own[:, 0] + _NEAR]
        twists = np.empty((len(images), self.count, 6))
        for number, one in enumerate(self.members):
            there = member == number
            twists[there] = one.drift(own[there])
        return twists

    def images_near(self, centre: Floats, radius: Floats, reach: Floats) -> list[Ints]:
        """As of :class:`Lattice`, of every member; balls and gaps of interest are (k, 3), (k,)."""
        nearest = 2 * radius + reach
        if self.kind.is_wound or self.kind.image_numbers != 1:
            return [
                one.images_near(*ball)
                for one, *ball in zip(self.members, centre, radius, reach, strict=True)
            ]
        turns, shifts = self._onward_ones
        moved = np.einsum("kmij,kj->kmi", turns, centre) + shifts
        apart = lengths(moved - centre[:, None]) <= nearest[:, None]
        far = np.where(apart.all(axis=1), _NEAR, apart.argmin(axis=1))
        found = []
        for one, count, *ball in zip(
            self.members, far.tolist(), centre, radius, reach, strict=True
        ):
            own = next((k for k in range(1, count + 1) if not one._is_own((k, 0))), count + 1)
            more = own > _NEAR
            found.append(one.images_near(*ball) if more else _NEAR_IMAGES[_NEAR : _NEAR + own])
        return found

    @property
    def _onward_ones(self) -> tuple[Floats, Floats]:
        """Motions of the images 1 to ``_NEAR`` of every member: (k, m, ...)."""
        if not self.kind.is_flat:
            return self._near_ones[0][:, _NEAR + 1 :], self._near_ones[1][:, _NEAR + 1 :]
        shifts = np.zeros((len(self.members), _NEAR, 3))
        shifts[:, :, 0] = self._values[:, :1] * np.arange(1, _NEAR + 1)
        return np.broadcast_to(np.eye(3), (*shifts.shape, 3)), shifts

    @cached_property
    def _values(self) -> Floats:
        return np.array([one.values for one in self.members])

    @cached_property
    def _near_ones(self) -> tuple[Floats, Floats, Floats]:
        """Of every member, as of :class:`Lattice`: (k, m, ...)."""
        count, around = len(self.members), 2 * _NEAR + 1
        images, values = np.tile(_NEAR_IMAGES, (count, 1)), np.repeat(self._values, around, axis=0)
        axes = [one.axis for one in self.members if one.axis is not None]
        axis = np.repeat(np.array(axes), around, axis=0) if axes else None
        turns, shifts = _motions(self.kind, images, values, 1, axis)
        drifts = _drifts(self.kind, images, values, axis)
        return (
            turns.reshape(count, around, 3, 3),
            shifts.reshape(count, around, 3),
            drifts.reshape(count, around, self.count, 6),
        )


# Of what follows, values are those of one lattice, (p,), or of one for every image, (m, p), and
# so is a loop's axis.


def _motions(
    kind: LatticeKind, images: Ints, values: Floats, around: int, axis: Floats | None
) -> tuple[Floats, Floats]:
    """Rotations and translations that carry units onto images."""
    shift = _shifts(kind, images, values)
    if kind.is_flat:
        return _unturned(len(images)), shift
    k1, k2 = images.T.astype(float)
    angle = k1 * values[..., 1]
    if axis is not None:
        return rotations(axis, angle), _arc(k1, values, axis)[0]
    if kind.closes:
        angle = angle + k2 * (2 * np.pi / around)
    return rotations(_X, angle), shift


def _drifts(kind: LatticeKind, images: Ints, values: Floats, axis: Floats | None) -> Floats:
    """How images move when values change, as twists, (m, p, 6)."""
    k1, k2 = images.T.astype(float)
    twists = np.zeros((len(images), values.shape[-1], 6))
    if kind.vectors:
        twists[:, 0, 0] = k1
    if kind.has_rows:
        twists[:, 1, 0] = k2
        twists[:, 2, 1] = k2
    if kind.turns:
        twists[:, 1, 3] = k1
    if axis is not None:
        points, change = _arc(k1, values, axis)
        spin = k1[:, None] * axis
        twists[:, 0, :3] = points / values[..., :1]
        twists[:, 1, :3] = change - cross(spin, points)
        twists[:, 1, 3:] = spin
    return twists


def _arc(k1: Floats, values: Floats, axis: Floats) -> tuple[Floats, Floats]:
    """Points of the arc after ``k1`` repeats, and their derivatives in the turn, (m, 3)."""
    repeat, turn = values[..., :1], values[..., 1]
    inward = cross(axis, _X)
    angle = k1 * turn
    # sin(a) / turn and (1 - cos a) / turn, written so that a straight chain is no exception.
    along = k1 * np.sinc(angle / np.pi)
    half = k1 * np.sinc(angle / (2 * np.pi))
    across = 0.5 * turn * half**2
    bends = np.abs(turn) > 1e-4
    safe = np.where(bends, turn, 1.0)
    d_along = np.where(bends, (k1 * np.cos(angle) - along) / safe, -turn * k1**3 / 3)
    d_across = np.where(bends, (k1 * np.sin(angle) - across) / safe, k1**2 / 2)
    points = along[:, None] * _X + across[:, None] * inward
    change = d_along[:, None] * _X + d_across[:, None] * inward
    return repeat * points, repeat * change


def _unturned(count: int) -> Floats:
    """As many rotations that turn nothing."""
    if count <= len(_UNTURNED):
        return _UNTURNED[:count]
    return np.broadcast_to(np.eye(3), (count, 3, 3))


def _shifts(kind: LatticeKind, images: Ints, values: Floats) -> Floats:
    """How far images are moved in straight lines, (m, 3)."""
    k1, k2 = images.T.astype(float)
    shift = np.zeros((len(images), 3))
    if kind.vectors:
        shift[:, 0] = k1 * values[..., 0]
    if kind.has_rows:
        shift[:, 0] += k2 * values[..., 1]
        shift[:, 1] = k2 * values[..., 2]
    return shift


def _all_near(kind: LatticeKind, images: Ints) -> bool:
    """Whether all are among those that are worked out once; parts of a repeat never are."""
    if kind.is_flat or kind.image_numbers != 1 or images.dtype.kind != "i":
        return False
    return bool(np.abs(images[:, 0]).max(initial=0) <= _NEAR)


# That of rings that stand by themselves.
ALONE = Lattice(PIECE, np.zeros(0))


def rotations(axis: Floats, angles: Floats) -> Floats:
    """(m, 3, 3) rotations about unit axes, (3,) or (m, 3), by Rodrigues' formula."""
    x, y, z = axis.T
    cross = np.zeros((*axis.shape, 3))
    cross[..., 0, 1], cross[..., 0, 2], cross[..., 1, 2] = -z, y, -x
    cross[..., 1, 0], cross[..., 2, 0], cross[..., 2, 1] = z, -y, x
    outer = axis[..., :, None] * axis[..., None, :]
    cos, sin = np.cos(angles)[:, None, None], np.sin(angles)[:, None, None]
    return np.asarray(cos * np.eye(3) + sin * cross + (1.0 - cos) * outer)
