"""A piece: every ring of it, placed, named and checked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base import defaults
from ringwright.base.arrays import Bools, Floats
from ringwright.base.errors import BadInput
from ringwright.geometry.contact import Rings, carried, close_pairs, contacts, linking
from ringwright.solver.climb import Unit
from ringwright.solver.measure import extent
from ringwright.weaves.rule import Image, RingRef, WeaveRule, wrapped

MOST_RINGS = 20_000
# A ring of a sheet lies when its axis is this near to the upright (as a cosine); rings whose
# centres are farther apart across than this, in core radii, lie in different rows.
_LIES, _NEXT_ROW = 0.5, 0.25
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
    metals : per ring its metal, or its colour as ``"#rrggbb"``; empty where none is given,
        and rings are coloured by role
    """

    names: tuple[str, ...]
    roles: tuple[str, ...]
    centres_mm: Floats
    axes: Floats
    core_radii_mm: Floats
    wire_radii_mm: Floats
    metals: tuple[str, ...] = ()

    @property
    def paints(self) -> tuple[str, ...]:
        """What each ring is coloured by: its metal, or else its role."""
        return self.metals or self.roles

    def __len__(self) -> int:
        return len(self.names)

    def of(self, rings: Bools) -> Piece:
        """Some of the rings, by a mask."""
        kept = np.flatnonzero(rings)
        return Piece(
            tuple(self.names[ring] for ring in kept),
            tuple(self.roles[ring] for ring in kept),
            self.centres_mm[kept],
            self.axes[kept],
            self.core_radii_mm[kept],
            self.wire_radii_mm[kept],
            tuple(self.metals[ring] for ring in kept) if self.metals else (),
        )

    def turned(self, turn: Floats) -> Piece:
        """The piece turned about the origin by a (3, 3) rotation matrix."""
        return replace(self, centres_mm=self.centres_mm @ turn.T, axes=self.axes @ turn.T)

    def rings(self) -> Rings:
        """The rings without their names, for the contact functions; in millimetres."""
        return Rings(self.centres_mm, self.axes, self.core_radii_mm, self.wire_radii_mm)

    def length_mm(self) -> float:
        """Length along x, over the outsides of the end rings."""
        low, high = extent(self.rings(), np.array([1.0, 0.0, 0.0]))
        return high - low


def woven_piece(
    rule: WeaveRule, unit: Unit, core_radius_mm: float, repeats: int, rows: int = 1
) -> Piece:
    """So many repeats of a weave, with the ring or rings it is started from.

    Parameters
    ----------
    rule : names and roles
    unit : the settled unit, in units of the core radius
    core_radius_mm : that unit in millimetres
    repeats : along x, 1 or more
    rows : along a sheet's second vector, 1 or more
    """
    placed = [(start.ring, start.role) for start in rule.start]
    placed += [
        (RingRef(ring.name, image), ring.role)
        for image in _images(rule, repeats, rows)
        for ring in rule.rings
    ]
    return placed_piece(rule, unit, core_radius_mm, placed)


def placed_piece(
    rule: WeaveRule, unit: Unit, core_radius_mm: float, placed: Sequence[tuple[RingRef, str]]
) -> Piece:
    """Rings of a weave, each in its place in it.

    Parameters
    ----------
    rule, unit, core_radius_mm : as of :func:`woven_piece`
    placed : the rings, each with its role
    """
    index = {ring.name: place for place, ring in enumerate(rule.rings)}
    at = np.array([index[ref.name] for ref, _ in placed])
    images = np.array([ref.image for ref, _ in placed], np.intp)
    rings = unit.rings
    centres, axes = carried(rings.centres[at], rings.axes[at], images, unit.lattice)
    return Piece(
        names=tuple(name_of(rule, ref) for ref, _ in placed),
        roles=tuple(role for _, role in placed),
        centres_mm=centres * core_radius_mm,
        axes=axes,
        core_radii_mm=rings.core_radii[at] * core_radius_mm,
        wire_radii_mm=rings.wire_radii[at] * core_radius_mm,
    )


def _images(rule: WeaveRule, repeats: int, rows: int) -> list[Image]:
    """The images a piece of so many repeats and rows is made of, in the order they are woven."""
    if not rule.family.repeats:
        return [(0, 0)]
    if rule.family.closes_round:
        around = sorted({wrapped((0, k), rule.around)[1] for k in range(rule.around)})
        return [(k1, k2) for k1 in range(repeats) for k2 in around]
    rows = rows if rule.family.has_rows else 1
    return [(k1, k2) for k2 in range(rows) for k1 in range(repeats)]


def name_of(rule: WeaveRule, ref: RingRef) -> str:
    """A ring of a piece: ``B.3`` is ring B of the third repeat, ``P.3.2`` that of row 2."""
    k1, k2 = ref.image
    if rule.family.image_numbers == 2:
        return f"{ref.name}.{k1 + 1}.{k2 % rule.around + 1 if rule.around > 1 else k2 + 1}"
    return f"{ref.name}.{k1 + 1}"


