"""Weaving stand: a post with pins that hold the first rings while the piece grows."""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ringwright.base.errors import BadInput
from ringwright.jigs.parts.hardware import THREADS, nut, screw
from ringwright.jigs.parts.jig import BLUE, ORANGE, SKY, Bought, Jig, Label, Mating, Part, Placed
from ringwright.jigs.parts.lettering import letter_height_mm
from ringwright.jigs.parts.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

    from ringwright.answers.verdict import Report
    from ringwright.base.sizes import RingSize

NAME = "weaving-stand"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 4.0
MOST_INNER_MM = 30.0
# Wrists rest on the table. Common practice, no source.
_HEIGHT_MM = 90.0
LEAST_HEIGHT_MM, MOST_HEIGHT_MM = 70.0, 220.0
_MOST_PINS = 60

_SCREW = THREADS["M4"]
_POST_MM = 8.0
_LEG_MM = 36.0
_BASE_MM = (110.0, 80.0, 6.0)
_SOCKET_MM = 24.0
_SOCKET_WALL_MM = 8.0
_HEAD_MM = 26.0
_BAR_MM = 5.0
_GROOVE_MM = 10.0
_HEEL_MM = 5.0
# Below the top: the screws of the bar.
_SCREWS_MM = 16.0
_SCREWS_APART_MM = 60.0
_EDGE_MM = 12.0
# Share of a pin that lies in its groove.
_SUNK = 0.6
_BEVEL_MM = 1.5


@dataclass(frozen=True)
class Start:
    """What a piece begins with.

    Attributes
    ----------
    rings : how many rings are held, each on a pin
    pitch_mm : from one to the next; 0 for a single one
    size : their size
    spare_eye : whether such a ring takes more rings further on in the piece, so that a pin as
        thick as their wire takes the place of one
    what : in words
    """

    rings: int
    pitch_mm: float
    size: RingSize
    spare_eye: bool
    what: str


