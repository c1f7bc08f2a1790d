"""The figures of rings of a second size: what they are beside a main ring, and whose choice."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.answers.partners import InnerSpan, Partner
from ringwright.answers.report_second import inwards, rings_of
from ringwright.answers.second import ring_of
from ringwright.base.figures import (
    EXACT_MM,
    LEFT_OUT,
    WIRE_MM,
    Figures,
    LeftOut,
    Said,
    Unit,
    read_from,
    with_unit,
)
from ringwright.base.sizes import RingSize
from ringwright.base.wording import spanned
from ringwright.weaves.rule import RuleSize, WeaveRule

_MM = Unit("mm")


@dataclass(frozen=True)
class Beside:
    """Rings of a second size beside main rings.

    Attributes
    ----------
    partners : which rings of one size close with those of the others; None where not asked
    """

    own: RuleSize
    main: RingSize
    partners: tuple[Partner, ...] | None = None

    @property
    def ring(self) -> RingSize:
        """The ring that the rule's size is beside the main one."""
        return ring_of(self.own, self.main)


_second = read_from(Beside)


@dataclass(frozen=True)
class SecondFigures(Figures[Beside]):
    """Rings of a second size."""

    size: str = _second(lambda beside: beside.own.name, "the size's name")
    wire_mm: float = _second(lambda beside: beside.ring.wire_mm, "wire diameter", WIRE_MM)
    inner_mm: float = _second(lambda beside: beside.ring.inner_mm, "inner diameter", EXACT_MM)
    own: bool = _second(
        lambda beside: beside.own.instead_of is not None,
        "whether the maker named them in place of the rule's",
    )
    whose: str = _second(
        lambda beside: _whose(beside.own), "whether they are the maker's own or the rule's"
    )


def _whose(size: RuleSize) -> str:
    if size.instead_of is not None:
        return "your own"
    return "fixed by the rule" if size.is_fixed else "in the rule's proportion"


def second_words(ring: SecondFigures | OwnRingFigures, said: Said = with_unit) -> str:
    """Rings of a second size by their name, with their size."""
    return (
        f"{ring.size}: {said(ring.wire_mm, WIRE_MM)} wire, {said(ring.inner_mm, EXACT_MM)} inside"
    )


def second_figures(rule: WeaveRule, main: RingSize) -> tuple[SecondFigures, ...]:
    """The rings of every size besides the main one."""
    return tuple(SecondFigures.of(Beside(own, main)) for own in rule.sizes)


def said_rings(rule: WeaveRule, main: RingSize) -> tuple[str, ...]:
    """The rings of every size besides the main one, each with its name, in words."""
    return tuple(map(second_words, second_figures(rule, main)))


_span = read_from(InnerSpan)


@dataclass(frozen=True)
class SpanFigures(Figures[InnerSpan]):
    """Inner diameters with which the weave closes for certain, to 0.01 mm inwards."""

    smallest: float = _span(lambda span: inwards(span)[0], "the smallest", _MM)
    largest: float = _span(lambda span: inwards(span)[1], "the largest", _MM)
    larger_not_tried: bool = _span(
        lambda span: span.is_open, "whether larger ones may close it too: none was tried"
    )


def closing(partners: tuple[Partner, ...] | None, name: str | None) -> SpanFigures | LeftOut | None:
    """Which rings of one size close the weave; left out where that was not asked.

    Parameters
    ----------
    name : of the size; None for the main ring
    """
    if partners is None:
        return LEFT_OUT
    span = {one.name: one.span for one in partners}.get(name)
    return None if span is None else SpanFigures.of(span)


def closing_words(
    name: str | None, wire_mm: float, span: SpanFigures | LeftOut | None, said: Said
) -> str:
    """Which rings of a size close the weave; nothing where that was not asked.

    Parameters
    ----------
    name : of the size; None for the main ring
    """
    if isinstance(span, LeftOut):
        return ""
    rings = rings_of(name, said(wire_mm, WIRE_MM))
    if span is None:
        return f"no {rings}"
    smallest, largest = said(span.smallest, EXACT_MM), said(span.largest, EXACT_MM)
    if span.larger_not_tried:
        return f"{rings} {smallest} inside or more"
    return f"{rings} {spanned(smallest, largest)} inside"


@dataclass(frozen=True)
class ClosingFigures(SecondFigures):
    """Rings of a second size, and which would do in their place."""

    closes_inner_mm: SpanFigures | LeftOut | None = _second(
        lambda beside: closing(beside.partners, beside.own.name),
        "inner diameters of this wire that close the weave; null for none",
    )


_own = read_from(RuleSize)


@dataclass(frozen=True)
class OwnRingFigures(Figures[RuleSize]):
    """Rings of a second size that the maker named."""

    size: str = _own(lambda own: own.name, "the size's name")
    wire_mm: float | None = _own(lambda own: own.wire_mm, "wire diameter", _MM)
    inner_mm: float | None = _own(lambda own: own.inner_mm, "inner diameter", _MM)


def own_figures(rule: WeaveRule) -> tuple[OwnRingFigures, ...]:
    """The rings of other sizes that the maker named in place of the rule's."""
    named = [one for one in rule.sizes if one.instead_of and one.is_fixed]
    return tuple(map(OwnRingFigures.of, named))
