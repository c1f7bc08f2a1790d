"""Dealing board: a plate whose every cell takes just the rings of one repeat."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.jigs.parts.jig import BLUE, Part
from ringwright.jigs.parts.lettering import letter_height_mm, raised, width_mm
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.parts.prisms import prism, rounded

if TYPE_CHECKING:
    from ringwright.jigs.ring_counts import Counts, Kind

# What a ring takes of a slot on the dealing board, in wires: opened sideways by a little more
# than a wire, and closed with a little air. Common practice, no source.
_OPENED, _CLOSED = 2.2, 1.1
_MOST_CELLS = 60
# More than this crowd a bench.
_MOST_BOARDS = 6
_WEB_MM = 3.6


@dataclass(frozen=True)
class Board:
    """The dealing board: cells in rows, every cell with a slot for each kind of ring.

    Attributes
    ----------
    slots : kind, count and length of each slot of a cell
    columns, rows : cells of one board
    boards : how many of them
    passes : how many times all of them are filled for a whole piece
    cells : of one board
    pitch_mm : from cell to cell, along and across
    margin_mm : for the figures before the rows
    wall_mm : between the slots of a cell, and below them
    """

    slots: tuple[tuple[Kind, int, float], ...]
    columns: int
    rows: int
    boards: int
    passes: int
    cells: int
    pitch_mm: tuple[float, float]
    margin_mm: float
    wall_mm: float
    clearance_mm: float
    letter_mm: float


def board_for(counts: Counts, printer: Printer) -> Board:
    """As many cells in a row as can be counted at a glance, as many rows as the bed takes.

    Raises
    ------
    BadInput
        When one repeat's rings do not fit the bed.
    """
    slots = []
    for kind, count in counts.repeat:
        takes = (_OPENED if kind.role == "open" else _CLOSED) * kind.size.wire_mm
        # One ring more does not go in.
        slots.append((kind, count, takes * count + max(0.4 * takes, 2.0 * printer.clearance_mm)))
    letter_mm = letter_height_mm(printer)
    margin_mm = width_mm("00", letter_mm) + 4.0
    wall_mm = max(1.2, printer.least_wall_mm)
    outer_mm = max(kind.size.outer_mm for kind, _, _ in slots) + 2.0 * printer.clearance_mm
    pitch_mm = (
        sum(length + wall_mm for _, _, length in slots) + _WEB_MM,
        max(outer_mm + _WEB_MM, letter_mm + 2.0),
    )
    columns = int((printer.bed_mm[0] - margin_mm - 6.0) // pitch_mm[0])
    columns = next((each for each in (10, 5, 4, 3, 2, 1) if each <= columns), 0)
    most_rows = int((printer.bed_mm[1] - 6.0) // pitch_mm[1])
    if columns < 1 or most_rows < 1:
        raise BadInput(
            "One repeat's rings, side by side, do not fit the bed; leave --board out or give a "
            "larger --bed."
        )
    columns = min(columns, counts.repeats)
    most_rows = max(1, min(most_rows, _MOST_CELLS // columns))
    rows = math.ceil(counts.repeats / columns)
    needed = math.ceil(rows / most_rows)
    boards = min(needed, _MOST_BOARDS)
    passes = math.ceil(needed / boards)
    each = math.ceil(rows / (boards * passes))
    # Boards are alike; a single one has no cell to spare.
    cells = counts.repeats if needed == 1 else each * columns
    return Board(
        slots=tuple(slots),
        columns=columns,
        rows=each,
        boards=boards,
        passes=passes,
        cells=cells,
        pitch_mm=pitch_mm,
        margin_mm=margin_mm,
        wall_mm=wall_mm,
        clearance_mm=printer.clearance_mm,
        letter_mm=letter_mm,
    )


def board_part(board: Board) -> Part:
    """A plate with half-round slots, in which rings stand side by side."""
    import cadquery as cq

    along_mm, across_mm = board.pitch_mm
    wide = board.margin_mm + board.columns * along_mm + 3.0
    deep = board.rows * across_mm + 4.0
    reach = max(kind.size.outer_mm for kind, _, _ in board.slots) / 2.0 + board.clearance_mm
    high = reach + board.wall_mm
    cuts, labels = [], []
    for row in range(board.rows):
        y_mm = ((board.rows - 1) / 2.0 - row) * across_mm
        for column in range(min(board.columns, board.cells - row * board.columns)):
            x_mm = -wide / 2.0 + board.margin_mm + column * along_mm + _WEB_MM / 2.0
            for kind, _, length in board.slots:
                radius = kind.size.outer_mm / 2.0 + board.clearance_mm
                start = cq.Vector(x_mm, y_mm, high)
                cuts.append(cq.Solid.makeCylinder(radius, length, start, cq.Vector(1, 0, 0)))
                x_mm += length + board.wall_mm
        number = str(row * board.columns + 1)
        at = (-wide / 2.0 + board.margin_mm - 2.0, y_mm, high)
        labels.append(raised(number, at, board.letter_mm, "right"))
    plate = prism(rounded(wide, deep, 2.0), 0.0, high)
    return Part("board", plate.cut(*cuts).Solids()[0], BLUE, tuple(labels))
