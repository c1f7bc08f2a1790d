"""Whole pieces brought to rest on a table, beside a rigid-body engine's fall of the same rings.

    python -m tests.benchmarks.lying            some pieces, the engine for those of up to 150 rings
    python -m tests.benchmarks.lying --long     larger ones too

Needs ``pip install mujoco`` for the engine, which the package itself does not; without it the
program's own figures are printed alone. In the engine a ring is twelve capsules about its core
circle, without friction, under the same weight and the same pull at the ends, damped until it is
still or five seconds are over. Processor time is told, so that other work does not count; lengths
are in millimetres.
"""

from __future__ import annotations

import argparse
import math
import time
from itertools import pairwise
from typing import Any

import numpy as np

from ringwright.base.sizes import RingSize
from ringwright.piece.piece import Piece, check_piece, woven_piece
from ringwright.rest.states import Lying, on_table, spread
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule

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
STEP_S, LONGEST_S = 0.001, 5.0
# Core radii a second: still, for a ring that falls its own height in a third of one.
STILL = 1e-3
GRAVITY = 9.81
# As of the pull at a chain's ends, in weights of a ring.
PULL = 100.0


def woven(name: str, repeats: int, rows: int) -> Piece:
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    return woven_piece(rule, settled.unit, SIZE.core_radius_mm, repeats, rows)


def capsules(wire: float) -> str:
    """A ring about the z axis, of core radius 1."""
    turns = np.arange(CAPSULES + 1) * 2.0 * math.pi / CAPSULES
    reach = math.pi / CAPSULES / math.sin(math.pi / CAPSULES)
    corners = reach * np.stack([np.cos(turns), np.sin(turns), 0.0 * turns], axis=1)
    return "".join(
        '<geom type="capsule" size="{:.6f}" fromto="{}"/>'.format(
            wire, " ".join(f"{x:.6f}" for x in (*one, *two))
        )
        for one, two in pairwise(corners)
    )


def engine_model(mujoco: Any, piece: Piece) -> Any:
    scale = float(piece.core_radii_mm.mean())
    lean = np.sqrt(np.maximum(0.0, 1.0 - piece.axes[:, 2] ** 2))
    bottom = piece.centres_mm[:, 2] - piece.core_radii_mm * lean - piece.wire_radii_mm
    at = (piece.centres_mm - [0.0, 0.0, float(bottom.min())]) / scale

    def text(values: Any) -> str:
        return " ".join(f"{value:.9f}" for value in values)

    bodies = "".join(
        f'<body pos="{text(at[ring])}" zaxis="{text(piece.axes[ring])}"><freejoint/>'
        f"{capsules(float(piece.wire_radii_mm[ring]) / scale)}</body>"
        for ring in range(len(piece))
    )
    return mujoco.MjModel.from_xml_string(f"""
    <mujoco><option timestep="{STEP_S}" gravity="0 0 -{GRAVITY}" integrator="implicitfast"
      cone="pyramidal" iterations="50"/>
    <size memory="1G"/>
    <default><geom friction="0 0 0" condim="1" density="1000" solref="0.004 1"/></default>
    <worldbody><geom type="plane" size="0 0 1"/>{bodies}</worldbody></mujoco>""")


def engine(mujoco: Any, piece: Piece) -> tuple[Lying, float, float, float]:
    """The piece as the engine leaves it; processor seconds, penetration and speed at the end."""
    model = engine_model(mujoco, piece)
    # Damped like honey: what is wanted is where it ends.
    model.dof_damping[:] = 2.0 * model.body_mass[1]
    data = mujoco.MjData(model)
    x = piece.centres_mm[:, 0] / float(piece.core_radii_mm.mean())
    low, high = x <= x.min() + 0.3, x >= x.max() - 0.3
    weight = GRAVITY * model.body_mass[1]
    data.xfrc_applied[1:, 0] = PULL * weight * (high / high.sum() - low / low.sum())
    start, speed = time.process_time(), math.inf
    while data.time < LONGEST_S and (speed > STILL or data.time < 0.5):
        mujoco.mj_step(model, data)
        speed = float(np.abs(data.qvel).max())
    took = time.process_time() - start
    depth = -min((float(contact.dist) for contact in data.contact), default=0.0)
    scale = float(piece.core_radii_mm.mean())
    axes = data.xmat[1:].reshape(-1, 3, 3)[:, :, 2]
    laid = Piece(
        piece.names, piece.roles, data.xpos[1:] * scale, axes.copy(),
        piece.core_radii_mm, piece.wire_radii_mm,
    )  # fmt: skip
    return Lying(laid, math.nan, 0, False), took, depth * scale, speed


def line(what: str, lying: Lying, took: float, more: str) -> None:
    long, wide, thick = lying.size_mm()
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
        line("rest", lying, took, f"residual {lying.residual:.0e}, overlap {max(0.0, -gap):.0e} mm")
        if mujoco is not None and len(piece) <= MOST_FOR_ENGINE and lay is on_table:
            end, took, depth, speed = engine(mujoco, piece)
            line("engine", end, took, f"speed {speed:.0e}, overlap {depth:.0e} mm")


if __name__ == "__main__":
    main()
