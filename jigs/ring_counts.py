"""Which rings a piece takes, sorted as they lie on a bench: by role, size and metal."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece
from ringwright.weaves.rule import WeaveRule

ROLES = ("open", "closed", "end", "spare")


@dataclass(frozen=True)
class Kind:
    """Rings that lie in one well: what they are for, their size, and their metal (or nothing)."""

    role: str
    size: RingSize
    metal: str = ""

    @property
    def metal_mm3(self) -> float:
        """The metal in one ring: a torus."""
        return 2.0 * math.pi**2 * self.size.core_radius_mm * self.size.wire_radius_mm**2


@dataclass(frozen=True)
class Counts:
    """The rings of a piece, most first within a role, and those of each of its repeats.

    ``repeats`` are those of all rows together.
    """

    whole: tuple[tuple[Kind, int], ...]
    repeat: tuple[tuple[Kind, int], ...]
    repeats: int
    rows: int = 1


def counted(
    rule: WeaveRule,
    piece: Piece,
    repeats: int,
    metals: Mapping[str, str],
    spare: float,
    clasp_rings: int,
) -> Counts:
    """Sort a piece's rings into kinds.

    Parameters
    ----------
    rule, piece, repeats : as ``piece.piece_of_length`` was given and returned them
    metals : by the name of a ring of the rule, by ``open``, ``closed`` or ``end``, or ``""`` for
        all others
    spare : share of each size and metal that is added, rounded up
    clasp_rings : rings of the main size for the ends, besides those the weave starts from
    """
    kinds = [_kind(piece, index, metals) for index in range(len(piece))]
    started = len(rule.start)
    whole = Counter(kinds[started:])
    repeat = Counter({kind: count // _units(rule, piece, repeats) for kind, count in whole.items()})
    for kind in kinds[:started]:
        whole[Kind("end", kind.size, metals.get("end") or kind.metal)] += 1
    if clasp_rings:
        # They match the end they are put on, which is the ring that the weave starts from.
        main = [ring.name for ring in rule.rings if ring.size is None]
        like = next(
            kind
            for kind, name in zip(kinds, piece.names, strict=True)
            if name.split(".")[0] in main
        )
        whole[Kind("end", like.size, metals.get("end") or like.metal)] += clasp_rings
    if spare:
        metal = Counter[tuple[RingSize, str]]()
        for kind, count in whole.items():
            metal[kind.size, kind.metal] += count
        for (size, name), count in metal.items():
            whole[Kind("spare", size, name)] += math.ceil(spare * count - 1e-9)
    units = _units(rule, piece, repeats)
    return Counts(_sorted(whole), _sorted(repeat), units, units // repeats)


def _units(rule: WeaveRule, piece: Piece, repeats: int) -> int:
    """Repeats, of a sheet in all of its rows."""
    if not rule.family.has_rows:
        return repeats
    return (len(piece) - len(rule.start)) // len(rule.rings)


def _kind(piece: Piece, index: int, metals: Mapping[str, str]) -> Kind:
    role, name = piece.roles[index], piece.names[index].split(".")[0]
    wire_mm = 2.0 * float(piece.wire_radii_mm[index])
    inner_mm = 2.0 * float(piece.core_radii_mm[index]) - wire_mm
    # Rounded, so that sizes compare: they come out of the solver's units.
    size = RingSize(round(wire_mm, 6), round(inner_mm, 6))
    return Kind(role, size, _metal(role, name, metals))


def _metal(role: str, name: str, metals: Mapping[str, str]) -> str:
    return metals.get(name) or metals.get(role) or metals.get("", "")


def _sorted(counts: Counter[Kind]) -> tuple[tuple[Kind, int], ...]:
    return tuple(
        sorted(
            counts.items(), key=lambda item: (ROLES.index(item[0].role), -item[1], item[0].metal)
        )
    )
