"""Whether a wire and ring size closes a weave, and how comfortably."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from generator.climb import Unit
from generator.contact import close_pairs, contacts
from generator.errors import NoRest
from generator.measure import all_round, width_and_thickness
from generator.piece import expected_links, woven_piece
from generator.settle import Settled, Tightest, settle, tightest
from generator.sizes import RingSize
from generator.verify import second_opinion
from weaves.rule import CommonRange, Image, WeaveRule

CANNOT = "cannot be woven"
VERY_TIGHT = "closes but very tight"
WORKING = "in the working range"
LOOSE = "loose"

# Aspect ratios closer to the limit than this count as at the limit.
_AT_LIMIT = 1e-7
# Room, in wire diameters, for rules without a common range: common practice, no source.
_LITTLE_ROOM = 0.15
_MUCH_ROOM = 0.75
# Repeats laid out, along and across, for the second look at a settled state.
_CONFIRMED_REPEATS = 4
# In a common range or not, less room than this is no room for a hand and two pliers.
_HARDLY_ANY_ROOM = 0.03


@dataclass(frozen=True)
class Collision:
    """Two rings that overlap at best, named as in the rule."""

    first: str
    second: str
    image: Image
    overlap_mm: float


@dataclass(frozen=True, eq=False)
class Report:
    """Everything :func:`check` found out; lengths in millimetres.

    Attributes
    ----------
    verdict : one of the four texts of this module
    smallest_gap_mm : between any two rings as they rest, pulled straight (loaded
        rings touch, so about 0); where the weave cannot be woven, the least overlap
        that is left at best, as a negative number
    room_mm : the gap there would be between every two rings if all were spaced out
        as evenly as they can be; negative where the weave cannot be woven
    repeat_mm, width_mm, thickness_mm, settled : None where it cannot be woven; a
        finished piece has no repeat
    collisions : which rings are in each other's way where it cannot be woven
    """

    rule: WeaveRule
    size: RingSize
    verdict: str
    tightest: Tightest
    settled: Settled | None
    smallest_gap_mm: float
    room_mm: float
    repeat_mm: float | None
    width_mm: float | None
    thickness_mm: float | None
    collisions: tuple[Collision, ...]

    @property
    def can_be_woven(self) -> bool:
        """Whether the weave closes at this size at all."""
        return self.verdict != CANNOT

    @property
    def rings_per_cm(self) -> float | None:
        """Rings in a centimetre of the chain."""
        return None if self.repeat_mm is None else 10 * self.rule.rings_per_repeat / self.repeat_mm

    @property
    def unit(self) -> Unit:
        """The settled unit, in units of the core radius.

        Raises
        ------
        NoRest
            Where the weave cannot be woven.
        """
        if self.settled is None:
            raise NoRest("a weave that cannot be woven has no settled unit")
        return self.settled.unit


def check(
    rule: WeaveRule,
    size: RingSize,
    on_progress: Callable[[int, int], None] | None = None,
    limit: Tightest | None = None,
    near: Unit | None = None,
) -> Report:
    """Settle a weave at a size and judge it.

    Parameters
    ----------
    rule, size : what to weave, of which rings
    on_progress : called with (done, of) while the tightest ring is looked for
    limit : the tightest ring, where it is known already; it is the same for every size
        unless the rule fixes rings in millimetres
    near : the settled unit of a neighbouring size, to start from

    Raises
    ------
    BadInput
        When the rule's placement does not have the rule's links.
    NoRest
        When the weave exists at this size but the solver reached no resting place, or
        one that a second look by sampling does not confirm.
    """
    limit = limit or tightest(rule, size, on_progress=on_progress)
    thickest_mm = 2 * size.core_radius_mm / (limit.aspect_ratio + 1)
    room_mm = thickest_mm - size.wire_mm
    if size.aspect_ratio < limit.aspect_ratio - _AT_LIMIT:
        blocked = _collisions(rule, limit, -room_mm)
        return Report(rule, size, CANNOT, limit, None, room_mm, room_mm, None, None, None, blocked)
    settled = settle(rule, size, limit.unit, near)
    if settled is None:
        raise NoRest(
            f"{rule.name} exists at aspect ratio {size.aspect_ratio:.4g}, but the solver found no "
            "resting place from any start; try a slightly larger ring."
        )
    unit = settled.unit
    _confirm(rule, size, settled)
    width, thickness = width_and_thickness(all_round(unit))
    scale = size.core_radius_mm
    return Report(
        rule=rule,
        size=size,
        verdict=_judged(size.aspect_ratio, room_mm / size.wire_mm, rule.common_aspect_ratio),
        tightest=limit,
        settled=settled,
        smallest_gap_mm=smallest_gap(unit) * scale,
        room_mm=room_mm,
        repeat_mm=unit.repeat * scale if len(unit.lattice.values) else None,
        width_mm=width * scale,
        thickness_mm=thickness * scale,
        collisions=(),
    )


def _confirm(rule: WeaveRule, size: RingSize, settled: Settled) -> None:
    """A settled state checked by means of its own: sampled gaps, links counted afresh."""
    if not settled.converged:
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: the solver ran out of rounds "
            "before the rings came to rest, so no figures are given; try a slightly different "
            "size."
        )
    scale = size.core_radius_mm
    piece = woven_piece(rule, settled.unit, scale, _CONFIRMED_REPEATS, _CONFIRMED_REPEATS)
    opinion = second_opinion(piece)
    if opinion.smallest_gap_mm < -1e-6 * scale:
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: a second look found rings that "
            f"overlap by {-opinion.smallest_gap_mm:.2g} mm, so no figures are given."
        )
    if opinion.links != expected_links(rule, piece):
        raise NoRest(
            f"{rule.name} at aspect ratio {size.aspect_ratio:.4g}: a second look counted other "
            "links than the rule's, so no figures are given."
        )


def smallest_gap(unit: Unit) -> float:
    """The least gap between any two rings of a chain, in the unit's own unit of length."""
    rings = unit.rings
    reach = 2 * float(rings.core_radii.max())
    pairs = close_pairs(rings, reach, unit.lattice)
    return float(contacts(rings, pairs, unit.lattice).gap.min(initial=np.inf))


def _judged(aspect_ratio: float, room_in_wires: float, common: CommonRange | None) -> str:
    if common is None:
        if room_in_wires < _LITTLE_ROOM:
            return VERY_TIGHT
        return LOOSE if room_in_wires > _MUCH_ROOM else WORKING
    if aspect_ratio < common.low - _AT_LIMIT or room_in_wires < _HARDLY_ANY_ROOM:
        return VERY_TIGHT
    return LOOSE if aspect_ratio > common.high + _AT_LIMIT else WORKING


def _collisions(rule: WeaveRule, limit: Tightest, overlap_mm: float) -> tuple[Collision, ...]:
    """The pairs that carry force at the tightest, where any thicker wire overlaps."""
    held = limit.certificate
    least = 1e-3 * float(held.forces.max(initial=0.0))
    return tuple(
        Collision(
            rule.rings[i].name, rule.rings[j].name, (int(image[0]), int(image[1])), overlap_mm
        )
        for i, j, image, force in zip(
            held.pairs.first, held.pairs.second, held.pairs.image, held.forces, strict=True
        )
        if force > least
    )
