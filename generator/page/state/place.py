"""Where on the page a maker is: which panel is open, and at which step of weaving."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from ringwright.page.state.chosen import LONGEST, query_parts

_MOST_DIGITS = 4


@dataclass(frozen=True)
class Place:
    """A panel, as its tab's words are written in an address, and a step.

    Attributes
    ----------
    panel : such as ``weave-it``; empty for the one that is open at first
    step : of weaving, from 0; 0 where none is looked at
    """

    panel: str = ""
    step: int = 0

    def query(self) -> str:
        """The place as part of the end of an address, with ``&`` before it; empty at first."""
        told = {"panel": self.panel, "step": str(self.step) if self.step else ""}
        kept = {name: text for name, text in told.items() if text}
        return "&" + urlencode(kept) if kept else ""


def place_of(name: str) -> Place:
    """The place of a panel, by the words on its tab."""
    return Place(name.lower().replace(" ", "-"))


def place_from_query(text: str) -> Place:
    """The place that an address tells; a part that cannot be is as at first.

    Raises
    ------
    BadInput
        As :func:`ringwright.page.state.chosen.from_query` does, where there are too many parts.
    """
    told = dict(query_parts(text))
    step = told.get("step", "")
    is_step = step.isascii() and step.isdigit() and len(step) <= _MOST_DIGITS
    return Place(told.get("panel", "").strip()[:LONGEST], int(step) if is_step else 0)
