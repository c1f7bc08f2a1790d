"""Reads weave rules from TOML files and refuses whatever is not a sound rule.

A rule file is data from a stranger: it is bounded before it is parsed, nothing
in it is evaluated, and every complaint names the file, the key, what was found
there and what was expected.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from generator.errors import BadInput
from generator.toml_file import Node, either, quoted, read_toml, toml_of
from weaves.captive import unreachable_captive
from weaves.names import has_letters, keys_without_kind, meant, name_key, other_weave
from weaves.rule import (
    SIDES,
    CommonRange,
    Image,
    Link,
    Minimums,
    OtherShape,
    Overlap,
    RingRef,
    RuleRing,
    RuleSize,
    StartRing,
    Step,
    StepsRing,
    StepsRule,
    Vector,
    WeaveRule,
    without_placement,
    wrapped,
)
from weaves.strip import CannotJoin, Section, joined, side_by_side

MOST_BYTES = 256 * 1024
MOST_RINGS = 60
MOST_LINKS = 600
MOST_SIZES = 20
MOST_AROUND = 60
FURTHEST_IMAGE = 3
# So many rules may be like one another in turn.
MOST_NESTED = 4
MOST_SECTIONS = 10
MOST_SIDE_BY_SIDE = 4
LARGEST_COORDINATE = 100.0
LARGEST_ASPECT_RATIO = 50.0
LARGEST_MULTIPLE = 20.0
_LONGEST_NOTE = 300
WIRE_MM = (0.05, 50.0)
INNER_MM = (0.1, 500.0)


# Two rings in the place of one lie so far to either side of it, in core radii.
_ASIDE = 0.11

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,15}")
_WEAVE_NAME = re.compile(r"[^\W_][\w -]{0,39}")
_SHEET = re.compile(r"[\s-]+sheets?\s*$", re.IGNORECASE)
_ROLES = ("open", "closed")
# The keys that say how the unit of each family repeats; all of them are needed.
_FAMILY_KEYS = {
    "chain": ("repeat_vector",),
    "screw": ("repeat_vector", "turn_degrees"),
    "sheet": ("repeat_vectors",),
    "tube": ("repeat_vector", "turn_degrees", "around"),
    "piece": (),
}
_FAMILIES = tuple(_FAMILY_KEYS)
_REPEAT_KEYS = ("repeat_vector", "repeat_vectors", "turn_degrees", "around")
# Of these, the ones that are part of a placement.
_PLACEMENT_KEYS = {"repeat_vector", "repeat_vectors", "turn_degrees"}
_TWO_WAY = ("sheet", "tube")
# Where the weave has an end to begin at, a ring has to be there for the first step.
_NEEDS_START = ("chain", "screw")
_PROVENANCES = ("common practice, no source", "from memory")
_SOURCE = "source: "

_A_VECTOR = "a list of three numbers"
_OR_NONE = " (or leave the whole placement out, for 'ringwright place' to find one)"
_A_ROLE = 'either "open" or "closed"'
_A_NAME = "a letter followed by up to 15 letters, digits or underscores"
_A_WEAVE_NAME = "1 to 40 letters, digits, spaces, hyphens and underscores"
_A_MULTIPLE = f"a number above 0 and at most {LARGEST_MULTIPLE:g}"
_STEPS_WANTED = f"a list of 1 to {MOST_RINGS} [[step]] tables"
_A_RING = "a ring name, or a table with its name and image"
_A_METAL_LIST = 'metals by role or ring name, as "open=copper,closed=steel/brass"'
_MINIMUMS_WANTED = "a table with geometric_minimum and working_minimum"
_THE_ENDS = "two lists of rings that a piece is pulled straight by, at its beginning and its end"
_RULE_KEYS = {
    "name": "the weave's name",
    "trade_names": "a list of names",
    "summary": "one line of text",
    "family": 'the family "chain", "screw", "sheet", "tube" or "piece"',
    "repeat_vector": f"a list [length, 0, 0] with a positive length{_OR_NONE}",
    "repeat_vectors": f"two lists [a, 0, 0] and [b, c, 0] with positive a and c{_OR_NONE}",
    "turn_degrees": f"the degrees that each repeat is turned by{_OR_NONE}",
    "around": f"a whole number of units around the tube, 2 to {MOST_AROUND}",
    "common_aspect_ratio": "a table with low, high and provenance",
    "computed": _MINIMUMS_WANTED,
    "metals": _A_METAL_LIST,
    "ends": _THE_ENDS,
    "lay_in_words": "true where this is the tightest lay that the steps leave, else false",
    "size": "a [[size]] table for each ring size besides the main one",
    "ring": "a [[ring]] table for each ring of the repeat",
    "link": f"a [[link]] table for each pair of linked rings{_OR_NONE}",
    "start": "a [[start]] table for each ring there before the first repeat",
    "step": "a [[step]] table for each open ring, in order of assembly",
}
_OPTIONAL_KEYS = {
    "common_aspect_ratio",
    "computed",
    "metals",
    "ends",
    "lay_in_words",
    "size",
    "link",
    "start",
    *_REPEAT_KEYS,
}
_RING_KEYS = {
    "name": "a ring name",
    "role": _A_ROLE,
    "centre": f"{_A_VECTOR}{_OR_NONE}",
    "axis": f"{_A_VECTOR}{_OR_NONE}",
    "size": "the name of a size",
}
_STRIP_KEYS = {
    "name": "the piece's name",
    "summary": "one line of text",
    "section": "a [[section]] table for each length of chain or group of rings, in order",
}
_SECTION_KEYS = {
    "weave": "the name of a weave, or of a rule file in the same folder",
    "repeats": "a whole number",
    "rings": f"a whole number of rings side by side, 1 to {MOST_SIDE_BY_SIDE}",
    "core": "the rings' core radius in parts of the main ring's",
    "wire": "the rings' wire in parts of the main ring's",
}
_VARIATION_KEYS = {
    "name": "the weave's name",
    "like": "the name of a weave, or of a rule file in the same folder",
    "summary": "one line of text",
    "common_aspect_ratio": "a table with low, high and provenance",
    "computed": _MINIMUMS_WANTED,
    "metals": _A_METAL_LIST,
    "size": "a [[size]] table for each ring size that is new",
    "change": "a [[change]] table for each ring that is other than in that weave",
}
_OPTIONAL_IN_VARIATION = ("common_aspect_ratio", "computed", "metals", "size", "change")
_CHANGE_KEYS = {
    "ring": "the name of a ring of that weave",
    "size": 'the name of a [[size]], or "main"',
    "doubled": "true for two rings side by side in the place of one",
}
_MAIN = "main"
_MULTIPLE_KEYS = {"core": _A_MULTIPLE, "wire": _A_MULTIPLE}
_FIXED_KEYS = {"wire_mm": "the wire in millimetres", "inner_mm": "the inside in millimetres"}
_SIZE_KEYS = {"name": "a name for the size", **_MULTIPLE_KEYS, **_FIXED_KEYS}
_LINK_KEYS = {"rings": "a list of two rings"}
_START_KEYS = {"ring": _A_RING, "role": _A_ROLE}
_A_SIDE = either([f'"{side}"' for side in SIDES])
_STEP_KEYS = {
    "ring": _A_RING,
    "through": "a list of rings",
    "holding": "a list of names of closed rings that it keeps captive",
    "over": "a list of rings that it lies over, and does not go through",
    "under": "a list of rings that it lies under, and does not go through",
    "overlap": "a [[step.overlap]] table for each two rings that overlap by now",
}
_OPTIONAL_IN_STEP = ("holding", "over", "under", "overlap")
_OVERLAP_KEYS = {
    "of": "a list of two rings that overlap",
    "through": "a list of rings that go through the overlap",
    "around": "a list of rings that go around the overlap",
}
_REF_KEYS = {"name": "a ring name", "image": "a number of repeats"}
_WAY_KEYS = {**_REF_KEYS, "from": f"the side that the new ring comes from, {_A_SIDE}"}
_RANGE_KEYS = {
    "low": "a number",
    "high": "a number",
    "provenance": f'"{_PROVENANCES[0]}", "{_PROVENANCES[1]}" or "{_SOURCE}..."',
    "note": "a sentence on why the low end is not near the computed minimum",
}
_COMPUTED_KEYS = {
    "geometric_minimum": "the smallest aspect ratio at which the weave exists",
    "straight_minimum": "the smallest aspect ratio in the shape of the rule's placement",
    "working_minimum": "the smallest aspect ratio at which every ring can be put in",
    "wire_mm": "the main ring's wire that they were computed for",
    "inner_mm": "the main ring's inside that they were computed for",
    "shape_of_repeats": "1 or 2: how many repeats are the unit of the tightest shape",
    "shape_repeat": "the length of that unit along x",
    "shape_turn_degrees": "the turn from one such unit to the next",
    "shape_places": "for each ring of that unit six numbers, its centre and its axis",
}
_SHAPE_KEYS = ("shape_of_repeats", "shape_repeat", "shape_turn_degrees", "shape_places")


def load_rule(name_or_path: str | Path) -> WeaveRule:
    """Load a weave rule by name, or from a maker's file.

    A name is that of a weave that comes with the package or one of its trade
    names, in any spelling (see :func:`weaves.names.name_key`). A ``Path``, and any other
    text with a path separator or ending in ``.toml``, is read as a file.

    Raises ``BadInput`` if no weave has that name or the file is not a sound rule.
    """
    return _placed(_found(name_or_path))


def rule_from_text(text: str, name: str = "weave.toml") -> WeaveRule:
    """A weave rule from the text of a file, which may be like weaves of the library only.

    No file is opened but the library's own. ``name`` is how complaints call the text.

    Raises ``BadInput`` if it is not a sound rule, or has no placement.
    """
    path = Path(name)
    file = _weave_file(path)
    document = toml_of(text, file, MOST_BYTES, "weave rule")
    return _placed(_rule_of(_Node(file, "", document), _Source(path, alone=True)))


def _placed(found: WeaveRule | StepsRule) -> WeaveRule:
    if isinstance(found, StepsRule):
        raise BadInput(
            f"{_weave_file(found.path)} gives the order of assembly alone, not where the rings "
            "lie: have placements found by 'ringwright place', with the same weave and size and "
            "--out FOLDER/NAME, and keep one of them"
        )
    return found


def load_steps(name_or_path: str | Path) -> StepsRule:
    """Load what is linked in a weave, and leave where its rings lie aside.

    Names and paths are as for :func:`load_rule`; the file may also be one that has no
    placement: no ring has a centre or an axis, the repeat is not told, and links that are
    left out are those that the steps make.

    Raises ``BadInput`` as :func:`load_rule` does.
    """
    found = _found(name_or_path)
    return found if isinstance(found, StepsRule) else without_placement(found)


def _found(name_or_path: str | Path) -> WeaveRule | StepsRule:
    text = str(name_or_path)
    is_path = isinstance(name_or_path, Path)
    # A few trade names have a stroke in them (3/4 Persian); no path has their spelling.
    if is_path or (_looks_like_path(text) and _shipped(text) is None):
        return _read_rule(Path(text))
    return named_rule(text)


def named_rule(name: str) -> WeaveRule:
    """A weave that comes with the package, by any of its names; no file is looked for.

    Raises ``BadInput`` if no weave has that name.
    """
    rule = _shipped(name)
    if rule is not None:
        return rule
    other = other_weave(name)
    if other is not None:
        said = f"{quoted(name)} {other.said}"
    else:
        said = f"no weave is called {quoted(name)}: {_near_names(name)}"
    raise BadInput(
        f"{said} ('ringwright weaves' lists them all), or give the path of a rule file such as "
        "./my_weave.toml"
    )


def rules_named_like(text: str) -> tuple[WeaveRule, ...]:
    """The weaves that a few letters of a name may mean, sorted by name: for a search as one types.

    Those with these letters in a name or a family, and the one of exactly this name.
    """
    exact = _shipped(text)
    return tuple(
        rule
        for rule in list_rules()
        if rule == exact
        or any(has_letters(said, text) for said in (rule.name, *rule.trade_names, rule.family))
    )


def _near_names(name: str) -> str:
    """Which of our weaves a name that is none of theirs may mean."""
    by_key = _shipped_by_key()
    near = difflib.get_close_matches(name_key(name)[:40], by_key, n=3)
    names = list(dict.fromkeys(by_key[key].name for key in near))
    return f"perhaps {either(names)} is meant" if names else "expected a name such as barrel"


def checked_name(name: str) -> str:
    """A name that a new weave can have.

    Raises
    ------
    BadInput
        When it is no name for a weave, or that of a weave that comes with the package.
    """
    if not _WEAVE_NAME.fullmatch(name):
        raise BadInput(f"{quoted(name)} cannot be the name of a weave: expected {_A_WEAVE_NAME}")
    taken = _shipped_by_key().get(name_key(name))
    if taken is not None:
        raise BadInput(
            f"{quoted(name)} is a name of the weave {taken.name!r} that comes with ringwright: "
            "choose a name of its own"
        )
    return name


def list_rules() -> tuple[WeaveRule, ...]:
    """All weaves that come with the package, sorted by name."""
    return _shipped_rules()


@functools.cache
def _shipped_rules() -> tuple[WeaveRule, ...]:
    here = Path(__file__).resolve().parent
    rules = (_read_rule(path) for path in here.glob("*.toml"))
    # Those that come with the package all have their placement.
    placed = [rule for rule in rules if isinstance(rule, WeaveRule)]
    return tuple(sorted(placed, key=lambda rule: rule.name))


def _shipped(name: str) -> WeaveRule | None:
    """The weave of that name that comes with the package, if there is one.

    What makes a sheet may be called so: European 4-in-1 sheet.
    """
    rule = meant(name, _shipped_by_key(), _shipped_by_rest())
    if rule is None and _SHEET.search(name):
        rule = meant(_SHEET.sub("", name), _shipped_by_key(), _shipped_by_rest())
        rule = rule if rule is not None and rule.family == "sheet" else None
    return rule


@functools.cache
def _shipped_by_key() -> dict[str, WeaveRule]:
    """Rules by every name they go by; a rule's own name wins over another's trade name."""
    rules = _shipped_rules()
    by_trade_name = {name_key(name): rule for rule in rules for name in rule.trade_names}
    return by_trade_name | {name_key(rule.name): rule for rule in rules}


@functools.cache
def _shipped_by_rest() -> dict[str, WeaveRule]:
    """Rules by what is left of their names that end in words such as chain."""
    return {
        key: rule
        for rule in _shipped_rules()
        for key in keys_without_kind((rule.name, *rule.trade_names))
    }


def _looks_like_path(text: str) -> bool:
    return text.lower().endswith(".toml") or any(mark in text for mark in "/\\")


# --- from a path to a document --------------------------------------------------------


def _weave_file(path: Path) -> str:
    return f"weave file {quoted(str(path), longest=300)}"


@dataclass(frozen=True)
class _Source:
    """Where a document comes from, and so what it may lead on to.

    Attributes
    ----------
    depth : how many rules that are like another have led here
    alone : it has no folder, so no file lies beside it
    """

    path: Path
    depth: int = 0
    alone: bool = False


def _read_rule(path: Path, depth: int = 0) -> WeaveRule | StepsRule:
    file = _weave_file(path)
    document = read_toml(path, file, MOST_BYTES, "weave rule")
    return _rule_of(_Node(file, "", document), _Source(path, depth))


def _rule_of(document: _Node, source: _Source) -> WeaveRule | StepsRule:
    table = document.value
    if isinstance(table, dict) and "section" in table:
        return _strip(document, source)
    if isinstance(table, dict) and "like" in table:
        return _variation(document, source)
    rule = _rule(document, source.path)
    if isinstance(rule, WeaveRule):
        _check_captives(document, rule)
    return rule


def _check_captives(document: _Node, rule: WeaveRule) -> None:
    """Refuse a closed captive ring that could get to its place only through other rings."""
    barred = unreachable_captive(rule)
    if barred is None:
        return
    node = document.table(_RULE_KEYS, optional=_RULE_KEYS)["step"]
    said = _Weave(rule.family, rule.around, {r.name: n for n, r in enumerate(rule.rings)}).said
    raise _step_items(node)[barred.step].fault(
        f"holds {barred.held.name}, which cannot be laid in place closed: {said(barred.above)} and "
        f"{said(barred.below)}, on either side of it, are joined by then, and it would have to "
        "pass through one of them; let the step that closes this way hold it"
    )


class _Node(Node):
    """A value of a rule file."""

    TABLES = ("ring", "size", "link", "start", "step", "change", "section")

    def name(self, taken: Collection[str]) -> str:
        """A name of a ring or size that is not among those already taken."""
        if not isinstance(self.value, str) or not _NAME.fullmatch(self.value):
            raise self.wrong(_A_NAME)
        if self.value in taken:
            raise self.fault(f"is {self.value!r} again: expected a name of its own")
        return self.value

    def vector(self) -> Vector:
        """Three coordinates in units of the core radius."""
        x, y, z = (
            item.number(-LARGEST_COORDINATE, LARGEST_COORDINATE)
            for item in self.items(_A_VECTOR, 3, 3)
        )
        return (x, y, z)


# --- from typed values to a rule ------------------------------------------------------


def _rule(document: _Node, path: Path) -> WeaveRule | StepsRule:
    family = _family(document)
    placed = _is_placed(document.value)
    needed = {*_FAMILY_KEYS[family]} if placed else {*_FAMILY_KEYS[family]} - _PLACEMENT_KEYS
    needed |= {"link"} if placed else set()
    needed |= {"start"} if family in _NEEDS_START else set()
    table = document.table(_RULE_KEYS, optional=_OPTIONAL_KEYS - needed)
    sizes = _sizes(table["size"]) if "size" in table else {}
    rings = _rings(table["ring"], sizes, placed)
    if "size" in table:
        _check_sizes_used(table["size"], sizes, rings)
    around = table["around"].whole(2, MOST_AROUND) if "around" in table else 1
    weave = _Weave(family, around, {ring.name: n for n, ring in enumerate(rings)})
    source = table["link"] if "link" in table else table["step"]
    links = _links(source, weave) if "link" in table else _links_of_steps(source, weave)
    held = _held(table["step"], rings, weave, links)
    _check_joined(source, weave, links, held)
    common = table.get("common_aspect_ratio")
    steps_rule = StepsRule(
        name=_weave_name(table["name"]),
        trade_names=tuple(
            n.text("a name", 80)
            for n in table["trade_names"].items("a list of at most 20 names", 0, 20)
        ),
        summary=table["summary"].text(_RULE_KEYS["summary"], 300),
        family=family,
        rings=tuple(StepsRing(ring.name, ring.role, ring.size) for ring in rings),
        around=around,
        links=links,
        start=_start(table["start"], weave, links) if "start" in table else (),
        steps=_steps(table["step"], rings, weave, links, held),
        common_aspect_ratio=None if common is None else _common_range(common),
        path=path,
        metals=_metals(table),
        ends=_ends(table["ends"], weave) if "ends" in table else ((), ()),
    )
    computed = _minimums(table, rings)
    if not placed:
        # Minimums are those of a placement: the next one that is found has others.
        return steps_rule
    turn = _turn(table["turn_degrees"], family) if "turn_degrees" in table else 0.0
    places = [(ring.centre, ring.axis) for ring in rings]
    rule = steps_rule.placed(places, _repeat_vectors(table), turn)
    in_words = "lay_in_words" in table and table["lay_in_words"].yes_or_no()
    return replace(rule, computed=computed, lay_in_words=in_words)


def _ends(node: _Node, weave: _Weave) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The rings that a finished piece is pulled by."""
    if weave.family != "piece":
        raise node.fault(f"is only for a piece: a {weave.family} is pulled by its repeats")
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
    return bool(said & (_PLACEMENT_KEYS | {"centre", "axis"}))


