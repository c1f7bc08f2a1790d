"""Single changes of a shop file's text that leave all the rest of it, remarks too, as it is.

The text is changed line by line and read again: what it then says must be what it said before
with just that change. A text that is written in some other way is left to its maker.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from ringwright.base.errors import BadInput

Value = str | float | list[str]

_HEADER = re.compile(r"\s*\[{1,2}\s*([A-Za-z_]+)\s*\]{1,2}\s*(#.*)?", re.ASCII)
_REMARK = re.compile(r"\s*(#.*)?")


def with_table(text: str, key: str, values: Mapping[str, Value]) -> str:
    """One more ``[[key]]`` table, after the last of its kind.

    Raises
    ------
    BadInput
        As all functions here do: when the text is written so that this cannot be done.
    """
    told = _document(text)
    lines = text.split("\n")
    alike = [end for name, _, end in _tables(lines) if name == key]
    at = alike[-1] if alike else len(lines)
    table = ["", f"[[{key}]]", *_lines(values)]
    told.setdefault(key, []).append(dict(values))
    return _checked(lines[:at] + table + lines[at:], told)


def without_table(text: str, key: str, place: int) -> str:
    """Without the ``[[key]]`` table at a place, counted from nought."""
    told = _document(text)
    lines = text.split("\n")
    begin, end = _found(lines, key, place)
    del told[key][place]
    if not told[key]:
        del told[key]
    while begin and not lines[begin - 1].strip():
        begin -= 1
    return _checked(lines[:begin] + lines[end:], told)


def with_value(text: str, key: str, name: str, value: Value | None) -> str:
    """With another value of the one ``[key]`` table, or without it if that is None."""
    told = _document(text)
    lines = text.split("\n")
    if key not in told:
        if value is None:
            return text
        lines, told[key] = [*lines, "", f"[{key}]"], {}
    begin, end = _found(lines, key, 0)
    old = re.compile(rf"\s*{name}\s*=", re.ASCII)
    at = next((n for n in range(begin + 1, end) if old.match(lines[n])), None)
    new = [] if value is None else _lines({name: value})
    if at is None:
        lines[end:end] = new
    else:
        remark = _remark_of(lines[at])
        lines[at : at + 1] = [new[0] + remark] if new else []
    if value is None:
        told[key].pop(name, None)
    else:
        told[key][name] = value
    return _checked(lines, told)


def _tables(lines: list[str]) -> list[tuple[str, int, int]]:
    """Headers with their first line, and the line after the last that is theirs.

    Blank lines and remarks before the next header are the next table's.
    """
    heads = [(n, match[1]) for n, line in enumerate(lines) if (match := _HEADER.fullmatch(line))]
    found = []
    ends = [*(n for n, _ in heads[1:]), len(lines)]
    for (begin, name), end in zip(heads, ends, strict=False):
        while end > begin + 1 and _REMARK.fullmatch(lines[end - 1]):
            end -= 1
        found.append((name, begin, end))
    return found


def _found(lines: list[str], key: str, place: int) -> tuple[int, int]:
    alike = [(begin, end) for name, begin, end in _tables(lines) if name == key]
    if place >= len(alike):
        raise _by_hand()
    return alike[place]


def _remark_of(line: str) -> str:
    """The remark at the end of a line, with the space before it; empty if there is doubt."""
    head, sign, remark = line.rpartition("#")
    return head[len(head.rstrip()) :] + sign + remark if sign and '"' not in remark else ""


def _lines(values: Mapping[str, Value]) -> list[str]:
    return [f"{name} = {_written(value)}" for name, value in values.items()]


def _written(value: Value) -> str:
    """A value in TOML; its basic strings are written as those of JSON are."""
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def _document(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except ValueError:
        raise BadInput("The text cannot be read as it stands; correct it, or undo.") from None


def _checked(lines: list[str], told: Mapping[str, object]) -> str:
    """The text of the lines, if it says what is told."""
    text = "\n".join(lines).strip("\n") + "\n"
    try:
        said = tomllib.loads(text)
    except ValueError:
        raise _by_hand() from None
    if said != told:
        raise _by_hand()
    return text


def _by_hand() -> BadInput:
    return BadInput("The text is written in a way that only you can change; do so in the text.")
