"""What moves the rings of a whole piece: their weight, and who pulls at them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ringwright.base.arrays import Bools, Floats
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import ALONE, Lattice
from ringwright.geometry.vectors import cross

# What a ring weighs for a pull of 1 at the ends: little enough for the pull to come first.
WEIGHT = 1e-2


@dataclass(frozen=True, eq=False)
class Goal:
    """Constant forces on rings' centres and on a lattice, and edges that are pulled apart evenly.

    With ``edges`` the area between them is drawn out, without the area of a lattice's cell.

    Attributes
    ----------
    forces : (n, 3) weights and pulls
    edges : four masks (n,) of the rings at the low and the high x edge and at the low and the
        high y edge; None where nothing is spread
    tension : how strongly the area is drawn out
    stretch : (p,) forces on the lattice's values, none for a whole piece
    target : rings are drawn towards where these are, each by how far it is away; None where not
    """

    forces: Floats
    edges: tuple[Bools, Bools, Bools, Bools] | None = None
    tension: float = 0.0
    stretch: Floats = field(default_factory=lambda: np.zeros(0))
    target: Rings | None = None

    @property
    def bend(self) -> float:
        """The energy's second derivative, the same in all of the rings' unknowns."""
        return 0.0 if self.target is None else 1.0

    def energy(self, rings: Rings, lattice: Lattice = ALONE) -> float:
        """What falls as the rings follow the forces."""
        energy = -float(np.sum(self.forces * rings.centres)) - float(self.stretch @ lattice.values)
        if lattice.kind.has_rows:
            energy -= self.tension * float(lattice.values[0] * lattice.values[2])
        elif self.edges is not None:
            long, wide = self._sides(rings.centres)
            energy -= self.tension * long * wide
        if self.target is not None:
            energy += 0.5 * float(np.sum(away(rings, self.target) ** 2))
        return energy

    def pull(self, rings: Rings, lattice: Lattice = ALONE) -> Floats:
        """Minus the energy's first derivatives in the unknowns, (5 n + p,)."""
        each = np.zeros((len(rings.centres), 5))
        each[:, :3] = self.forces
        if self.edges is not None:
            long, wide = self._sides(rings.centres)
            low_x, high_x, low_y, high_y = (edge / edge.sum() for edge in self.edges)
            each[:, 0] += self.tension * wide * (high_x - low_x)
            each[:, 1] += self.tension * long * (high_y - low_y)
        if self.target is not None:
            each += away(rings, self.target)
        values = self.stretch.copy()
        if lattice.kind.has_rows:
            values[[0, 2]] += self.tension * lattice.values[[2, 0]]
        return np.concatenate([each.ravel(), values])

    def _sides(self, centres: Floats) -> tuple[float, float]:
        assert self.edges is not None
        low_x, high_x, low_y, high_y = self.edges
        long = float(centres[high_x, 0].mean() - centres[low_x, 0].mean())
        return long, float(centres[high_y, 1].mean() - centres[low_y, 1].mean())


def away(rings: Rings, target: Rings) -> Floats:
    """From rings to others, one to one, in the rings' five unknowns, (n, 5)."""
    turn = cross(rings.axes, target.axes)
    sine = np.linalg.norm(turn, axis=1)
    cosine = np.einsum("ni,ni->n", rings.axes, target.axes)
    turn *= (np.arctan2(sine, cosine) / np.where(sine == 0.0, 1.0, sine))[:, None]
    basis = np.stack(plane_basis(rings.axes), axis=2)
    tilt = np.einsum("ni,nij->nj", turn, basis) * rings.core_radii[:, None]
    return np.concatenate([target.centres - rings.centres, tilt], axis=1)


def weights(rings: Rings) -> Floats:
    """What each ring weighs, as a share of the mean; (n,)."""
    mass = rings.core_radii * rings.wire_radii**2
    return np.asarray(mass / mass.mean())


def ends_apart(along: Floats, within: float) -> Floats:
    """A pull of 1 at the high end of a piece, and of -1 at the low one, shared by the rings there.

    Parameters
    ----------
    along, within : as of :func:`outermost`

    Returns
    -------
    (n,)
    """
    low, high = outermost(along, within)
    return np.asarray(high / high.sum() - low / low.sum())


def outermost(along: Floats, within: float) -> tuple[Bools, Bools]:
    """The rings at the low and at the high end, by where their centres lie along a line.

    Parameters
    ----------
    along : (n,) where they lie
    within : how far from the outermost one a ring still counts
    """
    return along <= along.min() + within, along >= along.max() - within
