"""The families of weaves, a record each: how the unit repeats, and what that is called.

Whatever depends on a rule's family asks its record, so a new family is one more record here; one
whose images lie in a new way needs a kind of lattice too, in ``geometry/lattice_kind``.
"""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.geometry import lattice_kind
from ringwright.geometry.lattice_kind import LatticeKind
from ringwright.weaves.rest_states import (
    HUNG,
    HUNG_BY_ENDS,
    HUNG_BY_ROW,
    ON_TABLE,
    PULLED,
    SPREAD,
    SPREAD_AS_MIDDLE,
    WORN,
    RestState,
)


@dataclass(frozen=True)
class Family:
    """A family of weaves.

    Attributes
    ----------
    name : as rule files and JSON have it
    lattice : how the images of a unit lie; most of what is asked here follows from it
    called : what one would call the thing that is made
    among : what its weaves are called together, where they can be listed alone
    whole : the word for all of it, where something lies "along the ..."
    repeat : the word for what is woven again and again
    parts : on an assembly sheet, the headings of what is woven first and of all further of it
    hangs : whether it hangs from its first rings while it is woven; else it lies on a table
    states : in which a finished one can be asked for, as it is without being asked first
    """

    name: str
    lattice: LatticeKind
    called: str
    among: str
    whole: str
    repeat: str
    parts: tuple[str, str]
    hangs: bool = True
    states: tuple[RestState, ...] = (PULLED, ON_TABLE, HUNG, WORN)

    def __repr__(self) -> str:
        # A stopped sweep is known again by its rule's text: there stands the name, as in the file.
        return repr(self.name)

    @property
    def repeats(self) -> bool:
        """Whether it goes on for as long as one likes; else it is a finished piece of one size."""
        return self.lattice.repeats

    @property
    def has_axis(self) -> bool:
        """Whether it has one repeat vector: it is long, and its axis is x."""
        return self.lattice.has_axis

    @property
    def has_rows(self) -> bool:
        """Whether it has two repeat vectors: rows along x, and a width of as many as one likes."""
        return self.lattice.has_rows

    @property
    def turns(self) -> bool:
        """Whether its axis is a screw axis, so that no repeat lies as the one before it."""
        return self.lattice.turns

    @property
    def is_wound(self) -> bool:
        """Whether it is a chain wound into a screw, which nothing keeps from unwinding."""
        return self.lattice.is_wound

    @property
    def closes_round(self) -> bool:
        """Whether units stand side by side around its axis, of which the last meets the first."""
        return self.lattice.closes

    @property
    def image_numbers(self) -> int:
        """How many numbers tell one image from the others: repeats along, and rows or around."""
        return self.lattice.image_numbers

    @property
    def needs_start(self) -> bool:
        """Whether it begins at an end, where a ring has to be there for the first step."""
        return self.image_numbers == 1

    @property
    def bends(self) -> bool:
        """Whether it bends up and sideways, repeat by repeat alike, until its ends meet.

        What turns as it goes on meets the bend otherwise in every repeat, and its ends need not
        meet.
        """
        return self.lattice.is_straight

    @property
    def counted(self) -> str:
        """The state in which its lengths and widths are counted, in words."""
        if not self.repeats:
            return "at rest"
        return SPREAD.said if self.has_rows else PULLED.said

    @property
    def pictured(self) -> RestState:
        """The state in which pictures show it where none is asked for.

        On a table, which takes a few seconds. The edges of a sheet would take longer, and are shown
        as its middle.
        """
        return SPREAD_AS_MIDDLE if self.has_rows else self.lies

    @property
    def lies(self) -> RestState:
        """The state in which it lies on a table."""
        return next(state for state in self.states if state.lies)

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of a rule file that say how the unit repeats; all of them are needed."""
        vectors = {0: (), 1: ("repeat_vector",), 2: ("repeat_vectors",)}[self.lattice.vectors]
        turning = ("turn_degrees",) if self.turns else ()
        return (*vectors, *turning, *(("around",) if self.closes_round else ()))

    def is_before(self, image: tuple[int, int]) -> bool:
        """Whether an image is woven before the first repeat.

        Images are woven along x, row by row. All the units around a tube are woven, so only
        those before it lengthwise are not.
        """
        if not self.repeats:
            return False
        along, across = image
        return along < 0 if self.closes_round else (across, along) < (0, 0)


CHAIN = Family(
    name="chain",
    lattice=lattice_kind.CHAIN,
    called="a chain",
    among="Chains",
    whole="chain",
    repeat="repeat",
    parts=("First repeat", "The repeating part"),
)
SCREW = Family(
    name="screw",
    lattice=lattice_kind.SCREW,
    called="a chain that turns as it goes on",
    among="Chains that wind",
    whole="piece",
    repeat="repeat",
    parts=("First repeat", "The repeating part"),
)
SHEET = Family(
    name="sheet",
    lattice=lattice_kind.SHEET,
    called="a sheet",
    among="Sheets",
    whole="piece",
    repeat="row",
    parts=("First row", "Every further row"),
    hangs=False,
    states=(PULLED, SPREAD, HUNG_BY_ROW, HUNG_BY_ENDS, WORN),
)
TUBE = Family(
    name="tube",
    lattice=lattice_kind.TUBE,
    called="a tube",
    among="Tubes",
    whole="piece",
    repeat="round",
    parts=("First round", "The repeating part"),
)
PIECE = Family(
    name="piece",
    lattice=lattice_kind.PIECE,
    called="a finished piece",
    among="Single pieces",
    whole="piece",
    repeat="piece",
    parts=("The piece", ""),
    states=(PULLED, ON_TABLE, HUNG),
)

FAMILIES = {one.name: one for one in (CHAIN, SCREW, SHEET, TUBE, PIECE)}
