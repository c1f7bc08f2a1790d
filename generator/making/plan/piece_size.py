"""How many whole repeats a piece has for a wrist, an ankle, a neck, a finger or a length.

A chain has thickness, so closed round something it is shorter inside than it lies flat. For a band
of thickness t round a circle the loss is pi t (the inside of a bent band against its middle). A
chain's joints give a little, so the loss is computed: rings closed into a loop of whole repeats and
pulled to their widest (:func:`ringwright.movement.loops.closed_loop`). Between loops that were
computed it is read off a straight line over 1 / repeats, as the bend of each joint goes with that.
Every figure says which of these it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.answers.count_figures import safe_words
from ringwright.answers.verdict import Report
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import format_mm
from ringwright.movement.loops import FEWEST, closed_loop
from ringwright.piece.piece import MOST_RINGS, woven_piece
from ringwright.rest.counts import Count, counted_state, counted_unit, if_hung
from ringwright.rest.unit import lying_unit
from ringwright.weaves.rest_states import RestState

LENGTH, WRIST, ANKLE, NECK, FINGER = "length", "wrist", "ankle", "neck", "finger"

EASE_SOURCE = "common practice, no source"

# Worn flat, a chain bends about an axis across it.
_WORN = "up"
# So often the loops about a measure are looked for.
_ROUNDS = 8
MOST_SIZES = 40

COMPUTED = "computed: rings closed into a loop of this many repeats and pulled to their widest"
FLAT = "computed: repeats {counted}, end rings included"
FITTED = "approximation: the loss inside is read between loops that were computed"
BAND = "approximation: the loss inside is taken as pi times the thickness, as for a solid band"
_CLASP_BENDS = "; the clasp is taken to bend as the weave does"
_CLASP_ADDS = "; the clasp's length as you gave it"


@dataclass(frozen=True)
class Measure:
    """What a piece is to fit; lengths in millimetres.

    Attributes
    ----------
    place : ``length`` (finished, the clasp included) or where it is worn
    measure_mm : that length, or the bare measure round the body
    ease_mm : added to the measure; 0 for a length
    clasp_mm : what the closed clasp with its rings adds to the length; None for no clasp.
        A body measure without a clasp means a piece closed into itself
    ends_mm : what tapers at both ends add
    """

    place: str
    measure_mm: float
    ease_mm: float
    clasp_mm: float | None
    ends_mm: float = 0.0

    @property
    def wanted_mm(self) -> float:
        """What the piece is to measure: its inside round the body, or its finished length."""
        return self.measure_mm + self.ease_mm

    @property
    def endless(self) -> bool:
        """Whether the piece is closed into itself."""
        return self.place != LENGTH and self.clasp_mm is None

    def least_mm(self, taken: Sized) -> float:
        """How long a piece has to lie flat, of one of the neighbours at the most that one."""
        return taken.flat_mm - max(0.0, taken.reaches_mm - self.wanted_mm)


@dataclass(frozen=True)
class Sized:
    """A piece of whole repeats; lengths in millimetres.

    Attributes
    ----------
    flat_mm : over the end rings, pulled straight or, a sheet, spread; of a piece closed into
        itself all repeats
    finished_mm : that and the clasp
    inner_mm : round the inside when closed; None for a finished length
    lost_mm : how much shorter that is than ``finished_mm``; None for a finished length
    how : where the figure to judge by comes from
    """

    repeats: int
    flat_mm: float
    finished_mm: float
    inner_mm: float | None
    lost_mm: float | None
    how: str

    @property
    def reaches_mm(self) -> float:
        """What is compared with the size wanted."""
        return self.finished_mm if self.inner_mm is None else self.inner_mm


@dataclass(frozen=True)
class Sizing:
    """The two pieces of whole repeats next to a measure.

    Attributes
    ----------
    shorter : the longest that is not more than wanted; None where there is none
    longer : the shortest that is at least what is wanted
    repeat_mm : one repeat in the state that lengths are counted in
    state : that state
    if_hung : what a sheet takes that is to be as long as the longer one has to be, hung
    safe : which count is safe to buy by, in words
    """

    measure: Measure
    shorter: Sized | None
    longer: Sized
    repeat_mm: float
    state: RestState
    if_hung: tuple[Count, ...]
    safe: str


@dataclass(frozen=True)
class LoopLoss:
    """How much a closed loop loses inside against the same repeats lying flat.

    Attributes
    ----------
    loops : (repeats, loss in mm) of loops that were computed, in order
    thickness_mm : of the weave
    """

    loops: tuple[tuple[int, float], ...]
    thickness_mm: float

    def of(self, repeats: float) -> tuple[float, str]:
        """The loss in millimetres of a loop of this many repeats, and how it was found."""
        for known, lost_mm in self.loops:
            if known == repeats:
                return lost_mm, COMPUTED
        if not self.loops:
            return math.pi * self.thickness_mm, BAND
        # Along a straight line over 1 / repeats, and level outside the loops that are known.
        import numpy as np

        over, lost = np.array([[1.0 / known, lost_mm] for known, lost_mm in self.loops[::-1]]).T
        return float(np.interp(1.0 / repeats, over, lost)), FITTED


def checked_measure(
    place: str, measure_mm: float, ease_mm: float | None, clasp_mm: float | None
) -> Measure:
    """A measure with the usual ease where none is given.

    Raises
    ------
    BadInput
        When a finished length is given ease, or is no longer than its clasp.
    """
    if place == LENGTH:
        if ease_mm is not None:
            raise BadInput(
                "--ease is room over a bare wrist, ankle, neck or finger, and a finished length "
                "needs none; leave it out."
            )
        if clasp_mm is not None and clasp_mm >= measure_mm:
            raise BadInput(
                f"a finished length of {format_mm(measure_mm)} leaves nothing to weave beside a "
                f"clasp of {format_mm(clasp_mm)}; give a longer piece or a shorter clasp."
            )
    if ease_mm is None:
        ease_mm = defaults.EASE_MM.get(place, 0.0)
    return Measure(place, measure_mm, ease_mm, clasp_mm)


def sized(report: Report, measure: Measure, on_progress: Progress = quiet) -> Sizing:
    """The two neighbours of whole repeats for one measure.

    For a chain closed into itself both are computed loops.

    Raises
    ------
    BadInput
        When the weave has no repeats or cannot be closed into itself, or the piece would be
        shorter than one repeat or of more than 20,000 rings.
    """
    return _Sizer(report, on_progress).one(measure)


def graded(
    report: Report,
    measures: Sequence[Measure],
    on_progress: Progress = quiet,
) -> tuple[Sizing, ...]:
    """The same for a list of measures, from loops at the smallest and the largest of them.

    Raises
    ------
    BadInput
        As :func:`sized` does.
    """
    sizer = _Sizer(report, on_progress)
    ends = sorted(measures, key=lambda measure: measure.wanted_mm)
    for end in (ends[0], ends[-1]):
        sizer.learn(end, exactly=False)
    return tuple(sizer.between(measure) for measure in measures)


class _Sizer:
    """One settled weave, and the loops of it that were computed so far."""

    def __init__(self, report: Report, on_progress: Progress) -> None:
        if report.repeat_mm is None:
            raise BadInput(
                f"{report.rule.name} is a finished piece without repeats, so it has one size "
                "only; give no length or measure."
            )
        self._report = report
        self._scale = report.size.core_radius_mm
        unit = counted_unit(report.rule, report.unit)
        self._repeat_mm = unit.repeat * self._scale
        self._one_mm = woven_piece(report.rule, unit, self._scale, 1).length_mm()
        self._thickness_mm = report.thickness_mm or 0.0
        if report.rule.family.has_rows:
            self._thickness_mm = lying_unit(report.unit).thickness() * self._scale
        self._loops: dict[int, float | None] = {}
        self._on_progress = on_progress

    def one(self, measure: Measure) -> Sizing:
        """Both neighbours, computed as far as they can be."""
        self.learn(measure)
        return self.between(measure)

    def learn(self, measure: Measure, exactly: bool = True) -> None:
        """Compute the loops that decide on a measure: of both neighbours, or of one near them."""
        if measure.place == LENGTH or not self._report.rule.family.bends:
            return
        # The first guess is a solid band; a second round corrects it. Loops that do not close are
        # found out one by one.
        for _ in range(_ROUNDS):
            about = self._about(self.between(measure), measure)
            wanted = {about, about + 1} if measure.endless and exactly else {about}
            if wanted <= set(self._loops):
                return
            for done, repeats in enumerate(sorted(wanted)):
                self._on_progress("closing the loop", done, len(wanted))
                self._close(repeats)
            self._on_progress("closing the loop", len(wanted), len(wanted))

    def _about(self, found: Sizing, measure: Measure) -> int:
        """Repeats of the loop below the measure, the clasp counted as repeats."""
        one = found.shorter or found.longer
        if measure.endless:
            return max(self._fewest, one.repeats - (found.shorter is None))
        return max(self._fewest, round(one.finished_mm / self._repeat_mm))

    @property
    def _fewest(self) -> int:
        """The fewest repeats that may close: more than any that was found not to."""
        return 1 + max((n for n, lost in self._loops.items() if lost is None), default=FEWEST - 1)

    def _close(self, repeats: int) -> None:
        if repeats not in self._loops:
            loop = closed_loop(self._report.unit, _WORN, repeats)
            self._loops[repeats] = None if loop is None else loop.lost * self._scale

    def between(self, measure: Measure) -> Sizing:
        """Both neighbours by what is known of the loops so far."""
        self._refuse(measure)
        fewest = self._fewest if measure.endless else 1
        most = MOST_RINGS // (len(self._report.rule.rings) * self._report.rule.around)
        wanted_mm = measure.wanted_mm + 1e-9
        # More repeats reach further, so halving finds the last that is not too long.
        low, high = fewest - 1, most + 1
        while high - low > 1:
            middle = (low + high) // 2
            if self._sized(measure, middle).reaches_mm <= wanted_mm:
                low = middle
            else:
                high = middle
        if high > most:
            raise BadInput(
                f"{format_mm(measure.wanted_mm)} would take more than {MOST_RINGS} rings; ask for "
                "a smaller piece."
            )
        shorter = self._sized(measure, low) if low >= fewest else None
        if shorter is None and not measure.endless:
            self._refuse_short(measure)
        if shorter is not None and shorter.reaches_mm >= measure.wanted_mm - 1e-6:
            # It fits exactly: the same piece on both sides.
            return self._sizing(measure, shorter, shorter)
        return self._sizing(measure, shorter, self._sized(measure, high))

    def _sizing(self, measure: Measure, shorter: Sized | None, longer: Sized) -> Sizing:
        rule, unit = self._report.rule, self._report.unit
        hung = if_hung(rule, unit, self._scale, measure.least_mm(longer))
        safe = safe_words(rule, "repeats", longer.repeats, [one.repeats for one in hung])
        return Sizing(measure, shorter, longer, self._repeat_mm, counted_state(rule), hung, safe)

    def _sized(self, measure: Measure, repeats: int) -> Sized:
        flat_mm = self._one_mm + (repeats - 1) * self._repeat_mm + measure.ends_mm
        if measure.endless:
            flat_mm = repeats * self._repeat_mm
        finished_mm = flat_mm + (measure.clasp_mm or 0.0)
        clasped = measure.clasp_mm is not None
        if measure.place == LENGTH:
            how = FLAT.format(counted=counted_state(self._report.rule).said)
            how += _CLASP_ADDS if clasped else ""
            return Sized(repeats, flat_mm, finished_mm, None, None, how)
        bends = [(n, lost) for n, lost in sorted(self._loops.items()) if lost is not None]
        loss = LoopLoss(tuple(bends), self._thickness_mm)
        lost_mm, how = loss.of(repeats if measure.endless else finished_mm / self._repeat_mm)
        if clasped:
            how = (FITTED if how == COMPUTED else how) + _CLASP_BENDS
        return Sized(repeats, flat_mm, finished_mm, finished_mm - lost_mm, lost_mm, how)

    def _refuse(self, measure: Measure) -> None:
        rule = self._report.rule
        if measure.endless and rule.family.turns:
            raise BadInput(
                f"{rule.name} turns as it goes, so its ends need not meet when it is closed into "
                "itself; give --clasp with the length of its clasp."
            )

    def _refuse_short(self, measure: Measure) -> None:
        shortest = self._sized(measure, 1)
        if measure.wanted_mm < self._repeat_mm:
            raise BadInput(
                f"{format_mm(measure.wanted_mm)} is less than one repeat of "
                f"{self._report.rule.name} with its ends measures here, "
                f"{shortest.reaches_mm:.4g} mm; ask for that or more."
            )
