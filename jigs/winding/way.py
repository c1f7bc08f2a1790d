"""From the way a winder is designed to the way it is used, and what its groups of parts bring."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.jigs.parts.jig import Bought, Mating, Part, Placed
from ringwright.jigs.parts.solids import Point, facing
from ringwright.jigs.winding.size import WindingGuide

if TYPE_CHECKING:
    import cadquery as cq


@dataclass(frozen=True)
class Fitted:
    """What one group brings to a jig: parts, bought items, their places, and the gaps between."""

    parts: tuple[Part, ...] = ()
    bought: tuple[Bought, ...] = ()
    placed: tuple[Placed, ...] = ()
    mating: tuple[Mating, ...] = ()

    def __add__(self, other: Fitted) -> Fitted:
        """Both groups, this one's first."""
        return Fitted(
            self.parts + other.parts,
            self.bought + other.bought,
            self.placed + other.placed,
            self.mating + other.mating,
        )


@dataclass(frozen=True)
class Way:
    """From the way it is designed to the way it is used: mirror images in x and in y."""

    x: float
    y: float

    def shape(self, shape: cq.Shape) -> cq.Shape:
        """A solid as it is used."""
        if self.x < 0.0:
            shape = shape.mirror("YZ")
        return shape.mirror("XZ") if self.y < 0.0 else shape

    def point(self, point: Point) -> Point:
        """A point as it is used."""
        return (self.x * point[0], self.y * point[1], point[2])

    def place(self, at: Point, up: Point, x: Point) -> cq.Location:
        """Where a screw or nut goes; both are their own mirror images."""
        return facing(self.point(at), self.point(up), self.point(x))

    def along(self, x_mm: float) -> cq.Location:
        """A place so far along the mandrel."""
        import cadquery as cq

        return cq.Location(cq.Vector(self.x * x_mm, 0, 0))

    def towards_lower_x(self) -> tuple[tuple[str, float], ...]:
        """Lie on the bed with the side that is designed at lower x upwards."""
        return (("y", 90.0 * self.x),)

    def towards_higher_x(self) -> tuple[tuple[str, float], ...]:
        """Lie on the bed with the side that is designed at higher x upwards."""
        return (("y", -90.0 * self.x),)


def way_of(size: WindingGuide) -> Way:
    """As designed the crank is on the left and the coil left-handed; each mirror changes that."""
    x = -1.0 if size.crank == "right" else 1.0
    designed = "left" if x > 0.0 else "right"
    return Way(x, 1.0 if size.hand == designed else -1.0)
