"""The figures of a match: what the rings on the shelf make of a weave, ranked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import (
    MEASURED_MM,
    SEARCHED,
    SEARCHED_WORKING,
    working_span,
)
from ringwright.answers.second_figures import OwnRingFigures, own_figures
from ringwright.answers.weave_figures import WeaveFigures
from ringwright.base.figures import (
    EXACT,
    EXACT_MM,
    REPEATS,
    RINGS,
    WORDS,
    Figures,
    Said,
    Unit,
    joined,
    read_from,
)
from ringwright.making.shop.mandrel_choice import MandrelChoice
from ringwright.making.shop.mandrel_figures import ChoiceFigures, Choosing
from ringwright.making.shop.match import Fit, Match, RingsToBuy
from ringwright.making.shop.shop import ShopWire

HOW_FOUND = {
    "inner_mm": "wound on the mandrel, sprung back (bending of a round wire that hardens as it is "
    "bent), less the saw's kerf; of bought rings as stated",
    "min_aspect_ratio": "computed: the tightest ring the weave exists with; geometry only",
    "repeat_mm": "computed: the rings are moved until the chain, pulled straight, gets no longer",
    "mass_g": "2 pi^2 R r^2 for each ring (Pappus) times the metal's density",
    "cost": "of the metal: for wound rings all wire, with kerf, one wasted turn and 40 mm of tail "
    "per coil (common practice, no source); for bought rings the rings of the first size",
}
_MM, _CUT_MM, _WIRE_M = Unit("mm"), Unit("mm", 6), Unit("m", shown=2)
_SHOWN, _SHOWN_MM, _WIDE_MM = Unit("", 9, shown=2), Unit("mm", 9, shown=2), Unit("mm", 6, shown=1)
_GRAMS, _COST = Unit("g", 6, shown=1), Unit("currency", 6, shown=2)


@dataclass(frozen=True)
class _Ranked:
    rank: int
    fit: Fit


_fit = read_from(_Ranked)
_mandrel = _fit.part(lambda one: one.fit.candidate.mandrel, None)
_layout = _fit.part(lambda one: one.fit.layout, None)


def _ratio(fit: FitFigures, said: Said) -> str:
    """The ratio, with a mark where it depends on the springback."""
    return f"{said(fit.aspect_ratio, _SHOWN)}{'' if fit.sure else '~'}"


def _wire_m(fit: FitFigures, said: Said) -> str:
    return said(None if fit.wire_length_mm is None else fit.wire_length_mm / 1000.0, _WIRE_M)


@dataclass(frozen=True)
class FitFigures(Figures[_Ranked]):
    """One way to have rings, and the piece made of them."""

    rank: int = _fit(lambda one: one.rank, "1 is the best", head="rank")
    rings_from: str = _fit(
        lambda one: one.fit.candidate.name, "what to take off the shelf", WORDS, head="rings from"
    )
    metal: str = _fit(lambda one: one.fit.candidate.metal.name, "its metal")
    wire: str | None = _fit(
        lambda one: one.fit.candidate.wire.name if one.fit.candidate.wire else None,
        "the wire to wind; null for bought rings",
    )
    mandrel: str | None = _mandrel(
        lambda mandrel: mandrel.name,
        "the mandrel to wind it on; null for bought rings",
    )
    mandrel_mm: float | None = _mandrel(
        lambda mandrel: mandrel.mandrel_mm,
        "the mandrel's diameter",
        EXACT_MM,
    )
    stock_ring: str | None = _fit(
        lambda one: one.fit.candidate.stock.name if one.fit.candidate.stock else None,
        "the bought rings; null for wound ones",
    )
    wire_mm: float = _fit(lambda one: one.fit.candidate.size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _fit(
        lambda one: one.fit.candidate.size.inner_mm,
        "inner diameter, closed",
        _SHOWN_MM,
        head="inner",
    )
    aspect_ratio: float = _fit(
        lambda one: one.fit.candidate.size.aspect_ratio,
        "inner by wire",
        _SHOWN,
        head="AR",
        words=_ratio,
    )
    aspect_ratio_range: tuple[float, float] = _fit(
        lambda one: (one.fit.candidate.ratios[0], one.fit.candidate.ratios[2]),
        "with the least and the most springback",
        EXACT,
    )
    min_aspect_ratio: float = _fit(
        lambda one: one.fit.limits.minimum,
        "the smallest at which the weave exists; geometry only",
        SEARCHED,
    )
    working_min_aspect_ratio: float | None = _fit(
        lambda one: one.fit.limits.working,
        "the smallest at which every ring can be put in; null if unknown",
        SEARCHED_WORKING,
    )
    limit_aspect_ratios: tuple[float, float] = _fit(
        lambda one: one.fit.limits.limit_range,
        "below the first no such ring closes it, from the second every one does",
        SEARCHED,
    )
    working_aspect_ratios: tuple[float, float] | None = _fit(
        lambda one: working_span(one.fit.limits), "the working range; null if empty", SEARCHED
    )
    repeat_mm: float | None = _layout(
        lambda layout: layout.repeat_mm,
        "one repeat, pulled straight",
        _SHOWN_MM,
        head="repeat",
    )
    width_mm: float | None = _layout(
        lambda layout: layout.width_mm, "width", _WIDE_MM, head="width"
    )
    thickness_mm: float | None = _layout(
        lambda layout: layout.thickness_mm,
        "thickness",
        MEASURED_MM,
    )
    length_mm: float | None = _layout(
        lambda layout: layout.length_mm,
        "of the piece, over the end rings",
        EXACT_MM,
    )
    repeats: int | None = _layout(lambda layout: layout.repeats, "of the piece", REPEATS)
    rings_open: int | None = _layout(lambda layout: layout.rings_open, "to open", RINGS)
    rings_closed: int | None = _layout(
        lambda layout: layout.rings_closed,
        "to close first",
        RINGS,
    )
    rings_total: int | None = _layout(
        lambda layout: layout.rings, "in the piece", RINGS, head="rings"
    )
    wire_length_mm: float | None = _fit(
        lambda one: one.fit.wire_mm,
        "wire to cut for the rings of the first size; null for bought ones",
        _CUT_MM,
        head="wire m",
        words=_wire_m,
    )
    mass_g: float | None = _fit(lambda one: one.fit.mass_g, "of the piece", _GRAMS, head="mass g")
    cost: float | None = _fit(lambda one: one.fit.cost, "of the metal", _COST, head="cost")
    verdict: str = _fit(
        lambda one: one.fit.verdict,
        "at the likeliest springback",
        WORDS,
        head="verdict",
        words=lambda fit, _: f"{fit.verdict}{'' if fit.sure else ' ~'}",
    )
    sure: bool = _fit(
        lambda one: one.fit.sure, "whether it is the same with the least and the most"
    )
    note: str = _fit(lambda one: one.fit.note, "why there is no piece; empty where there is one")


_left_out = read_from(tuple)


@dataclass(frozen=True)
class LeftOutFigures(Figures[tuple[str, str]]):
    """What makes no ring at all."""

    what: str = _left_out(lambda pair: pair[0], "a wire on a mandrel")
    why: str = _left_out(lambda pair: pair[1], "why it makes no ring")


_buy = read_from(RingsToBuy)


@dataclass(frozen=True)
class RingsToBuyFigures(Figures[RingsToBuy]):
    """Ready rings of one wire that work."""

    wire_mm: float = _buy(lambda rings: rings.wire_mm, "wire diameter", _MM)
    lowest_mm: float = _buy(lambda rings: rings.lowest_mm, "smallest inner diameter", _MM)
    highest_mm: float = _buy(lambda rings: rings.highest_mm, "largest inner diameter", _MM)


def _choices(pairs: tuple[tuple[ShopWire, MandrelChoice], ...]) -> tuple[ChoiceFigures, ...]:
    return tuple(ChoiceFigures.of(Choosing(choice, wire)) for wire, choice in pairs)


_of = read_from(Match)


@dataclass(frozen=True)
class MatchFigures(Figures[Match]):
    """What a match adds to the figures of its weave."""

    second_rings: tuple[OwnRingFigures, ...] = _of(
        lambda found: own_figures(found.rule), "rings of other sizes that the maker named"
    )
    length_mm: float = _of(lambda found: found.length_mm, "least length of the piece", EXACT_MM)
    currency: str = _of(lambda found: found.shop.rates.currency, "of every amount")
    metals: tuple[str, ...] = _of(
        lambda found: found.shares,
        "of a piece in several, of which each way counts its own rings; else empty",
    )
    fits: tuple[FitFigures, ...] = _of(
        lambda found: tuple(
            FitFigures.of(_Ranked(rank, fit)) for rank, fit in enumerate(found.fits, start=1)
        ),
        "ways to have rings, the best first",
    )
    left_out: tuple[LeftOutFigures, ...] = _of(
        lambda found: tuple(map(LeftOutFigures.of, found.left_out)), "what makes no ring"
    )
    mandrels: tuple[ChoiceFigures, ...] = _of(
        lambda found: _choices(found.mandrels), "for each wire the mandrel wanted"
    )
    to_buy: tuple[ChoiceFigures, ...] = _of(
        lambda found: _choices(found.to_buy), "the same of mandrels to buy, where nothing works"
    )
    rings_to_buy: tuple[RingsToBuyFigures, ...] = _of(
        lambda found: tuple(map(RingsToBuyFigures.of, found.rings_to_buy)),
        "ready rings to buy, where nothing works",
    )
    cautions: tuple[str, ...] = _of(lambda found: found.cautions(), "about the metals")
    how_found: Mapping[str, str] = _of(lambda _: HOW_FOUND, "where figures come from")


def match_facts(found: Match) -> dict[str, Any]:
    """A match as a JSON object: the weave's figures and the match's."""
    return joined(WeaveFigures.of(found.rule), MatchFigures.of(found))
