"""``ringwright sweep``: one weave at many sizes."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import (
    SIZES,
    add_json,
    add_out,
    add_second,
    asked_rule,
    progress,
    show,
    target,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.outputs.sweep.sweep import Sweep


def add(commands: Commands) -> None:
    """Describe the command."""
    sweep = commands.add_parser(
        "sweep",
        help="try one weave at many sizes and write a table and a plot",
        description="Settle one weave over a range of aspect ratios (--ratio-from, --ratio-to), or "
        "for every wire with every inner diameter (--wires, --inners), and write NAME.csv, .json, "
        ".svg and .png. A sweep that was stopped goes on when the same command is run again.",
        epilog=SIZES + " Exit status: 0 the sweep was done, 2 the input could not be used.",
    )
    sweep.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    sweep.add_argument("--ratio-from", metavar="NUMBER", help="smallest aspect ratio")
    sweep.add_argument("--ratio-to", metavar="NUMBER", help="largest aspect ratio")
    sweep.add_argument("--steps", type=int, metavar="N", help="how many ratios (default 25)")
    sweep.add_argument("--wire", metavar="SIZE", help="wire over the range (default 1mm)")
    sweep.add_argument("--wires", metavar="SIZES", help="a grid's wires, as 0.8mm,0.9mm,18swg")
    sweep.add_argument("--inners", metavar="SIZES", help="a grid's inner diameters, as 3mm,1/8in")
    add_second(sweep)
    add_out(sweep)
    sweep.add_argument("--workers", type=int, metavar="N", help="processes (default: every core)")
    sweep.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="use a Dask cluster instead, as tcp://192.168.1.5:8786",
    )
    sweep.add_argument(
        "--fresh", action="store_true", help="throw away what a stopped sweep of this name kept"
    )
    add_json(sweep)
    sweep.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    folder, name = target(options.out)

    from ringwright.outputs.sweep.sweep_report import sweep_facts, sweep_text
    from ringwright.outputs.sweep.sweep_run import run_sweep

    sweep = _asked_sweep(options)
    with progress() as step:
        rows, files = run_sweep(
            sweep,
            folder,
            name,
            on_progress=step,
            on_note=lambda note: print(f"ringwright: {note}", file=sys.stderr),
            workers=options.workers,
            scheduler=options.scheduler,
            fresh=options.fresh,
        )
    show(options, sweep_facts(sweep, rows, files), lambda: sweep_text(sweep, rows, files))
    return WOVEN


def _asked_sweep(options: argparse.Namespace) -> Sweep:
    """The range or the grid, whichever was asked for."""
    from ringwright.outputs.sweep.sweep import STEPS, over_grid, over_ratios

    rule = asked_rule(options)
    span, grid = (options.ratio_from, options.ratio_to), (options.wires, options.inners)
    only_for_a_range = (*span, options.steps, options.wire)
    if None not in grid and all(option is None for option in only_for_a_range):
        return over_grid(rule, *grid)
    if None in span or any(option is not None for option in grid):
        raise BadInput(
            "A sweep takes either --ratio-from and --ratio-to (with --steps and --wire, if you "
            "like) or --wires and --inners; give one of these pairs."
        )
    steps = STEPS if options.steps is None else options.steps
    wire = "1mm" if options.wire is None else options.wire
    return over_ratios(rule, wire, *span, steps)
