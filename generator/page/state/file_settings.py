"""How files are to be made: paper, printer, and the options of each jig, as typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from ringwright.base import defaults
from ringwright.piece.end_kinds import KINDS

# Of pictures.
BACKGROUNDS = ("light", "dark", "transparent")
# Of the drawing.
SCALES = ("fit", "1:1", "2:1", "5:1", "10:1", "1:2")

# How a piece ends; empty for as its rings allow.
ENDS = ("", *KINDS)
# Where a plan has the metals of the rings from.
ONE_METAL, AS_COLOURED, FROM_GRID = "", "colours", "grid"
METALS = (ONE_METAL, AS_COLOURED, FROM_GRID)
MOST_GRID_BYTES = 64 * 1024
LONGEST_LEGEND = 400


@dataclass(frozen=True)
class Settings:
    """What is typed on the panels; an empty text leaves a command's own default.

    Attributes
    ----------
    ends, clasp_rings, clasp_price : of the plan, how the piece takes its clasp
    anneal, inches : ``yes``, or empty
    metals : one of ``METALS``
    grid, legend : a table of metals, colours or marks, and what these stand for
    scale : of the drawing
    teaching : ``yes`` to have the assembly sheet's rings coloured by role, or empty
    background : of the pictures
    bed, nozzle, layer, clearance : of the printer
    jig : the jig that is looked at
    jigs : by jig, what is typed for its options by their names
    bundle : what goes into a bundle, by topic
    """

    paper: str = defaults.PAPER
    clasp: str = ""
    spares: str = ""
    ends: str = ""
    clasp_rings: str = ""
    clasp_price: str = ""
    anneal: str = ""
    inches: str = ""
    metals: str = ONE_METAL
    grid: str = ""
    legend: str = ""
    scale: str = defaults.SCALE
    teaching: str = ""
    background: str = defaults.BACKGROUND
    bed: str = ""
    nozzle: str = ""
    layer: str = ""
    clearance: str = ""
    jig: str = "ring-gauge"
    jigs: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    bundle: tuple[str, ...] = ("model", "plan", "drawing")

    @property
    def of_the_piece(self) -> tuple[str, ...]:
        """All that the figures of a piece hang on."""
        clasp = (self.clasp, self.ends, self.clasp_rings, self.clasp_price)
        return *clasp, self.spares, self.anneal, self.metals, self.grid, self.legend

    def jig_options(self, name: str) -> Mapping[str, str]:
        """What is typed for a jig."""
        return self.jigs.get(name, {})

    def with_text(self, name: str, text: str) -> Settings:
        """The same with another text for one of the fields."""
        changed: dict[str, Any] = {name: text}
        return replace(self, **changed)

    def with_jig_option(self, name: str, option: str, text: str) -> Settings:
        """The same with another text for an option of a jig; an empty one is left out."""
        options = {**self.jig_options(name), option: text}
        kept = {key: one for key, one in sorted(options.items()) if one}
        jigs = {**self.jigs, name: kept}
        return replace(self, jigs={key: one for key, one in sorted(jigs.items()) if one})
