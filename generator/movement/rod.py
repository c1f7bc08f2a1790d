"""The gaps between bent rings and a round rod that stands on the axis of the bend.

A closed ring of chain is as wide inside as the thickest rod that it can be slipped over.
Lengths are in core radii.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.linearise import unknowns
from ringwright.geometry.vectors import cross, lengths
from ringwright.movement.bend import bend_axis, from_axis
from ringwright.solver.climb import Unit, Walls

# Fixed points of a ring that are looked at, and steps from the nearest of them to the very nearest.
_AROUND = 24
_STEPS = 6
# Places farther from the rod than this are left out.
_REACH = 0.5
# Below this share of a circle's own curvature its lowest point runs far for a small move.
_LEVEL = 0.02


def rod_gaps(unit: Unit, inset: float) -> Walls:
    """The gaps of a bent unit's rings to a rod, and how they change.

    Parameters
    ----------
    unit : its lattice is of the kind ``loop``, its turn above zero
    inset : how far the rod's surface lies within the arc of the repeats; as the repeat grows,
        the arc widens and so does the rod
    """
    every = _places(unit)
    repeat, turn = unit.lattice.values
    gap = every.distance - unit.rings.wire_radii[every.ring] - (repeat / turn - inset)
    near = np.flatnonzero(gap <= _REACH)
    places = every.of(near)
    columns = places.columns
    size = unknowns(unit.rings, unit.lattice)
    gradients = np.zeros((len(columns), size))
    gradients[np.arange(len(columns))[:, None], columns] = places.local_gradients()
    gradients[:, 5 * len(unit.rings.centres)] -= 1.0 / turn

    def curvature(weights: Floats) -> Floats:
        used = np.flatnonzero(weights > 0.0)
        each = places.of(used).curvature() * weights[used][:, None, None]
        total = np.zeros((size, size))
        np.add.at(total, (columns[used][:, :, None], columns[used][:, None, :]), each)
        return total

    return Walls(gap[near], gradients, curvature)


@dataclass(frozen=True, eq=False)
class _Places:
    """Points of rings, seen from the axis of the bend.

    Attributes
    ----------
    unit : the bent unit
    ring : (k,) whose point it is
    arm : (k, 3) from the ring's centre to the point
    away : (k, 3) from the axis to the point
    slides : (k,) whether it is a nearest point, which slides along its ring as that moves;
        else it is fixed to the ring
    """

    unit: Unit
    ring: Ints
    arm: Floats
    away: Floats
    slides: Bools

    def of(self, rows: Ints) -> _Places:
        """Some of them."""
        return _Places(
            self.unit, self.ring[rows], self.arm[rows], self.away[rows], self.slides[rows]
        )

    @property
    def distance(self) -> Floats:
        """(k,) from the axis."""
        return np.asarray(lengths(self.away))

    @property
    def columns(self) -> Ints:
        """(k, 6) which unknowns a place depends on: its ring's five, and the repeat."""
        repeat = np.full(len(self.ring), 5 * len(self.unit.rings.centres))
        return np.column_stack([5 * self.ring[:, None] + np.arange(5), repeat])

    def _basis(self) -> tuple[Floats, Floats]:
        u, v = plane_basis(self.unit.rings.axes)
        return u[self.ring], v[self.ring]

    def jacobian(self) -> Floats:
        """(k, 3, 6) how the way from the axis changes with these unknowns."""
        radii = self.unit.rings.core_radii[self.ring]
        change = np.zeros((len(self.ring), 3, 6))
        change[:, :, :3] = np.eye(3)
        for place, basis in enumerate(self._basis(), 3):
            change[:, :, place] = cross(basis, self.arm) / radii[:, None]
        axis = bend_axis(self.unit)
        # The longer the repeat, the farther away the axis.
        change[:, :, 5] = cross(np.array([1.0, 0.0, 0.0]), axis) / self.unit.lattice.values[1]
        return np.asarray((np.eye(3) - np.outer(axis, axis)) @ change)

    def local_gradients(self) -> Floats:
        """(k, 6) how the distance from the axis changes."""
        outward = self.away / self.distance[:, None]
        return np.asarray(np.einsum("ka,kai->ki", outward, self.jacobian()))

    def curvature(self) -> Floats:
        """(k, 6, 6) second derivatives of the distance, as of :func:`linearise.gap_curvature`."""
        radii = self.unit.rings.core_radii[self.ring]
        jacobian, gradient = self.jacobian(), self.local_gradients()
        half_square = np.einsum("kai,kaj->kij", jacobian, jacobian)
        along = cross(self.unit.rings.axes[self.ring], self.arm)
        axis = bend_axis(self.unit)
        across = along - (along @ axis)[:, None] * axis
        inward = np.einsum("ki,ki->k", self.away, self.arm)
        valley = np.einsum("ki,ki->k", across, across) - inward
        # A rotation w moves the arm by w x arm + w x (w x arm) / 2; with these the second order.
        both = np.stack(self._basis(), axis=1) / radii[:, None, None]
        out, arm = (np.einsum("kti,ki->kt", both, one) for one in (self.away, self.arm))
        turned = 0.5 * (out[:, :, None] * arm[:, None, :] + arm[:, :, None] * out[:, None, :])
        turned -= (inward / radii**2)[:, None, None] * np.eye(2)
        half_square[:, 3:5, 3:5] += turned
        mixed = np.einsum("kai,ka->ki", jacobian, along)
        mixed[:, 3:5] += np.einsum("kti,ki->kt", both, cross(along, self.away))
        free = self.slides & (valley > _LEVEL * radii**2)
        taken = np.where(free, 1.0 / np.where(free, valley, 1.0), 0.0)
        half_square -= mixed[:, :, None] * mixed[:, None, :] * taken[:, None, None]
        less = gradient[:, :, None] * gradient[:, None, :]
        return np.asarray((half_square - less) / self.distance[:, None, None])


