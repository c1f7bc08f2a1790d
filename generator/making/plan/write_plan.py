"""A cutting plan's files: all of them whole, or none."""

from __future__ import annotations

import csv
import json
from pathlib import Path

from ringwright.base.files import WholeFiles
from ringwright.making.plan.chart import chart
from ringwright.making.plan.chart_pdf import chart_pdf
from ringwright.making.plan.plan import Plan
from ringwright.making.plan.plan_figures import PlanFigures, plan_figures
from ringwright.making.plan.plan_pdf import plan_pdf
from ringwright.making.plan.report_plan import CSV_HEADS, csv_rows
from ringwright.outputs.models.artist import Artist, PictureUnavailable
from ringwright.rest.laid import Laid

KINDS = ("pdf", "csv", "json")
CHART = "chart"


def write_plan(
    plan: Plan, folder: Path, name: str, paper: str, artist: Artist, laid: Laid | None = None
) -> tuple[PlanFigures, str | None]:
    """Write ``folder/name.pdf``, ``.csv`` and ``.json``, and ``name-chart.pdf`` for a pattern.

    Parameters
    ----------
    paper : a name in ``PAPERS`` of ``base/paper``
    artist : who has begun to draw the plan's piece
    laid : how it lies in the picture; None for as the plan has it

    Returns
    -------
    figures, no_picture
        As they stand in the JSON file; and why the PDF has no picture, or None.

    Raises
    ------
    BadInput
        When the files cannot be written.
    """
    files = {kind: str(folder / f"{name}.{kind}") for kind in KINDS}
    if (pattern := chart(plan)) is not None:
        files[CHART] = str(folder / f"{name}-chart.pdf")
    figures = plan_figures(plan, files)
    picture, no_picture = None, None
    with WholeFiles(folder) as batch:
        hidden = {kind: batch.new(f"{name}.{kind}") for kind in KINDS}
        write_plan_csv(figures, hidden["csv"])
        text = json.dumps(figures.facts(), ensure_ascii=False, allow_nan=False, indent=1)
        hidden["json"].write_text(text + "\n", encoding="utf-8", newline="\n")
        try:
            picture = artist.picture()
        except PictureUnavailable as reason:
            no_picture = str(reason)
        hidden["pdf"].write_bytes(plan_pdf(figures, picture, paper, laid))
        if pattern is not None:
            drawn = chart_pdf(pattern, figures.weave, figures.program, paper)
            batch.new(f"{name}-chart.pdf").write_bytes(drawn)
    return figures, no_picture


def write_plan_csv(figures: PlanFigures, path: Path) -> None:
    """The plan as comma-separated values after RFC 4180: a head line, CR LF, UTF-8."""
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\r\n")
        table.writerow(CSV_HEADS)
        table.writerows(csv_rows(figures))
