"""What pieces of many weaves take, to tell which of them are made in an evening."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from ringwright.api.check import settled
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize, parse_length
from ringwright.page.worked_out.counted_piece import Counting, counts
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True)
class Takes:
    """A piece: its rings, and how wide it is in millimetres."""

    rings: int
    width_mm: float


@dataclass(frozen=True)
class Evening:
    """What there is time for: hours, rings that are woven in one, and the greatest width, mm."""

    hours: float
    rings_an_hour: float
    widest_mm: float | None = None

    def has_time_for(self, piece: Takes) -> bool:
        """Whether a piece is made by then, and no wider."""
        in_time = piece.rings <= self.hours * self.rings_an_hour
        return in_time and (self.widest_mm is None or piece.width_mm <= self.widest_mm)


def evening(hours: str, rings_an_hour: str, widest: str) -> Evening:
    """An evening as it was typed; raises BadInput where one of the texts cannot be read."""
    widest_mm = parse_length(widest, "width") if widest.strip() else None
    return Evening(_number(hours, "hours"), _number(rings_an_hour, "rings an hour"), widest_mm)


def _number(text: str, what: str) -> float:
    with suppress(ValueError):
        value = float(text)
        if 0.0 < value < 1e6:
            return value
    raise BadInput(f"{what} {text[:30]!r} is not a number above zero: write it like 3")


def takes(
    on_progress: Progress, size: RingSize, asked: Sequence[tuple[WeaveRule, Counting]]
) -> dict[str, Takes]:
    """What a piece of each weave takes, by name; what cannot be woven or counted is left out."""
    found = {}
    for done, (rule, what) in enumerate(asked):
        on_progress("weaves", done, len(asked))
        with suppress(BadInput, NoRest):
            report = settled(rule, size, workers=0)
            if report.can_be_woven:
                figures = counts(report, what)
                found[rule.name] = Takes(figures.rings_in_piece, figures.width_mm)
    on_progress("weaves", len(asked), len(asked))
    return found
