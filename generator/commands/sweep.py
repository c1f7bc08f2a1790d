"""``ringwright sweep``: one weave at many sizes."""

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
    add_out,
    add_second,
    body_options,
    checked_workers,
    progress,
    show,
)

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    sweep = commands.add_parser(
        "sweep",
        help="try one weave at many sizes and write a table and a plot",
        description="Check one weave over a range of aspect ratios (--ratio-from, --ratio-to), "
        "or in every wire with every inner diameter (--wires, --inners), and write NAME.csv, "
        ".json, .svg and .png. To go on with a sweep that was stopped, run the same command "
        "again.",
        epilog=SIZES + " Exit status: 0 the sweep is done, 2 something typed could not be "
        "used, 3 it could not be written.",
    )
    sweep.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    sweep.add_argument("--ratio-from", metavar="NUMBER", help="smallest aspect ratio of the range")
    sweep.add_argument("--ratio-to", metavar="NUMBER", help="largest aspect ratio of the range")
    sweep.add_argument(
        "--steps",
        type=int,
        metavar="N",
        help=f"number of aspect ratios (default {defaults.SWEEP_STEPS})",
    )
    sweep.add_argument(
        "--wire",
        metavar="SIZE",
        help=f"wire diameter for the range (default {defaults.typed(defaults.SWEEP_WIRE_MM)})",
    )
    sweep.add_argument(
        "--wires", metavar="SIZES", help="wire diameters of a grid, e.g. 0.8mm,0.9mm,18swg"
    )
    sweep.add_argument(
        "--inners", metavar="SIZES", help="inner diameters of a grid, e.g. 3mm,1/8in"
    )
    add_second(sweep)
    add_laid(sweep)
    add_out(sweep)
    sweep.add_argument(
        "--workers", type=int, metavar="N", help="number of processes (default: one per core)"
    )
    sweep.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="run on a Dask cluster, e.g. tcp://192.168.1.5:8786",
    )
    sweep.add_argument(
        "--fresh",
        action="store_true",
        help="start again; discard what a stopped sweep of this name has done",
    )
    add_json(sweep)
    sweep.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.api.sweep import sweep

    with progress() as step:
        found = sweep(
            options.weave,
            ratio_from=options.ratio_from,
            ratio_to=options.ratio_to,
            steps=options.steps,
            wire=options.wire,
            wires=options.wires,
            inners=options.inners,
            second=options.second,
            laid=options.laid,
            **body_options(options),
            out=options.out,
            workers=checked_workers(options.workers),
            scheduler=options.scheduler,
            fresh=options.fresh,
            on_progress=step,
            on_note=lambda note: print(f"ringwright: {note}", file=sys.stderr),
        )
    show(options, found.facts(), found.text)
    return WOVEN
