"""Which ring of a piece is of which metal: by role or name, in a pattern, or from a grid."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.errors import BadInput
from ringwright.colour.looks import has_slash, paint_named
from ringwright.metals.metal import Metal
from ringwright.piece.piece import Piece, place_in_weave, rows_of
from ringwright.weaves.rule import WeaveRule

MOST_IN_PATTERN = 200
_LONGEST_TEXT = 4000


@dataclass(frozen=True)
class ByRing:
    """Metals by ring name or by role, each a list that is gone through repeat by repeat."""

    metals: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class ByTurn:
    """A list of metals gone through ring by ring, in the order of weaving, again and again."""

    metals: tuple[str, ...]


@dataclass(frozen=True)
class ByGrid:
    """A sheet's rings row by row as it lies, from the far left; repeated if it is smaller."""

    rows: tuple[tuple[str, ...], ...]
    said: str


Colouring = ByRing | ByTurn | ByGrid


def parse_metals(
    text: str, rule: WeaveRule, where: str = "--metals", own: Collection[Metal] = ()
) -> ByRing:
    """Read ``open=copper,closed=steel/brass`` or ``B=brass,E=copper``.

    Parameters
    ----------
    where : what complaints call it
    own : metals of the maker's own

    Raises
    ------
    BadInput
        When it cannot be read, names no ring or role of the rule, or leaves a ring out.
    """
    names = {ring.name for ring in rule.rings}
    metals: dict[str, tuple[str, ...]] = {}
    for part in _parts(text, where, ","):
        key, mark, value = (piece.strip() for piece in part.partition("="))
        if not mark or (key not in names and key not in ("open", "closed")):
            raise BadInput(
                f"{where} has {part.strip()[:40]!r}, which is not RING=METAL; give open, closed "
                f"or a ring of the weave ({', '.join(sorted(names))}), e.g. "
                "open=copper,closed=brass."
            )
        if key in metals:
            raise BadInput(
                f"{where} gives {key} twice; give its metals once, e.g. {key}=copper/brass."
            )
        metals[key] = tuple(paint_named(one, where, own) for one in _in_turn(value))
    for ring in rule.rings:
        if ring.name not in metals and ring.role not in metals:
            raise BadInput(
                f"{where} gives no metal for ring {ring.name}, which is {ring.role}; add "
                f"{ring.name}=METAL or {ring.role}=METAL."
            )
    return ByRing(metals)


def parse_pattern(text: str, where: str = "--pattern", own: Collection[Metal] = ()) -> ByTurn:
    """Read ``copper,copper,brass``; ``5*copper`` stands for five in a row.

    Parameters
    ----------
    where : what complaints call it
    own : metals of the maker's own

    Raises
    ------
    BadInput
        When it cannot be read or is longer than 200 rings.
    """
    metals: list[str] = []
    for part in _parts(text, where, ","):
        times, mark, name = part.partition("*")
        count = int(times) if mark and times.strip().isascii() and times.strip().isdigit() else 1
        metals += [paint_named(name if mark else part, where, own)] * min(
            count, MOST_IN_PATTERN + 1
        )
        if len(metals) > MOST_IN_PATTERN:
            raise BadInput(
                f"{where} is longer than {MOST_IN_PATTERN} rings; give the part that repeats."
            )
    if not metals:
        raise BadInput(f"{where} has no rings; give metals, e.g. copper,copper,brass.")
    return ByTurn(tuple(metals))


def _parts(text: str, option: str, mark: str) -> list[str]:
    if len(text) > _LONGEST_TEXT:
        raise BadInput(f"{option} is longer than {_LONGEST_TEXT} characters; give a shorter list.")
    return text.split(mark)


def _in_turn(text: str) -> Iterator[str]:
    """What stands between slashes, but for those within a metal's own name."""
    parts = text.split("/")
    while parts:
        joined = "/".join(parts[:2])
        taken = 2 if len(parts) > 1 and has_slash(joined) else 1
        yield joined if taken == 2 else parts[0]
        del parts[:taken]


