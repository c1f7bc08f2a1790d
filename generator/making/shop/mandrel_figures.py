"""The figures of a choice of mandrel: the one wanted, and what its neighbours make."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ringwright.base.figures import EXACT, LEFT_OUT, Figures, LeftOut, Said, Unit, read_from
from ringwright.making.shop.mandrel_choice import EITHER, NEITHER, MandrelChoice, Wound
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


def _rounding(choice: ChoiceFigures, said: Said) -> str:
    """Which way to the mandrel to take."""
    if choice.chosen_mm is None:
        return "no" if choice.safe_rounding == NEITHER else ""
    side = "" if choice.safe_rounding == EITHER else f"{choice.safe_rounding} "
    return f"{side}to {said(choice.chosen_mm, _MM)}"


@dataclass(frozen=True)
class ChoiceFigures(Figures[Choosing]):
    """The mandrel wanted for a wire, and its neighbours."""

    wire: str | LeftOut = _wire(lambda wire: wire.name, "the wire, where there are several")
    springback_from: str | LeftOut = _wire(
        lambda wire: wire.bending.source,
        "where its springback is known from",
    )
    aspect_ratio_wanted: float = _of(lambda one: one.choice.target, "to aim at", EXACT)
    mandrel_wanted_mm: float = _of(
        lambda one: one.choice.exact_mm, "that hits it", Unit("mm", 9, shown=3), head="mandrel"
    )
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
    safe_rounding: str = _of(
        lambda one: one.choice.safe, "up, down, either or neither", head="round", words=_rounding
    )
    why: str = _of(lambda one: one.choice.why, "a sentence")
    chosen_mm: float | None = _of(
        lambda one: one.choice.chosen.mandrel_mm if one.choice.chosen else None,
        "the neighbour to take; null for neither",
        _MM,
    )

    @property
    def chosen(self) -> WoundFigures | None:
        """The neighbour to take, if any."""
        found = [one for one in (self.down, self.up) if one and one.mandrel_mm == self.chosen_mm]
        return found[0] if found else None
