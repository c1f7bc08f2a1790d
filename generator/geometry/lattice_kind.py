"""The ways in which a unit repeats: how many repeat vectors, whether it turns, closes or bends."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LatticeKind:
    """What carries a unit onto its images; :mod:`ringwright.geometry.lattice` says where they lie.

    Whatever depends on how a unit repeats asks the kind, never its name. A lattice of the kind has
    its values in this order: the repeat along x, then the turn, or the second vector's x and y.

    Attributes
    ----------
    name : for people
    vectors : repeat vectors along straight lines: none, one along x, or two in the plane z = 0
    turns : whether x is a screw axis: whatever is moved along it is turned about it too
    closes : whether there are units side by side around x, of which the last meets the first
    is_bent : whether it is moved along an arc, and not along a line
    """

    name: str
    vectors: int = 0
    turns: bool = False
    closes: bool = False
    is_bent: bool = False

    @property
    def image_numbers(self) -> int:
        """How many numbers tell one image from the others: along, and across or around."""
        return self.vectors + self.closes + self.is_bent

    @property
    def repeats(self) -> bool:
        """Whether the unit has images at all."""
        return self.image_numbers > 0

    @property
    def has_axis(self) -> bool:
        """Whether it has one repeat vector, so that all of it lies along x."""
        return self.vectors == 1

    @property
    def has_rows(self) -> bool:
        """Whether it has two repeat vectors: rows along x, one beside the other along y."""
        return self.vectors == 2

    @property
    def is_flat(self) -> bool:
        """Whether images are only moved, never turned."""
        return not (self.turns or self.closes or self.is_bent)

    @property
    def is_straight(self) -> bool:
        """Whether it goes on along x without turning: it can be bent, wound and curled."""
        return self.has_axis and self.is_flat

    @property
    def is_wound(self) -> bool:
        """Whether it turns as it goes on, one unit after the other."""
        return self.turns and not self.closes

    @property
    def distances(self) -> tuple[int, ...]:
        """Which of a lattice's values are distances along x and, where there are rows, along y."""
        return (0,) * self.repeats + (2,) * self.has_rows


PIECE = LatticeKind("piece")
CHAIN = LatticeKind("chain", vectors=1)
SCREW = LatticeKind("screw", vectors=1, turns=True)
SHEET = LatticeKind("sheet", vectors=2)
TUBE = LatticeKind("tube", vectors=1, turns=True, closes=True)
LOOP = LatticeKind("loop", is_bent=True)
