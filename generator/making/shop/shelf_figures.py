"""The figures that a shop file adds to a check: the nearest ring on the shelf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.answers.ratio_limits import WORKING
from ringwright.answers.verdict import Report
from ringwright.base.figures import EXACT, EXACT_MM, LEFT_OUT, Figures, LeftOut, read_from
from ringwright.making.shop.nearest import Nearest, nearest, nearest_text

if TYPE_CHECKING:
    from ringwright.making.shop.shop import Shop

_near = read_from(Nearest)


@dataclass(frozen=True)
class ShelfRingFigures(Figures[Nearest]):
    """A ring on the shelf."""

    rings_from: str = _near(lambda one: one.candidate.name, "what to take off the shelf")
    wire_mm: float = _near(lambda one: one.candidate.size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _near(lambda one: one.candidate.size.inner_mm, "inner diameter", EXACT_MM)
    aspect_ratio: float = _near(lambda one: one.candidate.size.aspect_ratio, "inner by wire", EXACT)
    verdict: str = _near(lambda one: one.verdict, "at the likeliest springback")
    sure: bool = _near(lambda one: one.sure, "whether it is the same with the least and the most")


@dataclass(frozen=True)
class _Looked:
    """What was looked for on a shelf, and found."""

    report: Report
    shop: Shop | None
    found: Nearest | None


def _ring(looked: _Looked) -> ShelfRingFigures | LeftOut | None:
    if looked.shop is None:
        return LEFT_OUT
    return None if looked.found is None else ShelfRingFigures.of(looked.found)


def _said(looked: _Looked) -> str | LeftOut | None:
    if looked.shop is None:
        return LEFT_OUT
    if looked.found is not None:
        return nearest_text(looked.found)
    if looked.report.verdict == WORKING:
        return None
    if looked.report.rule.has_fixed_rings:
        return "This weave has rings of a fixed size; 'ringwright match' tries your shelf for it."
    return "Your shop file has no rings to try; add a [[wire]] and a [[mandrel]], or rings."


_of = read_from(_Looked)


@dataclass(frozen=True)
class ShelfFigures(Figures[_Looked]):
    """What a shop file adds to a check; nothing without one."""

    nearest_ring: ShelfRingFigures | LeftOut | None = _of(
        _ring, "null where the rings work as they are, or the shelf has none"
    )
    nearest_said: str | LeftOut | None = _of(_said, "the same in a sentence, or why there is none")

    @property
    def said(self) -> tuple[str, ...]:
        """The sentence, as the only paragraph, or none."""
        return (self.nearest_said,) if isinstance(self.nearest_said, str) else ()


def shelf_figures(report: Report, shop: Shop | None) -> ShelfFigures:
    """What a shop file adds to a report that does not just work."""
    found = None if shop is None or report.verdict == WORKING else nearest(report, shop)
    return ShelfFigures.of(_Looked(report, shop, found))
