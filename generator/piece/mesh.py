"""Rings as triangles: how many are needed, and where they lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ringwright.base.arrays import Floats, Ints
from ringwright.base.errors import BadInput

if TYPE_CHECKING:
    from ringwright.piece.piece import Piece


# Even the coarsest ring should still read as a round ring of round wire.
LEAST_AROUND, LEAST_ACROSS = 12, 6
# As a binary STL file: 1.25 GB.
MOST_TRIANGLES = 25_000_000


def torus_segments(
    core_radius_mm: float, wire_radius_mm: float, chord_error_mm: float
) -> tuple[int, int]:
    """The fewest segments with which a triangulated ring stays close to the true one.

    With N segments around a ring of core radius R and M across its wire of
    radius r, each facet is part of a planar trapezoid. Look at a point of it in
    its own half-plane through the axis. Without the flattening around the
    ring, it would lie on the M-sided polygon inscribed in the wire's circle, at
    most r (1 - cos(pi/M)) inside. The flattening moves it towards the axis by
    at most the factor cos(pi/N) of its distance from there, which is R + r at
    most. Distance to the torus changes no faster than the point moves, so the
    two add up to a bound for every point, inside or outside::

        (R + r) (1 - cos(pi/N)) + r (1 - cos(pi/M)) <= chord error

    Of all N >= 12 and M >= 6 that keep it, the pair with the smallest product
    is taken.

    Parameters
    ----------
    core_radius_mm, wire_radius_mm : R and r, with R > r > 0
    chord_error_mm : farthest that a facet may lie from the true ring

    Returns
    -------
    around, across : N and M; the ring takes 2 N M triangles

    Raises
    ------
    BadInput
        When the chord error is not a positive number, or so small that one ring would
        take more than 25,000,000 triangles.
    """
    if not (math.isfinite(chord_error_mm) and chord_error_mm > 0):
        raise BadInput(
            f"chord error {chord_error_mm:g} mm is not a length above zero; give one, e.g. 0.02 mm."
        )
    outside_mm = core_radius_mm + wire_radius_mm
    fewest_across = _segments(np.array([chord_error_mm]), wire_radius_mm)[0]
    # 2 N M is never less than with the whole error granted to N and to M in turn.
    fewest_around = _segments(np.array([chord_error_mm]), outside_mm)[0]
    _refuse_too_many(2.0 * fewest_around * fewest_across, chord_error_mm)

    # The best M shares the error about equally and is near sqrt(2) times the fewest.
    first = max(LEAST_ACROSS, int(fewest_across))
    across = np.arange(first, 2 * first + 8)
    left_mm = chord_error_mm - wire_radius_mm * _sagitta(across)
    across, left_mm = across[left_mm > 0], left_mm[left_mm > 0]
    around = np.maximum(_segments(left_mm, outside_mm), LEAST_AROUND)
    best = int(np.argmin(around * across))
    _refuse_too_many(2.0 * around[best] * across[best], chord_error_mm)
    return int(around[best]), int(across[best])


def _sagitta(segments: NDArray[np.int_]) -> Floats:
    """How far a chord of a regular polygon lies inside its unit circle: 1 - cos(pi / n)."""
    # Written with the sine, which keeps its digits when the angle is small.
    sagitta: Floats = 2.0 * np.sin(np.pi / (2.0 * segments)) ** 2
    return sagitta


def _segments(error_mm: Floats, radius_mm: float) -> Floats:
    """The fewest segments, as whole floats, that keep a circle's chords within an error."""
    half = np.sqrt(np.minimum(error_mm / (2.0 * radius_mm), 1.0))
    # The tiny factor forgives rounding where a whole number meets the bound exactly.
    fewest: Floats = np.ceil(np.pi / (2.0 * np.arcsin(half)) * (1.0 - 1e-12))
    return fewest


def _refuse_too_many(triangles: float, chord_error_mm: float) -> None:
    if triangles > MOST_TRIANGLES:
        raise BadInput(
            f"chord error {chord_error_mm:g} mm would take {triangles:,.0f} triangles, and a "
            f"model holds at most {MOST_TRIANGLES:,}; ask for a larger chord error."
        )


def torus_mesh(
    core_radius_mm: float, wire_radius_mm: float, around: int, across: int
) -> tuple[Floats, Ints]:
    """A closed triangle mesh of a ring about the z axis, centred, facing outward.

    Parameters
    ----------
    core_radius_mm, wire_radius_mm : R and r, with R > r > 0
    around, across : segments around the ring and across the wire, each 3 or more

    Returns
    -------
    vertices : (around * across, 3), in mm, on the true torus; vertex i * across + j is the
        jth of the ith cross-section
    faces : (2 * around * across, 3), counter-clockwise seen from outside
    """
    out = torus_normals(around, across)
    angle = np.repeat(_turn(around), across)
    core = np.stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)], axis=1)
    vertices: Floats = core_radius_mm * core + wire_radius_mm * out

    here, there = np.arange(around), np.roll(np.arange(around), -1)
    low, high = np.arange(across), np.roll(np.arange(across), -1)
    a = here[:, None] * across + low
    b = there[:, None] * across + low
    c = there[:, None] * across + high
    d = here[:, None] * across + high
    faces = np.stack([a, b, c, a, c, d], axis=2).reshape(-1, 3)
    return vertices, faces


