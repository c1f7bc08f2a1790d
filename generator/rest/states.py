"""A whole piece at rest in the ways that makers see it: on a table, spread, hung."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.progress import Tally, uncounted
from ringwright.geometry.contact import Rings
from ringwright.geometry.linearise import moved
from ringwright.piece.piece import Piece
from ringwright.rest.fall import Rest, fallen
from ringwright.rest.goal import Goal, outermost, weights
from ringwright.rest.table import table
from ringwright.solver.measure import extent

_X, _Y, _UP = np.eye(3)
# What a ring weighs for a pull of 1 at the ends: little enough for the pull to come first.
_WEIGHT = 1e-2
# A length lost to the weight by more than this share is pulled again, with less weight.
_LENGTH_LOST = 2e-3
_LIGHTER, _TRIES = 0.1, 2
# Rings balance on their edges: so much, in core radii, each is moved at the start.
_NUDGE = 1e-3
# An end ring's centre is no farther than this from the outermost one's, in core radii.
_AT_THE_END = 0.3
# A sheet's edge rings lean in and out.
_AT_THE_EDGE = 0.8
# The hook's own circle and wire, in those of the ring that hangs from it.
_HOOK, _HOOK_WIRE = 2.0, 0.6
# Rings side by side have axes that agree so far, as a cosine.
_SIDE_BY_SIDE = 0.95


@dataclass(frozen=True, eq=False)
class Lying:
    """A piece at rest.

    Attributes
    ----------
    piece : its rings; on a table, the table is z = 0, and hung, down is along x
    residual : how far contact forces are from balancing, per unit of the pull
    rounds : how many programmes it took
    settled : whether the residual is at most 1e-6
    """

    piece: Piece
    residual: float
    rounds: int
    settled: bool

    def size_mm(self) -> tuple[float, float, float]:
        """Length, width and thickness: along x, along y and from the table up."""
        rings = self.piece.rings()
        spans = [extent(rings, along) for along in (_X, _Y, _UP)]
        long, wide, thick = (high - low for low, high in spans)
        return long, wide, thick


def on_table(piece: Piece, told: Tally = uncounted) -> Lying:
    """A chain laid on a table and drawn straight by its ends, then as low as it lies.

    Its ends are pulled a hundred times as hard as a ring weighs. Where that costs more than two
    thousandths of the length, it is done again with a tenth of the weight.

    Parameters
    ----------
    piece : pulled straight along x
    told : called with (done, of) in every round
    """
    start, scale = _in_core_radii(piece)
    start = _set_down(_nudged(start))
    low, high = outermost(start.centres[:, 0], _AT_THE_END)
    ends = np.outer(high / high.sum() - low / low.sum(), _X)
    straight_mm, weight = piece.length_mm(), _WEIGHT
    for _ in range(_TRIES):
        goal = Goal(ends - np.outer(weight * weights(start), _UP))
        rest = fallen(start, goal, (table,), told=told)
        lying = _lying(piece, rest, scale)
        if lying.size_mm()[0] >= straight_mm * (1.0 - _LENGTH_LOST):
            break
        weight *= _LIGHTER
    return lying


def spread(piece: Piece, told: Tally = uncounted) -> Lying:
    """A sheet on a table, drawn out evenly all round to its largest area, then as low as it lies.

    Parameters
    ----------
    piece : a sheet in the x, y plane
    told : called with (done, of) in every round
    """
    start, scale = _in_core_radii(piece)
    start = _set_down(_nudged(start))
    x, y = start.centres[:, 0], start.centres[:, 1]
    edges = (*outermost(x, _AT_THE_EDGE), *outermost(y, _AT_THE_EDGE))
    # A pull of about 1 on every ring of an edge.
    area = float(np.ptp(x) * np.ptp(y))
    fewest = min(int(edge.sum()) for edge in edges)
    tension = fewest / np.sqrt(area)
    weight = np.outer(_WEIGHT * weights(start), -_UP)
    rest = fallen(start, Goal(weight, edges, tension), (table,), told=told)
    return _lying(piece, rest, scale)


def hung(piece: Piece, told: Tally = uncounted) -> Lying:
    """A chain hung by its first ring, or first two, from a round hook; down is along x.

    The hook is a ring that is held, so the first ring finds its own place on it. Of first rings
    that lean apart, as in a byzantine chain, one is hooked, and the other dangles from the next.

    Parameters
    ----------
    piece : along x, its first ring that with the lowest x
    told : called with (done, of) in every round
    """
    start, scale = _in_core_radii(piece)
    both = _with_hook(_nudged(start))
    held = np.arange(len(both.centres)) == len(piece)
    weight = np.where(held, 0.0, weights(both))
    rest = fallen(both, Goal(np.outer(weight / weight.sum(), _X)), held=held, told=told)
    return _lying(piece, replace(rest, rings=rest.rings.of(~held)), scale)


def _with_hook(rings: Rings) -> Rings:
    """The rings and, last, a hook through the first, or the first two side by side.

    The hook is a circle in a plane through x and the rings' axis.
    """
    first = int(rings.centres[:, 0].argmin())
    ends, _ = outermost(rings.centres[:, 0], _AT_THE_END)
    same = ends & (np.abs(rings.axes @ rings.axes[first]) > _SIDE_BY_SIDE)
    axis = rings.axes[first]
    radius, wire = float(rings.core_radii[same].min()), float(rings.wire_radii[same].max())
    up = -_X + (axis @ _X) * axis
    up /= np.linalg.norm(up)
    hook, hook_wire = _HOOK * radius, _HOOK_WIRE * wire
    inside = rings.centres[same].mean(axis=0) + (radius - wire - hook_wire) * up
    return Rings(
        np.vstack([rings.centres, inside + hook * up]),
        np.vstack([rings.axes, np.cross(axis, up)]),
        np.append(rings.core_radii, hook),
        np.append(rings.wire_radii, hook_wire),
    )


def _in_core_radii(piece: Piece) -> tuple[Rings, float]:
    """The rings in units of their mean core radius, and that in millimetres."""
    scale = float(piece.core_radii_mm.mean())
    return piece.rings().scaled(1.0 / scale), scale


def _lying(piece: Piece, rest: Rest, scale: float) -> Lying:
    laid = replace(piece, centres_mm=rest.rings.centres * scale, axes=rest.rings.axes)
    return Lying(laid, rest.residual, rest.rounds, rest.settled)


def _nudged(rings: Rings) -> Rings:
    """Every ring moved a hair, each another way, so that none stays balanced on its edge."""
    random = np.random.default_rng(1)
    return moved(rings, _NUDGE * random.normal(size=5 * len(rings.centres)))


def _set_down(rings: Rings) -> Rings:
    """The rings with the lowest point of all on the table."""
    low, _ = extent(rings, _UP)
    return replace(rings, centres=rings.centres - low * _UP)
