"""``ringwright match``: what of the shop's wires, mandrels and rings suits a weave."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_second,
    add_width,
    asked_rule,
    progress,
    show,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    match = commands.add_parser(
        "match",
        help="try every wire, mandrel and bought ring of your shop file for a weave",
        description="Wind every wire on every mandrel of a shop file on paper, springback and "
        "saw cut included, and rank these and the bought rings for a weave: verdict, size, mass "
        "and cost of a piece, which mandrel to take, and what to buy when nothing fits.",
        epilog=SIZES,
    )
    match.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    match.add_argument(
        "--shop", required=True, metavar="FILE", help="your shop file (see shop-file)"
    )
    match.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, as 180mm"
    )
    add_width(match)
    add_second(match)
    match.add_argument("--workers", type=int, metavar="N", help="processes (default: every core)")
    add_json(match)
    match.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.shop.shop import load_shop

    rule = asked_rule(options)
    shop = load_shop(Path(options.shop))
    length_mm = parse_length(options.length, "length")
    width_mm = None if options.width is None else parse_length(options.width, "width")
    if width_mm is not None and rule.family != "sheet":
        raise BadInput(f"--width is for sheets, and {rule.name} is a {rule.family}; leave it out.")
    if options.workers is not None and not 1 <= options.workers <= 256:
        raise BadInput(f"--workers {options.workers} is outside 1 to 256; give one per core.")

    from ringwright.making.shop.match import match
    from ringwright.making.shop.report_match import match_facts, match_text

    with progress() as step:
        found = match(rule, shop, length_mm, width_mm, step, options.workers)
    show(options, match_facts(found), lambda: match_text(found))
    return WOVEN if found.best else NOT_WOVEN
