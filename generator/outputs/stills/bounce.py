"""What rings hide from one another: the part of the studio that each point mirrors, or does not.

A drawing library without rays lets every point mirror the whole studio. So from every point the
mirrored ray is followed here past the other rings: how near it comes to them, seen from the
point, says how much of the blurred mirror image they fill.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.outputs.stills.form import Form
from ringwright.piece.mesh import Mesh
from ringwright.piece.piece import Piece

_STEPS = 14
# Rings farther off than so many times a ring's own size are not followed.
_FAR = 1.6
# A point mirrors its own ring only from this far on, in wire radii.
_OWN_FROM = 2.5
# How bright the other rings are that it mirrors, where the studio is 1.
_RINGS_SHINE = 0.42
# And what it is worn on.
_FORM_SHINES = 0.34
# How much of the light things take from a surface: all together, and those of each layer above
# it, whose upper edges are so many core radii up.
_DARKEST = 0.86
_LAYERS = (0.35, 0.8, 1.5, 2.4, 3.6, 5.5, 8.0, 12.0, np.inf)
_TAKES = (0.62, 0.52, 0.42, 0.32, 0.24, 0.18, 0.13, 0.10, 0.10)


@dataclass(frozen=True, eq=False)
class Shade:
    """How dark a surface is, 0 to 1: (rows along y, columns along x) between two corners."""

    dark: Floats
    low: Floats
    high: Floats

    def at(self, points: Floats) -> Floats:
        """The shade at points, (n, 2); none outside."""
        from scipy.ndimage import map_coordinates

        rows, columns = self.dark.shape
        place = (points - self.low) / (self.high - self.low)
        cells = np.stack([place[:, 1] * rows - 0.5, place[:, 0] * columns - 0.5])
        return np.asarray(map_coordinates(self.dark, cells, order=1, mode="constant"))


def mirrored_share(
    piece: Piece,
    ring: int,
    surface: Mesh,
    camera_mm: Floats,
    roughness: float,
    ground: tuple[Shade, float] | None,
    form: Form | None,
) -> tuple[Floats, Floats]:
    """How much light a ring's points mirror from the studio, and how much from other rings.

    Parameters
    ----------
    surface : points of the ring and their normals
    camera_mm : (3,)
    roughness : of the surface: the rougher, the wider the mirrored cone
    ground : its shade and its height, if there is one
    form : that the piece is worn on, if it is

    Returns
    -------
    studio, rings : (n,) shares; what is missing to 1 is in the dark
    """
    toward = camera_mm - surface.vertices
    toward /= np.linalg.norm(toward, axis=1, keepdims=True)
    facing = np.einsum("ni,ni->n", surface.normals, toward)
    # What is turned away is never seen; a little of it is, from other places of the lens.
    front = np.flatnonzero(facing > -0.25)
    shares = np.ones((2, len(facing)))
    ray = 2.0 * facing[front, None] * surface.normals[front] - toward[front]
    shares[:, front] = _shares(piece, ring, surface.vertices[front], ray, roughness, ground, form)
    return shares[0], shares[1]


def _shares(
    piece: Piece,
    ring: int,
    points: Floats,
    ray: Floats,
    roughness: float,
    ground: tuple[Shade, float] | None,
    form: Form | None,
) -> tuple[Floats, Floats]:
    """The same from points and the rays mirrored there."""
    cone = 0.10 + 0.75 * roughness
    studio = _open(_clearance(piece, ring, points, ray), cone)
    rings = _RINGS_SHINE * (1.0 - studio)
    if ground is not None:
        studio = studio * _ground_light(points, ray, *ground)
    if form is not None:
        past = _open(_clearance_of_form(form, points, ray), cone)
        studio = studio * (past + (1.0 - past) * _FORM_SHINES)
    return studio, rings


def _open(clear: Floats, cone: float) -> Floats:
    """The share of a cone that is open, from the angle by which its middle clears a thing."""
    share = np.clip(0.5 + clear / cone, 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def _clearance_of_form(form: Form, points: Floats, ray: Floats) -> Floats:
    """The least angle between a ray and a form; negative inside it."""
    least = np.full(len(points), 1.0)
    for travelled in np.geomspace(0.02, 1.6, 14) * form.size_mm:
        least = np.minimum(least, form.outside(points + travelled * ray) / travelled)
    return least


def _clearance(piece: Piece, ring: int, points: Floats, ray: Floats) -> Floats:
    """The least angle between a ray and any other ring; negative inside one."""
    wire = float(piece.wire_radii_mm[ring])
    reach = piece.core_radii_mm + piece.wire_radii_mm
    apart = np.linalg.norm(piece.centres_mm - piece.centres_mm[ring], axis=1)
    far = _FAR * float(reach[ring])
    others = np.flatnonzero(apart < reach + reach[ring] + far)
    own = others == ring
    # About the ring's own centre, so that squares of places keep their digits.
    points = points - piece.centres_mm[ring]
    travelled = np.full(len(points), 0.12 * wire)
    least = np.full(len(points), 1.0)
    for _ in range(_STEPS):
        gaps = _gaps(piece, others, piece.centres_mm[ring], points + travelled[:, None] * ray)
        gaps[:, own] = np.where(travelled > _OWN_FROM * wire, gaps[:, own].T, far).T
        nearest = np.minimum(gaps.min(axis=1), far)
        least = np.minimum(least, nearest / travelled)
        travelled += np.clip(nearest, 0.12 * wire, 4.0 * wire)
    return np.asarray(least)


def _gaps(piece: Piece, rings: Ints, origin: Floats, points: Floats) -> Floats:
    """How far points, (n, 3) from an origin, are from the surfaces of rings, (n, k)."""
    centres, axes = piece.centres_mm[rings] - origin, piece.axes[rings]
    height = points @ axes.T - np.einsum("ki,ki->k", centres, axes)
    square = (points**2).sum(axis=1)[:, None] - 2.0 * points @ centres.T
    square += (centres**2).sum(axis=1) - height**2
    off_axis = np.sqrt(np.maximum(square, 0.0)) - piece.core_radii_mm[rings]
    return np.asarray(np.hypot(off_axis, height) - piece.wire_radii_mm[rings])


def _ground_light(points: Floats, ray: Floats, shade: Shade, height_mm: float) -> Floats:
    """What the ground's shade leaves of a ray that goes down."""
    down = np.maximum(-ray[:, 2], 1e-3)
    away = np.minimum((points[:, 2] - height_mm) / down, 1e3)
    hits = np.clip(-ray[:, 2] / 0.15, 0.0, 1.0)
    met = points[:, :2] + away[:, None] * ray[:, :2]
    return np.asarray(1.0 - hits * shade.at(met))


