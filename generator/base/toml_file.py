"""Reads TOML from strangers: bounded before it is parsed, and typed with every complaint placed.

Nothing in a file is evaluated, and every complaint names the file, the key, what was
found there and what was expected.
"""

from __future__ import annotations

import os
import re
import stat
import tomllib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import ClassVar, Self

from ringwright.base.errors import BadInput
from ringwright.base.system import open_without_waiting
from ringwright.base.wording import either, perhaps, quoted

# tomllib's time and memory grow with the square of the number of dots in a key; a
# key cannot be broken over lines, so bounding the line bounds both.
_LONGEST_LINE = 400


def read_toml(path: Path, file: str, most_bytes: int, kind: str) -> dict[str, object]:
    """The parsed document of a file.

    Parameters
    ----------
    file : how complaints call it, such as ``weave file 'my_weave.toml'``
    most_bytes : larger files are refused before they are read
    kind : what it should be, such as ``weave rule``

    Raises
    ------
    BadInput
        When the file cannot be read, is no regular file, too large, no UTF-8 or no TOML.
    """
    content = _bounded_bytes(path, file, most_bytes, kind)
    return _parsed(_decoded(content, file), file, kind)


def toml_of(text: str, file: str, most_bytes: int, kind: str) -> dict[str, object]:
    """The parsed document of a text that was typed or sent, within the same bounds.

    Raises
    ------
    BadInput
        When it is too large, cannot stand in a file, or is no TOML.
    """
    try:
        size = len(text.encode("utf-8"))
    except UnicodeEncodeError:
        # Half a character, which JSON can carry and a file cannot.
        raise BadInput(f"{file} is not UTF-8 text: save it as UTF-8 in a text editor") from None
    if size > most_bytes:
        raise _too_large(file, size, most_bytes, kind)
    return _parsed(text.removeprefix("\ufeff").replace("\r\n", "\n"), file, kind)


def text_of(path: Path, file: str, most_bytes: int, kind: str) -> str:
    """The text of a file as :func:`read_toml` takes it, not yet parsed.

    Raises
    ------
    BadInput
        When it cannot be read, is no regular file, too large or no UTF-8.
    """
    return _decoded(_bounded_bytes(path, file, most_bytes, kind), file)


def _bounded_bytes(path: Path, file: str, most_bytes: int, kind: str) -> bytes:
    """The bytes of a regular file, refused before reading if it is anything else or too long."""
    try:
        with open(path, "rb", opener=open_without_waiting) as stream:
            status = os.fstat(stream.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise BadInput(f"{file} is not a regular file: give the path of a TOML file")
            if status.st_size > most_bytes:
                raise _too_large(file, status.st_size, most_bytes, kind)
            return stream.read(most_bytes) or b""
    except FileNotFoundError:
        raise BadInput(f"{file} does not exist: check the path") from None
    except IsADirectoryError:
        raise BadInput(f"{file} is a folder: give the path of a TOML file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"{file} cannot be read ({reason}): check the path") from None


def _too_large(file: str, size: int, most_bytes: int, kind: str) -> BadInput:
    return BadInput(
        f"{file} has {size} bytes, but a {kind} has at most {most_bytes}: check that it is one"
    )


def _decoded(content: bytes, file: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise BadInput(
            f"{file} is not UTF-8 text at line {line}: save it as UTF-8 in a text editor"
        ) from None


def _parsed(text: str, file: str, kind: str) -> dict[str, object]:
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > _LONGEST_LINE:
            raise BadInput(
                f"{file} has {len(line)} characters in line {number}, but at most {_LONGEST_LINE} "
                "are expected: break the line"
            )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise BadInput(
            f"{file} is nested too deeply, but a {kind} needs only a few levels: "
            "check that it is one"
        ) from None
    except ValueError as error:
        # Not only TOMLDecodeError: an integer of thousands of digits or an impossible
        # date leaves tomllib as a plain ValueError.
        raise BadInput(f"{file} is not valid TOML: {error}; correct it there") from None


@dataclass(frozen=True)
class Node:
    """A value of a document, with the file and key it stands under.

    A reader of one kind of file derives its own from it; what is inside a node is of the
    same class.
    """

    # The names of the document's arrays of tables, which are counted from one for people.
    TABLES: ClassVar[tuple[str, ...]] = ()

    file: str
    key: str
    value: object

    def wrong(self, expected: str, found: str | None = None) -> BadInput:
        """The error that this value is not what was expected."""
        found = _shown(self.value) if found is None else found
        return BadInput(f"{self.file}: {self.key}{self._ordinal()} is {found}, expected {expected}")

    def fault(self, complaint: str) -> BadInput:
        """The error that this value, of the right kind, does not fit the rest."""
        return BadInput(f"{self.file}: {self.key}{self._ordinal()} {complaint}")

    def table(self, keys: Mapping[str, str], optional: Collection[str] = ()) -> dict[str, Self]:
        """The values of a table that has just these keys; ``keys`` says what each should hold."""
        if not isinstance(self.value, dict):
            raise self.wrong(f"a table with {', '.join(keys)}")
        prefix = f"{self.key}." if self.key else ""
        for key in self.value:
            if key not in keys:
                hint = perhaps(key, keys, most=1) or f"expected {', '.join(keys)}"
                raise BadInput(
                    f"{self.file}: {prefix}{_bare(key)}{self._ordinal()} is an unknown key: {hint}"
                )
        for key, expected in keys.items():
            if key not in self.value and key not in optional:
                raise BadInput(
                    f"{self.file}: {prefix}{key}{self._ordinal()} is missing: expected {expected}"
                )
        return {key: self._inside(prefix + key, value) for key, value in self.value.items()}

    def items(self, expected: str, least: int, most: int) -> list[Self]:
        """The members of a list of ``least`` to ``most`` members."""
        if not isinstance(self.value, list) or not least <= len(self.value) <= most:
            raise self.wrong(expected)
        return [self._inside(f"{self.key}[{n}]", value) for n, value in enumerate(self.value)]

    def _inside(self, key: str, value: object) -> Self:
        return type(self)(self.file, key, value)

    def _ordinal(self) -> str:
        """``ring[2].axis`` said again for people who count from one."""
        match = re.match(r"([a-z_]+)\[([0-9]+)\]", self.key)
        if match is None or match[1] not in self.TABLES:
            return ""
        return f" ([[{match[1]}]] number {int(match[2]) + 1})"

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
        raise self.wrong(either([f'"{choice}"' for choice in choices]))

    def number(self, low: float, high: float, expected: str = "") -> float:
        """A finite number from ``low`` to ``high``; true and false are no numbers."""
        # Compared before it becomes a float: TOML's whole numbers have no upper end.
        value = self.value
        if isinstance(value, int | float) and not isinstance(value, bool) and low <= value <= high:
            return float(value)
        raise self.wrong(expected or f"a number from {low:g} to {high:g}")

    def yes_or_no(self) -> bool:
        """True or false."""
        if isinstance(self.value, bool):
            return self.value
        raise self.wrong("true or false")

    def whole(self, low: int, high: int) -> int:
        """A whole number from ``low`` to ``high``."""
        value = self.value
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        raise self.wrong(f"a whole number from {low} to {high}")


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
        return quoted(value)
    if isinstance(value, list):
        return f"a list of {len(value)}"
    return "a table" if isinstance(value, dict) else "a date or time"


def _bare(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]{1,40}", key) else quoted(key)
