"""The figures of a choice of mandrel: the one wanted, and what its neighbours make."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.base.figures import EXACT, EXACT_MM, LEFT_OUT, Figures, LeftOut, Unit, read_from
from ringwright.making.shop.mandrel_choice import MandrelChoice, Wound
from ringwright.making.shop.shop import ShopWire

_MM = Unit("mm")
_wound = read_from(Wound)


@dataclass(frozen=True)
class WoundFigures(Figures[Wound]):
    """A mandrel tried on paper."""

    mandrel_mm: float = _wound(lambda wound: wound.mandrel_mm, "its diameter", _MM)
    aspect_ratios: tuple[float, float, float] | None = _wound(
        lambda wound: None if math.isnan(wound.ratios[1]) else wound.ratios,
        "with the least, the likeliest and the most springback; null where it makes no ring",
        EXACT,
    )
    verdict: str = _wound(lambda wound: wound.verdict, "the worst of the three")


def _wound_figures(wound: Wound | None) -> WoundFigures | None:
    return None if wound is None else WoundFigures.of(wound)


@dataclass(frozen=True)
class Choosing:
    """A choice of mandrel, and the wire it is for where there are several."""

    choice: MandrelChoice
    wire: ShopWire | None = None


_of = read_from(Choosing)
_wire = _of.part(lambda one: one.wire, LEFT_OUT)


@dataclass(frozen=True)
class ChoiceFigures(Figures[Choosing]):
    """The mandrel wanted for a wire, and its neighbours."""

    wire: str | LeftOut = _wire(lambda wire: wire.name, "the wire, where there are several")
    springback_from: str | LeftOut = _wire(
        lambda wire: wire.bending.source,
        "where its springback is known from",
    )
    aspect_ratio_wanted: float = _of(lambda one: one.choice.target, "to aim at", EXACT)
    mandrel_wanted_mm: float = _of(lambda one: one.choice.exact_mm, "that hits it", EXACT_MM)
    works_from_mm: float | None = _of(
        lambda one: one.choice.lowest_mm,
        "the smallest that works whatever the springback; null for none",
        _MM,
    )
    works_to_mm: float | None = _of(
        lambda one: one.choice.highest_mm, "and the largest; null for none", _MM
    )
    down: WoundFigures | None = _of(
        lambda one: _wound_figures(one.choice.down), "the next smaller one; null for none"
    )
    up: WoundFigures | None = _of(
        lambda one: _wound_figures(one.choice.up), "the next larger one; null for none"
    )
    safe_rounding: str = _of(lambda one: one.choice.safe, "up, down, either or neither")
    why: str = _of(lambda one: one.choice.why, "a sentence")
    chosen_mm: float | None = _of(
        lambda one: one.choice.chosen.mandrel_mm if one.choice.chosen else None,
        "the neighbour to take; null for neither",
        _MM,
    )
