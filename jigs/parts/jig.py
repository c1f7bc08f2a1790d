"""A jig as data: printed parts, bought items, where they go, what they are for."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    import cadquery as cq

    from ringwright.answers.verdict import Report

RGB = tuple[float, float, float]

# After the palette of Okabe and Ito (from memory), which stays apart in all common kinds of
# colour blindness; every part carries its number in pictures too.
ORANGE: RGB = (0.90, 0.62, 0.00)
SKY: RGB = (0.34, 0.71, 0.91)
GREEN: RGB = (0.00, 0.62, 0.45)
YELLOW: RGB = (0.94, 0.89, 0.26)
BLUE: RGB = (0.00, 0.45, 0.70)
VERMILLION: RGB = (0.84, 0.37, 0.00)
PURPLE: RGB = (0.80, 0.47, 0.65)
STEEL: RGB = (0.62, 0.64, 0.66)
# Towards the eye, in pictures: from the right, the front and above.
SEEN_FROM = (0.55, -0.78, 0.55)


# Of a jig as built, by name: numbers, words, or several numbers.
Dimensions: TypeAlias = Mapping[str, str | float | Sequence[float]]


@dataclass(frozen=True, eq=False)
class Label:
    """Raised letters on a part.

    Attributes
    ----------
    text : what they say
    solids : letters, standing on a flat face of the part
    height_mm : of a capital or digit
    """

    text: str
    solids: tuple[cq.Solid, ...]
    height_mm: float


@dataclass(frozen=True, eq=False)
class Part:
    """One printed part, in a frame of its own.

    Attributes
    ----------
    name : unique in the jig; names the files, so letters, digits and hyphens
    body : the solid without its raised labels; for parts printed in place, a compound
    colour : sRGB, 0 to 1
    labels : raised letters
    turns : from the part's frame to the print bed: (axis ``x``, ``y`` or ``z``, degrees),
        one after the other; the part is then set on the bed
    volumes : how many separate bodies the part consists of
    note : how to print it, where there is more to say
    together : all that is printed as one object with it, in the part's frame, where its place
        on the bed follows from that; None for a part by itself
    supports : whether it is meant to be printed with supports; overhangs are then no fault
    """

    name: str
    body: cq.Shape
    colour: RGB
    labels: tuple[Label, ...] = ()
    turns: tuple[tuple[str, float], ...] = ()
    volumes: int = 1
    note: str = ""
    together: cq.Shape | None = None
    supports: bool = False
    solid: cq.Shape = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Join the labels to the body."""
        solid = self.body
        letters = [letter for label in self.labels for letter in label.solids]
        if letters:
            # They only touch the body: glued, which is several times as quick as a full union.
            solid = solid.fuse(*letters, glue=True)
        if self.volumes == 1 and len(solid.Solids()) == 1:
            solid = solid.Solids()[0]
        object.__setattr__(self, "solid", solid)

    @functools.cached_property
    def bed(self) -> cq.Location:
        """From the part's frame to the print bed: turned, its middle over the origin, at z = 0."""
        import cadquery as cq

        turn = _turned(self.turns)
        if self.together is None:
            box = self.solid.moved(turn).BoundingBox()
            low, middle = box.zmin, (box.center.x, box.center.y)
        else:
            (x, y, low), (x2, y2, _) = _bounds_mm(self.together, self.turns)
            middle = ((x + x2) / 2.0, (y + y2) / 2.0)
        return cq.Location(cq.Vector(-middle[0], -middle[1], -low)) * turn


def _turned(turns: tuple[tuple[str, float], ...]) -> cq.Location:
    import cadquery as cq

    axes = {"x": (1, 0, 0), "y": (0, 1, 0), "z": (0, 0, 1)}
    turn = cq.Location()
    for axis, degrees in turns:
        turn = cq.Location(cq.Vector(), cq.Vector(*axes[axis]), degrees) * turn
    return turn


@functools.lru_cache(maxsize=1)
def _bounds_mm(together: cq.Shape, turns: tuple[tuple[str, float], ...]) -> list[list[float]]:
    """Lowest and highest corner of what is printed as one object: each of its parts asks for them.

    The kernel's boxes around curved things are roomy; these would float over the bed.
    """
    from ringwright.jigs.checks.rays import mesh_of

    found: list[list[float]] = mesh_of(together.moved(_turned(turns))).bounds.tolist()
    return found


