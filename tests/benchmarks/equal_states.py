"""How far a touch changes the width and thickness of every chain on a table, and what it takes.

    python -m tests.benchmarks.equal_states [WEAVE ...]

The ranges are those that ``ringwright check --laid on-table`` tells; see
:mod:`ringwright.rest.touch`. Processor time is told, so that other work does not count.
"""

from __future__ import annotations

import sys
import time

from ringwright.base.sizes import RingSize
from ringwright.rest.touch import ranges_within_a_touch
from ringwright.rest.unit import can_lie, lying_unit
from ringwright.solver.settle import settle
from ringwright.weaves import list_rules, load_rule

SIZE = RingSize(1.1, 4.7)


def tell(name: str) -> None:
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    if settled is None or not can_lie(settled.unit) or settled.unit.lattice.kind.has_rows:
        return
    start = time.process_time()
    found = lying_unit(settled.unit)
    ranges = ranges_within_a_touch(found)
    mm = SIZE.core_radius_mm
    said = "   ".join(
        f"{what} {mm * rest:6.2f} ({mm * low:.2f} to {mm * high:.2f})"
        for what, rest, (low, high) in (
            ("width", found.width(), ranges.width),
            ("thickness", found.thickness(), ranges.thickness),
        )
    )
    print(f"{name:26} {said} mm   {time.process_time() - start:.1f} s", flush=True)


if __name__ == "__main__":
    for weave in sys.argv[1:] or [rule.name for rule in list_rules()]:
        tell(weave)
