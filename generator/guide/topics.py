"""The topics of the guide: their order, their texts, and how one is found by its name."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from ringwright.base.errors import BadInput

# In the order in which a maker comes to them.
NAMES = (
    "first-steps",
    "page",
    "sizes",
    "verdicts",
    "limits",
    "weaves",
    "length",
    "at-rest",
    "preview",
    "pictures",
    "colours",
    "plan",
    "shop",
    "rings",
    "sweep",
    "drawing",
    "assembly",
    "jigs",
    "printing",
    "own-weaves",
    "python",
    "safety",
    "trouble",
)


@dataclass(frozen=True)
class Topic:
    """One topic of the guide.

    Attributes
    ----------
    name : what is typed for it
    title : its heading
    summary : what it is about, in one line
    text : all of it in Markdown, the heading included
    """

    name: str
    title: str
    summary: str
    text: str


@cache
def topics() -> tuple[Topic, ...]:
    """All topics, in the order in which a maker comes to them."""
    return tuple(_read(name) for name in NAMES)


def topic(wanted: str) -> Topic:
    """The topic of a name or a title, in any spelling.

    Raises
    ------
    BadInput
        When there is none; it names those that there are.
    """
    key = _plain(wanted)
    for one in topics():
        if key in (_plain(one.name), _plain(one.title)):
            return one
    raise BadInput(
        f"The guide has no topic {wanted!r}; it has {', '.join(NAMES[:-1])} and {NAMES[-1]}."
    )


def list_text() -> str:
    """The names of all topics with a line on each."""
    wide = max(map(len, NAMES))
    return "\n".join(f"{one.name:{wide}}  {one.summary}" for one in topics())


def _read(name: str) -> Topic:
    """A file's first line is the title, and its first paragraph says what it is about."""
    text = (files(__package__) / f"{name}.md").read_text(encoding="utf-8")
    heading, summary, _ = text.split("\n\n", 2)
    return Topic(name, heading.removeprefix("# "), " ".join(summary.split()), text)


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
