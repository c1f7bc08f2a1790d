"""The ring of the shop file that comes nearest to one that does not work."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.answers.ratio_limits import WORKING
from ringwright.answers.verdict import Report
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, format_mm

if TYPE_CHECKING:
    # A check without a shop file loads nothing of the shop.
    from ringwright.making.shop.match import Candidate
    from ringwright.making.shop.shop import Shop


@dataclass(frozen=True)
class Nearest:
    """A ring on the shelf.

    Attributes
    ----------
    verdict : at the likeliest springback
    sure : whether it is the same with the least and the most springback
    """

    candidate: Candidate
    verdict: str
    sure: bool


def nearest(report: Report, shop: Shop) -> Nearest | None:
    """What of the shelf works and comes nearest to the rings of a report.

    Where nothing works, what is least far from the middle of the working range. None where
    the shelf has no rings, or the weave's limits hold for no other ring than this.
    """
    from ringwright.making.shop.match import candidates

    if report.rule.has_fixed_rings:
        return None
    try:
        found, _ = candidates(shop)
    except BadInput:
        return None
    limits, size = report.limits, report.size
    tried = [_tried(report, one) for one in found]
    works = [one for one in tried if one.verdict == WORKING]
    if works:
        return min(works, key=lambda one: (not one.sure, *_off(one.candidate, size)))
    return min(
        tried,
        key=lambda one: (
            abs(one.candidate.size.aspect_ratio - limits.middle),
            *_off(one.candidate, size),
        ),
    )


def _tried(report: Report, one: Candidate) -> Nearest:
    return Nearest(one, *one.judged(report.limits))


def _off(one: Candidate, size: RingSize) -> tuple[float, str]:
    """How far a ring is from another, by the shares that wire and inner diameter differ by."""
    shares = (one.size.wire_mm / size.wire_mm, one.size.inner_mm / size.inner_mm)
    return round(sum(abs(math.log(share)) for share in shares), 9), one.name


def nearest_text(found: Nearest) -> str:
    """A ring on the shelf in a sentence."""
    size = found.candidate.size
    inside = f"{format_mm(round(size.inner_mm, 2))} inside"
    ring = (
        f"{found.candidate.name} (wire {format_mm(size.wire_mm)}, {inside}, aspect ratio "
        f"{size.aspect_ratio:.2f})"
    )
    if found.verdict != WORKING:
        return (
            f"Nothing on your shelf is in the working range; nearest to it is {ring}, "
            f"{found.verdict}."
        )
    unsure = "" if found.sure else ", which depends on the springback: wind a trial ring first"
    return f"Nearest on your shelf: {ring}, {found.verdict}{unsure}."
