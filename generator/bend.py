"""How tightly a chain bends, and what a closed bracelet of it measures inside."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.circles import plane_basis
from generator.climb import Climb, Goal, Unit, climb, farthest
from generator.lattice import Lattice
from generator.linearise import unknowns

Floats = NDArray[np.float64]

# A chain bends "up" about an axis across it, "sideways" about one that stands on the table.
AXES = {"up": np.array([0.0, 1.0, 0.0]), "sideways": np.array([0.0, 0.0, 1.0])}


@dataclass(frozen=True, eq=False)
class Bend:
    """The tightest bend of a chain in one direction.

    Attributes
    ----------
    direction : a key of ``AXES``
    turn : angle from one repeat to the next at the tightest, radians
    inner_radius : from the axis to the nearest metal there, in core radii
    converged : whether the solver came to an end
    """

    direction: str
    turn: float
    inner_radius: float
    converged: bool

    @property
    def degrees(self) -> float:
        """The turn in degrees."""
        return math.degrees(self.turn)

    @property
    def fewest_repeats(self) -> int:
        """The smallest closed loop, in whole repeats."""
        return math.ceil(2 * math.pi / self.turn - 1e-6)


def tightest_bend(unit: Unit, direction: str) -> Bend:
    """Bend a straight chain about an axis until its rings allow no more.

    The repeat is turned about a far axis and the turn per repeat made as large as it
    gets; how far the axis then is follows. Both senses of the bend are tried and
    the tighter one is reported, since a chain can be turned over.

    Parameters
    ----------
    unit : a settled unit of a chain
    direction : ``"up"`` or ``"sideways"``
    """
    ends = [bent_tightly(unit, direction, sense) for sense in (1, -1)]
    best = max(ends, key=lambda end: round(float(end.unit.lattice.values[1]), 9))
    turn = float(best.unit.lattice.values[1])
    return Bend(direction, turn, inner_radius(best.unit), best.converged)


def bent_tightly(unit: Unit, direction: str, sense: int) -> Climb:
    """The same in one sense of the bend: 1 to the side that the direction names, or -1."""
    bent = bent_unit(unit, sense * AXES[direction], 0.0)
    return climb(bent, farthest(bent, 1), rounds=300, tolerance=1e-9)


@dataclass(frozen=True)
class Loop:
    """A chain of so many repeats closed into a ring and pulled to its widest.

    Attributes
    ----------
    repeats : how many
    inner_circumference : in core radii
    lost : how much shorter that is than the same repeats lying straight
    """

    repeats: int
    inner_circumference: float
    lost: float


def closed_loop(unit: Unit, direction: str, repeats: int) -> Loop | None:
    """A closed bracelet of whole repeats, as wide as it gets; None if it does not close.

    The straight chain is bent until it comes round in that many repeats, then
    widened. Both senses of the bend are tried and the wider ring is reported.
    """
    turn = 2 * math.pi / repeats
    wide: list[Climb] = []
    for sense in (1.0, -1.0):
        straight = bent_unit(unit, sense * AXES[direction], 0.0)
        bent = climb(straight, farthest(straight, 1), rounds=200, tolerance=1e-9, enough=turn)
        if bent.unit.lattice.values[1] < turn:
            continue
        closed = bent.unit.lattice.with_values(np.array([bent.unit.repeat, turn]))
        end = climb(Unit(bent.unit.rings, closed), _widest(), rounds=120, tolerance=1e-7)
        if end.converged:
            wide.append(end)
    if not wide:
        return None
    inner = 2 * math.pi * max(inner_radius(end.unit) for end in wide)
    return Loop(repeats, inner, repeats * unit.repeat - inner)


def bent_unit(unit: Unit, axis: Floats, turn: float) -> Unit:
    """The unit as one repeat of a chain that bends about ``axis`` by ``turn`` a repeat."""
    values = np.array([unit.repeat, turn])
    return Unit(unit.rings, Lattice("loop", values, axis=axis))


def from_axis(unit: Unit, points: Floats) -> Floats:
    """The part of points that leads straight away from the bend's axis, (..., 3)."""
    lattice = unit.lattice
    axis = np.zeros(3) if lattice.axis is None else lattice.axis
    inward = np.cross(axis, np.array([1.0, 0.0, 0.0]))
    middle = inward * (lattice.values[0] / lattice.values[1])
    away = points - middle
    return np.asarray(away - (away @ axis)[..., None] * axis)


def _widest() -> Goal:
    """The rings as far from the axis as they get, on average; the turn stays."""

    def slope(unit: Unit) -> Floats:
        away = from_axis(unit, unit.rings.centres)
        direction = away / np.linalg.norm(away, axis=1)[:, None]
        whole = np.zeros(unknowns(unit.rings, unit.lattice))
        whole[: 5 * len(direction)].reshape(-1, 5)[:, :3] = direction / len(direction)
        return whole

    # The repeat's arc is kept: rings that move outward lengthen it just as well.
    return Goal(
        lambda unit: float(np.linalg.norm(from_axis(unit, unit.rings.centres), axis=1).mean()),
        slope,
    )


def inner_radius(unit: Unit) -> float:
    """Distance from the bend's axis to the nearest metal."""
    rings = unit.rings
    u, v = plane_basis(rings.axes)
    angles = np.linspace(0.0, 2 * np.pi, 4000, endpoint=False)
    spokes = np.cos(angles)[:, None, None] * u + np.sin(angles)[:, None, None] * v
    points = rings.centres + rings.core_radii[:, None] * spokes
    return float((np.linalg.norm(from_axis(unit, points), axis=2) - rings.wire_radii).min())
