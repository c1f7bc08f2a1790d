"""How tight a ring a weave can be made of at all: its wire grown until nothing gives way."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from concurrent.futures import as_completed
from dataclasses import dataclass

from generator.certify import Certificate, certify
from generator.climb import Unit, climb, shaken, thickest
from generator.placement import check_kept, linked_pairs, placed_unit
from generator.sizes import RingSize
from generator.workers import worker_pool
from weaves.rule import WeaveRule

STARTS = 12
_AGREE = 1e-4


@dataclass(frozen=True, eq=False)
class Tightest:
    """The thickest wire the weave can be made of, on core circles of radius 1.

    Attributes
    ----------
    aspect_ratio : the smallest inner / wire at which the weave exists
    unit : the rings in that state
    certificate : as in :class:`generator.settle.Settled`
    starts, agreed : how many starting placements were tried, and how many reached
        the smallest aspect ratio to within 0.0001
    spread : (starts,) the aspect ratio each start ended at, smallest first
    """

    aspect_ratio: float
    unit: Unit
    certificate: Certificate
    starts: int
    agreed: int
    spread: tuple[float, ...]


def has_one_limit(rule: WeaveRule) -> bool:
    """Whether the tightest ring is the same at every size: no ring is fixed in millimetres."""
    return not rule.has_fixed_rings


def tightest(
    rule: WeaveRule,
    size: RingSize,
    starts: int = STARTS,
    on_progress: Callable[[int, int], None] | None = None,
    workers: int | None = None,
) -> Tightest:
    """The smallest aspect ratio at which the weave exists.

    The core circles stay and all wires grow, in proportion, until nothing can give way any
    more. There are many dead ends, so it is done from several starting placements, the
    rule's own and others shaken from it by a seeded generator, in parallel. Where rings are
    fixed in millimetres, the answer is that for rings of all sizes in the proportion that
    they have at this size; which rings of one size work with those of the others is for
    :mod:`generator.partners`.

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
    main = [ring.size is None for ring in rule.rings].index(True)
    ends: dict[int, Unit] = {}
    if workers == 0:
        ends = {seed: _grown(unit, seed) for seed in range(starts)}
    else:
        with worker_pool(min(starts, workers or multiprocessing.cpu_count())) as pool:
            tasks = {pool.submit(_grown, unit, seed): seed for seed in range(starts)}
            for task in as_completed(tasks):
                ends[tasks[task]] = task.result()
                if on_progress:
                    on_progress(len(ends), starts)
    # Sorted by seed before comparing, so that equal results fall to the same start.
    ratios = {seed: _ratio(ends[seed], main) for seed in sorted(ends)}
    best = min(ratios, key=lambda seed: round(ratios[seed], 9))
    check_kept(ends[best], links)
    return Tightest(
        ratios[best],
        ends[best],
        certify(ends[best], thickest(ends[best])),
        starts,
        sum(ratio - ratios[best] < _AGREE for ratio in ratios.values()),
        tuple(sorted(ratios.values())),
    )


def _ratio(unit: Unit, main: int) -> float:
    return float(1.0 / unit.rings.wire_radii[main] - 1.0)


def _grown(unit: Unit, seed: int) -> Unit:
    """The wires grown as thick as they get; seed 0 starts from the placement itself."""
    start = unit if seed == 0 else shaken(unit, seed)
    return climb(start, thickest(start), tolerance=1e-10).unit
