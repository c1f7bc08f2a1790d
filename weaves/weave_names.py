"""Names of weaves: which spellings mean the same, and weaves that are known but not here."""

from __future__ import annotations

import functools
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from ringwright.base.toml_file import Node, read_toml

T = TypeVar("T")

_OTHER_WEAVES = Path(__file__).resolve().parent / "elsewhere" / "other_weaves.toml"
_MOST_BYTES = 64 * 1024
_KEYS = {
    "names": "a list of names",
    "what": "what it is, in a few words",
    "near": "the weaves that come near",
    "source": "who calls it so",
}

_NUMBERS = {
    "one": "1",
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "six": "6",
    "seven": "7",
    "eight": "8",
    "nine": "9",
    "ten": "10",
    "eleven": "11",
    "twelve": "12",
}
# What people say between the two figures of a weave's name: 4 in 1, 1 into 4.
_BETWEEN_FIGURES = {"in", "into", "to"}
# What people say or leave out of a name at will, at its beginning and its end.
_KINDS = {"weave", "chain", "chainmail", "mail", "pattern"}
# A name less its "chain" may be asked for with another of these words (barrel chain, barrel
# weave), but not where what is left says too little: "double weave" is no name of a weave.
_SAY_TOO_LITTLE = {"simple", "single", "double", "triple", "round", "unit", "persian", "king"}

# A word, a figure, or a mark that is in no name and so spoils the match.
_PARTS = re.compile(r"[^\W\d_]+|\d+|[^\w\s()\u2010-\u2015-]")
# Between figures a stroke or a colon is a hyphen: 3/4, 4:1.
_FIGURE_STROKE = re.compile(r"(?<=\d)\s*[/:\u2044]\s*(?=\d)")
# A run of letters, or of figures, in a key.
_RUNS = re.compile(r"[\d-]+|[^\d-]+")
_APOSTROPHES = re.compile(r"['`\u2019\u00b4]")


def name_key(name: str) -> str:
    """What is the same for all spellings of a name.

    Capitals, accents, apostrophes, spaces, hyphens and a plural do not matter, nor whether
    numbers are words or figures, what stands between two figures, and whether a name begins or
    ends with them: "Euro four-in-one", "euro 4in1", "EURO 4:1" and "4-in-1 Euro" have one key.
    """
    return _joined(_words(name))


def has_letters(name: str, text: str) -> bool:
    """Whether letters and figures that are typed in search of a name are in it."""
    key = name_key(name)
    return all(piece in key for piece in _RUNS.findall(name_key(text)))


def key_without_kind(name: str) -> str | None:
    """The key of a name less words such as weave and chain at its ends; none if it has none."""
    words = _words(name)
    rest = list(words)
    while rest and rest[0] in _KINDS:
        rest.pop(0)
    while rest and rest[-1] in _KINDS:
        rest.pop()
    return None if len(rest) == len(words) or not rest else _joined(rest)


def keys_without_kind(names: Iterable[str]) -> set[str]:
    """What is left of names that end in words such as chain, where it still says enough."""
    keys = {key_without_kind(name) for name in names}
    return {key for key in keys if key is not None and key not in _SAY_TOO_LITTLE}


def meant(name: str, by_key: Mapping[str, T], by_rest: Mapping[str, T]) -> T | None:
    """What a name means, by the keys of all names and by what is left of those less their kind."""
    wanted = by_key.get(name_key(name))
    rest = key_without_kind(name)
    if wanted is None and rest is not None:
        wanted = by_key.get(rest, by_rest.get(rest))
    return wanted


def _words(name: str) -> list[str]:
    text = unicodedata.normalize("NFKD", name).casefold()
    text = "".join(mark for mark in text if not unicodedata.combining(mark))
    text = _FIGURE_STROKE.sub("-", _APOSTROPHES.sub("", text)).replace("maille", "mail")
    words = [_singular(word) for word in _PARTS.findall(text)]
    words = [_NUMBERS.get(word, word) for word in words]
    return [
        word
        for before, word in zip(["", *words], words, strict=False)
        if not (before.isdecimal() and word in _BETWEEN_FIGURES)
    ]


def _singular(word: str) -> str:
    if word.endswith("xes"):
        return word[:-2]
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _joined(words: Sequence[str]) -> str:
    leading = next((at for at, word in enumerate(words) if not word.isdecimal()), 0)
    key = ""
    for word in (*words[leading:], *words[:leading]):
        key += "-" * (key[-1:].isdecimal() and word.isdecimal()) + word
    return key


# --- weaves that are known but not here -----------------------------------------------


@dataclass(frozen=True)
class OtherWeave:
    """A weave of the trade for which there is no rule.

    Attributes
    ----------
    what : what it is, to stand in brackets
    near : names of the rules that come nearest
    source : who calls it so and says what it is
    """

    names: tuple[str, ...]
    what: str
    near: tuple[str, ...]
    source: str

    @property
    def said(self) -> str:
        """That it is not here and what comes near, to follow its name."""
        near = " and ".join(filter(None, (", ".join(self.near[:-1]), self.near[-1])))
        come = "comes" if len(self.near) == 1 else "come"
        return f"is a weave that ringwright does not have ({self.what}): {near} {come} near"


def other_weave(name: str) -> OtherWeave | None:
    """The weave of that name that is known but not here, if there is one."""
    weaves = other_weaves()
    by_key = {name_key(one): weave for weave in weaves for one in weave.names}
    by_rest = {key: weave for weave in weaves for key in keys_without_kind(weave.names)}
    return meant(name, by_key, by_rest)


@functools.cache
def other_weaves() -> tuple[OtherWeave, ...]:
    """All weaves that are known but not here."""
    file = f"file {_OTHER_WEAVES.name}"
    document = Node(file, "", read_toml(_OTHER_WEAVES, file, _MOST_BYTES, "list of weaves"))
    weaves = document.table({"weave": "a [[weave]] table for each weave"})["weave"]
    return tuple(_other_weave(one) for one in weaves.items("a list of weaves", 1, 500))


def _other_weave(node: Node) -> OtherWeave:
    table = node.table(_KEYS)

    def texts(key: str) -> tuple[str, ...]:
        return tuple(one.text("a name", 60) for one in table[key].items("a list of names", 1, 20))

    def text(key: str) -> str:
        return table[key].text(_KEYS[key], 150)

    return OtherWeave(texts("names"), text("what"), texts("near"), text("source"))
