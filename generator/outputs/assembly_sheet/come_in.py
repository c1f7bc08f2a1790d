"""How the ring of every step comes in: the way found out of the piece, turned round.

From the piece as it rested before the step, the rings give way to where the opened ring can come
to; it comes in along its own wire and closes, and all lie as they rest after the step. Of the way
out that was found, the others keep no more than they need: they stay as near to where they rest
as the opened ring lets them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ringwright.geometry.contact import Rings
from ringwright.geometry.helix import Helix
from ringwright.movement.way_out import Pose, Way, followed, is_out, way_out
from ringwright.outputs.assembly_sheet.views import Scene
from ringwright.piece.piece import Piece

Floats = NDArray[np.float64]

# The rings about the one put in that give way; so many poses at most until they lie as before.
_ABOUT, _BACK = 18, 60
# They lie as before within this part of a wire's radius, which the last step makes up for.
_SAME = 0.15


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
    """

    names: tuple[str, ...]
    giving_way: tuple[Rings, ...]
    poses: tuple[Pose, ...]
    gap_mm: float
    given_way_mm: float


def coming_in(
    made: Sequence[Scene], on_progress: Callable[[int, int], None] = lambda done, of: None
) -> list[ComesIn | None]:
    """How the ring of every scene comes in; None where no way was found, and for the start."""
    found: list[ComesIn | None] = []
    before: Piece | None = None
    for done, scene in enumerate(made):
        on_progress(done, len(made))
        found.append(None if scene.new is None else _comes_in(scene.piece, scene.new, before))
        before = scene.piece
    return found


def _comes_in(piece: Piece, new: int, before: Piece | None) -> ComesIn | None:
    core = float(piece.core_radii_mm[new])
    rings = _rings(piece, range(len(piece)), 1.0 / core)
    away = np.linalg.norm(rings.centres - rings.centres[new], axis=1) - rings.core_radii
    away[new] = -np.inf
    about = np.sort(np.argsort(away, kind="stable")[:_ABOUT])
    taken = way_out(_of(rings, about), int(np.flatnonzero(about == new)[0]))
    if taken is None:
        return None
    others = np.array([at for at in range(len(piece)) if at != new])
    poses = _least_giving_way(taken[0], _of(rings, others))
    if poses is None:
        return None
    names = tuple(piece.names[at] for at in others)
    back = _back(poses[-1], names, before, core)
    if back is None:
        return None
    start = poses[0].others.centres
    given = max(float(np.linalg.norm(pose.others.centres - start, axis=1).max()) for pose in poses)
    return ComesIn(
        names,
        tuple(_scaled(each, core) for each in reversed(back)),
        tuple(
            Pose(_scaled_helix(pose.helix, core), _scaled(pose.others, core))
            for pose in reversed(poses)
        ),
        taken[0].gap * core,
        given * core,
    )


def _least_giving_way(way: Way, rest: Rings) -> list[Pose] | None:
    """The opened ring's way, the others as near to their rest as it lets them."""
    pose = Pose(way.poses[0].helix, rest)
    found = [pose]
    for after in way.poses[1:]:
        following = followed(pose, after.helix, rest)
        if following is None:
            return None
        pose = following
        found.append(pose)
    if not is_out(pose):
        return None
    return found


def _back(
    pose: Pose, names: tuple[str, ...], before: Piece | None, core: float
) -> list[Rings] | None:
    """From where the rings gave way to where they lay before; None where they come not there."""
    if before is None:
        return []
    there = np.array([at for at, name in enumerate(names) if name in before.names], dtype=int)
    order = [before.names.index(names[at]) for at in there]
    goal = _rings(before, order, 1.0 / core)
    # The ring that is put in is not there yet.
    away = replace(pose.helix, centre=pose.helix.centre + 1e3)
    now = Pose(away, _of(pose.others, there))
    found = [now.others]
    for _ in range(_BACK):
        following = followed(now, away, goal)
        if following is None:
            return None
        now = following
        found.append(now.others)
        left = np.linalg.norm(now.others.centres - goal.centres, axis=1).max(initial=0.0)
        turn = np.linalg.norm(np.cross(now.others.axes, goal.axes), axis=1).max(initial=0.0)
        if max(left, turn) < _SAME * float(goal.wire_radii.min()):
            return [*found, goal]
    return None


def _rings(piece: Piece, at: Sequence[int] | range, scale: float) -> Rings:
    order = list(at)
    return Rings(
        piece.centres_mm[order] * scale,
        piece.axes[order],
        piece.core_radii_mm[order] * scale,
        piece.wire_radii_mm[order] * scale,
    )


def _of(rings: Rings, at: NDArray[np.intp]) -> Rings:
    return Rings(rings.centres[at], rings.axes[at], rings.core_radii[at], rings.wire_radii[at])


def _scaled(rings: Rings, scale: float) -> Rings:
    return Rings(
        rings.centres * scale, rings.axes, rings.core_radii * scale, rings.wire_radii * scale
    )


def _scaled_helix(helix: Helix, scale: float) -> Helix:
    return replace(
        helix,
        centre=helix.centre * scale,
        core_radius=helix.core_radius * scale,
        wire_radius=helix.wire_radius * scale,
        shift=helix.shift * scale,
    )
