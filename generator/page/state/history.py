"""Everything that was chosen on a page, moment after moment: undo and redo, as one frozen value."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ringwright.page.state.project import Project

# So many moments are kept, with so many characters of shops, rules and grids together.
MOST_KEPT = 100
MOST_CHARACTERS = 2_000_000


@dataclass(frozen=True)
class Moment:
    """What was chosen at one time.

    Attributes
    ----------
    why : what was done to come to it, in words; empty for the first
    serial : its number, which no other moment of the history ever has
    """

    project: Project
    why: str = ""
    serial: int = 0


@dataclass(frozen=True)
class History:
    """The moments that were, the one that is, and those that were undone.

    Attributes
    ----------
    moments : oldest first
    place : of the one that is
    count : how many there have been, those that are forgotten too
    """

    moments: tuple[Moment, ...]
    place: int = 0
    count: int = 1

    @property
    def now(self) -> Moment:
        """The moment that is."""
        return self.moments[self.place]

    @property
    def undoes(self) -> str:
        """What a step back takes away, in words; empty at the oldest."""
        return self.now.why if self.place else ""

    @property
    def redoes(self) -> str:
        """What a step forward brings again, in words; empty at the newest."""
        after = self.place + 1
        return self.moments[after].why if after < len(self.moments) else ""

    def put(self, project: Project, why: str, *, goes_on: bool = False) -> History:
        """Something else is chosen; what was undone is forgotten, and what is too old or too much.

        Parameters
        ----------
        goes_on : it goes on with what was done last, as a slider does: one moment of both
        """
        if project == self.now.project:
            return self
        before = self.moments[: self.place + 1]
        if goes_on and self.place and self.place == len(self.moments) - 1:
            if project == before[-2].project:
                # It has come back to where it began.
                return replace(self, moments=before[:-1], place=self.place - 1)
            last = replace(self.now, project=project, why=why)
            return replace(self, moments=(*before[:-1], last))
        kept = _within_bounds([*before, Moment(project, why, self.count)])
        return History(kept, len(kept) - 1, self.count + 1)

    def amended(self, project: Project) -> History:
        """The moment that is, told better; nothing was done."""
        now = replace(self.now, project=project)
        return replace(
            self, moments=(*self.moments[: self.place], now, *self.moments[self.place + 1 :])
        )

    def undone(self) -> History:
        """One step back, as far as it goes."""
        return replace(self, place=max(self.place - 1, 0))

    def redone(self) -> History:
        """One step forward, as far as it goes."""
        return replace(self, place=min(self.place + 1, len(self.moments) - 1))

    def at(self, serial: int) -> History | None:
        """The moment of that number is again; None where it is forgotten."""
        places = [place for place, one in enumerate(self.moments) if one.serial == serial]
        return replace(self, place=places[0]) if places else None


def _within_bounds(moments: list[Moment]) -> tuple[Moment, ...]:
    kept = moments[-MOST_KEPT:]
    while len(kept) > 1 and _characters(kept) > MOST_CHARACTERS:
        del kept[0]
    return tuple(kept)


def _characters(moments: Iterable[Moment]) -> int:
    """How much text there is; the same text in many moments is one."""
    projects = [one.project for one in moments]
    texts = {text for one in projects for text in (one.rule_text, one.shop_text, one.settings.grid)}
    return sum(map(len, texts))
