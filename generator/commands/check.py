"""``ringwright check``: whether a wire and ring size closes a weave."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_laid,
    add_size,
    add_why,
    body_options,
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
        help="say whether a weave closes in a wire and ring size",
        description="Say whether the weave closes, how much room is left between rings, and how "
        "long, wide and thick one repeat is.",
        epilog=SIZES,
    )
    add_size(check)
    check.add_argument(
        "--shop", metavar="FILE", help="your shop file; names the nearest ring on your shelf"
    )
    add_laid(check)
    add_why(check)
    add_json(check)
    check.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.check import check

    with progress() as step:
        found = check(
            **size_options(options),
            shop=options.shop,
            laid=options.laid,
            **body_options(options),
            meshes=options.meshes,
            workers=None,
            on_progress=step,
        )
    show(options, found.facts(), lambda: found.text(options.why))
    return WOVEN if found.can_be_woven else NOT_WOVEN
