"""Moving the rings of a unit towards a goal without letting them overlap or cross.

Sequential quadratic programming with a trust region: in each round every
place where two rings come near becomes a linear constraint on the motion, the
curvature of the constraints that carried force goes into the objective, and
the quadratic programme is solved (:mod:`ringwright.geometry.quadratic`). Rows for
near-contacts along whole arcs (see :mod:`ringwright.geometry.linearise`) keep this from
zigzagging when rings lie flat on each other. Lengths are in units of the mean
core radius.
"""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeAlias

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.falling.goal import away
from ringwright.geometry.circles import plane_basis
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import Lattice
from ringwright.geometry.linearise import (
    Rows,
    gap_bends,
    moved,
    reach_of_step,
    spread_bends,
    spread_slopes,
    unknowns,
)
from ringwright.geometry.quadratic import convex_model, quadratic_programme
from ringwright.geometry.together import SeenGaps, bends_seen, gaps_seen
from ringwright.geometry.vectors import cross, lengths

_FIRST_TRUST, _WIDEST_TRUST, _LEAST_TRUST = 0.2, 0.3, 1e-10
# How much of the way to the nearest core circle a ring may go in one step; below 1
# no two core circles can pass through each other, so links and lay are kept.
_SAFE_SHARE = 0.9
# Overlap costs at least this much of the goal per unit; pulled chains carry about 2.
_LEAST_PENALTY = 3.0
# Rings lying along each other can creep on for ever at the solver's own accuracy: less than
# this gained in so many rounds without overlap is rest.
_CREEP = 3e-7
_CREEP_ROUNDS = 30
# Overlaps below this are rounding.
_LEAST_OVERLAP = 1e-15
# Where the model of a step cannot be solved, the next is to be so much smaller.
_SMALLER = 0.3
# How straight the first look of a careful climb's step takes the goal to be, and how firmly
# it holds directions that cost nothing.
_LOOK, _HELD = 1e-2, 1e-6


@dataclass(frozen=True, eq=False)
class Unit:
    """One repeat of a weave: its rings, and the lattice that carries it onto all others."""

    rings: Rings
    lattice: Lattice

    @property
    def repeat(self) -> float:
        """Length of the repeat along x."""
        return float(self.lattice.values[0])

    def with_wire_radii(self, wire_radii: Floats) -> Unit:
        """The same core circles in another wire."""
        return Unit(self.rings.with_wire_radii(wire_radii), self.lattice)


@dataclass(frozen=True, eq=False)
class Walls:
    """Gaps of single rings to something that is no ring; each must stay at least zero.

    Attributes
    ----------
    gap : (w,)
    gradients : (w, 5 n + p + 1) first derivatives in the unknowns
    curvature : from (w,) weights to the weighted sum of the second derivatives
    """

    gap: Floats
    gradients: Floats
    curvature: Callable[[Floats], Floats]


@dataclass(frozen=True)
class Goal:
    """What to maximise.

    Attributes
    ----------
    value : the figure itself, from a unit
    slope : its first derivatives in the unknowns
    bend : its second derivative, the same for every unknown (zero or negative)
    values_free : which of the lattice's values may change, in their order; an empty
        tuple keeps all
    growth : for a goal that changes the wire, how much each wire radius grows
        with it, as a function of the unit; None keeps the wire
    held : rings that stay where they are
    walls : what else no ring may enter, from a unit; not for goals that change the wire
    """

    value: Callable[[Unit], float]
    slope: Callable[[Unit], Floats]
    bend: float = 0.0
    values_free: tuple[bool, ...] = ()
    growth: Callable[[Unit], Floats] | None = None
    held: tuple[int, ...] = ()
    walls: Callable[[Unit], Walls] | None = None

    def freedom(self, unit: Unit) -> Floats:
        """1 for every unknown that may change, 0 for one that is kept."""
        free = np.ones(unknowns(unit.rings, unit.lattice))
        count = len(unit.lattice.values)
        free[-1 - count : -1] = self.values_free or np.zeros(count)
        free[-1] = self.growth is not None
        free[: 5 * len(unit.rings.centres)].reshape(-1, 5)[list(self.held)] = 0.0
        return free


