"""Whole pieces brought to rest on a table, beside a rigid-body engine's fall of the same rings.

    python -m tests.benchmarks.lying            some pieces, the engine for those of up to 150 rings
    python -m tests.benchmarks.lying --long     larger ones too

Needs ``pip install mujoco`` for the engine, which the package itself does not; without it the
program's own figures are printed alone. In the engine a ring is twelve capsules, without friction,
under the same weight and the same pull at the ends (:mod:`tests.benchmarks.engine`). Processor time
is told, so that other work does not count; lengths are in millimetres. Whether the two agree is for
:mod:`tests.benchmarks.lying_agrees`, with rings of four times as many capsules.
"""

from __future__ import annotations

import argparse
import time

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, check_piece, woven_piece
from ringwright.rest.states import on_table, spread
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from tests.benchmarks.engine import end_pulls, engine, size_mm

SIZE = RingSize(0.9, 3.2)
# Weave, repeats, rows, and how it is laid down.
PIECES = (
    ("barrel", 8, 1, on_table),
    ("byzantine", 4, 1, on_table),
    ("european_4_in_1_strip_5", 10, 1, on_table),
    ("european_4_in_1", 5, 5, spread),
    ("barrel", 27, 1, on_table),
    ("european_4_in_1", 10, 10, spread),
)
LARGE = (
    ("barrel", 54, 1, on_table),
    ("barrel", 100, 1, on_table),
    ("european_4_in_1", 32, 32, spread),
)
MOST_FOR_ENGINE = 150
CAPSULES = 12


def woven(name: str, repeats: int, rows: int) -> Piece:
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    return woven_piece(rule, settled.unit, SIZE.core_radius_mm, repeats, rows)


def line(what: str, size_mm: tuple[float, float, float], took: float, more: str) -> None:
    long, wide, thick = size_mm
    print(f"  {what:8} {took:7.1f} s   {long:8.3f} x {wide:7.3f} x {thick:6.3f} mm   {more}")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.lying")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--long", action="store_true")
    asked = parser.parse_args()
    try:
        import mujoco
    except ImportError:
        mujoco = None
        print("the engine is not installed: pip install mujoco")
    pieces = PIECES[:4] if asked.quick else PIECES + LARGE * asked.long
    for name, repeats, rows, lay in pieces:
        piece = woven(name, repeats, rows)
        print(f"{name}, {len(piece)} rings, {lay.__name__}", flush=True)
        start = time.process_time()
        lying = lay(piece)
        took = time.process_time() - start
        gap = check_piece(lying.piece).smallest_gap_mm
        line(
            "rest",
            lying.size_mm(),
            took,
            f"residual {lying.residual:.0e}, overlap {max(0.0, -gap):.0e} mm",
        )
        if mujoco is not None and len(piece) <= MOST_FOR_ENGINE and lay is on_table:
            end = engine(mujoco, piece, end_pulls(piece), CAPSULES)
            more = f"gains {end.gain:.0e} a second, overlap {end.overlap_mm:.0e} mm"
            line("engine", size_mm(end.piece), end.took_s, more)


if __name__ == "__main__":
    main()
