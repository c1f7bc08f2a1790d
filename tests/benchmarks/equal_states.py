"""How far the width of a weave on a table can be changed by next to nothing.

    python -m tests.benchmarks.equal_states [WEAVE ...]

A ruler's figure is one of all the states that are as good as equal. Here a unit at rest is pressed
together or drawn apart sideways, ring by ring, ever harder, as long as weight and pull lose no
more than ``TOUCH`` a ring: as if each were lifted by a hundredth of its core radius. The widest
and the narrowest state seen are told, so the true range is no smaller. Where weight and pull gain
by it, the state that it began from was not the lowest, and that is told too.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from ringwright.base.sizes import RingSize
from ringwright.falling.fall import Rest, fallen
from ringwright.falling.goal import WEIGHT, Goal, weights
from ringwright.rest.table import table
from ringwright.rest.unit import can_lie, lying_unit
from ringwright.solver.measure import extent
from ringwright.solver.settle import settle
from ringwright.weaves import list_rules, load_rule

SIZE = RingSize(1.1, 4.7)
# Of the pull times the core radius; a ring weighs a hundred times as much.
TOUCH = 0.01 * WEIGHT
PRESSED = (WEIGHT / 16, WEIGHT / 4, WEIGHT, 4 * WEIGHT)
ROUNDS = 60
# Rings nearer to the middle than this, in core radii, are on neither side.
MIDDLE = 0.1
_Y, _UP = np.eye(3)[1:]


def pressed(rest: Rest, goal: Goal, by: float) -> Rest:
    """The rings of both sides drawn apart, or together where ``by`` is below zero."""
    across = rest.rings.centres[:, 1]
    across = across - 0.5 * (across.max() + across.min())
    side = np.where(np.abs(across) > MIDDLE, np.sign(across), 0.0)
    more = replace(goal, forces=goal.forces + by * np.outer(side, _Y))
    return fallen(rest.rings, more, (table,), lattice=rest.lattice, rounds=ROUNDS)


def sizes(rest: Rest) -> tuple[float, float]:
    low, high = extent(rest.rings, _Y)
    return high - low, extent(rest.rings, _UP)[1]


def tell(name: str) -> None:
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    if settled is None or not can_lie(settled.unit) or settled.unit.lattice.kind.has_rows:
        return
    unit = lying_unit(settled.unit).unit
    scale = float(unit.rings.core_radii.mean())
    rings = unit.rings.scaled(1.0 / scale)
    lattice = unit.lattice.with_values(unit.lattice.values / scale)
    stretch = np.zeros(len(lattice.values))
    stretch[0] = 1.0
    goal = Goal(np.outer(-WEIGHT * weights(rings), _UP), stretch=stretch)
    start = time.process_time()
    rest = fallen(rings, goal, (table,), lattice=lattice)
    seen, lost, gained = [rest], 0.0, 0.0
    for side in (-1.0, 1.0):
        now = rest
        for press in PRESSED:
            now = pressed(now, goal, side * press)
            each = goal.energy(now.rings, now.lattice) - goal.energy(rest.rings, rest.lattice)
            each /= len(rings.centres)
            if each > TOUCH:
                break
            seen.append(now)
            lost, gained = max(lost, each), max(gained, -each)
    mm = SIZE.core_radius_mm * scale
    width, thick = (values * mm for values in np.array([sizes(one) for one in seen]).T)
    print(
        f"{name:26} width {width[0]:6.2f} ({width.min():.2f} to {width.max():.2f})  thickness "
        f"{thick[0]:6.2f} ({thick.min():.2f} to {thick.max():.2f}) mm   at {lost / TOUCH:.2f} of a "
        f"touch{f', lower by {gained / TOUCH:.1f}' if gained > 1e-3 * TOUCH else ''}, "
        f"{time.process_time() - start:.1f} s",
        flush=True,
    )


if __name__ == "__main__":
    for weave in sys.argv[1:] or [rule.name for rule in list_rules()]:
        tell(weave)
