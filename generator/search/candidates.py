"""From an order of assembly to placements: several lays with just those links, best first."""

from __future__ import annotations

from concurrent.futures import as_completed
from dataclasses import dataclass, replace
from itertools import islice, product

import numpy as np

from ringwright.answers.verdict import Report, check
from ringwright.base import defaults
from ringwright.base.arrays import Floats
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.base.workers import worker_count, worker_pool
from ringwright.geometry.contact import Rings, carried
from ringwright.geometry.lattice import rotations
from ringwright.search.embed import Pattern, embedded, pattern
from ringwright.search.lays import Lay, agrees, grown, is_handed, same_lay, ties
from ringwright.solver.climb import Unit, climb, thickest
from ringwright.solver.measure import flattest
from ringwright.solver.passing import against
from ringwright.solver.placement import (
    linked_pairs,
    ring_radii,
    rough_unit,
    rule_lattice,
    rule_links,
)
from ringwright.weaves.rule import StepsRule, Vector, WeaveRule, without_placement

MOST_RINGS = 12
MOST_TRIES = 2000
MOST_WANTED = 24
# Of the images that rings of a tube can stand for, so many choices are tried.
MOST_CHOICES = 4096
# All wires hair-thin, in proportion, so that any placement holds them.
_THREAD = 1e-3
# Of the random starts, so many for each candidate wanted are looked into.
_GROWN = 4
# Digits of a placement in a rule file.
_DIGITS = 5


@dataclass(frozen=True, eq=False)
class Candidate:
    """A lay that was found.

    Attributes
    ----------
    number : counted from 1
    rule : the weave with this placement
    report : the check at the size asked for; None where no resting place was found
    trouble : why there is no report, or None
    found : how many random starts came to this lay, its mirror image counted in
    mirror_of : the number of the candidate that this is the mirror image of, or None
    """

    number: int
    rule: WeaveRule
    report: Report | None
    trouble: str | None
    found: int
    mirror_of: int | None

    @property
    def unit(self) -> Unit:
        """The unit to look at: at rest where the size can be woven, else at its tightest."""
        if self.report is None:
            raise NoRest(f"candidate {self.number} has no resting place")
        settled = self.report.settled
        return self.report.tightest.unit if settled is None else settled.unit


@dataclass(frozen=True, eq=False)
class Candidates:
    """What a search found.

    Attributes
    ----------
    listed : the candidates, those with the smallest aspect ratio first, a mirror image
        right after what it is the mirror image of
    tries, placed : random starts, and how many of them came to the right links
    lays : how many lays the most promising of those were sorted into
    """

    listed: tuple[Candidate, ...]
    tries: int
    placed: int
    lays: int


def find_candidates(
    rule: StepsRule,
    size: RingSize,
    on_progress: Progress,
    wanted: int = defaults.CANDIDATES,
    tries: int = defaults.RANDOM_STARTS,
    workers: int | None = None,
) -> Candidates:
    """Placements with exactly the links of a rule.

    Random starts with the right links are grown to their tightest and sorted into lays;
    each lay, the tightest first, is then checked at the size as any weave is.

    Parameters
    ----------
    size : the main ring
    wanted, tries : at most so many candidates, from so many random starts
    workers : processes, one per core if None; with 0 all is done in this one

    Raises
    ------
    BadInput
        When the unit has more than 12 rings, a number is out of range, or no start came to
        the right links.
    """
    _check_asked(rule, wanted, tries)
    core, wire = ring_radii(rule, size)
    links = set(rule_links(rule))
    thin = core, wire * (_THREAD / wire.max())
    want = pattern(thin, (rule.family.lattice, rule.around), links, ties(rule))
    main = [ring.size is None for ring in rule.rings].index(True)
    found = [
        unit
        for unit in _random_starts(want, links, tries, on_progress, workers)
        if agrees(rule, unit)
    ]
    if not found:
        lay = "links and the lay" if want.ties else "links"
        raise BadInput(
            f"none of {tries} random starts came to the {lay} of {rule.name}; give more --tries, "
            f"or check whether round rings can be linked{' and laid' * bool(want.ties)} like that."
        )

    def promise(unit: Unit) -> tuple[bool, float]:
        told = _as_told(_placed(rule, unit), size) is not None
        return told, float(unit.rings.wire_radii[main])

    best = sorted(found, key=promise, reverse=True)
    sets = _sorted_into_lays(_grown(best[: _GROWN * wanted], main, on_progress, workers))
    groups: list[tuple[Lay, list[Candidate]]] = []
    for lays in sets:
        count = sum(len(hands) for _, hands in groups)
        if count >= wanted:
            break
        on_progress("lays", count, wanted)
        laid = _as_told(_placed(rule, lays[0].unit), size)
        if laid is None:
            continue
        candidate = _candidate(size, laid, len(lays), workers)
        if any(_alike(candidate, lays[0], hands[0], lay) for lay, hands in groups):
            continue
        hands = [candidate]
        other = _other_hand(candidate.rule, size)
        if count + 1 < wanted and other is not None and is_handed(lays):
            hands.append(_candidate(size, other, len(lays), workers))
        groups.append((lays[0], hands))
    on_progress("lays", wanted, wanted)
    if not groups:
        raise BadInput(
            f"none of the {len(sets)} lays found has the rings of {rule.name} over and under one "
            "another as the steps say; give more --tries, or check whether they can lie like that."
        )
    return Candidates(_in_order([hands for _, hands in groups]), tries, len(found), len(sets))


