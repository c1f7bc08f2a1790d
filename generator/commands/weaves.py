"""``ringwright weaves``: the weave rules that come with it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import add_json, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    weaves = commands.add_parser(
        "weaves",
        help="list the weaves, or find one by any of its names",
        description="List the weaves that come with the program, or find one by any of its names.",
    )
    weaves.add_argument(
        "weave", nargs="*", metavar="NAME", help="any name that makers use for the weave"
    )
    add_json(weaves)
    weaves.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.answers.report import rules_text
    from ringwright.answers.weave_figures import Listed, WeavesFigures
    from ringwright.weaves import named_rule
    from ringwright.weaves.listed import weaves

    rules = tuple(weave.rule for weave in weaves())
    if options.weave:
        # A name of several words need not be put in quotes.
        rules = (named_rule(" ".join(options.weave)),)
    show(options, WeavesFigures.of(Listed(rules)).facts(), lambda: rules_text(rules))
    return WOVEN