def _along(place: int, sign: float = 1.0) -> Callable[[Unit], Floats]:
    """The slope of a goal that is one unknown itself, counted from the first lattice value."""

    def slope(unit: Unit) -> Floats:
        only = np.zeros(unknowns(unit.rings, unit.lattice))
        only[5 * len(unit.rings.centres) + place] = sign
        return only

    return slope


def farthest(unit: Unit, value: int = 0, sign: float = 1.0) -> Goal:
    """One of the lattice's values as large as it gets (as small, with ``sign`` -1), others free."""
    return Goal(
        lambda unit: sign * float(unit.lattice.values[value]),
        _along(value, sign),
        values_free=(True,) * len(unit.lattice.values),
    )


def longest(unit: Unit) -> Goal:
    """The repeat as long as it gets: the chain pulled straight."""
    return farthest(unit)


def apart(first: tuple[int, ...], last: tuple[int, ...]) -> Goal:
    """The ends of a piece as far apart as they get: the piece pulled straight along x.

    Parameters
    ----------
    first, last : the rings at its beginning and at its end
    """

    def value(unit: Unit) -> float:
        x = unit.rings.centres[:, 0]
        return float(x[list(last)].mean() - x[list(first)].mean())

    def slope(unit: Unit) -> Floats:
        along = np.zeros(unknowns(unit.rings, unit.lattice))
        rings = along[: 5 * len(unit.rings.centres)].reshape(-1, 5)
        rings[list(last), 0] = 1.0 / len(last)
        rings[list(first), 0] = -1.0 / len(first)
        return along

    return Goal(value, slope)


def shortest(unit: Unit) -> Goal:
    """The repeat as short as it gets: the chain pushed together."""
    return farthest(unit, 0, -1.0)


def thickest(unit: Unit, grows: Bools | None = None) -> Goal:
    """The wire as thick as it gets on the same core circles.

    Parameters
    ----------
    grows : (n,) which rings' wires grow, in proportion; all when left out. The value
        is the mean radius of these
    """
    count = len(unit.lattice.values)
    mask = np.ones(len(unit.rings.centres), bool) if grows is None else grows
    # Of the start: where core circles meet on the way, no wire is left to tell it by.
    wire = unit.rings.wire_radii
    growth = np.where(mask, wire / wire[mask].mean(), 0.0)

    return Goal(
        lambda unit: float(unit.rings.wire_radii[mask].mean()),
        _along(count),
        values_free=(True,) * count,
        growth=lambda _: growth,
    )


def hanging(direction: Floats, held: tuple[int, ...]) -> Goal:
    """Rings let hang from those that are held: their centre of mass as far down as it gets.

    Parameters
    ----------
    direction : (3,) unit vector, down
    held : rings that stay where they are
    """

    def weights(unit: Unit) -> Floats:
        mass = unit.rings.core_radii * unit.rings.wire_radii**2
        return np.asarray(mass / mass.sum())

    def slope(unit: Unit) -> Floats:
        down = np.zeros(unknowns(unit.rings, unit.lattice))
        rings = down[: 5 * len(unit.rings.centres)].reshape(-1, 5)
        rings[:, :3] = weights(unit)[:, None] * direction
        return down

    return Goal(
        lambda unit: float(weights(unit) @ unit.rings.centres @ direction), slope, held=held
    )


def flat_on_table() -> Goal:
    """Rings as flat as they lie: the heights of all wire about z = 0 as small as they get."""

    def value(unit: Unit) -> float:
        rings = unit.rings
        tilted = 0.5 * rings.core_radii**2 * (1.0 - rings.axes[:, 2] ** 2)
        return -0.5 * float(np.sum(rings.centres[:, 2] ** 2 + tilted))

    def slope(unit: Unit) -> Floats:
        rings = unit.rings
        down = np.zeros(unknowns(rings, unit.lattice))
        each = down[: 5 * len(rings.centres)].reshape(-1, 5)
        u, v = plane_basis(rings.axes)
        each[:, 2] = -rings.centres[:, 2]
        leaning = 0.5 * rings.core_radii * rings.axes[:, 2]
        each[:, 3], each[:, 4] = -leaning * v[:, 2], leaning * u[:, 2]
        return down

    return Goal(value, slope, bend=-1.0)


