"""A weave rule as the text of a rule file, with the remarks of the file it came from."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Sequence

from ringwright.weaves.rule import Minimums, RingRef, RuleRing, Step, Vector, WeaveRule

_PLACE_LINE = re.compile(
    r"\s*(centre|axis|repeat_vector|repeat_vectors|turn_degrees)\s*=.*", re.ASCII
)
_MINIMUM_LINE = re.compile(
    r"\s*(geometric_minimum|straight_minimum|working_minimum|wire_mm|inner_mm|shape_\w+)\s*=.*",
    re.ASCII,
)
_HEADER = re.compile(r"\s*\[+\s*([A-Za-z_]+)\s*\]+\s*(#.*)?", re.ASCII)


def rule_text(rule: WeaveRule) -> str:
    """A rule file that says what ``rule`` says, without remarks."""
    parts = [
        f"name = {_text(rule.name)}",
        f"trade_names = [{', '.join(map(_text, rule.trade_names))}]",
        f"summary = {_text(rule.summary)}",
        f"family = {_text(rule.family.name)}",
        *_repeat_lines(rule),
    ]
    if rule.family.closes_round:
        parts.append(f"around = {rule.around}")
    if rule.metals is not None:
        parts.append(f"metals = {_text(rule.metals)}")
    if any(rule.ends):
        sides = (f"[{', '.join(map(_text, side))}]" for side in rule.ends)
        parts.append(f"ends = [{', '.join(sides)}]")
    if rule.lay_in_words:
        parts.append("lay_in_words = true")
    common = rule.common_aspect_ratio
    if common is not None:
        parts += ["", "[common_aspect_ratio]", f"low = {common.low!r}", f"high = {common.high!r}"]
        parts.append(f"provenance = {_text(common.provenance)}")
        if common.note is not None:
            parts.append(f"note = {_text(common.note)}")
    if rule.computed is not None:
        parts += ["", *_minimum_lines(rule.computed)]
    for size in {ring.size.name: ring.size for ring in rule.rings if ring.size}.values():
        parts += ["", "[[size]]", f"name = {_text(size.name)}"]
        if size.is_fixed:
            parts += [f"wire_mm = {size.wire_mm!r}", f"inner_mm = {size.inner_mm!r}"]
        else:
            parts += [f"core = {size.core!r}", f"wire = {size.wire!r}"]
    for ring in rule.rings:
        parts += ["", "[[ring]]", f"name = {_text(ring.name)}", f"role = {_text(ring.role)}"]
        if ring.size:
            parts.append(f"size = {_text(ring.size.name)}")
        parts += _place_lines(ring)
    parts += ["", *_link_lines(rule)]
    for start in rule.start:
        parts += [
            "",
            "[[start]]",
            f"ring = {_ref(rule, start.ring)}",
            f"role = {_text(start.role)}",
        ]
    for step in rule.steps:
        parts += ["", "[[step]]", f"ring = {_text(step.ring.name)}", *_way_lines(rule, step)]
    return "\n".join(parts) + "\n"


def kept_text(rule: WeaveRule, original: str, reads_as: Callable[[str], WeaveRule | None]) -> str:
    """The file a rule came from, with the rule's placement put in and its remarks kept.

    Where the file is laid out in a way that lines cannot be put into (rings in one
    list, say), the text is written afresh and the remarks are lost.

    Parameters
    ----------
    rule : with the placement
    original : the text of its file
    reads_as : reads a text as a rule, None where it is none
    """
    text = with_minimums(_with_placement(rule, original), rule.computed)
    found = reads_as(text)
    if found is not None and _said(found) == _said(rule):
        return text
    return rule_text(rule)


def with_minimums(text: str, computed: Minimums | None) -> str:
    """The text of a rule file with these minimums in place of those it has, if it has any.

    New ones are put below the common range; remarks are kept.
    """
    lines: list[str] = []
    section = ""
    old: int | None = None
    below_range: int | None = None
    for line in text.splitlines():
        header = _HEADER.fullmatch(line)
        section = header[1] if header else section
        if section == "computed" and (header or _MINIMUM_LINE.fullmatch(line)):
            old = len(lines) if old is None else old
            continue
        lines.append(line)
        if section == "common_aspect_ratio" and line.strip() and not line.startswith("#"):
            below_range = len(lines)
    if computed is None:
        # Of the two empty lines around what is gone, one is left.
        if old and lines[old - 1 : old + 1] == ["", ""]:
            del lines[old]
    elif old is not None:
        lines[old:old] = _minimum_lines(computed)
    else:
        at = _first_list(lines) if below_range is None else below_range
        block = _minimum_lines(computed)
        lines[at:at] = [*block, ""] if below_range is None else ["", *block]
    return "\n".join(lines) + "\n"


def _first_list(lines: list[str]) -> int:
    """Where the first [[...]] begins, with the remarks above it; else the end."""
    for at, line in enumerate(lines):
        if line.lstrip().startswith("[["):
            while at and lines[at - 1].startswith("#"):
                at -= 1
            return at
    return len(lines)


def _minimum_lines(computed: Minimums) -> list[str]:
    lines = ["[computed]", f"geometric_minimum = {computed.geometric!r}"]
    if computed.working is not None:
        lines.append(f"working_minimum = {computed.working!r}")
    if computed.straight is not None:
        lines.append(f"straight_minimum = {computed.straight!r}")
    if computed.wire_mm is not None:
        lines += [f"wire_mm = {computed.wire_mm!r}", f"inner_mm = {computed.inner_mm!r}"]
    shape = computed.shape
    if shape is not None:
        places = ", ".join(str([*centre, *axis]) for centre, axis in shape.places)
        lines += [
            f"shape_of_repeats = {2 if shape.two_repeats else 1}",
            f"shape_repeat = {shape.repeat!r}",
            f"shape_turn_degrees = {round(math.degrees(shape.turn), 9)!r}",
            f"shape_places = [{places}]",
        ]
    return lines


def _said(rule: WeaveRule) -> str:
    """What a rule says but for where its file lies; links in any order, turns to 1e-9."""
    plain = (rule.name, rule.trade_names, rule.summary, rule.family.name, rule.rings, rule.start)
    turn = round(rule.turn, 9) + 0.0
    rest = (rule.repeat_vectors, turn, rule.around, rule.steps, rule.ends)
    ratios = (rule.common_aspect_ratio, rule.computed)
    return repr((plain, rest, ratios, sorted(map(repr, rule.links))))


def _with_placement(rule: WeaveRule, original: str) -> str:
    """The original less its placement, with that of the rule in its stead."""
    rings = iter(rule.rings)
    lines: list[str] = []
    section = ""
    has_links = False
    for line in original.splitlines():
        header = _HEADER.fullmatch(line)
        if header:
            section = header[1]
            has_links |= section == "link"
        if _PLACE_LINE.fullmatch(line) and section in ("", "ring"):
            continue
        lines.append(line)
        # A ring's place goes below its role, the repeat below the family.
        if section == "ring" and re.match(r"\s*role\s*=", line):
            lines += [part for ring in [next(rings, None)] if ring for part in _place_lines(ring)]
        elif section == "" and re.match(r"\s*family\s*=", line):
            lines += _repeat_lines(rule)
    if not has_links:
        lines += ["", "# Which rings run through one another, as the steps make it."]
        lines += ["", *_link_lines(rule)]
    return "\n".join(lines) + "\n"


def _repeat_lines(rule: WeaveRule) -> list[str]:
    vectors = [_vector(vector) for vector in rule.repeat_vectors]
    lines = [f"repeat_vector = {vectors[0]}"] if len(vectors) == 1 else []
    if len(vectors) == 2:
        lines = [f"repeat_vectors = [{', '.join(vectors)}]"]
    if rule.family.turns:
        lines.append(f"turn_degrees = {round(math.degrees(rule.turn), 9) + 0.0!r}")
    return lines


def _place_lines(ring: RuleRing) -> list[str]:
    return [f"centre = {_vector(ring.centre)}", f"axis = {_vector(ring.axis)}"]


def _link_lines(rule: WeaveRule) -> list[str]:
    lines: list[str] = []
    for link in rule.links:
        pair = ", ".join(_ref(rule, ref) for ref in (link.first, link.second))
        lines += ["[[link]]", f"rings = [{pair}]", ""]
    return lines[:-1]


def _way_lines(rule: WeaveRule, step: Step) -> list[str]:
    """A step's lines below the name of its ring."""
    sides = step.sides or ("",) * len(step.through)
    ways = (_ref(rule, ref, side) for ref, side in zip(step.through, sides, strict=True))
    lines = _wrapped("through = [", ", ".join(ways))
    if step.holding:
        lines.append(f"holding = [{', '.join(_text(ref.name) for ref in step.holding)}]")
    for key, refs in (("over", step.over), ("under", step.under)):
        if refs:
            lines.append(f"{key} = {_refs(rule, refs)}")
    for each in step.overlaps:
        lines += ["", "[[step.overlap]]", f"of = {_refs(rule, each.of)}"]
        for key, refs in (("through", each.through), ("around", each.around)):
            if refs:
                lines.append(f"{key} = {_refs(rule, refs)}")
    return lines


def _refs(rule: WeaveRule, refs: Sequence[RingRef]) -> str:
    return f"[{', '.join(_ref(rule, ref) for ref in refs)}]"


def _wrapped(opening: str, inside: str) -> list[str]:
    """A list on one line, or on several where that is too long to read."""
    if len(inside) < 80:
        return [f"{opening}{inside}]"]
    return [opening, *(f"    {part}," for part in re.split(r", (?=\"|\{)", inside)), "]"]


def _ref(rule: WeaveRule, ref: RingRef, side: str = "") -> str:
    """A ring, and the side from which another goes through it where that is said."""
    parts = [f"name = {_text(ref.name)}"]
    if ref.image != (0, 0):
        image = list(ref.image) if rule.family.image_numbers == 2 else ref.image[0]
        parts.append(f"image = {image}")
    if side:
        parts.append(f"from = {_text(side)}")
    return _text(ref.name) if len(parts) == 1 else f"{{ {', '.join(parts)} }}"


def _vector(vector: Vector) -> str:
    return f"[{', '.join(repr(x) for x in vector)}]"


def _text(text: str) -> str:
    # The escapes of a JSON text are all escapes of TOML.
    return json.dumps(text, ensure_ascii=False)
