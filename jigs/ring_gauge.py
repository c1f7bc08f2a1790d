"""Ring gauge: a stepped plug for inner diameters around the target, and slots for wire."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.jigs.parts.jig import BLUE, ORANGE, VERMILLION, Bought, Jig, Mating, Part, Placed
from ringwright.jigs.parts.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

NAME = "ring-gauge"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 4.0
LEAST_INNER_MM, MOST_INNER_MM = 1.4, 30.0
# Steps below and above the target.
_STEPS = 2
# From one to the next, and from which diameter on a wider one.
_STEP_MM, _WIDE_STEP_MM, _WIDE_MM = 0.1, 0.2, 6.0
_LINE_MM = 8.5
_PLATE_MM = 3.0
_MARGIN_MM = 4.0
_SLOT_DEEP_MM = 10.0
_SLOT_STEP_MM = 0.1
_SLOTS_TALL_MM = _SLOT_DEEP_MM + 5.0 + 3.0 * _MARGIN_MM
# The arrow beside the size of the plan: along and across its point.
_ARROW_MM = (4.5, 4.0)
# What is measured is drawn so far off the gauge, for the kernel's sake.
_OFF_MM = 0.01


@dataclass(frozen=True)
class RingGauge:
    """The gauge's dimensions.

    Attributes
    ----------
    steps_mm : diameters of the plug from the bottom up, largest first
    step_height_mm : height of every step
    slots_mm : widths of the slots, narrowest first
    target_mm : the ring's inner diameter, one of the steps
    wire_mm : one of the slots
    """

    target_mm: float
    wire_mm: float
    steps_mm: tuple[float, ...]
    step_height_mm: float
    slots_mm: tuple[float, ...]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_ring

    add_ring(parser)
    parser.add_argument(
        "--step",
        metavar="SIZE",
        help="step from one diameter of the plug to the next (default "
        f"{defaults.typed(_STEP_MM)}, and {defaults.typed(_WIDE_STEP_MM)} from "
        f"{defaults.typed(_WIDE_MM)} on)",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_ring

    size = asked_ring(options)
    step_mm = None if options.step is None else parse_length(options.step, "step")
    return build(dimensions(size.wire_mm, size.inner_mm, printer, step_mm))


def dimensions(
    wire_mm: float, inner_mm: float, printer: Printer, step_mm: float | None = None
) -> RingGauge:
    """The gauge for a wire and an inner diameter.

    Raises
    ------
    BadInput
        For sizes that a printed gauge cannot show.
    """
    if not LEAST_WIRE_MM <= wire_mm <= MOST_WIRE_MM:
        raise BadInput(
            f"A printed gauge shows wire of {LEAST_WIRE_MM:g} to {MOST_WIRE_MM:g} mm, not "
            f"{wire_mm:.3g} mm; measure it with calipers."
        )
    if not LEAST_INNER_MM <= inner_mm <= MOST_INNER_MM:
        raise BadInput(
            f"A printed plug shows inner diameters of {LEAST_INNER_MM:g} to {MOST_INNER_MM:g} mm, "
            f"not {inner_mm:.3g} mm; measure them with calipers."
        )
    if step_mm is None:
        step_mm = _STEP_MM if inner_mm < _WIDE_MM else _WIDE_STEP_MM
    steps = tuple(inner_mm + step_mm * offset for offset in range(_STEPS, -_STEPS - 1, -1))
    if steps[-1] < printer.least_wall_mm:
        raise BadInput(
            f"With steps of {step_mm:g} mm the thin end of the plug is {steps[-1]:.3g} mm, less "
            f"than two beads ({printer.least_wall_mm:g} mm), and too weak; give a smaller --step."
        )
    # A gap narrower than the printer's clearance closes while it is printed.
    slots = tuple(
        width
        for offset in range(-_STEPS, _STEPS + 1)
        if (width := wire_mm + _SLOT_STEP_MM * offset) >= printer.clearance_mm - 1e-9
    )
    return RingGauge(
        target_mm=inner_mm,
        wire_mm=wire_mm,
        steps_mm=steps,
        # A ring must sit on one step, clear of the next.
        step_height_mm=printer.whole_layers_mm(max(3.0 * wire_mm, 2.4)),
        slots_mm=slots,
    )


def build(gauge: RingGauge) -> Jig:
    """The jig of these dimensions."""
    import cadquery as cq

    plug, slots = _plug(gauge), _slots(gauge)
    apart_mm = plug.solid.BoundingBox().ymin - slots.solid.BoundingBox().ymax - 6.0
    ring, wire = _ring(gauge), _wire(gauge)
    placed = [
        Placed("plug", "plug", cq.Location()),
        Placed("wire-slots", "wire-slots", cq.Location(cq.Vector(0, apart_mm, 0)), (0, -10, 0)),
        Placed("ring", ring.name, cq.Location(), (0, 0, 3.5 * gauge.step_height_mm + 6.0)),
    ]
    mating = [Mating("ring", "plug", _OFF_MM, "ring on the step of its size (drawn off it)")]
    if wire is not None:
        at = cq.Location(cq.Vector(0, apart_mm, 0))
        placed.append(Placed("wire", wire.name, at, (0, -10.0 - 2.0 * _SLOT_DEEP_MM, 0)))
        mating.append(
            Mating("wire", "wire-slots", _OFF_MM, "wire in the slot of its size (thinner)")
        )
    return Jig(
        name=NAME,
        title="Ring gauge",
        parts=(plug, slots),
        bought=(ring,) if wire is None else (ring, wire),
        placed=tuple(placed),
        mating=tuple(mating),
        use=(
            "Print both parts flat, as they are in the files; do not scale them.",
            "Before first use measure every step and slot with calipers and write down what "
            "it is; a printed diameter is easily 0.1 mm off.",
            "Slide a closed ring down the plug without force: its inner diameter lies between "
            "the last step it passes and the step it stops on. The lines on the plate "
            "name the steps in their order, the topmost step in the top line.",
            "The arrow on either part points at the size of the plan.",
            "Pass the wire through the slots from wide to narrow: it is about as thick as the "
            "narrowest slot it passes.",
        ),
        cautions=(
            "Cut ends of wire and rings are sharp; deburr rings before trying them on.",
            "A thin plug snaps when it falls; do not use it as a mandrel.",
        ),
        remarks=(
            "A printed gauge is for a quick check; calipers decide. Printed outsides and slots "
            "are off by about 0.1 mm, which is as much as one step (common practice, no source).",
        ),
        facts={
            "target_inner_mm": round(gauge.target_mm, 4),
            "wire_mm": round(gauge.wire_mm, 4),
            "plug_diameters_mm": [round(step, 4) for step in gauge.steps_mm],
            "step_height_mm": gauge.step_height_mm,
            "slot_widths_mm": [round(slot, 4) for slot in gauge.slots_mm],
            "slot_depth_mm": _SLOT_DEEP_MM,
        },
    )


def _stand_mm(gauge: RingGauge) -> float:
    """The room that the plug stands in."""
    return max(gauge.steps_mm[0], 6.0)


def _names_mm(gauge: RingGauge) -> float:
    """The room that the list of diameters takes, with its arrow before it."""
    from ringwright.jigs.parts.lettering import width_mm

    return max(width_mm(_label(step)) for step in gauge.steps_mm) + _ARROW_MM[0] + 2.0


def _plug_x_mm(gauge: RingGauge) -> float:
    """Where the plug stands along its plate, which is about the origin."""
    return -(_names_mm(gauge) + _MARGIN_MM) / 2.0


def _label(value_mm: float) -> str:
    return f"{value_mm:.2f}"


def _plug(gauge: RingGauge) -> Part:
    """A plate with the list of diameters, and the plug standing at its left end."""
    import cadquery as cq

    from ringwright.jigs.parts.lettering import raised

    names = [_label(step) for step in reversed(gauge.steps_mm)]
    wide_mm = _names_mm(gauge)
    stand_mm = _stand_mm(gauge)
    tall_mm = max(len(names) * _LINE_MM, stand_mm) + 2.0 * _MARGIN_MM
    long_mm = stand_mm + wide_mm + 3.0 * _MARGIN_MM
    body = _plate(long_mm, tall_mm)
    x_mm = _plug_x_mm(gauge)
    for index, step in enumerate(gauge.steps_mm):
        top = _PLATE_MM + (index + 1) * gauge.step_height_mm
        # From inside the plate, so that all of them are one body.
        pin = cq.Solid.makeCylinder(step / 2.0, top - _PLATE_MM / 2.0)
        body = body.fuse(pin.moved(cq.Location(cq.Vector(x_mm, 0, _PLATE_MM / 2.0))))
    right = long_mm / 2.0 - _MARGIN_MM
    lines = [(index, name) for index, name in enumerate(names)]
    first = (len(names) - 1) * _LINE_MM / 2.0
    labels = [
        raised(name, (right, first - i * _LINE_MM, _PLATE_MM), 5.0, "right") for i, name in lines
    ]
    beside_mm = right - wide_mm + _ARROW_MM[0] / 2.0
    body = body.fuse(_arrow(beside_mm, first - _STEPS * _LINE_MM, 0.0)).clean()
    return Part(
        "plug",
        body.Solids()[0],
        ORANGE,
        tuple(labels),
        note="three walls or more; slow down for the plug so that it cools",
    )


def _slots(gauge: RingGauge) -> Part:
    """A plate with slots along one edge, each with its width above it."""
    import cadquery as cq

    from ringwright.jigs.parts.lettering import raised

    names = [_label(slot) for slot in gauge.slots_mm]
    long_mm = _pitch_mm(gauge) * len(names)
    body = cq.Workplane(obj=_plate(long_mm, _SLOTS_TALL_MM))
    low = -_SLOTS_TALL_MM / 2.0
    if gauge.wire_mm in gauge.slots_mm:
        above_mm = _SLOT_DEEP_MM + _MARGIN_MM + 6.2 + _ARROW_MM[0] / 2.0
        arrow = _arrow(_slot_x_mm(gauge, gauge.wire_mm), low + above_mm, -90.0)
        body = body.union(cq.Workplane(obj=arrow))
    labels = []
    for slot, name in zip(gauge.slots_mm, names, strict=True):
        x_mm = _slot_x_mm(gauge, slot)
        cut = (
            cq.Workplane("XY", origin=(x_mm, low, 0))
            .moveTo(-slot / 2.0 - 1.2, -1.0)
            .lineTo(-slot / 2.0 - 1.2, 0.0)
            .lineTo(-slot / 2.0, 1.2)
            .lineTo(-slot / 2.0, _SLOT_DEEP_MM)
            .lineTo(slot / 2.0, _SLOT_DEEP_MM)
            .lineTo(slot / 2.0, 1.2)
            .lineTo(slot / 2.0 + 1.2, 0.0)
            .lineTo(slot / 2.0 + 1.2, -1.0)
            .close()
            .extrude(_PLATE_MM)
        )
        body = body.cut(cut)
        y_mm = low + _SLOT_DEEP_MM + _MARGIN_MM + 2.5
        labels.append(raised(name, (x_mm, y_mm, _PLATE_MM)))
    return Part("wire-slots", body.val(), BLUE, tuple(labels))


def _pitch_mm(gauge: RingGauge) -> float:
    """From slot to slot: room for their numbers, and for walls between them."""
    from ringwright.jigs.parts.lettering import width_mm

    letters_mm = max(width_mm(_label(slot)) for slot in gauge.slots_mm)
    return max(letters_mm + 4.0, max(gauge.slots_mm) + 6.0)


def _slot_x_mm(gauge: RingGauge, slot_mm: float) -> float:
    """Where a slot's middle is along the plate."""
    middle = (len(gauge.slots_mm) - 1) / 2.0
    return (gauge.slots_mm.index(slot_mm) - middle) * _pitch_mm(gauge)


