"""What each still shows and from where: cameras that hold all of a piece, or a few repeats."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Bools, Floats
from ringwright.geometry.circles import plane_basis
from ringwright.outputs.stills.form import Arm, Bust, Form
from ringwright.piece.piece import Piece

WHOLE, CLOSE, WORN = "whole", "close", "worn"

# A picture is at most so much wider than high, and at least.
_WIDEST, _NARROWEST = 3.2, 1.25
_MARGIN = 0.07
_MOST_BLUR = 0.013
_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class Camera:
    """Where a picture is taken from; lengths in millimetres.

    Attributes
    ----------
    stands, looks_at : (3,) the lens, and the middle of the picture
    opening : angle from the lower to the upper edge, radians
    shape : width over height
    lens : radius of the lens; 0 for a picture that is sharp all over
    nearer : by how much what is in focus is nearer than ``looks_at``
    """

    stands: Floats
    looks_at: Floats
    opening: float
    shape: float
    lens: float = 0.0
    nearer: float = 0.0

    @property
    def focus(self) -> float:
        """Distance of what is in focus."""
        return float(np.linalg.norm(self.stands - self.looks_at)) - self.nearer

    @property
    def sides(self) -> tuple[Floats, Floats, Floats]:
        """Unit vectors to the right and up in the picture, and from there to the lens."""
        back = self.stands - self.looks_at
        back = back / np.linalg.norm(back)
        right = np.cross(_UP, back)
        right = right / np.linalg.norm(right)
        return right, np.cross(back, right), back

    def finest_mm(self, point: Floats, height: int) -> float:
        """What can be told apart at a point: a pixel, or a part of how far it is blurred."""
        depth = float((self.stands - point) @ self.sides[2])
        pixel = 2.0 * depth * float(np.tan(self.opening / 2.0)) / height
        return max(pixel, 0.12 * self.lens * abs(depth / self.focus - 1.0))


def toward(azimuth_deg: float, elevation_deg: float) -> Floats:
    """The direction of a camera: degrees from x towards y, and above the table."""
    around, up = np.radians([azimuth_deg, elevation_deg])
    return np.array([np.cos(up) * np.cos(around), np.cos(up) * np.sin(around), np.sin(up)])


def holding(
    points: Floats, direction: Floats, opening_deg: float, narrowest: float = _NARROWEST
) -> Camera:
    """A camera that just holds all points, its picture of the shape that they ask for.

    Parameters
    ----------
    points : (n, 3)
    direction : (3,) from the points to the camera, not straight up
    opening_deg : of the longer side of the picture
    narrowest : so many times as wide as high it is at least
    """
    half = np.tan(np.radians(opening_deg) / 2.0)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    distance = float(np.ptp(points, axis=0).max()) / half
    shape = 1.0
    for _ in range(20):
        camera = Camera(middle + distance * direction, middle, 1.0, shape)
        right, up, back = camera.sides
        offset = points - camera.stands
        depth = -(offset @ back)
        seen = np.stack([offset @ right / depth, offset @ up / depth], axis=1)
        low, high = seen.min(axis=0), seen.max(axis=0)
        span = (high - low) / (1.0 - 2.0 * _MARGIN)
        shape = float(np.clip(span[0] / span[1], narrowest, _WIDEST))
        shift = distance * (low + high) / 2.0
        middle = middle + shift[0] * right + shift[1] * up
        distance *= max(float(span[0]) / (2.0 * half), float(span[1]) * shape / (2.0 * half))
    opening = 2.0 * np.arctan(half / shape)
    return Camera(middle + distance * direction, middle, float(opening), shape)


def outline_points(piece: Piece, around: int = 24) -> Floats:
    """Points about as far out as the rings of a piece reach, (n, 3)."""
    u, v = plane_basis(piece.axes)
    angle = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    spokes = np.cos(angle)[:, None, None] * u + np.sin(angle)[:, None, None] * v
    reach = (piece.core_radii_mm + piece.wire_radii_mm)[:, None]
    return np.asarray(piece.centres_mm + reach * spokes).reshape(-1, 3)


def whole_camera(piece: Piece) -> Camera:
    """All of a piece as it lies on the table, seen from above and a little from the side."""
    return holding(outline_points(piece), toward(-72.0, 52.0), 24.0)


def hung_camera(piece: Piece) -> Camera:
    """All of a piece that hangs upright, seen from in front."""
    return holding(outline_points(piece), toward(-75.0, 4.0), 24.0, 1.0 / _WIDEST)


def hung_close_camera(piece: Piece) -> Camera:
    """A few repeats from the middle of a piece that hangs upright, sharp all over."""
    core_mm = float(piece.core_radii_mm.max())
    points = outline_points(piece)
    wide_mm, _, high_mm = np.ptp(points, axis=0).tolist()
    sees_mm = min(max(11.0 * core_mm, 0.8 * wide_mm), 1.15 * high_mm)
    opening = np.radians(15.0)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    distance = sees_mm / (2.0 * np.tan(opening / 2.0))
    return Camera(middle + distance * toward(-65.0, 8.0), middle, float(opening), 1.5)


def close_camera(piece: Piece) -> Camera:
    """A few repeats from the middle of a piece, low over the table, blurred before and behind."""
    core_mm = float(piece.core_radii_mm.max())
    middle = piece.centres_mm.mean(axis=0)
    reach = piece.core_radii_mm + piece.wire_radii_mm
    across_mm = 2.0 * float((np.abs(piece.centres_mm[:, 1] - middle[1]) + reach).max())
    length_mm = 2.0 * float((np.abs(piece.centres_mm[:, 0] - middle[0]) + reach).max())
    # All across, or a part of what is too wide for its rings to be seen well.
    high_mm = 1.35 * across_mm if across_mm < 14.0 * core_mm else 11.0 * core_mm
    sees_mm = min(max(9.0 * core_mm, high_mm), 1.15 * length_mm)
    opening = np.radians(15.0)
    distance = sees_mm / (2.0 * np.tan(opening / 2.0))
    direction = toward(-52.0, 36.0)
    # The upper side is what one sees, so that is in focus.
    top = float((piece.centres_mm[:, 2] + piece.wire_radii_mm).max())
    looks_at = np.array([middle[0], middle[1], 0.5 * (middle[2] + top)])
    camera = Camera(looks_at + distance * direction, looks_at, float(opening), 1.5)
    offset = piece.centres_mm[in_sight(piece, camera)] - camera.stands
    deep = float(np.abs(-(offset @ direction) / distance - 1.0).max())
    # What is farthest out of focus is blurred over so much of the picture's width.
    lens = min(0.022 * distance, _MOST_BLUR * camera.shape * sees_mm / (2.0 * deep))
    return replace(camera, lens=lens)


def worn_camera(piece: Piece, form: Form | None, level: bool) -> Camera:
    """A worn piece from in front and above, with as much of the form as one needs to see.

    Parameters
    ----------
    form : what it is shown on; None for the piece alone
    level : whether it is on an arm that is level
    """
    points = outline_points(piece)
    seen = points if form is None else np.concatenate([points, _corners(form)])
    if level:
        camera = holding(seen, toward(-48.0, 26.0), 24.0, 1.0)
    elif isinstance(form, Bust):
        camera = holding(seen, toward(-100.0, 20.0), 24.0, 1.0)
    elif form is None:
        camera = holding(seen, toward(-104.0, 40.0), 22.0)
    else:
        camera = holding(seen, toward(-108.0, 24.0), 24.0)
    # The middle of the chain in front is in focus; what is behind runs out of it a little.
    distance = float(np.linalg.norm(camera.stands - camera.looks_at))
    _, _, back = camera.sides
    nearest = float(((points - camera.looks_at) @ back).max())
    return replace(camera, lens=0.007 * distance, nearer=0.9 * nearest)


def _corners(form: Form) -> Floats:
    """Points about a form that a picture holds."""
    if isinstance(form, Bust):
        top = form.top_mm + 0.6 * form.radius_mm
        out = form.radius_mm - np.tan(form.slope) * form.bottom_mm
        return np.array(
            [[x, 0.0, top] for x in (-0.6 * form.radius_mm, 0.6 * form.radius_mm)]
            + [[x, -0.3 * out, form.bottom_mm] for x in (-0.8 * out, 0.8 * out)]
        )
    assert isinstance(form, Arm)
    long, short = form.oval.half_axes
    if form.level:
        return np.array([[x, -form.to_mm, z] for x in (-long, long) for z in (-short, short)])
    return np.array(
        [
            [x, y, z]
            for x in (-long, long)
            for y in (-0.7 * short, 0.7 * short)
            for z in (form.from_mm, form.to_mm)
        ]
    )


def in_sight(piece: Piece, camera: Camera) -> Bools:
    """Which rings of a piece a camera may see, and those close by, which they mirror."""
    right, up, back = camera.sides
    offset = piece.centres_mm - camera.stands
    depth = np.maximum(-(offset @ back), 1e-9)
    half = np.tan(camera.opening / 2.0)
    blur = 2.0 * camera.lens * np.abs(depth / camera.focus - 1.0)
    reach = 2.5 * (piece.core_radii_mm + piece.wire_radii_mm) + blur
    across = np.abs(offset @ right) < depth * half * camera.shape + reach
    along = np.abs(offset @ up) < depth * half + reach
    return np.asarray(across & along)
