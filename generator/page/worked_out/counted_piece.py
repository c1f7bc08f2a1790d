"""The piece of a choice counted, as ``ringwright plan`` counts it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringwright.answers.verdict import Report
from ringwright.api.plan import AskedPlan, planned
from ringwright.base import defaults
from ringwright.base.sizes import parse_length
from ringwright.making.plan.piece_size import LENGTH, checked_measure
from ringwright.making.plan.plan import Asked, Rings
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.shop.shop import Shop
from ringwright.page.state.chosen import Wanted
from ringwright.page.worked_out.ring_from_mandrel import own_wire, shelf_wire


@dataclass(frozen=True)
class Counting:
    """What is to be counted.

    Attributes
    ----------
    length_mm : of the piece, without a clasp
    asked : the width of a sheet, spares
    """

    rings: Rings
    length_mm: float
    asked: Asked


def counting(wanted: Wanted, shop: Shop) -> Counting:
    """What to count for a choice whose wire and ring are settled.

    Raises
    ------
    BadInput
        When the length, the metal or the temper cannot be read.
    """
    wire = own_wire(wanted, shop)
    rings = Rings(
        size=wanted.size(),
        mandrel_mm=parse_length(wanted.mandrel, "mandrel") if wanted.mandrel else None,
        cut=wire.cut,
        coil_mm=shop.coil_mm,
        metal=wire.metal,
        temper=wire.temper,
        bends=wire.bends,
        wire=shelf_wire(wanted, shop),
        shop=shop,
    )
    return Counting(rings, wanted.length_mm(), Asked(width_mm=wanted.width_mm()))


def counts(report: Report, what: Counting) -> PlanFigures:
    """The figures of the plan for a piece that can be woven.

    Raises
    ------
    BadInput
        When there is no such piece, or its rings cannot be wound.
    """
    asked = what.asked
    if not report.rule.family.has_rows:
        # A width that was typed for another weave.
        asked = replace(asked, width_mm=None)
    # A finished piece has no repeats, and so one length only.
    measure = None
    if report.repeat_mm is not None:
        measure = checked_measure(LENGTH, what.length_mm, None, None)
    wanted = AskedPlan(report.rule, what.rings, asked, measure, defaults.PAPER)
    return planned(report, wanted).figures
