"""Reads weave rules from TOML files and refuses whatever is not a sound rule.

A rule file is data from a stranger: it is bounded before it is parsed, nothing
in it is evaluated, and every complaint names the file, the key, what was found
there and what was expected.
"""

from __future__ import annotations

import difflib
import functools
import math
import os
import re
import stat
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from generator.errors import BadInput
from weaves.rule import (
    CommonRange,
    Link,
    RingRef,
    RuleRing,
    StartRing,
    Step,
    Vector,
    WeaveRule,
)

MOST_BYTES = 256 * 1024
MOST_RINGS = 60
MOST_LINKS = 600
FURTHEST_IMAGE = 3
LARGEST_COORDINATE = 100.0
LARGEST_ASPECT_RATIO = 50.0

# tomllib's time and memory grow with the square of the number of dots in a key; a
# key cannot be broken over lines, so bounding the line bounds both.
_LONGEST_LINE = 400

_RING_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,15}")
_WEAVE_NAME = re.compile(r"[^\W_][\w -]{0,39}")
_ROLES = ("open", "closed")
_FAMILIES = ("chain",)
_PROVENANCES = ("common practice, no source", "from memory")
_SOURCE = "source: "

_A_VECTOR = "a list of three numbers"
_A_ROLE = 'either "open" or "closed"'
_A_REF = 'a ring name, or { name = "E", image = -1 }'
_RULE_KEYS = {
    "name": "the weave's name",
    "trade_names": "a list of names",
    "summary": "one line of text",
    "family": 'the family "chain"',
    "repeat_vector": "a list [length, 0, 0] with a positive length",
    "common_aspect_ratio": "a table with low, high and provenance",
    "ring": "a [[ring]] table for each ring of the repeat",
    "link": "a [[link]] table for each pair of linked rings",
    "start": "a [[start]] table for each ring there before the first repeat",
    "step": "a [[step]] table for each open ring, in order of assembly",
}
_RING_KEYS = {"name": "a ring name", "role": _A_ROLE, "centre": _A_VECTOR, "axis": _A_VECTOR}
_LINK_KEYS = {"rings": "a list of two rings"}
_START_KEYS = {"ring": _A_REF, "role": _A_ROLE}
_STEP_KEYS = {"ring": _A_REF, "through": "a list of rings"}
_REF_KEYS = {"name": "a ring name", "image": "a whole number"}
_RANGE_KEYS = {
    "low": "a number",
    "high": "a number",
    "provenance": f'"{_PROVENANCES[0]}", "{_PROVENANCES[1]}" or "{_SOURCE}..."',
}


def load_rule(name_or_path: str | Path) -> WeaveRule:
    """Load a weave rule by name, or from a maker's file.

    A name is that of a weave that comes with the package or one of its trade
    names; capitals, spaces, hyphens and underscores do not matter. A ``Path``, and
    a text with a path separator or ending in ``.toml``, is read as a file.

    Raises ``BadInput`` if no weave has that name or the file is not a sound rule.
    """
    text = str(name_or_path)
    if isinstance(name_or_path, Path) or _looks_like_path(text):
        return _read_rule(Path(text))
    wanted = _name_key(text)
    by_key = _by_name_key(_shipped_rules())
    if wanted in by_key:
        return by_key[wanted]
    near = difflib.get_close_matches(wanted[:40], by_key, n=3)
    names = list(dict.fromkeys(by_key[key].name for key in near))
    hint = f"perhaps {_or(names)} is meant" if names else f"expected {_or(_shipped_names())}"
    raise BadInput(
        f"no weave is called {_quoted(text)}: {hint}, or give the path of a rule file such as "
        "./my_weave.toml"
    )


def list_rules() -> tuple[WeaveRule, ...]:
    """All weaves that come with the package, sorted by name."""
    return _shipped_rules()


@functools.cache
def _shipped_rules() -> tuple[WeaveRule, ...]:
    here = Path(__file__).resolve().parent
    return tuple(sorted(map(_read_rule, here.glob("*.toml")), key=lambda rule: rule.name))


def _shipped_names() -> list[str]:
    return [rule.name for rule in _shipped_rules()]


def _by_name_key(rules: Iterable[WeaveRule]) -> dict[str, WeaveRule]:
    """Rules by every name they go by; a rule's own name wins over another's trade name."""
    rules = tuple(rules)
    by_trade_name = {_name_key(name): rule for rule in rules for name in rule.trade_names}
    return by_trade_name | {_name_key(rule.name): rule for rule in rules}