def _arrow(x_mm: float, y_mm: float, turn_deg: float) -> cq.Solid:
    """An arrow on a plate that points to +x, turned about its middle; none of its corners thin."""
    import cadquery as cq

    from ringwright.jigs.parts.lettering import RAISED_MM

    long, half = _ARROW_MM[0] / 2.0, _ARROW_MM[1] / 2.0
    made = (
        cq.Workplane("XY", origin=(0, 0, _PLATE_MM / 2.0))
        .polyline([(-long, -half), (long - half, -half), (long, 0), (long - half, half),
                   (-long, half)])
        .close()
        .extrude(_PLATE_MM / 2.0 + RAISED_MM)
    )  # fmt: skip
    place = cq.Location(cq.Vector(x_mm, y_mm, 0), cq.Vector(0, 0, 1), turn_deg)
    return made.val().moved(place)


def _ring(gauge: RingGauge) -> Bought:
    """A ring of the plan's size, come to rest on its step of the plug."""
    import cadquery as cq

    wire = gauge.wire_mm / 2.0
    core = gauge.target_mm / 2.0 + wire + _OFF_MM
    steps = len(gauge.steps_mm) - 1 - _STEPS
    # On the shoulder of the next larger step, of which it touches the edge.
    z_mm = _PLATE_MM + steps * gauge.step_height_mm + wire + _OFF_MM
    at = cq.Vector(_plug_x_mm(gauge), 0, z_mm)
    return Bought(
        f"ring {gauge.target_mm:.3g} mm inside, wire {gauge.wire_mm:.3g} mm",
        "",
        1,
        cq.Solid.makeTorus(core, wire, at, cq.Vector(0, 0, 1)),
        VERMILLION,
        "your own: what is tried on",
    )


def _wire(gauge: RingGauge) -> Bought | None:
    """Wire of the plan's size in its slot; None where the slot is too narrow to be printed."""
    import cadquery as cq

    if gauge.wire_mm not in gauge.slots_mm:
        return None
    y_mm = -_SLOTS_TALL_MM / 2.0 + 0.5 * _SLOT_DEEP_MM
    at = cq.Vector(_slot_x_mm(gauge, gauge.wire_mm), y_mm, -10.0)
    return Bought(
        f"wire {gauge.wire_mm:.3g} mm",
        "",
        1,
        cq.Solid.makeCylinder(gauge.wire_mm / 2.0 - _OFF_MM, 30.0, at),
        VERMILLION,
        "your own: what is tried on",
    )


def _plate(long_mm: float, tall_mm: float) -> cq.Solid:
    """A plate on z = 0 about the origin, its corners rounded."""
    import cadquery as cq

    made = cq.Workplane("XY").rect(long_mm, tall_mm).extrude(_PLATE_MM).edges("|Z").fillet(2.5)
    return made.val()
