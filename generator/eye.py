"""The eye left in a ring of a weave: the thickest further wire that still passes through it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.circles import distance_minima, linking_number, plane_basis
from generator.climb import Unit, climb, thickest
from generator.contact import Rings, carried

Floats = NDArray[np.float64]

_THREAD = 1e-3
_TRIES = 2
_ROUNDS = 60


@dataclass(frozen=True)
class Eye:
    """The room left in one ring.

    Attributes
    ----------
    ring : its index in the rule
    wire_radius : of the thickest wire that still passes, in core radii; 0 when none
        was found to
    converged : whether the solver came to an end
    """

    ring: int
    wire_radius: float
    converged: bool


def eye_left(unit: Unit, ring: int) -> Eye:
    """Put a further ring through one ring's eye and let its wire grow.

    The further ring has the main core radius and is there in every repeat at once;
    it may go through other rings as well. All rings and the repeat may give way.
    So this is the room for one more ring, or for a wire's end, in a weave that
    hangs loose. The best of a few placements is taken, so it is a lower bound.

    Parameters
    ----------
    unit : a settled unit
    ring : whose eye
    """
    best = Eye(ring, 0.0, True)
    for centre, axis in _roomiest(unit, ring):
        whole = _with_probe(unit, centre, axis)
        grows = np.zeros(len(whole.rings.centres), bool)
        grows[-1] = True
        end = climb(whole, thickest(whole, grows), rounds=_ROUNDS, tolerance=1e-6)
        found = Eye(ring, float(end.unit.rings.wire_radii[-1]), end.converged)
        best = max(best, found, key=lambda eye: eye.wire_radius)
    return best


def _with_probe(unit: Unit, centre: Floats, axis: Floats) -> Unit:
    rings = unit.rings
    return Unit(
        Rings(
            np.vstack([rings.centres, centre]),
            np.vstack([rings.axes, axis]),
            np.append(rings.core_radii, 1.0),
            np.append(rings.wire_radii, _THREAD),
        ),
        unit.lattice,
    )


def _roomiest(unit: Unit, ring: int) -> list[tuple[Floats, Floats]]:
    """The roomiest places for a ring through this ring's eye: centres and axes."""
    rings = unit.rings
    u, v = (basis[ring] for basis in plane_basis(rings.axes))
    spots = [0.0 * u] + [
        reach * rings.core_radii[ring] * (np.cos(turn) * u + np.sin(turn) * v)
        for reach in (0.15, 0.3, 0.45, 0.6)
        for turn in np.arange(12) * (np.pi / 6)
    ]
    ways = np.arange(12) * (np.pi / 6)
    outward = np.cos(ways)[:, None] * u + np.sin(ways)[:, None] * v
    centres = (rings.centres[ring] + np.array(spots)[:, None] + outward).reshape(-1, 3)
    axes = np.tile(np.cross(rings.axes[ring], outward), (len(spots), 1))
    room = np.where(_goes_through(rings, ring, centres, axes), _room(unit, centres, axes), 0.0)
    order = np.argsort(-room, kind="stable")[:_TRIES]
    return [(centres[k], axes[k]) for k in order if room[k] > 0.0]


def _goes_through(rings: Rings, ring: int, centres: Floats, axes: Floats) -> NDArray[np.bool_]:
    count = len(centres)
    one = np.full(count, ring)
    numbers = linking_number(
        centres, axes, np.ones(count), rings.centres[one], rings.axes[one], rings.core_radii[one]
    )
    return np.asarray(numbers != 0)


def _room(unit: Unit, centres: Floats, axes: Floats) -> Floats:
    """Gap round a thread in each of these places, (k,)."""
    rings, lattice = unit.rings, unit.lattice
    widest = float((rings.core_radii + rings.wire_radii).max()) + 2.0
    spread = float(np.linalg.norm(centres - centres.mean(axis=0), axis=1).max())
    near = lattice.images_near(rings.centres.mean(axis=0), spread + widest, 0.0)
    images = np.unique(np.concatenate([near, -near]), axis=0)
    count, around = len(rings.centres), len(images)
    every = np.tile(np.arange(count), around)
    others, normals = carried(
        rings.centres[every], rings.axes[every], np.repeat(images, count, axis=0), lattice
    )
    place = np.repeat(np.arange(len(centres)), len(every))
    other = np.tile(np.arange(len(every)), len(centres))
    found = distance_minima(
        centres[place],
        axes[place],
        np.ones(len(place)),
        others[other],
        normals[other],
        rings.core_radii[every][other],
    )
    gap = found.distance - rings.wire_radii[every][other[found.pair]]
    room = np.full(len(centres), np.inf)
    np.minimum.at(room, place[found.pair], gap)
    return room
