"""A rule file that gives a weave in full: typed values to a rule."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from ringwright.base.wording import either, quoted
from ringwright.weaves.family import FAMILIES, Family
from ringwright.weaves.reading.assembly import read_held, read_start, read_steps
from ringwright.weaves.reading.endless import EndlessWeave
from ringwright.weaves.reading.figures import read_common_range, read_minimums
from ringwright.weaves.reading.keys import (
    A_METAL_LIST,
    A_WEAVE_NAME,
    MOST_AROUND,
    OPTIONAL_KEYS,
    PLACEMENT_KEYS,
    REPEAT_KEYS,
    RULE_KEYS,
    WEAVE_NAME,
)
from ringwright.weaves.reading.links import check_joined, links_of_steps, read_links
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.reading.rings import check_sizes_used, read_rings, read_sizes
from ringwright.weaves.rule import StepsRing, StepsRule, Vector, WeaveRule


def whole_rule(document: RuleNode, path: Path) -> WeaveRule | StepsRule:
    """The rule that a file gives in full, or its steps where it has no placement."""
    family = _family(document)
    placed = _is_placed(document.value)
    needed = {*family.keys} if placed else {*family.keys} - PLACEMENT_KEYS
    needed |= {"link"} if placed else set()
    needed |= {"start"} if family.needs_start else set()
    table = document.table(RULE_KEYS, optional=OPTIONAL_KEYS - needed)
    sizes = read_sizes(table["size"]) if "size" in table else {}
    rings = read_rings(table["ring"], sizes, placed)
    if "size" in table:
        check_sizes_used(table["size"], sizes, rings)
    around = table["around"].whole(2, MOST_AROUND) if "around" in table else 1
    weave = EndlessWeave(family, around, {ring.name: n for n, ring in enumerate(rings)})
    source = table["link"] if "link" in table else table["step"]
    links = read_links(source, weave) if "link" in table else links_of_steps(source, weave)
    held = read_held(table["step"], rings, weave, links)
    check_joined(source, weave, links, held)
    common = table.get("common_aspect_ratio")
    steps_rule = StepsRule(
        name=weave_name(table["name"]),
        trade_names=tuple(
            n.text("a name", 80)
            for n in table["trade_names"].items("a list of at most 20 names", 0, 20)
        ),
        summary=table["summary"].text(RULE_KEYS["summary"], 300),
        family=family,
        rings=tuple(StepsRing(ring.name, ring.role, ring.size) for ring in rings),
        around=around,
        links=links,
        start=read_start(table["start"], weave, links) if "start" in table else (),
        steps=read_steps(table["step"], rings, weave, links, held),
        common_aspect_ratio=None if common is None else read_common_range(common),
        path=path,
        metals=read_metals(table),
        ends=_ends(table["ends"], weave) if "ends" in table else ((), ()),
    )
    computed = read_minimums(table, rings)
    if not placed:
        # Minimums are those of a placement: the next one that is found has others.
        return steps_rule
    turn = _turn(table["turn_degrees"], family) if "turn_degrees" in table else 0.0
    places = [(ring.centre, ring.axis) for ring in rings]
    rule = steps_rule.placed(places, _repeat_vectors(table), turn)
    in_words = "lay_in_words" in table and table["lay_in_words"].yes_or_no()
    return replace(rule, computed=computed, lay_in_words=in_words)


def _ends(node: RuleNode, weave: EndlessWeave) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The rings that a finished piece is pulled by."""
    if weave.family.repeats:
        raise node.fault(f"is only for a piece: a {weave.family.name} is pulled by its repeats")
    first, last = node.items("two lists of ring names", 2, 2)
    found = []
    for side in (first, last):
        names = [
            ring.text("a ring name", 16) for ring in side.items("a list of 1 to 20 rings", 1, 20)
        ]
        for name in names:
            if name not in weave.order:
                raise side.fault(f"names {quoted(name)}, but no ring is called that")
        found.append(tuple(names))
    if set(found[0]) & set(found[1]):
        raise node.fault("has a ring at both ends: a piece is pulled by different rings")
    return found[0], found[1]


def _is_placed(document: object) -> bool:
    """Whether a document says anything about where its rings lie."""
    if not isinstance(document, dict):
        return True
    rings = document.get("ring")
    said = set(document).union(
        *(r for r in (rings if isinstance(rings, list) else ()) if isinstance(r, dict))
    )
    return bool(said & (PLACEMENT_KEYS | {"centre", "axis"}))


def _family(document: RuleNode) -> Family:
    """The rule's family, once no key in the rule belongs to other families only."""
    table = document.table(RULE_KEYS, optional=OPTIONAL_KEYS)
    family = FAMILIES[table["family"].one_of(tuple(FAMILIES))]
    for key in REPEAT_KEYS:
        if key in table and key not in family.keys:
            owners = [f'"{other.name}"' for other in FAMILIES.values() if key in other.keys]
            raise table[key].fault(
                f"belongs to the family {either(owners)}, but this rule's family is "
                f'"{family.name}": leave it out or correct the family'
            )
    return family


def weave_name(node: RuleNode) -> str:
    """A name that a weave can have."""
    if isinstance(node.value, str) and WEAVE_NAME.fullmatch(node.value):
        return node.value
    raise node.wrong(f"a name of {A_WEAVE_NAME}")


def _repeat_vectors(table: Mapping[str, RuleNode]) -> tuple[Vector, ...]:
    """The vectors by which the unit is moved: one, two for a sheet, none for a piece."""
    if "repeat_vector" in table:
        return (_along_x(table["repeat_vector"]),)
    if "repeat_vectors" not in table:
        return ()
    first, second = table["repeat_vectors"].items(RULE_KEYS["repeat_vectors"], 2, 2)
    across = second.vector()
    if not (across[1] > 0.0 and across[2] == 0.0):
        raise second.wrong(
            "flat and towards +y, [shift, length, 0] with length > 0", _said_vector(across)
        )
    return (_along_x(first), across)


def _along_x(node: RuleNode) -> Vector:
    x, y, z = node.vector()
    if not (x > 0.0 and y == 0.0 and z == 0.0):
        raise node.wrong("along +x, [length, 0, 0] with length > 0", _said_vector((x, y, z)))
    return (x, y, z)


def _said_vector(vector: Vector) -> str:
    return f"[{', '.join(f'{x:g}' for x in vector)}]"


def _turn(node: RuleNode, family: Family) -> float:
    """The turn in radians; a screw that does not turn is a chain."""
    expected = "a number above -180 and below 180"
    if family.is_wound:
        expected += " other than 0"
    turn = node.number(-180.0, 180.0, expected)
    if abs(turn) == 180.0 or (family.is_wound and turn == 0.0):
        raise node.wrong(expected)
    return math.radians(turn)


def read_metals(table: Mapping[str, RuleNode]) -> str | None:
    """The metals a file asks for, unread, if it does."""
    return table["metals"].text(A_METAL_LIST, 300) if "metals" in table else None
