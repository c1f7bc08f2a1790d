"""Reads weave rules from TOML files and refuses whatever is not a sound rule.

A rule file is data from a stranger: it is bounded before it is parsed, nothing
in it is evaluated, and every complaint names the file, the key, what was found
there and what was expected.
"""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.base.toml_file import read_toml, toml_of
from ringwright.base.wording import near, perhaps_meant, quoted
from ringwright.weaves.captive import unreachable_captive
from ringwright.weaves.reading.endless import EndlessWeave
from ringwright.weaves.reading.keys import (
    A_WEAVE_NAME,
    MOST_BYTES,
    MOST_NESTED,
    RULE_KEYS,
    WEAVE_NAME,
)
from ringwright.weaves.reading.links import step_items
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.reading.sections import piece_of_sections
from ringwright.weaves.reading.variation import variation
from ringwright.weaves.reading.whole_rule import whole_rule
from ringwright.weaves.rule import StepsRule, WeaveRule, without_placement
from ringwright.weaves.weave_names import (
    has_letters,
    keys_without_kind,
    meant,
    name_key,
    other_weave,
)

_HERE = Path(__file__).resolve().parent
_SHEET = re.compile(r"[\s-]+sheets?\s*$", re.IGNORECASE)


def load_rule(name_or_path: str | Path) -> WeaveRule:
    """Load a weave rule by name, or from a maker's file.

    A name is that of a weave that comes with the package or one of its trade
    names, in any spelling (see :func:`ringwright.weaves.weave_names.name_key`). A ``Path``, and
    any other text with a path separator or ending in ``.toml``, is read as a file.

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
    return _placed(_rule_of(RuleNode(file, "", document), _Source(path, alone=True)))


def _placed(found: WeaveRule | StepsRule) -> WeaveRule:
    if isinstance(found, StepsRule):
        raise BadInput(
            f"{_weave_file(found.path)} gives the order of assembly alone, not where the rings "
            "lie: run 'ringwright place' with the same weave, size and --out FOLDER/NAME, which "
            "finds placements, and keep one of them"
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
        or any(has_letters(said, text) for said in (rule.name, *rule.trade_names, rule.family.name))
    )


def _near_names(name: str) -> str:
    """Which of our weaves a name that is none of theirs may mean."""
    by_key = _shipped_by_key()
    names = list(dict.fromkeys(by_key[key].name for key in near(name_key(name), by_key)))
    return perhaps_meant(names) or "expected a name such as barrel"


def checked_name(name: str) -> str:
    """A name that a new weave can have.

    Raises
    ------
    BadInput
        When it is no name for a weave, or that of a weave that comes with the package.
    """
    if not WEAVE_NAME.fullmatch(name):
        raise BadInput(f"{quoted(name)} cannot be the name of a weave: expected {A_WEAVE_NAME}")
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
    rules = (_shipped_file(path) for path in _HERE.glob("*.toml"))
    # Those that come with the package all have their placement.
    placed = [rule for rule in rules if isinstance(rule, WeaveRule)]
    return tuple(sorted(placed, key=lambda rule: rule.name))


def _shipped(name: str) -> WeaveRule | None:
    """The weave of that name that comes with the package, if there is one.

    What makes a sheet may be called so: European 4-in-1 sheet.
    """
    own = _shipped_by_file(name)
    if own is not None:
        return own
    rule = meant(name, _shipped_by_key(), _shipped_by_rest())
    if rule is None and _SHEET.search(name):
        rule = meant(_SHEET.sub("", name), _shipped_by_key(), _shipped_by_rest())
        rule = rule if rule is not None and rule.family.has_rows else None
    return rule


@functools.cache
def _shipped_file(path: Path) -> WeaveRule | StepsRule:
    """A file that comes with the package, read once: by whichever name, it is the same rule."""
    return _read_rule(path)


def _shipped_by_file(name: str) -> WeaveRule | None:
    """The weave of just this name, without reading the files of all others."""
    path = _HERE / f"{name.replace('-', '_')}.toml"
    if not WEAVE_NAME.fullmatch(name) or not path.is_file():
        return None
    rule = _shipped_file(path)
    return rule if isinstance(rule, WeaveRule) and rule.name == name else None


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
    return _rule_of(RuleNode(file, "", document), _Source(path, depth))


def _rule_of(document: RuleNode, source: _Source) -> WeaveRule | StepsRule:
    table = document.value
    base_of = functools.partial(_base, source=source)
    if isinstance(table, dict) and "section" in table:
        return piece_of_sections(document, source.path, base_of)
    if isinstance(table, dict) and "like" in table:
        return variation(document, source.path, base_of)
    rule = whole_rule(document, source.path)
    if isinstance(rule, WeaveRule):
        _check_captives(document, rule)
    return rule


def _check_captives(document: RuleNode, rule: WeaveRule) -> None:
    """Refuse a closed captive ring that could get to its place only through other rings."""
    barred = unreachable_captive(rule)
    if barred is None:
        return
    node = document.table(RULE_KEYS, optional=RULE_KEYS)["step"]
    said = EndlessWeave(
        rule.family, rule.around, {r.name: n for n, r in enumerate(rule.rings)}
    ).said
    raise step_items(node)[barred.step].fault(
        f"holds {barred.held.name}, which cannot be laid in place closed: {said(barred.above)} and "
        f"{said(barred.below)}, on either side of it, are joined by then, and it would have to "
        "pass through one of them; let the step that closes this way hold it"
    )


def _base(node: RuleNode, source: _Source) -> WeaveRule:
    """The rule that a variation is of: one that comes with the package, or a file beside it."""
    text = node.text("the name of a weave, or of a rule file in the same folder", 80)
    if source.depth >= MOST_NESTED:
        raise node.fault(
            f"leads on through {MOST_NESTED} files, perhaps in a circle: name a rule that is not "
            "itself like another"
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
