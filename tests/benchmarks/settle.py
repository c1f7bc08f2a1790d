"""Settling a repeat: this package from cold and from a neighbouring size, and IPOPT."""

from __future__ import annotations

import sys
import time
from functools import partial

from ringwright.base.sizes import RingSize
from ringwright.solver.placement import placed_unit, ring_radii
from ringwright.solver.settle import settle
from ringwright.solver.tightest import tightest
from ringwright.weaves import load_rule
from tests.benchmarks.ipopt import longest_repeat
from tests.benchmarks.timing import median_seconds, told


def main() -> None:
    """Print times, ratios and how far the two answers are apart."""
    quick = "--quick" in sys.argv
    repeats = 3 if quick else 9
    for name in ("one-in-one",) if quick else ("one-in-one", "barrel"):
        rule, size = load_rule(name), RingSize(1.0, 3.6)
        settled = settle(rule, size)
        cold = median_seconds(partial(settle, rule, size), repeats)
        beside = RingSize(1.0, 3.7)
        warm = median_seconds(partial(settle, rule, beside, near=settled.unit), repeats)
        print(f"{name}: settled from cold       {told(cold)} ({len(rule.rings)} rings, 3 starts)")
        print(f"{name}: from a neighbouring AR  {told(warm)}")
        start = time.perf_counter()
        tight = tightest(rule, size)
        taken = time.perf_counter() - start
        print(f"{name}: tightest ring           {told(taken)} ({tight.starts} starts)")
        placed = placed_unit(rule, size).with_wire_radii(ring_radii(rule, size)[1])
        start = time.perf_counter()
        peer = longest_repeat(placed)
        taken = time.perf_counter() - start
        print(
            f"{name}: IPOPT                   {told(taken)}, {taken / cold:,.0f} times as long; "
            f"its repeat is {peer / settled.unit.repeat - 1:+.1e} of ours"
        )


if __name__ == "__main__":
    main()
