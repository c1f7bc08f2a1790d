"""How loosely rings lie in a box: poured by a rigid-body engine, once, for ``jigs/packing.py``.

    python -m tests.benchmarks.packing            every aspect ratio, three pours each, and the fit
    python -m tests.benchmarks.packing 3.5 5      some aspect ratios

Needs ``pip install mujoco``, which the package itself does not. A ring is a chain of capsules
around its core circle; rings are closed, so none can hook into another. They fall into a
square box, turned at random, and come to rest. Lengths are in core radii: how a heap lies does
not depend on the scale. The heap's height is taken as twice the height of its centre of mass,
which a rough top does not blur.
"""

from __future__ import annotations

import math
import sys
from itertools import pairwise

import mujoco
import numpy as np

RATIOS = (2.5, 3.0, 3.5, 4.25, 5.0, 6.5, 8.0)
POURS = 3
RINGS = 100
CAPSULES = 10
# The box, in outer diameters of a ring.
BOX = 4.0
# Dry metal on metal, from memory; printed walls alike.
FRICTION = 0.3
STEP_S = 0.008
# By then all has come to rest: the last second changes the figure by less than half a per cent.
REST_S = 6.0


def model(ratio: float, seed: int) -> tuple[mujoco.MjModel, float, float]:
    """The box with rings in the air above it; its side, and the metal in one ring."""
    wire = 1.0 / (ratio + 1.0)
    outer = 2.0 * (1.0 + wire)
    side = BOX * outer
    random = np.random.default_rng(seed)
    turns = np.arange(CAPSULES + 1) * 2.0 * math.pi / CAPSULES
    # Corners a little outside the circle, so that the chain is as long as the circle.
    reach = math.pi / CAPSULES / math.sin(math.pi / CAPSULES)
    corners = reach * np.stack([np.cos(turns), np.sin(turns), np.zeros_like(turns)], axis=1)
    pieces = "".join(
        '<geom type="capsule" size="{:.6f}" fromto="{}"/>'.format(
            wire, " ".join(f"{x:.6f}" for x in (*one, *two))
        )
        for one, two in pairwise(corners)
    )
    across = int(side // (1.03 * outer))
    bodies = []
    for ring in range(RINGS):
        layer, place = divmod(ring, across * across)
        row, column = divmod(place, across)
        at = [(index - (across - 1) / 2.0) * 1.03 * outer for index in (row, column)]
        quaternion = random.normal(size=4)
        quaternion /= np.linalg.norm(quaternion)
        bodies.append(
            '<body pos="{:.6f} {:.6f} {:.6f}" quat="{}"><freejoint/>{}</body>'.format(
                *at,
                (0.6 + layer) * 1.03 * outer,
                " ".join(f"{x:.6f}" for x in quaternion),
                pieces,
            )
        )
    half = side / 2.0
    text = f"""
    <mujoco><compiler angle="radian"/>
    <option timestep="{STEP_S}" gravity="0 0 -9.81" cone="pyramidal" iterations="30"
      integrator="implicitfast"/>
    <size memory="400M"/>
    <default><geom friction="{FRICTION} 0.005 0.0001" density="8000"/></default>
    <worldbody>
      <geom type="plane" size="0 0 1"/>
      <geom type="plane" size="0 0 1" pos="{-half} 0 0" zaxis="1 0 0"/>
      <geom type="plane" size="0 0 1" pos="{half} 0 0" zaxis="-1 0 0"/>
      <geom type="plane" size="0 0 1" pos="0 {-half} 0" zaxis="0 1 0"/>
      <geom type="plane" size="0 0 1" pos="0 {half} 0" zaxis="0 -1 0"/>
      {"".join(bodies)}
    </worldbody></mujoco>"""
    return mujoco.MjModel.from_xml_string(text), side, 2.0 * math.pi**2 * wire**2


def poured(ratio: float, seed: int) -> tuple[float, float]:
    """Share of a heap that is metal when it has come to rest, and a second before that."""
    made, side, metal = model(ratio, seed)
    data = mujoco.MjData(made)
    fills = []
    for until in (REST_S - 1.0, REST_S):
        while data.time < until:
            mujoco.mj_step(made, data)
        tall = 2.0 * float(data.qpos.reshape(-1, 7)[:, 2].mean())
        fills.append(RINGS * metal / (side * side * tall))
    return fills[1], fills[0]


def main() -> None:
    ratios = [float(text) for text in sys.argv[1:]] or list(RATIOS)
    print(f"mujoco {mujoco.__version__}, {RINGS} rings of {CAPSULES} capsules, box {BOX:g} wide")
    found = []
    for ratio in ratios:
        for seed in range(POURS):
            fill, before = poured(ratio, seed)
            found.append((ratio, fill))
            print(f"AR {ratio:g}  pour {seed}  fill {fill:.4f}  a second before {before:.4f}")
            sys.stdout.flush()
    if len(ratios) > 1:
        at, fill = np.array(found).T
        slope, height = np.polyfit(np.log(at + 1.0), np.log(fill), 1)
        off = np.abs(math.exp(height) * (at + 1.0) ** slope / fill - 1.0).max()
        print(f"fill = {math.exp(height):.3f} (AR + 1)^{slope:.3f}, within {off:.1%}")


if __name__ == "__main__":
    main()
