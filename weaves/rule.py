"""What a weave rule says, as plain frozen data."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ringwright.weaves.family import Family

Vector = tuple[float, float, float]
Image = tuple[int, int]

# The sides that a ring may come from as it goes through another that lies on a table.
SIDES = ("above", "below")


def wrapped(image: Image, around: int) -> Image:
    """The image of a tube with its second number counted the shorter way around.

    ``(k1, k2)`` and ``(k1, k2 + around)`` are one place; the result has
    -around / 2 < k2 <= around / 2.
    """
    k1, k2 = image
    k2 %= around
    return (k1, k2 - around if 2 * k2 > around else k2)


@dataclass(frozen=True)
class RingRef:
    """A ring of some repeat: its name and how many repeats further on (``image``).

    The second number of the image is 0 unless the rule's family has two image numbers.
    """

    name: str
    image: Image = (0, 0)


@dataclass(frozen=True)
class RuleSize:
    """A ring size besides the main one.

    It is either ``core`` times the main ring's core radius and ``wire`` times its
    wire, and then both lengths are None; or it is fixed at ``wire_mm`` and
    ``inner_mm`` (wire and inner diameter in millimetres), and then both multiples
    are 1 and mean nothing. A ring of the maker's own is fixed, and ``instead_of`` is the
    rule's size that it takes the place of: the one that the placement was made for.
    """

    name: str
    core: float
    wire: float
    wire_mm: float | None
    inner_mm: float | None
    # What a rule is told by, as its picture and a stopped sweep are, does not change with this.
    instead_of: RuleSize | None = field(default=None, repr=False)

    @property
    def is_fixed(self) -> bool:
        """Whether the ring has its own size in millimetres, whatever the main ring is."""
        return self.wire_mm is not None


@dataclass(frozen=True)
class RuleRing:
    """One ring of the repeat: role, rough placement in units of the main core radius, size.

    A ring without ``size`` is of the main size.
    """

    name: str
    role: str
    centre: Vector
    axis: Vector
    size: RuleSize | None = None


@dataclass(frozen=True)
class Link:
    """Two rings that run through one another, written one way only.

    ``first`` belongs to the repeat itself, image (0, 0), and comes first in the
    file. Of two images of one ring, ``second`` is the one that is woven later. In a
    tube ``second`` has the image that is counted the shorter way around.
    """

    first: RingRef
    second: RingRef


@dataclass(frozen=True)
class StartRing:
    """A ring laid down before the first repeat is woven, with its own role."""

    ring: RingRef
    role: str


@dataclass(frozen=True)
class Overlap:
    """Two rings that overlap, and the rings that go through or around what both share.

    Seen from where the two face, their eyes overlap in a lens. A ring of ``through`` goes
    through the lens: through both rings the same way. A ring of ``around`` is a hoop around it:
    through the one ring outside the lens, and back through the other outside the lens.
    """

    of: tuple[RingRef, RingRef]
    through: tuple[RingRef, ...] = ()
    around: tuple[RingRef, ...] = ()


@dataclass(frozen=True)
class Step:
    """One step of the assembly: ``ring`` is put through every ring of ``through``.

    What else it says is on how the rings have to lie, the piece lying on a table, x to the
    right and z up; nothing of it need be said.

    Attributes
    ----------
    holding : closed rings laid in place beforehand, which no ring goes through: this ring keeps
        them captive
    sides : for each ring of ``through`` the side that this one comes from as it goes through,
        "above" (down through) or "below" (up through), or "" where that is not said; empty
        where it is not said of any
    over, under : rings that this one is not linked with and lies over, or under, wherever the
        wires cross as seen from above
    overlaps : pairs of rings that overlap by now, and what goes through or around that
    """

    ring: RingRef
    through: tuple[RingRef, ...]
    holding: tuple[RingRef, ...] = ()
    sides: tuple[str, ...] = ()
    over: tuple[RingRef, ...] = ()
    under: tuple[RingRef, ...] = ()
    overlaps: tuple[Overlap, ...] = ()

    @property
    def needs_table(self) -> bool:
        """Whether it speaks of above and below."""
        return bool(self.sides or self.over or self.under)

    def with_refs(self, name: Callable[[RingRef], RingRef]) -> Step:
        """The step with every ring called otherwise."""

        def named(refs: Sequence[RingRef]) -> tuple[RingRef, ...]:
            return tuple(name(ref) for ref in refs)

        return Step(
            name(self.ring),
            named(self.through),
            named(self.holding),
            self.sides,
            named(self.over),
            named(self.under),
            tuple(
                Overlap(
                    (name(each.of[0]), name(each.of[1])), *map(named, (each.through, each.around))
                )
                for each in self.overlaps
            ),
        )


@dataclass(frozen=True)
class CommonRange:
    """Aspect ratios makers usually choose, and where that figure comes from.

    ``note`` says why the low end is not near the computed minimum, where it is not.
    """

    low: float
    high: float
    provenance: str
    note: str | None = None


@dataclass(frozen=True)
class OtherShape:
    """A shape other than the rule's own in which the rings close tighter.

    The same rings with the same links in the same lay, found by winding or curling the chain or
    letting two repeats differ.

    Attributes
    ----------
    two_repeats : whether the unit is two repeats of the rule
    repeat : along x, in core radii
    turn : from repeat to repeat about x, in radians; a chain that has one is curled into a screw
    places : centre and axis of each ring: the rule's rings in their order, then, with
        ``two_repeats``, those of the second repeat
    """

    two_repeats: bool
    repeat: float
    turn: float
    places: tuple[tuple[Vector, Vector], ...]


@dataclass(frozen=True)
class Minimums:
    """The smallest aspect ratios of a rule as they were computed when it was written.

    They belong to this placement and these sizes of rings, and to no other rule.

    Attributes
    ----------
    geometric : below it the weave is not known to exist, in whatever shape
    working : below it some ring cannot be put in, as far as the model goes; None where it
        was not computed
    wire_mm, inner_mm : the main ring they hold for; None where they hold for all, which is
        so unless some ring is fixed in millimetres
    straight : below it the weave does not exist in the shape of the rule's placement; None
        where that is the geometric minimum
    shape : the shape in which it closes from the geometric minimum on; None where it is that
        of the placement
    """

    geometric: float
    working: float | None
    wire_mm: float | None = None
    inner_mm: float | None = None
    straight: float | None = None
    shape: OtherShape | None = None

    @property
    def as_laid(self) -> float:
        """The smallest aspect ratio in the shape of the rule's placement."""
        return self.geometric if self.straight is None else self.straight

    @property
    def least(self) -> float:
        """The one to hold a maker's range against: the working minimum, where there is one."""
        return self.geometric if self.working is None else self.working


