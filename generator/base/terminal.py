"""How answers are laid out on a terminal: paragraphs, and figures with their names before them."""

from __future__ import annotations

import textwrap

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