def _family(document: _Node) -> str:
    """The rule's family, once no key in the rule belongs to other families only."""
    table = document.table(_RULE_KEYS, optional=_OPTIONAL_KEYS)
    family = table["family"].one_of(_FAMILIES)
    for key in _REPEAT_KEYS:
        if key in table and key not in _FAMILY_KEYS[family]:
            owners = [f'"{other}"' for other, keys in _FAMILY_KEYS.items() if key in keys]
            raise table[key].fault(
                f'belongs to the family {either(owners)}, but this rule\'s family is "{family}": '
                "leave it out or correct the family"
            )
    return family


def _weave_name(node: _Node) -> str:
    if isinstance(node.value, str) and _WEAVE_NAME.fullmatch(node.value):
        return node.value
    raise node.wrong(f"a name of {_A_WEAVE_NAME}")


def _repeat_vectors(table: Mapping[str, _Node]) -> tuple[Vector, ...]:
    """The vectors by which the unit is moved: one, two for a sheet, none for a piece."""
    if "repeat_vector" in table:
        return (_along_x(table["repeat_vector"]),)
    if "repeat_vectors" not in table:
        return ()
    first, second = table["repeat_vectors"].items(_RULE_KEYS["repeat_vectors"], 2, 2)
    across = second.vector()
    if not (across[1] > 0.0 and across[2] == 0.0):
        raise second.wrong(
            "flat and towards +y, [shift, length, 0] with length > 0", _said_vector(across)
        )
    return (_along_x(first), across)