def grid_of(rows: Sequence[Sequence[str]], said: str, own: Collection[Metal] = ()) -> ByGrid:
    """A grid from rows of metals or colours, the first row at the far edge.

    Parameters
    ----------
    said : what complaints call it
    own : metals of the maker's own

    Raises
    ------
    BadInput
        When it is empty, its rows differ in length, or a cell is no metal.
    """
    metals = tuple(tuple(paint_named(cell, said, own) for cell in row) for row in rows)
    if not metals or not metals[0]:
        raise BadInput(f"{said} is empty; give rows of metals, one cell for each ring.")
    for number, row in enumerate(metals, start=1):
        if len(row) != len(metals[0]):
            raise BadInput(
                f"{said} has {len(row)} cells in row {number} and {len(metals[0])} in the first; "
                "give rows of one length."
            )
    return ByGrid(metals, said)


def paints_of(colouring: Colouring) -> tuple[str, ...]:
    """All metals and colours of a colouring, each once."""
    if isinstance(colouring, ByRing):
        every = [one for metals in colouring.metals.values() for one in metals]
    elif isinstance(colouring, ByTurn):
        every = list(colouring.metals)
    else:
        every = [one for row in colouring.rows for one in row]
    return tuple(dict.fromkeys(every))


def recoloured(colouring: Colouring, paints: Mapping[str, str]) -> Colouring:
    """The same with other paints; those that are not among ``paints`` stay."""

    def new(metals: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(paints.get(one, one) for one in metals)

    if isinstance(colouring, ByRing):
        return ByRing({key: new(metals) for key, metals in colouring.metals.items()})
    if isinstance(colouring, ByTurn):
        return ByTurn(new(colouring.metals))
    return ByGrid(tuple(map(new, colouring.rows)), colouring.said)


def painted(piece: Piece, colouring: Colouring) -> Piece:
    """The piece with a metal for every ring.

    Raises
    ------
    BadInput
        When a grid is larger than the sheet.
    """
    if isinstance(colouring, ByGrid):
        return replace(piece, metals=_from_grid(piece, colouring))
    if isinstance(colouring, ByTurn):
        count = len(colouring.metals)
        return replace(
            piece, metals=tuple(colouring.metals[at % count] for at in range(len(piece)))
        )
    found = []
    for name, role in zip(piece.names, piece.roles, strict=True):
        ring, (k1, k2) = place_in_weave(name)
        metals = colouring.metals.get(ring) or colouring.metals[role]
        found.append(metals[(k1 + k2) % len(metals)])
    return replace(piece, metals=tuple(found))


def _from_grid(piece: Piece, grid: ByGrid) -> tuple[str, ...]:
    rows = rows_of(piece)
    widest = max(len(row) for row in rows)
    if len(grid.rows) > len(rows) or len(grid.rows[0]) > widest:
        raise BadInput(
            f"{grid.said} is {len(grid.rows[0])} wide and {len(grid.rows)} high, but the sheet has "
            f"{len(rows)} rows of {widest} rings; make the sheet larger with --length and --width, "
            "or the grid smaller."
        )
    metals = [""] * len(piece)
    for row, rings in enumerate(rows):
        cells = grid.rows[row % len(grid.rows)]
        for column, ring in enumerate(rings):
            metals[ring] = cells[column % len(cells)]
    return tuple(metals)


@dataclass(frozen=True)
class MetalCount:
    """Rings of one metal.

    Attributes
    ----------
    wire_length_mm : in the rings along its middle, 2 pi R each; what saws and coil ends take is
        not counted
    """

    metal: str
    rings: int
    rings_open: int
    rings_closed: int
    wire_length_mm: float


def metal_counts(piece: Piece) -> list[MetalCount]:
    """Rings and wire of each metal of a piece, the most frequent first; empty without metals."""
    length_mm = 2 * np.pi * piece.core_radii_mm
    found = []
    for metal in sorted(set(piece.metals), key=lambda one: (-piece.metals.count(one), one)):
        of_metal = np.array([one == metal for one in piece.metals])
        roles = [role for role, is_it in zip(piece.roles, of_metal, strict=True) if is_it]
        found.append(
            MetalCount(
                metal,
                rings=len(roles),
                rings_open=roles.count("open"),
                rings_closed=roles.count("closed"),
                wire_length_mm=float(length_mm[of_metal].sum()),
            )
        )
    return found