def _places(unit: Unit) -> _Places:
    """Every local minimum of the distance from the axis, and points at fixed angles.

    The fixed points speak for rings that lie along the rod.
    """
    rings = unit.rings
    count = len(rings.centres)
    angles = np.asarray(2 * np.pi * np.arange(_AROUND) / _AROUND, np.float64)
    every = np.repeat(np.arange(count), _AROUND)
    circles = _Circles(rings, *plane_basis(rings.axes))
    fixed = circles.arms(every, np.tile(angles, count))
    away = from_axis(unit, rings.centres[every] + fixed)
    distance = lengths(away).reshape(count, _AROUND)
    lowest = (distance <= np.roll(distance, 1, 1)) & (distance < np.roll(distance, -1, 1))
    ring, place = np.nonzero(lowest)
    arm = circles.arms(ring, _nearest(unit, circles, ring, angles[place]))
    return _Places(
        unit,
        np.concatenate([ring, every]),
        np.concatenate([arm, fixed]),
        np.concatenate([from_axis(unit, rings.centres[ring] + arm), away]),
        np.concatenate([np.ones(len(ring), bool), np.zeros(len(every), bool)]),
    )


@dataclass(frozen=True, eq=False)
class _Circles:
    """Rings, with the two vectors that span the plane of each."""

    rings: Rings
    u: Floats
    v: Floats

    def arms(self, ring: Ints, angles: Floats) -> Floats:
        """(k, 3) from the centres of rings to their points at some angles."""
        spokes = np.cos(angles)[:, None] * self.u[ring] + np.sin(angles)[:, None] * self.v[ring]
        return np.asarray(self.rings.core_radii[ring, None] * spokes)


def _nearest(unit: Unit, circles: _Circles, ring: Ints, angles: Floats) -> Floats:
    """Angles of the nearest points of rings, by Newton's method, none farther than one step off."""
    axis, farthest = bend_axis(unit), np.pi / _AROUND
    axes, centres = unit.rings.axes[ring], unit.rings.centres[ring]
    for _ in range(_STEPS):
        arm = circles.arms(ring, angles)
        along = cross(axes, arm)
        away = from_axis(unit, centres + arm)
        across = along - (along @ axis)[:, None] * axis
        slope = np.einsum("ki,ki->k", away, along)
        bend = np.einsum("ki,ki->k", across, across) - np.einsum("ki,ki->k", away, arm)
        # Where it bends the other way, downhill is all that is known.
        step = np.where(bend > 1e-9, slope / np.maximum(bend, 1e-9), np.sign(slope))
        angles = angles - np.clip(step, -farthest, farthest)
    return angles
