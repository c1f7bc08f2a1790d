"""What makes a winder of the guide: supports, rail, anchor, crank and knob."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from ringwright.jigs.parts.hardware import THREADS
from ringwright.jigs.parts.jig import BLUE, GREEN, PURPLE, SKY, Bought, Mating, Part, Placed
from ringwright.jigs.parts.solids import Point, Range, block, hexagon, rod, teardrop
from ringwright.jigs.winding.size import (
    RAIL_MM,
    SUPPORT_MM,
    WALL_MM,
    WindingGuide,
    anchor_below_mm,
    clamp_bore_mm,
    clamp_half_mm,
    clamp_top_mm,
    pinch_z_mm,
)
from ringwright.jigs.winding.way import Fitted, Way

if TYPE_CHECKING:
    import cadquery as cq


_FOOT_MM = 10.0
_PLATE_MM = 10.0
_SLIT_MM = 1.6


def support_solid(size: WindingGuide) -> cq.Shape:
    """A support; its inner face is x = 0, the foot on the bench."""
    low = -size.height_mm
    half = max(size.mandrel_bore_mm / 2.0 + 6.0, RAIL_MM / 2.0 + 6.0)
    deep = SUPPORT_MM
    made = block((-deep, 0), (-42.0, 42.0), (low, low + _FOOT_MM))
    made = made.fuse(block((-deep, 0), (-half, half), (low, size.mandrel_bore_mm / 2.0 + 6.0)))
    # Gussets at 45 degrees stiffen the upright.
    import cadquery as cq

    for side in (-1.0, 1.0):
        corner = (
            cq.Workplane("YZ", origin=(-deep, 0, 0))
            .moveTo(side * half, low + _FOOT_MM)
            .lineTo(side * (half + 9.0), low + _FOOT_MM)
            .lineTo(side * half, low + _FOOT_MM + 9.0)
            .close()
            .extrude(deep)
        )
        made = made.fuse(corner.val())
    up = (1.0, 0.0, 0.0)
    hole = THREADS["M4"].hole_mm
    screws = [
        teardrop((-deep / 2.0, y, low - 1.0), (0, 0, 1), up, hole, _FOOT_MM + 2.0)
        for y in (-30.0, 30.0)
    ]
    mandrel = rod((-deep - 1.0, 0, 0), (1, 0, 0), size.mandrel_bore_mm, deep + 2.0)
    rail_at = (-deep + WALL_MM, 0.0, -size.rail_below_mm)
    rail = rod(rail_at, (1, 0, 0), RAIL_MM + 2.0 * size.clearance_mm, deep)
    return made.clean().cut(mandrel, rail, *screws)


def _clamp_tools(size: WindingGuide, x: tuple[float, float], up: Point) -> list[Any]:
    """What is cut from a clamp around the mandrel: bore, slit, screw holes, nut pockets."""
    m4 = THREADS["M4"]
    half = clamp_half_mm(size)
    tools: list[Any] = [
        rod((x[0] - 1.0, 0, 0), (1, 0, 0), clamp_bore_mm(size), x[1] - x[0] + 2.0),
        block((x[0] - 1.0, x[1] + 1.0), (-_SLIT_MM / 2.0, _SLIT_MM / 2.0), (0.0, 60.0)),
    ]
    for x_mm in _pinch_x_mm(size, x):
        at = (x_mm, -half - 1.0, pinch_z_mm(size))
        tools.append(teardrop(at, (0, 1, 0), up, m4.hole_mm, 2.0 * half + 2.0))
        pocket = (x_mm, half - m4.nut_mm, pinch_z_mm(size))
        tools.append(hexagon(pocket, (0, 1, 0), (1, 0, 0), m4.flats_mm + 0.3, m4.nut_mm + 1.0))
    return tools


def _pinch_x_mm(size: WindingGuide, x: tuple[float, float]) -> list[float]:
    """Where the screws of a clamp are along the mandrel."""
    middle = (x[0] + x[1]) / 2.0
    return [middle] if size.pinch_screws == 1 else [middle - 5.2, middle + 5.2]


def crank_solid(size: WindingGuide, x: tuple[float, float]) -> cq.Shape:
    """The crank: its clamp upwards, its arm downwards at its outer, lower end of x."""
    half, m6 = clamp_half_mm(size), THREADS["M6"]
    arm = size.arm_mm
    made: Any = block(x, (-half, half), (-half, clamp_top_mm(size)))
    flat = (x[0], x[0] + _PLATE_MM)
    made = made.fuse(
        block(flat, (-9.0, 9.0), (-arm, 0.0)), rod((flat[0], 0, -arm), (1, 0, 0), 18.0, _PLATE_MM)
    ).clean()
    tools = _clamp_tools(size, x, (1, 0, 0))
    tools.append(rod((x[0] - 1.0, 0, -arm), (1, 0, 0), m6.hole_mm, x[1] - x[0] + 2.0))
    pocket = (flat[1] - m6.nut_mm, 0.0, -arm)
    tools.append(hexagon(pocket, (1, 0, 0), (0, 1, 0), m6.flats_mm + 0.3, m6.nut_mm + 1.0))
    return made.cut(*tools)


def anchor_solid(size: WindingGuide, x: tuple[float, float]) -> cq.Shape:
    """The collar that turns the coil: a clamp with a hole for the wire's end."""
    half = clamp_half_mm(size)
    anchor_z = -anchor_below_mm(size)
    low = min(-half, anchor_z - size.channel_mm / 2.0 - WALL_MM)
    made: Any = block(x, (-half, half), (low, clamp_top_mm(size)))
    hole = rod((x[0] - 1.0, 0, anchor_z), (1, 0, 0), size.channel_mm, x[1] - x[0] + 2.0)
    return made.cut(*_clamp_tools(size, x, (1, 0, 0)), hole)


