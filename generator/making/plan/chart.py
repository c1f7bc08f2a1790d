"""The bench chart of a piece in metals: its rows, ring by ring, in the order of weaving.

Where all open rings are of one metal, and all closed ones, there is nothing to follow.
"""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from ringwright.making.plan.plan import Plan
from ringwright.piece.piece import Piece, place_in_weave, rows_of

# Told apart without any colour, the plainest first.
SYMBOLS = "●■▲◆★○□△◇☆✚✖♥♣♠" + string.ascii_uppercase


@dataclass(frozen=True)
class ChartRow:
    """A row to weave.

    Attributes
    ----------
    number : from 1 on, from the side at which weaving begins
    metals : of its rings, from the left or in the order of weaving, as places in ``Chart.metals``
    at : where each of them stands from the left, in rings
    """

    number: int
    metals: tuple[int, ...]
    at: tuple[float, ...]

    @property
    def runs(self) -> tuple[tuple[int, int], ...]:
        """Rings of one metal in a row: how many, and which."""
        return tuple((len(list(same)), metal) for metal, same in groupby(self.metals))


@dataclass(frozen=True)
class Chart:
    """A chart.

    Attributes
    ----------
    metals : their names, those of most rings first
    rows : from the top of the chart, which is the far edge of a sheet
    of_sheet : whether they are rows as a sheet lies; else each is a repeat, in the order of weaving
    """

    metals: tuple[str, ...]
    rows: tuple[ChartRow, ...]
    of_sheet: bool

    @property
    def from_below(self) -> bool:
        """Whether the lowest row is woven first."""
        return self.rows[-1].number < self.rows[0].number

    def count(self, metal: int) -> int:
        """Rings of a metal."""
        return sum(row.metals.count(metal) for row in self.rows)


def chart(plan: Plan) -> Chart | None:
    """The chart of a plan; None where there is nothing to follow."""
    if plan.mix is None or _told_by_role(plan.piece):
        return None
    piece = plan.piece
    kept = [ring for ring, name in enumerate(piece.names) if name not in plan.left_off]
    of_sheet = plan.report.rule.family.has_rows
    rows = rows_of(piece) if of_sheet else _repeat_rows(piece, kept)
    names = [plan.mix.sources[paint].metal for paint in piece.paints]
    of_ring = [metal.name if metal else "" for metal in names]
    there = [of_ring[ring] for row in rows for ring in row]
    metals = sorted(set(there), key=lambda one: (-there.count(one), one))
    numbers = _order(rows)
    return Chart(
        tuple(metals),
        tuple(
            ChartRow(
                number,
                tuple(metals.index(of_ring[ring]) for ring in row),
                at,
            )
            for number, row, at in zip(numbers, rows, _places(piece, rows, of_sheet), strict=True)
        ),
        of_sheet,
    )


def _told_by_role(piece: Piece) -> bool:
    """Whether all open rings are of one metal, and all closed ones."""
    kinds = set(zip(piece.roles, piece.paints, strict=True))
    return len(kinds) == len(set(piece.roles))


def _repeat_rows(piece: Piece, kept: Sequence[int]) -> list[list[int]]:
    """Rings by repeat; what a piece is started from goes before the first of them."""
    of: dict[int, list[int]] = {}
    for ring in kept:
        of.setdefault(max(0, place_in_weave(piece.names[ring])[1][0]), []).append(ring)
    return [of[repeat] for repeat in sorted(of)]


def _order(rows: Sequence[Sequence[int]]) -> list[int]:
    """The number of each row: from the side at which weaving begins, which is laid down first."""
    numbers = list(range(1, len(rows) + 1))
    first, last = (sum(row) / len(row) for row in (rows[0], rows[-1]))
    return numbers if first <= last else numbers[::-1]


def _places(piece: Piece, rows: Sequence[Sequence[int]], lies: bool) -> list[tuple[float, ...]]:
    """Where rings stand along their rows, in rings of the closest row.

    Parameters
    ----------
    lies : whether they are drawn where they lie; else side by side
    """
    x = piece.centres_mm[:, 0]
    steps = [float(x[after] - x[before]) for row in rows for before, after in pairwise(row)]
    apart = min(steps, default=0.0)
    if not lies or apart < float(piece.core_radii_mm.min()):
        # Rings that lie on one another would hide one another.
        return [tuple(map(float, range(len(row)))) for row in rows]
    first = min(float(x[row[0]]) for row in rows)
    return [tuple((float(x[ring]) - first) / apart for ring in row) for row in rows]