def _along_x(node: _Node) -> Vector:
    x, y, z = node.vector()
    if not (x > 0.0 and y == 0.0 and z == 0.0):
        raise node.wrong("along +x, [length, 0, 0] with length > 0", _said_vector((x, y, z)))
    return (x, y, z)


def _said_vector(vector: Vector) -> str:
    return f"[{', '.join(f'{x:g}' for x in vector)}]"


def _turn(node: _Node, family: str) -> float:
    """The turn in radians; a screw that does not turn is a chain."""
    expected = "a number above -180 and below 180"
    if family == "screw":
        expected += " other than 0"
    turn = node.number(-180.0, 180.0, expected)
    if abs(turn) == 180.0 or (family == "screw" and turn == 0.0):
        raise node.wrong(expected)
    return math.radians(turn)


def _common_range(node: _Node) -> CommonRange:
    table = node.table(_RANGE_KEYS, optional=("note",))
    low = table["low"].number(1.0, LARGEST_ASPECT_RATIO)
    high = table["high"].number(low, LARGEST_ASPECT_RATIO)
    provenance = table["provenance"].text(_RANGE_KEYS["provenance"], 300)
    sourced = provenance.startswith(_SOURCE) and provenance[len(_SOURCE) :].strip()
    if provenance not in _PROVENANCES and not sourced:
        raise table["provenance"].wrong(_RANGE_KEYS["provenance"])
    note = table["note"].text(_RANGE_KEYS["note"], _LONGEST_NOTE) if "note" in table else None
    return CommonRange(low, high, provenance, note)


