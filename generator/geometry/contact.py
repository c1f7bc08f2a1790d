"""Contact between torus rings: which pairs are close, by how much, and where they touch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.geometry.circles import distance_minima, linking_number, plane_basis
from ringwright.geometry.lattice import Images, Lattice, rotations
from ringwright.geometry.vectors import lengths

# Up to so many combinations, trying all is quicker than importing and building a tree.
_FEW = 1 << 16
# Rings smaller than this share of the largest are looked for like rings of this size.
_SMALLEST = 1e-3
_X = np.array([1.0, 0.0, 0.0])


@dataclass(frozen=True, eq=False)
class Rings:
    """Torus rings, in any one unit of length.

    Attributes
    ----------
    centres : (n, 3) centres of the core circles
    axes : (n, 3) unit normals of their planes
    core_radii : (n,) radii of the core circles
    wire_radii : (n,) radii of the wire
    """

    centres: Floats
    axes: Floats
    core_radii: Floats
    wire_radii: Floats

    def with_wire_radii(self, wire_radii: Floats) -> Rings:
        """The same core circles in another wire."""
        return Rings(self.centres, self.axes, self.core_radii, wire_radii)

    def of(self, rows: Ints | Bools | slice) -> Rings:
        """Some of the rings, by index, mask or slice."""
        return Rings(
            self.centres[rows], self.axes[rows], self.core_radii[rows], self.wire_radii[rows]
        )

    def scaled(self, by: float) -> Rings:
        """The same in another unit of length."""
        return Rings(self.centres * by, self.axes, self.core_radii * by, self.wire_radii * by)

    def turned(self, turn: Floats) -> Rings:
        """The rings turned about the origin by a (3, 3) rotation matrix."""
        centres, axes = self.centres @ turn.T, self.axes @ turn.T
        return Rings(centres, axes, self.core_radii, self.wire_radii)

    def rolled(self, angle: float) -> Rings:
        """The rings turned about the x axis, the length of a chain, by an angle in radians."""
        return self.turned(rotations(_X, np.array([angle]))[0])

    def core_points(self, around: int) -> Floats:
        """So many places of every core circle, evenly about it, (n, around, 3)."""
        u, v = plane_basis(self.axes)
        angles = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)[:, None]
        spokes = np.cos(angles) * u[:, None] + np.sin(angles) * v[:, None]
        return np.asarray(self.centres[:, None] + self.core_radii[:, None, None] * spokes)


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of rings: ``first`` in the unit itself, ``second`` in one of its images.

    Attributes
    ----------
    first, second : (m,) ring indices
    image : (m, 2) the image of the unit the second ring belongs to
    """

    first: Ints
    second: Ints
    image: Ints

    def of(self, rows: Ints | Bools | slice) -> Pairs:
        """Some of the pairs, by index, mask or slice."""
        return Pairs(self.first[rows], self.second[rows], self.image[rows])


@dataclass(frozen=True, eq=False)
class Contacts:
    """Places where two rings come closest, one row per local minimum of the distance.

    Attributes
    ----------
    pairs : (k) the two rings of each place; a pair has as many rows as minima
    place : (k,) which of the pairs that were looked at these are
    gap : (k,) distance of the core circles less both wire radii; below zero the rings interfere
    point_first, point_second : (k, 3) the nearest points of the two core circles
    """

    pairs: Pairs
    place: Ints
    gap: Floats
    point_first: Floats
    point_second: Floats


def close_pairs(rings: Rings, reach: float, lattice: Lattice | None = None) -> Pairs:
    """Pairs of rings whose surfaces may be within ``reach`` of each other.

    With a ``lattice`` the rings are one unit of an endless weave, and pairs across
    to its images are found too, each once (a ring and its own image included).
    Time and memory grow with the number of rings and of pairs found, also where
    small and large rings are mixed.

    Parameters
    ----------
    rings : the rings
    reach : largest gap of interest, in the rings' unit of length
    lattice : how the unit repeats, or None for a finished piece

    Returns
    -------
    Pairs
        In a fixed order: by first ring, then image, then second ring.
    """
    n = len(rings.centres)
    bound = rings.core_radii + rings.wire_radii
    widest = 2 * float(bound.max(initial=0.0)) + reach
    images, tiled = _tiled(rings, widest, lattice)
    if n * len(tiled) <= _FEW:
        first, far = np.divmod(np.arange(n * len(tiled)), max(len(tiled), 1))
    else:
        first, far = _candidates(rings.centres, tiled, bound, reach)
    place, second = np.divmod(far, max(n, 1))
    x, y, z = (rings.centres[first] - tiled[far]).T
    near = np.sqrt(x * x + y * y + z * z) <= bound[first] + bound[second] + reach
    keep = near & ((place > 0) | (first < second))
    # One number for each pair, in the order wanted.
    key = np.sort((first[keep] * len(images) + place[keep]) * max(n, 1) + second[keep])
    key, second = np.divmod(key, max(n, 1))
    first, place = np.divmod(key, len(images))
    return Pairs(first, second, images[place])


