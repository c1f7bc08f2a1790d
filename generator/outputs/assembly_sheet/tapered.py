"""The end of a piece that gets narrower ring by ring, in words and a picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ringwright.outputs.assembly_sheet.views import View, lying_view
from ringwright.piece.ends import (
    Taper,
    end_rings,
    gathered_by_one,
    names_of,
    partners,
    refs_of,
    taper,
    with_tapers,
)
from ringwright.piece.piece import Piece, woven_piece
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import RingRef, WeaveRule

TITLE = "An end that gets narrower"
# What rings of the end and of the taper are called, each with its number.
_END, _TAPER = "E", "T"
# So much of a sheet is shown, and of what is no sheet.
_SHEET, _STRIP = (3, 3), (2, 1)


@dataclass(frozen=True, eq=False)
class Tapered:
    """A picture of the sheet with its words."""

    view: View
    text: str
    alt: str


def tapered(rule: WeaveRule, unit: Unit, core_radius_mm: float) -> Tapered | None:
    """A taper at the right end; None where one ring holds the end, or nothing gets narrower.

    Parameters
    ----------
    unit : the settled unit of the finished weave
    """
    if not rule.family.repeats:
        return None
    repeats, rows = _SHEET if rule.family.has_rows else _STRIP
    piece = woven_piece(rule, unit, core_radius_mm, repeats, rows)
    there = refs_of(piece)
    end = end_rings(rule, piece)[1]
    if gathered_by_one(rule, there, end):
        return None
    found = taper(rule, there, end)
    if found is None or not found.layers:
        return None
    called = {ref: f"{_END}{n}" for n, ref in enumerate(end, start=1)}
    called |= {ref: f"{_TAPER}{n}" for n, ref in enumerate(found.rings, start=1)}
    shown = _named(rule, with_tapers(rule, unit, core_radius_mm, piece, [found]), called)
    return Tapered(
        lying_view(shown, list(called.values())),
        _words(rule, there, found, called),
        f"The right end of the piece: {', '.join(called[ref] for ref in end)} are its last rings, "
        f"and {', '.join(called[ref] for ref in found.rings)} make it narrower, to one ring.",
    )


def _named(rule: WeaveRule, piece: Piece, called: dict[RingRef, str]) -> Piece:
    """The piece with the rings of the end under the names that the words give them."""
    names = dict(zip(names_of(rule, list(called)), called.values(), strict=True))
    return replace(
        piece, names=tuple(names.get(name, f"woven {at}") for at, name in enumerate(piece.names))
    )


def _words(
    rule: WeaveRule, there: Sequence[RingRef], found: Taper, called: dict[RingRef, str]
) -> str:
    """Ring by ring, which of those that are there each goes through."""
    present, said = set(there), []
    for layer in found.layers:
        steps = []
        for ref in layer:
            through = [other for other in partners(rule, ref) if other in present]
            steps.append(f"{called[ref]} through {_listed(sorted(called[one] for one in through))}")
        said.append(", ".join(steps))
        present |= set(layer)
    last = [name for name in called.values() if name.startswith(_END)]
    return (
        "A bar or slide clasp takes one open ring through each of the last rings, "
        f"{_listed(last)}. In its place the end may get narrower: {'; then '.join(said)}. "
        f"The clasp's ring goes through {called[found.rings[-1]]}. A wider piece takes more rings "
        "in the same way, each through two of those before or more, and the other end is done "
        "alike."
    )


def _listed(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
