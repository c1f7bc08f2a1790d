"""The rings of the endless weave: how a rule file names them, and what comes before what."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ringwright.weaves.family import Family
from ringwright.weaves.reading.keys import FURTHEST_IMAGE, REF_KEYS, WAY_KEYS
from ringwright.weaves.reading.node import RuleNode
from ringwright.weaves.rule import SIDES, Image, Link, RingRef, wrapped


@dataclass(frozen=True)
class EndlessWeave:
    """The rings of the endless weave: how a rule names them and what comes before what."""

    family: Family
    around: int
    order: Mapping[str, int]

    def way(self, node: RuleNode) -> tuple[RingRef, str]:
        """A ring to go through, and from which side where that is said."""
        ref = self.ref(node, WAY_KEYS)
        if isinstance(node.value, dict) and "from" in node.value:
            table = node.table(WAY_KEYS, optional=("image",))
            return ref, table["from"].one_of(SIDES)
        return ref, ""

    def ref(self, node: RuleNode, keys: Mapping[str, str] = REF_KEYS) -> RingRef:
        """A ring, written as a table with its image or, in this repeat, as its bare name."""
        name_node, image = node, (0, 0)
        if isinstance(node.value, dict):
            table = node.table(keys, optional=("image", "from"))
            name_node = table["name"]
            if "image" in table:
                image = self._image(table["image"])
        elif not isinstance(node.value, str):
            raise node.wrong(self._a_ref())
        name = name_node.value
        if not isinstance(name, str):
            raise name_node.wrong("a ring name")
        if name not in self.order:
            raise name_node.wrong(f"one of the rings {', '.join(self.order)}")
        return RingRef(name, image)

    def _a_ref(self) -> str:
        if not self.family.repeats:
            return "a ring name"
        image = "[-1, 0]" if self.family.image_numbers == 2 else "-1"
        return f'a ring name, or {{ name = "{next(iter(self.order))}", image = {image} }}'

    def _image(self, node: RuleNode) -> Image:
        if not self.family.repeats:
            raise node.fault(
                f'is not for the family "{self.family.name}", which has no repeats: leave it out'
            )
        if self.family.image_numbers == 1:
            return (node.whole(-FURTHEST_IMAGE, FURTHEST_IMAGE), 0)
        first, second = node.items("a list of two whole numbers, such as [-1, 0]", 2, 2)
        k1 = first.whole(-FURTHEST_IMAGE, FURTHEST_IMAGE)
        # Round a tube, the unit before may also be written as the one around - 1 further on.
        k2_most = max(FURTHEST_IMAGE, self.around - 1)
        k1, k2 = self.normal((k1, second.whole(-k2_most, k2_most)))
        if abs(k2) > FURTHEST_IMAGE:
            raise second.wrong(
                f"one at most {FURTHEST_IMAGE} units away around the tube of {self.around}"
            )
        return (k1, k2)

    def normal(self, image: Image) -> Image:
        """The one way to write an image that may be counted either way around a tube."""
        return wrapped(image, self.around) if self.family.closes_round else image

    def apart(self, ref: RingRef, other: RingRef) -> Image:
        """The image that ``other`` is in as seen from the repeat of ``ref``."""
        (k1, k2), (other_k1, other_k2) = ref.image, other.image
        return self.normal((other_k1 - k1, other_k2 - k2))

    def link(self, one: RingRef, other: RingRef) -> Link:
        """The one way to write a pair of rings and all its translates.

        The ring that comes first in the file is first and in image (0, 0); for two
        images of one ring it is the one from which the other is further on.
        """
        first, second = sorted((one, other), key=lambda ref: self.order[ref.name])
        ahead = self.apart(first, second)
        if one.name == other.name:
            ahead = max(ahead, self.apart(second, first), key=_weaving_order)
        return Link(RingRef(first.name), RingRef(second.name, ahead))

    def neighbours(self, ref: RingRef, links: Iterable[Link]) -> Iterable[RingRef]:
        """The rings that a ring is linked with."""
        for link in links:
            for here, there in ((link.first, link.second), (link.second, link.first)):
                if here.name == ref.name:
                    k1, k2 = self.apart(here, there)
                    image = self.normal((ref.image[0] + k1, ref.image[1] + k2))
                    yield RingRef(there.name, image)

    def is_before(self, image: Image) -> bool:
        """Whether an image lies before everything that is woven from the first repeat on."""
        return self.family.is_before(image)

    def is_there(self, image: Image) -> bool:
        """Whether another image may be there already when this repeat is woven.

        Round a tube any may be: at the latest when the last unit closes it.
        """
        return self.family.closes_round or self.is_before(image)

    def said(self, ref: RingRef) -> str:
        """A ring as one would say it."""
        if ref.image == (0, 0):
            return ref.name
        return f"{ref.name} (image {self.said_image(ref.image)})"

    def said_image(self, image: Image) -> str:
        """An image as the rule file writes it."""
        return f"[{image[0]}, {image[1]}]" if self.family.image_numbers == 2 else str(image[0])

    def said_pair(self, one: RingRef, other: RingRef) -> str:
        """Two rings as one would say them."""
        return f"{self.said(one)} and {self.said(other)}"


def _weaving_order(image: Image) -> tuple[int, int]:
    return (image[1], image[0])
