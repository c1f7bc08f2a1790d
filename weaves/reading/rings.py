"""The rings of a rule file, and the sizes that they have."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from ringwright.base.wording import either
from ringwright.weaves.reading.keys import (
    A_MULTIPLE,
    FIXED_KEYS,
    INNER_MM,
    LARGEST_MULTIPLE,
    MOST_RINGS,
    MOST_SIZES,
    MULTIPLE_KEYS,
    RING_KEYS,
    ROLES,
    SIZE_KEYS,
    WIRE_MM,
)
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.rule import RuleRing, RuleSize


def read_rings(node: RuleNode, sizes: Mapping[str, RuleSize], placed: bool) -> tuple[RuleRing, ...]:
    """The rings of a repeat; without a placement all lie at the origin, facing up."""
    rings: dict[str, RuleRing] = {}
    optional = ("size",) if placed else ("size", "centre", "axis")
    for item in node.items(f"a list of 1 to {MOST_RINGS} [[ring]] tables", 1, MOST_RINGS):
        table = item.table(RING_KEYS, optional=optional)
        name = table["name"].name(taken=rings)
        axis = table["axis"].vector() if placed else (0.0, 0.0, 1.0)
        if math.hypot(*axis) < 1e-6:
            raise table["axis"].wrong("a direction, which needs some length", "zero")
        rings[name] = RuleRing(
            name=name,
            role=table["role"].one_of(ROLES),
            centre=table["centre"].vector() if placed else (0.0, 0.0, 0.0),
            axis=axis,
            size=size_of_ring(table["size"], sizes) if "size" in table else None,
        )
    if all(ring.size for ring in rings.values()):
        raise node.fault(
            "gives every ring a size of its own: expected at least one ring of the first size, "
            "which is one without size"
        )
    return tuple(rings.values())


def check_sizes_used(
    node: RuleNode, sizes: Mapping[str, RuleSize], rings: tuple[RuleRing, ...]
) -> None:
    """Refuse a size that no ring has."""
    used = {ring.size.name for ring in rings if ring.size}
    for name in sizes:
        if name not in used:
            raise node.fault(
                f'describes the size "{name}", which no [[ring]] has: leave it out or give a '
                f'ring size = "{name}"'
            )


def size_of_ring(node: RuleNode, sizes: Mapping[str, RuleSize]) -> RuleSize:
    """The size that a ring names."""
    if isinstance(node.value, str) and node.value in sizes:
        return sizes[node.value]
    known = [f'"{name}"' for name in sizes]
    raise node.wrong(
        either(known) if known else "the name of a [[size]] table, of which there is none"
    )


def read_sizes(node: RuleNode) -> dict[str, RuleSize]:
    """The sizes that rings may have besides the main one, by name."""
    sizes: dict[str, RuleSize] = {}
    for item in node.items(f"a list of 1 to {MOST_SIZES} [[size]] tables", 1, MOST_SIZES):
        size = _size(item, taken=sizes)
        sizes[size.name] = size
    return sizes


def _size(item: RuleNode, taken: Collection[str]) -> RuleSize:
    table = item.table(SIZE_KEYS, optional={*MULTIPLE_KEYS, *FIXED_KEYS})
    name = table["name"].name(taken)
    multiples, fixed = ([k for k in keys if k in table] for keys in (MULTIPLE_KEYS, FIXED_KEYS))
    if bool(multiples) == bool(fixed):
        found = f"{multiples[0]} and {fixed[0]}" if fixed else "no measures"
        raise item.fault(
            f"has {found}: expected either core and wire, as multiples of the first size's, "
            "or wire_mm and inner_mm"
        )
    if fixed:
        table = item.table(SIZE_KEYS, optional=MULTIPLE_KEYS)
        wire_mm = table["wire_mm"].number(*WIRE_MM)
        return RuleSize(name, 1.0, 1.0, wire_mm, table["inner_mm"].number(*INNER_MM))
    core, wire = (read_multiple(table[k]) if k in table else 1.0 for k in MULTIPLE_KEYS)
    return RuleSize(name, core, wire, None, None)


def read_multiple(node: RuleNode) -> float:
    """A share of the main ring's measure."""
    multiple = node.number(0.0, LARGEST_MULTIPLE, A_MULTIPLE)
    if multiple == 0.0:
        raise node.wrong(A_MULTIPLE)
    return multiple