def nearest_to(
    target: Rings, lattice_turn: float | None = None, pulls: Floats | None = None
) -> Goal:
    """Rings as near to ``target`` as they get, in centres and axes, in the same lattice.

    Parameters
    ----------
    lattice_turn : a screw's or tube's turn may change too, towards this one
    pulls : (n,) how strongly each ring is drawn there; all by 1 when left out
    """
    strength = np.ones(len(target.centres)) if pulls is None else pulls

    def apart_from(unit: Unit) -> Floats:
        others = np.zeros(len(unit.lattice.values) + 1)
        if lattice_turn is not None:
            others[1] = lattice_turn - unit.lattice.values[1]
        return np.concatenate([away(unit.rings, target).ravel(), others])

    def weights(unit: Unit) -> Floats:
        others = np.ones(len(unit.lattice.values) + 1)
        return np.concatenate([np.repeat(strength, 5), others])

    free = () if lattice_turn is None else (False, True)
    return Goal(
        lambda unit: -0.5 * float(weights(unit) @ apart_from(unit) ** 2),
        lambda unit: weights(unit) * apart_from(unit),
        bend=-float(strength.max()),
        values_free=free,
    )


def along_with(goal: Goal, other: Goal) -> Goal:
    """Two goals at once: their sum. What may change, and what is held, is the first one's."""
    return replace(
        goal,
        value=lambda unit: goal.value(unit) + other.value(unit),
        slope=lambda unit: np.asarray(goal.slope(unit) + other.slope(unit)),
        bend=goal.bend + other.bend,
    )


@dataclass(frozen=True, eq=False)
class Climb:
    """The end of a climb: the unit, how it ended, and how many rounds it took."""

    unit: Unit
    converged: bool
    rounds: int


def climb(
    unit: Unit,
    goal: Goal,
    *,
    rounds: int = 150,
    tolerance: float = 1e-11,
    trust: float = _FIRST_TRUST,
    enough: float = np.inf,
    careful: bool = False,
) -> Climb:
    """Move the unit's rings, and what else the goal frees, until it gets no better.

    Between accepted steps no ring moves as far as the nearest core circle is
    away, so no two rings ever pass through each other: linking numbers and
    which ring lies over which stay as they were at the start.

    Parameters
    ----------
    unit : the start; rings may overlap, and with ``goal.growth`` the wire is first
        made as thick or thin as just fits
    goal : what to maximise
    rounds : at most so many quadratic programmes
    tolerance : converged when the best step promises less than this
    trust : first bound on each unknown's change
    enough : for a goal that grows wires: stop at this value of it
    careful : look for the forces anew in every round, and use the curvature they make as it
        is: slower a round, but it goes on where forces a hundred times the pull make the
        quicker model creep

    Returns
    -------
    Climb
        ``converged`` is False when the rounds ran out first, or no step could be worked
        out. It is also True where the last 30 rounds gained less than 3e-7.
    """
    settings = rounds, tolerance, trust, enough, careful
    return _all_climbed([_climbing(unit, goal, *settings)])[0]


def climbs(
    starts: Sequence[tuple[Unit, Goal]],
    *,
    rounds: int = 150,
    tolerance: float = 1e-11,
    enough: float | Sequence[float] = np.inf,
) -> list[Climb]:
    """Several climbs side by side: each as :func:`climb` alone, together in half the time.

    Parameters
    ----------
    starts : units, whose lattices are all of one kind, and what to maximise in each
    rounds, tolerance, enough : as for :func:`climb`; there may be an ``enough`` for each start
    """
    each = [enough] * len(starts) if isinstance(enough, float) else enough
    return _all_climbed(
        [
            _climbing(unit, goal, rounds, tolerance, _FIRST_TRUST, much, False)
            for (unit, goal), much in zip(starts, each, strict=True)
        ]
    )


@dataclass(frozen=True, eq=False)
class _Wish:
    """What a climb waits for: a unit looked at, and perhaps the curvature where it came from.

    Attributes
    ----------
    left : the stand that was left for the unit, and the forces there
    """

    unit: Unit
    goal: Goal
    trust: float
    left: tuple[_Stand, Floats] | None = None


@dataclass(frozen=True, eq=False)
class _Sight:
    """The answer to a wish."""

    stand: _Stand
    curvature: Floats | None


_Climbing: TypeAlias = Generator[_Wish, _Sight, Climb]


