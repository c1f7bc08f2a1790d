"""What to do about a size, in sentences: what is amiss, and which rings or wire to take."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

from ringwright.answers.ratio_limits import (
    AT_LIMIT,
    CANNOT,
    LOOSE,
    RING_LARGER,
    RING_LARGEST,
    VERY_TIGHT,
    WIRE_OFF,
    WORKING,
    RatioLimits,
)
from ringwright.answers.report_second import if_measured, second_advice
from ringwright.answers.verdict import Report
from ringwright.base.sizes import Gauge, RingSize, format_mm, gauges_between
from ringwright.base.wording import counted, spanned

# More gauges than this are not read any more.
_MOST_GAUGES = 4
# Rings short by no more than this part are such as somebody may be weaving all the same.
_NEARLY = 0.07
# Nor are more pairs of rings that overlap; JSON has them all.
_MOST_PAIRS = 4
_MEASURE = "measure ten of them, closed"
_WHY_MEASURE = (
    f"Rings are mostly sold by the size of their mandrel and come out larger, by "
    f"{100 * RING_LARGER:g} % or more from hard wire; wire is drawn to within "
    f"{100 * WIRE_OFF:g} % (ASTM B1)."
)

Span = tuple[float, float]


class Lengths(Protocol):
    """How lengths are said to the maker."""

    def length(self, length_mm: float) -> str:
        """A length, with its unit."""

    def exact(self, length_mm: float) -> str:
        """One to a thousandth of a millimetre."""


class _Millimetres:
    def length(self, length_mm: float) -> str:
        return format_mm(length_mm)

    def exact(self, length_mm: float) -> str:
        return f"{length_mm:.3f} mm"


MILLIMETRES: Lengths = _Millimetres()


def inner_span_mm(limits: RatioLimits, wire_mm: float) -> Span | None:
    """Inner diameters in the working range with this wire, rounded inwards to 0.01 mm."""
    low, high = limits.working_range
    return _inwards(low * wire_mm, high * wire_mm)


def wire_span_mm(limits: RatioLimits, inner_mm: float) -> Span | None:
    """Wires in the working range with this inner diameter, rounded inwards to 0.01 mm."""
    low, high = limits.working_range
    return _inwards(inner_mm / high, inner_mm / low)


def _inwards(low_mm: float, high_mm: float) -> Span | None:
    """None where nothing that can be bought lies between."""
    low, high = _up(low_mm), _down(high_mm)
    return (low, high) if low <= high else None


def _up(value_mm: float) -> float:
    return math.ceil(100 * value_mm - 1e-6) / 100


def _down(value_mm: float) -> float:
    return math.floor(100 * value_mm + 1e-6) / 100


def advice(report: Report, say: Lengths = MILLIMETRES) -> list[str]:
    """All there is to say of a size that does not just work, and doubt about a lay; paragraphs.

    Parameters
    ----------
    say : the units to say lengths in; those of rings that are fixed stay in millimetres
    """
    if report.verdict == CANNOT:
        said = [*_take(report, say), *_if_measured(report, say), *_amiss(report, say)]
    elif report.verdict == WORKING:
        said = []
    else:
        said = [*_amiss(report, say), *_take(report, say), *_nearly_enough(report, say)]
    if report.shape is not None:
        said.insert(0, _only_in_shape(report, say))
    if report.needs_passing_through:
        said.append(_passing(report))
    common = report.rule.common_aspect_ratio
    if common is not None and common.note is not None and _nearly_closes(report):
        # Why makers' figures begin where they do, and what of them stays unexplained.
        said.append(f"Makers' range, {common.low:g} to {common.high:g}: {common.note}")
    return said


def answers(report: Report) -> list[str]:
    """What to measure or to take, and nothing else; no words where the size works."""
    if report.verdict == WORKING:
        return []
    at_limit = report.verdict == AT_LIMIT
    return [
        *_amiss(report, MILLIMETRES)[:at_limit],
        *_take(report, MILLIMETRES),
        *_if_measured(report, MILLIMETRES),
    ]


def remarks(report: Report) -> list[str]:
    """What else a maker should know before weaving rings that close but do not just work."""
    said = [] if report.shape is None else [_only_in_shape(report, MILLIMETRES)]
    if report.verdict in (VERY_TIGHT, LOOSE):
        said += [*_nearly_enough(report, MILLIMETRES), *_amiss(report, MILLIMETRES)]
    return said


def _if_measured(report: Report, say: Lengths) -> list[str]:
    """What rings must measure, where no more is missing than springback may make up for.

    Not of wound rings, whose springback is counted already.
    """
    limits, size = report.limits, report.size
    if report.rule.has_fixed_rings or report.verdict != CANNOT:
        return []
    inner, _ = _bounds(limits, size)
    if limits.ring_larger != RING_LARGER or inner > (1.0 + RING_LARGEST) * size.inner_mm:
        return []
    return [if_measured("rings", say.length(inner))]


def _nearly_closes(report: Report) -> bool:
    """Whether rings miss so little that what makers say of them is of use; kept figures only."""
    if report.can_be_woven or report.kept is None:
        return False
    return report.size.aspect_ratio >= (1.0 - _NEARLY) * report.limits.minimum


def _only_in_shape(report: Report, say: Lengths) -> str:
    inner = say.length(_up(report.as_laid * report.size.wire_mm))
    return (
        f"At this size it closes only {report.shape}, and is shown so. Lying as usual it needs "
        f"aspect ratio {_ratio(report.as_laid)}: {inner} inside for this wire."
    )


def warning(report: Report) -> str | None:
    """What a sheet for the bench has to say about rings that are woven but hardly; else None."""
    if report.verdict not in (VERY_TIGHT, AT_LIMIT):
        return None
    parts = (_amiss, _take, _nearly_enough)
    return " ".join(said for part in parts for said in part(report, MILLIMETRES))


def _amiss(report: Report, say: Lengths) -> list[str]:
    limits, size = report.limits, report.size
    if report.verdict == AT_LIMIT:
        return _at_limit(report, say)
    if report.verdict == VERY_TIGHT:
        return [_tight(report)]
    if report.verdict == LOOSE:
        return [f"Above {_ratio(max(limits.working_range))} it hangs open and floppy."]
    if report.can_be_woven:
        return []
    said = f"At best, rings still overlap by {say.exact(-report.room_mm)}: {_in_the_way(report)}."
    if not report.rule.has_fixed_rings:
        inner, wire = _bounds(limits, size)
        said += (
            f" It closes at all only from {say.length(inner)} inside for this wire, or with wire "
            f"of at most {say.length(wire)} for this inner diameter{_alike(report)}."
        )
    return [said]


def _at_limit(report: Report, say: Lengths) -> list[str]:
    """The answer hangs on hundredths: which, and what to measure; then why."""
    limits, size = report.limits, report.size
    inner, wire = _bounds(limits, size)
    if report.can_be_woven:
        said = f" and your wire no more than {say.length(size.wire_mm)}"
        found = f"With just these sizes, rings have {say.exact(report.room_mm)} of room."
    else:
        said = f", or your wire at most {say.length(wire)}"
        found = (
            f"With just these sizes, rings still overlap by {say.exact(-report.room_mm)} at best: "
            f"{_in_the_way(report)}."
        )
    least = say.length(inner)
    said = f"It can be woven if your rings measure at least {least} inside{said}: {_MEASURE}."
    if report.rule.has_fixed_rings:
        said = f"Whether it closes depends on hundredths of a millimetre in the rings: {_MEASURE}."
    put_in = []
    if limits.working is not None and limits.working > limits.limit_range[1]:
        inner = _up(limits.working * size.wire_mm)
        put_in = [
            f"To go in without being sprung, rings need {say.length(inner)} inside (working "
            "minimum)."
        ]
    return [said, *put_in, f"{found} {_WHY_MEASURE}"]


def _tight(report: Report) -> str:
    limits, size = report.limits, report.size
    if limits.working is not None and size.aspect_ratio < limits.working:
        return (
            f"Below the working minimum, aspect ratio {_ratio(limits.working)}: no way was found "
            "to put every ring in without flexing it. Expect to spring or force one; once woven "
            "it holds."
        )
    if limits.common is not None and size.aspect_ratio < limits.common.low:
        return f"Makers rarely go below aspect ratio {_ratio(limits.common.low)}."
    return f"It leaves hardly any room, {report.room_mm / size.wire_mm:.2f} of a wire."


def _take(report: Report, say: Lengths) -> list[str]:
    """Which rings with this wire, and which wire with these rings."""
    if report.rule.has_fixed_rings:
        return [second_advice(report)]
    limits, size = report.limits, report.size
    low, high = limits.working_range
    rings = inner_span_mm(limits, size.wire_mm)
    if rings is None:
        if low <= high:
            return []
        return [
            f"Makers' range ends at aspect ratio {_ratio(high)}, too tight for this wire: the "
            f"tightest rings with room to work are {say.length(_up(low * size.wire_mm))} inside."
        ]
    wires = wire_span_mm(limits, size.inner_mm)
    said = f"Take rings {_span(rings, say)} inside for this wire"
    said += f", or wire of {_wires(wires, say)} for this inner diameter" if wires else ""
    return [f"{said}{_alike(report)}."]


def _alike(report: Report) -> str:
    return "; other sizes in proportion" if report.rule.sizes else ""


def _nearly_enough(report: Report, say: Lengths) -> list[str]:
    """That rings may do after all, where they fall short by no more than rings differ."""
    limits, size = report.limits, report.size
    if report.rule.has_fixed_rings or report.verdict != VERY_TIGHT:
        return []
    low, _ = limits.working_range
    rings = inner_span_mm(limits, size.wire_mm)
    near = size.aspect_ratio * (1.0 + RING_LARGER) / (1.0 - WIRE_OFF)
    if rings is None or near < low:
        return []
    short = say.length(round(rings[0] - size.inner_mm, 2))
    return [f"Yours are {short} smaller, and rings often differ by that much: {_MEASURE}."]


def _bounds(limits: RatioLimits, size: RingSize) -> tuple[float, float]:
    """The least inner diameter and the most wire that close it, to 0.01 mm on the safe side."""
    return _up(limits.minimum * size.wire_mm), _down(size.inner_mm / limits.minimum)


def _wires(span: Span, say: Lengths) -> str:
    """A span of wire with the gauges in it."""
    names = [_gauge(gauge, say) for gauge in gauges_between(*span)]
    listed = f" ({', '.join(names)})" if 0 < len(names) <= _MOST_GAUGES else ""
    return f"{_span(span, say)}{listed}"


def _gauge(gauge: Gauge, say: Lengths) -> str:
    """A gauge and its diameter without the unit, which stands before it."""
    number, _, unit = say.length(gauge.wire_mm).rpartition(" ")
    return f"{gauge.name} {gauge.wire_mm:.2f}" if unit == "mm" else f"{gauge.name} {number}"


def _span(span: Span, say: Lengths) -> str:
    """Both ends, with the unit once."""
    return spanned(*map(say.length, span))


def _ratio(ratio: float) -> str:
    return f"{ratio:.3f}".rstrip("0").rstrip(".")


def pairs_in_the_way(pairs: Sequence[tuple[str, str, bool]], most: int = _MOST_PAIRS) -> str:
    """The rings in each other's way, all by as much, or the first of them where they are many.

    Parameters
    ----------
    pairs : the names of both, and whether the second is of the next repeat
    """
    named = [
        f"{first} with {second}" + (" of the next repeat" if is_next else "")
        for first, second, is_next in pairs[:most]
    ]
    more = len(pairs) - len(named)
    return ", ".join(named) + (f" and {counted(more, 'more pair')}" if more else "")


def _in_the_way(report: Report) -> str:
    return pairs_in_the_way(
        [(found.first, found.second, found.image != (0, 0)) for found in report.collisions]
    )


def _passing(report: Report) -> str:
    """Doubt about the lay of a rule that closes later than makers say it does."""
    rule, common = report.rule, report.rule.common_aspect_ratio
    low = "" if common is None else f"{common.low:g}"
    return (
        f"Look at the lay: makers weave {rule.name} from aspect ratio {low}, but with its rings "
        f"over and under each other as the rule places them it closes only from "
        f"{report.tightest.aspect_ratio:.3f}. Settling never lets rings pass through each other, "
        "so a ring placed on the wrong side of another stays there; or real rings flex."
    )