def _name_key(name: str) -> str:
    return re.sub(r"[\s_-]+", "", name).casefold()


def _looks_like_path(text: str) -> bool:
    return text.lower().endswith(".toml") or any(mark in text for mark in "/\\")


# --- from a path to a parsed document -------------------------------------------------


def _read_rule(path: Path) -> WeaveRule:
    file = f"weave file {_quoted(str(path), longest=300)}"
    return _rule(_Node(file, "", _parsed(_decoded(_bounded_bytes(path, file), file), file)), path)


def _bounded_bytes(path: Path, file: str) -> bytes:
    """The bytes of a regular file, refused before reading if it is anything else or too long."""
    try:
        with open(path, "rb", opener=_open_without_waiting) as stream:
            status = os.fstat(stream.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise BadInput(f"{file} is not a regular file: give the path of a TOML file")
            if status.st_size > MOST_BYTES:
                raise BadInput(
                    f"{file} has {status.st_size} bytes, but a rule has at most {MOST_BYTES}: "
                    "check that it is a weave rule"
                )
            return stream.read(MOST_BYTES) or b""
    except FileNotFoundError:
        raise BadInput(f"{file} does not exist: check the path") from None
    except IsADirectoryError:
        raise BadInput(f"{file} is a directory: give the path of a TOML file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{file} cannot be read ({reason}): check the path") from None


def _open_without_waiting(path: str, flags: int) -> int:
    # Opening a pipe that nobody writes to would otherwise wait for ever.
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _decoded(content: bytes, file: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadInput(
            f"{file} is not UTF-8 text at line {line}: save it as UTF-8 in a text editor"
        ) from None


def _parsed(text: str, file: str) -> dict[str, object]:
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > _LONGEST_LINE:
            raise BadInput(
                f"{file} has {len(line)} characters in line {number}, but at most "
                f"{_LONGEST_LINE} are expected: break the line"
            )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise BadInput(
            f"{file} is nested too deeply, but a rule needs only a few levels: "
            "check that it is a weave rule"
        ) from None
    except ValueError as error:
        # Not only TOMLDecodeError: an integer of thousands of digits or an impossible
        # date leaves tomllib as a plain ValueError.
        raise BadInput(f"{file} is not valid TOML: {error}; correct it there") from None


# --- from a document to typed values --------------------------------------------------


@dataclass(frozen=True)
class _Node:
    """A value of the document, with the file and key it stands under."""

    file: str
    key: str
    value: object

    def wrong(self, expected: str, found: str | None = None) -> BadInput:
        """The error that this value is not what was expected."""
        found = _shown(self.value) if found is None else found
        return BadInput(
            f"{self.file}: {self.key}{_ordinal(self.key)} is {found}, expected {expected}"
        )

    def fault(self, complaint: str) -> BadInput:
        """The error that this value, of the right kind, does not fit the rest."""
        return BadInput(f"{self.file}: {self.key}{_ordinal(self.key)} {complaint}")

    def table(self, keys: Mapping[str, str], optional: str = "") -> dict[str, _Node]:
        """The values of a table that has just these keys; ``keys`` says what each should hold."""
        if not isinstance(self.value, dict):
            raise self.wrong(f"a table with {', '.join(keys)}")
        prefix = f"{self.key}." if self.key else ""
        for key in self.value:
            if key not in keys:
                near = difflib.get_close_matches(key[:40], keys, n=1)
                hint = f"perhaps {near[0]} is meant" if near else f"expected {', '.join(keys)}"
                raise BadInput(
                    f"{self.file}: {prefix}{_bare(key)}{_ordinal(self.key)} is an unknown key: "
                    f"{hint}"
                )
        for key, expected in keys.items():
            if key not in self.value and key != optional:
                raise BadInput(
                    f"{self.file}: {prefix}{key}{_ordinal(self.key)} is missing: "
                    f"expected {expected}"
                )
        return {key: _Node(self.file, prefix + key, value) for key, value in self.value.items()}

    def items(self, expected: str, least: int, most: int) -> list[_Node]:
        """The members of a list of ``least`` to ``most`` members."""
        if not isinstance(self.value, list) or not least <= len(self.value) <= most:
            raise self.wrong(expected)
        return [_Node(self.file, f"{self.key}[{n}]", v) for n, v in enumerate(self.value)]

    def text(self, expected: str, most: int) -> str:
        """A line of printable text of 1 to ``most`` characters."""
        text = self.value
        if isinstance(text, str) and text.strip() and len(text) <= most and text.isprintable():
            return text
        raise self.wrong(f"{expected} (1 to {most} printable characters)")

    def one_of(self, choices: tuple[str, ...]) -> str:
        """One of a few fixed texts."""
        if isinstance(self.value, str) and self.value in choices:
            return self.value
        raise self.wrong(_or([f'"{choice}"' for choice in choices]))

    def number(self, low: float, high: float) -> float:
        """A finite number from ``low`` to ``high``; true and false are no numbers."""
        # Compared before it becomes a float: TOML's whole numbers have no upper end.
        value = self.value
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            return float(value)
        raise self.wrong(f"a number from {low:g} to {high:g}")

    def whole(self, low: int, high: int) -> int:
        """A whole number from ``low`` to ``high``."""
        value = self.value
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        raise self.wrong(f"a whole number from {low} to {high}")

    def vector(self) -> Vector:
        """Three coordinates in units of the core radius."""
        x, y, z = (
            item.number(-LARGEST_COORDINATE, LARGEST_COORDINATE)
            for item in self.items(_A_VECTOR, 3, 3)
        )
        return (x, y, z)


def _shown(value: object) -> str:
    """A found value as it can stand in a sentence, however long or odd it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        # Python refuses to write out an integer of many thousands of digits.
        return str(value) if value.bit_length() <= 64 else "a huge whole number"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, dict) else "a date or time"


def _quoted(text: str, longest: int = 40) -> str:
    """Text in quotes, cut short, with anything unprintable escaped."""
    return repr(text if len(text) <= longest else text[: longest - 3] + "...")


def _bare(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]{1,40}", key) else _quoted(key)


def _ordinal(key: str) -> str:
    """``ring[2].axis`` said again for people who count from one."""
    match = re.match(r"(ring|link|start|step)\[([0-9]+)\]", key)
    return f" ([[{match[1]}]] number {int(match[2]) + 1})" if match else ""


def _or(choices: list[str]) -> str:
    return " or ".join(filter(None, (", ".join(choices[:-1]), choices[-1])))


# --- from typed values to a rule ------------------------------------------------------


def _rule(document: _Node, path: Path) -> WeaveRule:
    table = document.table(_RULE_KEYS, optional="common_aspect_ratio")
    name = _weave_name(table["name"])
    trade_names = tuple(
        n.text("a name", 80)
        for n in table["trade_names"].items("a list of at most 20 names", 0, 20)
    )
    summary = table["summary"].text(_RULE_KEYS["summary"], 300)
    family = table["family"].one_of(_FAMILIES)
    repeat_vector = _repeat_vector(table["repeat_vector"])
    common = table.get("common_aspect_ratio")
    common_range = None if common is None else _common_range(common)

    rings = _rings(table["ring"])
    order = {ring.name: n for n, ring in enumerate(rings)}
    links = _links(table["link"], order)
    _check_joined(table["link"], rings, links)
    start = _start(table["start"], order, links)
    steps = _steps(table["step"], rings, order, links)
    return WeaveRule(
        name=name,
        trade_names=trade_names,
        summary=summary,
        family=family,
        rings=rings,
        repeat_vector=repeat_vector,
        links=links,
        start=start,
        steps=steps,
        common_aspect_ratio=common_range,
        path=path,
    )


def _weave_name(node: _Node) -> str:
    if isinstance(node.value, str) and _WEAVE_NAME.fullmatch(node.value):
        return node.value
    raise node.wrong("a name of 1 to 40 letters, digits, spaces, hyphens and underscores")


def _repeat_vector(node: _Node) -> Vector:
    x, y, z = node.vector()
    if not (x > 0.0 and y == 0.0 and z == 0.0):
        found = f"[{x:g}, {y:g}, {z:g}]"
        raise node.wrong("along +x as a chain needs it, [length, 0, 0] with length > 0", found)
    return (x, y, z)


def _common_range(node: _Node) -> CommonRange:
    table = node.table(_RANGE_KEYS)
    low = table["low"].number(1.0, LARGEST_ASPECT_RATIO)
    high = table["high"].number(low, LARGEST_ASPECT_RATIO)
    provenance = table["provenance"].text(_RANGE_KEYS["provenance"], 300)
    sourced = provenance.startswith(_SOURCE) and provenance[len(_SOURCE) :].strip()
    if provenance not in _PROVENANCES and not sourced:
        raise table["provenance"].wrong(_RANGE_KEYS["provenance"])
    return CommonRange(low, high, provenance)


def _rings(node: _Node) -> tuple[RuleRing, ...]:
    rings: dict[str, RuleRing] = {}
    for item in node.items(f"a list of 1 to {MOST_RINGS} [[ring]] tables", 1, MOST_RINGS):
        table = item.table(_RING_KEYS)
        name = table["name"].value
        if not isinstance(name, str) or not _RING_NAME.fullmatch(name):
            raise table["name"].wrong(
                "a letter followed by up to 15 letters, digits or underscores"
            )
        if name in rings:
            raise table["name"].fault(f"is {name!r} again: give every ring a name of its own")
        axis = table["axis"].vector()
        if math.hypot(*axis) < 1e-6:
            raise table["axis"].wrong("a direction, which needs some length", "zero")
        rings[name] = RuleRing(name, table["role"].one_of(_ROLES), table["centre"].vector(), axis)
    return tuple(rings.values())


def _ref(node: _Node, order: Mapping[str, int]) -> RingRef:
    """A ring of some repeat, written as a table or, in this repeat, as its bare name."""
    if isinstance(node.value, str):
        name_node, image = node, 0
    elif not isinstance(node.value, dict):
        raise node.wrong(_A_REF)
    else:
        table = node.table(_REF_KEYS, optional="image")
        name_node = table["name"]
        image_node = table.get("image")
        image = 0 if image_node is None else image_node.whole(-FURTHEST_IMAGE, FURTHEST_IMAGE)
    name = name_node.value
    if not isinstance(name, str):
        raise name_node.wrong("a ring name")
    if name not in order:
        raise name_node.wrong(f"one of the rings {', '.join(order)}")
    return RingRef(name, image)


def _said(ref: RingRef) -> str:
    return ref.name if ref.image == 0 else f"{ref.name} (image {ref.image})"


def _said_link(link: Link) -> str:
    return f"{_said(link.first)} and {_said(link.second)}"


def _moved(ref: RingRef, images: int) -> RingRef:
    return RingRef(ref.name, ref.image + images)


def _normal_link(one: RingRef, other: RingRef, order: Mapping[str, int]) -> Link:
    """The one way to write a pair of rings and all its translates.

    The ring that comes first in the file is first and in image 0; for two images
    of one ring it is the earlier image.
    """
    first, second = sorted((one, other), key=lambda ref: (order[ref.name], ref.image))
    return Link(_moved(first, -first.image), _moved(second, -first.image))


def _links(node: _Node, order: Mapping[str, int]) -> tuple[Link, ...]:
    seen: dict[Link, str] = {}
    for item in node.items(f"a list of 1 to {MOST_LINKS} [[link]] tables", 1, MOST_LINKS):
        rings = item.table(_LINK_KEYS)["rings"]
        one, other = (_ref(ring, order) for ring in rings.items(_LINK_KEYS["rings"], 2, 2))
        if one == other:
            raise rings.fault(f"is {_said(one)} twice: a ring cannot be linked to itself")
        link = _normal_link(one, other, order)
        if abs(link.second.image) > FURTHEST_IMAGE:
            raise rings.fault(
                f"is {_said(one)} and {_said(other)}, {abs(link.second.image)} repeats apart: "
                f"expected at most {FURTHEST_IMAGE}"
            )
        if link in seen:
            raise rings.fault(
                f"is {_said(one)} and {_said(other)}, the same link as {seen[link]}: "
                "give every link once"
            )
        seen[link] = item.key
    return tuple(seen)


def _check_joined(node: _Node, rings: tuple[RuleRing, ...], links: tuple[Link, ...]) -> None:
    """Refuse a rule whose endless chain would come apart.

    Walk from the first ring through all links, keeping count of the image every
    ring was reached in. A link that closes a loop then says how many repeats the
    loop goes on; the chain is one piece if those counts have no common divisor but 1.
    """
    linked = {ref.name for link in links for ref in (link.first, link.second)}
    for ring in rings:
        if ring.name not in linked:
            raise node.fault(f"has no link for ring {ring.name}: every ring needs at least one")
    reached = {rings[0].name: 0}
    growing = True
    while growing:
        growing = False
        for link in links:
            for here, there in ((link.first, link.second), (link.second, link.first)):
                if here.name in reached and there.name not in reached:
                    reached[there.name] = reached[here.name] + there.image - here.image
                    growing = True
    for ring in rings:
        if ring.name not in reached:
            raise node.fault(
                f"joins ring {ring.name} to some rings but never to {rings[0].name}: "
                "the chain would come apart"
            )
    stride = math.gcd(
        *(reached[k.first.name] + k.second.image - reached[k.second.name] for k in links)
    )
    if stride != 1:
        lacking = (
            "no repeat to the next" if stride == 0 else f"only repeats that are {stride} apart"
        )
        raise node.fault(f"joins {lacking}: the chain would come apart")


def _start(node: _Node, order: Mapping[str, int], links: tuple[Link, ...]) -> tuple[StartRing, ...]:
    start: dict[RingRef, StartRing] = {}
    items = node.items(f"a list of 1 to {MOST_RINGS} [[start]] tables", 1, MOST_RINGS)
    refs = []
    for item in items:
        table = item.table(_START_KEYS)
        ref = _ref(table["ring"], order)
        if ref.image >= 0:
            raise table["ring"].fault(
                f"is {ref.name} in image {ref.image}: a ring there before the first repeat "
                "needs an image below 0"
            )
        if ref in start:
            raise table["ring"].fault(f"is {_said(ref)} again: give every start ring once")
        start[ref] = StartRing(ref, table["role"].one_of(_ROLES))
        refs.append(table["ring"])
    for ref, ring_node in zip(start, refs, strict=True):
        if not any(other.image >= 0 or other in start for other in _neighbours(ref, links)):
            raise ring_node.fault(
                f"is {_said(ref)}, which no link joins to the first repeat: it would lie loose"
            )
    return tuple(start.values())


def _neighbours(ref: RingRef, links: tuple[Link, ...]) -> Iterable[RingRef]:
    """The rings that a ring is linked with."""
    for link in links:
        for here, there in ((link.first, link.second), (link.second, link.first)):
            if here.name == ref.name:
                yield _moved(there, ref.image - here.image)


def _steps(
    node: _Node,
    rings: tuple[RuleRing, ...],
    order: Mapping[str, int],
    links: tuple[Link, ...],
) -> tuple[Step, ...]:
    roles = {ring.name: ring.role for ring in rings}
    placed: set[str] = set()
    made: set[Link] = set()
    steps: list[Step] = []
    for item in node.items(f"a list of 1 to {MOST_RINGS} [[step]] tables", 1, MOST_RINGS):
        table = item.table(_STEP_KEYS)
        ring = _step_ring(table["ring"], roles, placed, order)
        through = _through(table["through"], ring, roles, placed, order)
        for ref in through:
            link = _normal_link(ring, ref, order)
            if link not in links:
                raise table["through"].fault(
                    f"puts {ring.name} through {_said(ref)}, but no [[link]] joins these two: "
                    "list the link or leave it out here"
                )
            made.add(link)
        placed.update(ref.name for ref in (ring, *through) if ref.image == 0)
        steps.append(Step(ring, through))
    _check_all_made(node, rings, placed, links, made)
    return tuple(steps)


def _step_ring(
    node: _Node, roles: Mapping[str, str], placed: set[str], order: Mapping[str, int]
) -> RingRef:
    ring = _ref(node, order)
    if ring.image != 0:
        raise node.fault(f"is {_said(ring)}: a step adds a ring of this repeat, image 0")
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
    order: Mapping[str, int],
) -> tuple[RingRef, ...]:
    """The rings a step goes through, each of them there already or carried in closed."""
    through: dict[RingRef, None] = {}
    for item in node.items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
        ref = _ref(item, order)
        if ref == ring:
            raise item.fault(f"is {ring.name} itself: name the rings it is put through")
        if ref in through:
            raise item.fault(f"is {_said(ref)} again: name every ring once")
        absent = ref.image == 0 and roles[ref.name] == "open" and ref.name not in placed
        if absent or ref.image > 0:
            raise item.fault(
                f"is {_said(ref)}, which is not there yet: expected a ring of an earlier repeat "
                "or step, or a closed ring"
            )
        through[ref] = None
    return tuple(through)


def _check_all_made(
    node: _Node,
    rings: tuple[RuleRing, ...],
    placed: set[str],
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
                f"never makes link[{n}] of {_said_link(link)}: name these two in one step"
            )
