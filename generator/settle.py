"""From a weave rule and a ring size to the place where the rings rest.

A rule places rings roughly; the contact solver of :mod:`generator.climb` finds
where they come to rest at a given size (:func:`settle`) and how tight a ring
the weave can be made of at all (:func:`tightest`). Inside, lengths are in units
of the ring's core radius, so a rule serves every size.
"""

from __future__ import annotations

import multiprocessing
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generator.certify import Certificate, certify
from generator.climb import (
    Climb,
    Unit,
    climb,
    longest,
    nearest_to,
    shaken,
    thickest,
    with_mean_wire,
)
from generator.contact import Rings, close_pairs, linking
from generator.errors import BadInput
from generator.lattice import Lattice
from weaves.rule import WeaveRule

Floats = NDArray[np.float64]
LinkKey = tuple[int, int, int, int]

# Wire so thin (in core radii) that any placement with separate core circles takes it.
_THREAD = 1e-3
STARTS = 12
_AGREE = 1e-4


@dataclass(frozen=True, eq=False)
class Settled:
    """A unit at rest, pulled straight. Lengths in units of the core radius.

    Attributes
    ----------
    unit : the rings and the repeat
    certificate : how far the state is from a proved optimum, and the contact forces
    starts, agreed : how many starting placements were tried and how many came to
        this repeat length (the others to a shorter one)
    """

    unit: Unit
    certificate: Certificate
    starts: int
    agreed: int


@dataclass(frozen=True, eq=False)
class Tightest:
    """The thickest wire the weave can be made of, on core circles of radius 1.

    Attributes
    ----------
    aspect_ratio : the smallest inner / wire at which the weave exists
    unit : the rings in that state
    certificate : as in :class:`Settled`
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


def rule_links(rule: WeaveRule) -> dict[LinkKey, str]:
    """The links a rule lists: (ring, ring, image >= 0) to how one would say them."""
    place = {ring.name: index for index, ring in enumerate(rule.rings)}
    listed = {}
    for link in rule.links:
        i, j, image = place[link.first.name], place[link.second.name], link.second.image
        image -= link.first.image
        if image < 0 or (image == 0 and i > j):
            i, j, image = j, i, -image
        listed[i, j, image, 0] = _said(rule, (i, j, image, 0))
    return listed


def _said(rule: WeaveRule, key: LinkKey) -> str:
    i, j, image, _ = key
    where = ("", " of the next repeat")[image] if image < 2 else f" {image} repeats on"
    return f"{rule.rings[i].name} and {rule.rings[j].name}{where}"


def linked_pairs(unit: Unit) -> dict[LinkKey, int]:
    """Signed linking number of every pair of rings of a unit that is linked."""
    bare = unit.rings.with_wire_radii(np.zeros(len(unit.rings.centres)))
    pairs = close_pairs(bare, 0.0, unit.lattice)
    numbers = linking(unit.rings, pairs, unit.lattice)
    keys = np.column_stack([pairs.first, pairs.second, pairs.image]).tolist()
    return {
        (i, j, k1, k2): int(number)
        for (i, j, k1, k2), number in zip(keys, numbers, strict=True)
        if number
    }


def starting_unit(rule: WeaveRule) -> Unit:
    """The rule's rough placement, on core circles of radius 1 in hair-thin wire.

    Raises
    ------
    BadInput
        When rings of the placement are linked that the rule does not list, or the
        other way round; the sentence names the pair.
    """
    count = len(rule.rings)
    axes = np.array([ring.axis for ring in rule.rings], dtype=float)
    axes /= np.linalg.norm(axes, axis=1)[:, None]
    centres = np.array([ring.centre for ring in rule.rings], dtype=float)
    rings = Rings(centres, axes, np.ones(count), np.full(count, _THREAD))
    unit = Unit(rings, Lattice("chain", np.array([float(rule.repeat_vector[0])])))
    listed, found = rule_links(rule), linked_pairs(unit)
    for key, said in listed.items():
        if key not in found:
            raise BadInput(
                f"{rule.path}: link: rings {said} are listed as linked, but in the rough "
                "placement they do not run through one another; move one of them so that its "
                "wire passes through the other's eye."
            )
    for key in found:
        if key not in listed:
            raise BadInput(
                f"{rule.path}: ring: rings {_said(rule, key)} run through one another in the "
                "rough placement, but the rule lists no such link; move them apart or list it."
            )
    return unit


def _check_links(unit: Unit, expected: dict[LinkKey, int]) -> None:
    """A last look that settling changed no link; it cannot, so this failing is a defect."""
    if linked_pairs(unit) != expected:
        raise RuntimeError("settling changed which rings are linked; please report this size")


def tightest(
    rule: WeaveRule,
    starts: int = STARTS,
    on_progress: Callable[[int, int], None] | None = None,
) -> Tightest:
    """The smallest aspect ratio at which the weave exists.

    The core circles stay and the wire grows until nothing can give way any more.
    There are many dead ends, so it is done from several starting placements, the
    rule's own and others shaken from it by a seeded generator, in parallel.

    Parameters
    ----------
    rule : the weave
    starts : how many placements to start from
    on_progress : called with (done, of) as starts finish

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    """
    unit = starting_unit(rule)
    links = linked_pairs(unit)
    ends: dict[int, Unit] = {}
    with _workers(starts) as pool:
        tasks = {pool.submit(_grown, unit, seed): seed for seed in range(starts)}
        for task in as_completed(tasks):
            ends[tasks[task]] = task.result()
            if on_progress:
                on_progress(len(ends), starts)
    # Sorted by seed before comparing, so that equal results fall to the same start.
    ratios = {seed: _ratio(ends[seed]) for seed in sorted(ends)}
    best = min(ratios, key=lambda seed: round(ratios[seed], 9))
    _check_links(ends[best], links)
    return Tightest(
        ratios[best],
        ends[best],
        certify(ends[best], thickest(ends[best])),
        starts,
        sum(ratio - ratios[best] < _AGREE for ratio in ratios.values()),
        tuple(sorted(ratios.values())),
    )


def _ratio(unit: Unit) -> float:
    return float(1.0 / unit.rings.wire_radii.mean() - 1.0)


def _grown(unit: Unit, seed: int) -> Unit:
    """The wire grown as thick as it gets; seed 0 starts from the placement itself."""
    start = unit if seed == 0 else shaken(unit, seed)
    return climb(start, thickest(start), tolerance=1e-10).unit


@contextmanager
def _workers(tasks: int) -> Iterator[ProcessPoolExecutor]:
    """A pool of processes that is emptied at once when the work is interrupted."""
    # Forked workers need not import anything again; elsewhere the system's own way is used.
    method = "fork" if sys.platform == "linux" else None
    pool = ProcessPoolExecutor(
        max_workers=max(1, min(tasks, multiprocessing.cpu_count())),
        mp_context=multiprocessing.get_context(method),
        initializer=_ignore_interrupt,
    )
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _ignore_interrupt() -> None:
    """Leave Ctrl-C to the parent, which stops the workers in an orderly way."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)


