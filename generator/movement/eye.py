"""The eye left in a ring of a weave: the thickest further wire that still passes through it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Bools, Floats
from ringwright.geometry.circles import distance_minima, linking_number, plane_basis
from ringwright.geometry.contact import Rings, in_images
from ringwright.geometry.vectors import cross
from ringwright.solver.climb import Climb, Unit, climbs, thickest

_THREAD = 1e-3
# Places that are tried for a little while, and how many of the best are then seen through.
_TRIES, _BEST = 20, 6
# How much two of these differ at least: centres apart, in core radii, and sine of the tilt.
_DIFFERENT = 0.4
# Slants at which it goes through, as rise and twist (radians): between six wires in the eye of a
# strip it goes at a slant or not at all.
_LEANS = ((0.0, 0.0), (0.5, 0.0), (-0.5, 0.0), (0.0, 0.5), (0.0, -0.5))
_LITTLE, _ROUNDS = 5, 60
# Points of a thread at which its room is looked at first, and how much that may be out by rounding;
# so many places are then looked at as a whole at once.
_POINTS = np.arange(16) * (2 * np.pi / 16)
_ROUNDING, _AT_ONCE = 1e-9, 64


@dataclass(frozen=True)
class Eye:
    """The room left in one ring.

    Attributes
    ----------
    ring : its index in the rule
    wire_radius : of the thickest wire that was found to pass, in core radii; 0 when none was
    converged : whether the solver came to an end
    """

    ring: int
    wire_radius: float
    converged: bool


def of_all_alike(eyes: Sequence[Eye], groups: Sequence[Sequence[int]]) -> tuple[Eye, ...]:
    """The eye of every ring, in their order.

    Parameters
    ----------
    eyes : of the first ring of each group
    groups : the rings, those together that lie alike (:func:`ringwright.movement.symmetry.alike`)
    """
    every = [
        replace(eye, ring=ring) for eye, group in zip(eyes, groups, strict=True) for ring in group
    ]
    return tuple(sorted(every, key=lambda eye: eye.ring))


def eye_left(unit: Unit, ring: int) -> Eye:
    """Put a further ring through one ring's eye and let its wire grow.

    The further ring has the main core radius and is there in every repeat at once;
    it may go through other rings as well. All rings and the repeat may give way.
    So this is the room for one more ring, or for a wire's end, in a weave that
    hangs loose. The best of twenty placements is taken, so at least so much passes.

    Parameters
    ----------
    unit : a settled unit
    ring : whose eye
    """
    begun = _grown([_with_probe(unit, *place) for place in _roomiest(unit, ring)], _LITTLE)
    begun.sort(key=_wire, reverse=True)
    ends = _grown([end.unit for end in begun[:_BEST]], _ROUNDS)
    if not ends:
        return Eye(ring, 0.0, True)
    best = max(ends, key=_wire)
    return Eye(ring, _wire(best), best.converged)


def _grown(units: Sequence[Unit], rounds: int) -> list[Climb]:
    starts = []
    for unit in units:
        grows = np.zeros(len(unit.rings.centres), bool)
        grows[-1] = True
        starts.append((unit, thickest(unit, grows)))
    return climbs(starts, rounds=rounds, tolerance=1e-6)


def _wire(end: Climb) -> float:
    return float(end.unit.rings.wire_radii[-1])


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
    towards = np.cos(ways)[:, None] * u + np.sin(ways)[:, None] * v
    placed = [_leaning(rings.axes[ring], towards, *lean) for lean in _LEANS]
    outward = np.vstack([out for out, _ in placed])
    centres = (rings.centres[ring] + np.array(spots)[:, None] + outward).reshape(-1, 3)
    axes = np.tile(np.vstack([axis for _, axis in placed]), (len(spots), 1))
    through = np.flatnonzero(_goes_through(rings, ring, centres, axes))
    centres, axes = centres[through], axes[through]
    found: list[tuple[Floats, Floats]] = []
    for k in _by_room(unit, centres, axes):
        if len(found) == _TRIES:
            break
        if all(_differ(centres[k], axes[k], *other) for other in found):
            found.append((centres[k], axes[k]))
    return found


def _by_room(unit: Unit, centres: Floats, axes: Floats) -> Iterator[int]:
    """The places that have room, from the roomiest on; of equal ones the first comes first.

    To find the room in a place takes long, and few places are wanted. There is at most as much as
    at some points of a ring there, so only those are looked at that may have the most.
    """
    if len(centres) == 0:
        return
    others = _others(unit, centres)
    most = _room_at_points(others, centres, axes)
    order = np.argsort(-most, kind="stable")
    known: list[tuple[float, int]] = []
    for start in range(0, len(order), _AT_ONCE):
        some = order[start : start + _AT_ONCE]
        room = _room(others, centres[some], axes[some])
        known = sorted([*known, *zip((-room).tolist(), some.tolist(), strict=True)])
        after = order[start + _AT_ONCE : start + _AT_ONCE + 1]
        least = float(most[after].max(initial=0.0))
        while known and -known[0][0] > least:
            yield known.pop(0)[1]


def _leaning(axis: Floats, towards: Floats, rise: float, twist: float) -> tuple[Floats, Floats]:
    """A ring that goes through an eye at a slant: the way to its centre, and its axis, (k, 3).

    Parameters
    ----------
    axis : of the eye
    towards : (k, 3), in the plane of the eye, the way to the centre of a ring that stands upright
    rise : how much the centre lies above that plane, as an angle
    twist : how much the ring is turned about the way to its centre
    """
    outward = np.cos(rise) * towards + np.sin(rise) * axis
    across = cross(axis, towards)
    through = np.cos(rise) * axis - np.sin(rise) * towards
    return outward, np.cos(twist) * across + np.sin(twist) * through


def _differ(centre: Floats, axis: Floats, other_centre: Floats, other_axis: Floats) -> bool:
    """Whether two places are different enough for both to be tried."""
    tilt = np.linalg.norm(cross(axis, other_axis))
    return bool(np.linalg.norm(centre - other_centre) + tilt > _DIFFERENT)


def _goes_through(rings: Rings, ring: int, centres: Floats, axes: Floats) -> Bools:
    count = len(centres)
    one = np.full(count, ring)
    numbers = linking_number(
        centres, axes, np.ones(count), rings.centres[one], rings.axes[one], rings.core_radii[one]
    )
    return np.asarray(numbers != 0)


def _others(unit: Unit, places: Floats) -> Rings:
    """The rings in every image that may come near these places, of which there is one at least."""
    rings, lattice = unit.rings, unit.lattice
    widest = float((rings.core_radii + rings.wire_radii).max()) + 2.0
    spread = float(np.linalg.norm(places - places.mean(axis=0), axis=1).max())
    near = lattice.images_near(rings.centres.mean(axis=0), spread + widest, 0.0)
    return in_images(rings, np.unique(np.concatenate([near, -near]), axis=0), lattice)


def _room(others: Rings, centres: Floats, axes: Floats) -> Floats:
    """Gap round a thread in each of these places, (k,)."""
    count = len(others.core_radii)
    place = np.repeat(np.arange(len(centres)), count)
    other = np.tile(np.arange(count), len(centres))
    found = distance_minima(
        centres[place],
        axes[place],
        np.ones(len(place)),
        others.centres[other],
        others.axes[other],
        others.core_radii[other],
    )
    gap = found.distance - others.wire_radii[other[found.pair]]
    room = np.full(len(centres), np.inf)
    np.minimum.at(room, place[found.pair], gap)
    return room


def _room_at_points(others: Rings, centres: Floats, axes: Floats) -> Floats:
    """At least that gap, (k,): its least value at some points of the thread."""
    u, v = plane_basis(axes)
    room = np.full(len(centres), np.inf)
    for angle in _POINTS:
        point = centres + np.cos(angle) * u + np.sin(angle) * v
        offset = point[:, None] - others.centres
        height = np.einsum("kni,ni->kn", offset, others.axes)
        square = np.einsum("kni,kni->kn", offset, offset) - height**2
        beside = np.sqrt(np.maximum(square, 0.0)) - others.core_radii
        gap = np.sqrt(beside**2 + height**2) - others.wire_radii
        np.minimum(room, gap.min(axis=1), out=room)
    return room + _ROUNDING
