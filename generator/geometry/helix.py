"""A ring that stands open: a helix whose two ends are apart sideways, along its axis.

Two pliers turn the halves of a ring to either side. The wire keeps its length and its bend, so
what was a circle becomes one turn of a helix, a little narrower. Turned about its axis with the
advance of that helix, it slides along itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.vectors import cross

# What the saw took out of a ring, in wire radii along its middle line.
_KERF = 0.3


@dataclass(frozen=True, eq=False)
class Helix:
    """One opened ring, in any one unit of length.

    Attributes
    ----------
    centre : (3,) the middle of the helix's axis
    frame : (3, 3) unit vectors as rows: towards the cut, across, along the axis; right-handed
    core_radius, wire_radius : of the closed ring
    hand : 1 where the wire climbs as a right-hand thread does, -1 as a left-hand one
    shift : from the middle of one end to the middle of the other, along the axis; 0 closed
    """

    centre: Floats
    frame: Floats
    core_radius: float
    wire_radius: float
    hand: int
    shift: float

    @property
    def gap(self) -> float:
        """The clear room between the two ends, along the axis."""
        return self.shift - 2.0 * self.wire_radius

    @property
    def advance(self) -> float:
        """How far it goes along its axis while a point of it goes one length around it."""
        return self.hand * self.shift / (2.0 * np.pi * self.core_radius)

    def turns(self, count: int) -> Floats:
        """(count,) angles from the place opposite to the cut, from one end to the other."""
        end = np.pi - 0.5 * _KERF * self.wire_radius / self.core_radius
        return np.linspace(-end, end, count)

    def line(self, turns: Floats) -> Floats:
        """(k, 3) points of the wire's middle at these angles."""
        cut, across, axis = self.frame
        # The wire's length stays, so what it climbs it lacks around.
        around = np.sqrt(self.core_radius**2 - (self.shift / (2.0 * np.pi)) ** 2)
        flat = -np.cos(turns)[:, None] * cut - np.sin(turns)[:, None] * across
        climbed = self.hand * self.shift * turns / (2.0 * np.pi)
        line: Floats = self.centre + around * flat + climbed[:, None] * axis
        return line

    def moved(self, step: Floats) -> Helix:
        """After a small motion in its own frame.

        Parameters
        ----------
        step : (7,) lengths: the way of the centre, the turn times the core radius, and how much
            farther the ends are apart
        """
        turn = step[3:6] @ self.frame / self.core_radius
        return replace(
            self,
            centre=self.centre + step[:3] @ self.frame,
            frame=_turned(self.frame, turn),
            shift=max(0.0, self.shift + float(step[6])),
        )


def opened_ring(
    centre: Floats, axis: Floats, radii: tuple[float, float], angle: float, hand: int
) -> Helix:
    """A closed ring that is to be opened.

    Parameters
    ----------
    centre, axis : (3,) as of the ring
    radii : of its core and its wire
    angle : where it is cut, about the axis, from the first vector of ``plane_basis``
    """
    u, v = (basis[0] for basis in plane_basis(axis[None]))
    cut = np.cos(angle) * u + np.sin(angle) * v
    return Helix(centre, np.stack([cut, cross(axis, cut), axis]), *radii, hand, 0.0)


def _turned(frame: Floats, turn: Floats) -> Floats:
    """A frame turned by a rotation vector, kept square."""
    angle = float(np.linalg.norm(turn))
    if angle == 0.0:
        return frame
    about = turn / angle
    cos, sin = np.cos(angle), np.sin(angle)
    rows = cos * frame + sin * cross(about, frame)
    rows += (1.0 - cos) * (frame @ about)[:, None] * about
    axis = rows[2] / np.linalg.norm(rows[2])
    cut = rows[0] - (rows[0] @ axis) * axis
    cut /= np.linalg.norm(cut)
    return np.stack([cut, cross(axis, cut), axis])
