"""Where the page's scale stops: ring sizes that a maker has, or that are sold."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from fractions import Fraction

from ringwright.answers.ratio_limits import RatioLimits
from ringwright.base.errors import BadInput
from ringwright.base.sizes import MM_PER_INCH, parse_length
from ringwright.making.shop.shop import Shop
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.units import INCH, MM, said_length, typed, typed_in_full
from ringwright.page.worked_out.ring_from_mandrel import ring_of
from ringwright.weaves.rule import WeaveRule

# What rings are sold by, inside, in a unit: from a size on, and up to each further one in such
# steps. Common practice, no source.
_SOLD = {
    MM: (
        Fraction(1),
        (
            (Fraction(6), Fraction(1, 4)),
            (Fraction(12), Fraction(1, 2)),
            (Fraction(40), Fraction(1)),
        ),
    ),
    INCH: (
        Fraction(1, 16),
        (
            (Fraction(1, 4), Fraction(1, 64)),
            (Fraction(1, 2), Fraction(1, 32)),
            (Fraction(3, 2), Fraction(1, 16)),
        ),
    ),
}


@dataclass(frozen=True)
class Stop:
    """A size of ring to stop at.

    Attributes
    ----------
    ratio : its aspect ratio in the wire that is chosen
    said : what it is, in words
    inner, mandrel : what is chosen by it, as typed: the one of a bought ring, the other of a
        wound one, of which the inner diameter follows; the other is empty
    """

    ratio: float
    said: str
    inner: str
    mandrel: str

    @property
    def wanted(self) -> dict[str, str]:
        """What is wanted once it is chosen."""
        if self.mandrel:
            return {"mandrel": self.mandrel}
        return {"inner": self.inner, "mandrel": ""}


def stops(wanted: Wanted, shop: Shop) -> tuple[Stop, ...]:
    """All sizes to stop at in this wire, by ratio: of the shop's mandrels, else as rings are sold.

    There are none where the wire cannot be read.
    """
    try:
        wire_mm = parse_length(wanted.wire, "wire")
    except BadInput:
        return ()
    found = _of_the_shelf(wanted, shop) if shop.mandrels else _sold(wanted.lengths, wire_mm)
    return tuple(sorted(found, key=lambda one: one.ratio))


def _of_the_shelf(wanted: Wanted, shop: Shop) -> list[Stop]:
    found = []
    for one in shop.mandrels:
        mandrel = typed_in_full(one.mandrel_mm)
        with suppress(BadInput):
            size = ring_of(replace(wanted, mandrel=mandrel), shop).size
            inside = said_length(round(size.inner_mm, 2), wanted.lengths)
            said = f"{inside} inside, wound on {one.name}"
            found.append(Stop(size.aspect_ratio, said, "", mandrel))
    return found


def _sold(unit: str, wire_mm: float) -> list[Stop]:
    at, steps = _SOLD[unit]
    sizes: list[float] = []
    for most, step in steps:
        while at <= most:
            sizes.append(float(at) * (MM_PER_INCH if unit == INCH else 1.0))
            at += step
    return [
        Stop(size / wire_mm, f"{said_length(size, unit)} inside", typed(size, unit), "")
        for size in sizes
    ]


def limits_at_hand(rule: WeaveRule) -> RatioLimits | None:
    """What a rule's file keeps of its limits, before anything is worked out.

    None where it keeps nothing, or only for rings of one size.
    """
    kept = rule.computed
    if kept is None or rule.has_fixed_rings:
        return None
    return RatioLimits(kept.geometric, kept.working, rule.common_aspect_ratio)


def that_works(limits: RatioLimits, found: tuple[Stop, ...]) -> Stop | None:
    """The stop in the working range that is nearest to its middle; None where there is none."""
    low, high = limits.working_range
    works = [one for one in found if low <= one.ratio <= high]
    return min(works, key=lambda one: abs(one.ratio - limits.middle), default=None)
