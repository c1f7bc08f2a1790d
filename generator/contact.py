"""Contact between torus rings: which pairs are close, by how much, and where they touch."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from generator.circles import distance_minima, linking_number

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


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
        return replace(self, wire_radii=wire_radii)


@dataclass(frozen=True, eq=False)
class Pairs:
    """Pairs of rings: ``first`` in the unit itself, ``second`` some repeats further on.

    Attributes
    ----------
    first, second : (m,) ring indices
    image : (m,) how many repeats further on the second ring lies, 0 or more
    """

    first: Ints
    second: Ints
    image: Ints


@dataclass(frozen=True, eq=False)
class Contacts:
    """Places where two rings come closest, one row per local minimum of the distance.

    Attributes
    ----------
    pairs : (k) the two rings of each place; a pair has as many rows as minima
    gap : (k,) distance of the core circles less both wire radii; below zero the rings interfere
    point_first, point_second : (k, 3) the nearest points of the two core circles
    """

    pairs: Pairs
    gap: Floats
    point_first: Floats
    point_second: Floats


def close_pairs(rings: Rings, reach: float, repeat: float | None = None) -> Pairs:
    """Pairs of rings whose surfaces may be within ``reach`` of each other.

    With a ``repeat`` the rings are one unit of a chain that goes on along x,
    and pairs across to later repeats are found too, each once (a ring and its
    own next image included). A k-d tree over the centres keeps this near
    linear in the number of rings.

    Parameters
    ----------
    rings : the rings
    reach : largest gap of interest, in the rings' unit of length
    repeat : length of the chain's repeat, or None for a finished piece

    Returns
    -------
    Pairs
        In a fixed order: by first ring, then image, then second ring.
    """
    from scipy.spatial import cKDTree

    n = len(rings.centres)
    bound = rings.core_radii + rings.wire_radii
    widest = 2 * float(bound.max(initial=0.0)) + reach
    images = 0 if repeat is None else _images_within(rings, widest, repeat)
    shift = np.zeros((images + 1, 1, 3))
    shift[:, 0, 0] = np.arange(images + 1) * (repeat or 0.0)
    tiled = (rings.centres + shift).reshape(-1, 3)
    near = cKDTree(rings.centres).sparse_distance_matrix(
        cKDTree(tiled), widest, output_type="ndarray"
    )
    first, far, apart = near["i"].astype(np.intp), near["j"].astype(np.intp), near["v"]
    image, second = np.divmod(far, n) if n else (far, far)
    keep = ((image > 0) | (first < second)) & (apart <= bound[first] + bound[second] + reach)
    first, second, image = first[keep], second[keep], image[keep]
    order = np.lexsort((second, image, first))
    return Pairs(first[order], second[order], image[order])


def _images_within(rings: Rings, widest: float, repeat: float) -> int:
    """How many repeats on a ring can still be within ``widest`` of one of the unit's rings."""
    along = rings.centres[:, 0]
    return int(np.ceil((widest + np.ptp(along)) / repeat))


def contacts(
    rings: Rings, pairs: Pairs, repeat: float | None = None, reach: float = np.inf
) -> Contacts:
    """Every place where the rings of the pairs come closest with a gap of at most ``reach``.

    Parameters
    ----------
    rings, repeat : as in :func:`close_pairs`
    pairs : the pairs to look at
    reach : places with a larger gap are left out
    """
    one, two = _circles(rings, pairs, repeat)
    found = distance_minima(*one, *two)
    gap = (
        found.distance
        - (rings.wire_radii[pairs.first] + rings.wire_radii[pairs.second])[found.pair]
    )
    keep = gap <= reach
    row = found.pair[keep]
    return Contacts(
        Pairs(pairs.first[row], pairs.second[row], pairs.image[row]),
        gap[keep],
        found.point_a[keep],
        found.point_b[keep],
    )


def linking(rings: Rings, pairs: Pairs, repeat: float | None = None) -> Ints:
    """Signed linking number of each pair, (m,)."""
    one, two = _circles(rings, pairs, repeat)
    return linking_number(*one, *two)


def _circles(
    rings: Rings, pairs: Pairs, repeat: float | None
) -> tuple[tuple[Floats, Floats, Floats], tuple[Floats, Floats, Floats]]:
    """Centres, normals and radii of the first and of the second circles of the pairs."""
    shift = np.zeros((len(pairs.first), 3))
    shift[:, 0] = pairs.image * (repeat or 0.0)
    i, j = pairs.first, pairs.second
    return (
        (rings.centres[i], rings.axes[i], rings.core_radii[i]),
        (rings.centres[j] + shift, rings.axes[j], rings.core_radii[j]),
    )
