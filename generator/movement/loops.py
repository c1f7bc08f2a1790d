"""A chain closed into a ring of whole repeats, and how wide it is inside at most.

What is made as large as it gets is the inside itself: the thickest round rod that the ring can
be slipped over is one more thing that no ring of the chain may enter. Lengths are in core radii.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import rotations
from ringwright.movement.bend import AXES, Bend, bent_unit, inner_radius
from ringwright.movement.motion import is_clear
from ringwright.movement.rod import rod_gaps
from ringwright.solver.climb import Goal, Unit, climbs, farthest, shaken, thickest
from ringwright.solver.placement import linked_pairs

# The straight chain itself, and one shaken: weaves that are their own mirror image can
# balance on a ridge, from which nothing symmetric comes down.
_SEEDS = (0, 1)
_SAME = 1e-4
# A ring of one repeat, whose rings have themselves for neighbours, is not looked at.
FEWEST = 2
_THREAD = 1e-3
# Lengths, as shares of a repeat's, that its rings are laid on; on the longest they may not reach.
_SHARES = (1.0, 0.85, 0.7, 0.55, 0.4)
# And so many ways in half a turn to turn the chain about its length.
_ROLLS = 8
# From the fewest repeats that the bend of one joint lets through, so many more are tried.
_MORE = 6


@dataclass(frozen=True)
class Loop:
    """A chain of so many repeats closed into a ring and pulled to its widest.

    Attributes
    ----------
    repeats : how many
    inner_circumference : in core radii, at least
    lost : how much shorter that is than the same repeats lying straight
    starts, agreed : how many starts were tried and how many came to this inside, to 1e-4
    """

    repeats: int
    inner_circumference: float
    lost: float
    starts: int
    agreed: int


def closed_loop(unit: Unit, direction: str, repeats: int) -> Loop | None:
    """A closed bracelet of whole repeats, as wide inside as it gets; None if it does not close.

    The straight chain is bent until it comes round in that many repeats (a ring of two is laid
    at once), then widened. Both senses of the bend are tried, each from several starts, and the
    widest is reported.

    Parameters
    ----------
    unit : a settled unit of a chain
    direction : a key of :data:`ringwright.movement.bend.AXES`
    repeats : two or more
    """
    starts = [(sense, seed) for seed in _SEEDS for sense in (1, -1)]
    ends = widest(unit, [(sense * AXES[direction], seed) for sense, seed in starts], repeats)
    inside = [inner_radius(end) for end in ends]
    best = max(inside, default=0.0)
    if best <= 0.0:
        return None
    around = 2 * math.pi * best
    agreed = sum(best - one < _SAME for one in inside)
    return Loop(repeats, around, repeats * unit.repeat - around, len(starts), agreed)


def smallest_loop(unit: Unit, joint: Bend) -> Loop | None:
    """The closed ring of fewest repeats that the solver can lay; None where it finds none.

    Parameters
    ----------
    unit : as above
    joint : the tightest bend of one joint, which no ring of three repeats or more exceeds
    """
    # In a ring of two, a repeat's two neighbours are one, so the bend of a joint says nothing.
    first = joint.fewest_repeats if joint.fewest_repeats > 3 else FEWEST
    for repeats in range(first, first + _MORE):
        loop = closed_loop(unit, joint.direction, repeats)
        if loop is not None:
            return loop
    return None


def widest(unit: Unit, starts: Sequence[tuple[Floats, int]], repeats: int) -> list[Unit]:
    """Starts closed and pulled to their widest inside, less those that do not close.

    Parameters
    ----------
    unit, repeats : as above
    starts : of each, what the chain is bent about, and 0 to start from the unit itself, others
        from the unit as shaken by this seed
    """
    shaken_by = {seed: shaken(unit, seed, steps=2) if seed else unit for _, seed in starts}
    close = _laid_round if repeats == FEWEST else _bent_round
    closed = close([(shaken_by[seed], axis) for axis, seed in starts], repeats)
    wide = climbs([(one, _rod_inside(one)) for one in closed], rounds=200, tolerance=1e-9)
    return [end.unit for end in wide if is_clear(end.unit)]


def _bent_round(starts: Sequence[tuple[Unit, Floats]], repeats: int) -> list[Unit]:
    """Straight chains bent, each about its axis, until they come round; less those that do not."""
    turn = 2 * math.pi / repeats
    straight = [bent_unit(unit, axis, 0.0, repeats) for unit, axis in starts]
    bends = [(one, farthest(one, 1)) for one in straight]
    return [
        Unit(
            end.unit.rings,
            end.unit.lattice.with_values(np.array([end.unit.repeat, turn])),
        )
        for end in climbs(bends, rounds=200, tolerance=1e-9, enough=turn)
        if end.unit.lattice.values[1] >= turn
    ]


def _laid_round(starts: Sequence[tuple[Unit, Floats]], repeats: int) -> list[Unit]:
    """Every ring laid on the circle in hair-thin wire, which then grows; less what does not.

    For two repeats: on the way round, the one beside a repeat would have to pass through the
    one on its other side, which in the closed ring is the same.
    """
    laid = [(unit, _laid(unit, axis, repeats)) for unit, axis in starts]
    thin = [(unit.rings.wire_radii, one) for unit, one in laid if one is not None]
    if not thin:
        return []
    wanted = float(thin[0][0].mean())
    grown = climbs(
        [(one, thickest(one)) for _, one in thin], rounds=200, tolerance=1e-9, enough=wanted
    )
    turn = 2 * math.pi / repeats
    return [
        Unit(
            end.unit.rings.with_wire_radii(wires),
            end.unit.lattice.with_values(np.array([end.unit.repeat, turn])),
        )
        for (wires, _), end in zip(thin, grown, strict=True)
        if end.unit.rings.wire_radii.mean() >= wanted * (1.0 - 1e-7)
    ]


def _laid(unit: Unit, axis: Floats, repeats: int) -> Unit | None:
    """The rings laid round with the links of the weave; None where no way to lay them has these."""
    rings, links = unit.rings, _links(unit, repeats)
    if len(links) < len(linked_pairs(unit)):
        # A ring would have to run through another one twice.
        return None
    rolled = (_rolled(rings, roll * math.pi / _ROLLS) for roll in range(_ROLLS))
    laid = (
        _on_circle(Unit(one, unit.lattice), axis, repeats, share)
        for one in rolled
        for share in _SHARES
    )
    return next((one for one in laid if _links(one, repeats) == links), None)


def _rolled(rings: Rings, angle: float) -> Rings:
    """A chain's rings turned about its length."""
    turn = rotations(np.array([1.0, 0.0, 0.0]), np.array([angle]))[0]
    return replace(rings, centres=rings.centres @ turn.T, axes=rings.axes @ turn.T)


