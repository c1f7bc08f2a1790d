"""The figures of an assembly sheet: its rings, its steps in words and links, its pictures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ringwright.answers.second_figures import SecondFigures, second_figures
from ringwright.answers.verdict import Report
from ringwright.base.figures import LEFT_OUT, Figures, LeftOut, Unit, read_from
from ringwright.colour.role_looks import ROLE_LOOKS, RoleLook
from ringwright.movement.order import woven
from ringwright.outputs.assembly_sheet import words
from ringwright.outputs.assembly_sheet.come_in import ComesIn
from ringwright.piece.half_made import HalfMade
from ringwright.weaves.rule import RingRef, WeaveRule

_MM, _FOUND_MM = Unit("mm"), Unit("mm", 4)
T = TypeVar("T")


def step_numbers(lines: Sequence[words.Line]) -> list[int]:
    """The steps' numbers from 1; the start is 0."""
    first = 0 if lines[0].ring is None else 1
    return list(range(first, first + len(lines)))


def whole_numbers(by_role: Mapping[str, str] | None) -> dict[int, str] | None:
    """Roles by their numbers as numbers."""
    return (
        None
        if by_role is None
        else {int(name): role for name, role in by_role.items() if name.isdigit()}
    )


def looks_of(by_role: Mapping[str, str] | None) -> tuple[RoleLook, ...]:
    """How rings look of the roles that there are."""
    there = () if by_role is None else by_role.values()
    return tuple(look for role, look in ROLE_LOOKS.items() if role in there)


def way_words(way: ComesIn | None) -> str:
    """How the ring of a step comes in, in a sentence."""
    if way is None:
        return f"{words.NO_WAY_IN} {words.APPEARS}"
    return words.way_in(way.gap_mm, way.given_way_mm, way.effort)


def _or_left_out(value: T | None) -> T | LeftOut:
    return LEFT_OUT if value is None else value


@dataclass(frozen=True)
class _Numbered:
    rule: WeaveRule
    ref: RingRef
    number: int


_ring = read_from(_Numbered)


@dataclass(frozen=True)
class SheetRingFigures(Figures[_Numbered]):
    """One ring of the sheet."""

    number: int = _ring(lambda one: one.number, "as words and pictures have it")
    ring: str = _ring(lambda one: one.ref.name, "its name in the rule")
    image: tuple[int, int] = _ring(lambda one: one.ref.image, "which repeat, and row, it is of")
    opened: bool = _ring(
        lambda one: one.ref in {put.step.ring for put in woven(one.rule)},
        "whether it is put in open",
    )
    role_in_rule: str = _ring(
        lambda one: {ring.name: ring.role for ring in one.rule.rings}[one.ref.name],
        "open or closed in a long piece",
    )


@dataclass(frozen=True)
class _Lies:
    """One thing that the words of a step say on how rings lie."""

    ring: int | None = None
    goes_through: int | None = None
    side: str | None = None
    remark: words.Remark | None = None

    def others(self, kind: str) -> tuple[int, ...] | LeftOut:
        """The rings that others lie so to."""
        remark = self.remark
        return LEFT_OUT if remark is None or remark.kind != kind else remark.others


def _lay(text: str) -> Iterator[_Lies]:
    for told in words.read_back(text):
        for other, side in zip(told.through, told.sides, strict=True):
            if side:
                yield _Lies(told.ring, other, side)
    for remark in words.read_remarks(text):
        yield _Lies(remark=remark)


_lies = read_from(_Lies)


@dataclass(frozen=True)
class LayFigures(Figures[_Lies]):
    """How some rings lie: how one goes through another, or how several lie to others."""

    ring: int | LeftOut = _lies(lambda one: _or_left_out(one.ring), "that is put in")
    goes_through: int | LeftOut = _lies(
        lambda one: _or_left_out(one.goes_through), "the ring that it goes through"
    )
    side: str | LeftOut = _lies(
        lambda one: _or_left_out(one.side), "from above or from below", key="from"
    )
    rings: tuple[int, ...] | LeftOut = _lies(
        lambda one: one.remark.rings if one.remark else LEFT_OUT, "of which something is said"
    )
    lie_over: tuple[int, ...] | LeftOut = _lies(lambda one: one.others("over"), "these rings")
    lie_under: tuple[int, ...] | LeftOut = _lies(lambda one: one.others("under"), "these rings")
    go_through_the_overlap_of: tuple[int, ...] | LeftOut = _lies(
        lambda one: one.others("through"), "these rings"
    )
    go_around_the_overlap_of: tuple[int, ...] | LeftOut = _lies(
        lambda one: one.others("around"), "these rings"
    )


@dataclass(frozen=True)
class _Way:
    way: ComesIn | None


_way = read_from(_Way)
_found_way = _way.part(lambda one: one.way, LEFT_OUT)


@dataclass(frozen=True)
class WayInFigures(Figures[_Way]):
    """How the ring of a step comes in in the animation."""

    found: bool = _way(lambda one: one.way is not None, "whether a way in was found")
    said: str = _way(lambda one: way_words(one.way), "the same in a sentence")
    opened_mm: float | LeftOut = _found_way(
        lambda way: way.gap_mm, "room between its ends", _FOUND_MM
    )
    neighbours_give_way_mm: float | LeftOut = _found_way(
        lambda way: way.given_way_mm,
        "the farthest that another ring is moved",
        _FOUND_MM,
    )
    effort: str | LeftOut = _found_way(lambda way: way.effort, "how hard it is")


@dataclass(frozen=True)
class Stepped:
    """A step of a sheet, in words and drawn.

    Attributes
    ----------
    by_role : the rings' roles by their numbers, where they look by role
    as_drawn : what the picture changes for it to be seen
    way : None where none was found, and for the start
    """

    rule: WeaveRule
    number: int
    line: words.Line
    by_role: Mapping[str, str] | None
    as_drawn: str
    way: ComesIn | None


