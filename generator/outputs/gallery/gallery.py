"""Every weave at its common aspect ratio, for one sheet of pictures and one page of models."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.answers.verdict import Report, check
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, woven_piece
from ringwright.rest.laid import Laid, laid_if_asked, seen_round
from ringwright.rest.on_body import snug
from ringwright.solver.climb import Unit
from ringwright.solver.tightest import known_tightest
from ringwright.weaves.rest_states import PULLED, WORN, Body, worn_by
from ringwright.weaves.rule import WeaveRule

# For a rule that tells no common range: so much above its smallest aspect ratio.
_ABOVE_LEAST = 1.2
# About so long and so wide a piece shows a weave, in core radii of the main ring.
_LENGTH, _WIDTH = 20.0, 12.0
_MOST_REPEATS, _MOST_ROWS = 12, 6


@dataclass(frozen=True, eq=False)
class Exhibit:
    """One weave of the gallery.

    Attributes
    ----------
    size : the middle of the rule's common aspect ratios; where it gives none, a fifth above
        the smallest aspect ratio
    report, piece : None where the weave has no rest at this size
    trouble : why, or None
    laid : how the piece lies; None for pulled straight
    """

    rule: WeaveRule
    size: RingSize
    report: Report | None
    piece: Piece | None
    trouble: str | None
    laid: Laid | None = None


def exhibits(
    rules: Sequence[WeaveRule],
    wire_mm: float,
    on_progress: Progress,
    on_table: bool | None = False,
    body: Body | None = None,
) -> tuple[Exhibit, ...]:
    """Settle every weave.

    Parameters
    ----------
    wire_mm : of the main ring
    on_progress : called with (what, done, of)
    on_table : whether they lie on a table, sheets spread; else they are pulled straight. None for
        as their families are pictured
    body : what they are worn on, as much of them as goes round it; None where they are not. What is
        not worn is as ``on_table`` says
    """
    found = []
    for done, rule in enumerate(rules):
        on_progress("weaves", done, len(rules))
        found.append(_exhibit(rule, wire_mm, on_table, body))
    on_progress("weaves", len(rules), len(rules))
    return tuple(found)


def _exhibit(rule: WeaveRule, wire_mm: float, on_table: bool | None, body: Body | None) -> Exhibit:
    common = rule.common_aspect_ratio
    if common is not None:
        ratio, limit = (common.low + common.high) / 2, None
    else:
        limit = known_tightest(rule, RingSize(wire_mm, 4 * wire_mm))
        ratio = _ABOVE_LEAST * limit.aspect_ratio
    size = RingSize(wire_mm, round(ratio, 3) * wire_mm)
    try:
        report = check(rule, size)
    except (NoRest, BadInput) as trouble:
        return Exhibit(rule, size, None, None, trouble.typed)
    if not report.can_be_woven:
        return Exhibit(rule, size, report, None, "it cannot be woven at this size")
    piece = shown_piece(report)
    state = {None: None, False: PULLED, True: rule.family.lies}[on_table]
    try:
        if body is not None and WORN in rule.family.states:
            rows = shown_repeats(rule, report.unit)[1]
            piece = snug(rule, report.unit, size.core_radius_mm, body, rows)
            state = worn_by(body)
        found = laid_if_asked(rule, report.unit, piece, state)
    except (NoRest, BadInput) as trouble:
        return Exhibit(rule, size, report, None, trouble.typed)
    return Exhibit(rule, size, report, piece if found is None else seen_round(found), None, found)


def shown_piece(report: Report) -> Piece:
    """A piece of a woven weave that is long and wide enough to see what it is like."""
    rule, unit = report.rule, report.unit
    return woven_piece(rule, unit, report.size.core_radius_mm, *shown_repeats(rule, unit))


def shown_repeats(rule: WeaveRule, unit: Unit) -> tuple[int, int]:
    """How many repeats along and across show what a weave is like."""
    repeats = rows = 1
    if rule.family.repeats:
        repeats = min(max(3, round(_LENGTH / unit.repeat)), _MOST_REPEATS)
    if rule.family.has_rows:
        rows = min(max(2, round(_WIDTH / float(unit.lattice.values[2]))), _MOST_ROWS)
    return repeats, rows
