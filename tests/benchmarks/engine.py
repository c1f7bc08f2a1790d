"""The same rings in a rigid-body engine: capsules in a circle for each, no friction.

Needs ``pip install mujoco``, which the package itself does not. Lengths inside are in mean core
radii, and a ring's weight is the unit of force.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from ringwright.falling.goal import outermost
from ringwright.piece.piece import Piece
from ringwright.rest.start import in_core_radii
from ringwright.rest.states import edges_of
from ringwright.solver.measure import extent

STEP_S, GRAVITY = 0.001, 9.81
# As of the pull at a chain's ends, or at a ring of a sheet's edge, in weights of a ring.
PULL = 100.0
# How far an end ring's centre may be from the outermost one's.
AT_THE_END = 0.3
# Rest: what weight and pull still gain in a second, per ring, so often in a row.
STILL, LOOK_S, CALM = 1e-5, 0.5, 3
LONGEST_S = 20.0


@dataclass(frozen=True, eq=False)
class Fallen:
    """Where the engine left a piece.

    Attributes
    ----------
    piece : its rings
    took_s : processor time
    overlap_mm : of the capsules
    gain : what weight and pull gained in the last second, per ring, in its weight times its radius
    """

    piece: Piece
    took_s: float
    overlap_mm: float
    gain: float


def size_mm(piece: Piece) -> tuple[float, float, float]:
    """Length, width and thickness, over all rings."""
    spans = [extent(piece.rings(), along) for along in np.eye(3)]
    long, wide, thick = (high - low for low, high in spans)
    return long, wide, thick


def end_pulls(piece: Piece) -> Any:
    """(n, 3) shares of the pull along x, as ``on_table`` pulls."""
    low, high = outermost(piece.centres_mm[:, 0] / piece.core_radii_mm.mean(), AT_THE_END)
    return np.outer(high / high.sum() - low / low.sum(), [1.0, 0.0, 0.0])


def edge_pulls(piece: Piece) -> Any:
    """(n, 3) about 1 on every ring of a sheet's edges, outwards, as ``spread`` pulls at first."""
    rings = in_core_radii(piece)[0]
    low_x, high_x, low_y, high_y = edges = edges_of(piece, rings)
    long, wide, _ = np.ptp(rings.centres, axis=0)
    tension = min(edge.sum() for edge in edges) / math.sqrt(long * wide)
    pulls = np.zeros((len(piece), 3))
    pulls[:, 0] = tension * wide * (high_x / high_x.sum() - low_x / low_x.sum())
    pulls[:, 1] = tension * long * (high_y / high_y.sum() - low_y / low_y.sum())
    return pulls


def engine(mujoco: Any, piece: Piece, pulls: Any, capsules: int) -> Fallen:
    """The piece fallen onto a table in the engine, drawn out at its ends or edges.

    Its speeds are set to zero whenever its energy of motion has passed a peak, which leads to rest
    sooner than any damper does, and to the same rest ("kinetic damping": Cundall, "Explicit finite
    difference methods in geomechanics", 1976; from memory).

    Parameters
    ----------
    pulls : (n, 3) from :func:`end_pulls` or :func:`edge_pulls`
    capsules : how many make a ring
    """
    model = _model(mujoco, piece, capsules)
    data = mujoco.MjData(model)
    weights = GRAVITY * model.body_mass[1:]
    data.xfrc_applied[1:, :3] = PULL * float(weights.mean()) * pulls
    start, moving, calm, energies = time.process_time(), 0.0, 0, [math.inf]
    while data.time < LONGEST_S and calm < CALM:
        for _ in range(round(LOOK_S / STEP_S)):
            mujoco.mj_step(model, data)
            before, moving = moving, float((data.qvel**2).sum())
            if moving < before:
                data.qvel[:], moving = 0.0, 0.0
        heights = float(weights @ data.xpos[1:, 2]) / float(weights.mean())
        energies.append((heights - PULL * float(np.sum(pulls * data.xpos[1:]))) / len(piece))
        gain = energies[-min(3, len(energies))] - energies[-1]
        calm = calm + 1 if abs(gain) < STILL else 0
    took_s = time.process_time() - start
    scale = float(piece.core_radii_mm.mean())
    axes = data.xmat[1:].reshape(-1, 3, 3)[:, :, 2].copy()
    laid = Piece(
        piece.names, piece.roles, data.xpos[1:] * scale, axes,
        piece.core_radii_mm, piece.wire_radii_mm,
    )  # fmt: skip
    depth = -min((float(contact.dist) for contact in data.contact), default=0.0)
    return Fallen(laid, took_s, depth * scale, gain)


def _model(mujoco: Any, piece: Piece, capsules: int) -> Any:
    scale = float(piece.core_radii_mm.mean())
    lean = np.sqrt(np.maximum(0.0, 1.0 - piece.axes[:, 2] ** 2))
    bottom = piece.centres_mm[:, 2] - piece.core_radii_mm * lean - piece.wire_radii_mm
    at = (piece.centres_mm - [0.0, 0.0, float(bottom.min())]) / scale
    core, wire = piece.core_radii_mm / scale, piece.wire_radii_mm / scale

    def text(values: Any) -> str:
        return " ".join(f"{value:.9f}" for value in values)

    bodies = "".join(
        f'<body pos="{text(at[ring])}" zaxis="{text(piece.axes[ring])}"><freejoint/>'
        f"{_capsules(float(core[ring]), float(wire[ring]), capsules)}</body>"
        for ring in range(len(piece))
    )
    return mujoco.MjModel.from_xml_string(f"""
    <mujoco><option timestep="{STEP_S}" gravity="0 0 -{GRAVITY}" integrator="implicitfast"
      cone="pyramidal" iterations="50"/>
    <size memory="1G"/>
    <default><geom friction="0 0 0" condim="1" density="1000" solref="0.004 1"/></default>
    <worldbody><geom type="plane" size="0 0 1"/>{bodies}</worldbody></mujoco>""")


def _capsules(core: float, wire: float, count: int) -> str:
    """A ring about the z axis.

    The corners are as far outside its core circle as the middles are inside. With corners that
    make the polygon as long as the circle, its middles lie 1 - (h / tan h) inside, h = pi / count:
    of twelve capsules that is 2.3 %, by which a chain of such rings comes out too short.
    """
    turns = np.arange(count + 1) * 2.0 * math.pi / count
    reach = core * 2.0 / (1.0 + math.cos(math.pi / count))
    corners = reach * np.stack([np.cos(turns), np.sin(turns), 0.0 * turns], axis=1)
    return "".join(
        '<geom type="capsule" size="{:.7f}" fromto="{}"/>'.format(
            wire, " ".join(f"{x:.7f}" for x in (*one, *two))
        )
        for one, two in pairwise(corners)
    )
