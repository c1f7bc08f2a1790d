"""``ringwright assembly``: how a weave is put together, step by step, on paper."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.exit_status import WOVEN
from ringwright.base.paper import PAPERS
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_laid,
    add_out,
    add_size,
    asked_size,
    body_options,
    checked,
    progress,
    show,
    show_unwoven,
    target,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    assembly = commands.add_parser(
        "assembly",
        help="write a sheet that shows how to assemble the weave, a picture for each step",
        description="Work out how the piece hangs after each step of the weaving, and write "
        "NAME.pdf, a picture of each step (NAME-01.png, NAME-02.png ...), an animation "
        "(NAME.glb) and NAME.json.",
        epilog=SIZES,
    )
    add_size(assembly)
    assembly.add_argument(
        "--paper",
        default=defaults.PAPER,
        choices=tuple(PAPERS),
        help="paper size (default %(default)s)",
    )
    assembly.add_argument(
        "--teaching",
        action="store_true",
        help="colour rings by role, to match the sample of 'ringwright jig giant-sample "
        "--teaching', not by step",
    )
    add_laid(assembly)
    add_out(assembly)
    add_json(assembly)
    assembly.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)
    from ringwright.api.asked import asked_state

    state = asked_state(rule, options.laid, **body_options(options))
    folder, name = target(options.out)

    from ringwright.outputs.assembly_sheet.sheet import ARTIST, sheet_text, write_assembly
    from ringwright.outputs.models.artist import Artist

    with Artist(ARTIST) as artist, progress() as step:
        report = checked(rule, size, step, options.meshes)
        if report.can_be_woven:
            written = write_assembly(
                report, folder, name, options.paper, artist, step, options.teaching, state
            )
    if not report.can_be_woven:
        return show_unwoven(options, report)
    if written.no_picture:
        print(f"ringwright: {written.no_picture}", file=sys.stderr)
    show(options, written.figures.facts(), lambda: sheet_text(written))
    return WOVEN
