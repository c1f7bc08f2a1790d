"""``ringwright jig``: a printable jig, checked and written."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from generator.commands.shared import SIZES, WOVEN, add_json, progress, show, target
from jigs import JIGS
from jigs.printing import add_printer, printer_from

if TYPE_CHECKING:
    from generator.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command, and every jig as a command of it."""
    jig = commands.add_parser(
        "jig",
        help="make a printable jig: STEP, STL, 3MF, pictures, sheet, bill of materials",
        description="Build a jig for your sizes and printer, measure whether it can be printed "
        "and put together, and write its files; see 'ringwright jig NAME --help'.",
        epilog=SIZES + " Exit status: 0 the jig was written, 2 it could not be.",
    )
    names = jig.add_subparsers(dest="jig", metavar="NAME", required=True)
    for name, module in JIGS.items():
        one = names.add_parser(name, help=module.SUMMARY, description=module.SUMMARY, epilog=SIZES)
        module.add_options(one)
        one.add_argument(
            "--out",
            required=True,
            metavar="FOLDER/NAME",
            help="where the files go, less their ending",
        )
        add_printer(one)
        add_json(one)
        one.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    printer = printer_from(options)
    folder, name = target(options.out)
    made = JIGS[options.jig].from_options(options, printer)

    from jigs.write_jig import jig_text, write_jig

    with progress() as step:
        written = write_jig(made, printer, folder, name, step)
    if written.no_picture:
        print(f"ringwright: {written.no_picture}", file=sys.stderr)
    show(options, written.facts, lambda: jig_text(written, made))
    return WOVEN
