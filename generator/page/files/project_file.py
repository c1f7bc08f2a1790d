"""Everything chosen on the page as a plain text file (TOML), and back."""

from __future__ import annotations

import functools
import json
from collections.abc import Iterator, Mapping
from dataclasses import fields, replace

from ringwright.base.errors import BadInput
from ringwright.base.paper import PAPERS
from ringwright.base.toml_file import Node, toml_of
from ringwright.base.wording import quoted
from ringwright.jigs import JIGS
from ringwright.making.shop.shop import MOST_BYTES as MOST_SHOP_BYTES
from ringwright.page.files.command_lines import TOPICS, jig_options
from ringwright.page.state.chosen import LONGEST, Wanted, from_mapping, longest
from ringwright.page.state.file_settings import (
    BACKGROUNDS,
    ENDS,
    LONGEST_LEGEND,
    METALS,
    MOST_GRID_BYTES,
    SCALES,
    Settings,
)
from ringwright.page.state.project import Project
from ringwright.weaves import WeaveRule, checked_name, named_rule, rule_from_text
from ringwright.weaves.reading.keys import MOST_BYTES as MOST_RULE_BYTES

# Room for a rule, a shop and a grid of their greatest sizes, with what has to be escaped in them.
MOST_BYTES = 768 * 1024
FILE = "project.toml"
_KIND = "project file"
# Only this page writes such files, so older ones need no other reading yet.
_FORMAT = 1
_MOST_BESIDE = 10
# A line of a text is broken in the file where it gets longer; the reader takes no long ones.
_LINE = 200
_PAPERS = (
    *("paper", "scale", "teaching", "background", "clasp", "spares", "ends", "clasp_rings"),
    *("clasp_price", "anneal", "inches", "metals", "legend"),
)
_PRINTER = ("bed", "nozzle", "layer", "clearance")
_A_TEXT = f"a line of at most {LONGEST} characters"
_HEAD = "# A project of ringwright: open it on the page of 'ringwright serve'.\n"

_KEYS = {
    "format": f"the number {_FORMAT}",
    "piece": "a table with the weave, the ring and the piece",
    "beside": "a [[beside]] table for each choice kept to compare",
    "weave": "a table with the text of a weave rule",
    "shop": "a table with the text of a shop file",
    "grid": "a table with the text of a table of metals",
    "papers": f"a table with {', '.join(_PAPERS)}",
    "printer": f"a table with {', '.join(_PRINTER)}",
    "jigs": "a table for each jig with its options",
    "looked_at": "the name of a jig",
    "bundle": f"a list of {', '.join(TOPICS)}",
}
_PIECE_KEYS = {field.name: _A_TEXT for field in fields(Wanted)}


def own_rule(text: str) -> WeaveRule:
    """A maker's own weave from the text of a rule file.

    Raises
    ------
    BadInput
        When it is not a sound rule, or has the name of a weave that comes with ringwright.
    """
    rule = rule_from_text(text)
    checked_name(rule.name)
    return rule


# --- writing --------------------------------------------------------------------------


def project_text(project: Project) -> str:
    """The text of a project file."""
    return head_text(project) + texts_text(*long_texts(project))


def head_text(project: Project) -> str:
    """The text of a project file, less the texts inside it."""
    settings = project.settings
    parts = [_HEAD, f"format = {_FORMAT}\n", f"looked_at = {_text(settings.jig)}\n"]
    parts.append(f"bundle = [{', '.join(map(_text, settings.bundle))}]\n")
    parts.append(_table("[piece]", project.wanted.told()))
    parts += [_table("[[beside]]", one.told()) for one in project.beside]
    for name, keys in (("papers", _PAPERS), ("printer", _PRINTER)):
        parts.append(_table(f"[{name}]", {key: getattr(settings, key) for key in keys}))
    for name, options in settings.jigs.items():
        parts.append(_table(f"[jigs.{name}]", options))
    return "".join(parts)


def long_texts(project: Project) -> tuple[str, str, str]:
    """The texts inside a project file: of the weave, the shop and the grid."""
    return project.rule_text, project.shop_text, project.settings.grid


def texts_text(rule_text: str, shop_text: str, grid: str) -> str:
    """What follows :func:`head_text` in a project file."""
    texts = {"weave": rule_text, "shop": shop_text, "grid": grid}
    return "".join(f"\n[{name}]\ntext = {_long(text)}\n" for name, text in texts.items() if text)


def _table(header: str, texts: Mapping[str, str]) -> str:
    return f"\n{header}\n" + "".join(f"{key} = {_text(text)}\n" for key, text in texts.items())


def _text(text: str) -> str:
    short = len(text) <= LONGEST and text.isprintable()
    return json.dumps(text, ensure_ascii=False) if short else _long(text)


# A shop's text stays as it is while a size is dragged.
@functools.lru_cache(maxsize=8)
def _long(text: str) -> str:
    """A text over several lines, its own and those that are broken because they are long."""
    lines = ("\\\n".join(_broken(line)) for line in text.split("\n"))
    return '"""\n' + "\n".join(lines) + '"""'


