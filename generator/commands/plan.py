"""``ringwright plan``: everything that has to lie ready on the bench for a piece."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.exit_status import WOVEN
from ringwright.base.paper import PAPERS
from ringwright.base.wording import either
from ringwright.commands.making_options import add_metal
from ringwright.commands.measure_options import add_measure
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_metals,
    add_out,
    add_second,
    add_width,
    checked,
    progress,
    show,
    show_unwoven,
    target,
)
from ringwright.making.plan.lengths import MM, UNITS
from ringwright.piece.end_kinds import KINDS

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    plan = commands.add_parser(
        "plan",
        help="count rings, wire, coils, hours and cost of a piece, on a sheet for the bench",
        description="Find the piece of whole repeats that fits a measure, and list everything to "
        "get ready on the bench: NAME.pdf to print, NAME.csv and NAME.json.",
        epilog=SIZES,
    )
    plan.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    plan.add_argument(
        "--wire",
        metavar="SIZE",
        help="wire diameter, e.g. 0.9mm, or the name of a wire in your shop file",
    )
    plan.add_argument("--inner", metavar="SIZE", help="inner diameter of the rings, e.g. 3.2mm")
    plan.add_argument(
        "--outer", metavar="SIZE", help="in place of --inner: outer diameter, e.g. 5mm"
    )
    plan.add_argument(
        "--ratio",
        metavar="NUMBER",
        help="in place of --inner: aspect ratio, inner diameter / wire diameter",
    )
    plan.add_argument(
        "--mandrel",
        metavar="SIZE",
        help="in place of --inner: the mandrel they are wound on, "
        "e.g. 3mm; needs --metal and --temper, --trial, or a wire of --shop",
    )
    plan.add_argument(
        "--stock",
        metavar="NAME",
        help="in place of all of these: the name of bought rings in your shop file",
    )
    add_second(plan)
    add_measure(plan)
    add_width(plan)
    plan.add_argument(
        "--shorter",
        action="store_true",
        help="take the next shorter piece (default: the next longer)",
    )
    plan.add_argument(
        "--clasp-rings",
        type=int,
        metavar="N",
        help=f"number of rings at the clasp (default {defaults.CLASP_RINGS}, or one for each ring "
        "of the ends: see --ends)",
    )
    plan.add_argument(
        "--ends",
        metavar="NAME",
        help=f"how the piece takes its clasp, {either(KINDS)}: one ring at each end, one for every "
        "ring of the end to a bar or slide clasp, or narrower ring by ring (default: one where "
        "it goes through all that ends there, else bar)",
    )
    plan.add_argument(
        "--clasp-price", type=float, metavar="AMOUNT", help="price of the clasp, e.g. 4.50"
    )
    plan.add_argument(
        "--spares",
        default=f"{defaults.SPARES_PERCENT:g}%",
        metavar="SHARE",
        help="spare rings of each size, in per cent of the rings (default %(default)s)",
    )
    plan.add_argument(
        "--shop", metavar="FILE", help="your shop file ('ringwright shop-file' writes one)"
    )
    add_metals(plan)
    add_metal(plan)
    plan.add_argument(
        "--anneal",
        action="store_true",
        help="anneal the wire first: it then springs back as soft wire does; adds the steps and "
        "cautions of that metal, and refuses metals that are not to be heated",
    )
    plan.add_argument(
        "--coil",
        metavar="LENGTH",
        help="longest coil to wind at a time (default: that of your shop file, else "
        f"{defaults.typed(defaults.COIL_MM)})",
    )
    plan.add_argument(
        "--paper",
        default=defaults.PAPER,
        metavar="NAME",
        help=f"paper size, {' or '.join(PAPERS)} (default %(default)s)",
    )
    plan.add_argument(
        "--units",
        default=MM,
        metavar="NAME",
        help=f"how lengths are said, {either(UNITS)}: both has inches beside millimetres (default "
        "%(default)s); what you type in other units is repeated as you typed it",
    )
    add_out(plan)
    add_json(plan)
    plan.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.plan import asked_plan, planned
    from ringwright.making.plan.report_plan import plan_text
    from ringwright.making.shop.shelf_figures import shelf_figures
    from ringwright.outputs.models.artist import Artist

    wanted = asked_plan(options)
    # Before anything is worked out, which can take a while.
    target(options.out)
    with Artist("ringwright.outputs.models.picture") as artist, progress() as step:
        report = checked(wanted.rule, wanted.rings.size, step)
        if report.can_be_woven:
            found = planned(report, wanted, step)
            figures, no_picture = found.save_all(options.out, artist, step)
    if not report.can_be_woven:
        return show_unwoven(options, report, shelf_figures(report, wanted.rings.shop))
    if no_picture:
        print(f"ringwright: {no_picture}", file=sys.stderr)
    written = "\n".join(f"  {path}" for path in figures.files.values())
    show(options, figures.facts(), lambda: f"{plan_text(figures)}\n\nWritten\n{written}")
    return WOVEN
