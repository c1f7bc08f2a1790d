"""The states a piece can be asked for in: pulled straight, lying on a table, spread, hung."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class RestState:
    """A state in which a piece is at rest.

    Attributes
    ----------
    name : as it is typed, and in JSON
    said : how the piece is in it, after its name
    lies : whether there is a table under it
    hangs : whether it hangs free
    """

    name: str
    said: str
    lies: bool = False
    hangs: bool = False


PULLED = RestState("pulled", "pulled straight")
ON_TABLE = RestState("on-table", "lying on a table", lies=True)
SPREAD = RestState("spread", "spread on a table", lies=True)
SPREAD_AS_MIDDLE = RestState("spread", "spread on a table, its edges as its middle", lies=True)
HUNG = RestState("hung", "hung from its first ring", hangs=True)
HUNG_BY_ROW = RestState("hung", "hung from its first row", hangs=True)
HUNG_BY_ENDS = RestState("hung-by-ends", "hung from the ends of its rows", hangs=True)

# As they can be typed; a family has some of them.
NAMES = ("pulled", "on-table", "spread", "hung", "hung-by-ends")
