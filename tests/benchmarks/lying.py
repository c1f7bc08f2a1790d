"""Whole pieces brought to rest, beside a rigid-body engine's fall of the same rings.

    python -m tests.benchmarks.lying            pieces beside the engine, growth, large units
    python -m tests.benchmarks.lying --quick    the smallest pieces alone

Needs ``pip install mujoco`` for the engine, which the package itself does not; without it the
program's own figures are printed alone. In the engine a ring is twelve capsules, without friction,
under the same weight and the same pull at ends or edges (:mod:`tests.benchmarks.engine`). Processor
time is told; the program's is of all that is done once the weave is settled: one unit at rest, then
the piece, then every pair measured. Goals are those of an idle machine: other work slows memory for
all. Lengths are in millimetres. Whether the two agree is for :mod:`tests.benchmarks.lying_agrees`,
with rings of four times as many capsules.
"""

from __future__ import annotations

import argparse
import resource
import time
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import woven_piece
from ringwright.rest.laid import Laid, laid
from ringwright.rest.unit import lying_unit
from ringwright.solver.settle import Settled, settle
from ringwright.solver.shapes import with_two_repeats
from ringwright.weaves import load_rule
from ringwright.weaves.rest_states import ON_TABLE, SPREAD, RestState
from tests.benchmarks.engine import edge_pulls, end_pulls, engine, size_mm

SIZE = RingSize(0.9, 3.2)
CAPSULES = 12


@dataclass(frozen=True)
class Case:
    """A weave in so many repeats and rows, and how it is laid down."""

    name: str
    repeats: int
    rows: int
    state: RestState


BESIDE = (
    Case("barrel", 7, 1, ON_TABLE),
    Case("barrel", 27, 1, ON_TABLE),
    Case("european_4_in_1", 8, 13, SPREAD),
)
ALONE = (Case("byzantine", 4, 1, ON_TABLE), Case("european_4_in_1_strip_5", 10, 1, ON_TABLE))
CHAINS = tuple(Case("barrel", repeats, 1, ON_TABLE) for repeats in (27, 54, 100, 200))
SHEETS = tuple(Case("european_4_in_1", along, along, SPREAD) for along in (10, 14, 20, 28, 31))
# How often two repeats are taken as one, and the goal for it: 40 and 80 rings of barrel.
DOUBLED = ((3, 1.0), (4, 3.0))
# Goals: seconds for so many rings at least, the exponent of growth, and memory.
BRACELET_S, CHAIN_S, SHEET_S = (136, 3.0), (500, 10.0), (1_900, 60.0)
EXPONENT, MEMORY_GIB = 1.3, 2.0


@lru_cache
def settled_of(name: str) -> Settled:
    settled = settle(load_rule(name), SIZE)
    assert settled is not None
    return settled


def at_rest(case: Case) -> tuple[Laid, float]:
    """The piece at rest, and the processor time for it and its unit."""
    rule, unit = load_rule(case.name), settled_of(case.name).unit
    piece = woven_piece(rule, unit, SIZE.core_radius_mm, case.repeats, case.rows)
    lying_unit.cache_clear()
    start = time.process_time()
    found = laid(rule, unit, piece, case.state)
    return found, time.process_time() - start


def line(what: str, size: tuple[float, float, float], took: float, more: str) -> None:
    long, wide, thick = size
    print(
        f"  {what:8} {took:7.1f} s   {long:8.3f} x {wide:8.3f} x {thick:6.3f} mm   {more}",
        flush=True,
    )


def goal(value: float, most: float) -> str:
    """Whether a goal is met."""
    return f"goal {most:g}: {'met' if value <= most else 'missed'}"


def deep(overlap_mm: float) -> str:
    """The worst penetration, as a share of the wire too."""
    wire = 100.0 * overlap_mm / SIZE.wire_mm
    return f"worst penetration {overlap_mm:.0e} mm, {wire:.1g} % of the wire"


def compared(mujoco: Any, case: Case) -> None:
    """Print a piece at rest, and, with the engine, its fall of the same piece."""
    found, took = at_rest(case)
    print(f"{case.name}, {len(found.piece)} rings, {case.state.name}")
    overlap_mm = max(0.0, -found.checked.smallest_gap_mm)
    more = f"residual {found.lying.residual:.0e}, {found.lying.rounds} rounds"
    line("rest", found.lying.size_mm(), took, f"{deep(overlap_mm)}, {more}")
    if mujoco is not None:
        pulls = end_pulls if case.state == ON_TABLE else edge_pulls
        end = engine(mujoco, found.pulled, pulls(found.pulled), CAPSULES)
        more = f"{deep(end.overlap_mm)}, gains {end.gain:.0e} a second"
        line("engine", size_mm(end.piece), end.took_s, more)


def growth(what: str, cases: tuple[Case, ...], goals: tuple[tuple[int, float], ...]) -> None:
    """Print how long more and more rings take, and the exponents of the powers that fit best.

    Rounds are those of the whole piece; a large sheet's time has those of a small one in it too.

    Parameters
    ----------
    goals : so many rings, and the seconds that the first piece of as many may take
    """
    counts, times, rounds, left = [], [], [], list(goals)
    for case in cases:
        found, took = at_rest(case)
        counts.append(len(found.piece))
        times.append(took)
        rounds.append(found.lying.rounds)
        more = ""
        if left and counts[-1] >= left[0][0]:
            more = f", {goal(took, left.pop(0)[1])}"
        print(
            f"  {counts[-1]:5} rings {took:7.1f} s   {rounds[-1]} rounds of "
            f"{took / rounds[-1]:.2f} s, residual {found.lying.residual:.0e}{more}",
            flush=True,
        )
    time_, round_ = (exponent(counts, figures) for figures in (times, rounds))
    print(
        f"{what}: time grows by the power {time_:.2f} of the number of rings "
        f"({goal(time_, EXPONENT)}), rounds by {round_:.2f}, time a round by {time_ - round_:.2f}"
    )


def exponent(counts: list[int], figures: list[float] | list[int]) -> float:
    """Of the power of the counts that fits some figures best."""
    return float(np.polyfit(np.log(counts), np.log(figures), 1)[0])


def units() -> None:
    """Print how long barrel takes with many rings as one unit."""
    rule, count = load_rule("barrel"), 0
    for doubled, most_s in DOUBLED:
        for _ in range(doubled - count):
            rule = with_two_repeats(rule)
        count = doubled
        start = time.process_time()
        settled = settle(rule, SIZE)
        took = time.process_time() - start
        assert settled is not None
        residual = settled.certificate.residual
        print(
            f"barrel, {len(rule.rings)} rings as one unit: {took:.1f} s, residual {residual:.0e}, "
            f"{goal(took, most_s)}"
        )


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.lying")
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    try:
        import mujoco
    except ImportError:
        mujoco = None
        print("the engine is not installed: pip install mujoco")
    # What is imported and compiled at first is not counted.
    at_rest(Case("european_4_in_1", 6, 6, SPREAD))
    settle(with_two_repeats(with_two_repeats(load_rule("barrel"))), SIZE)
    for case in BESIDE[:1] if asked.quick else BESIDE:
        compared(mujoco, case)
    if asked.quick:
        return
    for case in ALONE:
        compared(None, case)
    growth("chain", CHAINS, (BRACELET_S, CHAIN_S))
    growth("sheet", SHEETS, (SHEET_S,))
    units()
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    print(f"memory at most {most:.2f} GiB, {goal(most, MEMORY_GIB)}")


if __name__ == "__main__":
    main()
