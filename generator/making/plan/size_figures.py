"""The figures of one measure, or of several, with the pieces of whole repeats next to each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ringwright.answers.count_figures import HungFigures, for_either
from ringwright.answers.second_figures import SecondFigures, second_figures
from ringwright.answers.verdict import Report
from ringwright.base.figures import EXACT, EXACT_MM, PIECE_MM, REPEATS, Figures, Unit, read_from
from ringwright.making.plan.piece_size import EASE_SOURCE, LENGTH, Sized, Sizing

_sized = read_from(Sized)


@dataclass(frozen=True)
class SizedFigures(Figures[Sized]):
    """A piece of whole repeats."""

    repeats: int = _sized(
        lambda sized: sized.repeats, "repeats", REPEATS, head="repeats", csv="size"
    )
    flat_mm: float = _sized(
        lambda sized: sized.flat_mm,
        "length lying flat, over the end rings",
        PIECE_MM,
        head="lying flat",
        csv="size",
    )
    finished_mm: float = _sized(
        lambda sized: sized.finished_mm, "and with its clasp", PIECE_MM, head="finished", csv="size"
    )
    inside_mm: float | None = _sized(
        lambda sized: sized.inner_mm,
        "round the inside when closed; null for a finished length",
        PIECE_MM,
        head="inside, closed",
        csv="size",
    )
    lost_mm: float | None = _sized(
        lambda sized: sized.lost_mm, "shorter inside than finished", PIECE_MM, csv="size"
    )
    how: str = _sized(lambda sized: sized.how, "how the length was found")


@dataclass(frozen=True)
class Fitted:
    """A measure with its two neighbours, and which of them is planned."""

    sizing: Sizing
    shorter: bool = False


_fit = read_from(Fitted)


@dataclass(frozen=True)
class FitFigures(Figures[Fitted]):
    """A measure and its two neighbours."""

    place: str = _fit(
        lambda fitted: fitted.sizing.measure.place, "what the measure is of", key="for"
    )
    measure_mm: float = _fit(
        lambda fitted: fitted.sizing.measure.measure_mm, "the bare measure", PIECE_MM, csv="size"
    )
    ease_mm: float = _fit(
        lambda fitted: fitted.sizing.measure.ease_mm, "added for comfort", PIECE_MM, csv="size"
    )
    ease_from: str | None = _fit(
        lambda fitted: EASE_SOURCE if fitted.sizing.measure.place != LENGTH else None,
        "where the ease comes from",
    )
    clasp_mm: float | None = _fit(
        lambda fitted: fitted.sizing.measure.clasp_mm,
        "what the clasp adds; null without one",
        PIECE_MM,
        csv="size",
    )
    wanted_mm: float = _fit(
        lambda fitted: fitted.sizing.measure.wanted_mm, "measure and ease", PIECE_MM
    )
    counted: str = _fit(
        lambda fitted: fitted.sizing.state.said, "the state in which lengths are counted"
    )
    counted_in: str = _fit(lambda fitted: fitted.sizing.state.name, "that state, as --laid has it")
    counted_repeat_mm: float = _fit(
        lambda fitted: fitted.sizing.repeat_mm, "one repeat in that state", EXACT_MM
    )
    shorter: SizedFigures | None = _fit(
        lambda fitted: SizedFigures.of(fitted.sizing.shorter) if fitted.sizing.shorter else None,
        "the next piece of whole repeats below",
    )
    longer: SizedFigures = _fit(
        lambda fitted: SizedFigures.of(fitted.sizing.longer), "and the next above"
    )


@dataclass(frozen=True)
class MeasureFigures(FitFigures):
    """A measure, its neighbours, and what a sheet takes hung."""

    if_hung: tuple[HungFigures, ...] = _fit(
        lambda fitted: tuple(map(HungFigures.of, fitted.sizing.if_hung)),
        "of a sheet, a row of usual width: what it takes hung by each edge; of others empty",
    )
    repeats_for_either: int | None = _fit(
        lambda fitted: for_either(
            fitted.sizing.longer.repeats, [one.repeats for one in fitted.sizing.if_hung]
        ),
        "enough in the state counted in and hung by either edge; null where that cannot be told",
        REPEATS,
    )
    safe_to_buy_by: str = _fit(lambda fitted: fitted.sizing.safe, "which count, in words")


@dataclass(frozen=True)
class TakenFigures(FitFigures):
    """A measure, its neighbours, and which of them is planned."""

    taken: Literal["shorter", "longer"] = _fit(
        lambda fitted: "shorter" if fitted.shorter else "longer", "the one that is planned"
    )

    @property
    def planned(self) -> SizedFigures:
        """The neighbour that is planned."""
        return self.shorter if self.taken == "shorter" and self.shorter else self.longer


@dataclass(frozen=True)
class Measured:
    """A settled weave, and what fits each of some measures."""

    report: Report
    sizings: tuple[Sizing, ...]


_of = read_from(Measured)


@dataclass(frozen=True)
class SizeFigures(Figures[Measured]):
    """One or several measures with their neighbours."""

    weave: str = _of(lambda found: found.report.rule.name, "the weave's name")
    verdict: str = _of(lambda found: found.report.verdict, "whether it can be woven")
    wire_mm: float = _of(lambda found: found.report.size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _of(lambda found: found.report.size.inner_mm, "inner diameter", EXACT_MM)
    aspect_ratio: float = _of(lambda found: found.report.size.aspect_ratio, "their ratio", EXACT)
    second_rings: tuple[SecondFigures, ...] = _of(
        lambda found: second_figures(found.report.rule, found.report.size), "rings of other sizes"
    )
    repeat_mm: float | None = _of(
        lambda found: found.report.repeat_mm, "one repeat, pulled straight", EXACT_MM
    )
    thickness_mm: float | None = _of(
        lambda found: found.report.thickness_mm, "of the chain", Unit("mm", 6)
    )
    sizes: tuple[MeasureFigures, ...] = _of(
        lambda found: tuple(MeasureFigures.of(Fitted(sizing)) for sizing in found.sizings),
        "the measures, in the order asked for",
    )