def _in_order(groups: list[list[Candidate]]) -> tuple[Candidate, ...]:
    """All candidates, numbered: the tightest first, of equally tight ones the longest."""
    listed: list[Candidate] = []
    for hands in sorted(groups, key=lambda hands: _rank(hands[0])):
        first = len(listed) + 1
        listed.append(replace(hands[0], number=first))
        listed += [replace(hand, number=first + 1, mirror_of=first) for hand in hands[1:]]
    return tuple(listed)


def _rank(candidate: Candidate) -> tuple[float, float]:
    report = candidate.report
    if report is None:
        return float("inf"), 0.0
    return round(report.tightest.aspect_ratio, 3), -round(report.repeat_mm or 0.0, 3)


def _check_asked(rule: StepsRule, wanted: int, tries: int) -> None:
    if len(rule.rings) > MOST_RINGS:
        raise BadInput(
            f"{rule.name} has {len(rule.rings)} rings in a repeat, and placements are found for "
            f"at most {MOST_RINGS}; give its rings a rough placement yourself."
        )
    if not 1 <= wanted <= MOST_WANTED:
        raise BadInput(f"--candidates {wanted} is outside 1 to {MOST_WANTED}; give one between.")
    if not 1 <= tries <= MOST_TRIES:
        raise BadInput(f"--tries {tries} is outside 1 to {MOST_TRIES}; give one between.")


def _random_starts(
    want: Pattern,
    links: set[tuple[int, int, tuple[int, int]]],
    tries: int,
    on_progress: Progress,
    workers: int | None,
) -> list[Unit]:
    """Random units with the right links, in about the thickest wire, in order of their seeds."""
    with worker_pool(worker_count(workers, tries)) as pool:
        tasks = {pool.submit(_one_start, want, links, seed): seed for seed in range(tries)}
        ends = {}
        for task in as_completed(tasks):
            ends[tasks[task]] = task.result()
            on_progress("random starts", len(ends), tries)
    return [unit for seed in range(tries) if (unit := ends[seed]) is not None]


def _one_start(
    want: Pattern, links: set[tuple[int, int, tuple[int, int]]], seed: int
) -> Unit | None:
    unit = embedded(want, seed)
    # The search looks at a few images only; here all are.
    if unit is None or set(linked_pairs(unit)) != links:
        return None
    return climb(unit, thickest(unit), rounds=60, tolerance=1e-4).unit


def _grown(units: list[Unit], main: int, on_progress: Progress, workers: int | None) -> list[Lay]:
    """The most promising units grown to their tightest."""
    with worker_pool(worker_count(workers, len(units))) as pool:
        tasks = {pool.submit(grown, unit, main): place for place, unit in enumerate(units)}
        lays = {}
        for task in as_completed(tasks):
            lays[tasks[task]] = task.result()
            on_progress("tightest rings", len(lays), len(units))
    return [lays[place] for place in range(len(units))]


def _sorted_into_lays(found: list[Lay]) -> list[list[Lay]]:
    """Sets of placements of one lay, the tightest set and placement first."""
    sets: list[list[Lay]] = []
    # Of equally tight ones, a weave pulled straight is what a maker is after.
    for lay in sorted(found, key=lambda lay: (round(lay.aspect_ratio, 3), -round(lay.repeat, 2))):
        for others in sets:
            if same_lay(others[0], lay):
                others.append(lay)
                break
        else:
            sets.append([lay])
    return sets


def _candidate(size: RingSize, placed: WeaveRule, found: int, workers: int | None) -> Candidate:
    try:
        return Candidate(0, placed, check(placed, size, workers=workers), None, found, None)
    except NoRest as trouble:
        return Candidate(0, placed, None, trouble.typed, found, None)


