"""Rings of a whole piece moved to where they rest, without overlap and without crossing.

The same way as :mod:`ringwright.solver.climb`, for all rings of a piece at once and sparse
throughout: in each round every gap that a step may close is a linear row, the curvature of the
loaded contacts is what a step costs, and a quadratic programme finds the best step within a trust
region. Then the step is put right along the contacts that carry it. Lengths are in units of the
mean core radius.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ringwright.base.arrays import Bools, Floats, Ints
from ringwright.base.progress import Tally, uncounted
from ringwright.falling.at_rest import AT_REST
from ringwright.falling.gaps import Gaps, Support, free_block, free_columns, gaps_of
from ringwright.falling.goal import Goal
from ringwright.falling.model import Model, curved, straight
from ringwright.falling.programme import FINEST, balancing_forces, best_step
from ringwright.falling.safe import safe_share
from ringwright.geometry.contact import Rings
from ringwright.geometry.lattice import ALONE, Lattice
from ringwright.geometry.linearise import moved

_FIRST_TRUST, _WIDEST_TRUST, _LEAST_TRUST = 0.1, 0.5, 1e-9
# So far a first look goes, by which forces are found where rings nearly rest.
_LOOK = 1e-2
# Where a step gains what it promised, the next may be so much larger.
_TRUE = 4.0
# Along a valley every step of some size fails: the next are to stay short of it, which is
# forgotten by and by.
_SHORT_OF, _FORGOTTEN = 0.7, 1.25
# Where the model of a step cannot be solved, the next is to be so much smaller.
_SMALLER = 0.3
# A step well within its bound leaves the next so many times its own size.
_ROOM, _LEAST_ROOM = 4.0, 1e-4
# Rest, per unit of the pull; and where there is nothing left to gain.
_EXACT, _NOTHING = 5e-7, 1e-13
# A step whose gain is too little to be told is taken where it leaves such a share of the pull.
_RESTS = 0.9
# Forces below this share of the largest are what an interior-point method leaves.
_NO_FORCE = 1e-8
# A step that gains more of its promise is tried longer, as if it gained so much at most.
_TIMID, _BOLDEST = 1.4, 1.9
# A step that gains a smaller share of its promise is bent, so many times at most, or until the
# overlap left is such a share of what it promises.
_POOR, _BENDS, _CLEAN = 0.5, 3, 0.1
# Where a step costs more than it gains, so many more are taken from its end before it is given up.
_LANDINGS = 2
# A contact that carries so much is followed when a step is put right.
_CARRIES = 1e-5
# So often at most a step is put right.
_RIGHTINGS = 3
# Overlap costs so much more than the force that would undo it.
_DEARER = 1.5
# Contacts are looked for up to this gap when forces are balanced at the end.
_NEAR = 1e-3
# After so many rounds it is asked every so often whether rings rest by forces found anew.
_PATIENCE, _ASKED = 150, 10


@dataclass(frozen=True, eq=False)
class Rest:
    """Where rings came to rest.

    Attributes
    ----------
    rings : in units of the mean core radius
    lattice : how they repeat
    residual : the largest of what contact forces leave of the pull, overlap, and force across
        a gap
    rounds : how many programmes it took
    settled : whether the residual is at most 1e-6
    """

    rings: Rings
    lattice: Lattice
    residual: float
    rounds: int

    @property
    def settled(self) -> bool:
        """Whether forces balance the pull to a millionth of it."""
        return self.residual <= AT_REST


@dataclass(frozen=True, eq=False)
class _Stand:
    """Rings, all gaps within reach, and how deep each place is overlapped."""

    gaps: Gaps
    reach: float
    energy: float
    overlaps: float

    def cost(self, penalty: float) -> float:
        return self.energy + penalty * self.overlaps


@dataclass(frozen=True, eq=False)
class _Step:
    """A step, the forces that shape it, and what it promises."""

    step: Floats
    forces: Floats
    promise: float
    penalty: float


@dataclass(frozen=True, eq=False)
class _Scene:
    """What stays the same all through a fall."""

    goal: Goal
    supports: tuple[Support, ...]
    free: Ints

    def stand(self, rings: Rings, lattice: Lattice, trust: float) -> _Stand:
        reach = 3.0 * trust + 0.02
        gaps = gaps_of(rings, lattice, self.supports, reach)
        depth = float(gaps.of_places(-gaps.gap).sum())
        return _Stand(gaps, reach, self.goal.energy(rings, lattice), depth)


def fallen(
    rings: Rings,
    goal: Goal,
    supports: tuple[Support, ...] = (),
    held: Bools | None = None,
    rounds: int = 600,
    lattice: Lattice = ALONE,
    told: Tally = uncounted,
    lattice_held: bool = False,
    begun: bool = False,
) -> Rest:
    """Let the rings of a piece follow a goal until they rest.

    On no accepted step do two core circles meet, so links stay as they were.

    Parameters
    ----------
    rings : the piece, in units of its mean core radius; small overlaps are undone
    goal : what pulls at them
    supports : what they may lie against
    held : (n,) rings that stay where they are
    rounds : at most so many quadratic programmes
    lattice : how the rings repeat, for a unit of an endless weave
    told : called with (done, of) in every round
    lattice_held : whether the lattice stays as it is; else all of its values may change
    begun : whether the rings nearly rest already: what they are held by is then looked for
        before the first step, which would lead away from there
    """
    count, values = len(rings.centres), len(lattice.values)
    loose = np.ones(count, bool) if held is None else ~held
    free = np.append(np.repeat(loose, 5), np.full(values, not lattice_held))
    scene = _Scene(goal, supports, np.flatnonzero(free))
    trust, failing, bold, done = _FIRST_TRUST, np.inf, 1.0, 0
    stand, model = scene.stand(rings, lattice, trust), straight(5 * count + values, goal.bend)
    if begun:
        model = _looked(scene, stand, model)
    while done < rounds:
        told(done, rounds)
        done += 1
        best = _best(scene, stand, model, trust)
        if best is None:
            trust *= _SMALLER
            if trust < _LEAST_TRUST:
                break
            continue
        left = _left(scene, stand.gaps, best.forces)
        if done > _PATIENCE and done % _ASKED == 0:
            # A programme's forces hold what its step is to change, so in a valley with next to no
            # slope, or where contacts depend on one another, they tell too much for too long.
            left = min(left, _residual(scene, stand.gaps))
        if left < _EXACT:
            return Rest(stand.gaps.rings, stand.gaps.lattice, left, done)
        if trust < _LEAST_TRUST:
            break
        # A promise of nothing or less is the model's failure, not rest; or what is left is across
        # something so stiff that energies do not tell.
        if best.promise < _NOTHING:
            end = _followed(scene, stand, best, trust)
            left = _residual(scene, end.gaps)
            if left < _EXACT:
                return Rest(end.gaps.rings, end.gaps.lattice, left, done)
            if left < _RESTS * _residual(scene, stand.gaps):
                stand = end
                continue
            # What draws loaded gaps shut may do so against the pull; without it no step does.
            model = straight(len(model.extra), goal.bend, FINEST)
            trust *= _SMALLER
            continue
        following, ratio, far = _taken(scene, stand, best, model, trust)
        bold = float(
            np.clip(bold * (0.5 if ratio > 1.5 else 2.0 if ratio < 0.8 else 1.0), 1e-3, 1.0)
        )
        shaped = stand.gaps, best.forces, scene.free, model.shift, bold
        model = curved(*shaped, best.promise, goal.bend, stiff=ratio > _TIMID)
        if ratio > 0.05:
            stand = following
        trust, failing = _next_trust(trust, failing, ratio, far)
    return Rest(stand.gaps.rings, stand.gaps.lattice, _residual(scene, stand.gaps), done)


def _looked(scene: _Scene, stand: _Stand, model: Model) -> Model:
    """The model by the forces of a small step, before any is made."""
    look = _best(scene, stand, model, _LOOK)
    if look is None:
        return model
    shaped = stand.gaps, look.forces, scene.free, model.shift, 1.0
    return curved(*shaped, look.promise, scene.goal.bend)


def _taken(
    scene: _Scene, stand: _Stand, best: _Step, model: Model, trust: float
) -> tuple[_Stand, float, float]:
    """The best end that was found of a step, its gain as a share of the promise, and how far it is.

    A step that falls short is bent to the contacts, and one that gains more than promised is
    made longer: where a model bends q times as much as the energy does, 2 - 1 / q is gained.
    """
    reach = min(2.0 * trust, _WIDEST_TRUST)
    following = _followed(scene, stand, best, reach)
    before, far = stand.cost(best.penalty), float(np.abs(best.step).max())
    ratio = (before - following.cost(best.penalty)) / best.promise
    if ratio < _POOR:
        following = _bent(scene, stand, best, model, trust, following)
        if following.cost(best.penalty) > before:
            following = _landed(scene, following, best, model, before)
    elif ratio > _TIMID:
        step = best.step * min(1.0 / (2.0 - min(ratio, _BOLDEST)), trust / far)
        step *= safe_share(stand.gaps, step, stand.reach)
        enough = following.cost(best.penalty)
        longer = _followed(scene, stand, replace(best, step=step), reach)
        longer = _landed(scene, longer, best, model, enough)
        if longer.cost(best.penalty) < enough:
            following, far = longer, float(np.abs(step).max())
    return following, (before - following.cost(best.penalty)) / best.promise, far


def _landed(scene: _Scene, end: _Stand, best: _Step, model: Model, enough: float) -> _Stand:
    """The best place that a few more steps lead to from where a step ends.

    Where contacts nearly depend on one another, rings that slide far along them end beside
    where they rest on them, and only forces found there bring them back: a step that costs
    first and gains afterwards (the watchdog of Nocedal and Wright, *Numerical Optimization*,
    2nd ed., 2006, section 15.6).

    Parameters
    ----------
    enough : a cost that needs no further step
    """
    reached, at = end, end
    for _ in range(_LANDINGS):
        if reached.cost(best.penalty) < enough:
            break
        look = _best(scene, at, model, _FIRST_TRUST)
        if look is None:
            break
        shaped = at.gaps, look.forces, scene.free, model.shift, 1.0
        there = curved(*shaped, best.promise, scene.goal.bend)
        step = _best(scene, at, there, _FIRST_TRUST)
        if step is None:
            break
        at = _followed(scene, at, step, 2.0 * _FIRST_TRUST)
        reached = min(reached, at, key=lambda one: one.cost(best.penalty))
    return reached


def _next_trust(trust: float, failing: float, ratio: float, far: float) -> tuple[float, float]:
    """How far the next step may go, and how far it had better not: a step so far has failed."""
    if ratio < 0.2:
        failed = min(trust, far)
        return 0.4 * failed, failed
    failing *= _FORGOTTEN
    if ratio <= 0.4:
        return trust, failing
    more = _TRUE if abs(ratio - 1.0) < 0.1 else 2.0
    wider = more * trust if far > 0.5 * trust else max(_ROOM * far, _LEAST_ROOM)
    return min(wider, _SHORT_OF * failing, _WIDEST_TRUST), failing


def _best(scene: _Scene, stand: _Stand, model: Model, trust: float) -> _Step | None:
    """The model's best step, as far as it is safe."""
    gaps = stand.gaps
    pull = scene.goal.pull(gaps.rings, gaps.lattice)
    found = _solved(scene, gaps, pull - model.extra, model, trust)
    if found is None:
        return None
    step, forces = found
    forces = np.where(forces > _NO_FORCE * max(1.0, float(forces.max(initial=0.0))), forces, 0.0)
    at_place = np.bincount(gaps.place, weights=forces)
    penalty = max(1.0, _DEARER * float(at_place.max(initial=0.0)))
    step *= safe_share(gaps, step, stand.reach)
    left = float(gaps.of_places(-(gaps.gap + gaps.slopes @ step)).sum())
    promise = float(pull @ step - 0.5 * step @ (model.matrix @ step))
    return _Step(step, forces, promise + penalty * (stand.overlaps - left), penalty)


