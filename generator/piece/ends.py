"""How a piece ends: the rings at its ends, what may go through them, and tapers ring by ring.

One ring through all rings of an end has to be a ring of the weave, were it woven on: such a one is
there with room around it in every repeat, as contact left it. Where no ring of the weave goes
through all of them, they lie too far apart to be gathered by a ring of their size.
A taper is the weave woven on, without the rings that would be held by one other alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.movement.order import moved
from ringwright.piece.piece import Piece, name_of, place_in_weave, placed_piece, rows_of
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import RingRef, WeaveRule

# Rings so near the end of a piece, in core radii, are its last ones.
_LEVEL = 0.3


@dataclass(frozen=True)
class Taper:
    """Rings that are woven on beyond the last ones of a piece, fewer and fewer.

    Attributes
    ----------
    layers : in the order in which they come, from the piece outwards
    """

    layers: tuple[tuple[RingRef, ...], ...]

    @property
    def rings(self) -> tuple[RingRef, ...]:
        """All of them."""
        return tuple(ref for layer in self.layers for ref in layer)


def end_rings(rule: WeaveRule, piece: Piece) -> tuple[tuple[RingRef, ...], tuple[RingRef, ...]]:
    """The rings at the beginning of a piece, and those at its end.

    Of a sheet those at both ends of its rows: of every row that does not end further in than the
    rows beside it.
    """
    of, x = refs_of(piece), piece.centres_mm[:, 0]
    near_mm = _LEVEL * float(piece.core_radii_mm.max())
    if rule.family.has_rows:
        rows = rows_of(piece, lying=True)
        sides = [
            [row[0] for row in rows if row],
            [row[-1] for row in rows if row],
        ]
        first, last = (
            _outer(side, way * x[side], near_mm)
            for side, way in zip(sides, (-1.0, 1.0), strict=True)
        )
    elif rule.start:
        begun = {start.ring for start in rule.start}
        lead = min(x[at] for at, ref in enumerate(of) if ref in begun) + near_mm
        first = [at for at, ref in enumerate(of) if ref in begun and x[at] < lead]
        # The last repeat ends as the start does, in closed rings where it has any.
        newest = max(start.ring.image[0] for start in rule.start)
        ends = [start for start in rule.start if start.ring.image[0] == newest]
        closed = {start.ring.name for start in ends if start.role == "closed"}
        names = closed or {start.ring.name for start in ends}
        most = max(ref.image[0] for ref in of)
        last = [at for at, ref in enumerate(of) if ref.name in names and ref.image[0] == most]
    else:
        first = np.flatnonzero(x < x.min() + near_mm).tolist()
        last = np.flatnonzero(x > x.max() - near_mm).tolist()
    return tuple(of[ring] for ring in first), tuple(of[ring] for ring in last)


def _outer(side: Sequence[int], reach: Floats, near_mm: float) -> list[int]:
    """Of the last rings of all rows, from edge to edge, those that do not end further in."""
    beside = [
        [reach[other] for other in (row - 1, row + 1) if 0 <= other < len(side)]
        for row in range(len(side))
    ]
    return [
        ring
        for ring, own, others in zip(side, reach, beside, strict=True)
        if not others or own > min(others) - near_mm
    ]


def partners(rule: WeaveRule, ref: RingRef) -> Iterator[RingRef]:
    """The rings that a ring runs through, in a weave that goes on for ever."""
    for link in rule.links:
        if link.first.name == ref.name:
            yield moved(rule, link.second, ref.image)
        if link.second.name == ref.name:
            back = (-link.second.image[0], -link.second.image[1])
            yield moved(rule, RingRef(link.first.name, ref.image), back)


def gathered_by_one(rule: WeaveRule, there: Sequence[RingRef], ends: Sequence[RingRef]) -> bool:
    """Whether one more ring of the weave goes through all these rings.

    Parameters
    ----------
    there : all rings of the piece
    ends : those to gather; a single one always can be, and who holds a ring holds those in it
    """
    apart: list[RingRef] = []
    for ref in ends:
        if not set(apart) & set(partners(rule, ref)):
            apart.append(ref)
    if len(apart) == 1:
        return True
    beyond = {other for ref in apart for other in partners(rule, ref)} - set(there)
    return any(set(apart) <= set(partners(rule, ref)) for ref in beyond)


def taper(rule: WeaveRule, there: Sequence[RingRef], ends: Sequence[RingRef]) -> Taper | None:
    """The weave woven on from one end, narrower with every layer, until one ring is left.

    A ring of the next layer goes through two rings of the last one, or more. None where the layers
    do not get smaller.
    """
    present, last = set(there), list(ends)
    rows = {ref.image[1] for ref in there}
    layers: list[tuple[RingRef, ...]] = []
    while len(last) > 1:
        held = Counter(
            other
            for ref in last
            for other in partners(rule, ref)
            if other not in present and other.image[1] in rows
        )
        held_twice = [ref for ref, count in held.items() if count > 1]
        layer = sorted(held_twice, key=lambda ref: (ref.image[1], ref.image[0], ref.name))
        if not 0 < len(layer) < len(last):
            return None
        layers.append(tuple(layer))
        present |= set(layer)
        last = layer
    return Taper(tuple(layers))


def with_tapers(
    rule: WeaveRule, unit: Unit, core_radius_mm: float, piece: Piece, tapers: Sequence[Taper]
) -> Piece:
    """The piece with the rings of its tapers, which lie as they would in the weave."""
    roles = {ring.name: ring.role for ring in rule.rings}
    placed = [
        (RingRef(*place_in_weave(name)), role)
        for name, role in zip(piece.names, piece.roles, strict=True)
    ]
    placed += [(ref, roles[ref.name]) for one in tapers for ref in one.rings]
    return placed_piece(rule, unit, core_radius_mm, placed)


def refs_of(piece: Piece) -> tuple[RingRef, ...]:
    """The rings of a piece as the rule has them."""
    return tuple(RingRef(*place_in_weave(name)) for name in piece.names)


def names_of(rule: WeaveRule, refs: Sequence[RingRef]) -> tuple[str, ...]:
    """What rings are called in a piece."""
    return tuple(name_of(rule, ref) for ref in refs)
