"""Bought screws and nuts: sizes by their ISO standards.

Of each thread: the clearance hole (ISO 273, medium), the nut's largest width across flats and
height (ISO 4032, style 1), and the largest diameter (knurled) and height of the head, and the
key, of a hexagon socket head cap screw (ISO 4762). From memory, and compared with the tables
of these standards that the open-source project cq_warehouse carries.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import cadquery as cq


@dataclass(frozen=True)
class Thread:
    """A metric coarse thread and what belongs to it, in millimetres."""

    name: str
    diameter_mm: float
    hole_mm: float
    flats_mm: float
    nut_mm: float
    head_mm: float
    head_height_mm: float
    key_mm: float

    @property
    def corners_mm(self) -> float:
        """Width of the nut across its corners, sharp."""
        return self.flats_mm / math.cos(math.pi / 6.0)


THREADS = {
    thread.name: thread
    for thread in (
        Thread("M3", 3.0, 3.4, 5.5, 2.4, 5.68, 3.0, 2.5),
        Thread("M4", 4.0, 4.5, 7.0, 3.2, 7.22, 4.0, 3.0),
        Thread("M5", 5.0, 5.5, 8.0, 4.7, 8.72, 5.0, 4.0),
        Thread("M6", 6.0, 6.6, 10.0, 5.2, 10.22, 6.0, 5.0),
        Thread("M8", 8.0, 9.0, 13.0, 6.8, 13.27, 8.0, 6.0),
    )
}


def screw(thread: Thread, length_mm: float) -> cq.Solid:
    """A cap screw: its shank from the origin along -z, its head above; without the thread."""
    import cadquery as cq

    down = cq.Vector(0, 0, -1)
    shank = cq.Solid.makeCylinder(thread.diameter_mm / 2.0, length_mm, dir=down)
    head = cq.Solid.makeCylinder(thread.head_mm / 2.0, thread.head_height_mm)
    key = (
        cq.Workplane("XY", origin=(0, 0, thread.head_height_mm))
        .polygon(6, thread.key_mm / math.cos(math.pi / 6.0))
        .extrude(-thread.head_height_mm / 2.0)
    )
    return shank.fuse(head).cut(key.val()).Solids()[0]


def nut(thread: Thread) -> cq.Solid:
    """A hexagon nut on the plane z = 0, two flats square to y; the hole is the thread's size."""
    import cadquery as cq

    made = (
        cq.Workplane("XY")
        .polygon(6, thread.corners_mm)
        .extrude(thread.nut_mm)
        .cut(cq.Workplane("XY").circle(thread.diameter_mm / 2.0).extrude(thread.nut_mm))
    )
    return made.val().Solids()[0]
