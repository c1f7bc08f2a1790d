"""``ringwright place``: placements of a weave known by its order of assembly alone."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import SIZES, add_json, add_out, add_size, progress, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    place = commands.add_parser(
        "place",
        help="find where the rings lie when only their order of assembly is known",
        description="Find ways to place the rings that link them just as the steps in the rule "
        "file do; the placement in the file is not used. Each lay that is found is a numbered "
        "candidate, with a picture and a rule file (NAME-1.png, NAME-1.toml, ...); NAME.json "
        "lists them all.",
        epilog=SIZES,
    )
    add_size(place)
    add_out(place)
    place.add_argument(
        "--candidates",
        type=int,
        default=defaults.CANDIDATES,
        metavar="N",
        help="most candidates to offer (default %(default)s)",
    )
    place.add_argument(
        "--tries",
        type=int,
        default=defaults.RANDOM_STARTS,
        metavar="N",
        help="number of random starts (default %(default)s)",
    )
    place.add_argument(
        "--keep", type=int, metavar="K", help="also write candidate K as the rule file NAME.toml"
    )
    add_json(place)
    place.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.place import place

    with progress() as step:
        found = place(
            options.weave,
            options.wire,
            options.inner,
            outer=options.outer,
            ratio=options.ratio,
            out=options.out,
            candidates=options.candidates,
            tries=options.tries,
            keep=options.keep,
            workers=None,
            on_progress=step,
        )
    if found.no_picture:
        print(f"ringwright: {found.no_picture}", file=sys.stderr)
    show(options, found.facts(), found.text)
    return WOVEN