def ground_shade(
    points: Floats, core_mm: float, margin_mm: float, cell_mm: float, light: tuple[float, float]
) -> Shade:
    """The soft shadow of things on a surface: dark where they touch it, wide and faint from above.

    Parameters
    ----------
    points : (n, 3) of the things, so close that they leave no hole, in the surface's own frame:
        two ways along it, and the height above it
    core_mm : about the size of things
    margin_mm : how far the shade is followed beyond them
    cell_mm : how fine
    light : how far a shadow is shifted for every millimetre of height
    """
    from scipy.ndimage import gaussian_filter

    low, high = points.min(axis=0)[:2] - margin_mm, points.max(axis=0)[:2] + margin_mm
    columns, rows = np.ceil((high - low) / cell_mm).astype(int)
    high = low + cell_mm * np.array([columns, rows])
    above = points[:, 2]
    left = np.ones((rows, columns))
    for (bottom, top), takes in zip(pairwise((-np.inf, *_LAYERS)), _TAKES, strict=True):
        layer = (above >= bottom * core_mm) & (above < top * core_mm)
        if not layer.any():
            continue
        mean = float(above[layer].mean())
        # The key light is large: what it leaves dark is shifted a little and soon soft.
        fallen = points[layer, :2] + mean * np.array(light)
        grid, _, _ = np.histogram2d(
            fallen[:, 1],
            fallen[:, 0],
            bins=(rows, columns),
            range=((low[1], high[1]), (low[0], high[0])),
        )
        # Below a cell or so the cells themselves would be seen.
        soft = max(1.3, (0.07 * core_mm + 0.42 * mean) / cell_mm)
        blur = gaussian_filter((grid > 0).astype(float), soft)
        left *= 1.0 - takes * blur
    return Shade(_DARKEST * (1.0 - left) * _fading(rows, columns), low, high)


def _fading(rows: int, columns: int) -> Floats:
    """1 in the middle and 0 at the edges, so that no edge of a shadow is seen."""
    sides = [
        np.clip(6.0 * np.minimum(at, 1.0 - at), 0.0, 1.0)
        for at in (np.linspace(0.0, 1.0, rows), np.linspace(0.0, 1.0, columns))
    ]
    down, across = (side * side * (3.0 - 2.0 * side) for side in sides)
    return np.asarray(down[:, None] * across)


def close_points(piece: Piece, cell_mm: float) -> Floats:
    """Points of all rings, no farther apart than cells of that size, (n, 3)."""
    from ringwright.piece.mesh import piece_mesh

    return piece_mesh(piece, cell_mm**2 / (10.0 * float(piece.core_radii_mm.max()))).vertices
