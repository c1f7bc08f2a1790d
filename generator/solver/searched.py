"""What the search for the tightest ring found for the weaves of the library, kept beside it.

The search tries many starting placements, and of these one leads to the tightest ring. Which one
that is, and where the rings then lie, is kept for every rule under a fingerprint of the rule and of
the solver. What was kept is looked at again, whether nothing can give way there. A rule that was
changed has another fingerprint, and is searched anew.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import TypedDict

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

# Raised whenever the solver may come to other minimums than before; the file is then written anew.
SOLVER = 1
FILE = "searched.json"


@dataclass(frozen=True)
class Searched:
    """What a search found.

    Attributes
    ----------
    aspect_ratio : the smallest
    path : the starts that were gone through, one after the other, to come to it
    agreed : how many of the starts came to it
    spread : as in :class:`ringwright.solver.tightest.Tightest`
    rings : (n, 7) centre, axis and wire radius of each ring, at the tightest
    values : those of the lattice
    """

    aspect_ratio: float
    path: tuple[int, ...]
    agreed: int
    spread: tuple[float, ...]
    rings: Floats
    values: Floats

    def unit(self, placed: Unit) -> Unit:
        """The rings where they lay, from the rule's placement."""
        centres, axes, wires = np.split(self.rings, (3, 6), axis=1)
        rings = Rings(centres, axes, placed.rings.core_radii, wires[:, 0])
        return Unit(rings, placed.lattice.with_values(self.values))


def fingerprint(rule: WeaveRule) -> str:
    """What a search depends on, in 16 hexadecimal digits: the rule's rings and the solver."""
    rings = [(ring.centre, ring.axis, ring.size) for ring in rule.rings]
    place = {ring.name: at for at, ring in enumerate(rule.rings)}
    links = sorted(
        (place[link.first.name], place[link.second.name], link.first.image, link.second.image)
        for link in rule.links
    )
    said = (SOLVER, rule.family.name, rule.repeat_vectors, rule.turn, rule.around, rings, links)
    return hashlib.sha256(repr(said).encode()).hexdigest()[:16]


def searched(rule: WeaveRule) -> Searched | None:
    """What was found for just these rings, or None where they were not searched."""
    found = _kept().get(fingerprint(rule))
    if found is None:
        return None
    return Searched(
        aspect_ratio=found["aspect_ratio"],
        path=tuple(found["path"]),
        agreed=found["agreed"],
        spread=tuple(found["spread"]),
        rings=np.array([ring.split() for ring in found["rings"]], dtype=float),
        values=np.array(found["values"].split(), dtype=float),
    )


class Kept(TypedDict):
    """What the file has of one weave, as :func:`record` gives it."""

    aspect_ratio: float
    path: list[int]
    agreed: int
    spread: list[float]
    weave: str
    rings: list[str]
    values: str


def record(
    weave: str,
    aspect_ratio: float,
    path: Sequence[int],
    agreed: int,
    spread: Sequence[float],
    unit: Unit,
) -> Kept:
    """What is written of a search, from which :func:`searched` reads it again to the last bit."""
    rings = unit.rings
    rows = np.column_stack([rings.centres, rings.axes, rings.wire_radii])
    return {
        "weave": weave,
        "aspect_ratio": round(aspect_ratio, 12),
        "path": list(path),
        "agreed": agreed,
        "spread": [round(ratio, 6) for ratio in spread],
        "rings": [_written(row) for row in rows],
        "values": _written(unit.lattice.values),
    }


def _written(numbers: Floats) -> str:
    return " ".join(repr(float(number)) for number in numbers)


@functools.cache
def _kept() -> Mapping[str, Kept]:
    text = files(__package__).joinpath(FILE).read_text(encoding="utf-8")
    kept: dict[str, Kept] = json.loads(text)
    return kept
