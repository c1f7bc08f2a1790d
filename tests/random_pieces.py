"""Finished pieces drawn at random: a weave, a size above its minimum, how many rings, a state."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, woven_piece
from ringwright.rest.states import Lying, hung, on_table, spread
from ringwright.solver.settle import settle
from ringwright.weaves import WeaveRule, list_rules

FEWEST, MOST = 10, 30
# Aspect ratios, in shares of the smallest; at the very smallest nothing can move.
TIGHTEST, LOOSEST = 1.02, 1.35


@dataclass(frozen=True, eq=False)
class Drawn:
    """What was drawn, and how to draw it again."""

    seed: int
    rule: WeaveRule
    size: RingSize
    piece: Piece
    state: Callable[[Piece], Lying]

    def __str__(self) -> str:
        size = f"{self.size.wire_mm} mm / {self.size.inner_mm} mm"
        rings = f"{len(self.piece)} rings"
        return f"seed {self.seed}: {self.rule.name}, {size}, {rings}, {self.state.__name__}"


def drawn(seed: int) -> Drawn:
    """The piece of a seed."""
    random = np.random.default_rng(seed)
    rules = [rule for rule in list_rules() if rule.family.repeats]
    rule = rules[random.integers(len(rules))]
    assert rule.computed is not None
    ratio = float(rule.computed.as_laid * random.uniform(TIGHTEST, LOOSEST))
    wire_mm = round(float(random.uniform(0.8, 1.6)), 2)
    size = RingSize(wire_mm, round(ratio * wire_mm, 3))
    settled = settle(rule, size)
    assert settled is not None, (seed, rule.name, size)
    repeats, rows = _counts(rule, int(random.integers(FEWEST, MOST + 1)), random)
    piece = woven_piece(rule, settled.unit, size.core_radius_mm, repeats, rows)
    states = (spread,) if rule.family.has_rows else (on_table, hung)
    return Drawn(seed, rule, size, piece, states[random.integers(len(states))])


def _counts(rule: WeaveRule, rings: int, random: np.random.Generator) -> tuple[int, int]:
    """About so many rings as repeats and rows."""
    around = rule.around if rule.family.closes_round else 1
    units = max(1, round((rings - len(rule.start)) / (len(rule.rings) * around)))
    if not rule.family.has_rows:
        return units, 1
    rows = int(random.integers(1, max(2, int(np.sqrt(units)) + 1)))
    return max(1, units // rows), rows