@dataclass(frozen=True, eq=False)
class Bought:
    """A bought item.

    Attributes
    ----------
    name : unique in the jig, such as ``cap screw M4 x 20``
    standard : such as ``ISO 4762``; empty where there is none
    count : how many
    body : a solid to show in the assembly and to measure against, or None
    note : what to look for when buying
    """

    name: str
    standard: str
    count: int
    body: cq.Shape | None = None
    colour: RGB = STEEL
    note: str = ""


@dataclass(frozen=True, eq=False)
class Placed:
    """A part or bought item in its place in the assembly.

    Attributes
    ----------
    name : unique in the jig
    item : the name of the part or bought item
    at : from its own frame to the assembly
    apart_mm : how far it moves in the exploded picture
    """

    name: str
    item: str
    at: cq.Location
    apart_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Mating:
    """Two placed things with a designed gap between them; zero where they lie on each other.

    ``more_mm`` is how much more it may be, where there may be a groove at the narrowest place.
    """

    first: str
    second: str
    gap_mm: float
    what: str
    more_mm: float = 0.0


@dataclass(frozen=True, eq=False)
class Jig:
    """A whole jig.

    Attributes
    ----------
    name, title : as in the list of jigs; as a heading
    parts, bought, placed, mating : see there
    use : steps of building and using it, one sentence or two each
    cautions : what can hurt, one sentence or two each
    remarks : what the figures are worth, where they come from
    facts : its dimensions for JSON and the sheet, units in the names
    seen_from : the way towards the eye, in pictures
    lesson : the weave whose assembly sheet by role comes with the jig, or None
    """

    name: str
    title: str
    parts: tuple[Part, ...]
    bought: tuple[Bought, ...]
    placed: tuple[Placed, ...]
    mating: tuple[Mating, ...]
    use: tuple[str, ...]
    cautions: tuple[str, ...]
    remarks: tuple[str, ...]
    facts: Dimensions
    lesson: Report | None = None
    seen_from: tuple[float, float, float] = SEEN_FROM

    def __post_init__(self) -> None:
        """Raise ``ValueError`` where names are not unique or lead nowhere."""
        items = [item.name for item in self.items]
        places = [place.name for place in self.placed]
        for names in (items, places):
            if len(set(names)) != len(names):
                raise ValueError(f"names are not unique: {names}")
        for place in self.placed:
            if place.item not in items:
                raise ValueError(f"{place.name} places {place.item}, which is not in the jig")
        for pair in self.mating:
            if pair.first not in places or pair.second not in places:
                raise ValueError(f"{pair.first} with {pair.second}: not both are placed")
        unplaced = [part.name for part in self.parts if not self.count(part)]
        if unplaced:
            raise ValueError(f"parts that are placed nowhere: {unplaced}")

    @property
    def items(self) -> tuple[Part | Bought, ...]:
        """Printed parts, then bought items."""
        return (*self.parts, *self.bought)

    def count(self, part: Part) -> int:
        """How many of a part are to be printed."""
        return sum(place.item == part.name for place in self.placed)

    def item(self, name: str) -> Part | Bought:
        """The part or bought item of that name."""
        return next(item for item in self.items if item.name == name)

    def pieces(self, name: str) -> tuple[cq.Shape, ...]:
        """A placed thing in the assembly, as its bodies and each of its letters."""
        place = next(place for place in self.placed if place.name == name)
        item = self.item(place.item)
        shapes = [item.body]
        if isinstance(item, Part):
            shapes = list(item.body.Solids())
            shapes += [letter for label in item.labels for letter in label.solids]
        return tuple(shape.moved(place.at) for shape in shapes if shape is not None)

    def assembled(self) -> dict[str, cq.Shape]:
        """Every placed thing that has a body, by name, where it is in the assembly."""
        shapes = {}
        for place in self.placed:
            item = self.item(place.item)
            shape = item.solid if isinstance(item, Part) else item.body
            if shape is not None:
                shapes[place.name] = shape.moved(place.at)
        return shapes


def on_the_bed(part: Part, shape: cq.Shape) -> cq.Shape:
    """A shape of the part's frame, such as its solid, as it lies on the print bed.

    The part is turned as it is printed, its middle over the origin and its lowest point at
    z = 0.
    """
    return shape.moved(part.bed)