def _candidates(centres: Floats, tiled: Floats, bound: Floats, reach: float) -> tuple[Ints, Ints]:
    """Indices into ``centres`` and ``tiled`` of all pairs that may be near, and some others.

    By k-d trees, one for rings of every size: with one for all, the largest ring
    would make every small one look far for its neighbours.
    """
    from scipy.spatial import cKDTree

    least = float(bound.max()) * _SMALLEST
    octave = np.floor(np.log2(np.maximum(bound, least)))
    octave_tiled = np.tile(octave, len(tiled) // len(centres))
    sizes = []
    for size in np.unique(octave):
        ours, theirs = np.flatnonzero(octave == size), np.flatnonzero(octave_tiled == size)
        trees = cKDTree(centres[ours]), cKDTree(tiled[theirs])
        sizes.append((float(bound[ours].max()), ours, theirs, trees))
    first, far = [], []
    for own, ours, _, (tree, _) in sizes:
        for other, _, theirs, (_, tree_tiled) in sizes:
            # A hair more, so that rounding in the tree loses none at the very limit.
            within = (own + other + reach) * (1.0 + 1e-9)
            near = tree.sparse_distance_matrix(tree_tiled, within, output_type="ndarray")
            first.append(ours[near["i"]])
            far.append(theirs[near["j"]])
    return np.concatenate(first), np.concatenate(far)


def _tiled(rings: Rings, widest: float, lattice: Lattice | None) -> tuple[Ints, Floats]:
    """The images that matter, the unit itself first, and all ring centres in them."""
    if lattice is None or len(rings.centres) == 0:
        return np.zeros((1, 2), np.intp), rings.centres
    middle = 0.5 * (rings.centres.min(axis=0) + rings.centres.max(axis=0))
    radius = float(lengths(rings.centres - middle).max())
    images = lattice.images_near(middle, radius, widest)
    turn, shift = lattice.motion(images)
    tiled = np.einsum("kij,nj->kni", turn, rings.centres) + shift[:, None]
    return images, tiled.reshape(-1, 3)


def contacts(
    rings: Rings, pairs: Pairs, lattice: Images | None = None, reach: float | Floats = np.inf
) -> Contacts:
    """Every place where the rings of the pairs come closest with a gap of at most ``reach``.

    Parameters
    ----------
    rings, lattice : as in :func:`close_pairs`
    pairs : the pairs to look at
    reach : places with a larger gap are left out; one for all pairs, or (m,)
    """
    one, two = _circles(rings, pairs, lattice)
    found = distance_minima(*one, *two)
    gap = (
        found.distance
        - (rings.wire_radii[pairs.first] + rings.wire_radii[pairs.second])[found.pair]
    )
    keep = gap <= (reach[found.pair] if isinstance(reach, np.ndarray) else reach)
    row = found.pair[keep]
    return Contacts(
        pairs.of(row),
        row,
        gap[keep],
        found.point_a[keep],
        found.point_b[keep],
    )


def linking(rings: Rings, pairs: Pairs, lattice: Images | None = None) -> Ints:
    """Signed linking number of each pair, (m,)."""
    one, two = _circles(rings, pairs, lattice)
    return linking_number(*one, *two)


def _circles(
    rings: Rings, pairs: Pairs, lattice: Images | None
) -> tuple[tuple[Floats, Floats, Floats], tuple[Floats, Floats, Floats]]:
    """Centres, normals and radii of the first and of the second circles of the pairs."""
    i, j = pairs.first, pairs.second
    centres, axes = carried(rings.centres[j], rings.axes[j], pairs.image, lattice)
    return (
        (rings.centres[i], rings.axes[i], rings.core_radii[i]),
        (centres, axes, rings.core_radii[j]),
    )


def carried(
    points: Floats, directions: Floats, images: Ints, lattice: Images | None
) -> tuple[Floats, Floats]:
    """Points and directions of the unit, each carried to an image; (m, 3) each."""
    if lattice is None:
        return points, directions
    turn, shift = lattice.motion(images)
    if lattice.kind.is_flat:
        return points + shift, directions
    return (
        np.einsum("mij,mj->mi", turn, points) + shift,
        np.einsum("mij,mj->mi", turn, directions),
    )


def in_images(rings: Rings, images: Ints, lattice: Images | None) -> Rings:
    """All rings of a unit in each of some images (k, 2), one image after the other."""
    every = np.tile(np.arange(len(rings.centres)), len(images))
    image = np.repeat(images, len(rings.centres), axis=0)
    centres, axes = carried(rings.centres[every], rings.axes[every], image, lattice)
    return Rings(centres, axes, rings.core_radii[every], rings.wire_radii[every])
