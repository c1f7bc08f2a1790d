"""``rw.plan``: everything that has to lie ready on the bench for a piece."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringwright.answers.verdict import Report
from ringwright.api.asked import (
    Length,
    Second,
    WeaveLike,
    asked_out,
    asked_rule,
    length_text,
    spelt_out,
)
from ringwright.api.check import settled
from ringwright.api.making import PLACES, asked_bending, asked_cut, asked_measure, asked_metal
from ringwright.api.piece import asked_colouring
from ringwright.api.several_metals import Wires, mix_of_stock, mix_of_wires, refuse_one_metal
from ringwright.base import defaults
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.paper import asked_paper
from ringwright.base.progress import Progress, quiet
from ringwright.base.wording import either, quoted
from ringwright.colour.metals import Colouring
from ringwright.making.plan.lengths import MM, asked_units
from ringwright.making.plan.piece_size import Measure, sized
from ringwright.making.plan.plan import Asked, Mix, Plan, Rings, bought, ends_mm
from ringwright.making.plan.plan import plan as counted
from ringwright.making.plan.plan_figures import PlanFigures, plan_figures
from ringwright.making.plan.plan_pdf import PICTURE_PIXELS
from ringwright.making.plan.report_plan import plan_text
from ringwright.making.plan.write_plan import write_plan
from ringwright.making.shop.shop import load_shop
from ringwright.outputs.models.artist import Artist
from ringwright.outputs.models.picture import sent
from ringwright.piece.end_kinds import KINDS
from ringwright.rest.laid import laid_if_asked
from ringwright.weaves.refusals import refuse_without_rows
from ringwright.weaves.rule import WeaveRule

if TYPE_CHECKING:
    from ringwright.base.sizes import RingSize
    from ringwright.making.ring.coil import Cut
    from ringwright.making.ring.wire import Bending
    from ringwright.making.shop.shop import Shop, ShopWire, StockRing

_MOST_CLASP_RINGS = 100
_SPARES = f"{defaults.SPARES_PERCENT:g}%"


@dataclass(frozen=True)
class AskedPlan:
    """What a plan is for, read and checked.

    Attributes
    ----------
    rule, rings, asked : the weave, what its rings are, and what the piece is to be
    measure : what it is to fit; None for a weave without repeats
    paper : what the plan is printed on
    mix : where its rings come from if they are of several metals; else None
    """

    rule: WeaveRule
    rings: Rings
    asked: Asked
    measure: Measure | None
    paper: str
    mix: Mix | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Planned:
    """What a piece takes.

    Attributes
    ----------
    plan : rings, wire, coils, time and money
    paper : what it is printed on
    """

    plan: Plan
    paper: str

    @property
    def figures(self) -> PlanFigures:
        """All figures, rounded to what the bench can tell apart."""
        return plan_figures(self.plan)

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright plan --json``, without files."""
        return self.figures.facts()

    def text(self) -> str:
        """What ``ringwright plan`` prints, but for the files."""
        return plan_text(self.figures)

    def save_all(
        self, out: str | Path, artist: Artist | None = None, on_progress: Progress = quiet
    ) -> tuple[PlanFigures, str | None]:
        """Write ``folder/name.pdf``, ``.csv`` and ``.json``, all of them whole or none.

        Parameters
        ----------
        out : ``folder/name``, without an ending
        artist : a drawing process that is ready; one is started when left out
        on_progress : called with (what, done, of), while it is worked out how the piece lies

        Returns
        -------
        figures, no_picture
            As in the JSON file; and why the PDF has no picture, or None.

        Raises
        ------
        BadInput
            When the files cannot be written.
        """
        if artist is None:
            with Artist("ringwright.outputs.models.picture") as own:
                return self.save_all(out, own, on_progress)
        report, piece = self.plan.report, self.plan.piece
        laid = laid_if_asked(report.rule, report.unit, piece, None, on_progress)
        artist.begin(sent(piece if laid is None else laid.piece, PICTURE_PIXELS))
        return write_plan(self.plan, *asked_out(out), self.paper, artist, laid)

    def __repr__(self) -> str:
        return f"<Planned {self.plan.report.rule.name}: {len(self.plan.piece)} rings>"