def settle(rule: WeaveRule, wire_radius: float, roomy: Unit | None = None) -> Settled | None:
    """Where the rings rest when the chain is pulled gently straight.

    Three starts (the rule's placement and two shaken ones) are brought to the
    wire, pulled to the longest repeat without overlap, and compared. Rings that
    are free to rattle leave many states of equal length; of these the one nearest
    to the rule's own placement is taken, so that symmetric rules stay symmetric.

    Parameters
    ----------
    rule : the weave
    wire_radius : in units of the core radius, 1 / (aspect ratio + 1)
    roomy : a state known to hold a wire at least this thick, to start from when the
        rule's own placement does not get there

    Returns
    -------
    Settled, or None when the wire fits from none of the starts.
    """
    placed = starting_unit(rule)
    links = linked_pairs(placed)
    starts = [placed, *(shaken(placed, seed) for seed in (1, 2))]
    pulled = [end for start in starts if (end := _pulled(start, wire_radius))]
    if not pulled and roomy is not None:
        pulled = [end for end in [_pulled(roomy, wire_radius)] if end]
    if not pulled:
        return None
    best = max(pulled, key=lambda end: round(end.unit.repeat, 7))
    unit = _tidied(best.unit, placed)
    _check_links(unit, links)
    agreed = sum(best.unit.repeat - end.unit.repeat < 1e-5 for end in pulled)
    return Settled(unit, certify(unit, longest(unit)), len(pulled), agreed)


def _pulled(start: Unit, wire_radius: float) -> Climb | None:
    """A start brought to the wire, then pulled to its longest repeat; None if it will not fit."""
    fitted = climb(start, thickest(start), enough=wire_radius).unit
    if fitted.rings.wire_radii.mean() < wire_radius * (1.0 - 1e-7):
        return None
    return climb(with_mean_wire(fitted, wire_radius), longest(fitted))


def _tidied(pulled: Unit, placed: Unit) -> Unit:
    """Of all states of this repeat, the one nearest to the rule's placement.

    The repeat is let out by a hair first, since at its very longest the loaded
    rings cannot move at all; afterwards it is pulled again, which moves the rings
    no more than that hair.
    """
    stretch = pulled.repeat / placed.repeat
    target = Rings(
        placed.rings.centres * np.array([stretch, 1.0, 1.0]),
        placed.rings.axes,
        placed.rings.core_radii,
        placed.rings.wire_radii,
    )
    slack = Unit(pulled.rings, pulled.lattice.with_values(pulled.lattice.values - 1e-7))
    near = climb(slack, nearest_to(target), tolerance=1e-9).unit
    return climb(near, longest(near), trust=1e-3, tolerance=1e-14).unit
