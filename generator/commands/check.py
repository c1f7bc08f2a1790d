"""``ringwright check``: whether a wire and ring size closes a weave."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from generator.commands.shared import (
    NOT_WOVEN,
    SIZES,
    WOVEN,
    add_json,
    add_size,
    asked_size,
    checked,
    progress,
    show,
    with_partners,
)

if TYPE_CHECKING:
    from generator.commands.shared import Commands


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
    add_json(check)
    check.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)

    from generator.report import report_facts, report_text

    with progress() as step:
        report = with_partners(checked(rule, size, step, options.meshes), step)
    show(options, report_facts(report), lambda: report_text(report))
    return WOVEN if report.can_be_woven else NOT_WOVEN
