"""The dimensions of a coil winder, and whether wire, mandrel and hand can stand its loads."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.jigs.parts.hardware import THREADS
from ringwright.jigs.parts.printing import Printer
from ringwright.making.ring.springback import plastic_moment_nmm
from ringwright.metals.metal_names import metal_named

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 3.5
LEAST_MANDREL_MM, MOST_MANDREL_MM = 1.2, 30.0
SHORTEST_COIL_MM, LONGEST_COIL_MM = 20.0, 400.0
USUAL_HAND, USUAL_CRANK = "right", "right"
USUAL_METAL, USUAL_TEMPER = "copper", "half hard"
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
SUPPORT_MM = 16.0
RAIL_MM = 6.0
WALL_MM = 3.0


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
        return free + RAIL_MM / 2.0 + self.clearance_mm

    @property
    def bottom_mm(self) -> float:
        """From the mandrel's axis down to the guide's lower side."""
        if self.crank == "none":
            return self.coil_bore_mm / 2.0 + 85.0
        below_rail = self.rail_below_mm + RAIL_MM / 2.0 + self.clearance_mm + WALL_MM
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
        return 2.0 + self.hub_mm + 1.0 + 2.0 * SUPPORT_MM + self.span_mm + 8.0


def dimensions(
    mandrel_mm: float,
    wire_mm: float,
    printer: Printer,
    coil_mm: float = defaults.COIL_MM,
    hand: str = USUAL_HAND,
    crank: str = USUAL_CRANK,
    yield_mpa: float | None = None,
) -> WindingGuide:
    """The winder for a mandrel and a wire.

    Parameters
    ----------
    yield_mpa : the stress at which the wire bends; that of the usual metal if None

    Raises
    ------
    BadInput
        For sizes out of range, and where the wire is too stiff for the mandrel, the clamps,
        the crank or the printed guide: which, and what to do.
    """
    if yield_mpa is None:
        yield_mpa = metal_named(USUAL_METAL).bending_mpa(USUAL_TEMPER, wire_mm)
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
        floor_mm=max(WALL_MM, math.sqrt(6.0 * SAFETY * bend / (width * _PLASTIC_MPA))),
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


def clamp_bore_mm(size: WindingGuide) -> float:
    """The bore of a clamp before it is tightened."""
    return size.mandrel_mm + size.clearance_mm


def clamp_half_mm(size: WindingGuide) -> float:
    """Half the width of a clamp."""
    return max(size.mandrel_mm / 2.0 + 6.0, 9.0)


def _anchor_reach_mm(size: WindingGuide) -> float:
    """How far the anchor reaches from the mandrel's axis as it turns."""
    half = clamp_half_mm(size)
    below = max(half, anchor_below_mm(size) + size.channel_mm / 2.0 + WALL_MM)
    head = half + THREADS["M4"].head_height_mm
    corners = ((half, clamp_top_mm(size)), (half, below), (head, clamp_top_mm(size) - 1.5))
    return max(math.hypot(*corner) for corner in corners)


def pinch_z_mm(size: WindingGuide) -> float:
    """How high above the mandrel's axis the screws of a clamp are."""
    return size.mandrel_mm / 2.0 + THREADS["M4"].head_mm / 2.0 + 2.0


def clamp_top_mm(size: WindingGuide) -> float:
    """How far a clamp reaches above the mandrel's axis."""
    return pinch_z_mm(size) + THREADS["M4"].corners_mm / 2.0 + 2.0


def anchor_below_mm(size: WindingGuide) -> float:
    """From the mandrel's axis down to the hole for the wire's end."""
    return clamp_bore_mm(size) / 2.0 + 2.0 + size.channel_mm / 2.0
