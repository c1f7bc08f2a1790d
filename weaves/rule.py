"""What a weave rule says, as plain frozen data."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

Vector = tuple[float, float, float]


@dataclass(frozen=True)
class RingRef:
    """A ring of some repeat: its name and how many repeats further on (``image``)."""

    name: str
    image: int = 0


@dataclass(frozen=True)
class RuleRing:
    """One ring of the repeat: role and rough placement in units of the core radius."""

    name: str
    role: str
    centre: Vector
    axis: Vector


@dataclass(frozen=True)
class Link:
    """Two rings that run through one another; ``first`` belongs to the repeat itself (image 0)."""

    first: RingRef
    second: RingRef


@dataclass(frozen=True)
class StartRing:
    """A ring laid down before the first repeat is woven, with its own role."""

    ring: RingRef
    role: str


@dataclass(frozen=True)
class Step:
    """One step of the assembly: ``ring`` is put through every ring of ``through``."""

    ring: RingRef
    through: tuple[RingRef, ...]


@dataclass(frozen=True)
class CommonRange:
    """Aspect ratios makers usually choose, and where that figure comes from."""

    low: float
    high: float
    provenance: str


@dataclass(frozen=True)
class WeaveRule:
    """A weave: the rings of one repeat, how they link, and in which order they go in.

    Lengths are in units of the ring's core radius. The frame: x along the
    chain, y across it, z up from the table.
    """

    name: str
    trade_names: tuple[str, ...]
    summary: str
    family: str
    rings: tuple[RuleRing, ...]
    repeat_vector: Vector
    links: tuple[Link, ...]
    start: tuple[StartRing, ...]
    steps: tuple[Step, ...]
    common_aspect_ratio: CommonRange | None
    path: Path
