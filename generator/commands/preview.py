"""``ringwright preview``: a whole piece, as models and a picture."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_out,
    add_size,
    add_width,
    asked_size,
    checked,
    progress,
    show,
    target,
)

if TYPE_CHECKING:
    from ringwright.colour.metals import Colouring
    from ringwright.commands.shared import Commands
    from ringwright.solver.climb import Unit
    from ringwright.weaves.rule import WeaveRule


def add(commands: Commands) -> None:
    """Describe the command."""
    preview = commands.add_parser(
        "preview",
        help="lay out a whole piece and write STL, STEP, GLB, PNG and JSON",
        description="Settle the weave, lay out the whole piece with its end rings, check every "
        "pair of rings again, and write NAME.stl, .step, .glb, .png and .json.",
        epilog=SIZES,
    )
    add_size(preview)
    preview.add_argument(
        "--length", required=True, metavar="LENGTH", help="least length of the piece, as 170mm"
    )
    add_width(preview)
    add_out(preview)
    preview.add_argument(
        "--chord-error",
        default="0.02mm",
        metavar="LENGTH",
        help="farthest the triangles may lie from the true ring (default 0.02mm)",
    )
    metals = preview.add_mutually_exclusive_group()
    metals.add_argument(
        "--metals",
        metavar="RING=METAL,...",
        help="metals by role or ring name, as open=copper,closed=steel/brass: those after a / take "
        "turns from repeat to repeat",
    )
    metals.add_argument(
        "--pattern",
        metavar="METAL,...",
        help="metals that take turns from ring to ring in the order of weaving, as 3*copper,brass",
    )
    metals.add_argument(
        "--grid",
        metavar="FILE",
        help="for a sheet: a PNG picture of one pixel for each ring, or a CSV table of metals",
    )
    add_json(preview)
    preview.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import parse_length

    rule, size = asked_size(options)
    length_mm = parse_length(options.length, "length")
    width_mm = None if options.width is None else parse_length(options.width, "width")
    if width_mm is not None and rule.family != "sheet":
        raise BadInput(f"--width is for sheets, and {rule.name} is a {rule.family}; leave it out.")
    chord_error_mm = parse_length(options.chord_error, "chord error")
    least_mm = (length_mm, width_mm)
    folder, name = target(options.out)
    colouring = _colouring(options, rule)

    from ringwright.answers.report import piece_facts, piece_text, report_facts, report_text
    from ringwright.outputs.models.artist import Artist
    from ringwright.outputs.models.picture import sent
    from ringwright.outputs.models.preview import laid_piece, preview

    with Artist("ringwright.outputs.models.picture") as artist, progress() as step:

        def begin_drawing(unit: Unit) -> None:
            artist.begin(sent(laid_piece(rule, size, unit, least_mm, colouring)[0]))

        report = checked(rule, size, step, options.meshes, begin_drawing)
        if not report.can_be_woven:
            facts = report_facts(report)
        else:
            made = preview(report, least_mm, folder, name, chord_error_mm, step, artist, colouring)
            facts = piece_facts(report, made.piece, made.repeats, made.checked, made.files)
    if not report.can_be_woven:
        show(options, facts, lambda: report_text(report) + "\n\nNothing was written.")
        return NOT_WOVEN
    if made.no_picture:
        print(f"ringwright: {made.no_picture}", file=sys.stderr)
    show(
        options,
        facts,
        lambda: "\n\n".join(
            [
                report_text(report),
                piece_text(report, made.piece, made.repeats, made.checked),
                "Written\n" + "\n".join(f"  {path}" for path in made.files.values() if path),
            ]
        ),
    )
    return WOVEN


def _colouring(options: argparse.Namespace, rule: WeaveRule) -> Colouring | None:
    """Which ring is to be of which metal, as far as it was typed."""
    from ringwright.colour.metals import parse_metals, parse_pattern
    from ringwright.colour.read_grid import read_grid

    if options.metals is not None:
        return parse_metals(options.metals, rule)
    if options.pattern is not None:
        return parse_pattern(options.pattern)
    if options.grid is None and rule.metals is not None:
        return parse_metals(rule.metals, rule, f"metals in {str(rule.path)!r}")
    if options.grid is None:
        return None
    if rule.family != "sheet":
        raise BadInput(
            f"--grid is for sheets, and {rule.name} is a {rule.family}; give --metals or --pattern."
        )
    return read_grid(options.grid)
