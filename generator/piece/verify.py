"""A second opinion on placed rings, by plain sampling.

Nothing here is shared with the solver: distances come from points sampled along
each ring and narrowed down, links from counting how often a ring's points pass
through another's disc. It is slower and less exact, and that is its use.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.piece.piece import Piece

_POINTS = 360
_CLOSER = 3
_AROUND = np.linspace(0.0, 2 * np.pi, _POINTS, endpoint=False)


@dataclass(frozen=True)
class SecondOpinion:
    """What sampling found.

    Attributes
    ----------
    smallest_gap_mm : between the surfaces of any two rings, at most a nanometre too large
    links : the names of every two rings that run through one another, in order
    """

    smallest_gap_mm: float
    links: tuple[tuple[str, str], ...]


def second_opinion(piece: Piece) -> SecondOpinion:
    """Measure and count the links of every two rings of a piece by sampling."""
    smallest, links = np.inf, []
    bound = piece.core_radii_mm + piece.wire_radii_mm
    for i in range(len(piece)):
        apart = np.linalg.norm(piece.centres_mm[i + 1 :] - piece.centres_mm[i], axis=1)
        others = i + 1 + np.flatnonzero(apart <= bound[i] + bound[i + 1 :] + bound[i])
        if not others.size:
            continue
        frame = _frame(piece, i)
        own = np.broadcast_to(_points(piece, i, frame, _AROUND), (len(others), _POINTS, 3))
        seen = _in_frame(piece, own, others)
        smallest = min(smallest, float(_gaps(piece, i, frame, others, seen).min()))
        for j in others[_passes_through(piece, others, seen)]:
            low, high = sorted((piece.names[i], piece.names[j]))
            links.append((low, high))
    return SecondOpinion(smallest, tuple(sorted(links)))


def _frame(piece: Piece, ring: int) -> tuple[Floats, Floats]:
    """Two unit vectors across a ring's plane; where the first points to does not matter."""
    axis = piece.axes[ring]
    start = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    start /= np.linalg.norm(start)
    return start, np.cross(axis, start)


def _points(piece: Piece, ring: int, frame: tuple[Floats, Floats], angles: Floats) -> Floats:
    """Points of a ring's core circle at some angles in its frame."""
    start, side = frame
    spokes = np.cos(angles)[..., None] * start + np.sin(angles)[..., None] * side
    return np.asarray(piece.centres_mm[ring] + piece.core_radii_mm[ring] * spokes)


def _in_frame(piece: Piece, points: Floats, others: Ints) -> tuple[Floats, Floats]:
    """Height above and distance from the axis of each other ring, (m, points)."""
    offset = points - piece.centres_mm[others][:, None]
    height = np.einsum("mpi,mi->mp", offset, piece.axes[others])
    square = np.einsum("mpi,mpi->mp", offset, offset)
    return height, np.sqrt(np.maximum(square - height**2, 0.0))


def _gaps(
    piece: Piece,
    ring: int,
    frame: tuple[Floats, Floats],
    others: Ints,
    seen: tuple[Floats, Floats],
) -> Floats:
    """The smallest gap from a ring to each other, (m,), by sampling ever more closely.

    Parameters
    ----------
    seen : height and distance from the others' axes of the ring's points all round
    """
    angles = np.broadcast_to(_AROUND, (len(others), _POINTS))
    spacing = 2 * np.pi / _POINTS
    distance = _from_circles(piece, others, seen)
    for _ in range(_CLOSER):
        best = angles[np.arange(len(others)), distance.argmin(axis=1)]
        angles = best[:, None] + np.linspace(-spacing, spacing, 101)
        spacing /= 50
        points = _points(piece, ring, frame, angles)
        distance = _from_circles(piece, others, _in_frame(piece, points, others))
    wires = piece.wire_radii_mm[ring] + piece.wire_radii_mm[others]
    return np.asarray(distance.min(axis=1) - wires)


def _from_circles(piece: Piece, others: Ints, seen: tuple[Floats, Floats]) -> Floats:
    """How far points are from the core circle of each other ring, (m, points)."""
    height, off_axis = seen
    return np.asarray(np.hypot(off_axis - piece.core_radii_mm[others][:, None], height))


def _passes_through(piece: Piece, others: Ints, seen: tuple[Floats, Floats]) -> Bools:
    """Whether a ring passes an odd number of times through each other's disc, (m,).

    Parameters
    ----------
    seen : as above
    """
    height, off_axis = seen
    following, off_following = np.roll(height, -1, axis=1), np.roll(off_axis, -1, axis=1)
    crosses = (height > 0.0) != (following > 0.0)
    step = np.where(crosses, height - following, 1.0)
    share = np.where(crosses, height / step, 0.0)
    at = off_axis + share * (off_following - off_axis)
    inside = crosses & (at < piece.core_radii_mm[others][:, None])
    return np.asarray(inside.sum(axis=1) % 2 == 1)


def meshes_collide(piece: Piece, shrink_mm: float) -> bool:
    """Whether any two rings collide as triangle meshes, by the FCL library through trimesh.

    Parameters
    ----------
    shrink_mm : the wire is thinned by this much first, since rings at rest touch

    Raises
    ------
    ImportError
        When python-fcl is not installed.
    """
    import importlib

    import trimesh

    from ringwright.piece.mesh import frames, torus_mesh

    # trimesh loads it too, but says less plainly that it is missing.
    importlib.import_module("fcl")
    manager = trimesh.collision.CollisionManager()
    turns = frames(piece.axes)
    for index, name in enumerate(piece.names):
        wire = float(piece.wire_radii_mm[index]) - shrink_mm / 2
        vertices, faces = torus_mesh(float(piece.core_radii_mm[index]), wire, 96, 32)
        place = np.eye(4)
        place[:3, :3], place[:3, 3] = turns[index], piece.centres_mm[index]
        manager.add_object(name, trimesh.Trimesh(vertices, faces, process=False), place)
    return bool(manager.in_collision_internal())
