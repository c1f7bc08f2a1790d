"""An answer for every size: sizes of the trade drawn at random, and what is left of each.

    python -m tests.benchmarks.every_size            2,000 sizes over all weaves
    python -m tests.benchmarks.every_size 300 7      300 sizes, drawn with seed 7

Wires are gauges of AWG and SWG and whole and half tenths of a millimetre; inner diameters
go in steps of 0.05 mm from 10 % below a weave's common range to 10 % above. Every size is
asked as ``check`` asks it. A failure is a size that ends in no verdict; the residual is
how far the forces are from balancing the pull, and 1e-6 is what counts as rest.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ringwright.answers.minimums import usual_size
from ringwright.answers.verdict import check
from ringwright.base.errors import NoRest
from ringwright.base.sizes import RingSize, awg_mm, swg_mm
from ringwright.falling.at_rest import AT_REST
from ringwright.solver.tightest import Tightest, has_one_limit, tightest
from ringwright.weaves import WeaveRule, list_rules

COUNT, SEED = 2000, 17
# Starts for the tightest ring, which says which sizes are too tight and is one start for others.
STARTS = 4
# Wires that makers of rings are sold: from 0.5 mm to 3.3 mm.
AWG, SWG = range(8, 25), range(10, 26)
TENTHS_MM = (0.5, 3.2)
INNER_STEP_MM = 0.05
BEYOND = 0.10


@dataclass(frozen=True)
class Outcome:
    """What came of one size: the residual at rest, or why there is none.

    ``residual`` is None where the rings do not close the weave, or where ``failure`` says
    that there is no answer.
    """

    rule: WeaveRule
    size: RingSize
    residual: float | None
    failure: str | None
    seconds: float


def wires_mm() -> tuple[float, ...]:
    """All wires that sizes are drawn from."""
    low, high = TENTHS_MM
    half_tenths = np.round(np.arange(low, high + 0.01, 0.05), 2)
    return (*map(awg_mm, AWG), *map(swg_mm, SWG), *map(float, half_tenths))


def drawn(rules: list[WeaveRule], count: int, seed: int) -> Iterator[tuple[WeaveRule, RingSize]]:
    """Sizes of the trade, every weave as often as any other."""
    random = np.random.default_rng(seed)
    wires = wires_mm()
    for number in range(count):
        rule = rules[number % len(rules)]
        common = rule.common_aspect_ratio
        low, high = (3.0, 6.0) if common is None else (common.low, common.high)
        wire = wires[random.integers(len(wires))]
        first = int(np.ceil(low * (1.0 - BEYOND) * wire / INNER_STEP_MM))
        last = int(np.floor(high * (1.0 + BEYOND) * wire / INNER_STEP_MM))
        inner = INNER_STEP_MM * random.integers(first, last + 1)
        yield rule, RingSize(wire, round(float(inner), 2))


def asked(rule: WeaveRule, size: RingSize, limit: Tightest) -> Outcome:
    """The check of one size, as a figure or a failure."""
    start = time.perf_counter()
    known = limit if has_one_limit(rule) else None
    try:
        settled = check(rule, size, limit=known).settled
    except NoRest as error:
        return Outcome(rule, size, None, str(error), time.perf_counter() - start)
    residual = None if settled is None else settled.certificate.residual
    return Outcome(rule, size, residual, None, time.perf_counter() - start)


def main() -> None:
    """Print failures and residuals; exit status 1 unless all sizes have an answer."""
    given = [int(text) for text in sys.argv[1:]]
    count, seed = (*given, *(COUNT, SEED)[len(given) :])
    rules = list_rules()
    limits: dict[str, Tightest] = {}
    outcomes: list[Outcome] = []
    for rule, size in drawn(rules, count, seed):
        if rule.name not in limits:
            limits[rule.name] = tightest(rule, usual_size(rule), STARTS, workers=0)
        outcome = asked(rule, size, limits[rule.name])
        outcomes.append(outcome)
        if len(outcomes) % 100 == 0:
            worst = max((one.residual or 0.0 for one in outcomes), default=0.0)
            print(f"... {len(outcomes)}, largest residual {worst:.1e}", file=sys.stderr, flush=True)
        if outcome.failure or (outcome.residual or 0.0) > AT_REST:
            print(f"{rule.name} {size.wire_mm} mm/{size.inner_mm} mm: {outcome}", flush=True)
    residuals = [one.residual for one in outcomes if one.residual is not None]
    failures = sum(one.failure is not None for one in outcomes)
    print(f"{len(outcomes)} sizes of {len(rules)} weaves, seed {seed}")
    print(f"{failures} without an answer")
    print(f"{len(outcomes) - failures - len(residuals)} too tight to close")
    print(
        f"{len(residuals)} at rest; residual: median {statistics.median(residuals):.1e}, "
        f"largest {max(residuals):.1e}"
    )
    for bound in (1e-9, 1e-8, 1e-7, AT_REST):
        print(f"    above {bound:.0e}: {sum(one > bound for one in residuals)}")
    print(f"median time of one {statistics.median(one.seconds for one in outcomes):.3f} s")
    sys.exit(failures > 0 or max(residuals) > AT_REST)


if __name__ == "__main__":
    main()
