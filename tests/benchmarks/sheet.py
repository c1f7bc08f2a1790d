"""Interference in a flat sheet of rings: this package, FCL through trimesh, and Coal.

Every run is in a process of its own, so that its time from start to end and its peak
memory can be told.
"""

from __future__ import annotations

import importlib.util
import math
import statistics
import sys
import time
from itertools import pairwise

from tests.benchmarks.timing import in_a_child, report, told

_MODULE = "tests.benchmarks.sheet"
# Facets of a meshed ring, around it and around its wire: coarse, which favours the peers.
_FACETS = (32, 12)


def main(quick: bool) -> None:
    """Print time, memory and growth for sheets of several sizes, and the peers' ratios."""
    sizes = (200, 2_000, 20_000) if quick else (200, 2_000, 20_000, 200_000)
    repeats = 3 if quick else 5
    in_a_child(_MODULE, "warm", 200)  # Compiles the loops where they are not yet.
    first, warm = {}, {}
    for size in sizes:
        first[size] = measured("first", size, repeats if size < 100_000 else 3)
        warm[size] = measured("warm", size, repeats if size < 100_000 else 3)
        print_own(size, first[size], warm[size])
    for low, high in pairwise(sizes):
        ratio = warm[high]["check_s"] / warm[low]["check_s"]
        grown = math.log(ratio) / math.log(warm[high]["rings"] / warm[low]["rings"])
        print(f"from {low} to {high} rings the warm check grows with the power {grown:.2f}")
    # FCL with a mesh for every ring takes minutes and 8 GiB for 20,000 of them.
    peers = (("fcl", "trimesh and FCL", 3 if "--long" in sys.argv else 2), ("coal", "Coal", 3))
    for peer, module, most in peers:
        if importlib.util.find_spec(peer) is None:
            print(f"{module}: not installed")
            continue
        for size in sizes[:most]:
            seen = measured(peer, size, repeats if size <= 2_000 else 1)
            print_peer(module, size, seen, first[size], warm[size])


def print_own(size: int, first: dict, warm: dict) -> None:
    """One line for this package."""
    print(
        f"{size:7} rings  first check {told(first['check_s'])}  warm {told(warm['check_s'])}  "
        f"process {told(first['process_s'])}  peak {first['peak_mib']:5.0f} MiB  "
        f"{first['pairs']} pairs, {first['links']} links, gap {first['gap']:.4f}",
        flush=True,
    )


def print_peer(module: str, size: int, seen: dict, first: dict, warm: dict) -> None:
    """One line for a peer, with how many times as long as this package it took."""
    ratios = [
        f"{seen['check_s'] / warm['check_s']:.1f} x warm",
        f"{seen['check_s'] / first['check_s']:.1f} x first",
        f"{seen['process_s'] / first['process_s']:.1f} x process",
    ]
    print(
        f"{size:7} rings  {module}: check {told(seen['check_s'])}  "
        f"process {told(seen['process_s'])}  peak {seen['peak_mib']:5.0f} MiB  "
        f"{seen['verdict']}; takes {', '.join(ratios)}",
        flush=True,
    )


def measured(way: str, size: int, repeats: int) -> dict:
    """Medians over so many child processes."""
    runs = [in_a_child(_MODULE, way, size) for _ in range(repeats)]
    return {
        key: statistics.median(seen[key] for seen in runs) if is_number(value) else value
        for key, value in runs[0].items()
    }


def is_number(value: object) -> bool:
    return isinstance(value, int | float)


def sheet(size: int):
    """A piece of about this many rings, each through four others, as in a woven sheet.

    Rows lean to either side in turn. At this spacing no two rings touch (found by trying).
    """
    import numpy as np

    from ringwright.piece.piece import Piece

    across = round(math.sqrt(size))
    column, row = np.meshgrid(np.arange(across), np.arange(round(size / across)))
    column, row = column.ravel(), row.ravel()
    count = len(row)
    nothing = np.zeros(count)
    centres = np.stack([2.5 * (column + 0.5 * (row % 2)), 0.6 * row, nothing], axis=1)
    lean = np.where(row % 2, 0.7, -0.7)
    axes = np.stack([nothing, np.sin(lean), np.cos(lean)], axis=1)
    names = tuple(f"R.{number}" for number in range(count))
    return Piece(names, ("open",) * count, centres, axes, np.ones(count), np.full(count, 0.2))


def first(size: int) -> None:
    """This package in a fresh process: all gaps and all links, lazy imports included."""
    report(**checked(sheet(size)))


def warm(size: int) -> None:
    """The same in a process that has been at it for a while."""
    from ringwright.geometry import speed

    piece = sheet(size)
    with speed.using(speed.load()):
        runs = [checked(piece) for _ in range(4 if size > 2_000 else 12)]
    report(**runs[-1] | {"check_s": statistics.median(run["check_s"] for run in runs[1:])})


def checked(piece) -> dict:
    from ringwright.piece.piece import check_piece

    start = time.perf_counter()
    seen = check_piece(piece)
    taken = time.perf_counter() - start
    return {
        "check_s": taken,
        "rings": len(piece),
        "pairs": seen.pairs,
        "links": len(seen.links),
        "gap": seen.smallest_gap_mm,
    }


def torus_and_turns(size: int):
    """One meshed ring and where all rings of the sheet put it, (n, 4, 4)."""
    import numpy as np
    import trimesh

    piece = sheet(size)
    torus = trimesh.creation.torus(1.0, 0.2, *_FACETS)
    turns = np.zeros((len(piece), 4, 4))
    sine, cosine = piece.axes[:, 1], piece.axes[:, 2]
    turns[:, 0, 0] = turns[:, 3, 3] = 1.0
    turns[:, 1, 1] = turns[:, 2, 2] = cosine
    turns[:, 1, 2], turns[:, 2, 1] = sine, -sine
    turns[:, :3, 3] = piece.centres_mm
    return torus, turns


def fcl(size: int) -> None:
    """FCL's collision manager through trimesh, built and asked for any collision."""
    import trimesh

    torus, turns = torus_and_turns(size)
    start = time.perf_counter()
    manager = trimesh.collision.CollisionManager()
    for number, turn in enumerate(turns):
        manager.add_object(str(number), torus, turn)
    hit = manager.in_collision_internal()
    report(check_s=time.perf_counter() - start, verdict="hit" if hit else "no hit")


def coal(size: int) -> None:
    """Coal's dynamic tree over one shared mesh, built and asked for any collision."""
    import coal as library
    import numpy as np

    torus, turns = torus_and_turns(size)
    start = time.perf_counter()
    model = library.BVHModelOBBRSS()
    model.beginModel(len(torus.faces), len(torus.vertices))
    model.addVertices(np.asarray(torus.vertices, dtype=float))
    model.addTriangles(np.asarray(torus.faces))
    model.endModel()
    manager = library.DynamicAABBTreeCollisionManager()
    objects = [
        library.CollisionObject(model, library.Transform3s(turn[:3, :3], turn[:3, 3]))
        for turn in turns
    ]
    for one in objects:
        manager.registerObject(one)
    manager.setup()
    asked = library.CollisionCallBackDefault()
    manager.collide(asked)
    hit = asked.data.result.isCollision()
    report(check_s=time.perf_counter() - start, verdict="hit" if hit else "no hit")


if __name__ == "__main__":
    ways = {"first": first, "warm": warm, "fcl": fcl, "coal": coal}
    if sys.argv[1:] and sys.argv[1] in ways:
        ways[sys.argv[1]](int(sys.argv[2]))
    else:
        main("--quick" in sys.argv)