def plan(
    weave: WeaveLike,
    *,
    wire: Length | RingSize | None = None,
    inner: Length | None = None,
    outer: Length | None = None,
    ratio: str | float | None = None,
    second: Second | None = None,
    mandrel: Length | None = None,
    stock: str | None = None,
    length: Length | None = None,
    wrist: Length | None = None,
    ankle: Length | None = None,
    neck: Length | None = None,
    finger: Length | None = None,
    ease: Length | None = None,
    clasp: Length | None = None,
    width: Length | None = None,
    shorter: bool = False,
    clasp_rings: int | None = None,
    ends: str | None = None,
    clasp_price: float | None = None,
    spares: str = _SPARES,
    shop: str | Path | None = None,
    metal: str | None = None,
    metals: str | None = None,
    pattern: str | None = None,
    grid: str | Path | None = None,
    legend: str | None = None,
    temper: str | None = None,
    trial: tuple[Length, Length] | Sequence[tuple[Length, Length]] | None = None,
    caliper: Length | None = None,
    kerf: Length | None = None,
    anneal: bool = False,
    coil: Length | None = None,
    paper: str = defaults.PAPER,
    units: str = MM,
    workers: int | None = 0,
    on_progress: Progress = quiet,
) -> Planned:
    """Count rings, wire, coils, hours and money for a piece.

    Parameters
    ----------
    weave, inner, outer, ratio, second, workers, on_progress : as in ``rw.check``
    wire : its diameter, a ``RingSize``, or the name of a wire of the shop file
    mandrel : what the rings are wound on, in place of their diameter
    stock : the name of bought rings of the shop file, in place of all that says how rings are made
    length, wrist, ankle, neck, finger : what the piece is to fit, one of them: its own length, or
        the measure of the body
    ease : what the piece is longer than the body
    clasp, clasp_rings, clasp_price : the clasp's length, the rings that hold it, as many as its
        ends take if left out, and its price in the currency of the shop file
    ends : ``"one"`` ring at each end, one for every ring of the end to a ``"bar"``, or a
        ``"taper"``; left out, one where it can hold all that ends there, and else a bar
    width : least width of a sheet, across its rows
    shorter : whether to take the shorter of the two neighbouring whole numbers of repeats
    spares : spare rings of each size, as a share
    shop : the path of a shop file
    metal, temper : of the wire
    metals, pattern, grid : in place of ``metal``, which ring is of which, at most one of them: by
        role or ring, in turn, or the path of a picture or table for a sheet
    legend : what the colours or marks of the grid stand for, as ``"#b46a3c=copper"``
    trial : a mandrel, and the inner diameter of coils that were wound on it of this wire; or
        several such pairs
    caliper : how far the reading of these inner diameters may be off
    kerf : what the saw takes away; None for shears, which take nothing
    anneal : whether the wire is annealed first; its springback is then that of soft wire
    coil : the longest coil wound at a time
    paper : ``"A4"`` or ``"letter"``, what the plan is printed on
    units : ``"mm"``, or ``"both"`` for inches beside millimetres

    Returns
    -------
    Planned
        What it takes: lengths in millimetres, masses in grams, money in the shop file's currency.

    Raises
    ------
    BadInput
        When something cannot be used.
    NoRest
        When the weave cannot be woven of these rings.

    Notes
    -----
    How far wire springs back from the mandrel is derived in ``ringwright.making.ring.springback``;
    densities and strengths come with their sources in ``ringwright.metals``.

    Examples
    --------
    >>> import ringwright as rw
    >>> rw.plan("one-in-one", wire="1mm", inner="4mm", length="180mm").facts()["weave"]
    'one-in-one'
    """
    texts = {
        **{"wire": wire, "inner": inner, "outer": outer, "ratio": ratio, "mandrel": mandrel},
        **{"stock": stock, "length": length, "wrist": wrist, "ankle": ankle, "neck": neck},
        **{"finger": finger, "ease": ease, "clasp": clasp, "width": width, "spares": spares},
        **{"metals": metals, "pattern": pattern, "grid": grid, "legend": legend},
        **{"shop": shop, "metal": metal, "temper": temper, "kerf": kerf, "coil": coil},
        **{"caliper": caliper, "paper": paper, "units": units},
    }
    read = argparse.Namespace(
        weave=weave,
        second=second,
        shorter=shorter,
        clasp_rings=clasp_rings,
        ends=ends,
        clasp_price=clasp_price,
        trial=None if trial is None else _pairs(trial),
        anneal=anneal,
        **{
            name: None if given is None else length_text(given, name)
            for name, given in spelt_out(texts).items()
        },
    )
    wanted = asked_plan(read)
    report = settled(wanted.rule, wanted.rings.size, on_progress, workers=workers)
    if not report.can_be_woven:
        raise NoRest(f"{wanted.rule.name} {report.verdict} of these rings; take larger ones.")
    return planned(report, wanted, on_progress)


