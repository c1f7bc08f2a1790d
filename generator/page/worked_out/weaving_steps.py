"""The weaving order, step by step: what there is to see by each, and what it says.

A plain function that a process runs. All of it is of the assembly sheet; the page only turns it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ringwright.base.arrays import Floats
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.outputs.assembly_sheet.come_in import ComesIn, coming_in
from ringwright.outputs.assembly_sheet.lay import lay_notes
from ringwright.outputs.assembly_sheet.views import View, scenes, views
from ringwright.outputs.assembly_sheet.words import alt_text, lines, numbered, part_title
from ringwright.piece.half_made import half_made
from ringwright.piece.piece import Piece
from ringwright.solver.climb import Unit
from ringwright.weaves.rule import WeaveRule

NEW, CARRIED, THROUGH, NEAR, OTHER = "new", "carried", "through", "near", "other"
# Points along an open ring's wire; as many states of its way at most.
_POINTS, _STATES = 49, 64


@dataclass(frozen=True, eq=False)
class WayIn:
    """How a ring comes in, along the way that was found.

    Attributes
    ----------
    gap_mm, given_way_mm, effort : as of :class:`ringwright.outputs.assembly_sheet.come_in.ComesIn`
    poses : (states, n, 6) centre in millimetres and axis of the step's rings; one that is not there
        yet has no axis
    wires : (states, k, 3) the middle of the new ring's wire; all in one point while it is not there
    given : so many states until the others have made room
    closes : the first of those in which it is being closed
    """

    gap_mm: float
    given_way_mm: float
    effort: str
    poses: NDArray[np.float32]
    wires: NDArray[np.float32]
    given: int
    closes: int


@dataclass(frozen=True, eq=False)
class Step:
    """One step, or the start before all steps. Lengths in millimetres, z up.

    Attributes
    ----------
    part : the heading that it stands under
    text : what to do, in sentences
    seen : the picture in words
    piece : the rings that are there, less the one that is put in; their names are their numbers
    kinds : what each of them is in this step, one of the names above
    new : number of the ring that is put in; None for the start
    open_line : (n, 3) its wire's middle as it stands open
    open_wire_mm : its wire's radius
    middle_mm, across_mm : what to look at, and how much of it
    toward : (3,) from where, the same for all steps
    way : how the ring comes in; None where no way was found, and for the start
    """

    part: str
    text: str
    seen: str
    piece: Piece
    kinds: tuple[str, ...]
    new: str | None
    open_line: Floats | None
    open_wire_mm: float
    middle_mm: Floats
    across_mm: float
    toward: Floats
    way: WayIn | None


def steps(on_progress: Progress, rule: WeaveRule, size: RingSize, unit: Unit) -> tuple[Step, ...]:
    """Weave the first repeats, every half-made state settled anew.

    Parameters
    ----------
    unit : the finished weave at rest, at this size
    """
    states = half_made(rule, unit, lambda done, of: on_progress("half-made pieces", done, of))
    numbers = numbered(rule)
    lay = lay_notes(rule, states, numbers)
    made = scenes(rule, states, numbers, size.core_radius_mm, lay)
    ways = coming_in(made, lambda done, of: on_progress("ways in", done, of))
    there = [set[str](), *(set(scene.piece.names) for scene in made)]
    told = zip(views(rule, made), lines(rule, lay), ways, there, strict=False)
    return tuple(
        _step(
            view,
            None if way is None else _way_in(way, before),
            *(part_title(rule, line.part), line.text, alt_text(rule, line)),
        )
        for view, line, way, before in told
    )


def _way_in(way: ComesIn, before: set[str]) -> WayIn:
    """The way as it is shown; ``before`` are the rings that were there before the step."""
    old = [at for at, name in enumerate(way.names) if name in before]
    kept = np.unique(np.linspace(0, len(way.poses) - 1, _STATES).round().astype(int))
    shown = [way.poses[at] for at in kept]
    given = len(way.giving_way)
    poses = np.zeros((given + len(shown), len(way.names), 6), np.float32)
    wires = np.zeros((given + len(shown), _POINTS, 3), np.float32)
    for at, rings in enumerate(way.giving_way):
        poses[at, old] = np.hstack([rings.centres, rings.axes])
    for at, pose in enumerate(shown, start=given):
        poses[at] = np.hstack([pose.others.centres, pose.others.axes])
        wires[at] = pose.helix.line(pose.helix.turns(_POINTS))
    widest = max(pose.helix.shift for pose in shown)
    closes = given + sum(pose.helix.shift > 0.999 * widest for pose in shown)
    return WayIn(way.gap_mm, way.given_way_mm, way.effort, poses, wires, given, closes)


def _step(view: View, way: WayIn | None, part: str, text: str, seen: str) -> Step:
    scene, opened = view.scene, view.opened
    kinds = [OTHER] * len(scene.piece)
    for kind, places in (
        (NEAR, scene.near),
        (THROUGH, scene.through),
        (CARRIED, scene.picked_up),
    ):
        for place in places:
            kinds[place] = kind
    kept = [at for at in range(len(scene.piece)) if opened is None or at != scene.new]
    return Step(
        *(part, text, seen),
        _part(view.piece, kept),
        tuple(kinds[at] for at in kept),
        None if scene.new is None else scene.piece.names[scene.new],
        None if opened is None else opened.core_line(_POINTS),
        0.0 if opened is None else opened.wire_radius_mm,
        *(view.middle_mm, view.across_mm, view.toward),
        way,
    )


def _part(piece: Piece, at: list[int]) -> Piece:
    return Piece(
        tuple(piece.names[one] for one in at),
        tuple(piece.roles[one] for one in at),
        *(piece.centres_mm[at], piece.axes[at], piece.core_radii_mm[at], piece.wire_radii_mm[at]),
    )
