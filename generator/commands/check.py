"""``ringwright check``: whether a wire and ring size closes a weave."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_size,
    asked_size,
    checked,
    progress,
    shelf_words,
    show,
    with_partners,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    check = commands.add_parser(
        "check",
        help="say whether a wire and ring size closes a weave",
        description="Settle one repeat and say whether it closes, how much room is left and how "
        "long, wide and thick it is.",
        epilog=SIZES,
    )
    add_size(check)
    check.add_argument(
        "--shop", metavar="FILE", help="your shop file, to name the nearest ring on your shelf"
    )
    add_json(check)
    check.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.answers.report import report_facts, report_text
    from ringwright.making.shop.nearest import nearest_facts
    from ringwright.making.shop.shop import load_shop

    rule, size = asked_size(options)
    shop = None if options.shop is None else load_shop(Path(options.shop))
    with progress() as step:
        report = with_partners(checked(rule, size, step, options.meshes), step)
    shelf = nearest_facts(report, shop)
    show(
        options,
        {**report_facts(report), **shelf},
        lambda: report_text(report, shelf_words(shelf)),
    )
    return WOVEN if report.can_be_woven else NOT_WOVEN
