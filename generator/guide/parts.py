"""A topic in parts, each under its heading: as plain words to search, as HTML for the page."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from ringwright.guide.topics import NAMES, Topic, topics

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

# Of a passage that is found so much is shown, on either side of the word.
_AROUND = 70
# The page has a heading above the topic's own.
_DEEPER = 2


@dataclass(frozen=True)
class Part:
    """What stands under one heading of a topic.

    Attributes
    ----------
    topic : name of the topic
    heading : the words of the heading; the topic's title for what comes before any other
    anchor : the heading's id in :func:`as_html`
    passages : paragraphs, rows of tables and blocks of code, as plain words
    """

    topic: str
    heading: str
    anchor: str
    passages: tuple[str, ...]


@dataclass(frozen=True)
class Found:
    """A part in which all words that were looked for stand, and the words around the first."""

    part: Part
    around: str


def find(wanted: str) -> tuple[Found, ...]:
    """The parts of the guide in which all these words stand, best first.

    A word is found by its beginning, in upper or lower case: "wind" finds "winding". Parts whose
    heading has a word come before others; otherwise they keep the order of the guide.
    """
    patterns = [re.compile(rf"(?<!\w){re.escape(word)}", re.IGNORECASE) for word in _stems(wanted)]
    if not patterns:
        return ()
    hits = [
        (-sum(bool(one.search(part.heading)) for one in patterns), part)
        for part in _all_parts()
        if all(any(map(one.search, (part.heading, *part.passages))) for one in patterns)
    ]
    return tuple(
        Found(part, _around(part, patterns[0])) for _, part in sorted(hits, key=lambda hit: hit[0])
    )


def as_html(topic: Topic) -> str:
    """A topic as HTML, for a page that has two headings above it.

    The name of another topic is a link that carries it as ``data-topic``.
    """
    reader = _reader()
    tokens = reader.parse(topic.text)
    for number, token in enumerate(one for one in tokens if one.type == "heading_open"):
        token.attrSet("id", _anchor(topic.name, number))
    for token in tokens:
        if token.type in ("heading_open", "heading_close"):
            token.tag = f"h{int(token.tag[1:]) + _DEEPER}"
        elif token.type == "inline":
            _link_topics(token.children or [])
    return str(reader.renderer.render(tokens, reader.options, {}))


@lru_cache(maxsize=1)
def _all_parts() -> tuple[Part, ...]:
    return tuple(part for one in topics() for part in _parts(one))


def _parts(topic: Topic) -> Iterator[Part]:
    tokens = _reader().parse(topic.text)
    starts = [place for place, token in enumerate(tokens) if token.type == "heading_open"]
    ends = [*starts[1:], len(tokens)]
    for number, (start, end) in enumerate(zip(starts, ends, strict=True)):
        # A heading is three tokens: it opens, says something and closes.
        said = tuple(_passages(tokens[start + 3 : end]))
        yield Part(topic.name, _plain(tokens[start + 1]), _anchor(topic.name, number), said)


def _passages(tokens: Sequence[Token]) -> Iterator[str]:
    """Paragraphs and rows of tables, and after them the blocks of code."""
    cells: list[str] | None = None
    for token in tokens:
        if token.type == "tr_open":
            cells = []
        elif token.type == "tr_close":
            yield ": ".join(filter(None, cells or []))
            cells = None
        elif token.type == "inline" and cells is not None:
            cells.append(_plain(token))
        elif token.type == "inline":
            yield _plain(token)
    yield from (_plain(token) for token in tokens if token.type == "fence")


def _reader() -> MarkdownIt:
    from markdown_it import MarkdownIt

    # The guide is the program's own, and has no HTML in it.
    return MarkdownIt("commonmark", {"html": False}).enable("table")


def _anchor(topic: str, number: int) -> str:
    return f"help-{topic}-{number}"


def _plain(token: Token) -> str:
    if token.children is None:
        return " ".join(token.content.split())
    return "".join(
        " " if child.type in ("softbreak", "hardbreak") else child.content
        for child in token.children
    )


def _link_topics(children: list[Token]) -> None:
    """Make links of what stands in italics and is a topic's name."""
    for opens, text, closes in zip(children, children[1:], children[2:], strict=False):
        if opens.type == "em_open" and closes.type == "em_close" and text.content in NAMES:
            opens.tag = closes.tag = "a"
            opens.attrSet("href", f"#{_anchor(text.content, 0)}")
            opens.attrSet("data-topic", text.content)


def _stems(wanted: str) -> list[str]:
    """The words without a plural's s, so that "rings" finds "ring"."""
    return [
        word.removesuffix("s") if len(word) > 3 and not word.endswith("ss") else word
        for word in re.findall(r"\w+", wanted)
    ]


def _around(part: Part, pattern: re.Pattern[str]) -> str:
    """The words about the first place of a word; how the part begins where its heading has it."""
    places = ((text, match) for text in part.passages if (match := pattern.search(text)))
    text, start = next(((text, match.start()) for text, match in places), (part.passages[0], 0))
    first, last = max(0, start - _AROUND), start + _AROUND
    # Not from the middle of a word to the middle of another.
    first = text.find(" ", first) + 1 if first else 0
    last = text.rfind(" ", start, last) if last < len(text) else len(text)
    return ("... " if first else "") + text[first:last] + (" ..." if last < len(text) else "")
