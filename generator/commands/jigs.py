"""``ringwright jigs``: the jigs that can be made."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import add_json, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    jigs = commands.add_parser(
        "jigs", help="list the printable jigs", description="List the printable jigs."
    )
    add_json(jigs)
    jigs.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.jigs import JIGS

    facts = [{"jig": name, "summary": summary} for name, summary in JIGS.items()]
    wide = max(len(name) for name in JIGS)
    show(
        options,
        {"jigs": facts},
        lambda: "\n".join(f"{name:<{wide}}  {summary}" for name, summary in JIGS.items()),
    )
    return WOVEN
