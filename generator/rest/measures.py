"""How a weave measures in each state: width, thickness, and the area a ring of a sheet takes."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.progress import Progress, quiet
from ringwright.geometry.contact import Rings
from ringwright.piece.piece import Piece, place_in_weave, woven_piece
from ringwright.rest.area import area_per_ring_mm2
from ringwright.rest.fit import Fit
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rest_states import SPREAD, RestState
from ringwright.weaves.rule import WeaveRule

# About so long a piece, in core radii of the main ring, and so many rows of a sheet, where a weave
# is measured on a piece; a repeat and a row at each end do not count.
_LENGTH, _FEWEST, _ROWS = 16.0, 4, 5
# What turns as it goes on winds up in one way or another, which a repeat or two more may change.
_MORE = (1, 2)
_Y, _UP = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class SheetAreas:
    """What a ring of a sheet takes, in square millimetres, away from the edges.

    Attributes
    ----------
    spread_mm2 : on a table, the largest
    hung_mm2 : by its first row, and by the ends of its rows; None where weight does not tell
    """

    spread_mm2: float
    hung_mm2: tuple[float | None, float | None]


@dataclass(frozen=True)
class OtherWay:
    """Another way in which a chain rests on a table, in millimetres.

    Attributes
    ----------
    width_mm, thickness_mm : as it lies so
    longer : than in the usual way, as a share of that; below zero where it is shorter
    """

    width_mm: float
    thickness_mm: float
    longer: float


@dataclass(frozen=True)
class LyingMeasures:
    """How a weave measures away from the ends and edges of a piece, in millimetres.

    Attributes
    ----------
    width_mm : across a chain; None for a sheet, which is as wide as one likes
    thickness_mm : from the table up, or of what hangs the other way across
    area_per_ring_mm2 : of a sheet; None for others, and where weight alone does not say how wide it
        hangs
    residual : how far contact forces are from balancing, per unit of the pull
    settled : whether that is at most 1e-6
    fit : of a piece that goes round a wrist or finger; None where it is not worn
    width_range_mm, thickness_range_mm : of a chain on a table, between which a touch changes it
        (:mod:`ringwright.rest.touch`); None where that was not asked for, or is not known
    winds : whether those are between pieces of other lengths instead, which wind otherwise
    areas : of a sheet on a table or hung, in all its states; None where that was not asked for
    other : of a chain on a table that snaps from one way of lying to another, the other one
    """

    state: RestState
    width_mm: float | None
    thickness_mm: float
    area_per_ring_mm2: float | None
    residual: float
    settled: bool
    fit: Fit | None = None
    width_range_mm: tuple[float, float] | None = None
    thickness_range_mm: tuple[float, float] | None = None
    winds: bool = False
    areas: SheetAreas | None = None
    other: OtherWay | None = None


def lying_measures(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    state: RestState,
    on_progress: Progress = quiet,
    in_full: bool = False,
) -> LyingMeasures:
    """Measure a weave in a state other than pulled straight.

    On a table one unit is laid with all its images, where they lie alike, and a sheet hangs flat so
    (:mod:`ringwright.rest.hanging`); else a short piece is
    laid or hung, and measured in the middle; worn, as much of it as goes round. A finished piece is
    measured all over.

    Parameters
    ----------
    unit : settled, in units of the core radius
    core_radius_mm : that unit in millimetres
    on_progress : called with (what, done, of)
    in_full : also between which figures a touch changes a chain on a table, or a repeat or two more
        a spiral, and the areas of a sheet in its other states, which takes longer

    Raises
    ------
    NoRest
        When a piece does not come to rest.
    """
    # A check of a weave pulled straight, which is the usual one, needs nothing of pieces at rest.
    from ringwright.rest.unit import can_lie

    if state.lies and can_lie(unit):
        measured = _of_unit(unit, core_radius_mm, state)
        return _in_full(measured, unit, core_radius_mm) if in_full else measured
    if state.hangs and rule.family.has_rows:
        measured = _of_hanging(unit, core_radius_mm, state)
        return _in_full(measured, unit, core_radius_mm) if in_full else measured
    rows = _ROWS if rule.family.has_rows else 1
    if state.body is not None:
        return _of_worn(rule, unit, core_radius_mm, state, rows, on_progress)
    repeats = 1
    if rule.family.repeats:
        repeats = max(_FEWEST, math.ceil(_LENGTH / unit.repeat))

    def of_piece(more: int) -> LyingMeasures:
        return _of_piece(rule, unit, core_radius_mm, state, (repeats + more, rows), on_progress)

    measured = of_piece(0)
    if not (in_full and state.lies and rule.family.turns):
        return measured
    found = [measured, *(of_piece(more) for more in _MORE)]
    return _with_ranges_of(measured, [each for each in found if each.settled])


def _of_piece(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    state: RestState,
    counts: tuple[int, int],
    on_progress: Progress,
) -> LyingMeasures:
    """The middle of a piece of so many repeats and rows."""
    from ringwright.rest.laid import laid

    piece = woven_piece(rule, unit, core_radius_mm, *counts)
    found = laid(rule, unit, piece, state, on_progress)
    middle = _middle(found.piece, *counts)
    area = area_per_ring_mm2(found.piece) if rule.family.has_rows else None
    width = None if rule.family.has_rows else _span(middle, _Y)
    lying = found.lying
    return LyingMeasures(state, width, _span(middle, _UP), area, lying.residual, lying.settled)


def _with_ranges_of(one: LyingMeasures, found: list[LyingMeasures]) -> LyingMeasures:
    """What one chain measures, with the ranges over some that wind otherwise."""
    widths = [each.width_mm for each in found if each.width_mm is not None]
    thick = [each.thickness_mm for each in found]
    if len(found) < 2:
        return one
    return replace(
        one,
        width_range_mm=(min(widths), max(widths)),
        thickness_range_mm=(min(thick), max(thick)),
        winds=True,
    )


def _of_worn(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    state: RestState,
    rows: int,
    on_progress: Progress,
) -> LyingMeasures:
    from ringwright.rest.laid import laid
    from ringwright.rest.on_body import snug

    assert state.body is not None
    piece = snug(rule, unit, core_radius_mm, state.body, rows, on_progress)
    found = laid(rule, unit, piece, state, on_progress)
    _, width_mm, thickness_mm = found.size_mm()
    width = None if rule.family.has_rows else width_mm
    lying = found.lying
    return LyingMeasures(state, width, thickness_mm, None, lying.residual, lying.settled, found.fit)


def _of_hanging(unit: Unit, scale: float, state: RestState) -> LyingMeasures:
    from ringwright.rest.hanging import hanging_unit

    found = hanging_unit(unit, state)
    area = _area_mm2(found.unit, scale) if found.told else None
    thick = _span(found.unit.rings, _UP) * scale
    return LyingMeasures(state, None, thick, area, found.residual, found.settled)


def _of_unit(unit: Unit, scale: float, state: RestState) -> LyingMeasures:
    from ringwright.rest.unit import lying_unit

    found = lying_unit(unit)
    width: float | None = found.width() * scale
    area: float | None = None
    if unit.lattice.kind.has_rows:
        width, area = None, _area_mm2(found.unit, scale)
    thick, other = found.thickness() * scale, None
    if found.other is not None:
        longer = found.other.unit.repeat / found.unit.repeat - 1.0
        other = OtherWay(found.other.width() * scale, found.other.thickness() * scale, longer)
    return LyingMeasures(state, width, thick, area, found.residual, found.settled, other=other)


def _area_mm2(unit: Unit, scale: float) -> float:
    """What a ring of a sheet takes, of a unit with all its images."""
    along, _, across = unit.lattice.values.tolist()
    return float(abs(along * across) * scale**2 / len(unit.rings.centres))


def _in_full(found: LyingMeasures, unit: Unit, scale: float) -> LyingMeasures:
    if unit.lattice.kind.has_rows:
        return replace(found, areas=_areas(unit, scale))
    return _with_ranges(found, unit, scale)


def _areas(unit: Unit, scale: float) -> SheetAreas | None:
    from ringwright.rest.hanging import HANGINGS
    from ringwright.rest.unit import can_lie

    if not can_lie(unit):
        return None
    spread = _of_unit(unit, scale, SPREAD).area_per_ring_mm2
    assert spread is not None
    row, ends = (_of_hanging(unit, scale, state).area_per_ring_mm2 for state in HANGINGS)
    return SheetAreas(spread, (row, ends))


def _with_ranges(found: LyingMeasures, unit: Unit, scale: float) -> LyingMeasures:
    from ringwright.rest.touch import ranges_within_a_touch
    from ringwright.rest.unit import lying_unit

    if found.width_mm is None or not found.settled:
        return found
    seen = ranges_within_a_touch(lying_unit(unit))
    (low, high), (flat, thick) = seen.width, seen.thickness
    return replace(
        found,
        width_range_mm=(low * scale, high * scale),
        thickness_range_mm=(flat * scale, thick * scale),
    )


def _middle(piece: Piece, repeats: int, rows: int) -> Rings:
    """The rings that are not of the first or last repeat or row, where there are more."""
    at = np.array([place_in_weave(name)[1] for name in piece.names])
    inner = np.ones(len(piece), np.bool_)
    for numbers, count in zip(at.T, (repeats, rows), strict=True):
        if count > 2:
            inner &= (numbers > 0) & (numbers < count - 1)
    return piece.of(inner).rings()


def _span(rings: Rings, way: Floats) -> float:
    low, high = extent(rings, way)
    return high - low
