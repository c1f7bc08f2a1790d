"""What moves the rings of a whole piece: their weight, and who pulls at them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats
from ringwright.geometry.contact import Rings


@dataclass(frozen=True, eq=False)
class Goal:
    """Constant forces on the rings' centres, and edges that are pulled apart evenly.

    Attributes
    ----------
    forces : (n, 3) weights and pulls
    edges : four masks (n,) of the rings at the low and the high x edge and at the low and the
        high y edge; None where nothing is spread
    tension : how strongly the area between the edges is drawn out
    """

    forces: Floats
    edges: tuple[Bools, Bools, Bools, Bools] | None = None
    tension: float = 0.0

    def energy(self, rings: Rings) -> float:
        """What falls as the rings follow the forces."""
        energy = -float(np.sum(self.forces * rings.centres))
        if self.edges is not None:
            long, wide = self._sides(rings.centres)
            energy -= self.tension * long * wide
        return energy

    def pull(self, rings: Rings) -> Floats:
        """Minus the energy's first derivatives in the rings' unknowns, (5 n,)."""
        each = np.zeros((len(rings.centres), 5))
        each[:, :3] = self.forces
        if self.edges is not None:
            long, wide = self._sides(rings.centres)
            low_x, high_x, low_y, high_y = (edge / edge.sum() for edge in self.edges)
            each[:, 0] += self.tension * wide * (high_x - low_x)
            each[:, 1] += self.tension * long * (high_y - low_y)
        return each.ravel()

    def _sides(self, centres: Floats) -> tuple[float, float]:
        assert self.edges is not None
        low_x, high_x, low_y, high_y = self.edges
        long = float(centres[high_x, 0].mean() - centres[low_x, 0].mean())
        return long, float(centres[high_y, 1].mean() - centres[low_y, 1].mean())


def weights(rings: Rings) -> Floats:
    """What each ring weighs, as a share of the mean; (n,)."""
    mass = rings.core_radii * rings.wire_radii**2
    return np.asarray(mass / mass.mean())


def outermost(along: Floats, within: float) -> tuple[Bools, Bools]:
    """The rings at the low and at the high end, by where their centres lie along a line.

    Parameters
    ----------
    along : (n,) where they lie
    within : how far from the outermost one a ring still counts
    """
    return along <= along.min() + within, along >= along.max() - within