def _minimums(table: Mapping[str, _Node], rings: Iterable[RuleRing]) -> Minimums | None:
    """What a rule says was computed for it, which may hang on the main ring's size."""
    if "computed" not in table:
        return None
    node = table["computed"]
    sized = any(ring.size is not None and ring.size.is_fixed for ring in rings)
    said = [k for k in _FIXED_KEYS if isinstance(node.value, dict) and k in node.value]
    if said and not sized:
        raise node.fault(
            f"has {said[0]}, but no ring of this rule is fixed in millimetres, so that its "
            "minimums hold for every size: leave it out"
        )
    optional = {"straight_minimum", "working_minimum", *_SHAPE_KEYS}
    found = node.table(_COMPUTED_KEYS, optional=optional | (set() if said else {*_FIXED_KEYS}))
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


def _other_shape(node: _Node, found: Mapping[str, _Node], rings: int) -> OtherShape | None:
    """The shape in which a weave closes tightest, where that is not the rule's own."""
    said = [key for key in ("straight_minimum", *_SHAPE_KEYS) if key in found]
    if not said:
        return None
    for key in ("straight_minimum", *_SHAPE_KEYS):
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


# --- variations of another rule --------------------------------------------------------


def _variation(document: _Node, source: _Source) -> WeaveRule:
    """A rule that is another one with rings of other sizes, or doubled."""
    table = document.table(_VARIATION_KEYS, optional=_OPTIONAL_IN_VARIATION)
    base = _base(table["like"], source)
    name = _weave_name(table["name"])
    sizes = _sizes(table["size"]) if "size" in table else {}
    doubled: set[str] = set()
    resized: dict[str, RuleSize | None] = {}
    if "change" not in table and "metals" not in table:
        raise BadInput(
            f"{document.file} changes nothing: expected {_VARIATION_KEYS['change']}, or metals"
        )
    wanted = f"1 to {MOST_RINGS} [[change]] tables"
    changed: set[str] = set()
    for item in table["change"].items(wanted, 1, MOST_RINGS) if "change" in table else ():
        change = item.table(_CHANGE_KEYS, optional=("size", "doubled"))
        ring = change["ring"].one_of(tuple(ring.name for ring in base.rings))
        if ring in changed:
            raise change["ring"].fault(f"is {ring} again: change every ring once")
        changed.add(ring)
        if len(change) == 1:
            raise item.fault("changes nothing: give it size, doubled or both")
        if "size" in change:
            main = change["size"].value == _MAIN
            resized[ring] = None if main else _size_of_ring(change["size"], sizes)
        if "doubled" in change and change["doubled"].yes_or_no():
            doubled.add(ring)
    taken = {ring.size.name for ring in base.rings if ring.size}
    for size in sizes:
        if size in taken or size == _MAIN:
            raise table["size"].fault(f"has the name {size}, which is taken: give it another")
    common = table.get("common_aspect_ratio")
    rings, copies = _copied(table.get("change", document), base, doubled, resized)
    if "size" in table:
        _check_sizes_used(table["size"], sizes, rings)
    weave = _Weave(base.family, base.around, {ring.name: n for n, ring in enumerate(rings)})
    links = _copied_links(table.get("change", document), base, weave, copies)
    return WeaveRule(
        name=name,
        trade_names=(),
        summary=table["summary"].text(_RULE_KEYS["summary"], 300),
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
        common_aspect_ratio=None if common is None else _common_range(common),
        path=source.path,
        metals=_metals(table) or base.metals,
        computed=_minimums(table, rings),
    )


def _metals(table: Mapping[str, _Node]) -> str | None:
    return table["metals"].text(_A_METAL_LIST, 300) if "metals" in table else None