def _all_climbed(climbing: Sequence[_Climbing]) -> list[Climb]:
    """Climbs taken on round by round, all that are not at their end at once."""
    ends: dict[int, Climb] = {}
    wishes = {number: next(one) for number, one in enumerate(climbing)}
    while wishes:
        sights = _answered(list(wishes.values()))
        for number, sight in zip(list(wishes), sights, strict=True):
            try:
                wishes[number] = climbing[number].send(sight)
            except StopIteration as end:
                ends[number] = end.value
                del wishes[number]
    return [ends[number] for number in range(len(climbing))]


def _climbing(
    unit: Unit,
    goal: Goal,
    rounds: int,
    tolerance: float,
    trust: float,
    enough: float,
    careful: bool,
) -> _Climbing:
    """A climb, as :func:`climb`, that asks for what it has to look at."""
    stand = (yield _Wish(unit, goal, trust)).stand
    curvature: Floats | None = np.zeros((unknowns(unit.rings, unit.lattice),) * 2)
    penalty = _LEAST_PENALTY
    mark, marked = goal.value(unit), 0
    for done in range(rounds):
        if stand.overlap > 1e-9 or goal.value(stand.unit) > mark + _CREEP:
            mark, marked = goal.value(stand.unit), done
        elif done - marked >= _CREEP_ROUNDS:
            return Climb(stand.unit, True, done)
        if goal.value(stand.unit) >= enough:
            return Climb(_thinned(stand.unit, goal, enough), True, done)
        best = _best_step(stand, goal, None if careful else curvature, trust)
        if best is None:
            trust *= _SMALLER
            if trust < _LEAST_TRUST:
                return Climb(stand.unit, False, done)
            continue
        step, forces, promise, left = best
        penalty = max(penalty, 1.2 * float(forces.sum()) + 0.1)
        promise += penalty * (stand.overlap - left)
        if promise < tolerance or trust < _LEAST_TRUST:
            return Climb(stand.unit, promise < 1e3 * tolerance, done)
        wanted = stepped(stand.unit, step, goal)
        sight = yield _Wish(wanted, goal, min(2 * trust, _WIDEST_TRUST), (stand, forces))
        following, curvature = sight.stand, sight.curvature
        gain = _gain(goal, stand, following, penalty)
        if gain < 0.25 * promise:
            # A long step along curved contacts cuts into them; push out and look again.
            eased = (yield _Wish(_eased(following, wanted, goal, trust), goal, trust)).stand
            gain_eased = _gain(goal, stand, eased, penalty)
            if gain_eased > gain:
                following, gain = eased, gain_eased
        if gain > 0.05 * promise:
            stand = following
        if gain > 0.7 * promise:
            trust = min(2 * trust, _WIDEST_TRUST)
        elif gain < 0.25 * promise:
            trust = 0.4 * min(trust, float(np.abs(step).max()))
    return Climb(stand.unit, False, rounds)


def _gain(goal: Goal, before: _Stand, after: _Stand, penalty: float) -> float:
    gain = goal.value(after.unit) - goal.value(before.unit)
    return gain - penalty * (after.overlap - before.overlap)


def _eased(stand: _Stand, wanted: Unit, goal: Goal, trust: float) -> Unit:
    """The wanted unit with its rings moved as little as takes them out of each other."""
    unit, rows = stand.unit, stand.rows
    growth = wanted.rings.wire_radii - unit.rings.wire_radii
    gap = stand.with_walls(rows.gap - growth[rows.pairs.first] - growth[rows.pairs.second])
    gradients = stand.gradients(np.zeros(len(growth)))
    size = gradients.shape[1]
    limit = trust * goal.freedom(unit)
    limit[-1] = 0.0
    # Told in overlaps: of motions of a millionth and less the solver takes any for the least.
    scale = max(-float(gap.min(initial=0.0)), _LEAST_OVERLAP)
    solved = quadratic_programme(
        np.zeros(size), np.eye(size), gradients, -gap / scale, limit / scale
    )
    if solved is None:
        return wanted
    step = scale * solved[0]
    return stepped(wanted, step * _safe_share(stand, step), None)