def rows_of(piece: Piece, lying: bool = False) -> list[list[int]]:
    """The rings of a sheet as it lies: rows from the far edge to the near, left to right.

    A row is what makers call one: rings side by side along x, which overlap like fallen
    dominoes in a European sheet and lie flat in a Japanese one.

    Parameters
    ----------
    lying : leave out rings that stand and only join others, their axis nearer to the table
        than to the upright

    Returns
    -------
    Indices into the piece, row by row.
    """
    upright = np.abs(piece.axes[:, 2]) / np.linalg.norm(piece.axes, axis=1)
    wanted = np.flatnonzero(upright > _LIES) if lying else np.arange(len(piece))
    y = piece.centres_mm[:, 1]
    apart = _NEXT_ROW * float(piece.core_radii_mm.max())
    rows: list[list[int]] = []
    last = np.inf
    for ring in wanted[np.argsort(-y[wanted], kind="stable")].tolist():
        if last - y[ring] > apart:
            rows.append([])
        last = y[ring]
        rows[-1].append(ring)
    x = piece.centres_mm[:, 0]
    return [sorted(row, key=lambda ring: (round(float(x[ring]), 6), ring)) for row in rows]


def place_in_weave(name: str) -> tuple[str, Image]:
    """Ring and image that a ring of a piece is, from its name."""
    ring, *numbers = name.split(".")
    at = [int(number) - 1 for number in numbers]
    return ring, (at[0], at[1] if len(at) > 1 else 0)


def piece_of_length(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    length_mm: float,
    width_mm: float | None = None,
    counted: Unit | None = None,
) -> tuple[Piece, int]:
    """The shortest piece of whole repeats that is at least ``length_mm`` long.

    Parameters
    ----------
    width_mm : for a sheet, it is also at least so wide, across its rows; when left out,
        25 mm or one repeat, whichever is more
    counted : the unit in the state in which it is to be so long and wide; ``unit`` when left out

    Returns
    -------
    piece, repeats

    Raises
    ------
    BadInput
        When the length is shorter than one repeat, or needs more than 20,000 rings.
    """
    counted = unit if counted is None else counted
    repeats, rows = repeats_and_rows(rule, counted, core_radius_mm, length_mm, width_mm)
    count = ring_count(rule, repeats, rows)
    if count > MOST_RINGS:
        raise BadInput(
            f"length {length_mm:.6g} mm would take {count} rings, and a piece has at most "
            f"{MOST_RINGS}; ask for a shorter length."
        )
    return woven_piece(rule, unit, core_radius_mm, repeats, rows), repeats


def repeats_and_rows(
    rule: WeaveRule,
    unit: Unit,
    core_radius_mm: float,
    length_mm: float,
    width_mm: float | None = None,
) -> tuple[int, int]:
    """The fewest repeats that reach a length, and rows of a sheet that reach a width.

    Parameters
    ----------
    unit : in the state in which the piece is to be so long and wide
    width_mm : as of :func:`piece_of_length`

    Raises
    ------
    BadInput
        When the length or the width is shorter than one repeat.
    """
    if not rule.family.repeats:
        return 1, 1
    one = woven_piece(rule, unit, core_radius_mm, 1)
    repeats = _count(rule, "length", length_mm, unit.repeat * core_radius_mm, one.length_mm())
    if not rule.family.has_rows:
        return repeats, 1
    pitch_mm = float(unit.lattice.values[2]) * core_radius_mm
    low, high = extent(one.rings(), np.array([0.0, 1.0, 0.0]))
    across_mm = max(defaults.WIDTH_MM, pitch_mm) if width_mm is None else width_mm
    return repeats, _count(rule, "width", across_mm, pitch_mm, high - low)


def ring_count(rule: WeaveRule, repeats: int, rows: int) -> int:
    """The rings of a piece, those that it is started from included."""
    return repeats * rows * len(rule.rings) * rule.around + len(rule.start)


def _count(rule: WeaveRule, what: str, wanted_mm: float, repeat_mm: float, one_mm: float) -> int:
    """How many repeats reach a size, one of them measuring ``one_mm`` over its ends."""
    if wanted_mm < repeat_mm:
        raise BadInput(
            f"{what} {wanted_mm:.4g} mm is shorter than one repeat of {rule.name}, which is "
            f"{repeat_mm:.4g} mm at this size; ask for {one_mm:.4g} mm or more."
        )
    return max(1, 1 + math.ceil((wanted_mm - one_mm) / repeat_mm - 1e-9))


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
        some = pairs.of(block)
        smallest = min(smallest, float(contacts(rings, some).gap.min()))
        for row in np.flatnonzero(linking(rings, some)):
            one, two = piece.names[some.first[row]], piece.names[some.second[row]]
            links.append((one, two) if one < two else (two, one))
    return PieceCheck(smallest, len(pairs.first), tuple(sorted(links)))


def expected_links(
    rule: WeaveRule, piece: Piece, closed_after: int = 0
) -> tuple[tuple[str, str], ...]:
    """The names of every two rings of a piece that the rule says are linked.

    Parameters
    ----------
    closed_after : repeats, after which it is closed into itself; 0 for one with ends
    """
    there = set(piece.names)
    found = set()
    for name in piece.names:
        ring, at = place_in_weave(name)
        for link in rule.links:
            if link.first.name != ring:
                continue
            step = (link.second.image[0], link.second.image[1])
            image = (at[0] + step[0], at[1] + step[1])
            if closed_after:
                image = (image[0] % closed_after, image[1])
            other = name_of(rule, RingRef(link.second.name, image))
            if other in there:
                low, high = sorted((name, other))
                found.add((low, high))
    return tuple(sorted(found))
