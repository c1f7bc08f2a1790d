"""The oval of a wrist: an ellipse, by the length along it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ringwright.base.arrays import Floats

_POINTS = 1 << 15
_NEWTON = 12


@dataclass(frozen=True)
class Oval:
    """An ellipse about the z axis, its long axis along x; in any unit of length.

    Attributes
    ----------
    girth : all the way round
    ratio : long over short axis, 1 or more
    """

    girth: float
    ratio: float

    @cached_property
    def half_axes(self) -> tuple[float, float]:
        """Half the long and half the short axis."""
        from scipy.special import ellipe

        half = self.girth / (4.0 * float(ellipe(1.0 - 1.0 / self.ratio**2)))
        return half, half / self.ratio

    def scaled(self, factor: float) -> Oval:
        """The same oval, so many times as large."""
        return Oval(self.girth * factor, self.ratio)

    @cached_property
    def _table(self) -> tuple[Floats, Floats]:
        """Angles of the ellipse from behind (+y) all round, and the lengths to there."""
        long, short = self.half_axes
        angles = np.linspace(0.5 * np.pi, 2.5 * np.pi, _POINTS + 1)
        middle = 0.5 * (angles[1:] + angles[:-1])
        step = np.diff(angles) * np.hypot(long * np.sin(middle), short * np.cos(middle))
        lengths = np.concatenate([[0.0], np.cumsum(step)])
        return angles, lengths * (self.girth / lengths[-1])

    @property
    def lengths(self) -> Floats:
        """Many lengths from 0 behind to the girth, evenly spread in the angle."""
        return self._table[1]

    def angles_at(self, lengths: Floats) -> Floats:
        """The ellipse's angle after each length from behind, counter-clockwise."""
        angles, table = self._table
        return np.interp(lengths, table, angles)

    def frames(self, lengths: Floats) -> tuple[Floats, Floats, Floats]:
        """Points on the oval, and there the unit vectors onward and outward, (n, 3) each."""
        long, short = self.half_axes
        angles = self.angles_at(lengths)
        zero = np.zeros_like(angles)
        points = np.stack([long * np.cos(angles), short * np.sin(angles), zero], axis=1)
        onward = np.stack([-long * np.sin(angles), short * np.cos(angles), zero], axis=1)
        onward /= np.linalg.norm(onward, axis=1)[:, None]
        outward = np.stack([onward[:, 1], -onward[:, 0], zero], axis=1)
        return points, onward, outward

    def clearance(self, points: Floats, still: float = 0.0) -> tuple[Floats, Floats, Floats]:
        """How far points, (n, 3), are outside; the way out there; and the length from behind.

        The nearest point of the ellipse by Newton's method from the angle of the point itself,
        which leads to it from anywhere outside and from a good way inside.

        Parameters
        ----------
        still : Newton's method ends where no angle changes by more
        """
        long, short = self.half_axes
        x, y = points[:, 0], points[:, 1]
        angle = np.arctan2(long * y, short * x)
        for _ in range(_NEWTON):
            cos, sin = np.cos(angle), np.sin(angle)
            dx, dy = long * cos - x, short * sin - y
            slope = -dx * long * sin + dy * short * cos
            bend = (long * sin) ** 2 + (short * cos) ** 2 - dx * long * cos - dy * short * sin
            step = np.clip(slope / np.maximum(bend, 1e-9), -0.2, 0.2)
            angle = angle - step
            if np.abs(step).max(initial=0.0) <= still:
                break
        outward = np.stack([short * np.cos(angle), long * np.sin(angle), 0.0 * angle], axis=1)
        outward /= np.linalg.norm(outward, axis=1)[:, None]
        foot = np.stack([long * np.cos(angle), short * np.sin(angle), points[:, 2]], axis=1)
        away = np.einsum("ni,ni->n", points - foot, outward)
        angles, lengths = self._table
        turned = (angle - 0.5 * np.pi) % (2.0 * np.pi) + 0.5 * np.pi
        return away, outward, np.interp(turned, angles, lengths)