@dataclass(frozen=True, eq=False)
class _Stand:
    """Where a climb stands: the unit, and the rows about it."""

    unit: Unit
    rows: Rows
    seen: SeenGaps
    walls: Walls | None
    reach: float

    @cached_property
    def overlap(self) -> float:
        """How deep rings are in each other, or in walls, at the worst place."""
        return max(0.0, -float(self.gap.min(initial=0.0)))

    @cached_property
    def gap(self) -> Floats:
        """The gaps of all rows, those to walls last."""
        return self.with_walls(self.rows.gap)

    def with_walls(self, gap: Floats) -> Floats:
        """Gaps between rings, and after them those to walls."""
        return gap if self.walls is None else np.concatenate([gap, self.walls.gap])

    def gradients(self, growth: Floats) -> Floats:
        """First derivatives of all gaps, as of :func:`gap_gradients`."""
        count = unknowns(self.unit.rings, self.unit.lattice)
        between = spread_slopes(self.seen.slopes, self.seen.columns, self.rows, count, growth)
        return between if self.walls is None else np.vstack([between, self.walls.gradients])

    def loaded(self, forces: Floats) -> Ints:
        """Which rows between rings carry force."""
        return np.flatnonzero(forces[: len(self.rows.gap)])

    def curvature(self, forces: Floats, bends: tuple[Floats, Ints] | None = None) -> Floats:
        """Second derivatives of all gaps, each times its force, summed.

        ``bends`` are those of the loaded rows, where they are known.
        """
        count, loaded = len(self.rows.gap), self.loaded(forces)
        if bends is None:
            bends = gap_bends(self.unit.rings, self.rows.of(loaded), self.unit.lattice)
        size = unknowns(self.unit.rings, self.unit.lattice)
        between = spread_bends(*bends, forces[loaded], size)
        return between if self.walls is None else between + self.walls.curvature(forces[count:])


def _answered(wishes: Sequence[_Wish]) -> list[_Sight]:
    """What every climb that waits wants to see."""
    reach = [6 * wish.trust + 0.05 for wish in wishes]
    seen = gaps_seen([(wish.unit.rings, wish.unit.lattice) for wish in wishes], reach)
    stands = [_stand(wish, gaps, far) for wish, gaps, far in zip(wishes, seen, reach, strict=True)]
    left = [wish.left for wish in wishes if wish.left is not None]
    bends = bends_seen(
        [(stand.unit.rings, stand.unit.lattice) for stand, _ in left],
        [stand.rows.of(stand.loaded(forces)) for stand, forces in left],
    )
    curved = (
        stand.curvature(forces, bend) for (stand, forces), bend in zip(left, bends, strict=True)
    )
    return [
        _Sight(stand, None if wish.left is None else next(curved))
        for wish, stand in zip(wishes, stands, strict=True)
    ]


def _stand(wish: _Wish, seen: SeenGaps, reach: float) -> _Stand:
    unit, rows, goal = wish.unit, seen.rows, wish.goal
    if goal.growth is not None:
        unit, rows = _fitted_wire(unit, rows, goal.growth(unit))
    walls = None if goal.walls is None else goal.walls(unit)
    return _Stand(unit, rows, seen, walls, reach)


def _fitted_wire(unit: Unit, rows: Rows, growth: Floats) -> tuple[Unit, Rows]:
    """The same core circles in the thickest wire that does not overlap."""
    both = growth[rows.pairs.first] + growth[rows.pairs.second]
    grows = both > 0.0
    more = float((rows.gap[grows] / both[grows]).min(initial=1.0))
    fitted = unit.with_wire_radii(unit.rings.wire_radii + more * growth)
    return fitted, replace(rows, gap=rows.gap - more * both)


def _thinned(unit: Unit, goal: Goal, value: float) -> Unit:
    """The unit with its wires taken back until the goal has just that value."""
    if goal.growth is None:
        return unit
    back = value - goal.value(unit)
    return unit.with_wire_radii(unit.rings.wire_radii + back * goal.growth(unit))


def _best_step(
    stand: _Stand, goal: Goal, curvature: Floats | None, trust: float
) -> tuple[Floats, Floats, float, float] | None:
    """The quadratic model's step and forces, the gain it promises, the overlap it leaves.

    None where no step can be worked out. Without a curvature, that of the forces of a first
    look.
    """
    unit = stand.unit
    slope = pulled = goal.slope(unit)
    growth = np.zeros(len(unit.rings.centres)) if goal.growth is None else goal.growth(unit)
    gradients = stand.gradients(growth)
    limit = trust * goal.freedom(unit)
    goal_bend = -goal.bend * np.eye(len(slope))
    if curvature is not None:
        model = costs = _downhill(curvature) + goal_bend
    else:
        straight = _LOOK * np.eye(len(slope)) + goal_bend
        look = quadratic_programme(slope, straight, gradients, -stand.gap, limit)
        if look is None:
            return None
        bend = goal_bend - stand.curvature(look[1])
        loaded = look[1] > 0.0
        made = convex_model(bend, gradients[loaded], stand.gap[loaded], limit > 0.0, _HELD)
        model, costs, pulled = made.model, bend, slope - made.pull
    solved = quadratic_programme(pulled, model, gradients, -stand.gap, limit)
    if solved is None:
        return None
    step, forces = solved
    step = step * _safe_share(stand, step)
    promise = float(slope @ step - 0.5 * step @ costs @ step)
    return step, forces, promise, -float((stand.gap + gradients @ step).min(initial=0.0))