def _solved(
    scene: _Scene, gaps: Gaps, pull: Floats, model: Model, trust: float
) -> tuple[Floats, Floats] | None:
    """The step that a pull makes within some gaps, in all unknowns, and their forces."""
    free = scene.free
    matrix, limit = free_block(model.matrix, free), np.full(len(free), trust)
    rows = free_columns(gaps.slopes, free)
    found = best_step(pull[free], matrix, rows, gaps.gap, limit, model.accuracy)
    if found is None:
        return None
    step = np.zeros(len(pull))
    step[free] = found[0]
    return step, found[1]


def _left(scene: _Scene, gaps: Gaps, forces: Floats) -> float:
    """The largest of what forces leave of the pull, force across a gap, and overlap."""
    pull = scene.goal.pull(gaps.rings, gaps.lattice) + gaps.slopes.T @ forces
    unexplained = float(np.abs(pull[scene.free]).max(initial=0.0))
    return max(unexplained, float(np.abs(forces * gaps.gap).max(initial=0.0)), gaps.overlap())


def _followed(scene: _Scene, stand: _Stand, best: _Step, trust: float) -> _Stand:
    """Where a step leads, put right along the contacts that carry it where that is better.

    Along curved contacts a long step cuts into some and leaves others; the least motion that
    brings both back to touching is added.
    """
    ends = [scene.stand(*_stepped(stand.gaps, best.step), trust)]
    # Points fixed beside the nearest one are farther off: both cannot touch.
    carrying = np.flatnonzero((best.forces > _CARRIES) & stand.gaps.leads)
    for _ in range(_RIGHTINGS):
        gaps = ends[-1].gaps
        rows = np.union1d(np.flatnonzero(gaps.gap < 0.0), gaps.again(stand.gaps, carrying))
        more = _least_motion(gaps, rows, scene.free)
        if more is None or float(np.abs(more).max(initial=0.0)) > trust:
            break
        more *= safe_share(gaps, more, ends[-1].reach)
        ends.append(scene.stand(*_stepped(gaps, more), trust))
        # Rings that lie along each other are put right no further by that.
        if not _CLEAN * best.promise < ends[-1].overlaps < 0.5 * ends[-2].overlaps:
            break
    return min(ends, key=lambda end: end.cost(best.penalty))


