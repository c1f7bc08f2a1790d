"""What the page asks of the solver, as plain functions that worker processes run."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.minimums import with_other_shapes
from ringwright.answers.partners import Partner
from ringwright.answers.verdict import Report, limits_of
from ringwright.api.check import found_partners, settled
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.geometry.contact import close_pairs, contacts
from ringwright.outputs.gallery.gallery import shown_repeats
from ringwright.piece.piece import Piece, woven_piece
from ringwright.solver.climb import Unit
from ringwright.solver.placement import ring_radii
from ringwright.solver.settle import follow, settle
from ringwright.solver.tightest import Tightest, known_tightest
from ringwright.weaves.rule import WeaveRule

# Rings of a loaded chain touch; what overlaps by less, in wires, is touching.
_TOUCHING = 1e-4


@dataclass(frozen=True)
class Overlap:
    """Two rings of a piece that are in each other's way, and where, in millimetres."""

    first: int
    second: int
    at_mm: tuple[float, float, float]
    depth_mm: float


@dataclass(frozen=True, eq=False)
class Shown:
    """Some repeats to look at.

    Attributes
    ----------
    size : of which rings
    unit : the settled unit, to start from at the next size; None where rings overlap, or
        rest in another shape than the rule's own
    overlaps : where they do
    repeat_mm : None where rings overlap
    """

    size: RingSize
    piece: Piece
    unit: Unit | None
    overlaps: tuple[Overlap, ...]
    repeat_mm: float | None


@dataclass(frozen=True, eq=False)
class Answer:
    """A check, as the command ``check`` tells it, and some repeats to look at.

    Attributes
    ----------
    figures : of the check, as ``--json`` prints them
    report : the check itself, by which a piece is counted
    """

    figures: CheckFigures
    limit: Tightest
    shown: Shown
    report: Report


def repeats_at(
    rule: WeaveRule, size: RingSize, near: Unit | None, limit: Tightest | None
) -> Shown | None:
    """Some repeats at a size that is being dragged, followed from a size nearby.

    None where no start leads to rest and the tightest ring is not known yet: whether
    rings overlap there takes :func:`answer` to tell.
    """
    if limit is not None and not limits_of(rule, size, limit).closes(size.aspect_ratio):
        return _overlapping(rule, size, limit)
    followed = follow(rule, size, near) if near is not None else None
    if followed is not None:
        return _at_rest(rule, size, followed)
    settled = settle(rule, size, limit.unit if limit else None)
    if settled is None or not settled.converged:
        return None
    return _at_rest(rule, size, settled.unit)


def answer(
    on_progress: Progress, rule: WeaveRule, size: RingSize, limit: Tightest | None
) -> Answer:
    """All that ``ringwright check`` tells of a size.

    Raises
    ------
    BadInput, NoRest
        As :func:`ringwright.api.check.check` does.
    """
    limit = with_other_shapes(rule, [size], limit or limit_of(on_progress, rule, size))
    report = settled(rule, size, limit=limit)
    shown = _settled(report) if report.can_be_woven else _overlapping(rule, size, limit)
    return Answer(CheckFigures.of(report), limit, shown, report)


def partners_of(on_progress: Progress, report: Report) -> tuple[Partner, ...]:
    """Which rings of one size work with those of the others."""
    return found_partners(report, on_progress)


def with_partners(told: Answer, found: tuple[Partner, ...]) -> Answer:
    """An answer that says that too."""
    report = replace(told.report, partners=found)
    return replace(told, figures=CheckFigures.of(report), report=report)


def limit_of(on_progress: Progress, rule: WeaveRule, size: RingSize) -> Tightest:
    """The tightest ring of a weave; raises BadInput as ``solver.tightest`` does."""
    return known_tightest(
        rule, size, on_progress=lambda done, of: on_progress("tightest ring", done, of), workers=0
    )


def _settled(report: Report) -> Shown:
    """The rings as they rest, in the shape they rest in.

    From another shape than the rule's own nothing is followed to the next size.
    """
    shown = _at_rest(report.rule, report.size, report.unit)
    return shown if report.shape is None else replace(shown, unit=None)


def _at_rest(rule: WeaveRule, size: RingSize, unit: Unit) -> Shown:
    scale = size.core_radius_mm
    return Shown(
        size=size,
        piece=woven_piece(rule, unit, scale, *shown_repeats(rule, unit)),
        unit=unit,
        overlaps=(),
        repeat_mm=unit.repeat * scale if len(unit.lattice.values) else None,
    )


def _overlapping(rule: WeaveRule, size: RingSize, limit: Tightest) -> Shown:
    """The rings as they lie at the tightest, in a wire that is too thick for it."""
    unit = limit.unit.with_wire_radii(ring_radii(rule, size)[1])
    piece = woven_piece(rule, unit, size.core_radius_mm, *shown_repeats(rule, unit))
    return Shown(size, piece, None, overlaps_of(piece), None)


def overlaps_of(piece: Piece) -> tuple[Overlap, ...]:
    """Where rings of a piece overlap, the deepest first, each pair once."""
    rings = piece.rings()
    found = contacts(rings, close_pairs(rings, 0.0))
    least = -_TOUCHING * 2 * float(piece.wire_radii_mm.max())
    marks: dict[tuple[int, int], Overlap] = {}
    for k in np.argsort(found.gap):
        if found.gap[k] > least:
            break
        pair = int(found.pairs.first[k]), int(found.pairs.second[k])
        middle = (found.point_first[k] + found.point_second[k]) / 2
        at = (float(middle[0]), float(middle[1]), float(middle[2]))
        marks.setdefault(pair, Overlap(*pair, at, -float(found.gap[k])))
    return tuple(marks.values())
