"""Wire and ring: typed, or dragged; by the inner diameter or by the mandrel."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.base.sizes import MM_PER_INCH, RingSize, parse_length
from ringwright.page.choosing import second_rings
from ringwright.page.session import Session
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.units import (
    GAUGES,
    INCH,
    gauge_mm,
    nearest_gauge,
    said_length,
    typed,
    typed_in_full,
)
from ringwright.page.widgets.elements import Choice, Field, Slider, heading
from ringwright.page.worked_out.ring_from_mandrel import ring_of

_WIRES_MM = (0.3, 3.5)
# What wire is sold in by the millimetre: common practice, no source.
_WIRES_SOLD_MM = (
    *(0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.2, 1.3, 1.4, 1.5, 1.6, 1.8, 2.0, 2.3, 2.5, 3.0),
    3.5,
)
_MANDRELS_MM = (0.5, 20.0)
# What sliders go in, in millimetres and in inches.
_WIRE_STEP = {"mm": 0.05, INCH: 0.001}
_MANDREL_STEP = {"mm": 0.05, INCH: 0.002}
_BY_INNER, _BY_MANDREL = "inner", "mandrel"


def build(session: Session) -> None:
    """Fields and sliders for the wire, and for the ring one way or the other."""
    heading("Ring")
    with ui.element("div").classes("pair"):
        with ui.element("div"):
            _Wire(session)
        with ui.element("div"):
            by = Choice(
                "Ring given by",
                {_BY_INNER: "its inner diameter", _BY_MANDREL: "its mandrel"},
                _way(session.wanted),
                lambda way: session.change(**_other_way(session, way)),
            )
            inner, mandrel = _Inner(session), _Mandrel(session)
    second_rings.build(session)

    def refresh() -> None:
        way = _way(session.wanted)
        by.put(way)
        inner.show(way == _BY_INNER)
        mandrel.show(way == _BY_MANDREL)

    session.on_wanted.listen(refresh)
    refresh()


def _way(wanted: Wanted) -> str:
    return _BY_MANDREL if wanted.mandrel else _BY_INNER


def _other_way(session: Session, way: str) -> dict[str, str]:
    """The same ring, as near as it is typed, given the other way."""
    wanted = session.wanted
    if way == _BY_INNER:
        inner = wanted.inner
        with suppress(BadInput):
            inner = typed(wanted.size().inner_mm, wanted.lengths)
        return {"mandrel": "", "inner": inner}
    with suppress(BadInput):
        made = ring_of(replace(wanted, mandrel=""), session.shop).made
        if made is not None:
            return {"mandrel": typed(round(made.mandrel_mm, 2), wanted.lengths)}
    return {"mandrel": wanted.inner}


def _begin(session: Session) -> RingSize:
    """Where sliders stand before anything is known."""
    with suppress(BadInput):
        return session.wanted.size()
    return RingSize(0.9, 3.2)


class _Wire:
    """The wire, in a field and on a slider, which goes by gauges where the maker does."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._shelf = Choice("Wire from the shelf", {}, "", lambda name: session.change(shelf=name))
        self._field = Field(
            "Wire",
            session.wanted.wire,
            lambda text: session.change(wire=text.strip(), shelf=""),
            complete=session.wire_typed,
            autocomplete="off",
        )
        units = session.wanted.units
        self._slider = Slider(
            *("Wire, dragged", *self._bounds(), self._place(_begin(session).wire_mm)),
            lambda place: session.change(wire=self._typed(place), shelf=""),
            lambda place: units.wire(self._wire_mm(place)),
        )
        session.on_wanted.listen(self.refresh)
        session.on_shop.listen(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        wanted, wires = self._session.wanted, self._session.shop.wires
        self._shelf.field.set_visibility(bool(wires))
        kept = {one.name: f"{one.name}, {wanted.units.wire(one.wire_mm)}" for one in wires}
        self._shelf.offer({"": "another, as typed", **kept}, wanted.shelf)
        self._field.put(wanted.wire)
        try:
            wire_mm = parse_length(wanted.wire, "wire")
        except BadInput as trouble:
            self._field.complain(str(trouble))
            return
        said = wanted.units.wire(wire_mm)
        self._field.complain("", f"{said}. Type e.g. 0.9mm, 18awg, 20swg or 0.04in")
        self._slider.bounds(*self._bounds())
        self._slider.stop_at(self._stops())
        self._slider.put(self._place(wire_mm), said)

    @property
    def _unit(self) -> str:
        return self._session.wanted.wires

    def _bounds(self) -> tuple[float, float, float]:
        if self._unit in GAUGES:
            gauges = GAUGES[self._unit]
            # Thicker to the right, as in millimetres; gauges count the other way.
            return -gauges[0], -gauges[-1], 1
        low, high = (_in_unit(end, self._unit) for end in _WIRES_MM)
        return low, high, _WIRE_STEP[self._unit]

    def _stops(self) -> list[float]:
        """What is on the shelf, or is sold; a gauge is."""
        if self._unit in GAUGES:
            return []
        shelf = {one.wire_mm for one in self._session.shop.wires}
        if not shelf and self._unit == INCH:
            return []
        return sorted(self._place(one) for one in shelf or _WIRES_SOLD_MM)

    def _place(self, wire_mm: float) -> float:
        if self._unit in GAUGES:
            return -nearest_gauge(wire_mm, self._unit)
        return round(_in_unit(wire_mm, self._unit), 4)

    def _wire_mm(self, place: float) -> float:
        if self._unit in GAUGES:
            return gauge_mm(-round(place), self._unit)
        return _of_unit(place, self._unit)

    def _typed(self, place: float) -> str:
        if self._unit in GAUGES:
            return f"{-round(place)}{self._unit}"
        return typed(_of_unit(place, self._unit), self._unit)


class _Inner:
    """The inner diameter; it is dragged on the scale below the model."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._field = Field(
            "Inner diameter",
            session.wanted.inner,
            lambda text: session.change(inner=text.strip(), mandrel=""),
            complete=session.length_typed,
            autocomplete="off",
        )
        session.on_wanted.listen(self.refresh)

    def show(self, visible: bool) -> None:
        self._field.field.set_visibility(visible)

    def refresh(self) -> None:
        wanted = self._session.wanted
        if wanted.mandrel:
            return
        self._field.put(wanted.inner)
        try:
            inner_mm = parse_length(wanted.inner, "inner diameter")
            wanted.size()
        except BadInput as trouble:
            # What is wrong with the wire is said at the wire.
            with suppress(BadInput):
                parse_length(wanted.wire, "wire")
                self._field.complain(str(trouble))
            return
        said = wanted.units.length(inner_mm)
        self._field.complain("", f"{said}. Type e.g. 3.2mm or 1/8in")


class _Mandrel:
    """The mandrel, from the shelf, in a field and on a slider."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._shelf = Choice(
            "Mandrel from the shelf", {}, "", lambda text: session.change(mandrel=text)
        )
        self._field = Field(
            "Mandrel",
            session.wanted.mandrel,
            # Nothing typed is no mandrel; the other way of giving a ring is chosen above.
            lambda text: session.change(mandrel=text.strip() or session.wanted.mandrel),
            complete=session.length_typed,
            autocomplete="off",
        )
        self._slider = Slider(
            *("Mandrel, dragged", *self._bounds(), 3.0, self._drag),
            lambda place: said_length(_of_unit(place, self._unit), self._unit),
        )
        self._visible = False
        session.on_wanted.listen(self.refresh)
        session.on_shop.listen(self.refresh)

    @property
    def _unit(self) -> str:
        return self._session.wanted.lengths

    def _bounds(self) -> tuple[float, float, float]:
        low, high = (_in_unit(end, self._unit) for end in _MANDRELS_MM)
        return low, high, _MANDREL_STEP[self._unit]

    def _drag(self, place: float) -> None:
        self._session.change(mandrel=typed(_of_unit(place, self._unit), self._unit))

    def show(self, visible: bool) -> None:
        self._visible = visible
        self._field.field.set_visibility(visible)
        self._slider.field.set_visibility(visible)
        self._offer()

    def _offer(self) -> None:
        """The shop's mandrels, the nearest text to a choice being its size."""
        wanted = self._session.wanted
        kept = {
            typed_in_full(one.mandrel_mm): _mandrel_words(
                one.name, wanted.units.length(one.mandrel_mm)
            )
            for one in self._session.shop.mandrels
        }
        self._shelf.field.set_visibility(self._visible and bool(kept))
        self._shelf.offer({"": "another", **kept}, wanted.mandrel if wanted.mandrel in kept else "")

    def refresh(self) -> None:
        wanted = self._session.wanted
        if not wanted.mandrel:
            return
        self._offer()
        self._field.put(wanted.mandrel)
        try:
            mandrel_mm = parse_length(wanted.mandrel, "mandrel")
        except BadInput as trouble:
            self._field.complain(str(trouble))
            return
        said = wanted.units.length(mandrel_mm)
        self._field.complain("", f"{said}. Measure it: a 3 mm rod is rarely 3.00 mm")
        self._slider.bounds(*self._bounds())
        self._slider.put(round(_in_unit(mandrel_mm, self._unit), 4), said)


def _mandrel_words(name: str, said: str) -> str:
    return said if name.replace(" ", "") == said.replace(" ", "") else f"{name}, {said}"


def _in_unit(length_mm: float, unit: str) -> float:
    return length_mm / MM_PER_INCH if unit == INCH else length_mm


def _of_unit(length: float, unit: str) -> float:
    return length * MM_PER_INCH if unit == INCH else length