def _broken(line: str) -> Iterator[str]:
    piece = ""
    for letter in line:
        if len(piece) > _LINE:
            yield piece
            # Blanks at the beginning of a line would go with the break before it.
            piece = _escaped(letter) if letter.isspace() else _letter(letter)
        else:
            piece += _letter(letter)
    yield piece


def _letter(letter: str) -> str:
    if letter in ('"', "\\"):
        return f"\\{letter}"
    if letter != "\t" and (letter < " " or letter == "\x7f"):
        return _escaped(letter)
    return letter


def _escaped(letter: str) -> str:
    return f"\\u{ord(letter):04x}"


# --- reading --------------------------------------------------------------------------


def project_from_text(text: str, name: str = FILE) -> Project:
    """The project that a file's text tells.

    Parameters
    ----------
    name : what the file is called, for complaints

    Raises
    ------
    BadInput
        When it is no project file, or something in it cannot be.
    """
    file = f"project file {quoted(name)}"
    document = _Node(file, "", toml_of(text, file, MOST_BYTES, _KIND))
    table = document.table(_KEYS, optional=set(_KEYS) - {"format", "piece"})
    table["format"].whole(_FORMAT, _FORMAT)
    rule_text = table["weave"].long_text(MOST_RULE_BYTES) if "weave" in table else ""
    own = own_rule(rule_text) if rule_text else None
    beside = table["beside"].items(_KEYS["beside"], 0, _MOST_BESIDE) if "beside" in table else []
    return Project(
        _wanted(table["piece"], own),
        tuple(_wanted(one, own) for one in beside),
        rule_text,
        table["shop"].long_text(MOST_SHOP_BYTES) if "shop" in table else "",
        _settings(table),
    )


class _Node(Node):
    """A value of a project file."""

    TABLES = ("beside",)

    def line(self, most: int = LONGEST) -> str:
        """A line of text, which may be empty."""
        text = self.value
        if isinstance(text, str) and len(text) <= most and (text.isprintable() or not text):
            return text
        raise self.wrong(f"a line of at most {most} characters")

    def long_text(self, most_bytes: int) -> str:
        """The text of a file inside this one."""
        text = self.table({"text": "a text"})["text"]
        if isinstance(text.value, str) and len(text.value.encode()) <= most_bytes:
            return text.value
        raise text.wrong(f"a text of at most {most_bytes} bytes")


def _wanted(node: _Node, own: WeaveRule | None) -> Wanted:
    table = node.table(_PIECE_KEYS, optional=_PIECE_KEYS)
    told = {key: one.line(longest(key)) for key, one in table.items()}
    try:
        from_mapping(told)
        wanted = replace(Wanted(), **told)
        if own is None or own.name != wanted.weave:
            named_rule(wanted.weave)
    except BadInput as trouble:
        raise BadInput(f"{node.file}: {node.key}: {trouble.within}") from None
    return wanted


def _settings(table: Mapping[str, _Node]) -> Settings:
    made = Settings()
    for name, keys in (("papers", _PAPERS), ("printer", _PRINTER)):
        if name in table:
            inside = table[name].table(dict.fromkeys(keys, _A_TEXT), optional=keys)
            for key, one in inside.items():
                made = made.with_text(key, _one(key, one))
    if "grid" in table:
        made = replace(made, grid=table["grid"].long_text(MOST_GRID_BYTES))
    if "jigs" in table:
        for name, node in table["jigs"].table(dict.fromkeys(JIGS, "a table"), JIGS).items():
            for key, text in _options(name, node).items():
                made = made.with_jig_option(name, key, text)
    if "looked_at" in table:
        made = replace(made, jig=table["looked_at"].one_of(tuple(JIGS)))
    if "bundle" in table:
        topics = table["bundle"].items(_KEYS["bundle"], 0, len(TOPICS))
        made = replace(made, bundle=tuple(one.one_of(tuple(TOPICS)) for one in topics))
    return made


def _one(key: str, node: _Node) -> str:
    """A setting that is one of a few, or any line."""
    few = {
        "paper": tuple(PAPERS),
        "scale": SCALES,
        "teaching": ("", "yes"),
        "background": BACKGROUNDS,
        "ends": ENDS,
        "anneal": ("", "yes"),
        "inches": ("", "yes"),
        "metals": METALS,
    }.get(key)
    if few:
        return node.one_of(few)
    return node.line(LONGEST_LEGEND if key == "legend" else LONGEST)


def _options(jig: str, node: _Node) -> dict[str, str]:
    known = {option.name: option for option in jig_options(jig)}
    table = node.table(dict.fromkeys(known, _A_TEXT), optional=known)
    few = {"yes": ("", "yes")}
    return {
        key: one.one_of(known[key].choices or few[known[key].kind])
        if known[key].kind != "text"
        else one.line()
        for key, one in table.items()
    }
