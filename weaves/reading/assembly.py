"""The order of assembly in a rule file: start rings, steps, captives, and how rings lie."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from ringwright.weaves.reading.endless import EndlessWeave
from ringwright.weaves.reading.keys import (
    MOST_RINGS,
    OPTIONAL_IN_STEP,
    OVERLAP_KEYS,
    ROLES,
    START_KEYS,
    STEP_KEYS,
)
from ringwright.weaves.reading.links import step_items
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.rule import Link, Overlap, RingRef, RuleRing, StartRing, Step


def read_start(
    node: RuleNode, weave: EndlessWeave, links: tuple[Link, ...]
) -> tuple[StartRing, ...]:
    """The rings that are there before the first repeat."""
    start: dict[RingRef, StartRing] = {}
    least = 1 if weave.family.needs_start else 0
    items = node.items(f"a list of {least} to {MOST_RINGS} [[start]] tables", least, MOST_RINGS)
    refs = []
    for item in items:
        table = item.table(START_KEYS)
        ref = weave.ref(table["ring"])
        if not weave.is_before(ref.image):
            raise table["ring"].fault(_not_before(ref, weave))
        if ref in start:
            raise table["ring"].fault(f"is {weave.said(ref)} again: give every start ring once")
        start[ref] = StartRing(ref, table["role"].one_of(ROLES))
        refs.append(table["ring"])
    for ref, ring_node in zip(start, refs, strict=True):
        others = weave.neighbours(ref, links)
        if all(weave.is_before(other.image) and other not in start for other in others):
            raise ring_node.fault(
                f"is {weave.said(ref)}, which no link joins to the first repeat: it would lie loose"
            )
    return tuple(start.values())


def _not_before(ref: RingRef, weave: EndlessWeave) -> str:
    if not weave.family.repeats:
        name = weave.family.name
        return f'is {ref.name}, but nothing is there before a "{name}": leave [[start]] out'
    needs = "below 0"
    if weave.family.has_rows:
        needs = "[k1, k2] with k2 below 0, or with k2 = 0 and k1 below 0"
    elif weave.family.image_numbers == 2:
        needs = "[k1, k2] with k1 below 0"
    return (
        f"is {ref.name} in image {weave.said_image(ref.image)}: a ring there before the first "
        f"repeat needs an image {needs}"
    )


def read_steps(
    node: RuleNode,
    rings: tuple[RuleRing, ...],
    weave: EndlessWeave,
    links: tuple[Link, ...],
    held: Mapping[RingRef, int],
) -> tuple[Step, ...]:
    """The steps in order, each of which puts a ring through rings that are there."""
    roles = {ring.name: ring.role for ring in rings}
    placed: set[str] = set()
    made: set[Link] = set()
    steps: list[Step] = []
    for number, item in enumerate(step_items(node)):
        table = item.table(STEP_KEYS, optional=OPTIONAL_IN_STEP)
        ring = _step_ring(table["ring"], roles, placed, weave)
        through, sides = _through(table["through"], ring, roles, placed, weave)
        for ref in through:
            link = weave.link(ring, ref)
            if link not in links:
                raise table["through"].fault(
                    f"puts {ring.name} through {weave.said(ref)}, but no [[link]] joins these "
                    "two: list the link or leave it out here"
                )
            made.add(link)
        holding = tuple(ref for ref, holder in held.items() if holder == number)
        placed.update(ref.name for ref in (ring, *through, *holding) if ref.image == (0, 0))
        lay = _Lay(weave, links, placed)
        steps.append(
            Step(
                ring,
                through,
                holding,
                sides,
                lay.beside(table["over"], ring) if "over" in table else (),
                lay.beside(table["under"], ring) if "under" in table else (),
                lay.overlaps(table["overlap"]) if "overlap" in table else (),
            )
        )
    _check_all_made(node, rings, placed, weave, links, made)
    return tuple(steps)


def read_held(
    node: RuleNode, rings: tuple[RuleRing, ...], weave: EndlessWeave, links: tuple[Link, ...]
) -> dict[RingRef, int]:
    """The captive rings, and by its number the step that holds each."""
    roles = {ring.name: ring.role for ring in rings}
    linked = {ref.name for link in links for ref in (link.first, link.second)}
    held: dict[RingRef, int] = {}
    for number, item in enumerate(step_items(node)):
        table = item.table(STEP_KEYS, optional=OPTIONAL_IN_STEP)
        if "holding" not in table:
            continue
        for name in table["holding"].items(STEP_KEYS["holding"], 1, MOST_RINGS):
            ref = weave.ref(name)
            if ref.image != (0, 0):
                raise name.fault(f"is {weave.said(ref)}: a step holds rings of this repeat")
            if roles[ref.name] != "closed":
                raise name.fault(f'is {ref.name}, whose role is "open": a captive ring is closed')
            if ref.name in linked:
                raise name.fault(
                    f"is {ref.name}, which has links: a captive ring has none, so name it in "
                    "through instead"
                )
            if ref in held:
                raise name.fault(f"is {ref.name} again: every captive ring is held once")
            held[ref] = number
    return held


def _step_ring(
    node: RuleNode, roles: Mapping[str, str], placed: set[str], weave: EndlessWeave
) -> RingRef:
    ring = weave.ref(node)
    if ring.image != (0, 0):
        raise node.fault(
            f"is {weave.said(ring)}: a step adds a ring of this repeat, "
            f"image {weave.said_image((0, 0))}"
        )
    if roles[ring.name] != "open":
        raise node.fault(
            f'is {ring.name}, whose role is "closed": a step opens its ring, so name an open one'
        )
    if ring.name in placed:
        raise node.fault(f"is {ring.name}, which an earlier step has added: add every ring once")
    return ring


def _through(
    node: RuleNode,
    ring: RingRef,
    roles: Mapping[str, str],
    placed: set[str],
    weave: EndlessWeave,
) -> tuple[tuple[RingRef, ...], tuple[str, ...]]:
    """The rings a step goes through, each there already or carried in closed, and the sides."""
    through: dict[RingRef, str] = {}
    for item in node.items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
        ref, side = weave.way(item)
        if ref == ring:
            raise item.fault(f"is {ring.name} itself: name the rings it is put through")
        if ref in through:
            raise item.fault(f"is {weave.said(ref)} again: name every ring once")
        if ref.image == (0, 0):
            there = roles[ref.name] == "closed" or ref.name in placed
        else:
            there = weave.is_there(ref.image)
        if not there:
            raise item.fault(
                f"is {weave.said(ref)}, which is not there yet: expected a ring that is woven "
                "before this one, or a closed ring to take along"
            )
        through[ref] = side
    sides = tuple(through.values())
    if sum(map(bool, sides)) == 1:
        raise node.fault(
            f"says of one ring alone from which side {ring.name} goes through it, which is the "
            "same from either side: say it of two or more, or of none"
        )
    return tuple(through), sides if any(sides) else ()


@dataclass(frozen=True)
class _Lay:
    """What a step may say on how rings lie.

    Attributes
    ----------
    links : of the rule
    placed : the rings of this repeat that are there once the step is done
    """

    weave: EndlessWeave
    links: tuple[Link, ...]
    placed: Collection[str]

    def beside(self, node: RuleNode, ring: RingRef) -> tuple[RingRef, ...]:
        """Rings that a step's ring lies over or under."""
        refs = self._refs(node)
        for ref in refs:
            if ref == ring or self.weave.link(ring, ref) in self.links:
                raise node.fault(
                    f"has {self.weave.said(ref)}, but {ring.name} can lie over or under only what "
                    "it is not linked with"
                )
        return refs

    def overlaps(self, node: RuleNode) -> tuple[Overlap, ...]:
        """Pairs of rings that overlap, and what goes through or around that."""
        return tuple(
            self._overlap(item)
            for item in node.items(f"1 to {MOST_RINGS} [[step.overlap]] tables", 1, MOST_RINGS)
        )

    def _overlap(self, node: RuleNode) -> Overlap:
        table = node.table(OVERLAP_KEYS, optional=("through", "around"))
        if len(table) == 1:
            raise node.fault("says nothing of the two: give it through, around or both")
        of = self._refs(table["of"])
        if len(of) != 2:
            raise table["of"].wrong(OVERLAP_KEYS["of"])
        ways = {}
        for key in ("through", "around"):
            ways[key] = self._refs(table[key]) if key in table else ()
            for ref in ways[key]:
                if any(ref == ring or self.weave.link(ref, ring) not in self.links for ring in of):
                    raise table[key].fault(
                        f"has {self.weave.said(ref)}, which is not linked with both "
                        f"{self.weave.said_pair(*of)}"
                    )
        if both := [ref for ref in ways["through"] if ref in ways["around"]]:
            raise node.fault(
                f"has {self.weave.said(both[0])} through and around the same overlap: choose one"
            )
        return Overlap((of[0], of[1]), ways["through"], ways["around"])

    def _refs(self, node: RuleNode) -> tuple[RingRef, ...]:
        """Rings that are there by now, each once."""
        refs: dict[RingRef, None] = {}
        for item in node.items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
            ref = self.weave.ref(item)
            here = ref.image == (0, 0)
            if not (ref.name in self.placed if here else self.weave.is_there(ref.image)):
                raise item.fault(f"is {self.weave.said(ref)}, which is not there by this step")
            if ref in refs:
                raise item.fault(f"is {self.weave.said(ref)} again: name every ring once")
            refs[ref] = None
        return tuple(refs)


def _check_all_made(
    node: RuleNode,
    rings: tuple[RuleRing, ...],
    placed: set[str],
    weave: EndlessWeave,
    links: tuple[Link, ...],
    made: set[Link],
) -> None:
    for ring in rings:
        if ring.name not in placed:
            how = "adds" if ring.role == "open" else "carries in"
            raise node.fault(
                f"never {how} the {ring.role} ring {ring.name}: name it in one of the steps"
            )
    for n, link in enumerate(links):
        if link not in made:
            raise node.fault(
                f"never makes link[{n}] of {weave.said_pair(link.first, link.second)}: "
                "name these two in one step"
            )
