"""One weave at many sizes: which sizes to ask, and everything there is to say about each."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypedDict

import numpy as np

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.minimums import with_other_shapes
from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.second_figures import said_rings
from ringwright.answers.verdict import Report, check
from ringwright.base import defaults
from ringwright.base.errors import BadInput, NoRest
from ringwright.base.sizes import RingSize, format_mm, parse_length
from ringwright.movement.play import guided
from ringwright.rest.measures import lying_measures
from ringwright.solver.climb import Unit
from ringwright.solver.placement import ring_radii
from ringwright.solver.tightest import Tightest, has_one_limit, known_tightest
from ringwright.weaves.rest_states import PULLED, RestState
from ringwright.weaves.rule import WeaveRule

NO_REST = "closes, but no resting position was found"
# A day's work for a small machine, and more than a table or a map can show.
MOST_SIZES = 2000
MOST_ACROSS = 40
# Of what is measured on rings as they lie: below is the solver's own tolerance.
_PLACES = 4


@dataclass(frozen=True)
class Sweep:
    """A weave and the sizes asked for.

    Attributes
    ----------
    sizes : over aspect ratios, from small to large; for a grid, wire by wire, each with
        all inner diameters, both from small to large
    wires, inners : for a grid, how the maker wrote the wires and inner diameters, in
        the order of ``sizes``; empty for a sweep over aspect ratios
    state : that every size is measured in besides; pulled straight is measured in any case
    """

    rule: WeaveRule
    sizes: tuple[RingSize, ...]
    wires: tuple[str, ...] = ()
    inners: tuple[str, ...] = ()
    state: RestState = PULLED

    @property
    def is_grid(self) -> bool:
        """Whether this is a grid of wires and inner diameters."""
        return bool(self.wires)

    @property
    def has_one_limit(self) -> bool:
        """Whether the tightest ring is the same at every size."""
        return has_one_limit(self.rule)

    def fingerprint(self) -> str:
        """A text that is the same only for the same rule (wherever its file lies) and question."""
        # What its file keeps belongs to it: verdicts use the working minimum.
        asked: tuple[object, ...] = (replace(self.rule, path=Path()), self.sizes)
        if self.state != PULLED:
            asked += (self.state.name,)
        if self.state.body is not None:
            asked += (self.state.said, self.state.body.ratio)
        return hashlib.sha256(repr(asked).encode()).hexdigest()


@dataclass(frozen=True)
class Row:
    """What there is to say about one size; None for what a weave does not have there.

    Attributes
    ----------
    wire_mm ... thickness_mm : as ``ringwright check --json`` gives them
    play_percent : how much shorter than pulled straight the weave gets when it is pushed and
        guided straight, see :func:`ringwright.movement.play.guided`
    rings_per_m : rings in a metre of the chain pulled straight (of a sheet: of one row
        of repeats)
    wire_mm_per_m : wire in those rings, along its middle, without what saws and ends take
    metal_mm3_per_m : volume of those rings
    other_rings : wire and inner diameter of the rings of every other size, by name
    kkt_residual : how far the resting place is from a proved one, see
        :mod:`ringwright.solver.certify`
    working_min_aspect_ratio : the working minimum that the verdict uses, if there is one
    lying_width_mm, lying_thickness_mm, area_per_ring_mm2, lying_settled : how it lies or hangs in
        the state asked for, see :class:`ringwright.rest.measures.LyingMeasures`
    """

    wire_mm: float
    inner_mm: float
    aspect_ratio: float
    verdict: str
    can_be_woven: bool | None
    min_aspect_ratio: float
    room_mm: float
    smallest_gap_mm: float | None = None
    repeat_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    play_percent: float | None = None
    rings_per_m: float | None = None
    wire_mm_per_m: float | None = None
    metal_mm3_per_m: float | None = None
    kkt_residual: float | None = None
    working_min_aspect_ratio: float | None = None
    other_rings: str = ""
    lying_width_mm: float | None = None
    lying_thickness_mm: float | None = None
    area_per_ring_mm2: float | None = None
    lying_settled: bool | None = None


_FROM_CHECK = (
    *("wire_mm", "inner_mm", "aspect_ratio", "verdict", "can_be_woven", "min_aspect_ratio"),
    *("room_mm", "smallest_gap_mm", "repeat_mm", "width_mm", "thickness_mm"),
    "working_min_aspect_ratio",
)


def over_ratios(
    rule: WeaveRule, wire: str, low: str, high: str, steps: int = defaults.SWEEP_STEPS
) -> Sweep:
    """A sweep over equally spaced aspect ratios, both ends included.

    Parameters
    ----------
    wire, low, high : as a person types them
    steps : how many sizes

    Raises
    ------
    BadInput
        When a size cannot be read, a ratio is outside 1 to 50, or the range is empty.
    """
    first, last = (RingSize.from_text(wire, None, text) for text in (low, high))
    if not 2 <= steps <= MOST_SIZES:
        raise BadInput(f"--steps {steps} is outside 2 to {MOST_SIZES}; give a number between.")
    if first.inner_mm >= last.inner_mm:
        raise BadInput(
            f"--ratio-from {low.strip()} is not below --ratio-to {high.strip()}; give the "
            "smaller ratio first."
        )
    # Rounded so that a ratio of 2.55 is the same number here as when it is typed.
    ratios = np.linspace(first.aspect_ratio, last.aspect_ratio, steps).round(12).tolist()
    return Sweep(rule, tuple(RingSize(first.wire_mm, ratio * first.wire_mm) for ratio in ratios))


def over_grid(rule: WeaveRule, wires: str, inners: str) -> Sweep:
    """A sweep over every wire with every inner diameter.

    Parameters
    ----------
    wires, inners : lists with commas, as a person types them

    Raises
    ------
    BadInput
        When a size cannot be read or is there twice, or an aspect ratio is outside 1 to 50.
    """
    wire_texts, inner_texts = _listed(wires, "wire"), _listed(inners, "inner diameter")
    sizes = [RingSize.from_text(wire, inner, None) for wire in wire_texts for inner in inner_texts]
    return Sweep(rule, tuple(sizes), wire_texts, inner_texts)


def _listed(texts: str, what: str) -> tuple[str, ...]:
    """The lengths of a list, from small to large."""
    by_mm: dict[float, str] = {}
    for text in map(str.strip, texts.split(",")):
        length_mm = parse_length(text, what)
        if length_mm in by_mm:
            raise BadInput(
                f"{what} {text!r} is in the list twice ({format_mm(length_mm)}); leave one out."
            )
        by_mm[length_mm] = text
    if len(by_mm) > MOST_ACROSS:
        raise BadInput(
            f"the list has {len(by_mm)} lengths for the {what}, but a grid takes at most "
            f"{MOST_ACROSS}; ask for fewer at a time."
        )
    return tuple(by_mm[length_mm] for length_mm in sorted(by_mm))


def row(rule: WeaveRule, size: RingSize, limit: Tightest | None, state: RestState = PULLED) -> Row:
    """Everything about one size.

    It depends on nothing but the arguments: no size is started from a neighbour's resting
    place, since among the many states of equal length that would lead to another one, of
    another width, than ``ringwright check`` finds.

    Parameters
    ----------
    limit : the tightest ring, or None to find it here, in this process
    state : that it is measured in besides

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    """
    limit = limit or tightest_alone(rule, size)
    try:
        report = check(rule, size, limit=limit)
    except NoRest:
        return _without_rest(rule, size, limit)
    figures = CheckFigures.of(report)
    known = {key: getattr(figures, key) for key in _FROM_CHECK}
    if report.settled is None:
        return Row(**known, other_rings=_other_rings(rule, size))
    return Row(
        **known,
        play_percent=_play_percent(report.unit),
        **_per_metre(rule, size, report.repeat_mm),
        kkt_residual=_digits(report.settled.certificate.residual, 3),
        other_rings=_other_rings(rule, size),
        **(_lying(report, state) if state != PULLED and report.can_be_woven else {}),
    )


class _Lying(TypedDict, total=False):
    lying_width_mm: float | None
    lying_thickness_mm: float
    area_per_ring_mm2: float | None
    lying_settled: bool


def _lying(report: Report, state: RestState) -> _Lying:
    """How a size lies or hangs; nothing where it did not come to rest so."""
    try:
        found = lying_measures(report.rule, report.unit, report.size.core_radius_mm, state)
    except NoRest:
        return {"lying_settled": False}
    return {
        "lying_width_mm": _rounded(found.width_mm),
        "lying_thickness_mm": round(found.thickness_mm, _PLACES),
        "area_per_ring_mm2": _rounded(found.area_per_ring_mm2),
        "lying_settled": found.settled,
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, _PLACES)


def tightest_alone(rule: WeaveRule, size: RingSize) -> Tightest:
    """The tightest ring, found in this process alone: a worker may not start any of its own."""
    return known_tightest(rule, size, workers=0)


def tightest_of_all(rule: WeaveRule, sizes: Sequence[RingSize]) -> Tightest:
    """The tightest ring for all these sizes, in this process alone."""
    return with_other_shapes(rule, sizes, tightest_alone(rule, sizes[-1]))


def _without_rest(rule: WeaveRule, size: RingSize, limit: Tightest) -> Row:
    room_mm = 2 * size.core_radius_mm / (limit.aspect_ratio + 1) - size.wire_mm
    return Row(
        wire_mm=round(size.wire_mm, 9),
        inner_mm=round(size.inner_mm, 9),
        aspect_ratio=round(size.aspect_ratio, 9),
        verdict=NO_REST,
        can_be_woven=None,
        min_aspect_ratio=round(limit.aspect_ratio, 7),
        room_mm=round(room_mm, 9),
        other_rings=_other_rings(rule, size),
    )


def _other_rings(rule: WeaveRule, size: RingSize) -> str:
    return "; ".join(said_rings(rule, size))


def _play_percent(unit: Unit) -> float | None:
    """How far a settled unit gives along x."""
    if not len(unit.lattice.values):
        return None
    # Below the seventh decimal the solver's own tolerance shows.
    return round(guided(unit).percent, 6) + 0.0


class _PerMetre(TypedDict, total=False):
    rings_per_m: float
    wire_mm_per_m: float
    metal_mm3_per_m: float


def _per_metre(rule: WeaveRule, size: RingSize, repeat_mm: float | None) -> _PerMetre:
    if repeat_mm is None:
        return {}
    repeats = 1000.0 / repeat_mm
    length_mm, volume_mm3 = (rule.around * amount for amount in metal(rule, size))
    return {
        "rings_per_m": _digits(rule.rings_per_repeat * repeats),
        "wire_mm_per_m": _digits(length_mm * repeats),
        "metal_mm3_per_m": _digits(volume_mm3 * repeats),
    }


def metal(rule: WeaveRule, size: RingSize) -> tuple[float, float]:
    """Wire and metal in the rings that a rule names; a tube has them ``around`` times a repeat.

    A ring's wire is 2 pi R long along its middle; its volume is that times the wire's
    cross-section, 2 pi^2 R r^2 (Pappus).

    Returns
    -------
    length_mm, volume_mm3
    """
    core, wire = (radii * size.core_radius_mm for radii in ring_radii(rule, size))
    length_mm = 2 * np.pi * core
    return float(length_mm.sum()), float((length_mm * np.pi * wire**2).sum())


def _digits(value: float, digits: int = 9) -> float:
    return float(f"{value:.{digits}g}")


def one_limit(rows: Sequence[Row]) -> float | None:
    """The smallest aspect ratio of the weave, where it is the same in all rows."""
    limits = {row.min_aspect_ratio for row in rows}
    return limits.pop() if len(limits) == 1 else None


def limits_of_all(sweep: Sweep, rows: Sequence[Row]) -> RatioLimits | None:
    """What the verdicts were taken from, where it is the same in all rows that have one."""
    judged = {
        (row.min_aspect_ratio, row.working_min_aspect_ratio)
        for row in rows
        if row.can_be_woven is not None
    }
    if len(judged) != 1:
        return None
    return RatioLimits(*judged.pop(), sweep.rule.common_aspect_ratio)
