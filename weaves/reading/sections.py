"""A rule file that joins lengths of chain into a finished piece."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from ringwright.weaves.reading.keys import (
    MOST_RINGS,
    MOST_SECTIONS,
    MOST_SIDE_BY_SIDE,
    MULTIPLE_KEYS,
    NAME,
    RULE_KEYS,
    SECTION_KEYS,
    STRIP_KEYS,
)
from ringwright.weaves.reading.node import BaseOf, RuleNode
from ringwright.weaves.reading.rings import read_multiple
from ringwright.weaves.reading.whole_rule import weave_name
from ringwright.weaves.rule import WeaveRule
from ringwright.weaves.strip import CannotJoin, Section, joined, side_by_side


def piece_of_sections(document: RuleNode, path: Path, base_of: BaseOf) -> WeaveRule:
    """A finished piece of several lengths of chain.

    ``base_of`` gives the rule that a text names.
    """
    table = document.table(STRIP_KEYS)
    name, summary = weave_name(table["name"]), table["summary"].text(RULE_KEYS["summary"], 300)
    items = table["section"].items(f"2 to {MOST_SECTIONS} [[section]] tables", 2, MOST_SECTIONS)
    sections = []
    for item in items:
        keys = item.table(SECTION_KEYS, optional=SECTION_KEYS)
        core, wire = (read_multiple(keys[k]) if k in keys else 1.0 for k in MULTIPLE_KEYS)
        sections.append(_section(item, keys, base_of, core, wire))
    rings = sum(s.repeats * len(s.rule.rings) + len(s.rule.start) + 1 for s in sections) - 1
    if rings > MOST_RINGS:
        raise table["section"].fault(
            f"makes {rings} rings, but a finished piece has at most {MOST_RINGS}: give the "
            "sections fewer repeats"
        )
    try:
        rule = joined(sections, name, summary, path)
    except CannotJoin as error:
        raise items[error.section].fault(str(error)) from None
    for ring in rule.rings:
        if not NAME.fullmatch(ring.name):
            raise table["section"].fault(
                f"gives a ring the name {ring.name}, but a name has at most 16 letters"
            )
    return rule


def _section(
    item: RuleNode, keys: Mapping[str, RuleNode], base_of: BaseOf, core: float, wire: float
) -> Section:
    """A length of a weave, or rings side by side."""
    if "rings" in keys:
        for other in ("weave", "repeats"):
            if other in keys:
                raise keys[other].fault("cannot stand beside rings: a section is one or the other")
        return Section(side_by_side(keys["rings"].whole(1, MOST_SIDE_BY_SIDE)), 0, core, wire)
    for needed in ("weave", "repeats"):
        if needed not in keys:
            raise item.fault(
                f"has no {needed}: give weave and repeats for a length of chain, or rings for so "
                "many rings side by side"
            )
    rule = base_of(keys["weave"])
    return Section(rule, keys["repeats"].whole(1, MOST_RINGS), core, wire)
