"""The verdict on an aspect ratio, from the limits of a weave: one place for everything that asks.

Whatever prints a limit takes it from here too, so that no figure can contradict a verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ringwright.weaves.rule import CommonRange

CANNOT = "cannot be woven"
AT_LIMIT = "at the limit"
VERY_TIGHT = "closes but very tight"
WORKING = "in the working range"
LOOSE = "loose"

# From best to worst: a loose ring can be woven, a tight one perhaps not by hand.
ORDER = (WORKING, LOOSE, VERY_TIGHT, AT_LIMIT, CANNOT)

# A ratio is that of a limit if it is as near to it as this.
SAME = 1e-7
# Room, in wire diameters, for rules without a common range: common practice, no source.
_LITTLE_ROOM = 0.15
_MUCH_ROOM = 0.75
# In a common range or not, less room than this is no room for a hand and two pliers.
_HARDLY_ANY_ROOM = 0.03
# Round copper wire is drawn to within 1 % of its diameter (ASTM B1, section 5.4, dimensions and
# permissible variations; makers' wire of other metals is rarely better).
WIRE_OFF = 0.01
# Rings are sold by the rod they were wound on and are larger: wire springs back. From hard wire a
# ring "of 4 mm" measures 4.1 mm or more: common practice. (metalsbymark.com, "Springback or jump
# ring ahead", has 4 % for annealed silver and 14 % for spring-hard steel.)
RING_LARGER = 0.025
# The most that is told of: spring-hard steel, from the same page.
RING_LARGEST = 0.14


@dataclass(frozen=True)
class Zone:
    """Aspect ratios with one verdict; an end that is None is open."""

    verdict: str
    low: float | None
    high: float | None


@dataclass(frozen=True)
class RatioLimits:
    """What is asked of the aspect ratio of a weave's main ring.

    Attributes
    ----------
    minimum : smallest at which the weave exists, computed: geometry only
    working : smallest at which every ring can be put in, by a model; None where it was not
        computed for these rings
    common : the range its makers use, if the rule gives one
    ring_larger : the part by which rings may be larger inside than they are said to be
    """

    minimum: float
    working: float | None
    common: CommonRange | None
    ring_larger: float = RING_LARGER

    def with_springback(self, likely: float, most: float) -> RatioLimits:
        """The same for wound rings, whose springback is counted already.

        They are larger than they are said to be by no more than that is uncertain.

        Parameters
        ----------
        likely, most : the aspect ratio with the likeliest and the most springback
        """
        return replace(self, ring_larger=max(most / likely - 1.0, 0.0))

    def closes(self, ratio: float) -> bool:
        """Whether rings of just this ratio close the weave at all."""
        return ratio >= self.minimum - SAME

    @property
    def limit_range(self) -> tuple[float, float]:
        """Below the first no ring that is sold so closes it, from the second every one does.

        Between the two the answer hangs on how far wire and ring are from what they are
        called, by ``WIRE_OFF`` and ``ring_larger``.
        """
        low = self.minimum * (1.0 - WIRE_OFF) / (1.0 + self.ring_larger)
        return low, self.minimum * (1.0 + WIRE_OFF)

    @property
    def working_range(self) -> tuple[float, float]:
        """The aspect ratios, lowest and highest, whose verdict is ``WORKING``.

        It begins nowhere below the working minimum. The lowest is above the highest where
        nothing of what makers use leaves enough room.
        """
        least = max(self.working or 0.0, self._with_room(_HARDLY_ANY_ROOM))
        if self.common is None:
            return max(least, self._with_room(_LITTLE_ROOM)), self._with_room(_MUCH_ROOM)
        return max(least, self.common.low), self.common.high

    @property
    def middle(self) -> float:
        """The ratio to aim at: the middle of the working range."""
        low, high = self.working_range
        return (low + high) / 2.0

    def verdict(self, ratio: float) -> str:
        """The verdict on a ratio, which needs no settling."""
        never, always = self.limit_range
        low, high = self.working_range
        if ratio < never - SAME:
            return CANNOT
        if ratio < always - SAME:
            return AT_LIMIT
        if ratio < low - SAME:
            return VERY_TIGHT
        return LOOSE if ratio > high + SAME else WORKING

    def worst(self, ratios: Sequence[float]) -> str:
        """The worst verdict on any of these ratios."""
        return max((self.verdict(ratio) for ratio in ratios), key=ORDER.index)

    @property
    def zones(self) -> tuple[Zone, ...]:
        """All ratios by their verdict, from tight to loose, without those that are empty."""
        never, always = self.limit_range
        low, high = self.working_range
        # Where makers' range leaves hardly any room, tight goes over into loose.
        high = max(low, high)
        found = (
            Zone(CANNOT, None, never),
            Zone(AT_LIMIT, never, always),
            Zone(VERY_TIGHT, always, low),
            Zone(WORKING, low, high),
            Zone(LOOSE, high, None),
        )
        return tuple(one for one in found if one.low is None or one.low != one.high)

    def _with_room(self, wires: float) -> float:
        """The ratio that leaves so many wires of room between all rings."""
        return (1.0 + wires) * (self.minimum + 1.0) - 1.0
