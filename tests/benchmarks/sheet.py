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

from tests.benchmarks.timing import in_a_child, report, told

_MODULE = "tests.benchmarks.sheet"
# Facets of a meshed ring, around it and around its wire: coarse, which favours the peers.
_FACETS = (32, 12)


def run(quick: bool) -> None:
    """Print time, memory and growth for sheets of several sizes, and the peers' ratios."""
    sizes = (200, 2_000, 20_000) if quick else (200, 2_000, 20_000, 200_000)
    repeats = 3 if quick else 5
    in_a_child(_MODULE, "own", sizes[-1])  # Compiles the loops where they are not yet.
    own, last = {}, None
    for size in sizes:
        seen = measured("own", size, repeats if size < 100_000 else 3)
        own[size] = seen
        line = (
            f"{size:7} rings  first check {told(seen['check_s'])}  again {told(seen['again_s'])}  "
            f"process {told(seen['process_s'])}  peak {seen['peak_mib']:6.0f} MiB  "
            f"{seen['pairs']} pairs, {seen['links']} links, gap {seen['gap']:.4f}"
        )
        if last:
            growth = math.log(seen["again_s"] / last["again_s"]) / math.log(size / last["size"])
            line += f"  growth {growth:.2f}"
        print(line, flush=True)
        last = seen | {"size": size}
    for peer, module in (("fcl", "trimesh and FCL"), ("coal", "Coal")):
        if importlib.util.find_spec(peer) is None:
            print(f"{module}: not installed")
            continue
        for size in sizes[: 2 if quick else 3]:
            seen = measured(peer, size, repeats if size <= 2_000 else 1)
            print(
                f"{size:7} rings  {module}: check {told(seen['check_s'])}  "
                f"process {told(seen['process_s'])}  peak {seen['peak_mib']:6.0f} MiB  "
                f"{seen['verdict']}: {seen['check_s'] / own[size]['again_s']:,.0f} times as long, "
                f"{seen['check_s'] / own[size]['check_s']:,.0f} with our compiler's start-up",
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

    from generator.piece import Piece

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


def own(size: int) -> None:
    """This package: all gaps and all links."""
    piece = sheet(size)
    from generator.piece import check_piece

    taken = []
    # The compiled loops come in when they are worth it, so the first check differs. A small
    # sheet is looked at often enough for them to come in.
    for _ in range(2 if size >= 20_000 else 100_000 // size):
        start = time.perf_counter()
        seen = check_piece(piece)
        taken.append(time.perf_counter() - start)
    report(
        check_s=taken[0],
        again_s=taken[-1],
        pairs=seen.pairs,
        links=len(seen.links),
        gap=seen.smallest_gap_mm,
    )


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
    {"own": own, "fcl": fcl, "coal": coal}[sys.argv[1]](int(sys.argv[2]))
