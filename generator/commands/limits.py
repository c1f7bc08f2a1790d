"""``ringwright limits``: how far a weave goes at one size."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_size,
    add_why,
    progress,
    show,
    size_options,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    limits = commands.add_parser(
        "limits",
        help="say how far a weave can be pulled, bent and tightened, and whether each ring can "
        "be put in",
        description="Say how much the weave gives when pulled and pushed, how much room is left "
        "in each eye, how tightly it bends, whether each ring can be put in, and where a pull "
        "goes.",
        epilog=SIZES,
    )
    add_size(limits)
    limits.add_argument(
        "--repeats", type=int, metavar="N", help="also close a chain of N repeats into a bracelet"
    )
    add_why(limits)
    add_json(limits)
    limits.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.limits import limits

    with progress() as step:
        found = limits(
            **size_options(options),
            repeats=options.repeats,
            meshes=options.meshes,
            workers=None,
            on_progress=step,
        )
    show(options, found.facts(), lambda: found.text(options.why))
    return WOVEN if found.can_be_woven else NOT_WOVEN
