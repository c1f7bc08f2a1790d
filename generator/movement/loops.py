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
    return closed_loops(unit, [(direction, repeats)])[0]


def closed_loops(
    unit: Unit, wanted: Sequence[tuple[str, int]], even: bool = False
) -> list[Loop | None]:
    """Several of them; each as :func:`closed_loop` by itself, together in less time.

    Parameters
    ----------
    unit : as above
    wanted : direction and repeats of each
    even : as for :func:`ringwright.movement.bend.tightest_bends`
    """
    ways = [(sense, seed) for seed in _SEEDS for sense in (1, -1)]
    if even:
        ways.remove((-1, 0))
    starts = [
        Start(sense * AXES[direction], seed, repeats)
        for direction, repeats in wanted
        for sense, seed in ways
    ]
    ends = widest(unit, starts)
    found: list[Loop | None] = []
    for number, (_, repeats) in enumerate(wanted):
        own = ends[number * len(ways) : (number + 1) * len(ways)]
        inside = [inner_radius(end) for end in own if end is not None]
        best = max(inside, default=0.0)
        if best <= 0.0:
            found.append(None)
            continue
        around = 2 * math.pi * best
        agreed = sum(best - one < _SAME for one in inside)
        found.append(Loop(repeats, around, repeats * unit.repeat - around, len(ways), agreed))
    return found


def smallest_loop(unit: Unit, joint: Bend) -> Loop | None:
    """The smallest one in the direction of this joint; see :func:`smallest_loops`."""
    return smallest_loops(unit, [joint])[0]


def smallest_loops(unit: Unit, joints: Sequence[Bend], even: bool = False) -> list[Loop | None]:
    """The closed rings of fewest repeats that the solver can lay; None where it finds none.

    Parameters
    ----------
    unit : as above
    joints : the tightest bend of one joint in each direction that is asked for, which no ring of
        three repeats or more exceeds
    even : as for :func:`ringwright.movement.bend.tightest_bends`
    """
    found: list[Loop | None] = [None] * len(joints)
    for more in range(_MORE):
        waiting = [at for at, loop in enumerate(found) if loop is None]
        wanted = [(joints[at].direction, _fewest(joints[at]) + more) for at in waiting]
        for at, loop in zip(waiting, closed_loops(unit, wanted, even), strict=True):
            found[at] = loop
    return found


def _fewest(joint: Bend) -> int:
    """The fewest repeats to try."""
    # In a ring of two, a repeat's two neighbours are one, so the bend of a joint says nothing.
    return joint.fewest_repeats if joint.fewest_repeats > 3 else FEWEST


@dataclass(frozen=True, eq=False)
class Start:
    """One way of closing a chain.

    Attributes
    ----------
    axis : what the chain is bent about
    seed : 0 to start from the unit itself, others from the unit as shaken by this seed
    repeats : how many close it
    """

    axis: Floats
    seed: int
    repeats: int

    @property
    def turn(self) -> float:
        """From one repeat to the next."""
        return 2 * math.pi / self.repeats


def widest(unit: Unit, starts: Sequence[Start]) -> list[Unit | None]:
    """Chains closed and pulled to their widest inside; None where one does not close."""
    by_seed = {one.seed: unit for one in starts}
    for seed in by_seed:
        by_seed[seed] = shaken(unit, seed, steps=2) if seed else unit
    closed = _bent_round([(by_seed[one.seed], one) for one in starts])
    there = [(at, one) for at, one in enumerate(closed) if one is not None]
    ends = climbs([(one, _rod_inside(one)) for _, one in there], rounds=200, tolerance=1e-7)
    found: list[Unit | None] = [None] * len(starts)
    for (at, _), end in zip(there, ends, strict=True):
        found[at] = end.unit if is_clear(end.unit) else None
    return found


def _closed(unit: Unit, turn: float) -> Unit:
    """A bent chain with the turn from repeat to repeat that closes it, to the last bit."""
    return Unit(unit.rings, unit.lattice.with_values(np.array([unit.repeat, turn])))


def _bent_round(starts: Sequence[tuple[Unit, Start]]) -> list[Unit | None]:
    """Straight chains bent until they come round, those of two repeats laid round; None if not."""
    found: list[Unit | None] = [None] * len(starts)
    for at, laid in _laid_round([one for one in enumerate(starts) if one[1][1].repeats == FEWEST]):
        found[at] = laid
    bending = [(at, *one) for at, one in enumerate(starts) if one[1].repeats != FEWEST]
    straight = [bent_unit(unit, one.axis, 0.0, one.repeats) for _, unit, one in bending]
    turns = [one.turn for *_, one in bending]
    bends = [(one, farthest(one, 1)) for one in straight]
    ends = climbs(bends, rounds=200, tolerance=1e-7, enough=turns)
    for (at, *_), turn, end in zip(bending, turns, ends, strict=True):
        found[at] = _closed(end.unit, turn) if end.unit.lattice.values[1] >= turn else None
    return found


def _laid_round(starts: Sequence[tuple[int, tuple[Unit, Start]]]) -> list[tuple[int, Unit]]:
    """Every ring laid on the circle in hair-thin wire, which then grows; less what does not.

    For two repeats: on the way round, the one beside a repeat would have to pass through the
    one on its other side, which in the closed ring is the same. Starts are numbered.
    """
    tried = [(at, unit, one.turn, _laid(unit, one)) for at, (unit, one) in starts]
    thin = [(at, unit, turn, laid) for at, unit, turn, laid in tried if laid is not None]
    wanted = [float(unit.rings.wire_radii.mean()) for _, unit, *_ in thin]
    growing = [(laid, thickest(laid)) for *_, laid in thin]
    grown = climbs(growing, rounds=200, tolerance=1e-7, enough=wanted)
    return [
        (at, _closed(end.unit.with_wire_radii(unit.rings.wire_radii), turn))
        for (at, unit, turn, _), much, end in zip(thin, wanted, grown, strict=True)
        if end.unit.rings.wire_radii.mean() >= much * (1.0 - 1e-7)
    ]


def _laid(unit: Unit, start: Start) -> Unit | None:
    """The rings laid round with the links of the weave; None where no way to lay them has these."""
    axis, repeats = start.axis, start.repeats
    rings, links = unit.rings, _links(unit, repeats)
    if len(links) < len(linked_pairs(unit)):
        # A ring would have to run through another one twice.
        return None
    rolled = (rings.rolled(roll * math.pi / _ROLLS) for roll in range(_ROLLS))
    laid = (
        _on_circle(Unit(one, unit.lattice), axis, repeats, share)
        for one in rolled
        for share in _SHARES
    )
    return next((one for one in laid if _links(one, repeats) == links), None)


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
