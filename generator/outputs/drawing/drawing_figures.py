"""The figures of a drawing: what it shows, how large, and its dimensions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import MEASURED_MM, CheckFigures
from ringwright.answers.laid_figures import LaidFigures
from ringwright.answers.verdict import Report
from ringwright.base.figures import (
    EXACT_MM,
    LEFT_OUT,
    REPEATS,
    RINGS,
    Figures,
    LeftOut,
    joined,
    read_from,
)
from ringwright.outputs.drawing.draw import Drawn
from ringwright.outputs.drawing.layout import scale_text


@dataclass(frozen=True)
class DrawnFiles:
    """A drawing, and its files by kind."""

    drawn: Drawn
    files: Mapping[str, str]


_of = read_from(DrawnFiles)
_laid = _of.part(lambda one: one.drawn.laid, LEFT_OUT)


@dataclass(frozen=True)
class DrawingFigures(Figures[DrawnFiles]):
    """What a drawing adds to the check of its size."""

    repeats: int = _of(lambda one: one.drawn.repeats, "shown", REPEATS)
    rings_total: int = _of(lambda one: len(one.drawn.piece), "shown", RINGS)
    length_mm: float = _of(
        lambda one: one.drawn.piece.length_mm(), "of what is shown, over the end rings", EXACT_MM
    )
    laid: LaidFigures | LeftOut = _laid(
        LaidFigures.of, "how what is drawn lies or hangs; only where that was asked for"
    )
    paper: str = _of(lambda one: one.drawn.sheet.paper, "what it is printed on")
    scale: str = _of(lambda one: scale_text(one.drawn.sheet.scale), "paper : truth")
    dimensions_mm: Mapping[str, float] = _of(
        lambda one: one.drawn.dimensions, "the dimensions drawn, by name", MEASURED_MM
    )
    files: Mapping[str, str] = _of(lambda one: one.files, "the files written, by kind")


def drawing_facts(report: Report, drawn: Drawn, files: Mapping[str, str]) -> dict[str, Any]:
    """A drawing as a JSON object: the check's figures and the drawing's."""
    return joined(CheckFigures.of(report), DrawingFigures.of(DrawnFiles(drawn, files)))
