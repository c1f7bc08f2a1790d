"""The figures of the gallery: each weave at its usual size."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.answers.check_figures import SEARCHED
from ringwright.answers.laid_figures import LaidFigures
from ringwright.answers.weave_figures import CommonFigures, KeptFigures, common_of, kept_of
from ringwright.base.figures import EXACT, LEFT_OUT, Figures, LeftOut, read_from
from ringwright.outputs.gallery.gallery import Exhibit

_one = read_from(Exhibit)
_laid = _one.part(lambda one: one.laid, LEFT_OUT)
_report = _one.part(lambda one: one.report, None)


@dataclass(frozen=True)
class ExhibitFigures(Figures[Exhibit]):
    """One weave of the gallery."""

    weave: str = _one(lambda one: one.rule.name, "the weave's name")
    aspect_ratio: float = _one(lambda one: one.size.aspect_ratio, "it is shown at", EXACT)
    verdict: str | None = _report(lambda report: report.verdict, "null where it came to no rest")
    min_aspect_ratio: float | None = _report(
        lambda report: report.limits.minimum,
        "the smallest at which the weave exists; geometry only",
        SEARCHED,
    )
    common_aspect_ratio: CommonFigures | None = _one(
        lambda one: common_of(one.rule), "makers' range; null where the rule gives none"
    )
    kept_minimums: KeptFigures | None = _report(
        lambda report: kept_of(report.kept),
        "what the rule's file keeps; null for nothing that holds for these rings",
    )
    laid: LaidFigures | LeftOut = _laid(
        LaidFigures.of, "how the piece lies; only where that was asked for"
    )
    shown: bool = _one(lambda one: one.piece is not None, "whether it is in the picture")
    trouble: str | None = _one(lambda one: one.trouble, "why not")


@dataclass(frozen=True)
class Shown:
    """All weaves, and the files they are in."""

    exhibits: tuple[Exhibit, ...]
    files: Mapping[str, str | None]


_of = read_from(Shown)


@dataclass(frozen=True)
class GalleryFigures(Figures[Shown]):
    """The gallery."""

    weaves: tuple[ExhibitFigures, ...] = _of(
        lambda shown: tuple(map(ExhibitFigures.of, shown.exhibits)), "the weaves in it"
    )
    files: Mapping[str, str | None] = _of(
        lambda shown: shown.files, "the files written, by kind; null for one that was not"
    )
