"""A rule with rings of a second size that are the maker's own, in place of the rule's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ringwright.weaves.rule import RuleRing, RuleSize, WeaveRule


def with_second(rule: WeaveRule, rings_mm: Mapping[str, tuple[float, float]]) -> WeaveRule:
    """The rule with some of its sizes fixed in millimetres.

    The common range and the computed minimums are left out: they belong to rings in the
    proportion that the rule gives, and to no others.

    Parameters
    ----------
    rings_mm : wire and inner diameter by the name of a size; every name is one of the rule's

    Returns
    -------
    WeaveRule
        The rule itself where nothing is to be fixed.
    """
    if not rings_mm:
        return rule

    def other(ring: RuleRing) -> RuleRing:
        size = ring.size
        if size is None or size.name not in rings_mm:
            return ring
        wire_mm, inner_mm = rings_mm[size.name]
        given = size.instead_of or size
        return replace(ring, size=RuleSize(size.name, 1.0, 1.0, wire_mm, inner_mm, given))

    return replace(
        rule,
        rings=tuple(map(other, rule.rings)),
        common_aspect_ratio=None,
        computed=None,
    )


def in_proportion(rule: WeaveRule, wire_mm: float, inner_mm: float) -> WeaveRule:
    """The rule with the maker's own rings as multiples of a main ring.

    The look is then kept when the main ring becomes larger or smaller.

    Parameters
    ----------
    wire_mm, inner_mm : the main ring that they are beside
    """

    def scaled(ring: RuleRing) -> RuleRing:
        size = ring.size
        if size is None or size.instead_of is None or size.wire_mm is None or size.inner_mm is None:
            return ring
        core = (size.inner_mm + size.wire_mm) / (inner_mm + wire_mm)
        wire = size.wire_mm / wire_mm
        return replace(ring, size=RuleSize(size.name, core, wire, None, None, size.instead_of))

    return replace(rule, rings=tuple(map(scaled, rule.rings)))
