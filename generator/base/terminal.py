"""How answers are laid out on a terminal: paragraphs, and figures with their names before them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

# A paragraph may take so many columns.
COLUMNS = 98
# Names of figures take so many, and what they are begins after that.
_NAME = 24
# Where a figure goes on in a further line.
FURTHER = " " * (_NAME + 2)


def wrapped(text: str, first: str = "", further: str = "") -> list[str]:
    """A paragraph in lines, what stands before the first of them and before each further one."""
    return textwrap.wrap(text, COLUMNS, initial_indent=first, subsequent_indent=further)


def figure_line(name: str, text: str) -> str:
    """A figure with its name before it, in the same column as all others."""
    return f"  {name:<{_NAME}}{text}"


def figure_lines(named: Iterable[tuple[str, Sequence[str]]]) -> list[str]:
    """Figures by their names, whatever is long in several lines; further texts below the first."""
    return [
        line
        for name, texts in named
        for n, text in enumerate(texts)
        for line in wrapped(figure_line("" if n else name, text), further=FURTHER)
    ]


def table_lines(rows: Sequence[Sequence[str]], left: Sequence[int] = (0,)) -> list[str]:
    """Rows in columns: those named to the left, figures to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  "
        + "  ".join(
            f"{cell:<{width}}" if column in left else f"{cell:>{width}}"
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