def _knob_mm(size: WindingGuide) -> tuple[float, float]:
    """The knob's length along its screw, and the play of its screw."""
    play = 2.0 * size.clearance_mm
    m6 = THREADS["M6"]
    return 50.0 - _PLATE_MM - m6.nut_mm - play, play


def knob_solid(size: WindingGuide, end_mm: float) -> cq.Shape:
    """The knob; its face towards the crank is at x = ``end_mm``, its head pocket at lower x."""
    import cadquery as cq

    m6 = THREADS["M6"]
    long, _ = _knob_mm(size)
    pocket = m6.head_height_mm + 2.0
    made: Any = rod((end_mm, 0, -size.arm_mm), (-1, 0, 0), 24.0, long + pocket)
    made = cq.Workplane(obj=made).faces("<X or >X").edges().chamfer(1.5).val()
    bore = rod((end_mm + 1.0, 0, -size.arm_mm), (-1, 0, 0), 6.0 + 2.0 * size.clearance_mm, 90.0)
    head_at = (end_mm - long, 0.0, -size.arm_mm)
    head = rod(head_at, (-1, 0, 0), m6.head_mm + 2.0, pocket + 1.0)
    return made.cut(bore, head)


class _Hardware(NamedTuple):
    """What a winder has bought beside the guide's, in the order in which it is listed."""

    rail: Bought
    pinch: Bought
    pinch_nut: Bought
    knob_screw: Bought
    knob_nut: Bought
    wood: Bought


def winder(size: WindingGuide, way: Way, x: Mapping[str, float]) -> Fitted:
    """Supports, rail, anchor, crank and knob, with their screws; ``x`` tells where things begin."""
    crank_x = (x["crank"] - size.hub_mm, x["crank"])
    anchor_x = (x["anchor"], x["anchor"] + size.hub_mm)
    hardware = _hardware(size, way)
    turning = Fitted(
        parts=_parts(size, way, crank_x, anchor_x),
        bought=tuple(hardware),
        placed=(*_frame(size, way, hardware), *_crank_and_knob(size, way, hardware, crank_x[0])),
        mating=_gaps(size),
    )
    out = -way.x
    return (
        turning
        + _pinches(size, way, hardware, "crank", crank_x, (out * 45.0, 0.0, 0.0))
        + _pinches(size, way, hardware, "anchor", anchor_x, (0.0, 0.0, 45.0))
    )


def _parts(size: WindingGuide, way: Way, crank_x: Range, anchor_x: Range) -> tuple[Part, ...]:
    """The printed parts but for the guide."""
    _, play = _knob_mm(size)
    knob_end = crank_x[0] - THREADS["M6"].nut_mm - play / 2.0
    higher, lower = way.towards_higher_x(), way.towards_lower_x()
    return (
        Part("support", support_solid(size), BLUE, turns=(("y", -90.0),)),
        Part("anchor", way.shape(anchor_solid(size, anchor_x)), GREEN, turns=higher),
        Part(
            "crank",
            way.shape(crank_solid(size, crank_x)),
            PURPLE,
            turns=higher,
            note="four walls and half infill",
        ),
        Part("knob", way.shape(knob_solid(size, knob_end)), SKY, turns=lower),
    )


def _end_gap_mm(size: WindingGuide) -> float:
    """Between the rail's end and the bottom of its bore in a support."""
    return max(0.5, size.clearance_mm + 0.2)


def _hardware(size: WindingGuide, way: Way) -> _Hardware:
    from ringwright.jigs.parts.hardware import nut, screw

    m4, m6 = THREADS["M4"], THREADS["M6"]
    rail_mm = size.span_mm + 2.0 * (SUPPORT_MM - WALL_MM - _end_gap_mm(size))
    pinch_mm = next(each for each in (20, 25, 30, 35, 40, 45) if each >= 2.0 * clamp_half_mm(size))
    return _Hardware(
        rail=Bought(
            f"round steel rod {RAIL_MM:g} x {rail_mm:.0f} mm",
            "ISO 286 h9",
            1,
            rod((0, 0, 0), (way.x, 0, 0), RAIL_MM, rail_mm),
            note="the rail",
        ),
        pinch=Bought(
            f"cap screw M4 x {pinch_mm} (clamps)",
            "ISO 4762",
            2 * size.pinch_screws,
            screw(m4, float(pinch_mm)),
        ),
        pinch_nut=Bought("nut M4 (clamps)", "ISO 4032", 2 * size.pinch_screws, nut(m4)),
        knob_screw=Bought("cap screw M6 x 50", "ISO 4762", 1, screw(m6, 50.0), note="the knob's"),
        knob_nut=Bought("nut M6", "ISO 4032", 2, nut(m6), note="one on each side of the crank"),
        wood=Bought("wood screw 4 x 30 mm", "", 4, note="or two screw clamps on the feet"),
    )


