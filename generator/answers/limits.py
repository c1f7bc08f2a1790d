"""Everything about how far a weave goes at one size: play, eyes, bends, assembly, load."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from ringwright.answers.verdict import Report
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize
from ringwright.base.workers import worker_count, worker_pool
from ringwright.geometry.contact import close_pairs
from ringwright.geometry.speed import expect
from ringwright.movement.assembly import StepWay, way_in
from ringwright.movement.bend import AXES, Bend, joint_bends, tightest_bends
from ringwright.movement.eye import Eye, eye_left, of_all_alike
from ringwright.movement.loads import LEAST, Load, contacts_loaded, loads, pushes_slant
from ringwright.movement.loops import Loop, closed_loops, smallest_loops
from ringwright.movement.play import Play, crumpled, guided
from ringwright.movement.symmetry import Symmetry, alike, is_even, symmetries
from ringwright.solver.climb import Unit
from ringwright.solver.placement import placed_unit
from ringwright.weaves.rule import WeaveRule

# What is asked, and of which direction, ring, step or length.
_Key = tuple[str, str | int]
_ALL = "all"
# Each process looks at the gaps of all pairs this near, in core radii, about so many times.
_FAR, _LOOKS = 1.8, 2000


@dataclass(frozen=True)
class Given:
    """How far one length of a weave gives: guided straight while it is pushed, and crumpled."""

    guided: Play
    crumpled: Play


@dataclass(frozen=True, eq=False)
class Limits:
    """How far a weave goes; lengths in units of the main ring's core radius.

    Attributes
    ----------
    play : of the repeat along x; None for a piece without repeats
    across : the same of a sheet's rows along y; None for anything but a sheet
    eyes : of each ring, in the rule's order
    alike : the rings, those together that lie alike
    bends, joints : the tightest all along and at one joint, up and sideways, for a chain;
        else empty
    loops : the smallest closed ring in each of these directions that closes
    bracelets : a closed ring of as many repeats as were asked for, in each direction
    steps : the way in that was found at this size for the ring of each step
    loads : the contacts that bear the pull, those that lie alike together, the most loaded first
    slanted : whether rings push on each other at a slant
    """

    report: Report
    play: Given | None
    across: Given | None
    eyes: tuple[Eye, ...]
    alike: tuple[tuple[int, ...], ...]
    bends: tuple[Bend, ...]
    joints: tuple[Bend, ...]
    loops: tuple[tuple[str, Loop], ...]
    bracelets: tuple[tuple[str, Loop | None], ...]
    steps: tuple[StepWay, ...]
    loads: tuple[Load, ...]
    slanted: bool

    @property
    def working_aspect_ratio(self) -> float | None:
        """The smallest aspect ratio at which a way in was found for every ring, if there is one."""
        return self.report.limits.working

    def load_path(self) -> list[tuple[str, str, tuple[int, int], float]]:
        """Which rings press on each other when the weave is pulled: names, image, force.

        The force is a share of the pull; contacts under a thousandth of it are left out.
        """
        settled = self.report.settled
        if settled is None or self.play is None:
            return []
        names = [ring.name for ring in self.report.rule.rings]
        return [
            (names[i], names[j], image, force)
            for (i, j, image), force in contacts_loaded(settled).items()
            if force > LEAST
        ]


@dataclass(frozen=True, eq=False)
class Helpers:
    """Processes that answer questions with this one; ``count`` may be 0."""

    pool: Executor
    count: int


@contextmanager
def helpers(rule: WeaveRule, size: RingSize, workers: int | None) -> Iterator[Helpers]:
    """Helpers for a weave, started while it is still being settled.

    Parameters
    ----------
    workers : how many processes answer, one per core if None; with 0 this one alone
    """
    # Two questions at most about each ring, and some about all of them.
    count = max(worker_count(workers, 2 * len(rule.rings) + 4) - 1, 0)
    with worker_pool(count) as pool:
        if count:
            work = _work(placed_unit(rule, size))
            for _ in range(count):
                pool.submit(_begun, work)
        yield Helpers(pool, count)


def _work(unit: Unit) -> int:
    """About how much each process has to do, as for ``expect``."""
    return len(close_pairs(unit.rings, _FAR, unit.lattice).first) * _LOOKS


def _begun(work: int) -> None:
    """What a helper does first: it loads this module, and what so much work is worth loading."""
    expect(work)


def limits(
    report: Report,
    on_progress: Progress,
    helping: Helpers,
    repeats: int | None = None,
) -> Limits:
    """Ask every question of a settled weave.

    Parameters
    ----------
    report : of a size that can be woven
    on_progress : called with (what, done, of)
    helping : of :func:`helpers`
    repeats : also close a chain of so many into a bracelet, 3 or more
    """
    unit, rule, settled = report.unit, report.rule, report.settled
    # Of the rule's placement: what rests may lean a little to one side, and has the same lay.
    same = symmetries(placed_unit(rule, report.size))
    groups = alike(same)
    ways = _ways(unit, same)
    asked = _questions(report, groups, ways, repeats, is_even(same))
    found = _answered(asked, _work(unit), on_progress, helping)
    bends, joints, loops, bracelets = [], [], [], []
    for number, directions in enumerate(ways):
        joint, smallest = (each[number] for each in found["loop", _ALL])
        for direction in directions:
            bends.append(replace(found["bend", _ALL][number], direction=direction))
            joints.append(replace(joint, direction=direction))
            loops += [] if smallest is None else [(direction, smallest)]
            if repeats is not None:
                bracelets.append((direction, found["bracelet", _ALL][number]))
    steps = tuple(found["step", number] for number in range(len(rule.steps)))
    along = _given(found, 0)
    pulled = settled is not None and along is not None
    return Limits(
        report=_judged_by(report, steps),
        play=along,
        across=_given(found, 2),
        eyes=of_all_alike([found["eye", group[0]] for group in groups], groups),
        alike=tuple(tuple(group) for group in groups),
        bends=tuple(bends),
        joints=tuple(joints),
        loops=tuple(loops),
        bracelets=tuple(bracelets),
        steps=steps,
        loads=loads(settled, same) if settled is not None and pulled else (),
        slanted=settled is not None and pulled and pushes_slant(settled),
    )


def _questions(
    report: Report,
    groups: Sequence[Sequence[int]],
    ways: Sequence[list[str]],
    repeats: int | None,
    even: bool,
) -> dict[_Key, Callable[[], Any]]:
    """All there is to ask, none hanging on another's answer; those that take longest first."""
    unit, rule = report.unit, report.rule
    asked: dict[_Key, Callable[[], Any]] = {}
    # Directions are asked about together: what climbs side by side takes less time.
    directions = [one for one, *_ in ways]
    if directions:
        asked["loop", _ALL] = partial(_joints_and_loops, unit, directions, even)
        if repeats is not None:
            asked["bracelet", _ALL] = partial(
                closed_loops, unit, [(direction, repeats) for direction in directions], even
            )
    values = unit.lattice.kind.distances
    for value in values:
        asked["crumpled", value] = partial(crumpled, unit, value)
    for group in groups:
        asked["eye", group[0]] = partial(eye_left, unit, group[0])
    if directions:
        asked["bend", _ALL] = partial(tightest_bends, unit, directions, even)
    for number in range(len(rule.steps)):
        asked["step", number] = partial(way_in, rule, report.size, report.tightest, number)
    for value in values:
        asked["guided", value] = partial(guided, unit, value)
    return asked