def _strip(document: _Node, source: _Source) -> WeaveRule:
    """A finished piece of several lengths of chain."""
    table = document.table(_STRIP_KEYS)
    name, summary = _weave_name(table["name"]), table["summary"].text(_RULE_KEYS["summary"], 300)
    items = table["section"].items(f"2 to {MOST_SECTIONS} [[section]] tables", 2, MOST_SECTIONS)
    sections = []
    for item in items:
        keys = item.table(_SECTION_KEYS, optional=_SECTION_KEYS)
        core, wire = (_multiple(keys[k]) if k in keys else 1.0 for k in _MULTIPLE_KEYS)
        sections.append(_section(item, keys, source, core, wire))
    rings = sum(s.repeats * len(s.rule.rings) + len(s.rule.start) + 1 for s in sections) - 1
    if rings > MOST_RINGS:
        raise table["section"].fault(
            f"makes {rings} rings, but a finished piece has at most {MOST_RINGS}: give the "
            "sections fewer repeats"
        )
    try:
        rule = joined(sections, name, summary, source.path)
    except CannotJoin as error:
        raise items[error.section].fault(str(error)) from None
    for ring in rule.rings:
        if not _NAME.fullmatch(ring.name):
            raise table["section"].fault(
                f"gives a ring the name {ring.name}, but a name has at most 16 letters"
            )
    return rule


