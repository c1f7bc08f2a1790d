"""A text that is being worked on, with what it was before: undo and redo."""

from __future__ import annotations

from dataclasses import dataclass, replace

# So many earlier texts are kept, of so many characters together.
MOST_KEPT = 60
MOST_CHARACTERS = 2_000_000


@dataclass(frozen=True)
class Draft:
    """A text, and what was done to come to it."""

    text: str
    why: str


@dataclass(frozen=True)
class Drafts:
    """The texts that were, the one that is, and those that were undone.

    Attributes
    ----------
    drafts : oldest first
    place : of the one that is
    """

    drafts: tuple[Draft, ...]
    place: int = 0

    @property
    def text(self) -> str:
        """The text that is."""
        return self.drafts[self.place].text

    @property
    def undoes(self) -> str:
        """What a step back takes away, in words; empty at the oldest."""
        return self.drafts[self.place].why if self.place else ""

    @property
    def redoes(self) -> str:
        """What a step forward brings again, in words; empty at the newest."""
        after = self.place + 1
        return self.drafts[after].why if after < len(self.drafts) else ""

    def put(self, text: str, why: str) -> Drafts:
        """A new text; what was undone is forgotten, and so is what is too old or too much."""
        if text == self.text:
            return self
        kept = [*self.drafts[: self.place + 1], Draft(text, why)][-MOST_KEPT:]
        while len(kept) > 1 and sum(len(one.text) for one in kept) > MOST_CHARACTERS:
            del kept[0]
        return Drafts(tuple(kept), len(kept) - 1)

    def undone(self) -> Drafts:
        """One step back, as far as it goes."""
        return replace(self, place=max(self.place - 1, 0))

    def redone(self) -> Drafts:
        """One step forward, as far as it goes."""
        return replace(self, place=min(self.place + 1, len(self.drafts) - 1))