def _answered(
    asked: dict[_Key, Callable[[], Any]], work: int, on_progress: Progress, helping: Helpers
) -> dict[_Key, Any]:
    """The answers to all questions, whichever was ready first; ``work`` as for ``expect``.

    This process is one of those that answer: it takes the questions from behind, and a helper
    gets the next one from the front as soon as it is free.
    """
    total = len(asked)
    answers: dict[_Key, Any] = {}
    left = deque(asked)
    handed: dict[Future[Any], _Key] = {}
    taking = threading.Lock()

    def hand(_: Future[Any] | None = None) -> None:
        with taking:
            if not left:
                return
            key = left.popleft()
            try:
                one = helping.pool.submit(_answer, asked[key], work)
            except RuntimeError:
                # The helper is gone, which its own question tells; this one is still to be asked.
                left.appendleft(key)
                return
            handed[one] = key
        # With the lock let go: of what is done already this calls at once.
        one.add_done_callback(hand)

    on_progress("limits", 0, total)
    for _ in range(helping.count):
        hand()
    while True:
        with taking:
            key = left.pop() if left else None
        if key is None:
            break
        answers[key] = _answer(asked[key], work)
        on_progress("limits", len(answers) + sum(map(Future.done, list(handed))), total)
    for one in as_completed(handed):
        answers[handed[one]] = one.result()
        on_progress("limits", len(answers), total)
    return answers


def _answer(question: Callable[[], Any], work: int) -> Any:
    expect(work)
    return question()


def _joints_and_loops(
    unit: Unit, directions: Sequence[str], even: bool
) -> tuple[list[Bend], list[Loop | None]]:
    """The bends of one joint, and the smallest closed rings, which are looked for from there."""
    joints = joint_bends(unit, directions, even)
    return joints, smallest_loops(unit, joints, even)


def _given(found: dict[_Key, Any], value: int) -> Given | None:
    if ("guided", value) not in found:
        return None
    return Given(found["guided", value], found["crumpled", value])


def _ways(unit: Unit, same: Sequence[Symmetry]) -> list[list[str]]:
    """The directions in which a chain bends, those together that are alike; none for others."""
    if not unit.lattice.kind.is_straight:
        return []
    up, sideways = AXES.values()
    if any(abs(abs(sideways @ one.turn @ up) - 1.0) < 1e-6 for one in same):
        return [list(AXES)]
    return [[direction] for direction in AXES]


def _judged_by(report: Report, steps: Sequence[StepWay]) -> Report:
    """The report with what was found now: where every ring goes in, this size can be worked."""
    working, here = report.limits.working, report.size.aspect_ratio
    if any(step.way is None for step in steps) or (working is not None and working <= here):
        return report
    return replace(report, limits=replace(report.limits, working=here))
