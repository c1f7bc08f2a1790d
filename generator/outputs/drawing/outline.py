"""The outline of torus rings looked at from far away.

Where the surface of a torus turns out of sight its normal lies in the picture plane. Such
a point is then one wire radius away from a point of the core circle, at right angles to the
circle's picture: the outline is the pair of curves parallel to an ellipse, and it has the
depth of the core circle. (A torus is the envelope of balls along its core circle, so this is
the envelope of their round outlines.)
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.geometry.contact import Rings

# Even steps along the core circle and in the direction of the outline; both are needed, because
# the outline of a ring seen edge on turns half a circle where the core circle stands still.
_ALONG, _AROUND = 360, 180
# The picture of a core circle is never taken to be thinner than this share of its width: far
# below anything drawn, and the outline of an exactly edge-on ring is no special case.
_THINNEST = 1e-7


@dataclass(frozen=True, eq=False)
class View:
    """Where one looks from: a right-handed frame, right x up = toward the eye.

    Attributes
    ----------
    name : "front", "side" or "end"
    right, up, toward : (3,) unit vectors of space, as they appear on paper
    """

    name: str
    right: Floats
    up: Floats
    toward: Floats

    def flat(self, points: Floats) -> Floats:
        """Where points (..., 3) appear, (..., 2)."""
        return np.stack([points @ self.right, points @ self.up], axis=-1)


@dataclass(frozen=True, eq=False)
class Ellipses:
    """The pictures of core circles; lengths in the rings' unit.

    The point at angle t of ring i is ``centres[i] + R cos t majors[i] + b sin t minors[i]``
    on paper, ``depths[i] + rise[i] sin t`` towards the eye.

    Attributes
    ----------
    centres : (n, 2)
    majors, minors : (n, 2) unit vectors at right angles
    cores, halves : (n,) the half axes: R, and b > 0 along ``minors``
    depths, rises : (n,) depth of the centres, and how far t = 90 degrees is nearer, 0 or more
    wires : (n,) wire radii
    """

    centres: Floats
    majors: Floats
    minors: Floats
    cores: Floats
    halves: Floats
    depths: Floats
    rises: Floats
    wires: Floats

    def core(self, ring: Ints, t: Floats) -> Floats:
        """Points of the core circles at angles ``t``, (m, 2)."""
        across = (self.cores[ring] * np.cos(t))[:, None] * self.majors[ring]
        return np.asarray(
            self.centres[ring]
            + across
            + (self.halves[ring] * np.sin(t))[:, None] * self.minors[ring]
        )

    def depth(self, ring: Ints, t: Floats) -> Floats:
        """Depth of core circle and outline at angles ``t``, (m,); larger is nearer the eye."""
        return np.asarray(self.depths[ring] + self.rises[ring] * np.sin(t))

    def outline(self, ring: Ints, side: Floats, t: Floats) -> Floats:
        """Points of the outline at angles ``t``, (m, 2); ``side`` is 1 outside and -1 inside."""
        along = self.halves[ring] * np.cos(t)
        up = self.cores[ring] * np.sin(t)
        reach = side * self.wires[ring] / np.hypot(along, up)
        normal = along[:, None] * self.majors[ring] + up[:, None] * self.minors[ring]
        return self.core(ring, t) + reach[:, None] * normal

    def steps(self, ring: int) -> Floats:
        """Angles (m,), rising from 0 to below a full turn, at which an outline is drawn."""
        psi = np.arange(_AROUND) * (2 * np.pi / _AROUND)
        turned = np.arctan2(self.halves[ring] * np.sin(psi), self.cores[ring] * np.cos(psi))
        even = np.arange(_ALONG) * (2 * np.pi / _ALONG)
        return np.unique(np.concatenate([even, turned % (2 * np.pi)]))


def ellipses(rings: Rings, view: View) -> Ellipses:
    """The core circles as they appear in a view."""
    count = len(rings.centres)
    major = np.cross(view.toward, rings.axes)
    size = np.linalg.norm(major, axis=1)
    # Of a ring seen face on, every diameter is as long.
    major = np.where(size[:, None] > 1e-12, major / np.maximum(size, 1e-12)[:, None], view.right)
    other = np.cross(rings.axes, major)
    other *= np.where(other @ view.toward < 0.0, -1.0, 1.0)[:, None]
    majors = view.flat(major)
    minors = np.column_stack([-majors[:, 1], majors[:, 0]])
    lean = np.einsum("ij,ij->i", view.flat(other), minors)
    minors *= np.where(lean < 0.0, -1.0, 1.0)[:, None]
    return Ellipses(
        centres=view.flat(rings.centres),
        majors=majors,
        minors=minors,
        cores=rings.core_radii,
        halves=rings.core_radii * np.clip(np.abs(lean), _THINNEST, 1.0),
        depths=rings.centres @ view.toward,
        rises=rings.core_radii * np.maximum(other @ view.toward, np.zeros(count)),
        wires=rings.wire_radii,
    )
