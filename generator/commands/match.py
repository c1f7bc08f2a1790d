"""``ringwright match``: what of the shop's wires, mandrels and rings suits a weave."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_metals,
    add_second,
    add_width,
    checked_workers,
    progress,
    show,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    match = commands.add_parser(
        "match",
        help="find what suits a weave among the wires, mandrels and bought rings of your shop file",
        description="Work out the ring that each wire makes on each mandrel of your shop file, "
        "springback and saw cut included, and rank these and the bought rings for a weave: "
        "verdict, size, mass and cost of a piece, which mandrel to take, and what to buy when "
        "nothing fits.",
        epilog=SIZES,
    )
    match.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    match.add_argument(
        "--shop",
        required=True,
        metavar="FILE",
        help="your shop file ('ringwright shop-file' writes one)",
    )
    match.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, e.g. 180mm"
    )
    add_width(match)
    add_metals(match)
    add_second(match)
    match.add_argument(
        "--workers", type=int, metavar="N", help="number of processes (default: one per core)"
    )
    add_json(match)
    match.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.match import match

    with progress() as step:
        found = match(
            options.weave,
            options.shop,
            options.length,
            options.width,
            options.second,
            metals=options.metals,
            pattern=options.pattern,
            grid=options.grid,
            legend=options.legend,
            workers=checked_workers(options.workers),
            on_progress=step,
        )
    show(options, found.facts(), found.text)
    return WOVEN if found.best else NOT_WOVEN
