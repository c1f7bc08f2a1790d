"""Which stills of a weave are taken, and all there is to say about each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.answers.verdict import Report
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.colour.looks import COLOUR_WORDS, paint_named
from ringwright.outputs.stills import words
from ringwright.outputs.stills.draw import Scene
from ringwright.outputs.stills.form import Form, form_for
from ringwright.outputs.stills.studio import ROLES
from ringwright.outputs.stills.views import (
    CLOSE,
    WHOLE,
    WORN,
    Camera,
    close_camera,
    hung_camera,
    hung_close_camera,
    in_sight,
    whole_camera,
    worn_camera,
)
from ringwright.piece.piece import Piece, piece_of_length, repeats_and_rows, woven_piece
from ringwright.rest.counts import counted_unit
from ringwright.rest.laid import Laid, laid, laid_if_asked, upright
from ringwright.rest.on_body import snug
from ringwright.solver.measure import extent
from ringwright.weaves.rest_states import RestState

_WEB_PIXELS = 1600
# Resolution of print: common practice, no source.
PRINT_DPI = 300
MOST_PRINT_MM, LEAST_PRINT_MM = 300.0, 20.0
_UP = np.array([0.0, 0.0, 1.0])
# So long and wide a part, in core radii of the main ring, runs out of a close-up on all sides.
_CLOSE_LENGTH, _CLOSE_WIDTH = 44.0, 30.0


@dataclass(frozen=True)
class Wanted:
    """What was asked for.

    Attributes
    ----------
    views, metals : in this order; metals, colours as ``#rrggbb``, or ``roles``
    length_mm, width_mm : of the whole piece, as for a preview; the width of a sheet also where it
        is worn, and None for the usual one
    worn_mm : length of the worn piece; None for as much as goes round
    background : one of ``studio.BACKGROUNDS``
    pixels : width of a picture
    dpi : pixels an inch in print; None for the web
    worn : the state of the worn view
    show_form : whether a plain form stands for what it is worn on
    state : that the piece is in in the other views; None for the usual one
    """

    views: tuple[str, ...]
    metals: tuple[str, ...]
    length_mm: float
    worn_mm: float | None
    width_mm: float | None
    background: str
    pixels: int
    dpi: int | None
    worn: RestState
    show_form: bool
    state: RestState | None


@dataclass(frozen=True, eq=False)
class Still:
    """One picture to be taken: what it shows, and its words.

    Attributes
    ----------
    dpi : pixels an inch in print; None for the web
    repeats : of the whole piece; None for a close-up
    laid : the state it is in; None for pulled straight
    """

    view: str
    metal: str
    scene: Scene
    title: str
    alt: str
    dpi: int | None
    repeats: int | None
    laid: Laid | None


def parse_paints(given: Sequence[str]) -> tuple[str, ...]:
    """Metals as they were typed: names, ``all`` colour words, ``roles`` or colours, each once.

    Raises
    ------
    BadInput
        When one is not known, or can be several.
    """
    found: list[str] = []
    for text in given:
        for part in text.split(","):
            name = part.strip().lower()
            if name == "all":
                found += COLOUR_WORDS
            else:
                found.append(name if name == ROLES else paint_named(part, "--metal"))
    return tuple(dict.fromkeys(found))


def print_pixels(width_mm: float) -> int:
    """Pixels across of a picture that is so wide in print.

    Raises
    ------
    BadInput
        When it is smaller or larger than can be drawn.
    """
    if not LEAST_PRINT_MM <= width_mm <= MOST_PRINT_MM:
        raise BadInput(
            f"--print-width {width_mm:.6g} mm is not between {LEAST_PRINT_MM:.0f} and "
            f"{MOST_PRINT_MM:.0f} mm; give a width in between."
        )
    return math.ceil(width_mm / 25.4 * PRINT_DPI)


def web_pixels() -> int:
    """Pixels across of a picture for the web."""
    return _WEB_PIXELS


def stills(report: Report, wanted: Wanted, on_progress: Progress = quiet) -> tuple[Still, ...]:
    """All pictures that were asked for, metal by metal.

    Raises
    ------
    BadInput
        When the length does not fit, or the weave cannot be worn so.
    NoRest
        As :func:`ringwright.rest.laid.laid` does.
    """
    views = {
        WHOLE: lambda: _whole(report, wanted, on_progress),
        CLOSE: lambda: _close(report, wanted, on_progress),
        WORN: lambda: _worn(report, wanted, on_progress),
    }
    taken = {view: views[view]() for view in wanted.views}
    return tuple(
        _painted(report, wanted, taken[view], metal)
        for metal in wanted.metals
        for view in wanted.views
    )


@dataclass(frozen=True, eq=False)
class _Taken:
    """A view of whatever metal."""

    view: str
    scene: Scene
    shown: list[str]
    repeats: int | None = None
    laid: Laid | None = None


def _whole(report: Report, wanted: Wanted, on_progress: Progress) -> _Taken:
    width_mm = wanted.width_mm or wanted.length_mm / 4.0
    rule, unit, scale = report.rule, report.unit, report.size.core_radius_mm
    piece, repeats = piece_of_length(
        rule, unit, scale, wanted.length_mm, width_mm, counted_unit(rule, unit)
    )
    piece, laid = _in_state(report, piece, wanted.state, on_progress)
    hangs = laid is not None and laid.state.hangs
    camera = hung_camera(piece) if hangs else whole_camera(piece)
    shown = words.whole_words(rule, piece, repeats, laid)
    return _Taken(WHOLE, _scene(piece, camera, wanted, hangs=hangs), shown, repeats, laid=laid)


def _close(report: Report, wanted: Wanted, on_progress: Progress) -> _Taken:
    part, laid = _in_state(report, _part(report), wanted.state, on_progress)
    hangs = laid is not None and laid.state.hangs
    camera = hung_close_camera(part) if hangs else close_camera(part)
    scene = _scene(part.of(in_sight(part, camera)), camera, wanted, hangs=hangs)
    return _Taken(CLOSE, scene, words.close_words(report.rule, laid), laid=laid)


def _in_state(
    report: Report, piece: Piece, state: RestState | None, on_progress: Progress
) -> tuple[Piece, Laid | None]:
    """A piece as it is to be seen, upright where it hangs, and how it lies or hangs."""
    found = laid_if_asked(report.rule, report.unit, piece, state, on_progress)
    if found is None:
        return piece, None
    return (upright(found.piece) if found.state.hangs else found.piece), found


def _worn(report: Report, wanted: Wanted, on_progress: Progress) -> _Taken:
    piece = _to_be_worn(report, wanted, on_progress)
    found = laid(report.rule, report.unit, piece, wanted.worn, on_progress)
    assert found.fit is not None
    form = form_for(found.piece, found.fit.form) if wanted.show_form else None
    level = found.fit.closed
    camera = worn_camera(found.piece, form, level)
    scene = _scene(found.piece, camera, wanted, form, hangs=level)
    shown = words.worn_words(found, found.fit, wanted.show_form)
    return _Taken(WORN, scene, shown, found.fit.repeats, found)


def _to_be_worn(report: Report, wanted: Wanted, on_progress: Progress) -> Piece:
    """A piece of the length that was asked for, or as much as goes round."""
    rule, unit, scale = report.rule, report.unit, report.size.core_radius_mm
    if wanted.worn_mm is not None:
        return piece_of_length(rule, unit, scale, wanted.worn_mm, wanted.width_mm)[0]
    body = wanted.worn.body
    assert body is not None
    _, rows = repeats_and_rows(rule, unit, scale, unit.repeat * scale, wanted.width_mm)
    return snug(rule, unit, scale, body, rows, on_progress)


def _scene(
    piece: Piece, camera: Camera, wanted: Wanted, form: Form | None = None, hangs: bool = False
) -> Scene:
    ground_mm = extent(piece.rings(), _UP)[0] if form is None else form.low_mm
    size = (wanted.pixels, round(wanted.pixels / camera.shape))
    return Scene(piece, (), camera, wanted.background, size, ground_mm, form, hangs)


def _part(report: Report) -> Piece:
    """As much of a weave as a close-up can see."""
    rule, unit = report.rule, report.unit
    repeats = rows = 1
    if rule.family.repeats:
        repeats = max(3, math.ceil(_CLOSE_LENGTH / unit.repeat))
    if rule.family.has_rows:
        rows = max(2, math.ceil(_CLOSE_WIDTH / float(unit.lattice.values[2])))
    return woven_piece(rule, unit, report.size.core_radius_mm, repeats, rows)


def _painted(report: Report, wanted: Wanted, taken: _Taken, metal: str) -> Still:
    piece = taken.scene.piece
    paints = piece.roles if metal == ROLES else (metal,) * len(piece)
    scene = replace(taken.scene, paints=paints)
    title = words.title(report.rule, metal, taken.view)
    alt = words.described(report.rule, report.size, piece, metal, wanted.background, taken.shown)
    return Still(taken.view, metal, scene, title, alt, wanted.dpi, taken.repeats, taken.laid)
