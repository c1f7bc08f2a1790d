"""The ways in which a unit repeats: how many repeat vectors, whether it turns, closes or bends."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LatticeKind:
    """What carries a unit onto its images; :mod:`ringwright.geometry.lattice` says where they lie.

    Attributes
    ----------
    name : for people
    vectors : repeat vectors along straight lines: none, one along x, or two in the plane z = 0
    turns : whether x is a screw axis: whatever is moved along it is turned about it too
    closes : whether there are units side by side around x, of which the last meets the first
    bends : whether it is moved along an arc, and not along a line
    """

    name: str
    vectors: int = 0
    turns: bool = False
    closes: bool = False
    bends: bool = False


PIECE = LatticeKind("piece")
CHAIN = LatticeKind("chain", vectors=1)
SCREW = LatticeKind("screw", vectors=1, turns=True)
SHEET = LatticeKind("sheet", vectors=2)
TUBE = LatticeKind("tube", vectors=1, turns=True, closes=True)
LOOP = LatticeKind("loop", bends=True)
