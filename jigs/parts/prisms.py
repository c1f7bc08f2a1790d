"""Bodies with flat faces between two levels, which the kernel handles quickly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq

Outline = Sequence[tuple[float, float]]


def rounded(wide_mm: float, deep_mm: float, cut_mm: float) -> Outline:
    """A rectangle about the origin, its corners cut off at 45 degrees; counter-clockwise."""
    x, y = wide_mm / 2.0, deep_mm / 2.0
    return (
        *((x, -y + cut_mm), (x, y - cut_mm), (x - cut_mm, y), (-x + cut_mm, y)),
        *((-x, y - cut_mm), (-x, -y + cut_mm), (-x + cut_mm, -y), (x - cut_mm, -y)),
    )


def prism(outline: Outline, low_mm: float, high_mm: float) -> cq.Solid:
    """An outline from one level up to another."""
    return frustum(outline, low_mm, outline, high_mm)


def frustum(low: Outline, low_mm: float, high: Outline, high_mm: float) -> cq.Solid:
    """The body between two outlines, counter-clockwise and with parallel sides, at two levels."""
    import cadquery as cq

    bottom = [cq.Vector(x, y, low_mm) for x, y in low]
    top = [cq.Vector(x, y, high_mm) for x, y in high]
    rings = [bottom[::-1], top]
    for index in range(len(bottom)):
        after = (index + 1) % len(bottom)
        rings.append([bottom[index], bottom[after], top[after], top[index]])
    faces = [cq.Face.makeFromWires(cq.Wire.makePolygon(ring, close=True)) for ring in rings]
    return cq.Solid.makeSolid(cq.Shell.makeShell(faces))
