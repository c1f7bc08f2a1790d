"""Coil-cutting cradle: a V-block with a stop and two clamp bars that guide a hand saw.

x runs along the coil, its axis is y = z = 0, z is up. The saw runs along x between the bars
and cuts the top of every turn; its back comes to rest on the bars before it reaches the other
side. No powered blade.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.jigs.parts.hardware import THREADS
from ringwright.jigs.parts.jig import (
    BLUE,
    ORANGE,
    VERMILLION,
    Bought,
    Jig,
    Label,
    Mating,
    Part,
    Placed,
)
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.parts.solids import block, facing, hexagon, teardrop

if TYPE_CHECKING:
    import cadquery as cq

NAME = "cutting-cradle"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 3.5
LEAST_INNER_MM, MOST_INNER_MM = 1.2, 30.0
SHORTEST_COIL_MM, LONGEST_COIL_MM = 20.0, 200.0
LEAST_KERF_MM, MOST_KERF_MM = 0.15, 1.5
# Where nothing else is asked for.
_COIL_MM, _SAW_MM = 60.0, 15.0

_STOP_MM = 6.0
_TONGUE_MM = 3.0
_SHOULDER_MM = 8.0
_LOWEST_BAR_MM = 8.0
# The saw goes this far beyond the wire, or to the coil's middle.
_BEYOND_MM = 3.0
_KEEL_MM = (24.0, 16.0)
# The coil is drawn so much smaller in radius, for the kernel's sake.
_OFF_MM = 0.01
# ISO 4762 goes in these lengths (from memory).
_LENGTHS_MM = (20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0)


@dataclass(frozen=True)
class CuttingCradle:
    """The cradle's dimensions in millimetres.

    Attributes
    ----------
    inner_mm, wire_mm, coil_mm : the coil's
    kerf_mm : what the saw takes away; as thick as its set teeth
    slot_mm : between the bars
    saw_mm : how far the blade reaches below its back
    bar_mm : from the coil's top to the top of the bars
    clearance_mm : per side, of the bars in the block
    """

    inner_mm: float
    wire_mm: float
    coil_mm: float
    kerf_mm: float
    slot_mm: float
    saw_mm: float
    bar_mm: float
    clearance_mm: float

    @property
    def radius_mm(self) -> float:
        """The coil's outer radius."""
        return self.inner_mm / 2.0 + self.wire_mm

    @property
    def face_mm(self) -> float:
        """From the coil's axis down to the block's top, and up to the bars' lower side."""
        return min(0.35 * self.radius_mm, 1.5)

    @property
    def vee_mm(self) -> float:
        """Half the width of the V at the block's top."""
        return self.radius_mm * math.sqrt(2.0) - self.face_mm

    @property
    def screw_y_mm(self) -> float:
        """From the middle to the screws."""
        head = THREADS["M4"].head_mm / 2.0
        return max(self.vee_mm, _KEEL_MM[0] / 2.0) + head + 1.0

    @property
    def groove_mm(self) -> tuple[float, float]:
        """From where to where the groove beside the screws goes."""
        near = self.screw_y_mm + THREADS["M4"].corners_mm / 2.0 + 2.0
        return near, near + _TONGUE_MM + 2.0 * self.clearance_mm

    @property
    def half_mm(self) -> float:
        """Half the block's width."""
        return self.groove_mm[1] + 3.0

    @property
    def tongue_mm(self) -> float:
        """How deep the bars' tongues reach below the block's top."""
        return 3.0

    @property
    def low_mm(self) -> float:
        """From the coil's axis down to the block's lower side, above the keel."""
        return max(self.radius_mm * math.sqrt(2.0) + 6.0, self.face_mm + 16.0)

    @property
    def screw_mm(self) -> float:
        """Length of the screws: the longest that does not reach below the block."""
        room = self.face_mm + _SHOULDER_MM + self.low_mm
        return max(each for each in _LENGTHS_MM if each <= room)

    @property
    def depth_mm(self) -> float:
        """How far below the coil's top the saw comes."""
        return self.saw_mm - self.bar_mm


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_ring

    add_ring(parser)
    parser.add_argument(
        "--coil-length",
        default=defaults.typed(_COIL_MM),
        metavar="SIZE",
        help="longest coil (default %(default)s)",
    )
    parser.add_argument(
        "--kerf",
        default=defaults.typed(defaults.KERF_MM),
        metavar="SIZE",
        help="what the saw takes away (default %(default)s)",
    )
    parser.add_argument(
        "--saw-depth",
        default=defaults.typed(_SAW_MM),
        metavar="SIZE",
        help="how far the blade reaches below its back (default %(default)s)",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_ring

    size = asked_ring(options)
    return build(
        dimensions(
            size.inner_mm,
            size.wire_mm,
            printer,
            coil_mm=parse_length(options.coil_length, "coil length"),
            kerf_mm=parse_length(options.kerf, "kerf"),
            saw_mm=parse_length(options.saw_depth, "saw depth"),
        )
    )


def dimensions(
    inner_mm: float,
    wire_mm: float,
    printer: Printer,
    coil_mm: float = _COIL_MM,
    kerf_mm: float = defaults.KERF_MM,
    saw_mm: float = _SAW_MM,
) -> CuttingCradle:
    """The cradle for a coil and a saw.

    Raises
    ------
    BadInput
        For sizes out of range, and for a saw whose blade is not deep enough.
    """
    for what, value, least, most in (
        ("wire", wire_mm, LEAST_WIRE_MM, MOST_WIRE_MM),
        ("inner diameter", inner_mm, LEAST_INNER_MM, MOST_INNER_MM),
        ("coil length", coil_mm, SHORTEST_COIL_MM, LONGEST_COIL_MM),
        ("kerf", kerf_mm, LEAST_KERF_MM, MOST_KERF_MM),
    ):
        if not least <= value <= most:
            raise BadInput(
                f"A {what} of {value:.4g} mm is outside {least:g} to {most:g} mm, for which this "
                "cradle is made; cut by other means."
            )
    # The blade ends inside the coil, well above the other side of every ring.
    depth = wire_mm + min(inner_mm / 2.0, _BEYOND_MM)
    if saw_mm < _LOWEST_BAR_MM + depth:
        raise BadInput(
            f"A saw of {saw_mm:.4g} mm below its back does not reach through the bars "
            f"({_LOWEST_BAR_MM:g} mm) and the wire; take one of {_LOWEST_BAR_MM + depth:.3g} mm."
        )
    return CuttingCradle(
        inner_mm=inner_mm,
        wire_mm=wire_mm,
        coil_mm=coil_mm,
        kerf_mm=kerf_mm,
        slot_mm=kerf_mm + printer.clearance_mm,
        saw_mm=saw_mm,
        bar_mm=saw_mm - depth,
        clearance_mm=printer.clearance_mm,
    )


def block_solid(size: CuttingCradle) -> cq.Shape:
    """The V-block: the stop from x = -6 to 0, the coil's place from there on."""
    import cadquery as cq

    face, vee = -size.face_mm, size.vee_mm
    ends = (-_STOP_MM, size.coil_mm)
    made: Any = block(ends, (-size.half_mm, size.half_mm), (-size.low_mm, face))
    keel, deep = _KEEL_MM
    made = made.fuse(
        block(ends, (-keel / 2.0, keel / 2.0), (-size.low_mm - deep, -size.low_mm))
    ).clean()
    # The V's bottom is flat for a bead or so, clear of the coil.
    flat = min(0.3, 0.2 * size.radius_mm)
    vee_cut = (
        cq.Workplane("YZ")
        .moveTo(-vee - 1.0, face + 1.0)
        .lineTo(-flat, face - vee + flat)
        .lineTo(flat, face - vee + flat)
        .lineTo(vee + 1.0, face + 1.0)
        .close()
        .extrude(size.coil_mm + 1.0)
    )
    near, far = size.groove_mm
    # Room for the bars to come down on a coil that is a little thinner.
    floor = face - size.tongue_mm - 2.5 * size.clearance_mm
    m4 = THREADS["M4"]
    # Where the screws' ends are; nuts sit around them, in pockets from below.
    nut_low = face + 2.0 * size.face_mm + _SHOULDER_MM - size.screw_mm
    tools: list[Any] = [vee_cut.val()]
    for side in (-1.0, 1.0):
        y = (near, far) if side > 0.0 else (-far, -near)
        tools.append(block((-_STOP_MM - 1.0, size.coil_mm + 1.0), y, (floor, face + 1.0)))
        for x_mm in _screws_x_mm(size):
            at = (x_mm, side * size.screw_y_mm, -size.low_mm - 1.0)
            tools.append(teardrop(at, (0, 0, 1), (1, 0, 0), m4.hole_mm, size.low_mm + 2.0))
            deep_mm = nut_low + m4.nut_mm + size.low_mm + 1.0
            tools.append(hexagon(at, (0, 0, 1), (1, 0, 0), m4.flats_mm + 0.3, deep_mm))
    return made.cut(*tools)


def _screws_x_mm(size: CuttingCradle) -> tuple[float, float]:
    return 0.2 * size.coil_mm, 0.8 * size.coil_mm


def bar_solid(size: CuttingCradle) -> cq.Shape:
    """The clamp bar at y > 0; turned round the z axis it is the other one."""
    import cadquery as cq

    near, _ = size.groove_mm
    inner, face = size.slot_mm / 2.0, size.face_mm
    slope = size.radius_mm * math.sqrt(2.0)
    shoulder, top = face + _SHOULDER_MM, size.radius_mm + size.bar_mm
    wall = size.screw_y_mm - THREADS["M4"].head_mm / 2.0 - 0.6
    tongue = (near + size.clearance_mm, near + size.clearance_mm + _TONGUE_MM)
    made = (
        cq.Workplane("YZ")
        .moveTo(inner, slope - inner)
        .lineTo(slope - face, face)
        .lineTo(tongue[0], face)
        .lineTo(tongue[0], -face - size.tongue_mm)
        .lineTo(tongue[1], -face - size.tongue_mm)
        .lineTo(tongue[1], shoulder)
        .lineTo(wall, shoulder)
        .lineTo(wall, top)
        .lineTo(inner, top)
        .close()
        .extrude(size.coil_mm)
        .val()
    )
    hole = THREADS["M4"].hole_mm
    return made.cut(
        *(
            teardrop((x, size.screw_y_mm, face - 1.0), (0, 0, 1), (1, 0, 0), hole, 10.0)
            for x in _screws_x_mm(size)
        )
    )


def build(size: CuttingCradle) -> Jig:
    """The jig of these dimensions."""
    import cadquery as cq

    from ringwright.jigs.parts.hardware import nut, screw

    m4 = THREADS["M4"]
    bar = Part(
        "clamp-bar", bar_solid(size), ORANGE, turns=(("y", -90.0),), note="print both at once"
    )
    body = Part("v-block", block_solid(size), BLUE, _block_labels(size), turns=(("y", -90.0),))
    turns = min(int(size.coil_mm / size.wire_mm) - 1, 24)
    bolt = f"cap screw M4 x {size.screw_mm:g}"
    shoulder = size.face_mm + _SHOULDER_MM
    bought = [
        Bought(bolt, "ISO 4762", 4, screw(m4, size.screw_mm)),
        Bought("nut M4", "ISO 4032", 4, nut(m4)),
        Bought(f"coil {size.inner_mm:.3g} mm inside, wire {size.wire_mm:.3g} mm", "", 1,
               _coil(size, turns), VERMILLION, "to be cut; drawn short"),
        Bought("fine-toothed hand saw with a back", "", 1, _blade(size),
               note=f"blade {size.saw_mm:g} mm below the back, kerf {size.kerf_mm:g} mm"),
    ]  # fmt: skip
    half_turn = cq.Location(cq.Vector(size.coil_mm, 0, 0), cq.Vector(0, 0, 1), 180.0)
    placed = [
        Placed("v-block", "v-block", cq.Location()),
        Placed("front bar", "clamp-bar", half_turn, (0, -30, 18)),
        Placed("back bar", "clamp-bar", cq.Location(), (0, 30, 18)),
        Placed("coil", bought[2].name, cq.Location(), (0, 0, 20)),
        Placed("saw", bought[3].name, cq.Location(), (0, 0, 55)),
    ]
    mating = [
        Mating("coil", "v-block", _OFF_MM, "coil in the V (drawn smaller)"),
        Mating("saw", "back bar", (size.slot_mm - size.kerf_mm) / 2.0, "saw runs between bars"),
        Mating("saw", "front bar", (size.slot_mm - size.kerf_mm) / 2.0, "saw runs between bars"),
    ]
    for name, side in (("front", -1.0), ("back", 1.0)):
        mating += [
            Mating("coil", f"{name} bar", _OFF_MM, "bar on the coil (drawn smaller)"),
            Mating("v-block", f"{name} bar", size.clearance_mm, "tongue in its groove"),
        ]
        for index, x in enumerate(_screws_x_mm(size), start=1):
            head, tail = f"{name} screw {index}", f"{name} nut {index}"
            at = (x, side * size.screw_y_mm, shoulder)
            low = (x, side * size.screw_y_mm, shoulder - size.screw_mm)
            placed += [
                Placed(head, bolt, facing(at, (0, 0, 1), (1, 0, 0)), (0, side * 30.0, 45)),
                Placed(tail, "nut M4", facing(low, (0, 0, 1), (0, 1, 0)), (0, 0, -30)),
            ]
            mating += [
                Mating(f"{name} bar", head, 0.0, "screw head on bar"),
                Mating("v-block", tail, 0.0, "nut in block"),
            ]
    return Jig(
        name=NAME,
        title="Coil-cutting cradle",
        parts=(body, bar),
        bought=tuple(bought),
        placed=tuple(placed),
        mating=tuple(mating),
        use=(
            "Press the nuts into the block from below, and hold the block by its keel in a vice.",
            "Take the coil off its mandrel, cut its ends straight, and lay it in the V against the "
            "stop.",
            "Set the bars on the coil, their tongues in the grooves, and tighten the screws in "
            "turn until the coil no longer turns; the slot is then over its middle.",
            "Put the saw in the slot with a drop of oil or wax and draw it with short, light "
            "strokes along the whole coil, until its back rests on both bars: every turn is then "
            "cut once. Do not saw on without the bars.",
            "Loosen the screws and push the rings off over a rod; deburr them.",
        ),
        cautions=(
            "For a hand saw only: no powered blade, no cutting disc. A spinning blade in a plastic "
            "slot grabs, melts and throws pieces.",
            "Wear eye protection. Cut ends are sharp, and small rings fly off when a coil lets go.",
            "Keep fingers off the slot's ends, where the blade comes out.",
            "Filings of some metals and alloys are harmful: a mask, wiping up wet, clean hands "
            "before eating; follow the safety sheet of the metal.",
        ),
        remarks=(
            f"The saw takes away {size.kerf_mm:g} mm of every ring, which closes to a ring smaller "
            f"by about {size.kerf_mm / math.pi:.2g} mm in diameter.",
            f"With its back on the bars the saw is {size.depth_mm:.2g} mm below the coil's top: "
            f"through the wire and {size.depth_mm - size.wire_mm:.2g} mm beyond.",
            "A coil that is let go opens: measure its outer diameter, and give the inner diameter "
            "it has then.",
        ),
        facts={
            "inner_mm": size.inner_mm,
            "wire_mm": size.wire_mm,
            "coil_outside_mm": 2.0 * size.radius_mm,
            "longest_coil_mm": size.coil_mm,
            "kerf_mm": size.kerf_mm,
            "slot_mm": round(size.slot_mm, 4),
            "saw_below_back_mm": size.saw_mm,
            "saw_below_coil_top_mm": round(size.depth_mm, 4),
            "bars_above_coil_mm": round(size.bar_mm, 4),
            "screw_length_mm": size.screw_mm,
        },
    )  # fmt: skip


def _coil(size: CuttingCradle, turns: int) -> cq.Shape:
    """The coil as rings side by side, from the stop on."""
    import cadquery as cq

    wire = size.wire_mm
    core = size.radius_mm - wire / 2.0 - _OFF_MM
    rings = [
        cq.Solid.makeTorus(
            core, wire / 2.0, cq.Vector(wire * (0.55 + 1.0001 * turn), 0, 0), cq.Vector(1, 0, 0)
        )
        for turn in range(turns)
    ]
    return cq.Compound.makeCompound(rings)


def _blade(size: CuttingCradle) -> cq.Shape:
    """The saw before the first stroke: its blade half a millimetre above the coil."""
    tip = size.radius_mm + 0.5
    half = size.kerf_mm / 2.0
    ends = (-25.0, size.coil_mm + 25.0)
    back = block(ends, (-2.0, 2.0), (tip + size.saw_mm, tip + size.saw_mm + 6.0))
    return block(ends, (-half, half), (tip, tip + size.saw_mm)).fuse(back)


def _block_labels(size: CuttingCradle) -> tuple[Label, ...]:
    """Inner diameter and wire on the keel's end, which is up when printed."""
    from ringwright.jigs.parts.lettering import raised

    labels = []
    for line, words in enumerate((f"{size.inner_mm:.2f}", f"{size.wire_mm:.2f}")):
        label = raised(words, (0.0, 0.0, 0.0))
        at = (size.coil_mm, 0.0, -size.low_mm - 4.0 - 7.5 * line)
        place = facing(at, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
        solids = tuple(solid.moved(place) for solid in label.solids)
        labels.append(Label(words, solids, label.height_mm))
    return tuple(labels)
