"""What the search for the tightest ring found for the weaves of the library, kept beside it.

The search tries many starting placements, and of these one leads to the tightest ring. Which one
that is, is kept for every rule under a fingerprint of the rule and of the solver, so that it alone
is gone through again. A rule that was changed has another fingerprint, and is searched anew; so is
one whose start no longer ends where it did.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

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
    path : the starts to go through, one after the other, to come to it again
    agreed : how many of the starts came to it
    spread : as in :class:`ringwright.solver.tightest.Tightest`
    """

    aspect_ratio: float
    path: tuple[int, ...]
    agreed: int
    spread: tuple[float, ...]


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
        found["aspect_ratio"], tuple(found["path"]), found["agreed"], tuple(found["spread"])
    )


@functools.cache
def _kept() -> Mapping[str, dict[str, Any]]:
    text = files(__package__).joinpath(FILE).read_text(encoding="utf-8")
    kept: dict[str, dict[str, Any]] = json.loads(text)
    return kept
