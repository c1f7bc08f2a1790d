"""``ringwright drawing``: a measured drawing of a few repeats, on one sheet of paper."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.base.paper import PAPERS
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_laid,
    add_out,
    add_size,
    add_why,
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
    from ringwright.outputs.drawing.draw import Wanted
    from ringwright.weaves.rule import WeaveRule

_REPEATS = 3


def add(commands: Commands) -> None:
    """Describe the command."""
    drawing = commands.add_parser(
        "drawing",
        help="draw a few repeats to scale, with dimensions: SVG, PDF and DXF",
        description="Draw front, side and end view of a few repeats, with hidden lines and "
        "dimensions; write NAME.svg, .pdf and .dxf. At --scale 1:1 a woven strip can be laid on "
        "the printed sheet and compared.",
        epilog=SIZES,
    )
    add_size(drawing)
    drawing.add_argument("--length", metavar="LENGTH", help="least length of the piece, e.g. 60mm")
    drawing.add_argument(
        "--repeats",
        type=int,
        metavar="N",
        help="in place of --length: number of repeats, and of rows in a sheet (default "
        f"{_REPEATS}; worn, as many as go round)",
    )
    drawing.add_argument(
        "--width",
        metavar="LENGTH",
        help="with --length: least width of a sheet, measured across its rows "
        f"(default {defaults.typed(defaults.WIDTH_MM)})",
    )
    drawing.add_argument(
        "--paper",
        choices=tuple(PAPERS),
        default=defaults.PAPER,
        help="paper size, landscape (default %(default)s)",
    )
    drawing.add_argument(
        "--scale",
        default=defaults.SCALE,
        metavar="SCALE",
        help="1:1, 2:1, 5:1, 1:2 and so on, or fit: the largest that fits the paper "
        "(default %(default)s)",
    )
    add_laid(drawing)
    drawing.add_argument("--no-hidden", action="store_true", help="leave hidden lines out")
    add_out(drawing)
    add_why(drawing)
    add_json(drawing)
    drawing.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)
    wanted = _wanted(options, rule)
    folder, name = target(options.out)

    from ringwright.answers.report import report_text
    from ringwright.outputs.drawing.draw import draw, write
    from ringwright.outputs.drawing.drawing_figures import drawing_facts
    from ringwright.outputs.drawing.report_drawing import drawing_text

    with progress() as step:
        report = checked(rule, size, step, options.meshes)
        if report.can_be_woven:
            drawn = draw(report, wanted, step)
    if not report.can_be_woven:
        return show_unwoven(options, report)
    files = write(drawn, folder, name)
    show(
        options,
        drawing_facts(report, drawn, files),
        lambda: f"{report_text(report, why=options.why)}\n\n{drawing_text(report, drawn, files)}",
    )
    return WOVEN


def _wanted(options: argparse.Namespace, rule: WeaveRule) -> Wanted:
    """What the options ask to be drawn."""
    from ringwright.api.asked import asked_state
    from ringwright.base.sizes import parse_length
    from ringwright.outputs.drawing.draw import Wanted
    from ringwright.outputs.drawing.layout import parse_scale
    from ringwright.weaves.refusals import refuse_without_rows

    if options.length is not None and options.repeats is not None:
        raise BadInput(
            "--length and --repeats were both given, but one follows from the other: leave one "
            "of them out."
        )
    if options.width is not None:
        refuse_without_rows(rule, "--width")
    if options.width is not None and options.length is None:
        raise BadInput(
            "--width is given without --length: give both for a sheet, or leave --width out."
        )
    state = asked_state(rule, options.laid, **body_options(options))
    repeats = options.repeats
    if repeats is None and (state.body is None or options.length is not None):
        repeats = _REPEATS
    if repeats is not None and repeats < 1:
        raise BadInput(f"--repeats {options.repeats} draws nothing; ask for 2 or more.")
    return Wanted(
        repeats=repeats,
        length_mm=None if options.length is None else parse_length(options.length, "length"),
        width_mm=None if options.width is None else parse_length(options.width, "width"),
        paper=options.paper,
        scale=parse_scale(options.scale),
        with_hidden=not options.no_hidden,
        state=state,
    )
