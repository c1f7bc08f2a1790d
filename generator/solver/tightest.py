"""How tight a ring a weave can be made of at all: its wire grown until nothing gives way."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import as_completed
from dataclasses import dataclass

from ringwright.base.progress import Tally, uncounted
from ringwright.base.sizes import RingSize
from ringwright.base.workers import worker_pool
from ringwright.falling.at_rest import AT_REST
from ringwright.solver.certify import Certificate
from ringwright.solver.climb import Unit, climb, shaken, thickest
from ringwright.solver.placement import check_kept, linked_pairs, placed_unit
from ringwright.solver.polish import as_it_is, polished
from ringwright.solver.searched import searched
from ringwright.weaves.rule import Minimums, WeaveRule

STARTS = 12
_AGREE = 1e-4
# Rings that are kept have the ratio that is kept beside them, to this part of it, and their forces
# are in balance to this part of the pull.
_SAME, _KEPT_AT_REST = 1e-9, AT_REST
# One start of so many is a long walk from the tightest of the others; of so many steps.
_ONE_LONG_OF = 4
_WALK = 75
# Wire for it, in core radii.
_HAIR = 1e-3


@dataclass(frozen=True, eq=False)
class Tightest:
    """The thickest wire the weave can be made of, on core circles of radius 1.

    Attributes
    ----------
    aspect_ratio : the smallest inner / wire at which the weave exists
    unit : the rings in that state
    certificate : as in :class:`ringwright.solver.settle.Settled`
    starts, agreed : how many starting placements were tried, and how many reached
        the smallest aspect ratio to within 0.0001
    spread : (starts,) the aspect ratio each start ended at, smallest first
    path : the starts that were gone through, one after the other, to the tightest ring
    kept : whether all starts were tried when the rule was searched, and now none
    searched : the minimums with those of other shapes, where these were looked for now because
        the rule's file keeps none; None where they were not
    """

    aspect_ratio: float
    unit: Unit
    certificate: Certificate
    starts: int
    agreed: int
    spread: tuple[float, ...]
    path: tuple[int, ...] = (0,)
    kept: bool = False
    searched: Minimums | None = None


def has_one_limit(rule: WeaveRule) -> bool:
    """Whether the tightest ring is the same at every size: no ring is fixed in millimetres."""
    return not rule.has_fixed_rings


def known_tightest(
    rule: WeaveRule,
    size: RingSize,
    on_progress: Tally = uncounted,
    workers: int | None = None,
) -> Tightest:
    """The same as :func:`tightest`, without a search where one of these rings is kept.

    Then it is only looked at again: whether the rings have the rule's links, and the forces
    between them are in balance. Where they are not, all starts are tried.

    Parameters and errors are as there.
    """
    kept = searched(rule) if has_one_limit(rule) else None
    if kept is not None:
        placed = placed_unit(rule, size)
        found = kept.unit(placed)
        ratio = _ratio(found, _main_ring(rule))
        held = as_it_is(found, thickest(found))
        same = abs(ratio / kept.aspect_ratio - 1.0) < _SAME
        if same and held.certificate.residual <= _KEPT_AT_REST:
            check_kept(found, linked_pairs(placed))
            return Tightest(
                ratio,
                found,
                held.certificate,
                starts=len(kept.spread),
                agreed=kept.agreed,
                spread=kept.spread,
                path=kept.path,
                kept=True,
            )
    return tightest(rule, size, on_progress=on_progress, workers=workers)


def tightest(
    rule: WeaveRule,
    size: RingSize,
    starts: int = STARTS,
    on_progress: Tally = uncounted,
    workers: int | None = None,
) -> Tightest:
    """The smallest aspect ratio at which the weave exists.

    The core circles stay and all wires grow, in proportion, until nothing can give way any
    more. There are many dead ends, so it is done from several starting placements in parallel:
    the rule's own, others shaken from it by a seeded generator, and, for the last quarter,
    longer random walks in hair-thin wire from the tightest of these. Where rings are
    fixed in millimetres, the answer is that for rings of all sizes in the proportion that
    they have at this size; which rings of one size work with those of the others is for
    :mod:`ringwright.answers.partners`.

    Parameters
    ----------
    rule : the weave
    size : the main ring; it matters only for rules with rings fixed in millimetres
    starts : how many placements to start from
    on_progress : called with (done, of) as starts finish
    workers : processes to share the starts out to, one per core if None; with 0 all is
        done in this process, as in a worker that must not start any of its own

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    """
    unit = placed_unit(rule, size)
    links = linked_pairs(unit)
    main = _main_ring(rule)
    long = starts // _ONE_LONG_OF
    near, far = list(range(starts - long)), list(range(starts - long, starts))
    if workers == 0:
        ends = {seed: _grown(unit, seed) for seed in near}
        first = _best(ends, main)
        ends |= {seed: _grown_afar(ends[first], seed) for seed in far}
    else:
        ends = _shared_out(unit, main, near, far, workers, on_progress)
    first, best = _best({seed: ends[seed] for seed in near}, main), _best(ends, main)
    rested = polished(ends[best], thickest(ends[best]))
    ratios = {seed: _ratio(ends[seed], main) for seed in ends} | {best: _ratio(rested.unit, main)}
    check_kept(rested.unit, links)
    return Tightest(
        ratios[best],
        rested.unit,
        rested.certificate,
        starts,
        sum(ratio - ratios[best] < _AGREE for ratio in ratios.values()),
        tuple(sorted(ratios.values())),
        (first, best) if best in far else (best,),
    )


def _main_ring(rule: WeaveRule) -> int:
    return [ring.size is None for ring in rule.rings].index(True)


def _shared_out(
    unit: Unit,
    main: int,
    near: list[int],
    far: list[int],
    workers: int | None,
    on_progress: Tally,
) -> dict[int, Unit]:
    """All starts grown by several processes: those near the placement, then the walks."""
    ends: dict[int, Unit] = {}
    of = len(near) + len(far)
    with worker_pool(min(of, workers or multiprocessing.cpu_count())) as pool:

        def gather(grow: Callable[[Unit, int], Unit], start: Unit, seeds: list[int]) -> None:
            tasks = {pool.submit(grow, start, seed): seed for seed in seeds}
            for task in as_completed(tasks):
                ends[tasks[task]] = task.result()
                on_progress(len(ends), of)

        gather(_grown, unit, near)
        gather(_grown_afar, ends[_best(ends, main)], far)
    return ends


def _best(ends: dict[int, Unit], main: int) -> int:
    """The start that ended tightest; of equal ones the first, whichever was ready first."""
    return min(sorted(ends), key=lambda seed: round(_ratio(ends[seed], main), 9))


def _ratio(unit: Unit, main: int) -> float:
    return float(1.0 / unit.rings.wire_radii[main] - 1.0)


def _grown(unit: Unit, seed: int) -> Unit:
    """The wires grown as thick as they get; seed 0 starts from the placement itself."""
    start = unit if seed == 0 else shaken(unit, seed)
    return climb(start, thickest(start), tolerance=1e-10).unit


def _grown_afar(tight: Unit, seed: int) -> Unit:
    """The wires grown after a long walk in hair-thin wire from a tight state."""
    wire = tight.rings.wire_radii
    return _grown(shaken(tight.with_wire_radii(wire * (_HAIR / wire.max())), seed, _WALK), 0)
