"""How the ring of every step comes in: the way found out of the piece, turned round.

From the piece as it rested before the step, the rings give way to where the opened ring can come
to; it comes in along its own wire and closes, and all lie as they rest after the step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.progress import Tally, uncounted
from ringwright.geometry.contact import Rings
from ringwright.geometry.helix import Helix
from ringwright.geometry.lattice import ALONE
from ringwright.movement.way_out import Pose, way_out
from ringwright.outputs.assembly_sheet.views import Scene
from ringwright.piece.piece import Piece
from ringwright.solver.climb import Unit, climb, nearest_to

# So many poses at most until the rings lie as before.
_BACK = 120
# How far they may go in the first of these, in core radii; they lie as before where half the sum
# of squares of what is left, in core radii, is less than this.
_TRUST, _SAME = 0.1, 1e-6


@dataclass(frozen=True, eq=False)
class ComesIn:
    """The motion of one step. Lengths in millimetres.

    Attributes
    ----------
    names : (n,) of the rings other than the new one
    giving_way : what rings there were before, as they make room, from where they rested
    poses : from where the opened ring goes through none to where it lies closed at rest
    gap_mm : the clear room between its ends
    given_way_mm : the farthest that another ring's middle is from where it rests at last
    effort : as :attr:`ringwright.movement.way_out.Way.effort` has it
    """

    names: tuple[str, ...]
    giving_way: tuple[Rings, ...]
    poses: tuple[Pose, ...]
    gap_mm: float
    given_way_mm: float
    effort: str


def coming_in(made: Sequence[Scene], on_progress: Tally = uncounted) -> list[ComesIn | None]:
    """How the ring of every scene comes in; None where no way was found, and for the start."""
    found: list[ComesIn | None] = []
    before: Piece | None = None
    for done, scene in enumerate(made):
        on_progress(done, len(made))
        found.append(None if scene.new is None else _comes_in(scene.piece, scene.new, before))
        before = scene.piece
    on_progress(len(made), len(made))
    return found


def _comes_in(piece: Piece, new: int, before: Piece | None) -> ComesIn | None:
    core = float(piece.core_radii_mm[new])
    rings = _rings(piece, range(len(piece)), 1.0 / core)
    # All rings: one farther off that stood still would be in the way of those that move.
    taken = way_out(rings, new)
    if taken is None:
        return None
    way = taken[0]
    names = tuple(name for at, name in enumerate(piece.names) if at != new)
    back = _back(way.poses[-1].others, names, before, 1.0 / core)
    if back is None:
        return None
    return ComesIn(
        names,
        tuple(each.scaled(core) for each in reversed(back)),
        tuple(
            Pose(_scaled_helix(pose.helix, core), pose.others.scaled(core))
            for pose in reversed(way.poses)
        ),
        way.gap * core,
        way.pushed * core,
        way.effort,
    )


def _back(
    rings: Rings, names: tuple[str, ...], before: Piece | None, scale: float
) -> list[Rings] | None:
    """From where the rings gave way to where they lay before; None where they come not there.

    The ring that is put in is not there yet. They go as the solver lets rings go, step by step,
    so that none passes through another.
    """
    if before is None:
        return []
    there = np.array([at for at, name in enumerate(names) if name in before.names], dtype=int)
    goal = _rings(before, [before.names.index(names[at]) for at in there], scale)
    now = Unit(rings.of(there), ALONE)
    wanted = nearest_to(goal)
    found, trust = [now.rings], _TRUST
    for _ in range(_BACK):
        if wanted.value(now) > -_SAME:
            return [*found, goal]
        after = climb(now, wanted, rounds=1, trust=trust).unit
        if after is now:
            trust *= 0.4
            continue
        # That no metal cuts metal comes first, so it may take them farther off for once.
        now = after
        found.append(now.rings)
    return None


def _rings(piece: Piece, at: Sequence[int] | range, scale: float) -> Rings:
    order = list(at)
    return Rings(
        piece.centres_mm[order] * scale,
        piece.axes[order],
        piece.core_radii_mm[order] * scale,
        piece.wire_radii_mm[order] * scale,
    )


def _scaled_helix(helix: Helix, scale: float) -> Helix:
    return replace(
        helix,
        centre=helix.centre * scale,
        core_radius=helix.core_radius * scale,
        wire_radius=helix.wire_radius * scale,
        shift=helix.shift * scale,
    )