def _pairs(
    trial: tuple[Length, Length] | Sequence[tuple[Length, Length]],
) -> list[tuple[str, str]]:
    """One trial or several, as they are typed."""
    several = [trial] if len(trial) == 2 and not isinstance(trial[0], tuple | list) else trial
    found = []
    for pair in several:
        if not isinstance(pair, tuple | list) or len(pair) != 2:
            raise BadInput("a trial is a mandrel and an inner diameter, such as ('3mm', '3.1mm').")
        found.append((length_text(pair[0], "trial"), length_text(pair[1], "trial")))
    return found


def asked_plan(options: argparse.Namespace) -> AskedPlan:
    """Read the options of a plan; raises ``BadInput`` for what cannot be used."""
    rule = asked_rule(options.weave, options.second)
    shop = None if options.shop is None else load_shop(Path(options.shop))
    colouring = asked_colouring(
        rule,
        options.metals,
        options.pattern,
        options.grid,
        options.legend,
        shop.metals if shop else (),
    )
    mix = None if colouring is None else _asked_mix(options, colouring, shop)
    rings = _asked_rings(options, shop) if mix is None else next(iter(mix.sources.values()))
    asked = asked_else(options)
    if rings.wire is not None:
        # What is typed may be its name.
        asked = replace(asked, typed=_typed(options, wire=rings.wire.size_text))
    measure = asked_measure(options, rule)
    if asked.width_mm is not None:
        refuse_without_rows(rule, "--width")
    return AskedPlan(rule, rings, asked, measure, asked_paper(options.paper), mix)


def planned(report: Report, wanted: AskedPlan, on_progress: Progress = quiet) -> Planned:
    """The plan of a weave that can be woven."""
    measure = wanted.measure
    if measure is not None and measure.clasp_mm is not None:
        measure = replace(measure, ends_mm=ends_mm(report, wanted.asked))
    sizing = None if measure is None else sized(report, measure, on_progress)
    made = counted(report, wanted.rings, sizing, wanted.asked, wanted.mix)
    return Planned(made, wanted.paper)


def asked_else(options: argparse.Namespace) -> Asked:
    """Read what is asked beside the weave and its rings; raises ``BadInput`` as a plan does."""
    from ringwright.base.sizes import parse_length, parse_percent
    from ringwright.making.shop.shop import MOST_PRICE

    if options.clasp_rings is not None and not 0 <= options.clasp_rings <= _MOST_CLASP_RINGS:
        raise BadInput(
            f"--clasp-rings {options.clasp_rings} is out of range; give 0 to {_MOST_CLASP_RINGS}."
        )
    price = options.clasp_price
    if price is not None and not 0.0 <= price <= MOST_PRICE:
        raise BadInput(f"--clasp-price {price:g} is not a price; give 0 to {MOST_PRICE:g}.")
    if price is not None and options.clasp is None:
        raise BadInput("--clasp-price needs --clasp; give the clasp's length too.")
    if options.ends is not None and options.ends not in KINDS:
        raise BadInput(f"--ends {quoted(options.ends)} is no way to end; give {either(KINDS)}.")
    if options.ends is not None and options.clasp is None:
        raise BadInput("--ends is how a piece takes its clasp; give --clasp, the clasp's length.")
    return Asked(
        width_mm=None if options.width is None else parse_length(options.width, "width"),
        shorter=options.shorter,
        clasp_rings=options.clasp_rings,
        ends=options.ends,
        spares_percent=parse_percent(options.spares, "spares"),
        clasp_price=price,
        anneal=options.anneal,
        units=asked_units(options.units),
        typed=_typed(options),
    )


# The options whose lengths are said as they were typed.
SAID_AS_TYPED = ("wire", "inner", "outer", "mandrel", *PLACES, "ease", "clasp", "kerf", "coil")


def _typed(options: argparse.Namespace, **instead: str) -> dict[str, str]:
    """The lengths that were typed in other units than millimetres, by the name of their option."""
    given = {name: (getattr(options, name) or "").strip() for name in SAID_AS_TYPED} | instead
    return {name: text for name, text in given.items() if text and not text.endswith("mm")}


# --- where the rings come from --------------------------------------------------------


def _asked_mix(options: argparse.Namespace, colouring: Colouring, shop: Shop | None) -> Mix:
    """Rings of several metals, bought or of one's own."""
    from ringwright.base.sizes import RingSize

    refuse_one_metal(options)
    if options.stock is not None:
        return mix_of_stock(colouring, *_stock_named(options, shop))
    if options.wire is None:
        raise BadInput(_NO_WIRE)
    cut, coil_mm = _cutting(options, shop)
    named = shop.wire_named(options.wire) if shop else None
    text = options.wire if named is None else named.size_text
    size = RingSize.from_text(text, options.inner, options.ratio, options.outer)
    wires = Wires(size, text, named, options.temper, shop, cut, coil_mm, options.anneal)
    return mix_of_wires(colouring, wires)