def _placed(rule: StepsRule, unit: Unit) -> WeaveRule:
    """The rule with a unit's places, laid flat and rounded."""
    unit = laid_flat(unit)
    digits: list[tuple[Vector, Vector]] = [
        (_vector(centre), _vector(axis))
        for centre, axis in zip(unit.rings.centres, unit.rings.axes, strict=True)
    ]
    values = [round(float(value), _DIGITS) for value in unit.lattice.values]
    if not rule.family.repeats:
        return rule.placed(digits, (), 0.0)
    if rule.family.has_rows:
        return rule.placed(digits, ((values[0], 0.0, 0.0), (values[1], values[2], 0.0)), 0.0)
    # As a rule file tells it: in degrees, once round at most.
    turn = round(float(np.degrees(values[1])), _DIGITS) if rule.family.turns else 0.0
    turn = (turn + 180.0) % 360.0 - 180.0
    return rule.placed(digits, ((values[0], 0.0, 0.0),), float(np.radians(turn)))


def _vector(values: Floats) -> Vector:
    x, y, z = (round(float(value), _DIGITS) + 0.0 for value in values)
    return x, y, z


def laid_flat(unit: Unit) -> Unit:
    """The same unit about the origin, a chain or piece with its thin side up."""
    rings, kind = unit.rings, unit.lattice.kind
    centres, axes = rings.centres, rings.axes
    if not kind.repeats:
        _, along = np.linalg.eigh(np.cov(centres.T) if len(centres) > 1 else np.eye(3))
        turn = along[:, ::-1].T
        turn[2] *= np.linalg.det(turn)
        centres, axes = (centres - centres.mean(axis=0)) @ turn.T, axes @ turn.T
    middle = centres.mean(axis=0)
    if kind.turns:
        # These turn about x, which has to stay where it is.
        middle = middle * np.array([1.0, 0.0, 0.0])
    centres = centres - middle
    if kind.is_flat and not kind.has_rows:
        laid = Rings(centres, axes, rings.core_radii, rings.wire_radii)
        turn = rotations(np.array([1.0, 0.0, 0.0]), np.array([-flattest(laid)]))[0]
        centres, axes = centres @ turn.T, axes @ turn.T
    return Unit(Rings(centres, axes, rings.core_radii, rings.wire_radii), unit.lattice)


def _alike(one: Candidate, one_lay: Lay, other: Candidate, other_lay: Lay) -> bool:
    """Whether two lays, once checked from many starts, come to the same after all."""
    if one.report is None or other.report is None or one_lay.signs != other_lay.signs:
        return False
    a, b = one.report, other.report
    return (
        abs(a.tightest.aspect_ratio - b.tightest.aspect_ratio) < 1e-3
        and abs((a.repeat_mm or 0.0) - (b.repeat_mm or 0.0)) < 1e-3 * a.size.core_radius_mm
    )


def _as_told(rule: WeaveRule, size: RingSize) -> WeaveRule | None:
    """A placement that lies as the steps say, turned over if need be; None where neither does."""
    ways = [rule]
    if not rule.family.has_rows:
        # About x, which is the one turn that leaves every other family's repeats as they are.
        over = [((x, -y, -z), (a, -b, -c)) for (x, y, z), (a, b, c) in places_of(rule)]
        ways.append(without_placement(rule).placed(over, rule.repeat_vectors, rule.turn))
    return next((way for way in ways if against(way, rough_unit(way, size)) is None), None)


def _other_hand(rule: WeaveRule, size: RingSize) -> WeaveRule | None:
    """The mirror image as the steps say it; None where the steps fit one hand only."""
    told = as_linked(mirror_image(rule), size)
    return None if told is None else _as_told(told, size)


def as_linked(rule: WeaveRule, size: RingSize) -> WeaveRule | None:
    """A mirror image with each ring of a tube that image which has the links listed.

    A mirror counts the images around a tube the other way, so a ring that went through its
    neighbour's image on the left now goes through that on the right.

    Returns
    -------
    None where no choice of images, of the first ``MOST_CHOICES`` ones, has the links
    """
    links, lattice = set(rule_links(rule)), rule_lattice(rule)
    centres, axes = map(np.array, zip(*places_of(rule), strict=True))
    # The whole tube may be turned, so the first ring can stay where it is.
    choices = product((0,), *(range(rule.around) for _ in rule.rings[1:]))
    for around in islice(choices, MOST_CHOICES):
        images = np.array([(0, k2) for k2 in around])
        places = [
            (_vector(centre), _vector(axis))
            for centre, axis in zip(*carried(centres, axes, images, lattice), strict=True)
        ]
        told = without_placement(rule).placed(places, rule.repeat_vectors, rule.turn)
        if set(linked_pairs(rough_unit(told, size))) == links:
            return told
    return None


def mirror_image(rule: WeaveRule) -> WeaveRule:
    """The rule with its placement seen in a mirror that lies on the table."""
    places = [((x, y, -z), (a, b, -c)) for (x, y, z), (a, b, c) in places_of(rule)]
    return without_placement(rule).placed(places, rule.repeat_vectors, -rule.turn)


def places_of(rule: WeaveRule) -> list[tuple[Vector, Vector]]:
    """Centre and axis of each ring."""
    return [(ring.centre, ring.axis) for ring in rule.rings]
