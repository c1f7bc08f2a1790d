"""``ringwright place``: placements of a weave known by its order of assembly alone."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import SIZES, add_json, add_out, add_size, progress, show, target

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    place = commands.add_parser(
        "place",
        help="find where the rings lie from the order of assembly alone",
        description="Find placements whose rings are linked just as the steps of a rule file "
        "link them, whatever placement it gives, and offer the different lays as numbered "
        "candidates: a picture and a rule file each (NAME-1.png, NAME-1.toml, ...), and NAME.json.",
        epilog=SIZES,
    )
    add_size(place)
    add_out(place)
    place.add_argument(
        "--candidates", type=int, default=6, metavar="N", help="at most so many (default 6)"
    )
    place.add_argument(
        "--tries", type=int, default=40, metavar="N", help="random starts (default 40)"
    )
    place.add_argument(
        "--keep", type=int, metavar="K", help="write candidate K as the rule file NAME.toml, too"
    )
    add_json(place)
    place.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import RingSize
    from ringwright.weaves import load_steps

    rule = load_steps(options.weave)
    size = RingSize.from_text(options.wire, options.inner, options.ratio)
    folder, name = target(options.out)
    if options.keep is not None and not 1 <= options.keep <= options.candidates:
        raise BadInput(
            f"--keep {options.keep} is not among at most {options.candidates} candidates; give "
            f"1 to {options.candidates}, or ask for more --candidates."
        )

    from ringwright.search.candidates import find_candidates
    from ringwright.search.write_candidates import (
        candidates_facts,
        candidates_text,
        keep_own_file,
        write_candidates,
    )

    keep_own_file(rule, folder, name, max(options.candidates, 0))
    with progress() as step:
        found = find_candidates(rule, size, step, options.candidates, options.tries)
        files, no_picture = write_candidates(rule, found, folder, name, options.keep, step)
    if no_picture:
        print(f"ringwright: {no_picture}", file=sys.stderr)
    show(
        options,
        candidates_facts(found, size, files),
        lambda: candidates_text(found, size, files),
    )
    return WOVEN
