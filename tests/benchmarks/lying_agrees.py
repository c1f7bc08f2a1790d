"""Whether whole pieces at rest on a table lie as a rigid-body engine leaves the same rings.

    python -m tests.benchmarks.lying_agrees [WEAVE ...]

Needs ``pip install mujoco``; exits with 1 where a length, width or thickness is more than 2 % off.
In the engine a ring is 48 capsules, which lie within 0.1 % of its core circle, so that links are as
long as of round rings. The same rings under the same weight and pull can lie in more than one way,
so three falls are told beside the program's own:

- "engine": the engine's, from where the program's begins.
- "stays": the engine's, from the program's rest. The verdict is by this: what is at rest for the
  one is to be so for the other.
- "taken over": the program's, from the engine's rest, so that energies are those of round rings.
  It tells how much more potential energy than the program's rest it has, per ring, in a ring's
  weight times its core radius: positive where the program's is the better rest.

Then who touches whom: pairs within a hundredth of a core radius in both, and pairs that touch in
one and are farther than a twentieth apart in the other.
"""

from __future__ import annotations

import sys
from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.base.sizes import RingSize
from ringwright.falling.fall import fallen
from ringwright.falling.goal import Goal, weights
from ringwright.geometry.contact import close_pairs, contacts
from ringwright.piece.piece import Piece, woven_piece
from ringwright.rest.start import in_core_radii, set_down
from ringwright.rest.states import on_table
from ringwright.rest.table import table
from ringwright.solver.settle import settle
from ringwright.weaves import load_rule
from tests.benchmarks.engine import PULL, end_pulls, engine, size_mm

SIZE = RingSize(1.1, 4.7)
PIECES = {
    "barrel": 4,
    "box_chain": 4,
    "byzantine": 2,
    "european_4_in_1_strip_5": 4,
    "half_persian_3_in_1": 12,
    "spiral_4_in_1": 12,
    "two_in_two": 3,
}
CAPSULES = 48
WITHIN = 0.02
TOUCH, APART = 0.01, 0.05


def energy(piece: Piece, pulls: Floats) -> float:
    """Of weight and pull, per ring, in a ring's weight times its core radius."""
    scale = float(piece.core_radii_mm.mean())
    mass = piece.core_radii_mm * piece.wire_radii_mm**2
    height = float(mass @ piece.centres_mm[:, 2]) / float(mass.mean())
    return (height - PULL * float(np.sum(pulls * piece.centres_mm))) / scale / len(piece)


def gaps(piece: Piece) -> dict[tuple[int, int], float]:
    """Between every two rings that are near, in core radii."""
    rings = piece.rings().scaled(1.0 / float(piece.core_radii_mm.mean()))
    found = contacts(rings, close_pairs(rings, 2.0 * APART, None))
    nearest: dict[tuple[int, int], float] = {}
    for first, second, gap in zip(found.pairs.first, found.pairs.second, found.gap, strict=True):
        pair = int(first), int(second)
        nearest[pair] = min(float(gap), nearest.get(pair, np.inf))
    return nearest


def touching(one: Piece, other: Piece) -> tuple[int, int, int]:
    """How many pairs touch in both, only in the first, and only in the second."""
    here, there = gaps(one), gaps(other)

    def only(a: dict[tuple[int, int], float], b: dict[tuple[int, int], float]) -> int:
        return sum(gap < TOUCH and b.get(pair, np.inf) > APART for pair, gap in a.items())

    both = sum(gap < TOUCH and there.get(pair, np.inf) < TOUCH for pair, gap in here.items())
    return both, only(here, there), only(there, here)


def line(what: str, piece: Piece, beside: Piece, more: str = "") -> float:
    """Print a size and how far it is off another; returns the most it is off."""
    size, other = np.array(size_mm(piece)), np.array(size_mm(beside))
    off = size / other - 1.0
    told = "  ".join(
        f"{mm:8.3f} ({100 * share:+5.2f} %)" for mm, share in zip(size, off, strict=True)
    )
    print(f"  {what:11}{told}   {more}", flush=True)
    return float(np.abs(off).max())


def taken_over(piece: Piece, pulls: Floats) -> Piece:
    """The program's fall from somewhere else, by the same rings at the ends."""
    start, scale = in_core_radii(piece)
    up = np.array([0.0, 0.0, 1.0])
    goal = Goal(pulls - np.outer(weights(start) / PULL, up))
    rest = fallen(set_down(start), goal, (table,)).rings
    return replace(piece, centres_mm=rest.centres * scale, axes=rest.axes)


def agrees(mujoco: object, name: str, repeats: int) -> bool:
    rule = load_rule(name)
    settled = settle(rule, SIZE)
    assert settled is not None
    piece = woven_piece(rule, settled.unit, SIZE.core_radius_mm, repeats)
    pulls = end_pulls(piece)
    print(f"{name}, {len(piece)} rings: length, width, thickness in mm")
    rest = on_table(piece)
    line("rest", rest.piece, rest.piece, f"residual {rest.residual:.0e}")
    alone = engine(mujoco, piece, pulls, CAPSULES)
    line("engine", alone.piece, rest.piece, f"gains {alone.gain:.0e} a second")
    stays = engine(mujoco, rest.piece, pulls, CAPSULES)
    off = line("stays", stays.piece, rest.piece, f"gains {stays.gain:.0e} a second")
    over = taken_over(alone.piece, pulls)
    above = energy(over, pulls) - energy(rest.piece, pulls)
    line("taken over", over, rest.piece, f"energy {above:+.4f}")
    both, ours, engines = touching(rest.piece, stays.piece)
    print(f"  {both} pairs touch in both, {ours} only at rest, {engines} only in the engine")
    print(
        f"  {'agrees' if off <= WITHIN else 'DIFFERS'}, by {100 * off:.1f} % at most\n", flush=True
    )
    return off <= WITHIN


def main(names: list[str]) -> int:
    try:
        import mujoco
    except ImportError:
        sys.exit("the engine is not installed: pip install mujoco")
    # All of them, and only then the verdict.
    found = [agrees(mujoco, name, PIECES[name]) for name in names or PIECES]
    return 0 if all(found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
