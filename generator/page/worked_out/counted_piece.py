"""The piece of a choice counted, as ``ringwright plan`` counts it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringwright.answers.verdict import Report
from ringwright.api.piece import asked_colouring
from ringwright.api.plan import AskedPlan, planned
from ringwright.api.several_metals import Wires, mix_of_wires
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_length
from ringwright.making.plan.piece_size import LENGTH, checked_measure
from ringwright.making.plan.plan import Asked, Mix, Rings
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.shop.shop import Shop
from ringwright.page.state.chosen import Wanted
from ringwright.page.worked_out.ring_from_mandrel import own_wire, shelf_wire
from ringwright.weaves.rule import WeaveRule


@dataclass(frozen=True)
class Counting:
    """What is to be counted.

    Attributes
    ----------
    length_mm : of the piece, without a clasp
    asked : the width of a sheet, spares
    mix : where rings come from if the weave's rule has several metals; else None
    """

    rings: Rings
    length_mm: float
    asked: Asked
    mix: Mix | None = None


def counting(wanted: Wanted, shop: Shop, rule: WeaveRule) -> Counting:
    """What to count for a choice whose wire and ring are settled.

    Raises
    ------
    BadInput
        When the length, the metal or the temper cannot be read, or the rule's metals cannot be
        planned.
    """
    wire = own_wire(wanted, shop)
    colouring = asked_colouring(rule, None, None, None, own=shop.metals)
    if colouring is not None:
        if wanted.mandrel:
            raise BadInput(
                f"{rule.name} is of several metals, each of which springs back in its own way; "
                "choose the ring by its inside, not by a mandrel."
            )
        named = shelf_wire(wanted, shop) if wanted.shelf else None
        size, temper = wanted.size(), wanted.temper or None
        wires = Wires(size, wire.size_text, named, temper, shop, wire.cut, shop.coil_mm)
        mix = mix_of_wires(colouring, wires)
        rings = next(iter(mix.sources.values()))
        return Counting(rings, wanted.length_mm(), Asked(width_mm=wanted.width_mm()), mix)
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
    wanted = AskedPlan(report.rule, what.rings, asked, measure, defaults.PAPER, what.mix)
    return planned(report, wanted).figures
