"""The figures of a weave in other wires."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.answers.check_figures import (
    MEASURED_MM,
    SEARCHED,
    SEARCHED_WORKING,
    working_span,
)
from ringwright.answers.second_figures import SecondFigures, second_figures
from ringwright.base.figures import EXACT, RINGS, Figures, Unit, read_from
from ringwright.making.shop.mandrel_figures import ChoiceFigures, Choosing
from ringwright.making.shop.regauge import Regauged

_SHOWN_MM, _LONG_MM = Unit("mm", 9, shown=3), Unit("mm", 9, shown=1)

_wire = read_from(Regauged)
_layout = _wire.part(lambda one: one.layout, None)


@dataclass(frozen=True)
class WireFigures(Figures[Regauged]):
    """The weave in one wire."""

    wire: str = _wire(lambda one: one.wire_text, "as it was typed", head="wire")
    wire_mm: float = _wire(
        lambda one: one.report.size.wire_mm, "wire diameter", _SHOWN_MM, head="mm"
    )
    inner_mm: float = _wire(
        lambda one: one.report.size.inner_mm, "inner diameter", _SHOWN_MM, head="inner"
    )
    second_rings: tuple[SecondFigures, ...] = _wire(
        lambda one: second_figures(one.report.rule, one.report.size), "rings of other sizes"
    )
    verdict: str = _wire(lambda one: one.report.verdict, "whether it can be woven")
    min_aspect_ratio: float = _wire(
        lambda one: one.report.limits.minimum,
        "the smallest at which the weave exists; geometry only",
        SEARCHED,
    )
    working_min_aspect_ratio: float | None = _wire(
        lambda one: one.report.limits.working,
        "the smallest at which every ring can be put in; null if unknown",
        SEARCHED_WORKING,
    )
    limit_aspect_ratios: tuple[float, float] = _wire(
        lambda one: one.report.limits.limit_range,
        "below the first no ring sold so closes it, from the second every one does",
        SEARCHED,
    )
    working_aspect_ratios: tuple[float, float] | None = _wire(
        lambda one: working_span(one.report.limits), "the working range; null if empty", SEARCHED
    )
    repeat_mm: float | None = _wire(
        lambda one: one.report.repeat_mm, "one repeat, pulled straight", _SHOWN_MM, head="repeat"
    )
    width_mm: float | None = _wire(
        lambda one: one.report.width_mm, "width", MEASURED_MM, head="width"
    )
    thickness_mm: float | None = _wire(
        lambda one: one.report.thickness_mm, "thickness", MEASURED_MM, head="thick"
    )
    rings_per_m: float | None = _wire(
        lambda one: one.rings_per_m, "in a metre", Unit("1/m", 6, shown=0), head="rings/m"
    )
    mass_g_per_m: float | None = _wire(
        lambda one: one.mass_g_per_m, "of a metre", Unit("g/m", 6, shown=1), head="g/m"
    )
    rings_total: int | None = _layout(
        lambda layout: layout.rings,
        "in the piece; null where no length was given",
        RINGS,
        head="rings",
    )
    length_mm: float | None = _layout(
        lambda layout: layout.length_mm, "of the piece", _LONG_MM, head="length"
    )
    mandrel: ChoiceFigures | None = _wire(
        lambda one: ChoiceFigures.of(Choosing(one.mandrel)) if one.mandrel else None,
        "the mandrel wanted; null where the springback is not known or none makes it",
    )


@dataclass(frozen=True)
class Wires:
    """The weave in each wire; the first is what is now."""

    found: Sequence[Regauged]


_of = read_from(Wires)


@dataclass(frozen=True)
class RegaugeFigures(Figures[Wires]):
    """A weave in several wires at one aspect ratio."""

    weave: str = _of(lambda wires: wires.found[0].report.rule.name, "the weave's name")
    aspect_ratio: float = _of(
        lambda wires: wires.found[0].report.size.aspect_ratio, "kept in all wires", EXACT
    )
    verdict: str = _of(lambda wires: wires.found[0].report.verdict, "of what is now")
    wires: tuple[WireFigures, ...] = _of(
        lambda wires: tuple(map(WireFigures.of, wires.found)), "the first is what is now"
    )