def _frame(size: WindingGuide, way: Way, hardware: _Hardware) -> tuple[Placed, ...]:
    """The supports and the rail between them."""
    import cadquery as cq

    # A support's own inner face looks to +x; the other end's is turned round.
    first, last = (0.0, 180.0) if way.x > 0.0 else (180.0, 0.0)
    z_axis = cq.Vector(0, 0, 1)
    far = cq.Vector(way.x * size.span_mm, 0, 0)
    rail_at = (-(SUPPORT_MM - WALL_MM - _end_gap_mm(size)) * way.x, 0.0, -size.rail_below_mm)
    return (
        Placed("crank-end support", "support", cq.Location(cq.Vector(), z_axis, first)),
        Placed("far support", "support", cq.Location(far, z_axis, last), (way.x * 40.0, 0, 0)),
        Placed("rail", hardware.rail.name, cq.Location(cq.Vector(*rail_at)), (0, 0, -25)),
    )


def _crank_and_knob(
    size: WindingGuide, way: Way, hardware: _Hardware, plate_x_mm: float
) -> tuple[Placed, ...]:
    """What turns with the mandrel; the crank's arm begins at ``plate_x_mm``."""
    import cadquery as cq

    out, arm_z, nut_mm = -way.x, -size.arm_mm, THREADS["M6"].nut_mm
    screw_at = (plate_x_mm + _PLATE_MM - 50.0, 0.0, arm_z)
    outer, inner = plate_x_mm - nut_mm, plate_x_mm + _PLATE_MM - nut_mm
    along, up = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    return (
        Placed("anchor", "anchor", cq.Location(), (0, 0, 45)),
        Placed("crank", "crank", cq.Location(), (out * 45.0, 0, 0)),
        Placed("knob", "knob", cq.Location(), (out * 75.0, 0, 0)),
        Placed(
            "knob screw",
            hardware.knob_screw.name,
            way.place(screw_at, (-1, 0, 0), (0, 1, 0)),
            (out * 130.0, 0, 0),
        ),
        Placed(
            "knob nut",
            hardware.knob_nut.name,
            way.place((outer, 0, arm_z), along, up),
            (out * 58.0, 0, 0),
        ),
        Placed(
            "crank nut",
            hardware.knob_nut.name,
            way.place((inner, 0, arm_z), along, up),
            (out * 25.0, 0, 0),
        ),
    )


def _gaps(size: WindingGuide) -> tuple[Mating, ...]:
    clear = size.clearance_mm
    _, play = _knob_mm(size)
    return (
        Mating("crank-end support", "mandrel", clear, "mandrel turns in support"),
        Mating("far support", "mandrel", clear, "mandrel turns in support"),
        Mating("crank-end support", "rail", clear, "rail in support"),
        Mating("far support", "rail", clear, "rail in support"),
        Mating("guide", "rail", clear, "guide slides on rail"),
        Mating("anchor", "mandrel", clear / 2.0, "clamp, before it is tightened"),
        Mating("crank", "mandrel", clear / 2.0, "clamp, before it is tightened"),
        Mating("knob", "knob screw", clear, "knob turns on its screw"),
        Mating("knob", "knob nut", play / 2.0, "knob turns past its nut"),
        Mating("crank", "knob nut", 0.0, "nut on crank"),
        Mating("crank", "crank nut", 0.0, "nut in crank"),
        Mating("crank", "crank-end support", 1.0, "crank turns past support"),
        Mating("anchor", "crank-end support", 1.0, "anchor turns past support"),
    )


def _pinches(
    size: WindingGuide, way: Way, hardware: _Hardware, owner: str, span: Range, apart: Point
) -> Fitted:
    """The screws and nuts that close one clamp; ``apart`` is where the clamp is drawn apart to."""
    half, nut_mm, z = clamp_half_mm(size), THREADS["M4"].nut_mm, pinch_z_mm(size)
    made = Fitted()
    for index, at in enumerate(_pinch_x_mm(size, span), start=1):
        head, tail = f"{owner} pinch screw {index}", f"{owner} pinch nut {index}"
        made += Fitted(
            placed=(
                Placed(
                    head,
                    hardware.pinch.name,
                    way.place((at, -half, z), (0, -1, 0), (1, 0, 0)),
                    (apart[0], -way.y * 25.0, apart[2]),
                ),
                Placed(
                    tail,
                    hardware.pinch_nut.name,
                    way.place((at, half - nut_mm, z), (0, 1, 0), (0, 0, 1)),
                    (apart[0], way.y * 20.0, apart[2]),
                ),
            ),
            mating=(
                Mating(owner, head, 0.0, "screw head on clamp"),
                Mating(owner, tail, 0.0, "nut in clamp"),
            ),
        )
    return made
