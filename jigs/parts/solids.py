"""Plain solids that several jigs are made of, given by where they are."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq

Point = tuple[float, float, float]
Range = tuple[float, float]


def block(x: Range, y: Range, z: Range) -> cq.Solid:
    """A box from corner to corner."""
    import cadquery as cq

    size = (x[1] - x[0], y[1] - y[0], z[1] - z[0])
    return cq.Solid.makeBox(*size, cq.Vector(x[0], y[0], z[0]))


def rod(start: Point, along: Point, diameter_mm: float, length_mm: float) -> cq.Solid:
    """A cylinder from the middle of one end."""
    import cadquery as cq

    return cq.Solid.makeCylinder(diameter_mm / 2.0, length_mm, cq.Vector(*start), cq.Vector(*along))


def teardrop(
    start: Point, along: Point, up: Point, diameter_mm: float, length_mm: float
) -> cq.Solid:
    """A bore that lies when printed: round, with a roof of 45 degrees towards ``up``."""
    import cadquery as cq

    radius, edge = diameter_mm / 2.0, diameter_mm / 2.0 / math.sqrt(2.0)
    # The plane's own y is up: its x is up crossed with the direction.
    across = cq.Vector(*up).cross(cq.Vector(*along))
    plane = cq.Plane(cq.Vector(*start), across, cq.Vector(*along))
    made = (
        cq.Workplane(plane)
        .moveTo(-edge, edge)
        .threePointArc((0.0, -radius), (edge, edge))
        .lineTo(0.0, radius * math.sqrt(2.0))
        .close()
        .extrude(length_mm)
    )
    return made.val()


def hexagon(start: Point, along: Point, flat: Point, flats_mm: float, deep_mm: float) -> cq.Solid:
    """A six-sided pocket with a flat side towards ``flat``."""
    import cadquery as cq

    # A polygon's first corner is on the plane's x axis, a flat's middle on its y axis.
    corner = cq.Vector(*flat).cross(cq.Vector(*along))
    plane = cq.Plane(cq.Vector(*start), corner, cq.Vector(*along))
    made = cq.Workplane(plane).polygon(6, flats_mm / math.cos(math.pi / 6.0)).extrude(deep_mm)
    return made.val()


def facing(at: Point, up: Point, x: Point) -> cq.Location:
    """The place whose z axis points along ``up`` and whose x axis along ``x``."""
    import cadquery as cq

    return cq.Location(cq.Plane(cq.Vector(*at), cq.Vector(*x), cq.Vector(*up)))
