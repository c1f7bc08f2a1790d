"""A sweep as a picture: curves over the aspect ratio, or a map of wires and inner diameters."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from generator.sweep import NO_REST, Row, Sweep, one_limit
from generator.sweep_report import size_name
from generator.verdict import CANNOT, LOOSE, VERY_TIGHT, WORKING

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Sign:
    """How a verdict looks: the marker on a curve, the word in a map, the colour of both."""

    marker: str
    word: str
    colour: str


# Colours of the palette of Okabe and Ito (from memory), chosen to step in lightness as well,
# so that they stay apart in every kind of colour blindness and in grey.
SIGNS = {
    CANNOT: Sign("X", "no", "#d55e00"),
    VERY_TIGHT: Sign("v", "tight", "#e69f00"),
    WORKING: Sign("o", "works", "#009e73"),
    LOOSE: Sign("s", "loose", "#56b4e9"),
    NO_REST: Sign("P", "?", "#999999"),
}
_INK, _BLUE, _DOTS_PER_INCH = "#222222", "#0072b2", 150