@dataclass(frozen=True)
class WeaveRule:
    """A weave: the rings of one repeat, how they link, and in which order they go in.

    Lengths are in units of the main ring's core radius, the turn is in radians.
    The frame: x along the weave, y across it, z up from the table.

    ======  ==============  ======  ============================================
    family  repeat_vectors  around  image (k1, k2) is the repeat ...
    ======  ==============  ======  ============================================
    chain   one, along x    1       moved by k1 vectors
    screw   one, along x    1       and turned k1 times by ``turn`` about x
    sheet   two, z = 0      1       moved by k1 first and k2 second vectors
    tube    one, along x    2 on    as a screw's, and turned another k2 / around
                                    of a full circle about x
    piece   none            1       (no images but (0, 0))
    ======  ==============  ======  ============================================

    ``turn`` is right-handed, and 0 for the families that have none. Images are
    woven along x, row by row: those with the lower k2 first, and of these those with
    the lower k1. ``metals`` is as the maker wrote it: what the rings are of, unless a
    preview is asked for other metals. ``computed`` is what the file says was computed.
    ``ends`` are the rings by which a finished piece is pulled straight, those at its
    beginning and those at its end; none where it is not to be pulled. ``lay_in_words`` says
    that of the lays that the links and the steps' words leave, this is the tightest one.
    """

    name: str
    trade_names: tuple[str, ...]
    summary: str
    family: Family
    rings: tuple[RuleRing, ...]
    repeat_vectors: tuple[Vector, ...]
    turn: float
    around: int
    links: tuple[Link, ...]
    start: tuple[StartRing, ...]
    steps: tuple[Step, ...]
    common_aspect_ratio: CommonRange | None
    path: Path
    metals: str | None = None
    computed: Minimums | None = None
    ends: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())
    lay_in_words: bool = False

    @property
    def has_fixed_rings(self) -> bool:
        """Whether some ring keeps its size in millimetres, whatever the main ring is."""
        return any(ring.size is not None and ring.size.is_fixed for ring in self.rings)

    @property
    def has_own_second(self) -> bool:
        """Whether rings of some size besides the main one are the maker's own choice."""
        return any(ring.size is not None and ring.size.instead_of for ring in self.rings)

    @property
    def sizes(self) -> tuple[RuleSize, ...]:
        """The ring sizes besides the main one, in the order of the rings."""
        named = {ring.size.name: ring.size for ring in self.rings if ring.size is not None}
        return tuple(named.values())

    @property
    def rings_per_repeat(self) -> int:
        """Rings in one repeat along x: those of the rule, all the way around a tube."""
        return len(self.rings) * self.around


