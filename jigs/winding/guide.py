"""The guide on its mandrel, with the coil and the drag on the wire."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from ringwright.jigs.parts.hardware import THREADS
from ringwright.jigs.parts.jig import ORANGE, VERMILLION, Bought, Label, Mating, Part, Placed
from ringwright.jigs.parts.solids import Point, Range, block, facing, rod, teardrop
from ringwright.jigs.winding.size import RAIL_MM, WALL_MM, WindingGuide
from ringwright.jigs.winding.way import Fitted, Way

if TYPE_CHECKING:
    import cadquery as cq


_FELT_MM = 3.0
_BEVEL_MM = 3.0
DRAWN_TURNS = 14
# The coil is drawn so far off the mandrel, for the kernel's sake.
_OFF_MM = 0.01


def guide_solid(size: WindingGuide) -> cq.Shape:
    """The guide; the shoulder that the newest turn pushes against is at x = 0."""
    rear, front = -size.coil_room_mm, size.front_mm
    bore, clear = size.coil_bore_mm / 2.0, size.clearance_mm
    nose = size.roof_at_mm + 20.0
    back = bore + WALL_MM
    channel_z = -(size.mandrel_mm + size.wire_mm) / 2.0
    nut_z = channel_z + size.channel_mm / 2.0 + _FELT_MM + 2.0
    m4 = THREADS["M4"]
    nose_top = nut_z + m4.nut_mm + 0.4 + 2.4
    top = max(back, nose_top)
    made: Any = block((rear, front), (-nose, back), (-size.bottom_mm, top))
    if size.crank == "none":
        # The handle is a grip, not as wide as the guide, without sharp edges.
        below = -(bore + 18.0)
        made = made.cut(block((rear, front), (-nose, back), (-size.bottom_mm - 1.0, below)))
        made = made.fuse(_handle(size, (rear, front), (-13.0, back), below)).clean()
    up = (-1.0, 0.0, 0.0)
    x_mm, start = _channel(size, nose + 1.0)
    along = _along(size)
    drag_y = -(size.roof_at_mm + 10.0)
    drag_x = x_mm(drag_y)
    tools = [
        rod((rear - 1.0, 0, 0), (1, 0, 0), size.coil_bore_mm, size.coil_room_mm + 1.0),
        rod((-0.5, 0, 0), (1, 0, 0), size.mandrel_bore_mm, front + 1.0),
        teardrop(start, along, up, size.channel_mm, (nose + 1.0) / along[1]),
        # The window: from above, and down to the wire on the side it comes from.
        block((rear - 1.0, 0.0), (-size.roof_at_mm, 0.35 * bore), (channel_z, top + 1.0)),
        block((rear - 1.0, front + 1.0), (-nose - 1.0, -size.roof_at_mm), (nose_top, top + 1.0)),
        # Drag: a pocket for felt on the wire, a screw on the felt, a slot for its nut.
        block(
            (rear - 1.0, drag_x + size.channel_mm / 2.0 + 1.0),
            (drag_y - 5.0, drag_y + 5.0),
            (channel_z, channel_z + size.channel_mm / 2.0 + _FELT_MM),
        ),
        teardrop((drag_x, drag_y, channel_z), (0, 0, 1), up, m4.hole_mm, top - channel_z + 1.0),
        block(
            (rear - 1.0, drag_x + m4.corners_mm / 2.0 + 0.3),
            (drag_y - m4.flats_mm / 2.0 - 0.15, drag_y + m4.flats_mm / 2.0 + 0.15),
            (nut_z, nut_z + m4.nut_mm + 0.4),
        ),
    ]
    if size.crank != "none":
        rail = RAIL_MM + 2.0 * clear
        at = (rear - 1.0, 0.0, -size.rail_below_mm)
        tools.append(rod(at, (1, 0, 0), rail, front - rear + 2.0))
    return made.cut(*tools)


def _handle(size: WindingGuide, x: Range, y: Range, top_mm: float) -> cq.Solid:
    """A grip for a hand below the guide: its long edges bevelled, and those of its end."""
    import cadquery as cq

    made = cq.Workplane(obj=block(x, y, (-size.bottom_mm, top_mm)))
    return made.edges("|Z").chamfer(_BEVEL_MM).faces("<Z").chamfer(0.6 * _BEVEL_MM).val()


def _along(size: WindingGuide) -> Point:
    """The wire's direction where it comes in: back, and towards the coil by the lead angle."""
    lead = math.radians(size.lead_deg)
    return (-math.sin(lead), math.cos(lead), 0.0)


def _channel(size: WindingGuide, long_mm: float) -> tuple[Any, Point]:
    """The x of the channel's middle by y, and its outer end so far in front of the axis."""
    slope = math.tan(math.radians(size.lead_deg))
    # The newest turn runs clear of the shoulder.
    first = -size.wire_mm / 2.0 - 1.25 * size.clearance_mm

    def x_mm(y_mm: float) -> float:
        return first - y_mm * slope

    return x_mm, (x_mm(-long_mm), -long_mm, -(size.mandrel_mm + size.wire_mm) / 2.0)


def coil_solid(size: WindingGuide, turns: int) -> cq.Shape:
    """The wire: so many turns as rings side by side, the newest at the shoulder, and the way in."""
    import cadquery as cq

    radius, wire = (size.mandrel_mm + size.wire_mm) / 2.0 + _OFF_MM, size.wire_mm
    x_mm, _ = _channel(size, 0.0)
    rings = [
        cq.Solid.makeTorus(
            radius,
            wire / 2.0,
            cq.Vector(x_mm(0.0) - turn * wire * 1.0001, 0, 0),
            cq.Vector(1, 0, 0),
        )
        for turn in range(turns)
    ]
    long = size.roof_at_mm + 20.0 + 25.0
    along = _along(size)
    start = (x_mm(-long), -long, -radius)
    return cq.Compound.makeCompound([*rings, rod(start, along, wire, long / along[1])])


