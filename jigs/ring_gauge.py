"""Ring gauge: a stepped plug for inner diameters around the target, and slots for wire."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING

from generator.errors import BadInput
from jigs.jig import BLUE, ORANGE, Jig, Part, Placed
from jigs.printing import Printer

if TYPE_CHECKING:
    import cadquery as cq

NAME = "ring-gauge"

LEAST_WIRE_MM, MOST_WIRE_MM = 0.3, 4.0
LEAST_INNER_MM, MOST_INNER_MM = 1.4, 30.0
# Steps below and above the target.
_STEPS = 2
_LINE_MM = 8.5
_PLATE_MM = 3.0
_MARGIN_MM = 4.0
_SLOT_DEEP_MM = 10.0
_SLOT_STEP_MM = 0.1


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
    from jigs.options import add_ring

    add_ring(parser)
    parser.add_argument(
        "--step",
        metavar="SIZE",
        help="from one diameter of the plug to the next (default 0.1mm, from 6 mm on 0.2mm)",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from generator.sizes import parse_length
    from jigs.options import asked_ring

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
        step_mm = 0.1 if inner_mm < 6.0 else 0.2
    steps = tuple(inner_mm + step_mm * offset for offset in range(_STEPS, -_STEPS - 1, -1))
    if steps[-1] < printer.least_wall_mm:
        raise BadInput(
            f"With steps of {step_mm:g} mm the thin end of the plug is {steps[-1]:.3g} mm, less "
            f"than two beads ({printer.least_wall_mm:g} mm); give a smaller --step."
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
    return Jig(
        name=NAME,
        title="Ring gauge",
        parts=(plug, slots),
        bought=(),
        placed=(
            Placed("plug", "plug", cq.Location(), (0.0, 8.0, 0.0)),
            Placed("wire-slots", "wire-slots", cq.Location(cq.Vector(0, apart_mm, 0))),
        ),
        mating=(),
        use=(
            "Print both parts flat, as they are in the files; do not scale them.",
            "Before first use measure every step and slot with calipers and write down what "
            "it is; a printed diameter is easily 0.1 mm off.",
            "Slide a closed ring down the plug without force: its inner diameter lies between "
            "the last step it passes and the step it stops on. The lines on the plate "
            "name the steps in their order, the topmost step in the top line; the underlined one "
            "is the target.",
            "Pass the wire through the slots from wide to narrow: it is about as thick as the "
            "narrowest slot it passes.",
        ),
        cautions=(
            "Cut ends of wire and rings are sharp; deburr rings before trying them on.",
            "A thin plug snaps when it falls; do not use it as a mandrel.",
        ),
        remarks=(
            "A print is a go/no-go aid, calipers decide: printed outsides and slots are off by "
            "about 0.1 mm, which is as much as one step (common practice, no source).",
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


def _label(value_mm: float) -> str:
    return f"{value_mm:.2f}"


def _plug(gauge: RingGauge) -> Part:
    """A plate with the list of diameters, and the plug standing at its left end."""
    import cadquery as cq

    from jigs.lettering import raised, width_mm

    names = [_label(step) for step in reversed(gauge.steps_mm)]
    wide_mm = max(width_mm(name) for name in names)
    stand_mm = max(gauge.steps_mm[0], 6.0)
    tall_mm = max(len(names) * _LINE_MM, stand_mm) + 2.0 * _MARGIN_MM
    long_mm = stand_mm + wide_mm + 3.0 * _MARGIN_MM
    plate = _plate(long_mm, tall_mm)
    left = -long_mm / 2.0
    x_mm = left + _MARGIN_MM + stand_mm / 2.0
    body = plate
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
    bar = cq.Workplane(
        "XY", origin=(right - wide_mm / 2.0, first - (_STEPS + 0.5) * _LINE_MM, 0)
    ).box(wide_mm, 1.0, _PLATE_MM + 0.6, centered=(True, True, False))
    body = body.fuse(bar.val()).clean()
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

    from jigs.lettering import raised, width_mm

    names = [_label(slot) for slot in gauge.slots_mm]
    pitch_mm = max(width_mm(name) for name in names) + 4.0
    pitch_mm = max(pitch_mm, max(gauge.slots_mm) + 6.0)
    long_mm = pitch_mm * len(names)
    tall_mm = _SLOT_DEEP_MM + 5.0 + 3.0 * _MARGIN_MM
    body = cq.Workplane(obj=_plate(long_mm, tall_mm))
    low = -tall_mm / 2.0
    labels = []
    for index, (slot, name) in enumerate(zip(gauge.slots_mm, names, strict=True)):
        x_mm = (index - (len(names) - 1) / 2.0) * pitch_mm
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


def _plate(long_mm: float, tall_mm: float) -> cq.Solid:
    """A plate on z = 0 about the origin, its corners rounded."""
    import cadquery as cq

    made = cq.Workplane("XY").rect(long_mm, tall_mm).extrude(_PLATE_MM).edges("|Z").fillet(2.5)
    return made.val()