def _bent(
    scene: _Scene, stand: _Stand, best: _Step, model: Model, trust: float, reached: _Stand
) -> _Stand:
    """Where the model leads with the gaps seen from the end of a step, and not from its start.

    A second-order correction (Nocedal and Wright, *Numerical Optimization*, 2nd ed., 2006,
    section 15.6) with every gap, so that contacts may open as well as close; done again while
    it gets better.

    Parameters
    ----------
    reached : the best end of the step so far
    """
    gone = best.step
    there = scene.stand(*_stepped(stand.gaps, gone), trust)
    pull = scene.goal.pull(stand.gaps.rings, stand.gaps.lattice) - model.extra
    for _ in range(_BENDS):
        found = _solved(scene, there.gaps, pull - model.matrix @ gone, model, trust)
        if found is None:
            break
        more = found[0] * safe_share(there.gaps, found[0], there.reach)
        there, gone = scene.stand(*_stepped(there.gaps, more), trust), gone + more
        reached = min(reached, there, key=lambda end: end.cost(best.penalty))
        if reached is not there or there.overlaps < _CLEAN * best.promise:
            break
    return reached


def _least_motion(gaps: Gaps, rows: Ints, free: Ints) -> Floats | None:
    """The least motion that makes some gaps zero, to first order."""
    from scipy.sparse import identity
    from scipy.sparse.linalg import splu

    if not len(rows):
        return None
    slopes = free_columns(gaps.slopes[rows], free)
    # Rows alike would make it singular without the little that is added.
    square = (slopes @ slopes.T + 1e-6 * identity(len(rows))).tocsc()
    motion = np.zeros(gaps.unknowns)
    motion[free] = slopes.T @ splu(square).solve(-gaps.gap[rows])
    return motion


def _stepped(gaps: Gaps, step: Floats) -> tuple[Rings, Lattice]:
    """Rings and lattice after a step."""
    values = gaps.lattice.values + step[5 * len(gaps.rings.centres) :]
    return moved(gaps.rings, step), gaps.lattice.with_values(values)


def _residual(scene: _Scene, last: Gaps) -> float:
    """How far contact forces are from balancing the pull, by forces found anew."""
    gaps = gaps_of(last.rings, last.lattice, scene.supports, _NEAR)
    pull = scene.goal.pull(gaps.rings, gaps.lattice)[scene.free]
    forces = balancing_forces(pull, gaps.slopes[:, scene.free], gaps.gap)
    return _left(scene, gaps, forces)
