"""``ringwright preview``: a whole piece, as models and a picture."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_laid,
    add_metals,
    add_out,
    add_size,
    add_why,
    add_width,
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
    from ringwright.solver.climb import Unit


def add(commands: Commands) -> None:
    """Describe the command."""
    preview = commands.add_parser(
        "preview",
        help="make models and a picture of a whole piece: STL, STEP, GLB, PNG",
        description="Lay out the whole piece with its end rings, measure every pair of rings "
        "again, and write NAME.stl, .step, .glb, .png and .json.",
        epilog=SIZES,
    )
    add_size(preview)
    preview.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, e.g. 170mm"
    )
    add_width(preview)
    add_laid(preview, "on-table, sheets as if spread, pulled what would take long")
    add_out(preview)
    preview.add_argument(
        "--chord-error",
        default=defaults.typed(defaults.CHORD_ERROR_MM),
        metavar="LENGTH",
        help="how far the triangles of the models may lie from the true ring (default %(default)s)",
    )
    add_metals(preview)
    add_why(preview)
    add_json(preview)
    preview.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.answers.preview_figures import preview_facts
    from ringwright.answers.report import report_text
    from ringwright.api.asked import asked_shown_state
    from ringwright.api.piece import asked_piece, laid, laid_out
    from ringwright.outputs.models.artist import Artist
    from ringwright.outputs.models.picture import sent
    from ringwright.outputs.models.preview import PICTURES
    from ringwright.weaves.rest_states import PULLED

    rule, size = asked_size(options)
    wanted = asked_piece(
        rule,
        options.length,
        options.width,
        options.metals,
        options.pattern,
        options.grid,
        options.legend,
        options.chord_error,
        asked_shown_state(rule, options.laid, **body_options(options)),
    )
    # Before anything is worked out, which can take a while.
    target(options.out)
    with Artist(PICTURES) as artist, progress() as step:

        def begin_drawing(unit: Unit) -> None:
            # How it lies is worked out later.
            if wanted.state == PULLED:
                artist.begin(sent(laid_out(rule, size, unit, wanted)[0]))

        report = checked(rule, size, step, options.meshes, begin_drawing)
        if report.can_be_woven:
            piece = laid(report, wanted, step)
            made = piece.save_all(options.out, step, artist)
            facts = preview_facts(report, made.made)
    if not report.can_be_woven:
        return show_unwoven(options, report)
    if made.no_picture:
        print(f"ringwright: {made.no_picture}", file=sys.stderr)
    show(
        options,
        facts,
        lambda: "\n\n".join(
            [
                report_text(report, why=options.why),
                piece.text(),
                "Written\n" + "\n".join(f"  {path}" for path in made.files.values() if path),
            ]
        ),
    )
    return WOVEN
