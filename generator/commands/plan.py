"""``ringwright plan``: everything that has to lie ready on the bench for a piece."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.commands.making_options import add_metal, asked_bending, asked_cut, asked_metal
from ringwright.commands.measure_options import add_measure, asked_measure
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_out,
    add_second,
    add_width,
    asked_rule,
    checked,
    progress,
    show,
    show_unwoven,
    target,
)

if TYPE_CHECKING:
    from ringwright.base.sizes import RingSize
    from ringwright.commands.shared import Commands
    from ringwright.making.plan.plan import Asked, Rings
    from ringwright.making.ring.coil import Cut
    from ringwright.making.ring.wire import Bending
    from ringwright.making.shop.shop import Shop, ShopWire

_MOST_CLASP_RINGS = 100


def add(commands: Commands) -> None:
    """Describe the command."""
    plan = commands.add_parser(
        "plan",
        help="count rings, wire, coils, hours and money for a piece, on a sheet for the bench",
        description="Settle a weave, find the piece of whole repeats for a measure, and write "
        "what has to lie ready on the bench: NAME.pdf to print, NAME.csv and NAME.json.",
        epilog=SIZES,
    )
    plan.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    plan.add_argument(
        "--wire", metavar="SIZE", help="wire diameter, as 0.9mm, or a wire of your shop file"
    )
    plan.add_argument("--inner", metavar="SIZE", help="the ring's inner diameter, as 3.2mm")
    plan.add_argument("--outer", metavar="SIZE", help="or its outer diameter, as 5mm")
    plan.add_argument("--ratio", metavar="NUMBER", help="or its aspect ratio, inner / wire")
    plan.add_argument(
        "--mandrel", metavar="SIZE", help="or what it is wound on; needs a shop file or a metal"
    )
    plan.add_argument(
        "--stock", metavar="NAME", help="or rings of your shop file that are bought ready cut"
    )
    add_second(plan)
    add_measure(plan)
    add_width(plan)
    plan.add_argument(
        "--shorter", action="store_true", help="take the shorter neighbour, not the longer"
    )
    plan.add_argument(
        "--clasp-rings", type=int, default=2, metavar="N", help="rings at the clasp (default 2)"
    )
    plan.add_argument("--clasp-price", type=float, metavar="AMOUNT", help="what the clasp costs")
    plan.add_argument(
        "--spares", default="5%", metavar="SHARE", help="more rings of each size (default 5%%)"
    )
    plan.add_argument("--shop", metavar="FILE", help="your shop file (see shop-file)")
    add_metal(plan)
    plan.add_argument("--anneal", action="store_true", help="the wire is annealed and pickled")
    plan.add_argument(
        "--coil", metavar="LENGTH", help="longest coil wound at a time (default 100mm)"
    )
    plan.add_argument("--paper", default="A4", metavar="NAME", help="A4 (default) or letter")
    add_out(plan)
    add_json(plan)
    plan.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule = asked_rule(options)
    rings, asked = _asked_rings(options), _asked(options)
    measure = asked_measure(options, rule)
    if asked.width_mm is not None and rule.family != "sheet":
        raise BadInput(f"--width is for sheets, and {rule.name} is a {rule.family}; leave it out.")
    folder, name = target(options.out)

    from ringwright.making.plan.piece_size import sized
    from ringwright.making.plan.plan import plan
    from ringwright.making.plan.plan_pdf import PICTURE_PIXELS, checked_paper
    from ringwright.making.plan.report_plan import plan_text
    from ringwright.making.plan.write_plan import write_plan
    from ringwright.making.shop.nearest import nearest_facts
    from ringwright.outputs.models.artist import Artist
    from ringwright.outputs.models.picture import sent

    paper = checked_paper(options.paper)
    with Artist("ringwright.outputs.models.picture") as artist, progress() as step:
        report = checked(rule, rings.size, step)
        if report.can_be_woven:
            sizing = None if measure is None else sized(report, measure, step)
            made = plan(report, rings, sizing, asked)
            artist.begin(sent(made.piece, PICTURE_PIXELS))
            facts, no_picture = write_plan(made, folder, name, paper, artist)
    if not report.can_be_woven:
        return show_unwoven(options, report, nearest_facts(report, rings.shop))
    if no_picture:
        print(f"ringwright: {no_picture}", file=sys.stderr)
    written = "\n".join(f"  {path}" for path in facts["files"].values())
    show(options, facts, lambda: f"{plan_text(facts)}\n\nWritten\n{written}")
    return WOVEN


def _asked(options: argparse.Namespace) -> Asked:
    from ringwright.base.sizes import parse_length, parse_percent
    from ringwright.making.plan.plan import Asked
    from ringwright.making.shop.shop import MOST_PRICE

    if not 0 <= options.clasp_rings <= _MOST_CLASP_RINGS:
        raise BadInput(
            f"--clasp-rings {options.clasp_rings} hold no clasp; give 0 to {_MOST_CLASP_RINGS}."
        )
    price = options.clasp_price
    if price is not None and not 0.0 <= price <= MOST_PRICE:
        raise BadInput(f"--clasp-price {price:g} is no price; give 0 to {MOST_PRICE:g}.")
    if price is not None and options.clasp is None:
        raise BadInput("--clasp-price goes with --clasp; give the clasp's length too.")
    return Asked(
        width_mm=None if options.width is None else parse_length(options.width, "width"),
        shorter=options.shorter,
        clasp_rings=options.clasp_rings,
        spares_percent=parse_percent(options.spares, "spares"),
        clasp_price=price,
        anneal=options.anneal,
    )


# --- where the rings come from --------------------------------------------------------


def _asked_rings(options: argparse.Namespace) -> Rings:
    from ringwright.making.shop.shop import load_shop

    shop = None if options.shop is None else load_shop(Path(options.shop))
    if options.stock is not None:
        return _bought(options, shop)
    if options.wire is None:
        raise BadInput("--wire is missing; give its diameter, as 0.9mm, or --stock for rings.")
    return _own(options, shop)


def _bought(options: argparse.Namespace, shop: Shop | None) -> Rings:
    from ringwright.making.plan.plan import Rings
    from ringwright.making.shop.shop import COIL_MM

    if shop is None:
        raise BadInput("--stock needs --shop; the shop file says what rings you have.")
    given = ("wire", "inner", "outer", "ratio", "mandrel", "metal", "temper", "trial", "kerf")
    extra = [f"--{name}" for name in given if getattr(options, name) is not None]
    if extra or options.anneal:
        raise BadInput(
            "--stock says all about the rings, and they are neither wound nor cut; leave out "
            f"{', '.join([*extra, *(['--anneal'] if options.anneal else [])])}."
        )
    for ring in shop.stock_rings:
        if ring.name == options.stock:
            return Rings(
                size=ring.size,
                mandrel_mm=None,
                cut=shop.cut,
                coil_mm=COIL_MM,
                metal=ring.metal,
                temper=ring.temper or None,
                stock=ring,
                shop=shop,
            )
    known = ", ".join(repr(ring.name) for ring in shop.stock_rings[:8]) or "none"
    raise BadInput(f"the shop file has no rings {options.stock[:60]!r}: it has {known}")


def _shelf_wire(options: argparse.Namespace, shop: Shop) -> ShopWire | None:
    """The shop's wire of that name, or the only one of that diameter, metal and temper."""
    for wire in shop.wires:
        if wire.name == options.wire:
            return wire
    return shop.wire_like(options.wire, options.metal, options.temper)


