"""Which stills of a weave are taken, and all there is to say about each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from generator.errors import BadInput
from generator.looks import METALS, is_paint
from generator.measure import extent
from generator.piece import Piece, piece_of_length, woven_piece
from generator.stills import words
from generator.stills.draw import Scene
from generator.stills.studio import ROLES
from generator.stills.views import CLOSE, WHOLE, close_camera, in_sight, whole_camera
from generator.verdict import Report

WEB, PRINT = "web", "print"
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
    length_mm, width_mm : of the whole piece, as for a preview
    background : one of ``studio.BACKGROUNDS``
    pixels : width of a picture
    dpi : pixels an inch in print; None for the web
    """

    views: tuple[str, ...]
    metals: tuple[str, ...]
    length_mm: float
    width_mm: float | None
    background: str
    pixels: int
    dpi: int | None


@dataclass(frozen=True, eq=False)
class Still:
    """One picture to be taken: what it shows, and its words."""

    view: str
    metal: str
    scene: Scene
    title: str
    alt: str
    facts: dict[str, Any]


def parse_paints(given: Sequence[str]) -> tuple[str, ...]:
    """Metals as they were typed: names, ``all``, ``roles`` or colours, each once.

    Raises
    ------
    BadInput
        When one is not known.
    """
    found: list[str] = []
    for text in given:
        for part in text.split(","):
            name = part.strip().lower()
            if name not in ("all", ROLES) and not is_paint(name):
                raise BadInput(
                    f"--metal has {part.strip()[:40]!r}, which is no metal known here; give "
                    f"{', '.join(METALS)}, all, roles, or a colour as #d86e33."
                )
            found += list(METALS) if name == "all" else [name]
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


def stills(report: Report, wanted: Wanted) -> tuple[Still, ...]:
    """All pictures that were asked for, metal by metal.

    Raises
    ------
    BadInput
        When the length does not fit.
    """
    taken = {view: _taken(report, wanted, view) for view in wanted.views}
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
    facts: dict[str, Any]


def _taken(report: Report, wanted: Wanted, view: str) -> _Taken:
    rule, scale = report.rule, report.size.core_radius_mm
    if view == WHOLE:
        piece, repeats = piece_of_length(
            rule, report.unit, scale, wanted.length_mm, wanted.width_mm
        )
        shown, camera = words.whole_words(rule, piece, repeats), whole_camera(piece)
        facts = {
            "repeats": repeats,
            "length_mm": round(piece.length_mm(), 6),
            "rings_total": len(piece),
            "rings_open": piece.roles.count("open"),
            "rings_closed": piece.roles.count("closed"),
        }
    else:
        assert view == CLOSE
        part = _part(report)
        shown, camera = words.close_words(rule), close_camera(part)
        piece = part.of(in_sight(part, camera))
        facts = {}
    ground_mm = extent(piece.rings(), _UP)[0]
    size = (wanted.pixels, round(wanted.pixels / camera.shape))
    scene = Scene(piece, (), camera, wanted.background, size, ground_mm)
    return _Taken(view, scene, shown, facts)


def _part(report: Report) -> Piece:
    """As much of a weave as a close-up can see."""
    rule, unit = report.rule, report.unit
    repeats = rows = 1
    if rule.family != "piece":
        repeats = max(3, math.ceil(_CLOSE_LENGTH / unit.repeat))
    if rule.family == "sheet":
        rows = max(2, math.ceil(_CLOSE_WIDTH / float(unit.lattice.values[2])))
    return woven_piece(rule, unit, report.size.core_radius_mm, repeats, rows)


def _painted(report: Report, wanted: Wanted, taken: _Taken, metal: str) -> Still:
    piece = taken.scene.piece
    paints = piece.roles if metal == ROLES else (metal,) * len(piece)
    scene = replace(taken.scene, paints=paints)
    title = words.title(report.rule, metal, taken.view)
    alt = words.described(report.rule, report.size, piece, metal, wanted.background, taken.shown)
    facts = {
        "view": taken.view,
        "metal": metal,
        "background": wanted.background,
        "title": title,
        "alt": alt,
        "width_px": scene.size[0],
        "height_px": scene.size[1],
        "dpi": wanted.dpi,
        **taken.facts,
    }
    return Still(taken.view, metal, scene, title, alt, facts)