def _on_circle(unit: Unit, axis: Floats, repeats: int, share: float) -> Unit:
    """The rings of a straight chain laid on a circle of a share of its length, in hair wire."""
    rings, turn = unit.rings, 2 * math.pi / repeats
    lattice = bent_unit(unit, axis, turn, repeats).lattice
    lattice = lattice.with_values(np.array([share * unit.repeat, turn]))
    along = rings.centres[:, 0] / unit.repeat
    turns, shifts = lattice.motion(np.column_stack([along, np.zeros(len(along))]))
    centres = np.einsum("nij,nj->ni", turns, rings.centres * [0.0, 1.0, 1.0]) + shifts
    axes = np.einsum("nij,nj->ni", turns, rings.axes)
    thin = rings.wire_radii * (_THREAD / rings.wire_radii.max())
    return Unit(Rings(centres, axes, rings.core_radii, thin), lattice)


def _links(unit: Unit, repeats: int) -> set[tuple[int, int, int]]:
    """Which rings are linked in a ring of so many repeats, each pair by the first of its names."""
    return {
        min((i, j, k1 % repeats), (j, i, -k1 % repeats)) for i, j, (k1, _) in linked_pairs(unit)
    }


def _rod_inside(unit: Unit) -> Goal:
    """The rod inside a closed ring as thick as it gets; the turn from repeat to repeat stays.

    The rod lies at a fixed distance within the arc of the repeats, so it is thickest where the
    repeat, measured along that arc, is longest.
    """
    inset = unit.repeat / unit.lattice.values[1] - inner_radius(unit)
    return replace(
        farthest(unit), values_free=(True, False), walls=lambda one: rod_gaps(one, inset)
    )
