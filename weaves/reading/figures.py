"""The aspect ratios that a rule file keeps: makers' common range, and computed minimums."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from ringwright.weaves.reading.keys import (
    COMPUTED_KEYS,
    FIXED_KEYS,
    INNER_MM,
    LARGEST_ASPECT_RATIO,
    LONGEST_NOTE,
    PROVENANCES,
    RANGE_KEYS,
    SHAPE_KEYS,
    SOURCE,
    WIRE_MM,
)
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.rule import CommonRange, Minimums, OtherShape, RuleRing


def read_common_range(node: RuleNode) -> CommonRange:
    """The aspect ratios that makers use, and where that is known from."""
    table = node.table(RANGE_KEYS, optional=("note",))
    low = table["low"].number(1.0, LARGEST_ASPECT_RATIO)
    high = table["high"].number(low, LARGEST_ASPECT_RATIO)
    provenance = table["provenance"].text(RANGE_KEYS["provenance"], 300)
    sourced = provenance.startswith(SOURCE) and provenance[len(SOURCE) :].strip()
    if provenance not in PROVENANCES and not sourced:
        raise table["provenance"].wrong(RANGE_KEYS["provenance"])
    note = table["note"].text(RANGE_KEYS["note"], LONGEST_NOTE) if "note" in table else None
    return CommonRange(low, high, provenance, note)


def read_minimums(table: Mapping[str, RuleNode], rings: Iterable[RuleRing]) -> Minimums | None:
    """What a rule says was computed for it, which may hang on the main ring's size."""
    if "computed" not in table:
        return None
    node = table["computed"]
    sized = any(ring.size is not None and ring.size.is_fixed for ring in rings)
    said = [k for k in FIXED_KEYS if isinstance(node.value, dict) and k in node.value]
    if said and not sized:
        raise node.fault(
            f"has {said[0]}, but no ring of this rule is fixed in millimetres, so that its "
            "minimums hold for every size: leave it out"
        )
    optional = {"straight_minimum", "working_minimum", *SHAPE_KEYS}
    found = node.table(COMPUTED_KEYS, optional=optional | (set() if said else {*FIXED_KEYS}))
    geometric = found["geometric_minimum"].number(0.0, LARGEST_ASPECT_RATIO)
    working = None
    if "working_minimum" in found:
        working = found["working_minimum"].number(geometric, LARGEST_ASPECT_RATIO)
    straight = None
    if "straight_minimum" in found:
        straight = found["straight_minimum"].number(geometric, LARGEST_ASPECT_RATIO)
    shape = _other_shape(node, found, len(list(rings)))
    if not said:
        # With rings in millimetres they hold for one size: told for none, they are left over
        # from before the rings got their sizes.
        if sized:
            return None
        return Minimums(geometric, working, straight=straight, shape=shape)
    wire_mm, inner_mm = found["wire_mm"].number(*WIRE_MM), found["inner_mm"].number(*INNER_MM)
    return Minimums(geometric, working, wire_mm, inner_mm, straight, shape)


def _other_shape(node: RuleNode, found: Mapping[str, RuleNode], rings: int) -> OtherShape | None:
    """The shape in which a weave closes tightest, where that is not the rule's own."""
    said = [key for key in ("straight_minimum", *SHAPE_KEYS) if key in found]
    if not said:
        return None
    for key in ("straight_minimum", *SHAPE_KEYS):
        if key not in found:
            raise node.fault(f"has {said[0]} but no {key}: give all of them or none")
    two = found["shape_of_repeats"].whole(1, 2) == 2
    count = 2 * rings if two else rings
    wanted = f"a list of {count} lists of six numbers, centre and axis of each ring"
    places = []
    for item in found["shape_places"].items(wanted, count, count):
        x, y, z, a, b, c = (each.number(-100.0, 100.0) for each in item.items("six numbers", 6, 6))
        if a == b == c == 0.0:
            raise item.wrong("an axis that is a direction")
        places.append(((x, y, z), (a, b, c)))
    turn = math.radians(found["shape_turn_degrees"].number(-180.0, 180.0))
    return OtherShape(two, found["shape_repeat"].number(1e-3, 100.0), turn, tuple(places))
