"""A rule file that is like another one, with rings of other sizes or doubled."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.weaves.reading.endless import EndlessWeave
from ringwright.weaves.reading.figures import read_common_range, read_minimums
from ringwright.weaves.reading.keys import (
    CHANGE_KEYS,
    MAIN,
    MOST_LINKS,
    MOST_RINGS,
    NAME,
    OPTIONAL_IN_VARIATION,
    RULE_KEYS,
    VARIATION_KEYS,
)
from ringwright.weaves.reading.node import BaseOf, RuleNode
from ringwright.weaves.reading.rings import check_sizes_used, read_sizes, size_of_ring
from ringwright.weaves.reading.whole_rule import read_metals, weave_name
from ringwright.weaves.rule import (
    Link,
    Overlap,
    RingRef,
    RuleRing,
    RuleSize,
    StartRing,
    Step,
    WeaveRule,
)

# Two rings in the place of one lie so far to either side of it, in core radii.
_ASIDE = 0.11


def variation(document: RuleNode, path: Path, base_of: BaseOf) -> WeaveRule:
    """A rule that is another one with rings of other sizes, or doubled.

    ``base_of`` gives the rule that a text names.
    """
    table = document.table(VARIATION_KEYS, optional=OPTIONAL_IN_VARIATION)
    base = base_of(table["like"])
    name = weave_name(table["name"])
    sizes = read_sizes(table["size"]) if "size" in table else {}
    doubled: set[str] = set()
    resized: dict[str, RuleSize | None] = {}
    if "change" not in table and "metals" not in table:
        raise BadInput(
            f"{document.file} changes nothing: expected {VARIATION_KEYS['change']}, or metals"
        )
    wanted = f"1 to {MOST_RINGS} [[change]] tables"
    changed: set[str] = set()
    for item in table["change"].items(wanted, 1, MOST_RINGS) if "change" in table else ():
        change = item.table(CHANGE_KEYS, optional=("size", "doubled"))
        ring = change["ring"].one_of(tuple(ring.name for ring in base.rings))
        if ring in changed:
            raise change["ring"].fault(f"is {ring} again: change every ring once")
        changed.add(ring)
        if len(change) == 1:
            raise item.fault("changes nothing: give it size, doubled or both")
        if "size" in change:
            main = change["size"].value == MAIN
            resized[ring] = None if main else size_of_ring(change["size"], sizes)
        if "doubled" in change and change["doubled"].yes_or_no():
            doubled.add(ring)
    taken = {ring.size.name for ring in base.rings if ring.size}
    for size in sizes:
        if size in taken or size == MAIN:
            raise table["size"].fault(f"has the name {size}, which is taken: give it another")
    common = table.get("common_aspect_ratio")
    rings, copies = _copied(table.get("change", document), base, doubled, resized)
    if "size" in table:
        check_sizes_used(table["size"], sizes, rings)
    weave = EndlessWeave(base.family, base.around, {ring.name: n for n, ring in enumerate(rings)})
    links = _copied_links(table.get("change", document), base, weave, copies)
    return WeaveRule(
        name=name,
        trade_names=(),
        summary=table["summary"].text(RULE_KEYS["summary"], 300),
        family=base.family,
        rings=rings,
        repeat_vectors=base.repeat_vectors,
        turn=base.turn,
        around=base.around,
        links=links,
        start=tuple(
            StartRing(ref, start.role)
            for start in base.start
            for ref in _copies_of(start.ring, copies)
        ),
        steps=tuple(
            _copied_step(step, ring, copies)
            for step in base.steps
            for ring in _copies_of(step.ring, copies)
        ),
        # What is common for the one weave is not for the other, nor what was computed for it.
        common_aspect_ratio=None if common is None else read_common_range(common),
        path=path,
        metals=read_metals(table) or base.metals,
        computed=read_minimums(table, rings),
    )


def _copied(
    node: RuleNode,
    base: WeaveRule,
    doubled: Collection[str],
    resized: Mapping[str, RuleSize | None],
) -> tuple[tuple[RuleRing, ...], dict[str, tuple[str, ...]]]:
    """The rings with the changes made, and the names that each ring of the base now has."""
    rings: list[RuleRing] = []
    copies: dict[str, tuple[str, ...]] = {}
    names = {ring.name for ring in base.rings}
    for ring in base.rings:
        size = resized.get(ring.name, ring.size)
        if ring.name not in doubled:
            copies[ring.name] = (ring.name,)
            rings.append(replace(ring, size=size))
            continue
        second = f"{ring.name}_2"
        if second in names or not NAME.fullmatch(second):
            raise node.fault(f"doubles {ring.name}, but {second} is taken or too long for a name")
        copies[ring.name] = (ring.name, second)
        length = math.hypot(*ring.axis)
        for name, side in ((ring.name, _ASIDE), (second, -_ASIDE)):
            x, y, z = (c + side * a / length for c, a in zip(ring.centre, ring.axis, strict=True))
            rings.append(replace(ring, name=name, size=size, centre=(x, y, z)))
    if len(rings) > MOST_RINGS:
        raise node.fault(f"makes {len(rings)} rings, but a rule has at most {MOST_RINGS}")
    if all(ring.size for ring in rings):
        raise node.fault(
            "leaves no ring of the first size, which is one without size: expected at least one"
        )
    return tuple(rings), copies


def _copied_links(
    node: RuleNode, base: WeaveRule, weave: EndlessWeave, copies: Mapping[str, tuple[str, ...]]
) -> tuple[Link, ...]:
    links: dict[Link, None] = {}
    for link in base.links:
        for one in _copies_of(link.first, copies):
            for other in _copies_of(link.second, copies):
                links[weave.link(one, other)] = None
    if len(links) > MOST_LINKS:
        raise node.fault(f"makes {len(links)} links, but a rule has at most {MOST_LINKS}")
    return tuple(links)


def _copied_step(step: Step, ring: RingRef, copies: Mapping[str, tuple[str, ...]]) -> Step:
    """A step as it is done for one of the copies of its ring; what it says of the lay is of all."""

    def of(refs: Iterable[RingRef]) -> tuple[RingRef, ...]:
        return tuple(copy for ref in refs for copy in _copies_of(ref, copies))

    sides = step.sides or ("",) * len(step.through)
    return Step(
        ring,
        of(step.through),
        # Two in the place of one ring hold the same captives: named with the first.
        of(step.holding) if ring.name == step.ring.name else (),
        tuple(
            side
            for ref, side in zip(step.through, sides, strict=True)
            for _ in _copies_of(ref, copies)
        )
        if step.sides
        else (),
        of(step.over),
        of(step.under),
        tuple(
            Overlap((one, other), of(each.through), of(each.around))
            for each in step.overlaps
            for one, other in zip(*(_copies_of(ref, copies) for ref in each.of), strict=False)
        ),
    )


def _copies_of(ref: RingRef, copies: Mapping[str, tuple[str, ...]]) -> tuple[RingRef, ...]:
    return tuple(RingRef(name, ref.image) for name in copies[ref.name])
