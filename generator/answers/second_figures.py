"""The figures of rings of a second size: what they are beside a main ring, and whose choice."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.answers.second import ring_of
from ringwright.base.figures import EXACT_MM, Figures, read_from
from ringwright.base.sizes import RingSize
from ringwright.weaves.rule import RuleSize, WeaveRule


@dataclass(frozen=True)
class Beside:
    """Rings of a second size beside main rings."""

    own: RuleSize
    main: RingSize

    @property
    def ring(self) -> RingSize:
        """The ring that the rule's size is beside the main one."""
        return ring_of(self.own, self.main)


_second = read_from(Beside)


@dataclass(frozen=True)
class SecondFigures(Figures[Beside]):
    """Rings of a second size."""

    size: str = _second(lambda beside: beside.own.name, "the size's name")
    wire_mm: float = _second(lambda beside: beside.ring.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _second(lambda beside: beside.ring.inner_mm, "inner diameter", EXACT_MM)
    own: bool = _second(
        lambda beside: beside.own.instead_of is not None,
        "whether the maker named them in place of the rule's",
    )


def second_figures(rule: WeaveRule, main: RingSize) -> tuple[SecondFigures, ...]:
    """The rings of every size besides the main one."""
    return tuple(SecondFigures.of(Beside(own, main)) for own in rule.sizes)


_own = read_from(RuleSize)


@dataclass(frozen=True)
class OwnRingFigures(Figures[RuleSize]):
    """Rings of a second size that the maker named."""

    size: str = _own(lambda own: own.name, "the size's name")
    wire_mm: float | None = _own(lambda own: own.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float | None = _own(lambda own: own.inner_mm, "inner diameter", EXACT_MM)


def own_figures(rule: WeaveRule) -> tuple[OwnRingFigures, ...]:
    """The rings of other sizes that the maker named in place of the rule's."""
    named = [one for one in rule.sizes if one.instead_of and one.is_fixed]
    return tuple(map(OwnRingFigures.of, named))
