"""Wire and ring: typed, or dragged."""

from __future__ import annotations

from generator.bench.elements import Field, Slider, heading
from generator.bench.session import Session
from generator.errors import BadInput
from generator.sizes import RingSize, parse_length

_WIRES_MM = (0.3, 3.5)
_RATIOS = (1.5, 12.0)


def build(session: Session) -> None:
    """Fields for wire and inner diameter, and sliders for wire and ratio."""
    heading("Ring")
    try:
        begin = session.wanted.size()
    except BadInput:
        begin = RingSize(0.9, 3.2)

    wire = Field(
        "Wire",
        session.wanted.wire,
        lambda text: session.change(wire=text.strip()),
        hint="as 0.9mm, 18awg or 20swg",
        autocomplete="off",
    )
    inner = Field(
        "Inner diameter",
        session.wanted.inner,
        lambda text: session.change(inner=text.strip()),
        hint="as 3.2mm or 1/8in",
        autocomplete="off",
    )

    def drag_wire(wire_mm: float) -> None:
        session.change(wire=f"{wire_mm:g}mm")

    def drag_ratio(ratio: float) -> None:
        try:
            wire_mm = parse_length(session.wanted.wire, "wire")
        except BadInput:
            return
        session.change(inner=f"{round(ratio * wire_mm, 3):g}mm")

    wires = Slider(
        *("Wire, dragged", *_WIRES_MM, 0.05, begin.wire_mm, drag_wire),
        lambda value: f"{value:.2f} mm",
    )
    ratios = Slider(
        *("Aspect ratio", *_RATIOS, 0.01, begin.aspect_ratio, drag_ratio),
        lambda value: f"{value:.2f}",
    )

    def refresh() -> None:
        wire.put(session.wanted.wire)
        inner.put(session.wanted.inner)
        for field, text, what in (
            (wire, session.wanted.wire, "wire"),
            (inner, session.wanted.inner, "inner diameter"),
        ):
            try:
                parse_length(text, what)
                field.complain("")
            except BadInput as trouble:
                field.complain(str(trouble))
        try:
            size = session.wanted.size()
        except BadInput as trouble:
            inner.complain(str(trouble))
            return
        wires.put(round(size.wire_mm, 3))
        ratios.put(round(size.aspect_ratio, 3))

    session.on_wanted.append(refresh)
