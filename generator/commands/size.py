"""``ringwright size``: how many repeats fit a wrist, an ankle, a neck, a finger or a length."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.api.making import asked_measure
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.measure_options import add_measure
from ringwright.commands.shared import (
    MORE,
    SIZES,
    add_json,
    add_size,
    asked_size,
    checked,
    progress,
    show,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.making.plan.piece_size import Measure, Sizing


def add(commands: Commands) -> None:
    """Describe the command."""
    size = commands.add_parser(
        "size",
        help="say how many repeats fit a wrist, an ankle, a neck, a finger or a length",
        description="Find the next shorter and the next longer piece of whole repeats for a "
        "measure, allowing for the thickness of the weave when the piece is closed.",
        epilog=SIZES,
    )
    add_size(size)
    add_measure(size)
    size.add_argument(
        "--sizes", metavar="LIST", help="more measures of the same kind, e.g. 160mm,170mm,180mm"
    )
    add_json(size)
    size.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    rule, size = asked_size(options)
    measure = asked_measure(options, rule)
    if measure is None:
        raise BadInput(
            f"{rule.name} is a finished piece of one size, so there is nothing to fit; "
            "'ringwright check' gives its measures."
        )
    measures = [measure, *_further(options.sizes, measure)]

    from ringwright.answers.check_figures import CheckFigures
    from ringwright.answers.report import report_text
    from ringwright.making.plan.piece_size import graded, sized
    from ringwright.making.plan.report_size import size_text
    from ringwright.making.plan.size_figures import Measured, SizeFigures

    with progress() as step:
        report = checked(rule, size, step, options.meshes)
        found: tuple[Sizing, ...] = ()
        if report.can_be_woven and len(measures) == 1:
            found = (sized(report, measure, step),)
        elif report.can_be_woven:
            found = graded(report, measures, step)
    if not found:
        show(options, CheckFigures.of(report).facts(), lambda: f"{report_text(report)}\n\n{MORE}")
        return NOT_WOVEN
    figures = SizeFigures.of(Measured(report, found))
    show(options, figures.facts(), lambda: size_text(figures))
    return WOVEN


def _further(texts: str | None, measure: Measure) -> list[Measure]:
    from ringwright.base.sizes import parse_length
    from ringwright.making.plan.piece_size import MOST_SIZES, checked_measure

    sizes = [] if texts is None else texts.split(",")
    if len(sizes) > MOST_SIZES:
        raise BadInput(f"--sizes has {len(sizes)} sizes; give at most {MOST_SIZES}.")
    lengths_mm = [parse_length(text, measure.place) for text in sizes]
    # Each is checked as the first was; a length has no ease to carry over.
    ease_mm = None if measure.place == "length" else measure.ease_mm
    return [
        checked_measure(measure.place, length_mm, ease_mm, measure.clasp_mm)
        for length_mm in lengths_mm
    ]
