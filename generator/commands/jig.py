"""``ringwright jig``: a printable jig, checked and written."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from ringwright.base.arguments import Parser
from ringwright.base.exit_status import WOVEN
from ringwright.base.wording import capitalised
from ringwright.commands.shared import SIZES, add_json, add_out, progress, show, target
from ringwright.jigs import JIGS, jig_module
from ringwright.jigs.parts.printing import add_printer

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command, and every jig as a command of it."""
    jig = commands.add_parser(
        "jig",
        help="make a printable jig: models, pictures, a sheet and a parts list",
        description="Build a jig for your sizes and printer, check that it can be printed and "
        "put together, and write its files. 'ringwright jig NAME --help' explains one jig.",
        epilog=SIZES + " Exit status: 0 the jig was written, 2 something typed could not "
        "be used, 3 it could not be written.",
    )
    names = jig.add_subparsers(dest="jig", metavar="NAME", required=True, parser_class=_JigParser)
    for name, summary in JIGS.items():
        # As a sentence; capitalize() would also lower the letters after the first.
        sentence = f"{capitalised(summary)}."
        names.add_parser(name, help=summary, description=sentence, epilog=SIZES)


class _JigParser(Parser):
    """The parser of one jig, which loads the jig's options when it is asked for."""

    _described = False

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse as usual, with all options there."""
        if not self._described:
            self._described = True
            _describe(self, self.prog.split()[-1])
        return super().parse_known_args(args, namespace)


def _describe(parser: argparse.ArgumentParser, name: str) -> None:
    """Give a jig's parser its options."""
    jig_module(name).add_options(parser)
    add_out(parser)
    add_printer(parser)
    add_json(parser)
    parser.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.jig import made_from

    # Before the jig is worked out, which can take a while.
    target(options.out)
    made = made_from(options.jig, options)
    with progress() as step:
        written = made.save_all(options.out, step)
    if written.no_picture:
        print(f"ringwright: {written.no_picture}", file=sys.stderr)
    show(options, written.facts, lambda: made.text(written))
    return WOVEN