_NO_WIRE = "--wire is missing; give its diameter, e.g. 0.9mm, or --stock for rings."


def _asked_rings(options: argparse.Namespace, shop: Shop | None) -> Rings:
    if options.stock is not None:
        ring, shop = _stock_named(options, shop)
        return bought(ring, ring.size, shop)
    if options.wire is None:
        raise BadInput(_NO_WIRE)
    return _own(options, shop)


def _stock_named(options: argparse.Namespace, shop: Shop | None) -> tuple[StockRing, Shop]:
    """The bought rings that were named, and the shop file that has them."""
    if shop is None:
        raise BadInput("--stock needs --shop; the shop file says what rings you have.")
    rings = ("wire", "inner", "outer", "ratio", "mandrel", "metal", "temper", "kerf")
    given = (*rings, "trial", "caliper")
    extra = [f"--{name}" for name in given if getattr(options, name) is not None]
    if extra or options.anneal:
        raise BadInput(
            "--stock names finished rings, which are neither wound nor cut; leave out "
            f"{', '.join([*extra, *(['--anneal'] if options.anneal else [])])}."
        )
    for ring in shop.stock_rings:
        if ring.name == options.stock:
            return ring, shop
    known = ", ".join(repr(ring.name) for ring in shop.stock_rings[:8]) or "none"
    raise BadInput(f"the shop file has no rings {options.stock[:60]!r}: it has {known}")


def _shelf_wire(options: argparse.Namespace, shop: Shop) -> ShopWire | None:
    """The shop's wire of that name, or the only one of that diameter, metal and temper."""
    named = shop.wire_named(options.wire)
    return named or shop.wire_like(options.wire, options.metal, options.temper)


def _cutting(options: argparse.Namespace, shop: Shop | None) -> tuple[Cut, float]:
    """How rings are cut, and the longest coil."""
    from ringwright.base.sizes import parse_length

    cut, coil_mm = asked_cut(options), defaults.COIL_MM
    if shop is not None:
        cut, coil_mm = cut if options.kerf is not None else shop.cut, shop.coil_mm
    if options.coil is not None:
        coil_mm = parse_length(options.coil, "coil")
    return cut, coil_mm


def _own(options: argparse.Namespace, shop: Shop | None) -> Rings:
    """Rings wound and cut from wire, on the shelf or not."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.annealed import annealed, annealed_as_known, how_to_anneal

    cut, coil_mm = _cutting(options, shop)
    wire = None if shop is None else _shelf_wire(options, shop)
    if wire is None:
        metal = asked_metal(options, shop.metals if shop else ())
        temper = options.temper
        if options.anneal:
            how_to_anneal(metal)
            tried = asked_bending(options, metal) if options.trial else None
            temper, bends = annealed(metal, parse_length(options.wire, "wire"), tried)
        else:
            bends = asked_bending(options, metal)
        size, mandrel_mm = _asked_size(options, options.wire, bends, cut)
        return Rings(size, mandrel_mm, cut, coil_mm, metal, temper, bends, shop=shop)
    if options.trial is not None or options.caliper is not None:
        raise BadInput(
            "with --shop, trial rings are read from the shop file; leave out --trial and --caliper."
        )
    temper, bends = wire.temper, wire.bending
    if options.anneal:
        temper, bends = annealed_as_known(wire.metal, wire.wire_mm, temper, bends)
    size, mandrel_mm = _asked_size(options, f"{wire.wire_mm!r}mm", bends, cut)
    return Rings(size, mandrel_mm, cut, coil_mm, wire.metal, temper, bends, wire, shop=shop)


def _asked_size(
    options: argparse.Namespace, wire_text: str, bends: Bending | None, cut: Cut
) -> tuple[RingSize, float | None]:
    """The ring that was typed, or that the mandrel makes; and that mandrel."""
    from ringwright.base.sizes import RingSize, parse_length
    from ringwright.making.ring.coil import made_ring

    if options.mandrel is None:
        return RingSize.from_text(wire_text, options.inner, options.ratio, options.outer), None
    if any(text is not None for text in (options.inner, options.outer, options.ratio)):
        raise BadInput(
            "--mandrel decides how large the ring is; leave out --inner, --outer and --ratio."
        )
    if bends is None:
        raise BadInput(
            "--mandrel needs to know how far the wire springs back; name a wire of your shop "
            "file, or give --metal and --temper, or --trial."
        )
    wire_mm = parse_length(wire_text, "wire")
    mandrel_mm = parse_length(options.mandrel, "mandrel")
    made = made_ring(mandrel_mm, wire_mm, bends.flow, cut)
    return RingSize.from_text(wire_text, f"{made.ring.inner_mm!r}mm", None), mandrel_mm
