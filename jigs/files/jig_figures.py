"""The figures of a jig: its dimensions, the printer, and what was measured on its parts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.base.figures import Figures, Unit, read_from
from ringwright.jigs.checks.overhangs import Overhang
from ringwright.jigs.checks.printability import JigCheck, PairCheck, PartCheck
from ringwright.jigs.parts.jig import Bought, Dimensions, Jig
from ringwright.jigs.parts.printing import Printer

_MM, _MM3, _DEGREES = Unit("mm"), Unit("mm3"), Unit("degrees")
_COUNT = Unit("pieces")

_printer = read_from(Printer)


@dataclass(frozen=True)
class PrinterFigures(Figures[Printer]):
    """A filament printer and how it is set."""

    bed_mm: tuple[float, float, float] = _printer(lambda one: one.bed_mm, "room, x y z", _MM)
    nozzle_mm: float = _printer(lambda one: one.nozzle_mm, "bore of the nozzle", _MM)
    extrusion_width_mm: float = _printer(
        lambda one: one.extrusion_width_mm, "width of one bead", _MM
    )
    layer_height_mm: float = _printer(lambda one: one.layer_height_mm, "of one layer", _MM)
    clearance_mm: float = _printer(
        lambda one: one.clearance_mm, "per side, at which parts move freely", _MM
    )
    least_wall_mm: float = _printer(lambda one: one.least_wall_mm, "thinnest wall allowed", _MM)
    filament_g_per_cm3: float = _printer(
        lambda one: one.density_g_cm3, "of the filament", Unit("g/cm3")
    )
    walls: int = _printer(lambda one: one.walls, "beads around every layer")
    infill: float = _printer(lambda one: one.infill, "share of the inside that is filled")
    speed_mm_s: float = _printer(lambda one: one.speed_mm_s, "mean speed", Unit("mm/s"))


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


_hanging = read_from(Overhang)


@dataclass(frozen=True)
class OverhangFigures(Figures[Overhang]):
    """A surface that looks down more than a printer can do without support."""

    angle_deg: float = _hanging(
        lambda one: one.angle_deg, "from the vertical, at the worst", _DEGREES
    )
    area_mm2: float = _hanging(lambda one: one.area_mm2, "of the surface", Unit("mm2"))
    low_mm: float = _hanging(lambda one: one.low_mm, "lowest point above the bed", _MM)
    reach_mm: float | None = _hanging(
        lambda one: _finite(one.reach_mm), "beyond the layer below; null for no support", _MM
    )
    span_mm: float | None = _hanging(
        lambda one: _finite(one.span_mm), "from support to support; null for one side alone", _MM
    )
    kind: str = _hanging(lambda one: one.kind, "bridge, lip or overhang")


_part = read_from(PartCheck)


@dataclass(frozen=True)
class PartFigures(Figures[PartCheck]):
    """What was measured on one part."""

    name: str = _part(lambda part: part.name, "its name")
    count: int = _part(lambda part: part.count, "to print", _COUNT)
    closed: bool = _part(lambda part: part.closed, "whether its mesh has no holes")
    oriented: bool = _part(lambda part: part.oriented, "whether all triangles look outwards")
    volumes: int = _part(lambda part: part.volumes, "separate bodies")
    mesh_mm3: float = _part(lambda part: part.mesh_mm3, "volume of the triangles", _MM3)
    solid_mm3: float = _part(lambda part: part.solid_mm3, "volume of the exact solid", _MM3)
    stroke_mm: float | None = _part(
        lambda part: part.stroke_mm, "thinnest stroke of its letters; null without any", _MM
    )
    overhangs: tuple[OverhangFigures, ...] = _part(
        lambda part: tuple(map(OverhangFigures.of, part.overhangs)), "what hangs over"
    )
    size_mm: tuple[float, float, float] = _part(
        lambda part: part.size_mm, "as it lies on the bed, x y z", _MM
    )
    grams: float = _part(lambda part: part.grams, "of filament for one, rough", Unit("g"))
    minutes: float = _part(lambda part: part.minutes, "to print one, rough", Unit("min"))
    smallest_wall_mm: float = _part(lambda part: part.wall.mm, "thinnest wall", _MM)


_pair = read_from(PairCheck)


@dataclass(frozen=True)
class MatingFigures(Figures[PairCheck]):
    """The gap between two parts."""

    first: str = _pair(lambda pair: pair.first, "one of them")
    second: str = _pair(lambda pair: pair.second, "the other")
    what: str = _pair(lambda pair: pair.what, "what the gap is for")
    designed_mm: float = _pair(lambda pair: pair.designed_mm, "as it is designed", _MM)
    measured_mm: float = _pair(lambda pair: pair.measured_mm, "as it was measured", _MM)
    overlap_mm3: float = _pair(lambda pair: pair.overlap_mm3, "in which they overlap", _MM3)


_item = read_from(Bought)


@dataclass(frozen=True)
class BoughtFigures(Figures[Bought]):
    """A bought item."""

    item: str = _item(lambda item: item.name, "its name")
    standard: str | None = _item(lambda item: item.standard or None, "null where there is none")
    count: int = _item(lambda item: item.count, "to buy", _COUNT)
    note: str | None = _item(lambda item: item.note or None, "what to look for")


@dataclass(frozen=True, eq=False)
class Checked:
    """A jig that was measured, for a printer, and its files; None for one not written."""

    jig: Jig
    checked: JigCheck
    printer: Printer
    files: Mapping[str, str | None]


_of = read_from(Checked)


@dataclass(frozen=True)
class JigFigures(Figures[Checked]):
    """A jig."""

    jig: str = _of(lambda one: one.jig.name, "as in the list of jigs")
    title: str = _of(lambda one: one.jig.title, "as a heading")
    dimensions: Dimensions = _of(
        lambda one: one.jig.facts, "its dimensions, which are the jig's own; units in the names"
    )
    printer: PrinterFigures = _of(
        lambda one: PrinterFigures.of(one.printer), "the printer it is made for"
    )
    parts: tuple[PartFigures, ...] = _of(
        lambda one: tuple(map(PartFigures.of, one.checked.parts)), "the printed parts"
    )
    mating: tuple[MatingFigures, ...] = _of(
        lambda one: tuple(map(MatingFigures.of, one.checked.pairs)), "gaps between them"
    )
    bought: tuple[BoughtFigures, ...] = _of(
        lambda one: tuple(map(BoughtFigures.of, one.jig.bought)), "what to buy"
    )
    use: tuple[str, ...] = _of(lambda one: one.jig.use, "how to build and use it")
    cautions: tuple[str, ...] = _of(lambda one: one.jig.cautions, "what can hurt")
    remarks: tuple[str, ...] = _of(lambda one: one.jig.remarks, "what the figures are worth")
    files: Mapping[str, str | None] = _of(
        lambda one: one.files, "the files written, by kind; null for pictures not drawn"
    )
