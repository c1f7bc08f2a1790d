"""The states a piece can be asked for in: pulled straight, on a table, spread, hung, worn."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base import defaults

WRIST, FINGER, NECK = "wrist", "finger", "neck"
PARTS = (WRIST, FINGER, NECK)
# From a child's finger to a neck; and width over depth.
LEAST_GIRTH_MM, MOST_GIRTH_MM = 40.0, 600.0
MOST_RATIO = 2.0


@dataclass(frozen=True)
class Body:
    """What a piece is worn on.

    Attributes
    ----------
    part : one of ``PARTS``
    girth_mm : all the way round it
    ratio : of a wrist or finger its width over its depth; a neck is round
    """

    part: str
    girth_mm: float
    ratio: float = 1.0

    @property
    def said(self) -> str:
        """With its measure, as in "worn round ..."."""
        return f"a {self.part} of {self.girth_mm:.4g} mm"


@dataclass(frozen=True)
class RestState:
    """A state in which a piece is at rest.

    Attributes
    ----------
    name : as it is typed, and in JSON
    said : how the piece is in it, after its name
    lies : whether there is a table under it
    hangs : whether it hangs free
    body : what it is worn on; None where it is not
    """

    name: str
    said: str
    lies: bool = False
    hangs: bool = False
    body: Body | None = None

    @property
    def does(self) -> str:
        """What a piece does in it, as in "as it lies"."""
        if self.body is not None:
            return "is worn"
        return "hangs" if self.hangs else "lies"


def worn_by(body: Body) -> RestState:
    """The state of a piece that is worn."""
    return RestState("worn", f"worn round {body.said}", body=body)


PULLED = RestState("pulled", "pulled straight")
ON_TABLE = RestState("on-table", "lying on a table", lies=True)
SPREAD = RestState("spread", "spread on a table", lies=True)
SPREAD_AS_MIDDLE = RestState("spread", "spread on a table, its edges as its middle", lies=True)
HUNG = RestState("hung", "hung from its first ring", hangs=True)
HUNG_BY_ROW = RestState("hung", "hung from its first row", hangs=True)
HUNG_BY_ENDS = RestState("hung-by-ends", "hung from the ends of its rows", hangs=True)
# Round a usual wrist, where no measure is given: common practice, no source.
WORN = worn_by(Body(WRIST, defaults.WRIST_MM, defaults.OVAL))

# As they can be typed; a family has some of them.
NAMES = ("pulled", "on-table", "spread", "hung", "hung-by-ends", "worn")
