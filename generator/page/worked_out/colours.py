"""The colours of the rings: by role, or by metal as the commands have it; and what they mean.

A choice is one text, which is kept in the address: ``role``, a metal for all rings
(``copper``), metals that take turns from ring to ring (``3*copper,brass``), or metals by role
or ring (``open=copper,closed=steel/brass``).
"""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.colour.looks import look_of
from ringwright.colour.metals import painted, parse_metals, parse_pattern
from ringwright.page.state.chosen import BY_ROLE
from ringwright.piece.piece import Piece
from ringwright.weaves.rule import WeaveRule

ROLES = {"open": "opened before weaving", "closed": "closed beforehand"}


def coloured(piece: Piece, rule: WeaveRule, paint: str) -> Piece:
    """A piece with the metals of a choice; as it is where rings are told apart by role.

    Raises
    ------
    BadInput
        When the choice cannot be read or does not fit the weave.
    """
    if paint == BY_ROLE:
        return piece
    if "=" in paint:
        return painted(piece, parse_metals(paint, rule, "Metals"))
    return painted(piece, parse_pattern(paint, "Metals"))


@dataclass(frozen=True)
class Entry:
    """One line of the legend.

    Attributes
    ----------
    colour : as CSS has it
    name : of the colour or the metal
    roles : what the rings of this colour are, in words
    rings : how many of the rings that are looked at
    """

    colour: str
    name: str
    roles: str
    rings: int


def legend(piece: Piece) -> tuple[Entry, ...]:
    """The colours of a piece, those of most rings first."""
    rings: dict[str, dict[str, int]] = {}
    for paint, role in zip(piece.paints, piece.roles, strict=True):
        of_paint = rings.setdefault(paint, {})
        of_paint[role] = of_paint.get(role, 0) + 1
    entries = [_entry(paint, roles) for paint, roles in rings.items()]
    return tuple(sorted(entries, key=lambda one: (-one.rings, one.name)))


def _entry(paint: str, roles: dict[str, int]) -> Entry:
    red, green, blue = (round(255 * part) for part in look_of(paint).colour)
    name = {"open": "warm, like copper", "closed": "cool, like steel"}.get(paint, paint)
    if len(roles) == 1:
        said = ROLES[next(iter(roles))]
    else:
        said = " and ".join(f"{count} {ROLES[role]}" for role, count in sorted(roles.items()))
    return Entry(f"#{red:02x}{green:02x}{blue:02x}", name, said, sum(roles.values()))
