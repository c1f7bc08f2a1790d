"""A piece: every ring of it, placed, named and checked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.climb import Unit
from generator.contact import Pairs, Rings, close_pairs, contacts, linking
from generator.errors import BadInput
from generator.measure import extent
from weaves.rule import RingRef, WeaveRule

Floats = NDArray[np.float64]

MOST_RINGS = 20_000
# So many pairs are measured at a time.
_BLOCK = 1 << 16


@dataclass(frozen=True, eq=False)
class Piece:
    """Rings in space, in millimetres. The frame: x along the piece, z up from the table.

    Attributes
    ----------
    names : ring names, each once, such as ``"B.3"`` (ring B of the third repeat)
    roles : per ring ``"open"`` (opened before weaving) or ``"closed"``
    centres_mm : (n, 3) centres of the core circles
    axes : (n, 3) unit normals of the core circles' planes
    core_radii_mm : (n,) radii of the core circles, (inner + wire) / 2
    wire_radii_mm : (n,) radii of the wire
    """

    names: tuple[str, ...]
    roles: tuple[str, ...]
    centres_mm: Floats
    axes: Floats
    core_radii_mm: Floats
    wire_radii_mm: Floats

    def __len__(self) -> int:
        return len(self.names)

    def rings(self) -> Rings:
        """The rings without their names, for the contact functions; in millimetres."""
        return Rings(self.centres_mm, self.axes, self.core_radii_mm, self.wire_radii_mm)

    def length_mm(self) -> float:
        """Length along x, over the outsides of the end rings."""
        low, high = extent(self.rings(), np.array([1.0, 0.0, 0.0]))
        return high - low


def chain_piece(rule: WeaveRule, unit: Unit, core_radius_mm: float, repeats: int) -> Piece:
    """So many repeats of a chain, with the ring or rings it is started from.

    Parameters
    ----------
    rule : names and roles
    unit : the settled unit, in units of the core radius
    core_radius_mm : that unit in millimetres
    repeats : 1 or more
    """
    index = {ring.name: place for place, ring in enumerate(rule.rings)}
    placed = [(start.ring, start.role) for start in rule.start]
    placed += [
        (RingRef(ring.name, image), ring.role) for image in range(repeats) for ring in rule.rings
    ]
    at = np.array([index[ref.name] for ref, _ in placed])
    shift = np.zeros((len(placed), 3))
    shift[:, 0] = [ref.image * unit.repeat for ref, _ in placed]
    rings = unit.rings
    return Piece(
        names=tuple(f"{ref.name}.{ref.image + 1}" for ref, _ in placed),
        roles=tuple(role for _, role in placed),
        centres_mm=(rings.centres[at] + shift) * core_radius_mm,
        axes=rings.axes[at],
        core_radii_mm=rings.core_radii[at] * core_radius_mm,
        wire_radii_mm=rings.wire_radii[at] * core_radius_mm,
    )


def piece_of_length(
    rule: WeaveRule, unit: Unit, core_radius_mm: float, length_mm: float
) -> tuple[Piece, int]:
    """The shortest piece of whole repeats that is at least ``length_mm`` long.

    Returns
    -------
    piece, repeats

    Raises
    ------
    BadInput
        When the length is shorter than one repeat, or needs more than 20,000 rings.
    """
    repeat_mm = unit.repeat * core_radius_mm
    shortest_mm = chain_piece(rule, unit, core_radius_mm, 1).length_mm()
    if length_mm < repeat_mm:
        raise BadInput(
            f"length {length_mm:.4g} mm is shorter than one repeat of {rule.name}, which is "
            f"{repeat_mm:.4g} mm at this size; ask for {shortest_mm:.4g} mm or more."
        )
    repeats = max(1, 1 + math.ceil((length_mm - shortest_mm) / repeat_mm - 1e-9))
    count = repeats * len(rule.rings) + len(rule.start)
    if count > MOST_RINGS:
        raise BadInput(
            f"length {length_mm:.6g} mm would take {count} rings, and a preview holds at most "
            f"{MOST_RINGS}; ask for a shorter length."
        )
    return chain_piece(rule, unit, core_radius_mm, repeats), repeats


@dataclass(frozen=True)
class PieceCheck:
    """What a look at every pair of a finished piece found.

    Attributes
    ----------
    smallest_gap_mm : between the surfaces of any two rings
    pairs : how many pairs were near enough to measure; all others are farther apart
    links : the names of every two rings that run through one another, in order
    """

    smallest_gap_mm: float
    pairs: int
    links: tuple[tuple[str, str], ...]


def check_piece(piece: Piece) -> PieceCheck:
    """Measure every pair of a piece afresh, and count its links."""
    rings = piece.rings()
    pairs = close_pairs(rings, float(rings.wire_radii.max()))
    smallest, links = np.inf, []
    # In blocks, because the places where rings come closest take far more memory than
    # the pairs, and only the closest is wanted.
    for start in range(0, len(pairs.first), _BLOCK):
        block = slice(start, start + _BLOCK)
        some = Pairs(pairs.first[block], pairs.second[block], pairs.image[block])
        smallest = min(smallest, float(contacts(rings, some).gap.min()))
        for row in np.flatnonzero(linking(rings, some)):
            one, two = piece.names[some.first[row]], piece.names[some.second[row]]
            links.append((one, two) if one < two else (two, one))
    return PieceCheck(smallest, len(pairs.first), tuple(sorted(links)))


def expected_links(rule: WeaveRule, piece: Piece) -> tuple[tuple[str, str], ...]:
    """The names of every two rings of a piece that the rule says are linked."""
    there = set(piece.names)
    found = set()
    for name in piece.names:
        ring, _, number = name.partition(".")
        for link in rule.links:
            if link.first.name == ring:
                image = int(number) + link.second.image - link.first.image
                other = f"{link.second.name}.{image}"
                if other in there:
                    low, high = sorted((name, other))
                    found.add((low, high))
    return tuple(sorted(found))
