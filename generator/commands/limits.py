"""``ringwright limits``: how far a weave goes at one size."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_size,
    asked_size,
    checked,
    progress,
    show,
    with_partners,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands

MOST_REPEATS = 1000


def add(commands: Commands) -> None:
    """Describe the command."""
    limits = commands.add_parser(
        "limits",
        help="say how far a weave goes: play, eyes, bends, assembly, load",
        description="Settle a weave and ask how far it goes: pulled and pushed, the room left in "
        "every eye, the tightest bend, whether it can be put together, where the pull goes.",
        epilog=SIZES,
    )
    add_size(limits)
    limits.add_argument(
        "--repeats", type=int, metavar="N", help="also close a chain of N repeats into a bracelet"
    )
    add_json(limits)
    limits.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)
    if options.repeats is not None and not 3 <= options.repeats <= MOST_REPEATS:
        raise BadInput(
            f"--repeats {options.repeats} does not make a bracelet; give 3 to {MOST_REPEATS}."
        )

    from ringwright.answers.limits import limits
    from ringwright.answers.report import report_facts, report_text
    from ringwright.answers.report_limits import limits_facts, limits_text

    with progress() as step:
        report = with_partners(checked(rule, size, step, options.meshes), step)
        found = limits(report, step, options.repeats) if report.can_be_woven else None
    if found is None:
        show(options, report_facts(report), lambda: report_text(report))
        return NOT_WOVEN
    show(
        options,
        limits_facts(found),
        lambda: f"{report_text(found.report)}\n\n{limits_text(found)}",
    )
    return WOVEN
