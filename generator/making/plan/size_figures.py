"""The figures of one measure, or of several, with the pieces of whole repeats next to each."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.answers.second_figures import SecondFigures, second_figures
from ringwright.answers.verdict import Report
from ringwright.base.figures import EXACT, EXACT_MM, Figures, Unit, read_from
from ringwright.making.plan.piece_figures import FitFigures, Fitted
from ringwright.making.plan.piece_size import Sizing


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
    sizes: tuple[FitFigures, ...] = _of(
        lambda found: tuple(FitFigures.of(Fitted(sizing)) for sizing in found.sizings),
        "the measures, in the order asked for",
    )
