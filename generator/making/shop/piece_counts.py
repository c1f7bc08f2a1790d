"""A piece of a settled weave in numbers: its measures, rings and metal."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ringwright.answers.verdict import Report
from ringwright.colour.metals import Colouring, painted
from ringwright.piece.piece import Piece, piece_of_length
from ringwright.rest.counts import counted_unit
from ringwright.solver.measure import extent


@dataclass(frozen=True)
class Layout:
    """What a piece is made of and how it measures; lengths in millimetres.

    Attributes
    ----------
    repeat_mm : None for a finished piece, which has no repeat
    length_mm : over the end rings
    rings_open, rings_closed : to open and to close before weaving
    main_rings : of the main size; the others are of the rule's other sizes
    other_metal_mm3 : metal in rings of other sizes
    metal_mm3 : metal in all rings
    """

    repeat_mm: float | None
    width_mm: float
    thickness_mm: float
    length_mm: float
    repeats: int
    rings_open: int
    rings_closed: int
    main_rings: int
    other_metal_mm3: float
    metal_mm3: float

    @property
    def rings(self) -> int:
        """All of them."""
        return self.rings_open + self.rings_closed


@dataclass(frozen=True)
class Share:
    """The rings of one metal in a piece of several.

    Attributes
    ----------
    colouring : which ring is of which
    paints : what the metal is called there
    """

    colouring: Colouring
    paints: tuple[str, ...]


def laid_out(
    report: Report, length_mm: float, width_mm: float | None = None, share: Share | None = None
) -> Layout:
    """The shortest piece of whole repeats that is at least so long and, a sheet, so wide.

    Parameters
    ----------
    share : of which rings and metal are counted; None for all

    Raises
    ------
    BadInput
        When the length is shorter than one repeat, or needs more than 20,000 rings.
    """
    rule = report.rule
    unit, scale = report.unit, report.size.core_radius_mm
    piece, repeats = piece_of_length(
        rule, unit, scale, length_mm, width_mm, counted_unit(rule, unit)
    )
    length_of_all_mm = piece.length_mm()
    across_mm = piece_width_mm(report, piece)
    if share is not None:
        paints = painted(piece, share.colouring).metals
        piece = piece.of(np.array([paint in share.paints for paint in paints]))
    other = {ring.name for ring in rule.rings if ring.size is not None}
    others = [name.split(".")[0] in other for name in piece.names]
    metal = 2.0 * math.pi**2 * piece.core_radii_mm * piece.wire_radii_mm**2
    return Layout(
        repeat_mm=report.repeat_mm,
        width_mm=across_mm,
        thickness_mm=report.thickness_mm or 0.0,
        length_mm=length_of_all_mm,
        repeats=repeats,
        rings_open=piece.roles.count("open"),
        rings_closed=piece.roles.count("closed"),
        main_rings=len(piece) - sum(others),
        other_metal_mm3=float(metal[others].sum()),
        metal_mm3=float(metal.sum()),
    )


def piece_width_mm(report: Report, piece: Piece) -> float:
    """Over the outsides of a piece; of a sheet, with all its rows as they lie in it."""
    if not report.rule.family.has_rows:
        return report.width_mm or 0.0
    # As many rows as were asked for; the report knows one repeat only.
    low, high = extent(piece.rings(), np.array([0.0, 1.0, 0.0]))
    return high - low
