"""The figures of stills: what each picture shows, its words and its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.laid_figures import LaidFigures
from ringwright.answers.verdict import Report
from ringwright.base.figures import (
    EXACT_MM,
    LEFT_OUT,
    REPEATS,
    RINGS,
    Figures,
    LeftOut,
    Unit,
    joined,
    read_from,
)
from ringwright.geometry.oval import Oval
from ringwright.metals.metal import RGB
from ringwright.outputs.stills.stills import Still
from ringwright.outputs.stills.studio import colour_of
from ringwright.outputs.stills.words import APPROXIMATION
from ringwright.rest.fit import Fit
from ringwright.rest.form import Column

_HOW_WORN = (
    "at rest: drawn together by its ends, or closed and hung by its weight; the oval's shape is "
    "common practice, no source"
)
_PIXELS, _LONG_MM, _WORN_MM = Unit("pixels"), Unit("mm", 6), Unit("mm", 4)


@dataclass(frozen=True)
class Pictured:
    """A still and its files; None for one without a small file."""

    still: Still
    file: str
    small_file: str | None = None


def _colours(one: Pictured) -> Mapping[str, str]:
    paints = sorted(set(one.still.scene.paints))
    return {paint: _hex(colour_of(paint)) for paint in paints}


def _hex(colour: RGB) -> str:
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour)


def _of_whole(one: Pictured) -> float | LeftOut:
    still = one.still
    is_whole = still.repeats is not None and _worn(one) is None
    if not is_whole:
        return LEFT_OUT
    return still.scene.piece.length_mm() if still.laid is None else still.laid.pulled.length_mm()


def _of_piece(one: Pictured, count: int) -> int | LeftOut:
    """A count of the whole piece, of which a close-up shows a part alone."""
    return LEFT_OUT if one.still.repeats is None else count


def _worn(one: Pictured) -> Fit | None:
    """How a piece fits; None where it is not worn."""
    return None if one.still.laid is None else one.still.laid.fit


def _column(one: Pictured) -> Oval | None:
    """What a piece is worn round, if that is a wrist or a finger."""
    fit = _worn(one)
    return fit.form.oval if fit and isinstance(fit.form, Column) else None


_picture = read_from(Pictured)
_laid = _picture.part(lambda one: one.still.laid, LEFT_OUT)
_fit = _picture.part(_worn, LEFT_OUT)
_oval = _picture.part(_column, LEFT_OUT)


@dataclass(frozen=True)
class StillFigures(Figures[Pictured]):
    """One picture; what is not of its view is left out."""

    view: str = _picture(lambda one: one.still.view, "whole, close or worn")
    metal: str = _picture(lambda one: one.still.metal, "what the rings look like")
    colours: Mapping[str, str] = _picture(_colours, "colours by what has them")
    background: str = _picture(lambda one: one.still.scene.background, "behind the rings")
    title: str = _picture(lambda one: one.still.title, "a few words")
    alt: str = _picture(lambda one: one.still.alt, "the picture in words")
    width_px: int = _picture(lambda one: one.still.scene.size[0], "width", _PIXELS)
    height_px: int = _picture(lambda one: one.still.scene.size[1], "height", _PIXELS)
    dpi: int | None = _picture(lambda one: one.still.dpi, "in print; null for the web")
    length_mm: float | LeftOut = _picture(_of_whole, "over the end rings", _LONG_MM)
    laid: LaidFigures | LeftOut = _laid(
        LaidFigures.of, "how what is shown lies or hangs; only where that was asked for"
    )
    wrist_mm: float | LeftOut = _oval(
        lambda oval: oval.girth,
        "round the wrist or finger",
        Unit("mm"),
    )
    oval: float | LeftOut = _oval(
        lambda oval: oval.ratio,
        "width by depth of that",
    )
    how: str | LeftOut = _fit(lambda _: _HOW_WORN, "how it is worn")
    open_for_clasp_mm: float | LeftOut = _fit(
        lambda fit: LEFT_OUT if fit.open_mm is None else fit.open_mm,
        "left between the ends",
        _WORN_MM,
    )
    inner_girth_mm: float | LeftOut = _fit(
        lambda fit: LEFT_OUT if fit.inner_girth_mm is None else fit.inner_girth_mm,
        "of the thickest wrist that it goes round so; of this shape, where it is open",
        _WORN_MM,
    )
    smallest_gap_mm: float | LeftOut = _laid(
        lambda laid: LEFT_OUT if laid.fit is None else laid.checked.smallest_gap_mm,
        "between any two rings",
        EXACT_MM,
    )
    turn_per_repeat_deg: tuple[float, float] | LeftOut = _fit(
        lambda fit: fit.turns_deg,
        "the least and the most that a repeat is turned against the one before",
        Unit("degrees", 4),
    )
    on_its_edge: bool | LeftOut = _fit(
        lambda fit: fit.on_edge,
        "whether it lies on its narrow side",
    )
    repeats: int | LeftOut = _picture(
        lambda one: _of_piece(one, one.still.repeats or 0), "whole repeats", REPEATS
    )
    rings_total: int | LeftOut = _picture(
        lambda one: _of_piece(one, len(one.still.scene.piece)), "in the piece", RINGS
    )
    rings_open: int | LeftOut = _picture(
        lambda one: _of_piece(one, one.still.scene.piece.roles.count("open")), "to open", RINGS
    )
    rings_closed: int | LeftOut = _picture(
        lambda one: _of_piece(one, one.still.scene.piece.roles.count("closed")),
        "to close first",
        RINGS,
    )
    file: str = _picture(lambda one: one.file, "the picture")
    small_file: str | LeftOut = _picture(
        lambda one: one.small_file or LEFT_OUT, "at half its size, for the web"
    )


@dataclass(frozen=True)
class Shot:
    """All pictures that were taken."""

    pictures: tuple[Pictured, ...]


_of = read_from(Shot)


@dataclass(frozen=True)
class StillsFigures(Figures[Shot]):
    """What stills add to the check of their size."""

    metal_colours: str = _of(lambda _: APPROXIMATION, "how near colours are")
    stills: tuple[StillFigures, ...] = _of(
        lambda shot: tuple(map(StillFigures.of, shot.pictures)), "metal by metal"
    )


def stills_facts(report: Report, figures: StillsFigures) -> dict[str, Any]:
    """Stills as a JSON object: the check's figures and theirs."""
    return joined(CheckFigures.of(report), figures)
