"""Rings of a second size in sentences: what they are, and which others would do."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ringwright.answers.partners import InnerSpan, Partner
from ringwright.answers.ratio_limits import RING_LARGEST
from ringwright.answers.verdict import Report
from ringwright.base.sizes import format_mm

HOW_FOUND = (
    "computed: only the inner diameter of one ring size is changed, and no ring passes through "
    "another. Rings in the range given close the weave for certain; outside it no way was found. "
    "'Or more' means that no end was met up to twice the size. This is geometry only; hands and "
    "pliers need more."
)


def inwards(span: InnerSpan) -> tuple[float, float]:
    """The ends of a span to 0.01 mm, rounded to the side that closes."""
    # What lies a millionth off a round figure is that figure.
    low, high = 100 * span.smallest_mm - 1e-3, 100 * span.largest_mm + 1e-6
    return math.ceil(low) / 100, math.floor(high) / 100


def second_advice(report: Report) -> str:
    """What to take where rings that are fixed in millimetres do not close the weave."""
    if report.partners is None:
        return "'ringwright check' says which rings of one size close it with those of the other."
    measured = [] if report.can_be_woven else [_if_measured(one) for one in report.partners]
    return " ".join([_change_one(report.partners), *filter(None, measured)])


def _change_one(found: Sequence[Partner]) -> str:
    """Which inner diameters would do in place of those of one size, as a sentence."""
    closing = [f"{_rings(one)} {_inside(one.span)}" for one in found if one.span is not None]
    none = [_rings(one) for one in found if one.span is None]
    if not closing:
        return "Changing the inner diameter of only one size does not close it."
    no_use = f"; no {' and no '.join(none)} do" if none else ""
    return f"Change only one size: it closes with {' or with '.join(closing)}{no_use}."


def _rings(partner: Partner) -> str:
    """Rings of one size by their name and wire."""
    return rings_of(partner.name, format_mm(partner.ring.wire_mm))


def rings_of(name: str | None, wire: str) -> str:
    """Rings of a size, by its name and their wire in words; None is the first size."""
    return f"{'rings of the first size' if name is None else f'{name} rings'} ({wire} wire)"


def _if_measured(partner: Partner) -> str | None:
    """What a maker's rings must measure, where no more than springback is missing; else None."""
    if partner.span is None or not partner.is_own:
        return None
    least, _ = inwards(partner.span)
    if not partner.ring.inner_mm < least <= (1.0 + RING_LARGEST) * partner.ring.inner_mm:
        return None
    return if_measured(_rings(partner), f"{least:g} mm")


def if_measured(rings: str, least: str) -> str:
    """What rings that are too small by their name must measure inside to do, and why they may."""
    return (
        f"It can be woven if your {rings} measure at least {least} inside: rings sold by the size "
        f"of their mandrel come out larger, up to {100 * RING_LARGEST:g} % from spring-hard steel. "
        "Measure ten of them, closed."
    )


def _inside(span: InnerSpan) -> str:
    low, high = inwards(span)
    return f"{low:g} mm inside or more" if span.is_open else f"{low:g} to {high:g} mm inside"