@dataclass(frozen=True)
class StepsRing:
    """One ring of a repeat that has no place yet."""

    name: str
    role: str
    size: RuleSize | None = None


@dataclass(frozen=True)
class StepsRule:
    """A weave known by its order of assembly alone: what is linked, but not where it lies.

    Everything is as in :class:`WeaveRule`, which it becomes once it is given a placement.
    """

    name: str
    trade_names: tuple[str, ...]
    summary: str
    family: Family
    rings: tuple[StepsRing, ...]
    around: int
    links: tuple[Link, ...]
    start: tuple[StartRing, ...]
    steps: tuple[Step, ...]
    common_aspect_ratio: CommonRange | None
    path: Path
    metals: str | None = None
    ends: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())

    def placed(
        self,
        rings: Sequence[tuple[Vector, Vector]],
        repeat_vectors: tuple[Vector, ...],
        turn: float,
    ) -> WeaveRule:
        """The rule with a placement.

        Parameters
        ----------
        rings : centre and axis of each ring
        repeat_vectors, turn : as in :class:`WeaveRule`
        """
        return WeaveRule(
            name=self.name,
            trade_names=self.trade_names,
            summary=self.summary,
            family=self.family,
            rings=tuple(
                RuleRing(ring.name, ring.role, centre, axis, ring.size)
                for ring, (centre, axis) in zip(self.rings, rings, strict=True)
            ),
            repeat_vectors=repeat_vectors,
            turn=turn,
            around=self.around,
            links=self.links,
            start=self.start,
            steps=self.steps,
            common_aspect_ratio=self.common_aspect_ratio,
            path=self.path,
            metals=self.metals,
            ends=self.ends,
        )


def without_placement(rule: WeaveRule) -> StepsRule:
    """What is left of a rule when it is not said where its rings lie; no minimums, then."""
    return StepsRule(
        name=rule.name,
        trade_names=rule.trade_names,
        summary=rule.summary,
        family=rule.family,
        rings=tuple(StepsRing(ring.name, ring.role, ring.size) for ring in rule.rings),
        around=rule.around,
        links=rule.links,
        start=rule.start,
        steps=rule.steps,
        common_aspect_ratio=rule.common_aspect_ratio,
        path=rule.path,
        metals=rule.metals,
        ends=rule.ends,
    )