def torus_normals(around: int, across: int) -> Floats:
    """(around * across, 3) outward unit normals of the torus at :func:`torus_mesh`'s vertices."""
    angle = np.repeat(_turn(around), across)
    tilt = np.tile(_turn(across), around)
    return np.stack(
        [np.cos(tilt) * np.cos(angle), np.cos(tilt) * np.sin(angle), np.sin(tilt)], axis=1
    )


def _turn(segments: int) -> Floats:
    return np.linspace(0.0, 2.0 * np.pi, segments, endpoint=False)


def frames(axes: Floats) -> Floats:
    """Rotations that take the z axis to each given axis.

    For n = (x, y, z) with z > -1/2 it is the shortest rotation from +z, written without
    trigonometry; below, the same is done from -z, after half a turn about the x axis.
    Axes in or near the xy plane, which weaves are full of, are thus on the same side
    whatever the rounding of their z.

    Parameters
    ----------
    axes : (n, 3) unit vectors

    Returns
    -------
    (n, 3, 3) proper rotations F, with ``F @ [0, 0, 1] == axis``
    """
    x, y, z = axes[:, 0], axes[:, 1], axes[:, 2]
    sign = np.where(z > -0.5, 1.0, -1.0)
    share = 1.0 / (1.0 + sign * z)
    first = np.stack([1.0 - x * x * share, -x * y * share, -sign * x], axis=1)
    second = np.stack([-sign * x * y * share, sign * (1.0 - y * y * share), -y], axis=1)
    turned: Floats = np.stack([first, second, axes], axis=2)
    # Adding zero turns -0 into +0, which would otherwise show in the files' bytes.
    return turned + 0.0


@dataclass(frozen=True, eq=False)
class RingSizes:
    """The different sizes of ring in a piece.

    Attributes
    ----------
    core_radii_mm, wire_radii_mm : (k,) radii of each size, smallest first
    of_ring : (n,) which of the sizes each ring has
    """

    core_radii_mm: Floats
    wire_radii_mm: Floats
    of_ring: Ints


def ring_sizes(piece: Piece) -> RingSizes:
    """Sort the rings of a piece by size; sizes are equal when both radii are equal."""
    radii = np.stack([piece.core_radii_mm, piece.wire_radii_mm], axis=1)
    sizes, of_ring = np.unique(radii, axis=0, return_inverse=True)
    return RingSizes(sizes[:, 0], sizes[:, 1], of_ring.reshape(-1))


def size_segments(
    sizes: RingSizes, chord_error_mm: float, rings: Sequence[int] | Ints | None = None
) -> list[tuple[int, int]]:
    """Segments (around, across) for each ring size of a piece.

    Parameters
    ----------
    sizes : from :func:`ring_sizes`
    chord_error_mm : farthest that a facet may lie from the true ring
    rings : the rings that will be drawn; all when not given

    Raises
    ------
    BadInput
        As :func:`torus_segments`, or when the rings together would take more than
        25,000,000 triangles.
    """
    segments = [
        torus_segments(float(core_mm), float(wire_mm), chord_error_mm)
        for core_mm, wire_mm in zip(sizes.core_radii_mm, sizes.wire_radii_mm, strict=True)
    ]
    drawn = sizes.of_ring if rings is None else sizes.of_ring[np.asarray(rings, dtype=np.intp)]
    triangles = np.array([2 * around * across for around, across in segments])
    _refuse_too_many(float(triangles[drawn].sum()), chord_error_mm)
    return segments


@dataclass(frozen=True, eq=False)
class Mesh:
    """Triangles in mm: (v, 3) vertices, their (v, 3) unit normals, and (f, 3) faces."""

    vertices: Floats
    normals: Floats
    faces: Ints


def piece_mesh(
    piece: Piece, chord_error_mm: float, rings: Sequence[int] | Ints | None = None
) -> Mesh:
    """One mesh of a piece's rings, each a closed shell of its own.

    Parameters
    ----------
    piece : where the rings lie
    chord_error_mm : farthest that a facet may lie from the true ring
    rings : which rings, as indices; all when not given

    Raises
    ------
    BadInput
        As :func:`size_segments`.
    """
    wanted = np.arange(len(piece)) if rings is None else np.asarray(rings, dtype=np.intp)
    sizes = ring_sizes(piece)
    segments = size_segments(sizes, chord_error_mm, wanted)
    turned = frames(piece.axes[wanted])
    parts: list[tuple[Floats, Floats, Ints]] = []
    count = 0
    for size, (around, across) in enumerate(segments):
        of_size = np.flatnonzero(sizes.of_ring[wanted] == size)
        vertices, faces = torus_mesh(
            sizes.core_radii_mm[size], sizes.wire_radii_mm[size], around, across
        )
        placed = vertices @ turned[of_size].transpose(0, 2, 1)
        placed += piece.centres_mm[wanted[of_size], None]
        normals = torus_normals(around, across) @ turned[of_size].transpose(0, 2, 1)
        starts = count + len(vertices) * np.arange(len(of_size))
        parts.append(
            (
                placed.reshape(-1, 3),
                normals.reshape(-1, 3),
                (faces + starts[:, None, None]).reshape(-1, 3),
            )
        )
        count += len(vertices) * len(of_size)
    return Mesh(*(np.concatenate(arrays) for arrays in zip(*parts, strict=True)))
