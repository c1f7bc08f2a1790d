"""A ring that stands open: its two ends moved apart sideways, along its axis.

Two pliers turn the halves of a ring to either side. Either half stays nearly flat and tilts
about the place opposite the cut, so a point's way out of the plane grows with its height above
that place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.helix import Helix
from ringwright.piece.mesh import Mesh

# The clear gap between the ends: so many times the thickest wire that has to pass; less where
# there is no room for that.
CLEAR = (1.25, 1.0, 0.75, 0.5)
# An open ring lacks what the saw took, in wire radii along its middle line; a wide cut, so that
# it is seen from along the axis too. Closed, the ends meet.
_KERF = 0.9


@dataclass(frozen=True, eq=False)
class OpenRing:
    """One opened ring. Lengths in millimetres.

    Attributes
    ----------
    centre_mm, axis : (3,) as of the closed ring; the axis of length 1
    core_radius_mm, wire_radius_mm : as of the closed ring
    cut : (3,) unit vector from the centre to the cut, at right angles to the axis
    shift_mm : from the middle of one end to the middle of the other, along the axis; 0 closed
    lean : 0 where both halves tilt alike; 1 or -1 where the one half stays as it is and the
        other does all of it, along the axis or against it
    """

    centre_mm: Floats
    axis: Floats
    core_radius_mm: float
    wire_radius_mm: float
    cut: Floats
    shift_mm: float
    lean: int = 0

    @property
    def gap_mm(self) -> float:
        """The clear room between the two ends, along the axis."""
        return self.shift_mm - 2.0 * self.wire_radius_mm

    def core_line(self, count: int) -> Floats:
        """(count, 3) points of the wire's middle, from one end to the other."""
        along, lifted, _ = self._curve(count)
        line: Floats = self.centre_mm + self.core_radius_mm * along + lifted[:, None] * self.axis
        return line

    def mesh(self, around: int, across: int) -> Mesh:
        """A closed triangle mesh: the wire, and a flat cap on either end.

        Parameters
        ----------
        around, across : segments along the wire, and about it
        """
        turn = np.linspace(0.0, 2.0 * np.pi, across, endpoint=False)
        return _wire(*self._wall(around, turn), self.wire_radius_mm)

    def strip(self, around: int, turn: float, wide_mm: float) -> Mesh:
        """A strip on the wire's surface that runs along it, seen from outside.

        Parameters
        ----------
        around : segments along the wire
        turn : where it runs, about the wire's middle: 0 on the side away from the ring's centre
        """
        half = wide_mm / 2.0 / self.wire_radius_mm
        sides = np.linspace(turn - half, turn + half, 5)
        line, _, normals = self._wall(around, sides)
        # A little above the surface, so that it hides it.
        points = line[:, None] + 1.01 * self.wire_radius_mm * normals
        here = np.arange(around)[:, None] * len(sides)
        low = here + np.arange(len(sides) - 1)
        a, b, c, d = low, low + len(sides), low + len(sides) + 1, low + 1
        faces = np.stack([a, b, c, a, c, d], axis=2).reshape(-1, 3)
        return Mesh(points.reshape(-1, 3), normals.reshape(-1, 3), faces)

    def _wall(self, around: int, turn: Floats) -> tuple[Floats, Floats, Floats]:
        """The wire's middle line, its direction, and (line, turn, 3) normals of its surface."""
        along, _, slope = self._curve(around + 1)
        line = self.core_line(around + 1)
        # The wire's cross-section is square to its middle line.
        tangent = np.cross(self.axis, along) + slope[:, None] * self.axis
        tangent /= np.linalg.norm(tangent, axis=1)[:, None]
        return line, tangent, _normals(along, tangent, turn)

    def _curve(self, count: int) -> tuple[Floats, Floats, Floats]:
        """Directions from the axis, ways along it in mm, and their slope, from end to end."""
        u, v = self.cut, np.cross(self.axis, self.cut)
        wire = self.wire_radius_mm
        missing = _KERF * wire * min(1.0, self.shift_mm / (2.0 * wire)) / self.core_radius_mm
        turn = np.linspace(-np.pi + missing / 2.0, np.pi - missing / 2.0, count)
        # From the cut all the way round to the cut; 0 is opposite to it.
        along = -np.cos(turn)[:, None] * u - np.sin(turn)[:, None] * v
        tilt = 0.25 * self.shift_mm * (np.sign(turn) + self.lean)
        lifted = tilt * (1.0 - np.cos(turn))
        slope = tilt * np.sin(turn) / self.core_radius_mm
        return along, lifted, slope


def helix_mesh(helix: Helix, around: int, across: int, shut: bool = False) -> Mesh:
    """The wire of a ring opened to a helix, about the z axis with its cut towards x.

    Parameters
    ----------
    around, across : segments along the wire, and about it
    shut : whether it is closed, its two ends together
    """
    helix = replace(helix, centre=np.zeros(3), frame=np.eye(3), shift=0.0 if shut else helix.shift)
    turns = np.linspace(-np.pi, np.pi, around + 1) if shut else helix.turns(around + 1)
    line = helix.line(turns)
    along = np.stack([-np.cos(turns), -np.sin(turns), np.zeros(len(turns))], axis=1)
    tangent = np.cross([0.0, 0.0, 1.0], along) + helix.advance * np.array([0.0, 0.0, 1.0])
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    turn = np.linspace(0.0, 2.0 * np.pi, across, endpoint=False)
    return _wire(line, tangent, _normals(along, tangent, turn), helix.wire_radius)


def _normals(along: Floats, tangent: Floats, turn: Floats) -> Floats:
    """(line, turn, 3) normals of a wire's surface, square to its middle line."""
    out = along - np.einsum("ni,ni->n", along, tangent)[:, None] * tangent
    out /= np.linalg.norm(out, axis=1)[:, None]
    up = np.cross(out, tangent)
    normals: Floats = (
        np.cos(turn)[None, :, None] * out[:, None] + np.sin(turn)[None, :, None] * up[:, None]
    )
    return normals


def _wire(line: Floats, tangent: Floats, normals: Floats, radius: float) -> Mesh:
    """A wire with a flat cap on either end."""
    around, across = normals.shape[0] - 1, normals.shape[1]
    wall = line[:, None] + radius * normals
    caps = [wall[0], line[:1], wall[-1], line[-1:]]
    cap_normals = np.repeat([-tangent[0], tangent[-1]], across + 1, axis=0)
    return Mesh(
        np.concatenate([wall.reshape(-1, 3), *caps]),
        np.concatenate([normals.reshape(-1, 3), cap_normals]),
        _faces(around, across),
    )


def _faces(around: int, across: int) -> Ints:
    """Triangles of the wall and its two caps, counter-clockwise seen from outside."""
    here = np.arange(around)[:, None] * across
    low, high = np.arange(across), np.roll(np.arange(across), -1)
    a, b, c, d = here + low, here + across + low, here + across + high, here + high
    wall = np.stack([a, b, c, a, c, d], axis=2).reshape(-1, 3)
    first = (around + 1) * across
    second = first + across + 1
    begin = np.stack([first + low, first + high, np.full(across, first + across)], axis=1)
    end = np.stack([second + high, second + low, np.full(across, second + across)], axis=1)
    return np.concatenate([wall, begin, end])


def cuts(axis: Floats, count: int) -> Floats:
    """(count, 3) directions at right angles to an axis: places where a ring may be cut."""
    u, v = (basis[0] for basis in plane_basis(axis[None]))
    turn = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    spread: Floats = np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * v
    return spread
