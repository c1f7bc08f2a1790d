"""``ringwright guide``: the guide, a topic at a time, with no need of a network."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.guide.topics import Topic

# Longer lines are hard to read.
_WIDEST = 96
# So many topics are named where there is none of the name that was typed.
_MOST_NEAR = 5


def add(commands: Commands) -> None:
    """Describe the command."""
    guide = commands.add_parser(
        "guide",
        help="read the guide: how to measure, choose, make and print",
        description="Print a topic of the guide, or without one the list of topics.",
    )
    guide.add_argument("topic", nargs="*", metavar="TOPIC", help="e.g. sizes or safety")
    guide.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.guide.topics import list_text

    if not options.topic:
        print(list_text())
        print("\nRead one with: ringwright guide TOPIC")
        return WOVEN
    _print_markdown(_topic(" ".join(options.topic)).text)
    return WOVEN


def _topic(wanted: str) -> Topic:
    """The topic of that name; where there is none, what is refused says where the words stand."""
    from ringwright.guide.parts import find
    from ringwright.guide.topics import topic

    try:
        return topic(wanted)
    except BadInput:
        near = list(dict.fromkeys(one.part.topic for one in find(wanted)))
        if not near:
            raise
        raise BadInput(
            f"The guide has no topic {wanted!r}; read about it in {', '.join(near[:_MOST_NEAR])}."
        ) from None


def _print_markdown(text: str) -> None:
    """Laid out on a terminal; as it stands where something else reads it."""
    if not sys.stdout.isatty():
        print(text, end="")
        return
    from ringwright.commands.markdown import print_laid_out

    print_laid_out(text, _WIDEST)
