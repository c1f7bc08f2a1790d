"""A grid of metals from a file: a PNG picture of one pixel a ring, or a CSV table."""

from __future__ import annotations

import csv
import io
import os
import stat
import warnings
from collections.abc import Collection
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.base.system import open_without_waiting
from ringwright.colour.legend import Legend
from ringwright.colour.looks import hex_of, paint_of_pixel
from ringwright.colour.metals import ByGrid, grid_of
from ringwright.metals.metal import Metal

MOST_BYTES = 1024 * 1024
MOST_ACROSS = 400
MOST_COLOURS = 40


def read_grid(text: str, own: Collection[Metal] = (), legend: Legend | None = None) -> ByGrid:
    """Read a grid.

    A PNG's pixels are colours (the metal of just that colour where there is one); a CSV
    table's cells are metals or colours as ``#rrggbb``.

    Parameters
    ----------
    text : the file's path
    own : metals of the maker's own
    legend : what its colours or marks stand for; None where they speak for themselves

    Raises
    ------
    BadInput
        When the file cannot be read as one of these, a colour is not clearly one of the legend's,
        or it is larger than 400 by 400 cells, 1 MiB
        or 40 colours.
    """
    path = Path(text)
    said = f"grid {text[:200]!r}"
    kind = path.suffix.lower()
    if kind not in (".png", ".csv"):
        raise BadInput(f"{said} is neither a PNG nor a CSV file; let its name end in .png or .csv.")
    content = _content(path, said)
    rows = _from_png(content, said, legend is None) if kind == ".png" else _from_csv(content, said)
    return _grid(rows, said, own, legend)


def read_table(
    text: str, said: str, own: Collection[Metal] = (), legend: Legend | None = None
) -> ByGrid:
    """Read a grid that was typed, as the text of a CSV table; raises as :func:`read_grid` does.

    Parameters
    ----------
    said : what complaints call it
    """
    return _grid(_from_csv(text.encode("utf-8"), said), said, own, legend)


def _grid(
    rows: list[list[str]], said: str, own: Collection[Metal], legend: Legend | None
) -> ByGrid:
    if len(rows) > MOST_ACROSS or max(map(len, rows), default=0) > MOST_ACROSS:
        raise BadInput(f"{said} is larger than {MOST_ACROSS} by {MOST_ACROSS} cells; cut it down.")
    if len({cell for row in rows for cell in row}) > MOST_COLOURS:
        raise BadInput(
            f"{said} has more than {MOST_COLOURS} colours; reduce it to the metals you have, "
            "without soft edges."
        )
    if legend is not None:
        paints = {cell: legend.paint_of(cell, said) for row in rows for cell in row}
        rows = [[paints[cell] for cell in row] for row in rows]
    return grid_of(rows, said, own)


def _content(path: Path, said: str) -> bytes:
    try:
        with open(path, "rb", opener=open_without_waiting) as stream:
            status = os.fstat(stream.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise BadInput(f"{said} is not a regular file; give the path of a PNG or CSV file.")
            if status.st_size > MOST_BYTES:
                raise BadInput(
                    f"{said} has {status.st_size} bytes, and a grid has at most {MOST_BYTES}; give "
                    "one pixel or cell for each ring."
                )
            return stream.read(MOST_BYTES)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{said} cannot be read ({reason}); check the path.") from None


def _from_png(content: bytes, said: str, by_name: bool) -> list[list[str]]:
    """Its pixels, as metals of just that colour where there are such, or all as ``#rrggbb``."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(content), formats=["PNG"]) as picture:
                # The size stands in the file's head: looked at before any pixel is unpacked.
                if max(picture.size) > MOST_ACROSS:
                    raise BadInput(
                        f"{said} is {picture.width} by {picture.height} pixels, and a grid has at "
                        f"most {MOST_ACROSS} by {MOST_ACROSS}; it takes one pixel for each ring."
                    )
                pixels = picture.convert("RGBA")
    except BadInput:
        raise
    # The library raises errors of many kinds for broken files.
    except Exception as error:
        raise BadInput(
            f"{said} cannot be read as a PNG picture ({error}); save it again."
        ) from None
    columns, rows = pixels.size
    found = []
    for row in range(rows):
        line = []
        for column in range(columns):
            red, green, blue, opaque = pixels.getpixel((column, row))
            if opaque < 128:
                raise BadInput(
                    f"{said} is see-through at column {column + 1} of row {row + 1}; every ring "
                    "needs a colour."
                )
            line.append(paint_of_pixel(red, green, blue) if by_name else hex_of(red, green, blue))
        found.append(line)
    return found


def _from_csv(content: bytes, said: str) -> list[list[str]]:
    try:
        text = content.decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadInput(f"{said} cannot be read as a CSV table ({error}); save it again.") from None
    return [row for row in rows if row]