def guide_on_mandrel(size: WindingGuide, way: Way, x: Mapping[str, float]) -> Fitted:
    """The guide with its mandrel and wire; ``x`` tells where things begin."""
    guide = Part(
        "guide",
        way.shape(guide_solid(size)),
        ORANGE,
        _guide_labels(size, way),
        way.towards_lower_x(),
        note="four walls and half infill; run a drill through its bores",
    )
    turns = int((x["guide"] - x["coil"]) / size.wire_mm)
    wire = Bought(
        f"wire {size.wire_mm:.3g} mm",
        "",
        1,
        way.shape(coil_solid(size, turns)),
        VERMILLION,
        note="drawn as a part of a coil",
    )
    rod_mm = size.rod_mm if size.crank != "none" else size.coil_mm + 80.0
    mandrel = Bought(
        f"round steel rod {size.mandrel_mm:.3g} x {math.ceil(rod_mm)} mm",
        "ISO 286 h9",
        1,
        way.shape(rod((0, 0, 0), (1, 0, 0), size.mandrel_mm, math.ceil(rod_mm))),
        note="straight, ends rounded; the mandrel",
    )
    felt = Bought("felt 3 mm thick, 10 x 10 mm", "", 1, note="between screw and wire")
    alone = size.crank == "none"
    # Taken apart, the guide is lifted off the winder; alone, rod and coil are drawn out of it.
    lifted = (0.0, 0.0, 0.0 if alone else 45.0)
    pulled = (-45.0 * way.x if alone else 0.0, 0.0, 0.0)
    drawn = (110.0 * way.x if alone else 0.0, 0.0, 0.0)
    placed = (
        Placed("guide", "guide", way.along(x["guide"]), lifted),
        Placed("wire", wire.name, way.along(x["guide"]), pulled),
        Placed("mandrel", mandrel.name, way.along(x["mandrel"]), drawn),
    )
    clear = size.clearance_mm
    mating = (
        Mating("guide", "mandrel", clear, "guide slides on mandrel"),
        Mating("guide", "wire", clear - _OFF_MM, "wire and coil run through the guide"),
        Mating("wire", "mandrel", _OFF_MM, "coil on mandrel (drawn off it)"),
    )
    return Fitted((guide,), (mandrel, wire, felt), placed, mating)


def _guide_labels(size: WindingGuide, way: Way) -> tuple[Label, ...]:
    """Mandrel and wire on the face that is up when printed, upright as the guide is used."""
    y = -(size.roof_at_mm + 19.0)
    z = -(size.coil_bore_mm / 2.0 + 1.5)
    lines = [f"{size.mandrel_mm:.2f}", f"{size.wire_mm:.2f}"]
    # Seen from the coil's side, the nose is on the right as designed.
    return tuple(
        _face_label(words, (-size.coil_room_mm, y, z - 3.0 - 7.5 * line), way, -1.0)
        for line, words in enumerate(lines)
    )


def _face_label(words: str, at: Point, way: Way, side: float) -> Label:
    """Letters on a face square to the mandrel, which looks to ``side`` of x as designed.

    ``at`` is the line's end at the outer edge of -y as designed.
    """
    from ringwright.jigs.parts.lettering import raised

    out = side * way.x
    # Reading goes to the right of who looks at the face: +y where it looks to +x.
    ends_at_front = out * way.y < 0.0
    label = raised(words, (0.0, 0.0, 0.0), halign="right" if ends_at_front else "left")
    place = facing(way.point(at), (out, 0.0, 0.0), (0.0, out, 0.0))
    return Label(words, tuple(solid.moved(place) for solid in label.solids), label.height_mm)


def drag(size: WindingGuide, way: Way, guide_x_mm: float) -> Fitted:
    """The screw that presses felt on the wire, and its nut in the guide."""
    from ringwright.jigs.parts.hardware import nut, screw

    m4 = THREADS["M4"]
    x_mm, _ = _channel(size, 0.0)
    y = -(size.roof_at_mm + 10.0)
    x = guide_x_mm + x_mm(y)
    felt_z = -size.mandrel_mm / 2.0 + _FELT_MM * 0.8
    nut_z = -(size.mandrel_mm + size.wire_mm) / 2.0 + size.channel_mm / 2.0 + _FELT_MM + 2.0
    bought = (
        Bought("cap screw M4 x 20", "ISO 4762", 1, screw(m4, 20.0), note="drag; by hand"),
        Bought("nut M4", "ISO 4032", 1, nut(m4)),
    )
    up, across = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    lifted_mm = 0.0 if size.crank == "none" else 45.0
    placed = (
        Placed(
            "drag screw",
            "cap screw M4 x 20",
            way.place((x, y, felt_z + 20.0), up, across),
            (0, 0, 30 + lifted_mm),
        ),
        Placed(
            "drag nut",
            "nut M4",
            way.place((x, y, nut_z + 0.2), up, across),
            (-way.x * 25.0, 0, lifted_mm),
        ),
    )
    mating = (
        Mating("guide", "drag screw", (m4.hole_mm - m4.diameter_mm) / 2.0, "screw in its hole"),
        Mating("guide", "drag nut", 0.15, "nut in its slot"),
    )
    return Fitted(bought=bought, placed=placed, mating=mating)
