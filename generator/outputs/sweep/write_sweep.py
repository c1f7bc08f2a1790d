"""A sweep as a table, as data and as a plot."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

from ringwright.base.files import WholeFiles
from ringwright.outputs.sweep.plot_sweep import plot_sweep
from ringwright.outputs.sweep.sweep import Row, Sweep
from ringwright.outputs.sweep.sweep_figures import (
    RowFigures,
    SweptRows,
    row_record,
    sweep_facts,
)

KINDS = ("csv", "json", "svg", "png")


def write_sweep(sweep: Sweep, rows: Sequence[Row], folder: Path, name: str) -> dict[str, str]:
    """Write ``folder/name.csv``, ``.json``, ``.svg`` and ``.png``: all of them whole, or none.

    Returns
    -------
    dict
        Kind to path.

    Raises
    ------
    BadInput
        When the files cannot be written.
    """
    files = {kind: str(folder / f"{name}.{kind}") for kind in KINDS}
    with WholeFiles(folder) as batch:
        hidden = {kind: batch.new(f"{name}.{kind}") for kind in KINDS}
        write_csv(rows, hidden["csv"], row_record(sweep))
        facts = sweep_facts(SweptRows(sweep, rows, files))
        text = json.dumps(facts, ensure_ascii=False, indent=1)
        hidden["json"].write_text(text + "\n", encoding="utf-8", newline="\n")
        plot_sweep(sweep, rows, (hidden["svg"], hidden["png"]))
    return files


def write_csv(rows: Sequence[Row], path: Path, record: type[RowFigures] = RowFigures) -> None:
    """A line per size, units in the names of the columns, nothing where there is no figure."""
    columns = [field.name for field in fields(record)]
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, columns, lineterminator="\n")
        table.writeheader()
        for row in rows:
            facts = record.of(row).facts()
            table.writerow({key: _cell(value) for key, value in facts.items()})


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value