_step = read_from(Stepped)


@dataclass(frozen=True)
class SheetStepFigures(Figures[Stepped]):
    """One step of the sheet."""

    step: int = _step(lambda one: one.number, "counted from 1; the start is 0")
    part: str = _step(
        lambda one: words.part_title(one.rule, one.line.part), "the heading it stands under"
    )
    text: str = _step(lambda one: one.line.text, "what to do")
    ring: int | None = _step(lambda one: one.line.ring, "that is put in; null for the start")
    through: tuple[int, ...] = _step(lambda one: one.line.through, "the rings that it goes through")
    picked_up: tuple[int, ...] = _step(
        lambda one: one.line.picked_up, "those of them that come along closed"
    )
    captive: tuple[int, ...] = _step(
        lambda one: one.line.captive, "closed rings laid in between, that no ring goes through"
    )
    links: tuple[tuple[int, int], ...] = _step(
        lambda one: tuple(
            (told.ring, other) for told in words.read_back(one.line.text) for other in told.through
        ),
        "which rings are linked, read from the words",
    )
    lay: tuple[LayFigures, ...] = _step(
        lambda one: tuple(map(LayFigures.of, _lay(one.line.text))),
        "how rings lie, read from the words",
    )
    alt: str = _step(
        lambda one: words.alt_text(one.rule, one.line, whole_numbers(one.by_role)),
        "the picture in words",
    )
    as_drawn: str = _step(lambda one: one.as_drawn, "what the picture changes to be clear")
    way_in: WayInFigures | None = _step(
        lambda one: None if one.line.ring is None else WayInFigures.of(_Way(one.way)),
        "how the ring comes in in the animation; null for the start",
    )


_look = read_from(RoleLook)


@dataclass(frozen=True)
class LookFigures(Figures[RoleLook]):
    """How rings of one role look."""

    role: str = _look(lambda look: look.role, "as rules have it")
    name: str = _look(lambda look: look.name, "of such rings")
    colour: str = _look(lambda look: look.hex, "as #RRGGBB")
    colour_name: str = _look(lambda look: look.look.metal, "the metal it looks like")
    shape: str = _look(lambda look: look.shape, "what is felt and seen on the wire")
    when: str = _look(lambda look: look.when, "what the role means to who weaves")


@dataclass(frozen=True)
class MorePicture:
    """A picture besides those of the steps, in words."""

    picture: str
    title: str
    text: str
    alt: str
    as_drawn: str


_more = read_from(MorePicture)


@dataclass(frozen=True)
class MorePictureFigures(Figures[MorePicture]):
    """A picture besides those of the steps."""

    picture: str = _more(lambda more: more.picture, "its name")
    title: str = _more(lambda more: more.title, "its heading")
    text: str = _more(lambda more: more.text, "what stands beside it")
    alt: str = _more(lambda more: more.alt, "the picture in words")
    as_drawn: str = _more(lambda more: more.as_drawn, "what the picture changes to be clear")


@dataclass(frozen=True, eq=False)
class SheetParts:
    """A sheet worked out.

    Attributes
    ----------
    by_role : the rings' roles by their numbers, where they look by role
    steps : in their order
    more : pictures besides those of the steps
    clasp_shown : whether the clasp's step is one of them
    files : paths by kind
    """

    report: Report
    states: Sequence[HalfMade]
    by_role: Mapping[str, str] | None
    steps: Sequence[Stepped]
    more: Sequence[MorePicture]
    clasp_shown: bool
    files: Mapping[str, str]


_of = read_from(SheetParts)


@dataclass(frozen=True)
class SheetFigures(Figures[SheetParts]):
    """An assembly sheet."""

    weave: str = _of(lambda sheet: sheet.report.rule.name, "the weave's name")
    wire_mm: float = _of(lambda sheet: sheet.report.size.wire_mm, "wire diameter", _MM)
    inner_mm: float = _of(lambda sheet: sheet.report.size.inner_mm, "inner diameter", _MM)
    second_rings: tuple[SecondFigures, ...] = _of(
        lambda sheet: second_figures(sheet.report.rule, sheet.report.size), "rings of other sizes"
    )
    rings: tuple[SheetRingFigures, ...] = _of(
        lambda sheet: tuple(
            SheetRingFigures.of(_Numbered(sheet.report.rule, ref, number))
            for ref, number in words.numbered(sheet.report.rule).items()
        ),
        "the rings that are shown",
    )
    steps: tuple[SheetStepFigures, ...] = _of(
        lambda sheet: tuple(map(SheetStepFigures.of, sheet.steps)), "in their order"
    )
    legend: tuple[LookFigures, ...] = _of(
        lambda sheet: tuple(map(LookFigures.of, looks_of(sheet.by_role))),
        "how rings look by role; empty where they look by step",
    )
    at_rest: bool = _of(
        lambda sheet: all(state.at_rest for state in sheet.states), "whether every picture rests"
    )
    repeating: str = _of(lambda sheet: words.repeating(sheet.report.rule), "how it goes on")
    finishing: str = _of(
        lambda sheet: words.finishing(sheet.report.rule, sheet.clasp_shown), "how it ends"
    )
    cautions: tuple[str, ...] = _of(lambda _: tuple(words.CAUTIONS), "what to take care of")
    files: Mapping[str, str] = _of(lambda sheet: sheet.files, "the files written, by kind")
    more_pictures: tuple[MorePictureFigures, ...] = _of(
        lambda sheet: tuple(map(MorePictureFigures.of, sheet.more)),
        "pictures besides those of the steps",
    )
