"""``ringwright json-schema``: what the JSON of a command holds, for scripts that read it."""

from __future__ import annotations

import argparse
import importlib
import json
from typing import TYPE_CHECKING, Any

from ringwright.base.exit_status import WOVEN

if TYPE_CHECKING:
    from ringwright.base.figures import Figures
    from ringwright.commands.shared import Commands

_CHECK = "answers.check_figures.CheckFigures"
_WEAVE = "answers.weave_figures.WeaveFigures"
# The records of each command's output, of which one that comes later overrides an earlier one.
# They are named, not imported, as each of them needs a good part of the program.
OUTPUTS = {
    "weaves": ("answers.weave_figures.WeavesFigures",),
    "check": (
        _CHECK,
        "making.shop.shelf_figures.ShelfFigures",
        "answers.lying_figures.LyingFigures",
    ),
    "limits": (_CHECK, "answers.limits_figures.LimitsFigures"),
    "preview": (_CHECK, "answers.preview_figures.PreviewFigures"),
    "stills": (_CHECK, "outputs.stills.still_figures.StillsFigures"),
    "drawing": (_CHECK, "outputs.drawing.drawing_figures.DrawingFigures"),
    "assembly": ("outputs.assembly_sheet.sheet_figures.SheetFigures",),
    "sweep": (_WEAVE, "outputs.sweep.sweep_figures.SweepFigures"),
    "match": (_WEAVE, "making.shop.match_figures.MatchFigures"),
    "plan": ("making.plan.plan_figures.PlanFigures",),
    "size": ("making.plan.size_figures.SizeFigures",),
    "regauge": ("making.shop.regauge_figures.RegaugeFigures",),
    "ring": ("making.ring.ring_figures.OneRingFigures",),
    "place": ("search.candidate_figures.CandidatesFigures",),
    "jig": ("jigs.files.jig_figures.JigFigures",),
    "gallery": ("outputs.gallery.gallery_figures.GalleryFigures",),
}


def add(commands: Commands) -> None:
    """Describe the command."""
    schema = commands.add_parser(
        "json-schema",
        help="print what the JSON of a command holds: a JSON Schema, for scripts",
        description="Print the JSON Schema (2020-12) of what a command prints with --json where "
        "its exit status is 0: every figure with its type, its unit and what it is.",
    )
    schema.add_argument("name", metavar="COMMAND", choices=tuple(OUTPUTS), help=", ".join(OUTPUTS))
    schema.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    print(json.dumps(schema_of(options.name), ensure_ascii=False, indent=2))
    return WOVEN


def schema_of(name: str) -> dict[str, Any]:
    """The JSON Schema of what a command prints; ``name`` is one of those that the help lists."""
    from ringwright.base.figures import json_schema

    records = [_record(path) for path in OUTPUTS[name]]
    return json_schema(f"ringwright {name} --json", *records)


def _record(path: str) -> type[Figures[Any]]:
    module, _, name = path.rpartition(".")
    record: type[Figures[Any]] = getattr(importlib.import_module(f"ringwright.{module}"), name)
    return record