def _section(
    item: _Node, keys: Mapping[str, _Node], source: _Source, core: float, wire: float
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
    rule = _base(keys["weave"], source)
    return Section(rule, keys["repeats"].whole(1, MOST_RINGS), core, wire)


def _base(node: _Node, source: _Source) -> WeaveRule:
    """The rule that a variation is of: one that comes with the package, or a file beside it."""
    text = node.text("the name of a weave, or of a rule file in the same folder", 80)
    if source.depth >= MOST_NESTED:
        raise node.fault(
            f"leads on through {MOST_NESTED} files: expected a rule that is not itself like one "
            "that is like this"
        )
    here = Path(__file__).resolve().parent
    shipped = here / f"{_name_key_of_file(text)}.toml"
    if source.alone:
        # Only the library is there to lead on to.
        if _shipped(text) is None:
            raise node.wrong("the name of a weave that comes with ringwright")
        base: WeaveRule | StepsRule = named_rule(text)
    elif re.fullmatch(r"[A-Za-z0-9_ -]+\.toml", text):
        base = _read_rule(source.path.parent / text, source.depth + 1)
    elif shipped.is_file():
        base = _read_rule(shipped, source.depth + 1)
    elif source.path.resolve().parent == here:
        raise node.wrong("the name of another rule's file here")
    else:
        if _looks_like_path(text) and _shipped(text) is None:
            raise node.wrong("a weave's name, or the name of a file in the same folder")
        base = load_rule(text)
    if isinstance(base, StepsRule):
        raise node.fault("has no placement: expected a rule that 'ringwright check' takes")
    return base


def _name_key_of_file(text: str) -> str:
    """The file name of a shipped rule that is called so, less its ending; else nothing like it."""
    return re.sub(r"[ -]", "_", text).lower() if re.fullmatch(r"[A-Za-z0-9_ -]+", text) else "."


def _copied(
    node: _Node,
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
        if second in names or not _NAME.fullmatch(second):
            raise node.fault(f"doubles {ring.name}, but {second} is taken or too long for a name")
        copies[ring.name] = (ring.name, second)
        length = math.hypot(*ring.axis)
        for name, side in ((ring.name, _ASIDE), (second, -_ASIDE)):
            x, y, z = (c + side * a / length for c, a in zip(ring.centre, ring.axis, strict=True))
            rings.append(replace(ring, name=name, size=size, centre=(x, y, z)))
    if len(rings) > MOST_RINGS:
        raise node.fault(f"makes {len(rings)} rings, but a rule has at most {MOST_RINGS}")
    if all(ring.size for ring in rings):
        raise node.fault("leaves no ring of the main size: expected at least one")
    return tuple(rings), copies


def _copied_links(
    node: _Node, base: WeaveRule, weave: _Weave, copies: Mapping[str, tuple[str, ...]]
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


# --- rings and their sizes ------------------------------------------------------------


def _rings(node: _Node, sizes: Mapping[str, RuleSize], placed: bool) -> tuple[RuleRing, ...]:
    """The rings of a repeat; without a placement all lie at the origin, facing up."""
    rings: dict[str, RuleRing] = {}
    optional = ("size",) if placed else ("size", "centre", "axis")
    for item in node.items(f"a list of 1 to {MOST_RINGS} [[ring]] tables", 1, MOST_RINGS):
        table = item.table(_RING_KEYS, optional=optional)
        name = table["name"].name(taken=rings)
        axis = table["axis"].vector() if placed else (0.0, 0.0, 1.0)
        if math.hypot(*axis) < 1e-6:
            raise table["axis"].wrong("a direction, which needs some length", "zero")
        rings[name] = RuleRing(
            name=name,
            role=table["role"].one_of(_ROLES),
            centre=table["centre"].vector() if placed else (0.0, 0.0, 0.0),
            axis=axis,
            size=_size_of_ring(table["size"], sizes) if "size" in table else None,
        )
    if all(ring.size for ring in rings.values()):
        raise node.fault(
            "gives every ring a size of its own: expected at least one ring of the main size, "
            "which is one without size"
        )
    return tuple(rings.values())


def _check_sizes_used(
    node: _Node, sizes: Mapping[str, RuleSize], rings: tuple[RuleRing, ...]
) -> None:
    used = {ring.size.name for ring in rings if ring.size}
    for name in sizes:
        if name not in used:
            raise node.fault(
                f'describes the size "{name}", which no [[ring]] has: leave it out or give a '
                f'ring size = "{name}"'
            )


def _size_of_ring(node: _Node, sizes: Mapping[str, RuleSize]) -> RuleSize:
    if isinstance(node.value, str) and node.value in sizes:
        return sizes[node.value]
    known = [f'"{name}"' for name in sizes]
    raise node.wrong(
        either(known) if known else "the name of a [[size]] table, of which there is none"
    )


def _sizes(node: _Node) -> dict[str, RuleSize]:
    sizes: dict[str, RuleSize] = {}
    for item in node.items(f"a list of 1 to {MOST_SIZES} [[size]] tables", 1, MOST_SIZES):
        size = _size(item, taken=sizes)
        sizes[size.name] = size
    return sizes


def _size(item: _Node, taken: Collection[str]) -> RuleSize:
    table = item.table(_SIZE_KEYS, optional={*_MULTIPLE_KEYS, *_FIXED_KEYS})
    name = table["name"].name(taken)
    multiples, fixed = ([k for k in keys if k in table] for keys in (_MULTIPLE_KEYS, _FIXED_KEYS))
    if bool(multiples) == bool(fixed):
        found = f"{multiples[0]} and {fixed[0]}" if fixed else "no measures"
        raise item.fault(
            f"has {found}: expected either core and wire, as multiples of the main ring's, "
            "or wire_mm and inner_mm"
        )
    if fixed:
        table = item.table(_SIZE_KEYS, optional=_MULTIPLE_KEYS)
        wire_mm = table["wire_mm"].number(*WIRE_MM)
        return RuleSize(name, 1.0, 1.0, wire_mm, table["inner_mm"].number(*INNER_MM))
    core, wire = (_multiple(table[k]) if k in table else 1.0 for k in _MULTIPLE_KEYS)
    return RuleSize(name, core, wire, None, None)


def _multiple(node: _Node) -> float:
    multiple = node.number(0.0, LARGEST_MULTIPLE, _A_MULTIPLE)
    if multiple == 0.0:
        raise node.wrong(_A_MULTIPLE)
    return multiple


# --- rings of the endless weave -------------------------------------------------------


@dataclass(frozen=True)
class _Weave:
    """The rings of the endless weave: how a rule names them and what comes before what."""

    family: str
    around: int
    order: Mapping[str, int]

    def way(self, node: _Node) -> tuple[RingRef, str]:
        """A ring to go through, and from which side where that is said."""
        ref = self.ref(node, _WAY_KEYS)
        if isinstance(node.value, dict) and "from" in node.value:
            table = node.table(_WAY_KEYS, optional=("image",))
            return ref, table["from"].one_of(SIDES)
        return ref, ""

    def ref(self, node: _Node, keys: Mapping[str, str] = _REF_KEYS) -> RingRef:
        """A ring, written as a table with its image or, in this repeat, as its bare name."""
        name_node, image = node, (0, 0)
        if isinstance(node.value, dict):
            table = node.table(keys, optional=("image", "from"))
            name_node = table["name"]
            if "image" in table:
                image = self._image(table["image"])
        elif not isinstance(node.value, str):
            raise node.wrong(self._a_ref())
        name = name_node.value
        if not isinstance(name, str):
            raise name_node.wrong("a ring name")
        if name not in self.order:
            raise name_node.wrong(f"one of the rings {', '.join(self.order)}")
        return RingRef(name, image)

    def _a_ref(self) -> str:
        if self.family == "piece":
            return "a ring name"
        image = "[-1, 0]" if self.family in _TWO_WAY else "-1"
        return f'a ring name, or {{ name = "{next(iter(self.order))}", image = {image} }}'

    def _image(self, node: _Node) -> Image:
        if self.family == "piece":
            raise node.fault('is not for the family "piece", which has no repeats: leave it out')
        if self.family not in _TWO_WAY:
            return (node.whole(-FURTHEST_IMAGE, FURTHEST_IMAGE), 0)
        first, second = node.items("a list of two whole numbers, such as [-1, 0]", 2, 2)
        k1 = first.whole(-FURTHEST_IMAGE, FURTHEST_IMAGE)
        # Round a tube, the unit before may also be written as the one around - 1 further on.
        k2_most = max(FURTHEST_IMAGE, self.around - 1)
        k1, k2 = self.normal((k1, second.whole(-k2_most, k2_most)))
        if abs(k2) > FURTHEST_IMAGE:
            raise second.wrong(
                f"one at most {FURTHEST_IMAGE} units away around the tube of {self.around}"
            )
        return (k1, k2)

    def normal(self, image: Image) -> Image:
        """The one way to write an image that may be counted either way around a tube."""
        return wrapped(image, self.around) if self.family == "tube" else image

    def apart(self, ref: RingRef, other: RingRef) -> Image:
        """The image that ``other`` is in as seen from the repeat of ``ref``."""
        (k1, k2), (other_k1, other_k2) = ref.image, other.image
        return self.normal((other_k1 - k1, other_k2 - k2))

    def link(self, one: RingRef, other: RingRef) -> Link:
        """The one way to write a pair of rings and all its translates.

        The ring that comes first in the file is first and in image (0, 0); for two
        images of one ring it is the one from which the other is further on.
        """
        first, second = sorted((one, other), key=lambda ref: self.order[ref.name])
        ahead = self.apart(first, second)
        if one.name == other.name:
            ahead = max(ahead, self.apart(second, first), key=_weaving_order)
        return Link(RingRef(first.name), RingRef(second.name, ahead))

    def neighbours(self, ref: RingRef, links: Iterable[Link]) -> Iterable[RingRef]:
        """The rings that a ring is linked with."""
        for link in links:
            for here, there in ((link.first, link.second), (link.second, link.first)):
                if here.name == ref.name:
                    k1, k2 = self.apart(here, there)
                    image = self.normal((ref.image[0] + k1, ref.image[1] + k2))
                    yield RingRef(there.name, image)

    def is_before(self, image: Image) -> bool:
        """Whether an image lies before everything that is woven from the first repeat on.

        Images are woven along x, row by row. All the units around a tube are woven,
        so only those before it lengthwise are not.
        """
        return image[0] < 0 if self.family == "tube" else _weaving_order(image) < (0, 0)

    def is_there(self, image: Image) -> bool:
        """Whether another image may be there already when this repeat is woven.

        Round a tube any may be: at the latest when the last unit closes it.
        """
        return self.family == "tube" or self.is_before(image)

    def said(self, ref: RingRef) -> str:
        """A ring as one would say it."""
        if ref.image == (0, 0):
            return ref.name
        return f"{ref.name} (image {self.said_image(ref.image)})"

    def said_image(self, image: Image) -> str:
        """An image as the rule file writes it."""
        return f"[{image[0]}, {image[1]}]" if self.family in _TWO_WAY else str(image[0])

    def said_pair(self, one: RingRef, other: RingRef) -> str:
        """Two rings as one would say them."""
        return f"{self.said(one)} and {self.said(other)}"


def _weaving_order(image: Image) -> tuple[int, int]:
    return (image[1], image[0])


# --- links ----------------------------------------------------------------------------


def _links(node: _Node, weave: _Weave) -> tuple[Link, ...]:
    seen: dict[Link, str] = {}
    for item in node.items(f"a list of 1 to {MOST_LINKS} [[link]] tables", 1, MOST_LINKS):
        rings = item.table(_LINK_KEYS)["rings"]
        one, other = (weave.ref(ring) for ring in rings.items(_LINK_KEYS["rings"], 2, 2))
        link = _link(rings, weave, one, other)
        if link in seen:
            raise rings.fault(
                f"is {weave.said_pair(one, other)}, the same link as {seen[link]}: "
                "give every link once"
            )
        seen[link] = item.key
    return tuple(seen)


def _link(node: _Node, weave: _Weave, one: RingRef, other: RingRef) -> Link:
    """Two rings linked, unless they are one ring or too far apart."""
    if one == other:
        raise node.fault(f"is {weave.said(one)} twice: a ring cannot be linked to itself")
    link = weave.link(one, other)
    distance = tuple(map(abs, link.second.image))
    if max(distance) > FURTHEST_IMAGE:
        each = " each way" if weave.family in _TWO_WAY else ""
        raise node.fault(
            f"is {weave.said_pair(one, other)}, {weave.said_image((distance[0], distance[1]))} "
            f"repeats apart: expected at most {FURTHEST_IMAGE}{each}"
        )
    return link


def _links_of_steps(node: _Node, weave: _Weave) -> tuple[Link, ...]:
    """The links that the steps make, for a rule that does not list them."""
    links: dict[Link, None] = {}
    for item in _step_items(node):
        table = item.table(_STEP_KEYS, optional=_OPTIONAL_IN_STEP)
        ring = weave.ref(table["ring"])
        for through in table["through"].items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
            links[_link(through, weave, ring, weave.way(through)[0])] = None
    if len(links) > MOST_LINKS:
        raise node.fault(f"makes {len(links)} links, but a rule has at most {MOST_LINKS}")
    return tuple(links)


def _check_joined(
    node: _Node, weave: _Weave, links: tuple[Link, ...], held: Collection[RingRef]
) -> None:
    """Refuse a rule whose endless weave would come apart; captive rings stay with their holder.

    Walk from the first ring through all links, keeping count of the image every
    ring was reached in. A link that closes a loop then says from which image to
    which the loop leads; the weave is one piece if those steps lead to every image.
    """
    linked = {ref.name for link in links for ref in (link.first, link.second)}
    woven = [name for name in weave.order if RingRef(name) not in held]
    for name in woven:
        if name not in linked:
            raise node.fault(
                f"has no link for ring {name}: every ring needs at least one, or a step holding it"
            )
    root = woven[0]
    reached = {root: (0, 0)}
    edge = [root]
    for name in edge:  # grows while it is walked
        for there in weave.neighbours(RingRef(name, reached[name]), links):
            if there.name not in reached:
                reached[there.name] = there.image
                edge.append(there.name)
    for name in woven:
        if name not in reached:
            raise node.fault(
                f"joins ring {name} to some rings but never to {root}: the weave would come apart"
            )
    loops = []
    for link in links:
        (k1, k2), (end1, end2) = reached[link.first.name], reached[link.second.name]
        loops.append((k1 + link.second.image[0] - end1, k2 + link.second.image[1] - end2))
    _check_every_image_joined(node, weave, loops)


def _check_every_image_joined(node: _Node, weave: _Weave, loops: list[Image]) -> None:
    """Refuse links whose loops do not lead from one image to all others.

    The greatest common divisor of all 2 x 2 determinants of some steps is the number
    of sets that they leave the grid of images in (0 for endlessly many); steps that
    lead to the same place, as once around a tube, are counted in.
    """
    nowhere = {
        "chain": [(0, 1)],
        "screw": [(0, 1)],
        "sheet": [],
        "tube": [(0, weave.around)],
        "piece": [(1, 0), (0, 1)],
    }
    steps = sorted({*loops, *nowhere[weave.family]})
    parts = math.gcd(*(a * d - b * c for n, (a, b) in enumerate(steps) for c, d in steps[:n]))
    if parts == 1:
        return
    if weave.family not in _TWO_WAY:
        lacking = "joins no repeat to the next"
        if parts:
            lacking = f"joins only repeats that are {parts} apart"
    elif parts:
        lacking = f"leaves the repeats in {parts} sets that no link joins"
    else:
        lacking = "does not join the repeats both along and across"
    raise node.fault(f"{lacking}: the weave would come apart")


# --- assembly -------------------------------------------------------------------------


def _start(node: _Node, weave: _Weave, links: tuple[Link, ...]) -> tuple[StartRing, ...]:
    start: dict[RingRef, StartRing] = {}
    least = 1 if weave.family in _NEEDS_START else 0
    items = node.items(f"a list of {least} to {MOST_RINGS} [[start]] tables", least, MOST_RINGS)
    refs = []
    for item in items:
        table = item.table(_START_KEYS)
        ref = weave.ref(table["ring"])
        if not weave.is_before(ref.image):
            raise table["ring"].fault(_not_before(ref, weave))
        if ref in start:
            raise table["ring"].fault(f"is {weave.said(ref)} again: give every start ring once")
        start[ref] = StartRing(ref, table["role"].one_of(_ROLES))
        refs.append(table["ring"])
    for ref, ring_node in zip(start, refs, strict=True):
        others = weave.neighbours(ref, links)
        if all(weave.is_before(other.image) and other not in start for other in others):
            raise ring_node.fault(
                f"is {weave.said(ref)}, which no link joins to the first repeat: it would lie loose"
            )
    return tuple(start.values())


def _not_before(ref: RingRef, weave: _Weave) -> str:
    if weave.family == "piece":
        return f'is {ref.name}, but nothing is there before a "piece": leave [[start]] out'
    needs = {
        "sheet": "[k1, k2] with k2 below 0, or with k2 = 0 and k1 below 0",
        "tube": "[k1, k2] with k1 below 0",
    }
    return (
        f"is {ref.name} in image {weave.said_image(ref.image)}: a ring there before the first "
        f"repeat needs an image {needs.get(weave.family, 'below 0')}"
    )


def _steps(
    node: _Node,
    rings: tuple[RuleRing, ...],
    weave: _Weave,
    links: tuple[Link, ...],
    held: Mapping[RingRef, int],
) -> tuple[Step, ...]:
    roles = {ring.name: ring.role for ring in rings}
    placed: set[str] = set()
    made: set[Link] = set()
    steps: list[Step] = []
    for number, item in enumerate(_step_items(node)):
        table = item.table(_STEP_KEYS, optional=_OPTIONAL_IN_STEP)
        ring = _step_ring(table["ring"], roles, placed, weave)
        through, sides = _through(table["through"], ring, roles, placed, weave)
        for ref in through:
            link = weave.link(ring, ref)
            if link not in links:
                raise table["through"].fault(
                    f"puts {ring.name} through {weave.said(ref)}, but no [[link]] joins these "
                    "two: list the link or leave it out here"
                )
            made.add(link)
        holding = tuple(ref for ref, holder in held.items() if holder == number)
        placed.update(ref.name for ref in (ring, *through, *holding) if ref.image == (0, 0))
        lay = _Lay(weave, links, placed)
        steps.append(
            Step(
                ring,
                through,
                holding,
                sides,
                lay.beside(table["over"], ring) if "over" in table else (),
                lay.beside(table["under"], ring) if "under" in table else (),
                lay.overlaps(table["overlap"]) if "overlap" in table else (),
            )
        )
    _check_all_made(node, rings, placed, weave, links, made)
    return tuple(steps)


def _step_items(node: _Node) -> list[_Node]:
    return node.items(_STEPS_WANTED, 1, MOST_RINGS)


def _held(
    node: _Node, rings: tuple[RuleRing, ...], weave: _Weave, links: tuple[Link, ...]
) -> dict[RingRef, int]:
    """The captive rings, and by its number the step that holds each."""
    roles = {ring.name: ring.role for ring in rings}
    linked = {ref.name for link in links for ref in (link.first, link.second)}
    held: dict[RingRef, int] = {}
    for number, item in enumerate(_step_items(node)):
        table = item.table(_STEP_KEYS, optional=_OPTIONAL_IN_STEP)
        if "holding" not in table:
            continue
        for name in table["holding"].items(_STEP_KEYS["holding"], 1, MOST_RINGS):
            ref = weave.ref(name)
            if ref.image != (0, 0):
                raise name.fault(f"is {weave.said(ref)}: a step holds rings of this repeat")
            if roles[ref.name] != "closed":
                raise name.fault(f'is {ref.name}, whose role is "open": a captive ring is closed')
            if ref.name in linked:
                raise name.fault(
                    f"is {ref.name}, which has links: a captive ring has none, so name it in "
                    "through instead"
                )
            if ref in held:
                raise name.fault(f"is {ref.name} again: every captive ring is held once")
            held[ref] = number
    return held


def _step_ring(node: _Node, roles: Mapping[str, str], placed: set[str], weave: _Weave) -> RingRef:
    ring = weave.ref(node)
    if ring.image != (0, 0):
        raise node.fault(
            f"is {weave.said(ring)}: a step adds a ring of this repeat, "
            f"image {weave.said_image((0, 0))}"
        )
    if roles[ring.name] != "open":
        raise node.fault(
            f'is {ring.name}, whose role is "closed": a step opens its ring, so name an open one'
        )
    if ring.name in placed:
        raise node.fault(f"is {ring.name}, which an earlier step has added: add every ring once")
    return ring


def _through(
    node: _Node,
    ring: RingRef,
    roles: Mapping[str, str],
    placed: set[str],
    weave: _Weave,
) -> tuple[tuple[RingRef, ...], tuple[str, ...]]:
    """The rings a step goes through, each there already or carried in closed, and the sides."""
    through: dict[RingRef, str] = {}
    for item in node.items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
        ref, side = weave.way(item)
        if ref == ring:
            raise item.fault(f"is {ring.name} itself: name the rings it is put through")
        if ref in through:
            raise item.fault(f"is {weave.said(ref)} again: name every ring once")
        if ref.image == (0, 0):
            there = roles[ref.name] == "closed" or ref.name in placed
        else:
            there = weave.is_there(ref.image)
        if not there:
            raise item.fault(
                f"is {weave.said(ref)}, which is not there yet: expected a ring that is woven "
                "before this one, or a closed ring to take along"
            )
        through[ref] = side
    sides = tuple(through.values())
    if sum(map(bool, sides)) == 1:
        raise node.fault(
            f"says of one ring alone from which side {ring.name} goes through it, which is the "
            "same from either side: say it of two or more, or of none"
        )
    return tuple(through), sides if any(sides) else ()


@dataclass(frozen=True)
class _Lay:
    """What a step may say on how rings lie.

    Attributes
    ----------
    links : of the rule
    placed : the rings of this repeat that are there once the step is done
    """

    weave: _Weave
    links: tuple[Link, ...]
    placed: Collection[str]

    def beside(self, node: _Node, ring: RingRef) -> tuple[RingRef, ...]:
        """Rings that a step's ring lies over or under."""
        refs = self._refs(node)
        for ref in refs:
            if ref == ring or self.weave.link(ring, ref) in self.links:
                raise node.fault(
                    f"has {self.weave.said(ref)}, but {ring.name} can lie over or under only what "
                    "it is not linked with"
                )
        return refs

    def overlaps(self, node: _Node) -> tuple[Overlap, ...]:
        """Pairs of rings that overlap, and what goes through or around that."""
        return tuple(
            self._overlap(item)
            for item in node.items(f"1 to {MOST_RINGS} [[step.overlap]] tables", 1, MOST_RINGS)
        )

    def _overlap(self, node: _Node) -> Overlap:
        table = node.table(_OVERLAP_KEYS, optional=("through", "around"))
        if len(table) == 1:
            raise node.fault("says nothing of the two: give it through, around or both")
        of = self._refs(table["of"])
        if len(of) != 2:
            raise table["of"].wrong(_OVERLAP_KEYS["of"])
        ways = {}
        for key in ("through", "around"):
            ways[key] = self._refs(table[key]) if key in table else ()
            for ref in ways[key]:
                if any(ref == ring or self.weave.link(ref, ring) not in self.links for ring in of):
                    raise table[key].fault(
                        f"has {self.weave.said(ref)}, which is not linked with both "
                        f"{self.weave.said_pair(*of)}"
                    )
        if both := [ref for ref in ways["through"] if ref in ways["around"]]:
            raise node.fault(
                f"has {self.weave.said(both[0])} through and around the same overlap: choose one"
            )
        return Overlap((of[0], of[1]), ways["through"], ways["around"])

    def _refs(self, node: _Node) -> tuple[RingRef, ...]:
        """Rings that are there by now, each once."""
        refs: dict[RingRef, None] = {}
        for item in node.items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
            ref = self.weave.ref(item)
            here = ref.image == (0, 0)
            if not (ref.name in self.placed if here else self.weave.is_there(ref.image)):
                raise item.fault(f"is {self.weave.said(ref)}, which is not there by this step")
            if ref in refs:
                raise item.fault(f"is {self.weave.said(ref)} again: name every ring once")
            refs[ref] = None
        return tuple(refs)


def _check_all_made(
    node: _Node,
    rings: tuple[RuleRing, ...],
    placed: set[str],
    weave: _Weave,
    links: tuple[Link, ...],
    made: set[Link],
) -> None:
    for ring in rings:
        if ring.name not in placed:
            how = "adds" if ring.role == "open" else "carries in"
            raise node.fault(
                f"never {how} the {ring.role} ring {ring.name}: name it in one of the steps"
            )
    for n, link in enumerate(links):
        if link not in made:
            raise node.fault(
                f"never makes link[{n}] of {weave.said_pair(link.first, link.second)}: "
                "name these two in one step"
            )
