"""``ringwright weaves``: the weave rules that come with it."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from generator.commands.shared import WOVEN, add_json, show

if TYPE_CHECKING:
    from generator.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    weaves = commands.add_parser("weaves", help="list the weave rules", description="List rules.")
    add_json(weaves)
    weaves.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from generator.report import rule_facts, rules_text
    from weaves import list_rules

    rules = list_rules()
    show(options, {"weaves": [rule_facts(rule) for rule in rules]}, lambda: rules_text(rules))
    return WOVEN
