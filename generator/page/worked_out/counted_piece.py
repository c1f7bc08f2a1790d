"""The piece of a choice counted, as ``ringwright plan`` counts it."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, replace

from ringwright.answers.verdict import Report
from ringwright.api.piece import asked_colouring
from ringwright.api.plan import SAID_AS_TYPED, AskedPlan, asked_else, planned
from ringwright.api.several_metals import Wires, mix_of_wires
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_length
from ringwright.base.wording import quoted
from ringwright.colour.legend import parse_legend
from ringwright.colour.metals import Colouring
from ringwright.colour.read_grid import read_table
from ringwright.making.plan.lengths import MM
from ringwright.making.plan.piece_size import LENGTH, checked_measure
from ringwright.making.plan.plan import Asked, Mix, Rings
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.ring.annealed import annealed, annealed_as_known
from ringwright.making.shop.shop import Shop
from ringwright.page.state.chosen import BY_ROLE, Wanted
from ringwright.page.state.file_settings import AS_COLOURED, FROM_GRID, Settings
from ringwright.page.worked_out.ring_from_mandrel import own_wire, shelf_wire
from ringwright.weaves.refusals import refuse_without_rows
from ringwright.weaves.rule import WeaveRule

# Nothing typed: no clasp, the usual spares, one metal as it is.
_PLAIN = Settings()


@dataclass(frozen=True)
class Counting:
    """What is to be counted.

    Attributes
    ----------
    length_mm : of the piece, its clasp included
    asked : the width of a sheet, ends, spares
    mix : where rings come from if they are of several metals; else None
    clasp_mm : what the clasp adds; None without one
    """

    rings: Rings
    length_mm: float
    asked: Asked
    mix: Mix | None = None
    clasp_mm: float | None = None


def counting(wanted: Wanted, shop: Shop, rule: WeaveRule, settings: Settings = _PLAIN) -> Counting:
    """What to count for a choice whose wire and ring are settled.

    Parameters
    ----------
    settings : of the plan: its clasp, ends, spares, annealing and metals

    Raises
    ------
    BadInput
        When the length, the metal, the temper or one of the settings cannot be read, or the plan
        could not be made either.
    """
    colouring = _colouring(wanted, shop, rule, settings)
    clasp = settings.clasp if rule.family.repeats else ""
    asked = _asked(wanted, settings, clasp)
    mix = None if colouring is None else _mix(wanted, shop, colouring, asked.anneal)
    rings = _rings(wanted, shop, asked.anneal) if mix is None else next(iter(mix.sources.values()))
    clasp_mm = parse_length(clasp, "clasp") if clasp else None
    return Counting(rings, wanted.length_mm(), asked, mix, clasp_mm)


def _colouring(wanted: Wanted, shop: Shop, rule: WeaveRule, settings: Settings) -> Colouring | None:
    """Which ring is of which metal; None where all are of one."""
    own, metals, pattern = shop.metals, None, None
    if settings.metals == FROM_GRID:
        refuse_without_rows(rule, "--grid", instead="choose the metals by colour")
        legend = parse_legend(settings.legend, own) if settings.legend else None
        return read_table(settings.grid, "the picture or table", own, legend)
    if settings.metals == AS_COLOURED and wanted.paint != BY_ROLE:
        by_name = "=" in wanted.paint
        metals, pattern = (wanted.paint, None) if by_name else (None, wanted.paint)
    return asked_colouring(rule, metals, pattern, None, own=own)


def _asked(wanted: Wanted, settings: Settings, clasp: str) -> Asked:
    """What else is asked; what is about a clasp goes with it."""
    return asked_else(
        argparse.Namespace(
            **(dict.fromkeys(SAID_AS_TYPED) | {"clasp": clasp or None}),
            width=wanted.width or None,
            shorter=False,
            clasp_rings=_whole(settings.clasp_rings) if clasp else None,
            clasp_price=_price(settings.clasp_price) if clasp else None,
            ends=(settings.ends or None) if clasp else None,
            spares=settings.spares or f"{defaults.SPARES_PERCENT:g}%",
            anneal=bool(settings.anneal),
            units=MM,
        )
    )


def _whole(text: str) -> int | None:
    try:
        return int(text) if text else None
    except ValueError:
        raise BadInput(
            f"rings at the clasp {quoted(text)} is not a whole number; give one, e.g. 2."
        ) from None


def _price(text: str) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        raise BadInput(
            f"price of the clasp {quoted(text)} is not a number; give one, e.g. 2.50."
        ) from None


def _mix(wanted: Wanted, shop: Shop, colouring: Colouring, anneal: bool) -> Mix:
    """Rings of several metals, wound from wire."""
    if wanted.mandrel:
        raise BadInput(
            "the piece is of several metals, each of which springs back in its own way; choose "
            "the ring by its inside, not by a mandrel."
        )
    wire = own_wire(wanted, shop)
    named = shelf_wire(wanted, shop) if wanted.shelf else None
    temper = None if wanted.shelf else wanted.temper or None
    size, cut = wanted.size(), wire.cut
    wires = Wires(size, wire.size_text, named, temper, shop, cut, shop.coil_mm, anneal)
    return mix_of_wires(colouring, wires)


def _rings(wanted: Wanted, shop: Shop, anneal: bool) -> Rings:
    """Rings of one metal."""
    wire, shelf, size = own_wire(wanted, shop), shelf_wire(wanted, shop), wanted.size()
    temper, bends = wire.temper, wire.bends
    if anneal and wanted.mandrel:
        raise BadInput(
            "annealed wire springs back less, so on this mandrel it makes other rings than these; "
            "the plan has their figures."
        )
    if anneal and shelf is not None:
        temper, bends = annealed_as_known(wire.metal, size.wire_mm, temper, bends)
    elif anneal:
        temper, bends = annealed(wire.metal, size.wire_mm, None)
    return Rings(
        size=size,
        mandrel_mm=parse_length(wanted.mandrel, "mandrel") if wanted.mandrel else None,
        cut=wire.cut,
        coil_mm=shop.coil_mm,
        metal=wire.metal,
        temper=temper,
        bends=bends,
        wire=shelf,
        shop=shop,
    )


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
        measure = checked_measure(LENGTH, what.length_mm, None, what.clasp_mm)
    wanted = AskedPlan(report.rule, what.rings, asked, measure, defaults.PAPER, what.mix)
    return planned(report, wanted).figures