def _own(options: argparse.Namespace, shop: Shop | None) -> Rings:
    """Rings wound and cut from wire, on the shelf or not."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.plan.plan import Rings
    from ringwright.making.shop.shop import COIL_MM

    cut, coil_mm = asked_cut(options), COIL_MM
    if shop is not None:
        cut, coil_mm = cut if options.kerf is not None else shop.cut, shop.coil_mm
    if options.coil is not None:
        coil_mm = parse_length(options.coil, "coil")
    wire = None if shop is None else _shelf_wire(options, shop)
    if wire is None:
        metal = asked_metal(options, shop.metals if shop else ())
        bends = asked_bending(options, metal)
        size, mandrel_mm = _asked_size(options, options.wire, bends, cut)
        return Rings(size, mandrel_mm, cut, coil_mm, metal, options.temper, bends, shop=shop)
    if options.trial is not None:
        raise BadInput("--trial goes into the shop file when one is used; leave it out here.")
    size, mandrel_mm = _asked_size(options, f"{wire.wire_mm!r}mm", wire.bending, cut)
    return Rings(
        size, mandrel_mm, cut, coil_mm, wire.metal, wire.temper, wire.bending, wire, shop=shop
    )


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
            "--mandrel makes the ring, so --inner, --outer and --ratio follow from it; leave "
            "them out."
        )
    if bends is None:
        raise BadInput(
            "--mandrel needs to know how the wire springs back; name a wire of your shop file, "
            "or give --metal and --temper, or --trial."
        )
    wire_mm = parse_length(wire_text, "wire")
    mandrel_mm = parse_length(options.mandrel, "mandrel")
    made = made_ring(mandrel_mm, wire_mm, bends.strain, cut)
    return RingSize.from_text(wire_text, f"{made.ring.inner_mm!r}mm", None), mandrel_mm