@dataclass(frozen=True)
class WeavingStand:
    """The stand's dimensions.

    Attributes
    ----------
    start : the rings it holds
    pin_mm, pin_long_mm : diameter and length of a pin
    pitch_mm : from pin to pin, where there are several
    above_mm : how far a pin stands out
    groove_mm : width and depth of its groove
    height_mm : from the table to the top of the post
    wide_mm : of its head
    screws : how many hold the bar
    clearance_mm : around the post in its socket
    letter_mm : height of letters
    """

    start: Start
    pin_mm: float
    pin_long_mm: float
    pitch_mm: float
    above_mm: float
    groove_mm: tuple[float, float]
    height_mm: float
    wide_mm: float
    screws: int
    clearance_mm: float
    letter_mm: float

    @property
    def heel_mm(self) -> float:
        """How far a pin stands out of its groove: between the bar and the post."""
        return self.pin_mm - self.groove_mm[1]

    @property
    def screws_at_mm(self) -> tuple[float, ...]:
        """Where along the bar its screws are."""
        far = self.wide_mm / 2.0 - _EDGE_MM / 2.0 - 1.0
        step = 2.0 * far / (self.screws - 1)
        return tuple(-far + step * index for index in range(self.screws))


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_woven

    add_woven(parser)
    parser.add_argument(
        "--length", metavar="LENGTH", help="length of a sheet's first row, which hangs on the pins"
    )
    parser.add_argument(
        "--height",
        default=f"{_HEIGHT_MM:g}mm",
        metavar="SIZE",
        help="height of the pins above the table (default %(default)s)",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_weave

    height_mm = parse_length(options.height, "height")
    length_mm = None if options.length is None else parse_length(options.length, "length")
    return build(dimensions(start_of(asked_weave(options), length_mm), printer, height_mm))


def start_of(report: Report, length_mm: float | None = None) -> Start:
    """The rings a weave is started from: its rule's, or else its first row, of one name.

    Parameters
    ----------
    length_mm : of a sheet's first row; it needs one

    Raises
    ------
    BadInput
        For a sheet without a length, or another weave with one.
    """
    import numpy as np

    from ringwright.piece.piece import expected_links, piece_of_length, woven_piece

    rule, core_mm = report.rule, report.size.core_radius_mm
    row = rule.family.has_rows and not rule.start
    if row and length_mm is None:
        raise BadInput(f"{rule.name} is a sheet: give the --length of its first row, e.g. 60mm.")
    if not row and length_mm is not None:
        raise BadInput(
            f"--length is for sheets that start from a row, and {rule.name} starts from "
            f"{len(rule.start) or 1} rings; leave it out."
        )
    if length_mm is not None:
        _, repeats = piece_of_length(rule, report.unit, core_mm, length_mm)
        piece = woven_piece(rule, report.unit, core_mm, repeats)
        held = []
    else:
        piece = woven_piece(rule, report.unit, core_mm, 1)
        held = list(range(len(rule.start)))
    if not held:
        # Around a tube, or the first ring of what has no row.
        held = _first_row(piece.roles, [name.split(".")[0] for name in piece.names])
    apart = np.linalg.norm(np.diff(piece.centres_mm[held], axis=0), axis=1)
    name = piece.names[held[0]].split(".")[0]
    here = sum(piece.names[held[0]] in pair for pair in expected_links(rule, piece))
    in_all = sum((link.first.name == name) + (link.second.name == name) for link in rule.links)
    return Start(
        rings=len(held),
        pitch_mm=float(apart.min(initial=np.inf)) if len(held) > 1 else 0.0,
        size=_size(piece, held[0]),
        spare_eye=here < in_all,
        what=_words(len(held), list(dict.fromkeys(piece.names[at].split(".")[0] for at in held))),
    )


def _words(rings: int, names: list[str]) -> str:
    return f"the first {'ring' if rings == 1 else f'{rings} rings'}, {' and '.join(names)}"


def _first_row(roles: tuple[str, ...], names: list[str]) -> list[int]:
    """The closed rings of a row, those of one name; without any, its first ones."""
    name = next((n for n, role in zip(names, roles, strict=True) if role == "closed"), names[0])
    return [index for index, each in enumerate(names) if each == name]


def _size(piece: Any, index: int) -> RingSize:
    from ringwright.base.sizes import RingSize

    wire_mm = 2.0 * float(piece.wire_radii_mm[index])
    return RingSize(round(wire_mm, 6), round(2.0 * float(piece.core_radii_mm[index]) - wire_mm, 6))


def dimensions(start: Start, printer: Printer, height_mm: float = _HEIGHT_MM) -> WeavingStand:
    """The stand for the rings that a piece begins with.

    Raises
    ------
    BadInput
        For rings or a height that no printed stand suits, and rows that do not fit the bed.
    """
    size = start.size
    if not LEAST_WIRE_MM <= size.wire_mm <= MOST_WIRE_MM or size.inner_mm > MOST_INNER_MM:
        raise BadInput(
            f"A weaving stand is for wire of {LEAST_WIRE_MM:g} to {MOST_WIRE_MM:g} mm and rings "
            f"up to {MOST_INNER_MM:g} mm inside, not {size.wire_mm:.3g} mm and "
            f"{size.inner_mm:.3g} mm; hold the first rings in a ring clamp."
        )
    if not LEAST_HEIGHT_MM <= height_mm <= MOST_HEIGHT_MM:
        raise BadInput(
            f"a stand of {height_mm:g} mm is outside {LEAST_HEIGHT_MM:g} to {MOST_HEIGHT_MM:g} "
            "mm; give another --height."
        )
    pin_mm = size.wire_mm if start.spare_eye else 0.5 * size.wire_mm
    if pin_mm >= size.inner_mm:
        raise BadInput(
            f"a pin of {pin_mm:.3g} mm does not go through a ring of {size.inner_mm:.3g} mm; take "
            "larger rings."
        )
    layer_mm = printer.layer_height_mm
    groove_mm = (
        pin_mm + 2.0 * printer.clearance_mm,
        max(1, round(_SUNK * pin_mm / layer_mm)) * layer_mm,
    )
    if groove_mm[1] >= pin_mm:
        groove_mm = (groove_mm[0], _SUNK * pin_mm)
    # Grooves need a wall between them, however near the rings lie in the piece.
    pitch_mm = 0.0
    if start.rings > 1:
        pitch_mm = max(start.pitch_mm, groove_mm[0] + printer.least_wall_mm)
    wide_mm = max(_LEG_MM + 12.0, (start.rings - 1) * pitch_mm + 2.0 * _EDGE_MM)
    long_mm = max(printer.bed_mm[:2])
    if start.rings > _MOST_PINS or wide_mm > long_mm:
        raise BadInput(
            f"A row of {start.rings} pins, {wide_mm:.0f} mm wide, does not fit the bed or is more "
            f"than {_MOST_PINS} pins; give a shorter --length and let the rest of the row hang "
            "free."
        )
    if height_mm > long_mm:
        raise BadInput(
            f"A stand {height_mm:.0f} mm high does not fit the bed; give a lower --height or a "
            "larger --bed."
        )
    above_mm = max(5.0, 2.0 * size.wire_mm + 3.0)
    return WeavingStand(
        start=start,
        pin_mm=pin_mm,
        pin_long_mm=_GROOVE_MM + above_mm,
        pitch_mm=pitch_mm,
        above_mm=above_mm,
        groove_mm=groove_mm,
        height_mm=height_mm,
        wide_mm=wide_mm,
        screws=max(2, math.ceil((wide_mm - _EDGE_MM) / _SCREWS_APART_MM) + 1),
        clearance_mm=printer.clearance_mm,
        letter_mm=letter_height_mm(printer),
    )


def build(stand: WeavingStand) -> Jig:
    """The jig of these dimensions.

    The frame: z up from the table, the weaver sits at negative y, the post's front is y = 0.
    """
    import cadquery as cq

    post, bar, base = _post(stand), _bar(stand), _base(stand)
    front = -stand.heel_mm - _BAR_MM
    short = _screw_mm(_BAR_MM + stand.heel_mm + _POST_MM)
    long = _screw_mm(_POST_MM + 2.0 * (_SOCKET_WALL_MM + stand.clearance_mm))
    shorts, longs = f"cap screw M4 x {short:g}", f"cap screw M4 x {long:g}"
    if shorts == longs:
        counts = {shorts: (short, stand.screws + 1)}
    else:
        counts = {shorts: (short, stand.screws), longs: (long, 1)}
    bought = [
        Bought("pins", "", stand.start.rings, _pins(stand), note=_pin_note(stand)),
        *(
            Bought(name, "ISO 4762", count, screw(_SCREW, length))
            for name, (length, count) in counts.items()
        ),
        Bought("nut M4", "ISO 4032", stand.screws + 1, nut(_SCREW)),
    ]
    placed = [
        Placed("base", "base", cq.Location(), (0, 0, -30)),
        Placed("post", "post", cq.Location()),
        Placed("bar", "bar", cq.Location(), (0, -25, 0)),
        Placed("pins", "pins", cq.Location(), (0, -8, 22)),
    ]
    mating = [
        Mating("post", "pins", 0.0, "pins lie in grooves"),
        Mating("bar", "pins", 0.0, "bar holds pins"),
        Mating("post", "bar", 0.0, "heel on post"),
        Mating("base", "post", 0.0, "shoulders on socket"),
    ]
    z_mm = stand.height_mm - _SCREWS_MM
    for index, x_mm in enumerate(stand.screws_at_mm, start=1):
        placed += [
            Placed(f"screw-{index}", shorts, _along_y(x_mm, front, z_mm), (0, -50, 0)),
            Placed(f"nut-{index}", "nut M4", _along_y(x_mm, _POST_MM, z_mm, True), (0, 30, 0)),
        ]
    reach = _SOCKET_WALL_MM + stand.clearance_mm
    cross_z = _BASE_MM[2] + _SOCKET_MM / 2.0
    placed += [
        Placed("cross-screw", longs, _along_y(0.0, -reach, cross_z), (0, -40, -30)),
        Placed("cross-nut", "nut M4", _along_y(0.0, _POST_MM + reach, cross_z, True),
               (0, 40, -30)),
    ]  # fmt: skip
    return Jig(
        name=NAME,
        title="Weaving stand",
        parts=(post, bar, base),
        bought=tuple(bought),
        placed=tuple(placed),
        mating=tuple(mating),
        use=_use(stand),
        cautions=(
            "The pins point up: round and polish their ends, and push a cork or a bead of wax "
            "over them when you stop, so that nobody leans into them. Wear eye protection.",
            "Clamp or screw the base to the table before pulling; it tips otherwise.",
            "Rings and pins are small enough to choke a child.",
        ),
        remarks=(
            f"Holds {stand.start.what}. "
            + (
                "Further on in the piece such a ring takes more rings than at its start, so a pin "
                "as thick as their wire goes in."
                if stand.start.spare_eye
                else "All rings go through such a ring from the start, so the pin is half as thick "
                "as their wire; whether it goes in beside them was not computed."
            ),
            *_spread(stand),
            "A pin of soft wire bends when pulled; work-harden it by twisting, or take spring "
            "wire or a dressmaker's pin of that thickness.",
            f"Hand height is the maker's choice (default {_HEIGHT_MM:g} mm: common practice, no "
            "source).",
        ),
        facts={
            "rings_held": stand.start.rings,
            "pin_mm": stand.pin_mm,
            "pin_long_mm": stand.pin_long_mm,
            "pin_above_the_post_mm": stand.above_mm,
            **({"pin_pitch_mm": stand.pitch_mm} if stand.start.rings > 1 else {}),
            "groove_width_and_depth_mm": list(stand.groove_mm),
            "height_mm": stand.height_mm,
            "head_wide_mm": stand.wide_mm,
        },
    )


def _spread(stand: WeavingStand) -> tuple[str, ...]:
    if stand.pitch_mm <= stand.start.pitch_mm:
        return ()
    return (
        f"Pins nearer than the printer can make grooves are spread, here from "
        f"{stand.start.pitch_mm:.3g} to {stand.pitch_mm:.3g} mm: the first rings lie a little "
        "wider than in the piece.",
    )


def _use(stand: WeavingStand) -> tuple[str, ...]:
    rings = stand.start.rings
    cut = "a pin" if rings == 1 else f"{rings} pins"
    return (
        f"Cut {cut} of {stand.pin_long_mm:.3g} mm, straight, and round "
        f"{'its' if rings == 1 else 'their'} ends.",
        "Put the post into the base and bolt it with the long screw and a nut. Screw or clamp the "
        "base to the table.",
        f"Lay {'the pin into its' if rings == 1 else 'a pin into every'} groove, down to its end, "
        f"put the bar over {'it' if rings == 1 else 'them'}, its lip below, and tighten the screws "
        "by turns, just so far that no pin can be drawn.",
        f"Hang {stand.start.what}, over the {'pin' if rings == 1 else 'pins, one on each'}, and "
        "weave towards you; the piece hangs over the bevelled edge of the bar.",
        "Take the piece off by lifting the first rings; the pins stay.",
    )


def _pin_note(stand: WeavingStand) -> str:
    what = "offcuts of the weave's own wire" if stand.start.spare_eye else "stiff wire"
    return f"{what}, {stand.pin_mm:.3g} mm, {stand.pin_long_mm:.3g} mm long"


def _screw_mm(grip_mm: float) -> float:
    """The least length in steps of 5 mm that passes a nut."""
    return math.ceil((grip_mm + _SCREW.nut_mm + 1.0) / 5.0) * 5.0


def _along_y(x_mm: float, y_mm: float, z_mm: float, back: bool = False) -> cq.Location:
    """Where the local z axis points at the weaver, or ``back`` from them."""
    import cadquery as cq

    up = cq.Vector(0, 1 if back else -1, 0)
    return cq.Location(cq.Plane(cq.Vector(x_mm, y_mm, z_mm), cq.Vector(1, 0, 0), up))


def _pins_at_mm(stand: WeavingStand) -> list[float]:
    middle = (stand.start.rings - 1) / 2.0
    return [(index - middle) * stand.pitch_mm for index in range(stand.start.rings)]


def _pins(stand: WeavingStand) -> cq.Shape:
    import cadquery as cq

    radius = stand.pin_mm / 2.0
    y_mm, z_mm = stand.groove_mm[1] - radius, stand.height_mm - _GROOVE_MM
    made = [
        cq.Solid.makeCylinder(radius, stand.pin_long_mm, cq.Vector(x_mm, y_mm, z_mm))
        for x_mm in _pins_at_mm(stand)
    ]
    return cq.Compound.makeCompound(made)


def _post(stand: WeavingStand) -> Part:
    """A plate in the shape of a T, printed on its back, with grooves in its front."""
    import cadquery as cq

    wide, leg, top = stand.wide_mm / 2.0, _LEG_MM / 2.0, stand.height_mm
    low, slope = top - _HEAD_MM, stand.wide_mm / 2.0 - _LEG_MM / 2.0
    slope = min(slope, low - _BASE_MM[2] - _SOCKET_MM - 8.0)
    tenon, shoulder = leg - 4.0, _BASE_MM[2] + _SOCKET_MM
    half = [
        (wide, top),
        (wide, low),
        (leg, low - slope),
        (leg, shoulder),
        (tenon, shoulder),
        (tenon, 0.5),
    ]
    outline = half + [(-x, z) for x, z in reversed(half)]
    body = cq.Workplane("XZ").polyline(outline).close().extrude(-_POST_MM)
    tools = [_bore(x_mm, top - _SCREWS_MM, -1.0, _POST_MM + 2.0) for x_mm in stand.screws_at_mm]
    tools.append(_bore(0.0, _BASE_MM[2] + _SOCKET_MM / 2.0, -1.0, _POST_MM + 2.0))
    width, deep = stand.groove_mm
    for x_mm in _pins_at_mm(stand):
        corner = cq.Vector(x_mm - width / 2.0, -1.0, top - _GROOVE_MM)
        tools.append(cq.Solid.makeBox(width, deep + 1.0, _GROOVE_MM + 1.0, corner))
    made = body.val().cut(*tools).Solids()[0]
    return Part("post", made, ORANGE, turns=(("x", -90.0),))


def _bar(stand: WeavingStand) -> Part:
    """The bar over the pins, with a lip below that lies on the post; printed on its front."""
    import cadquery as cq

    wide, top, heel = stand.wide_mm, stand.height_mm, stand.heel_mm
    low = top - _HEAD_MM
    front = -heel - _BAR_MM
    side = (
        cq.Workplane("YZ", origin=(-wide / 2.0, 0, 0))
        .moveTo(-heel, top)
        .lineTo(-heel, low + _HEEL_MM)
        .lineTo(0.0, low + _HEEL_MM)
        .lineTo(0.0, low)
        .lineTo(front, low)
        .lineTo(front, top - _BEVEL_MM)
        .lineTo(front + _BEVEL_MM, top)
        .close()
        .extrude(wide)
    )
    bores = [
        _bore(x_mm, top - _SCREWS_MM, front - 1.0, _BAR_MM + heel + 2.0)
        for x_mm in stand.screws_at_mm
    ]
    return Part("bar", side.val().cut(*bores).Solids()[0], SKY, turns=(("x", 90.0),))


def _bore(x_mm: float, z_mm: float, from_mm: float, long_mm: float) -> cq.Solid:
    """A screw's clearance hole along y."""
    import cadquery as cq

    start, along = cq.Vector(x_mm, from_mm, z_mm), cq.Vector(0, 1, 0)
    return cq.Solid.makeCylinder(_SCREW.hole_mm / 2.0, long_mm, start, along)


def _base(stand: WeavingStand) -> Part:
    """A plate with a socket for the post, and holes for screws into the table."""
    import cadquery as cq

    from ringwright.jigs.parts.prisms import prism, rounded

    wide, deep, thick = _BASE_MM
    middle = _POST_MM / 2.0
    plate = prism(rounded(wide, deep, 6.0), 0.0, thick)
    slot = (_LEG_MM - 8.0 + 2.0 * stand.clearance_mm, _POST_MM + 2.0 * stand.clearance_mm)
    outside = (slot[0] + 2.0 * _SOCKET_WALL_MM, slot[1] + 2.0 * _SOCKET_WALL_MM)
    high = thick + _SOCKET_MM
    holes = [
        cq.Solid.makeCylinder(_SCREW.hole_mm / 2.0, thick + 2.0, cq.Vector(x, y, -1.0))
        for x in (-wide / 2.0 + 9.0, wide / 2.0 - 9.0)
        for y in (-deep / 2.0 + 9.0, deep / 2.0 - 9.0)
    ]
    made = plate.fuse(prism(rounded(*outside, 3.0), 0.0, high)).cut(
        prism(rounded(*slot, 1e-3), -1.0, high + 1.0),
        _teardrop(thick + _SOCKET_MM / 2.0, outside[1] + 2.0),
        *holes,
    )
    here = made.clean().Solids()[0].moved(cq.Location(cq.Vector(0, middle, 0)))
    return Part("base", here, BLUE, _base_labels(stand))


def _base_labels(stand: WeavingStand) -> tuple[Label, ...]:
    """Which rings the stand is for, in front of its socket: wire and inner diameter."""
    from ringwright.jigs.parts.lettering import raised

    size = stand.start.size
    _, deep, thick = _BASE_MM
    # Half way between the socket and the edge.
    y_mm = (_POST_MM / 2.0 - deep / 2.0 - _SOCKET_WALL_MM) / 2.0
    words = f"{size.wire_mm:.2f} / {size.inner_mm:.2f}"
    return (raised(words, (0.0, y_mm, thick), stand.letter_mm),)


def _teardrop(z_mm: float, long_mm: float) -> cq.Shape:
    """A screw's hole along y with a roof of 45 degrees, about the middle of the base."""
    import cadquery as cq

    radius = _SCREW.hole_mm / 2.0
    edge = radius / math.sqrt(2.0)
    made = (
        cq.Workplane("XZ", origin=(0, long_mm / 2.0, z_mm))
        .moveTo(-edge, edge)
        .threePointArc((0.0, -radius), (edge, edge))
        .lineTo(0.0, radius * math.sqrt(2.0))
        .close()
        .extrude(long_mm)
    )
    return made.val()