def _downhill(curvature: Floats) -> Floats:
    """The part of minus the curvature that bends down, kept positive so the step is unique."""
    bend, along = np.linalg.eigh(-0.5 * (curvature + curvature.T))
    return np.asarray((along * np.maximum(bend, 1e-3)) @ along.T)


def _safe_share(stand: _Stand, step: Floats) -> float:
    """The share of the step that keeps every two core circles from meeting on the way."""
    unit, rows = stand.unit, stand.rows
    wire, far = unit.rings.wire_radii, reach_of_step(unit.rings, step)
    i, j = rows.pairs.first, rows.pairs.second
    distance = rows.gap + wire[i] + wire[j]
    drift = _drift(unit, stand.seen, step)
    closing = far[i] + far[j] + drift
    unlisted = 2 * float(far.max()) + 1.5 * float(drift.max(initial=0.0))
    shares = closing / np.maximum(distance, 1e-300)
    worst = float(shares.max(initial=unlisted / stand.reach))
    return min(1.0, _SAFE_SHARE / worst) if worst > 0.0 else 1.0


def _drift(unit: Unit, seen: SeenGaps, step: Floats) -> Floats:
    """How far the change of the lattice moves any point of each row's second ring, (m,)."""
    change = step[5 * len(unit.rings.centres) : -1]
    twist = np.einsum("mpi,p->mi", seen.drifts, change)
    swing = lengths(twist[:, :3] + cross(twist[:, 3:], seen.centres))
    radii = unit.rings.core_radii[seen.rows.pairs.second]
    return np.asarray(swing + radii * lengths(twist[:, 3:]))


def stepped(unit: Unit, step: Floats, goal: Goal | None) -> Unit:
    """The unit after a step; the wire grows only with a goal that has it grow."""
    values = unit.lattice.values + step[5 * len(unit.rings.centres) : -1]
    following = Unit(moved(unit.rings, step), unit.lattice.with_values(values))
    if goal is None or goal.growth is None:
        return following
    return following.with_wire_radii(unit.rings.wire_radii + step[-1] * goal.growth(unit))


def shaken(unit: Unit, seed: int, steps: int = 6) -> Unit:
    """The same unit, every ring moved at random as far as none can pass through another."""
    return all_shaken(unit, [seed], steps)[0]


def all_shaken(unit: Unit, seeds: Sequence[int], steps: int = 6) -> list[Unit]:
    """The unit as :func:`shaken` by each of these seeds, in less time."""
    wire = unit.rings.wire_radii
    chances = [np.random.default_rng(seed) for seed in seeds]
    units = [unit.with_wire_radii(np.zeros(len(wire)))] * len(seeds)
    for _ in range(steps):
        seen = gaps_seen([(bare.rings, bare.lattice) for bare in units], [1.0] * len(units))
        units = [
            _shaken_once(bare, gaps, random)
            for bare, gaps, random in zip(units, seen, chances, strict=True)
        ]
    return [bare.with_wire_radii(wire) for bare in units]


def _shaken_once(bare: Unit, seen: SeenGaps, random: np.random.Generator) -> Unit:
    """Rings without wire moved at random, by less than would let two meet."""
    count = 5 * len(bare.rings.centres)
    step = random.normal(size=unknowns(bare.rings, bare.lattice))
    step[count:] *= 0.25
    moving = 2 * float(reach_of_step(bare.rings, step).max())
    moving += float(_drift(bare, seen, step).max(initial=0.0))
    step *= 0.6 * min(1.0, float(seen.rows.gap.min(initial=1.0))) / moving
    return stepped(bare, step, None)
