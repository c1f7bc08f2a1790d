"""``ringwright check``: whether a wire and ring size closes a weave."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_size,
    progress,
    show,
    size_options,
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
    check.add_argument(
        "--why", action="store_true", help="give every figure, and say how each was found"
    )
    add_json(check)
    check.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.check import check

    with progress() as step:
        found = check(
            **size_options(options),
            shop=options.shop,
            meshes=options.meshes,
            workers=None,
            on_progress=step,
        )
    show(options, found.facts(), lambda: found.text(options.why))
    return WOVEN if found.can_be_woven else NOT_WOVEN
