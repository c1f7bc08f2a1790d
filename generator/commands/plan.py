"""``ringwright plan``: everything that has to lie ready on the bench for a piece."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.exit_status import WOVEN
from ringwright.base.paper import USUAL_PAPER
from ringwright.commands.making_options import add_metal
from ringwright.commands.measure_options import add_measure
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_out,
    add_second,
    add_width,
    checked,
    progress,
    show,
    show_unwoven,
    target,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


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
        "--wire", metavar="SIZE", help="wire diameter, e.g. 0.9mm, or a wire of your shop file"
    )
    plan.add_argument("--inner", metavar="SIZE", help="the ring's inner diameter, e.g. 3.2mm")
    plan.add_argument("--outer", metavar="SIZE", help="or its outer diameter, e.g. 5mm")
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
        "--spares", default="5%", metavar="SHARE", help="spare rings of each size (default 5%%)"
    )
    plan.add_argument("--shop", metavar="FILE", help="your shop file (see shop-file)")
    add_metal(plan)
    plan.add_argument("--anneal", action="store_true", help="the wire is annealed and pickled")
    plan.add_argument(
        "--coil", metavar="LENGTH", help="longest coil wound at a time (default 100mm)"
    )
    plan.add_argument("--paper", default=USUAL_PAPER, metavar="NAME", help="A4 (default) or letter")
    add_out(plan)
    add_json(plan)
    plan.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.plan import asked_plan, planned
    from ringwright.making.plan.report_plan import plan_text
    from ringwright.making.shop.nearest import nearest_facts
    from ringwright.outputs.models.artist import Artist

    wanted = asked_plan(options)
    # Before anything is worked out, which can take a while.
    target(options.out)
    with Artist("ringwright.outputs.models.picture") as artist, progress() as step:
        report = checked(wanted.rule, wanted.rings.size, step)
        if report.can_be_woven:
            found = planned(report, wanted, step)
            facts, no_picture = found.save_all(options.out, artist)
    if not report.can_be_woven:
        return show_unwoven(options, report, nearest_facts(report, wanted.rings.shop))
    if no_picture:
        print(f"ringwright: {no_picture}", file=sys.stderr)
    written = "\n".join(f"  {path}" for path in facts["files"].values())
    show(options, facts, lambda: f"{plan_text(facts)}\n\nWritten\n{written}")
    return WOVEN
