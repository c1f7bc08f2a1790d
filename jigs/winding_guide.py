"""Coil-winding guide: a hand-cranked winder for one mandrel and wire, or the guide alone.

x runs along the mandrel, its axis is y = z = 0, z is up. As designed the crank is at the
lower end of x, the coil grows towards higher x and the wire comes in from the front, -y,
under the mandrel: that winds a left-hand coil. The other three ways of working are mirror
images in x, in y, or in both.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from generator.errors import BadInput
from generator.making.materials import material
from generator.making.springback import plastic_moment_nmm
from jigs.hardware import THREADS
from jigs.jig import (
    BLUE,
    GREEN,
    ORANGE,
    PURPLE,
    SEEN_FROM,
    SKY,
    VERMILLION,
    Bought,
    Jig,
    Label,
    Mating,
    Part,
    Placed,
)
from jigs.printing import Printer
from jigs.solids import Point, Range, block, facing, hexagon, rod, teardrop

if TYPE_CHECKING:
    import cadquery as cq

NAME = "winding-guide"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 3.5
LEAST_MANDREL_MM, MOST_MANDREL_MM = 1.2, 30.0
SHORTEST_COIL_MM, LONGEST_COIL_MM = 20.0, 400.0

# Design figures: common practice, no source.
SAFETY = 1.5
_DRAG_SHARE = 0.3
HAND_N = 50.0
ARMS_MM = (50.0, 65.0, 80.0, 100.0)
# Shear stress a plain steel rod takes for good, and friction of steel on plastic; from memory.
ROD_SHEAR_MPA = 200.0
_FRICTION = 0.2
# What one M4 screw may pull where its head and nut press on plastic: common practice, no source.
_PINCH_N = 900.0
# What printed plastic takes in bending, and under a wire that presses on it. Common practice,
# no source: a third of what moulded plastic does.
_PLASTIC_MPA = 15.0
_BEARING_MPA = 20.0

_SUPPORT_MM = 16.0
_FOOT_MM = 10.0
_RAIL_MM = 6.0
_PLATE_MM = 10.0
_SLIT_MM = 1.6
_FELT_MM = 3.0
_WALL_MM = 3.0
_BEVEL_MM = 3.0
_DRAWN_TURNS = 14
# The coil is drawn so far off the mandrel, for the kernel's sake.
_OFF_MM = 0.01


@dataclass(frozen=True)
class WindingGuide:
    """The winder's dimensions, all in millimetres but for the loads.

    Attributes
    ----------
    mandrel_mm, wire_mm, coil_mm : the rod, the wire, the longest coil
    hand : ``right`` or ``left``, of the coil
    crank : the end of the mandrel that the crank is at, seen by who cranks, or ``none``
        for the guide alone
    yield_mpa : of the wire
    clearance_mm : per side, wherever something moves
    lead_deg : angle between the wire that comes in and a plane square to the mandrel
    coil_bore_mm, mandrel_bore_mm, channel_mm : bores of the guide, and the wire's way in
    coil_room_mm, front_mm : how long the bores are
    roof_at_mm : from the mandrel's axis to where the wire gets a roof; the lever that bends it
    floor_mm : plastic below the wire
    arm_mm : the crank's
    pinch_screws : in each clamp
    bend_n_mm, torque_n_mm : the wire's fully plastic moment, and what the crank must give
    """

    mandrel_mm: float
    wire_mm: float
    coil_mm: float
    hand: str
    crank: str
    yield_mpa: float
    clearance_mm: float
    lead_deg: float
    coil_bore_mm: float
    mandrel_bore_mm: float
    channel_mm: float
    coil_room_mm: float
    front_mm: float
    roof_at_mm: float
    floor_mm: float
    arm_mm: float
    pinch_screws: int
    bend_n_mm: float
    torque_n_mm: float

    @property
    def rail_below_mm(self) -> float:
        """From the mandrel's axis down to the rail's, clear of the wire and the anchor."""
        free = max(self.coil_bore_mm / 2.0 + self.floor_mm, _anchor_reach_mm(self) + 1.5)
        return free + _RAIL_MM / 2.0 + self.clearance_mm

    @property
    def bottom_mm(self) -> float:
        """From the mandrel's axis down to the guide's lower side."""
        if self.crank == "none":
            return self.coil_bore_mm / 2.0 + 85.0
        below_rail = self.rail_below_mm + _RAIL_MM / 2.0 + self.clearance_mm + _WALL_MM
        return max(below_rail, self.coil_bore_mm / 2.0 + 17.0)

    @property
    def height_mm(self) -> float:
        """From the bench up to the mandrel's axis."""
        return self.bottom_mm + 4.0

    @property
    def hub_mm(self) -> float:
        """How long the crank's and the anchor's clamps are along the mandrel."""
        return 12.0 if self.pinch_screws == 1 else 22.0

    @property
    def span_mm(self) -> float:
        """Between the supports."""
        return 4.0 + self.hub_mm + self.coil_mm + self.coil_room_mm + self.front_mm + 6.0

    @property
    def rod_mm(self) -> float:
        """Length of the mandrel."""
        return 2.0 + self.hub_mm + 1.0 + 2.0 * _SUPPORT_MM + self.span_mm + 8.0


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from jigs.options import add_ring

    add_ring(parser)
    parser.add_argument(
        "--mandrel",
        metavar="SIZE",
        help="the steel rod's diameter (default: the ring's inner diameter; springback opens "
        "rings, so a rod a little thinner is usual)",
    )
    parser.add_argument(
        "--coil-length", default="100mm", metavar="SIZE", help="longest coil (default 100mm)"
    )
    parser.add_argument(
        "--hand", choices=("right", "left"), default="right", help="of the coil (default right)"
    )
    parser.add_argument(
        "--crank",
        choices=("right", "left"),
        default="right",
        help="the hand that cranks (default right)",
    )
    parser.add_argument(
        "--drive",
        choices=("crank", "drill"),
        default="crank",
        help="a whole winder, or the guide alone with a handle for a drill's mandrel",
    )
    parser.add_argument(
        "--metal", default="copper", metavar="NAME", help="of the wire (default copper)"
    )
    parser.add_argument(
        "--temper", default="half hard", metavar="NAME", help="of the wire (default half hard)"
    )
    parser.add_argument(
        "--yield-mpa",
        type=float,
        metavar="NUMBER",
        help="the stress at which the wire bends, in place of the metal's",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from generator.sizes import parse_length
    from jigs.options import asked_mandrel

    mandrel_mm, wire_mm = asked_mandrel(options)
    yield_mpa = options.yield_mpa
    if yield_mpa is None:
        yield_mpa = material(options.metal).temper(options.temper).bending_mpa
    return build(
        dimensions(
            mandrel_mm,
            wire_mm,
            printer,
            coil_mm=parse_length(options.coil_length, "coil length"),
            hand=options.hand,
            crank=options.crank if options.drive == "crank" else "none",
            yield_mpa=yield_mpa,
        ),
        printer,
    )


def dimensions(
    mandrel_mm: float,
    wire_mm: float,
    printer: Printer,
    coil_mm: float = 100.0,
    hand: str = "right",
    crank: str = "right",
    yield_mpa: float = 270.0,
) -> WindingGuide:
    """The winder for a mandrel and a wire.

    Parameters
    ----------
    yield_mpa : the stress at which the wire bends; usually that of half-hard copper

    Raises
    ------
    BadInput
        For sizes out of range, and where the wire is too stiff for the mandrel, the clamps,
        the crank or the printed guide: which, and what to do.
    """
    _in_range("Wire", wire_mm, LEAST_WIRE_MM, MOST_WIRE_MM)
    _in_range("A mandrel", mandrel_mm, LEAST_MANDREL_MM, MOST_MANDREL_MM)
    _in_range("A coil length", coil_mm, SHORTEST_COIL_MM, LONGEST_COIL_MM)
    if not 20.0 <= yield_mpa <= 2500.0:
        raise BadInput(
            f"A yield stress of {yield_mpa:g} MPa is outside 20 to 2500 MPa; give that of the wire."
        )
    clear = printer.clearance_mm
    bend = plastic_moment_nmm(wire_mm, yield_mpa)
    torque = SAFETY * (1.0 + _DRAG_SHARE) * bend
    coil_bore = mandrel_mm + 2.0 * wire_mm + 3.0 * clear
    coil_room = max(6.0 * wire_mm, 8.0)
    front = max(10.0, mandrel_mm)
    roof_at = coil_bore / 2.0 + 2.0
    _check_guide(wire_mm, bend, roof_at)
    _check_mandrel(mandrel_mm, torque)
    arm, screws = 0.0, 1
    if crank != "none":
        arm, screws = _crank(mandrel_mm, torque)
    width = coil_room + front
    return WindingGuide(
        mandrel_mm=mandrel_mm,
        wire_mm=wire_mm,
        coil_mm=coil_mm,
        hand=hand,
        crank=crank,
        yield_mpa=yield_mpa,
        clearance_mm=clear,
        # One turn goes once around the circle of the wire's middle and moves on by one wire.
        lead_deg=math.degrees(math.atan(wire_mm / (math.pi * (mandrel_mm + wire_mm)))),
        coil_bore_mm=coil_bore,
        mandrel_bore_mm=printer.running_bore_mm(mandrel_mm),
        channel_mm=printer.running_bore_mm(wire_mm),
        coil_room_mm=coil_room,
        front_mm=front,
        roof_at_mm=roof_at,
        # As a beam of the guide's width that the bending moment acts on.
        floor_mm=max(_WALL_MM, math.sqrt(6.0 * SAFETY * bend / (width * _PLASTIC_MPA))),
        arm_mm=arm,
        pinch_screws=screws,
        bend_n_mm=bend,
        torque_n_mm=torque,
    )


def _in_range(what: str, value_mm: float, least_mm: float, most_mm: float) -> None:
    if not least_mm <= value_mm <= most_mm:
        raise BadInput(
            f"{what} of {value_mm:.4g} mm is outside {least_mm:g} to {most_mm:g} mm, for which "
            "this printed winder is made; wind by other means."
        )


def _check_guide(wire_mm: float, bend_n_mm: float, lever_mm: float) -> None:
    """Refuse wire that would dig into the guide: it presses on its floor over two wires' length."""
    pressure = SAFETY * bend_n_mm / lever_mm / (2.0 * wire_mm**2)
    if pressure > _BEARING_MPA:
        raise BadInput(
            f"The wire takes {bend_n_mm:.0f} N mm to bend and would press on the printed guide "
            f"with {pressure:.0f} MPa, where {_BEARING_MPA:g} MPa is the most it takes; use softer "
            "or thinner wire, or a guide of metal."
        )


def _check_mandrel(mandrel_mm: float, torque_n_mm: float) -> None:
    """Refuse wire that would twist the mandrel for good."""
    shear = 16.0 * torque_n_mm / (math.pi * mandrel_mm**3)
    if shear > ROD_SHEAR_MPA:
        raise BadInput(
            f"Winding takes {torque_n_mm:.0f} N mm, which twists a mandrel of {mandrel_mm:.3g} mm "
            f"with {shear:.0f} MPa, where {ROD_SHEAR_MPA:g} MPa is the most plain steel takes; use "
            "thinner or softer wire, or a thicker mandrel."
        )


def _crank(mandrel_mm: float, torque_n_mm: float) -> tuple[float, int]:
    """Length of the crank's arm and number of screws in its clamp, for a torque."""
    arm = next((arm for arm in ARMS_MM if torque_n_mm / arm <= HAND_N), None)
    if arm is None:
        raise BadInput(
            f"Winding takes {torque_n_mm:.0f} N mm, which is {torque_n_mm / ARMS_MM[-1]:.0f} N on "
            f"the longest crank ({ARMS_MM[-1]:g} mm), where {HAND_N:g} N is the most for a hand; "
            "use thinner or softer wire."
        )
    needed = torque_n_mm / (_FRICTION * _PINCH_N * mandrel_mm)
    screws = max(1, math.ceil(needed - 1e-9))
    if screws > 2:
        raise BadInput(
            f"Winding takes {torque_n_mm:.0f} N mm, and a printed clamp with two M4 screws holds "
            f"{2.0 * _FRICTION * _PINCH_N * mandrel_mm:.0f} N mm on a mandrel of "
            f"{mandrel_mm:.3g} mm; use thinner or softer wire, or a thicker mandrel."
        )
    return arm, screws


# ---- solids, as designed: crank at lower x, wire from the front ----


def guide_solid(size: WindingGuide) -> cq.Shape:
    """The guide; the shoulder that the newest turn pushes against is at x = 0."""
    rear, front = -size.coil_room_mm, size.front_mm
    bore, clear = size.coil_bore_mm / 2.0, size.clearance_mm
    nose = size.roof_at_mm + 20.0
    back = bore + _WALL_MM
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
        rail = _RAIL_MM + 2.0 * clear
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


def support_solid(size: WindingGuide) -> cq.Shape:
    """A support; its inner face is x = 0, the foot on the bench."""
    low = -size.height_mm
    half = max(size.mandrel_bore_mm / 2.0 + 6.0, _RAIL_MM / 2.0 + 6.0)
    deep = _SUPPORT_MM
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
    rail_at = (-deep + _WALL_MM, 0.0, -size.rail_below_mm)
    rail = rod(rail_at, (1, 0, 0), _RAIL_MM + 2.0 * size.clearance_mm, deep)
    return made.clean().cut(mandrel, rail, *screws)


def _clamp_tools(size: WindingGuide, x: tuple[float, float], up: Point) -> list[Any]:
    """What is cut from a clamp around the mandrel: bore, slit, screw holes, nut pockets."""
    m4 = THREADS["M4"]
    half = _clamp_half_mm(size)
    tools: list[Any] = [
        rod((x[0] - 1.0, 0, 0), (1, 0, 0), _clamp_bore_mm(size), x[1] - x[0] + 2.0),
        block((x[0] - 1.0, x[1] + 1.0), (-_SLIT_MM / 2.0, _SLIT_MM / 2.0), (0.0, 60.0)),
    ]
    for x_mm in _pinch_x_mm(size, x):
        at = (x_mm, -half - 1.0, _pinch_z_mm(size))
        tools.append(teardrop(at, (0, 1, 0), up, m4.hole_mm, 2.0 * half + 2.0))
        pocket = (x_mm, half - m4.nut_mm, _pinch_z_mm(size))
        tools.append(hexagon(pocket, (0, 1, 0), (1, 0, 0), m4.flats_mm + 0.3, m4.nut_mm + 1.0))
    return tools


def _clamp_bore_mm(size: WindingGuide) -> float:
    return size.mandrel_mm + size.clearance_mm


def _clamp_half_mm(size: WindingGuide) -> float:
    """Half the width of a clamp."""
    return max(size.mandrel_mm / 2.0 + 6.0, 9.0)


def _anchor_reach_mm(size: WindingGuide) -> float:
    """How far the anchor reaches from the mandrel's axis as it turns."""
    half = _clamp_half_mm(size)
    below = max(half, _anchor_below_mm(size) + size.channel_mm / 2.0 + _WALL_MM)
    head = half + THREADS["M4"].head_height_mm
    corners = ((half, _clamp_top_mm(size)), (half, below), (head, _clamp_top_mm(size) - 1.5))
    return max(math.hypot(*corner) for corner in corners)


def _pinch_z_mm(size: WindingGuide) -> float:
    return size.mandrel_mm / 2.0 + THREADS["M4"].head_mm / 2.0 + 2.0


def _pinch_x_mm(size: WindingGuide, x: tuple[float, float]) -> list[float]:
    middle = (x[0] + x[1]) / 2.0
    return [middle] if size.pinch_screws == 1 else [middle - 5.2, middle + 5.2]


def _clamp_top_mm(size: WindingGuide) -> float:
    return _pinch_z_mm(size) + THREADS["M4"].corners_mm / 2.0 + 2.0


def crank_solid(size: WindingGuide, x: tuple[float, float]) -> cq.Shape:
    """The crank: its clamp upwards, its arm downwards at its outer, lower end of x."""
    half, m6 = _clamp_half_mm(size), THREADS["M6"]
    arm = size.arm_mm
    made: Any = block(x, (-half, half), (-half, _clamp_top_mm(size)))
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
    half = _clamp_half_mm(size)
    anchor_z = -_anchor_below_mm(size)
    low = min(-half, anchor_z - size.channel_mm / 2.0 - _WALL_MM)
    made: Any = block(x, (-half, half), (low, _clamp_top_mm(size)))
    hole = rod((x[0] - 1.0, 0, anchor_z), (1, 0, 0), size.channel_mm, x[1] - x[0] + 2.0)
    return made.cut(*_clamp_tools(size, x, (1, 0, 0)), hole)


def _anchor_below_mm(size: WindingGuide) -> float:
    return _clamp_bore_mm(size) / 2.0 + 2.0 + size.channel_mm / 2.0


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


# ---- the jig ----


@dataclass(frozen=True)
class _Way:
    """From the way it is designed to the way it is used: mirror images in x and in y."""

    x: float
    y: float

    def shape(self, shape: cq.Shape) -> cq.Shape:
        if self.x < 0.0:
            shape = shape.mirror("YZ")
        return shape.mirror("XZ") if self.y < 0.0 else shape

    def point(self, point: Point) -> Point:
        return (self.x * point[0], self.y * point[1], point[2])

    def place(self, at: Point, up: Point, x: Point) -> cq.Location:
        """Where a screw or nut goes; both are their own mirror images."""
        return facing(self.point(at), self.point(up), self.point(x))

    def along(self, x_mm: float) -> cq.Location:
        import cadquery as cq

        return cq.Location(cq.Vector(self.x * x_mm, 0, 0))

    def towards_lower_x(self) -> tuple[tuple[str, float], ...]:
        """Lie on the bed with the side that is designed at lower x upwards."""
        return (("y", 90.0 * self.x),)

    def towards_higher_x(self) -> tuple[tuple[str, float], ...]:
        """Lie on the bed with the side that is designed at higher x upwards."""
        return (("y", -90.0 * self.x),)


def _way(size: WindingGuide) -> _Way:
    """As designed the crank is on the left and the coil left-handed; each mirror changes that."""
    x = -1.0 if size.crank == "right" else 1.0
    designed = "left" if x > 0.0 else "right"
    return _Way(x, 1.0 if size.hand == designed else -1.0)


def build(size: WindingGuide, printer: Printer) -> Jig:
    """The jig of these dimensions."""
    way = _way(size)
    x = _layout(size)
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
    placed = [
        Placed("guide", "guide", way.along(x["guide"]), lifted),
        Placed("wire", wire.name, way.along(x["guide"]), pulled),
        Placed("mandrel", mandrel.name, way.along(x["mandrel"]), drawn),
    ]
    clear = size.clearance_mm
    mating = [
        Mating("guide", "mandrel", clear, "guide slides on mandrel"),
        Mating("guide", "wire", clear - _OFF_MM, "wire and coil run through the guide"),
        Mating("wire", "mandrel", _OFF_MM, "coil on mandrel (drawn off it)"),
    ]
    parts, bought = [guide], [mandrel, wire, felt]
    _drag(size, way, x["guide"], bought, placed, mating)
    if size.crank != "none":
        _winder(size, way, x, parts, bought, placed, mating)
    return Jig(
        name=NAME,
        title="Coil-winding guide",
        parts=tuple(parts),
        bought=tuple(bought),
        placed=tuple(placed),
        mating=tuple(mating),
        use=_use(size, way),
        cautions=_cautions(size),
        remarks=_remarks(size),
        facts=_facts(size),
        # From the side that the wire comes from.
        seen_from=(0.55, -0.78 * way.y, 0.55) if alone else SEEN_FROM,
    )


def _layout(size: WindingGuide) -> dict[str, float]:
    """Where things begin along the mandrel; the left support's inner face is zero."""
    anchor = 1.0
    coil = anchor + size.hub_mm + 2.0
    # So far that the guide is clear of the anchor, and a few turns show behind it.
    shown = max(_DRAWN_TURNS * size.wire_mm, size.coil_room_mm + 3.0 * size.wire_mm)
    crank = -_SUPPORT_MM - 1.0
    return {
        "anchor": anchor,
        "coil": coil,
        "guide": coil + shown,
        "crank": crank,
        "mandrel": crank - size.hub_mm - 2.0 if size.crank != "none" else coil - 40.0,
    }


def _guide_labels(size: WindingGuide, way: _Way) -> tuple[Label, ...]:
    """Mandrel and wire on the face that is up when printed, upright as the guide is used."""
    y = -(size.roof_at_mm + 19.0)
    z = -(size.coil_bore_mm / 2.0 + 1.5)
    lines = [f"{size.mandrel_mm:.2f}", f"{size.wire_mm:.2f}"]
    # Seen from the coil's side, the nose is on the right as designed.
    return tuple(
        _face_label(words, (-size.coil_room_mm, y, z - 3.0 - 7.5 * line), way, -1.0)
        for line, words in enumerate(lines)
    )


def _face_label(words: str, at: Point, way: _Way, side: float) -> Label:
    """Letters on a face square to the mandrel, which looks to ``side`` of x as designed.

    ``at`` is the line's end at the outer edge of -y as designed.
    """
    from jigs.lettering import raised

    out = side * way.x
    # Reading goes to the right of who looks at the face: +y where it looks to +x.
    ends_at_front = out * way.y < 0.0
    label = raised(words, (0.0, 0.0, 0.0), halign="right" if ends_at_front else "left")
    place = facing(way.point(at), (out, 0.0, 0.0), (0.0, out, 0.0))
    return Label(words, tuple(solid.moved(place) for solid in label.solids), label.height_mm)


def _drag(
    size: WindingGuide,
    way: _Way,
    guide_x_mm: float,
    bought: list[Bought],
    placed: list[Placed],
    mating: list[Mating],
) -> None:
    """The screw that presses felt on the wire, and its nut in the guide."""
    from jigs.hardware import nut, screw

    m4 = THREADS["M4"]
    x_mm, _ = _channel(size, 0.0)
    y = -(size.roof_at_mm + 10.0)
    x = guide_x_mm + x_mm(y)
    felt_z = -size.mandrel_mm / 2.0 + _FELT_MM * 0.8
    nut_z = -(size.mandrel_mm + size.wire_mm) / 2.0 + size.channel_mm / 2.0 + _FELT_MM + 2.0
    bought += [
        Bought("cap screw M4 x 20", "ISO 4762", 1, screw(m4, 20.0), note="drag; by hand"),
        Bought("nut M4", "ISO 4032", 1, nut(m4)),
    ]
    up, across = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    lifted_mm = 0.0 if size.crank == "none" else 45.0
    placed += [
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
    ]
    mating += [
        Mating("guide", "drag screw", (m4.hole_mm - m4.diameter_mm) / 2.0, "screw in its hole"),
        Mating("guide", "drag nut", 0.15, "nut in its slot"),
    ]


def _winder(
    size: WindingGuide,
    way: _Way,
    x: dict[str, float],
    parts: list[Part],
    bought: list[Bought],
    placed: list[Placed],
    mating: list[Mating],
) -> None:
    """Supports, rail, anchor, crank and knob, with their screws."""
    import cadquery as cq

    from jigs.hardware import nut, screw

    clear, m4, m6 = size.clearance_mm, THREADS["M4"], THREADS["M6"]
    crank_x = (x["crank"] - size.hub_mm, x["crank"])
    anchor_x = (x["anchor"], x["anchor"] + size.hub_mm)
    plate_x = crank_x[0]
    _, play = _knob_mm(size)
    knob_end = plate_x - m6.nut_mm - play / 2.0
    parts += [
        Part("support", support_solid(size), BLUE, turns=(("y", -90.0),)),
        Part(
            "anchor", way.shape(anchor_solid(size, anchor_x)), GREEN, turns=way.towards_higher_x()
        ),
        Part(
            "crank",
            way.shape(crank_solid(size, crank_x)),
            PURPLE,
            turns=way.towards_higher_x(),
            note="four walls and half infill",
        ),
        Part("knob", way.shape(knob_solid(size, knob_end)), SKY, turns=way.towards_lower_x()),
    ]
    end_gap = max(0.5, clear + 0.2)
    rail_mm = size.span_mm + 2.0 * (_SUPPORT_MM - _WALL_MM - end_gap)
    rail = Bought(
        f"round steel rod {_RAIL_MM:g} x {rail_mm:.0f} mm",
        "ISO 286 h9",
        1,
        rod((0, 0, 0), (way.x, 0, 0), _RAIL_MM, rail_mm),
        note="the rail",
    )
    pinch_mm = next(each for each in (20, 25, 30, 35, 40, 45) if each >= 2.0 * _clamp_half_mm(size))
    pinch = Bought(
        f"cap screw M4 x {pinch_mm} (clamps)",
        "ISO 4762",
        2 * size.pinch_screws,
        screw(m4, float(pinch_mm)),
    )
    pinch_nut = Bought("nut M4 (clamps)", "ISO 4032", 2 * size.pinch_screws, nut(m4))
    knob_screw = Bought("cap screw M6 x 50", "ISO 4762", 1, screw(m6, 50.0), note="the knob's")
    knob_nut = Bought("nut M6", "ISO 4032", 2, nut(m6), note="one on each side of the crank")
    wood = Bought("wood screw 4 x 30 mm", "", 4, note="or two screw clamps on the feet")
    bought += [rail, pinch, pinch_nut, knob_screw, knob_nut, wood]
    # A support's own inner face looks to +x; the other end's is turned round.
    first, last = (0.0, 180.0) if way.x > 0.0 else (180.0, 0.0)
    z_axis = cq.Vector(0, 0, 1)
    far = cq.Vector(way.x * size.span_mm, 0, 0)
    rail_at = (-(_SUPPORT_MM - _WALL_MM - end_gap) * way.x, 0.0, -size.rail_below_mm)
    out = -way.x
    arm_z = -size.arm_mm
    placed += [
        Placed("crank-end support", "support", cq.Location(cq.Vector(), z_axis, first)),
        Placed("far support", "support", cq.Location(far, z_axis, last), (-out * 40.0, 0, 0)),
        Placed("rail", rail.name, cq.Location(cq.Vector(*rail_at)), (0, 0, -25)),
        Placed("anchor", "anchor", cq.Location(), (0, 0, 45)),
        Placed("crank", "crank", cq.Location(), (out * 45.0, 0, 0)),
        Placed("knob", "knob", cq.Location(), (out * 75.0, 0, 0)),
        Placed(
            "knob screw",
            knob_screw.name,
            way.place((plate_x + _PLATE_MM - 50.0, 0, arm_z), (-1, 0, 0), (0, 1, 0)),
            (out * 130.0, 0, 0),
        ),
        Placed(
            "knob nut",
            knob_nut.name,
            way.place((plate_x - m6.nut_mm, 0, arm_z), (1, 0, 0), (0, 0, 1)),
            (out * 58.0, 0, 0),
        ),
        Placed(
            "crank nut",
            knob_nut.name,
            way.place((plate_x + _PLATE_MM - m6.nut_mm, 0, arm_z), (1, 0, 0), (0, 0, 1)),
            (out * 25.0, 0, 0),
        ),
    ]
    mating += [
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
    ]
    half = _clamp_half_mm(size)
    for owner, span in (("crank", crank_x), ("anchor", anchor_x)):
        for index, at in enumerate(_pinch_x_mm(size, span), start=1):
            apart = (out * 45.0, 0.0, 0.0) if owner == "crank" else (0.0, 0.0, 45.0)
            z = _pinch_z_mm(size)
            head, tail = f"{owner} pinch screw {index}", f"{owner} pinch nut {index}"
            placed += [
                Placed(
                    head,
                    pinch.name,
                    way.place((at, -half, z), (0, -1, 0), (1, 0, 0)),
                    (apart[0], -way.y * 25.0, apart[2]),
                ),
                Placed(
                    tail,
                    pinch_nut.name,
                    way.place((at, half - m4.nut_mm, z), (0, 1, 0), (0, 0, 1)),
                    (apart[0], way.y * 20.0, apart[2]),
                ),
            ]
            mating += [
                Mating(owner, head, 0.0, "screw head on clamp"),
                Mating(owner, tail, 0.0, "nut in clamp"),
            ]


def _use(size: WindingGuide, way: _Way) -> tuple[str, ...]:
    if size.crank == "none":
        return (
            "Drill the guide's bores to size if they are tight, and lay the felt in its pocket, "
            "then the nut and the screw above it.",
            "Thread the wire through the small hole in the guide's nose and on below the mandrel, "
            "the open window up.",
            "Bend the wire's end over the chuck's jaw or through a hole in the mandrel, slide the "
            "guide up to it, its window towards the chuck, and hold it by its handle.",
            "Set the drag so that the wire is just straight before the guide. Start slowly, in the "
            "direction in which the mandrel's top comes towards the side the wire comes from, and "
            "let the coil push the guide along; do not hold it back.",
            "Stop, ease the drag, let the coil unwind by hand and cut the wire.",
        )
    feed = "from the front" if way.y > 0.0 else "from behind"
    thread = (
        f"Thread the wire through the guide's nose, under the mandrel: it comes in {feed}, below "
        "the mandrel, and the open window looks up."
    )
    return (
        "Print all parts as they lie in their files; drill the bores to size if they are tight.",
        "Screw or clamp the crank-end support to the bench, its outer face level with the bench's "
        "edge, so that the crank can swing below the bench. Put the rail into it, the guide and "
        "the far support on the rail, and fasten that support too.",
        "Push the mandrel through the far support, the guide, the anchor and the near support; put "
        "the crank on its end, and tighten both clamps with a millimetre of play at the support.",
        "Lay the felt in the guide's pocket, then the nut in its slot and the screw above it.",
        thread,
        "Push the wire's end through the hole in the anchor and bend it over.",
        "Set the drag so that the wire is just straight before the guide. Turn the crank so that "
        "the mandrel takes the wire along below: its top comes towards the side the wire comes "
        "from. The coil pushes the guide along, and turns lie side by side.",
        "When the coil is long enough, ease the drag, let the crank turn back until the coil is "
        "slack, and cut the wire. Open the anchor and pull the mandrel out by the crank.",
    )


def _cautions(size: WindingGuide) -> tuple[str, ...]:
    shared = (
        "Wear eye protection. Wire under tension whips when it slips or ends, and cut ends are "
        "sharp: keep the last hand's length clamped, and never let go of a loaded crank.",
        "Keep fingers, hair, sleeves and cords away from wire, coil and mandrel; no gloves near "
        "anything that turns.",
        "Look at the printed parts before each use, and stop at the first white line or crack. "
        "Heat from a lamp or a car makes them soft.",
    )
    if size.crank == "none":
        return (
            "Drill: use the slowest gear, at most about 100 turns a minute, with the clutch at its "
            "lowest setting that still winds; clamp the drill, hold the guide by its handle only, "
            "and have the switch where you can let go of it. No gloves at all.",
            *shared,
        )
    return (
        "This winder is made for turning by hand; do not put a drill or motor on it.",
        *shared,
    )


def _remarks(size: WindingGuide) -> tuple[str, ...]:
    loads = (
        f"The wire was taken to yield at {size.yield_mpa:g} MPa (half-hard wire, from memory; "
        "tempers differ by half): bending it fully takes yield x wire^3 / 6 = "
        f"{size.bend_n_mm:.3g} N mm."
    )
    figures = (
        "Safety, drag, hand force, clamp and plastic strengths are common practice, no source; "
        "rod shear and friction are from memory."
    )
    spring = (
        "A coil opens a little when it is let go: its rings come out larger than the mandrel. "
        "Wind a few turns and measure before you wind a whole coil."
    )
    if size.crank == "none":
        return (loads, figures, spring)
    hand = size.torque_n_mm / size.arm_mm
    return (
        loads,
        f"With drag and a safety of {SAFETY:g} the crank must give {size.torque_n_mm:.3g} N mm, "
        f"which is {hand:.2g} N on its knob.",
        figures,
        spring,
    )


def _facts(size: WindingGuide) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "mandrel_mm": size.mandrel_mm,
        "wire_mm": size.wire_mm,
        "coil_hand": size.hand,
        "lead_angle_deg": round(size.lead_deg, 3),
        "coil_bore_mm": size.coil_bore_mm,
        "mandrel_bore_mm": size.mandrel_bore_mm,
        "wire_channel_mm": size.channel_mm,
        "floor_below_wire_mm": round(size.floor_mm, 3),
        "wire_yield_mpa": size.yield_mpa,
        "wire_bending_moment_n_mm": round(size.bend_n_mm, 2),
    }
    if size.crank != "none":
        facts |= {
            "cranking_hand": size.crank,
            "longest_coil_mm": size.coil_mm,
            "between_supports_mm": round(size.span_mm, 2),
            "mandrel_above_bench_mm": round(size.height_mm, 2),
            "crank_arm_mm": size.arm_mm,
            "crank_torque_n_mm": round(size.torque_n_mm, 2),
            "screws_per_clamp": size.pinch_screws,
        }
    return facts
