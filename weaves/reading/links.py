"""The links of a rule file, and whether they hold the endless weave together."""

from __future__ import annotations

import math
from collections.abc import Collection

from ringwright.weaves.reading.endless import EndlessWeave
from ringwright.weaves.reading.keys import (
    FURTHEST_IMAGE,
    LINK_KEYS,
    MOST_LINKS,
    MOST_RINGS,
    OPTIONAL_IN_STEP,
    STEP_KEYS,
    STEPS_WANTED,
)
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.rule import Image, Link, RingRef


def read_links(node: RuleNode, weave: EndlessWeave) -> tuple[Link, ...]:
    """The links that a rule lists, each once."""
    seen: dict[Link, str] = {}
    for item in node.items(f"a list of 1 to {MOST_LINKS} [[link]] tables", 1, MOST_LINKS):
        rings = item.table(LINK_KEYS)["rings"]
        one, other = (weave.ref(ring) for ring in rings.items(LINK_KEYS["rings"], 2, 2))
        link = read_link(rings, weave, one, other)
        if link in seen:
            raise rings.fault(
                f"is {weave.said_pair(one, other)}, the same link as {seen[link]}: "
                "give every link once"
            )
        seen[link] = item.key
    return tuple(seen)


def read_link(node: RuleNode, weave: EndlessWeave, one: RingRef, other: RingRef) -> Link:
    """Two rings linked, unless they are one ring or too far apart."""
    if one == other:
        raise node.fault(f"is {weave.said(one)} twice: a ring cannot be linked to itself")
    link = weave.link(one, other)
    distance = tuple(map(abs, link.second.image))
    if max(distance) > FURTHEST_IMAGE:
        each = " each way" if weave.family.image_numbers == 2 else ""
        raise node.fault(
            f"is {weave.said_pair(one, other)}, {weave.said_image((distance[0], distance[1]))} "
            f"repeats apart: expected at most {FURTHEST_IMAGE}{each}"
        )
    return link


def links_of_steps(node: RuleNode, weave: EndlessWeave) -> tuple[Link, ...]:
    """The links that the steps make, for a rule that does not list them."""
    links: dict[Link, None] = {}
    for item in step_items(node):
        table = item.table(STEP_KEYS, optional=OPTIONAL_IN_STEP)
        ring = weave.ref(table["ring"])
        for through in table["through"].items(f"a list of 1 to {MOST_RINGS} rings", 1, MOST_RINGS):
            links[read_link(through, weave, ring, weave.way(through)[0])] = None
    if len(links) > MOST_LINKS:
        raise node.fault(f"makes {len(links)} links, but a rule has at most {MOST_LINKS}")
    return tuple(links)


def check_joined(
    node: RuleNode, weave: EndlessWeave, links: tuple[Link, ...], held: Collection[RingRef]
) -> None:
    """Refuse a rule whose endless weave would come apart; captive rings stay with their holder.

    Walk from the first ring through all links, keeping count of the image every
    ring was reached in. A link that closes a loop then says from which image to
    which the loop leads; the weave is one piece if those steps lead to every image.
    """
    linked = {ref.name for link in links for ref in (link.first, link.second)}
    woven = [name for name in weave.order if RingRef(name) not in held]
    for name in woven:
        if name not in linked:
            raise node.fault(
                f"has no link for ring {name}: every ring needs at least one, or a step holding it"
            )
    root = woven[0]
    reached = {root: (0, 0)}
    edge = [root]
    for name in edge:  # grows while it is walked
        for there in weave.neighbours(RingRef(name, reached[name]), links):
            if there.name not in reached:
                reached[there.name] = there.image
                edge.append(there.name)
    for name in woven:
        if name not in reached:
            raise node.fault(
                f"joins ring {name} to some rings but never to {root}: the weave would come apart"
            )
    loops = []
    for link in links:
        (k1, k2), (end1, end2) = reached[link.first.name], reached[link.second.name]
        loops.append((k1 + link.second.image[0] - end1, k2 + link.second.image[1] - end2))
    _check_every_image_joined(node, weave, loops)


def _check_every_image_joined(node: RuleNode, weave: EndlessWeave, loops: list[Image]) -> None:
    """Refuse links whose loops do not lead from one image to all others.

    The greatest common divisor of all 2 x 2 determinants of some steps is the number
    of sets that they leave the grid of images in (0 for endlessly many); steps that
    lead to the same place, as once around a tube, are counted in.
    """
    nowhere = [] if weave.family.has_rows else [(0, weave.around)]
    nowhere += [] if weave.family.repeats else [(1, 0)]
    steps = sorted({*loops, *nowhere})
    parts = math.gcd(*(a * d - b * c for n, (a, b) in enumerate(steps) for c, d in steps[:n]))
    if parts == 1:
        return
    if weave.family.image_numbers < 2:
        lacking = "joins no repeat to the next"
        if parts:
            lacking = f"joins only repeats that are {parts} apart"
    elif parts:
        lacking = f"leaves the repeats in {parts} sets that no link joins"
    else:
        lacking = "does not join the repeats both along and across"
    raise node.fault(f"{lacking}: the weave would come apart")


def step_items(node: RuleNode) -> list[RuleNode]:
    """The steps as the file has them."""
    return node.items(STEPS_WANTED, 1, MOST_RINGS)
