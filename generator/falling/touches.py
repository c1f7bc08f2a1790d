"""Where rings come near what is no ring: a table, a wrist, a hook."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints


@dataclass(frozen=True, eq=False)
class Touches:
    """Gaps of single rings to what is no ring; each must stay at least zero.

    Attributes
    ----------
    ring : (w,) which ring
    gap : (w,) from its surface
    point : (w, 3) the place on its core circle
    slides : (w,) True where that is the nearest one, free to slide along the circle
    slopes : (w, 5) first derivatives in the ring's five unknowns, those of
        :mod:`ringwright.geometry.linearise`
    bends : (w, 5, 5) second derivatives
    """

    ring: Ints
    gap: Floats
    point: Floats
    slides: Bools
    slopes: Floats
    bends: Floats

    def columns(self) -> Ints:
        """(w, 5) which unknowns the slopes are in."""
        return 5 * self.ring[:, None] + np.arange(5)

    def of(self, wanted: Bools) -> Touches:
        """Some of the rows, by a mask."""
        return Touches(
            self.ring[wanted],
            self.gap[wanted],
            self.point[wanted],
            self.slides[wanted],
            self.slopes[wanted],
            self.bends[wanted],
        )
