"""The figures of a check: the verdict, the limits, what was measured and how it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.answers.advice import inner_span_mm, wire_span_mm
from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.report import how_found, other_shape
from ringwright.answers.second_figures import Beside, ClosingFigures, SpanFigures, closing
from ringwright.answers.verdict import Collision, Report
from ringwright.answers.weave_figures import CommonFigures, KeptFigures, common_of, kept_of
from ringwright.base.figures import EXACT, EXACT_MM, RINGS, Figures, LeftOut, Unit, read_from
from ringwright.solver.packing_bound import packing_bound
from ringwright.weaves.rule import Image, Link, WeaveRule

# Of aspect ratios that are searched for, and of what is measured on the rings laid out.
SEARCHED, SEARCHED_WORKING, MEASURED_MM = Unit("", 7), Unit("", 4), Unit("mm", 6)
_MM = Unit("mm")


def image_figure(rule: WeaveRule, image: Image) -> int | tuple[int, ...]:
    """An image as rule files have it: one number along a chain, two in a sheet or tube."""
    return image if rule.family.image_numbers == 2 else image[0]


@dataclass(frozen=True)
class _Linked:
    rule: WeaveRule
    link: Link


_link = read_from(_Linked)


@dataclass(frozen=True)
class LinkFigures(Figures[_Linked]):
    """Two rings that run through one another."""

    rings: tuple[str, str] = _link(
        lambda linked: (linked.link.first.name, linked.link.second.name), "their names in the rule"
    )
    image: int | tuple[int, ...] = _link(
        lambda linked: image_figure(linked.rule, linked.link.second.image),
        "the repeat of the second, counted from that of the first; two numbers in a sheet or tube",
    )


@dataclass(frozen=True)
class _Collided:
    rule: WeaveRule
    found: Collision


_collision = read_from(_Collided)


@dataclass(frozen=True)
class CollisionFigures(Figures[_Collided]):
    """Two rings that are in each other's way."""

    rings: tuple[str, str] = _collision(
        lambda one: (one.found.first, one.found.second), "their names in the rule"
    )
    image: int | tuple[int, ...] = _collision(
        lambda one: image_figure(one.rule, one.found.image), "as of links"
    )
    overlap_mm: float = _collision(
        lambda one: one.found.overlap_mm, "how far they overlap at best", EXACT_MM
    )


def working_span(limits: RatioLimits) -> tuple[float, float] | None:
    """The working range; None where it is empty."""
    low, high = limits.working_range
    return None if low > high else (low, high)


def _minimum_from(report: Report) -> str:
    """Whether the smallest aspect ratio was searched for now, or is kept from a search before."""
    in_other_shape = report.known is not None and report.known.shape is not None
    kept = report.kept is not None if in_other_shape else report.tightest.kept
    return "kept" if kept else "searched"


def _buying_inner(report: Report) -> tuple[float, float] | None:
    if report.rule.has_fixed_rings:
        return None
    return inner_span_mm(report.limits, report.size.wire_mm)


def _buying_wire(report: Report) -> tuple[float, float] | None:
    if report.rule.has_fixed_rings:
        return None
    return wire_span_mm(report.limits, report.size.inner_mm)


def _main_closes(report: Report) -> SpanFigures | LeftOut | None:
    return closing(report.partners, None)


_of = read_from(Report)


@dataclass(frozen=True)
class CheckFigures(Figures[Report]):
    """What there is to say of a weave in rings of one size; its keys stay as they are."""

    weave: str = _of(lambda report: report.rule.name, "the weave's name")
    wire_mm: float = _of(lambda report: report.size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _of(lambda report: report.size.inner_mm, "inner diameter", EXACT_MM)
    aspect_ratio: float = _of(lambda report: report.size.aspect_ratio, "inner by wire", EXACT)
    verdict: str = _of(lambda report: report.verdict, "whether it can be woven, in words")
    can_be_woven: bool = _of(
        lambda report: report.can_be_woven, "whether it closes at just this size"
    )
    smallest_gap_mm: float = _of(
        lambda report: report.smallest_gap_mm,
        "between any two rings, pulled straight; below zero they overlap",
        EXACT_MM,
    )
    room_mm: float = _of(
        lambda report: report.room_mm,
        "the gap between all rings, spaced as evenly as they can be; below zero they overlap",
        EXACT_MM,
    )
    min_aspect_ratio: float = _of(
        lambda report: report.limits.minimum,
        "the smallest at which the weave exists; geometry only",
        SEARCHED,
    )
    minimum_from: str = _of(_minimum_from, "kept in the rule's file, or searched now")
    straight_min_aspect_ratio: float = _of(
        lambda report: report.as_laid, "the smallest in the shape of the rule's placement", SEARCHED
    )
    tightest_shape: str | None = _of(
        other_shape, "the shape it closes in with the tightest rings; null for the rule's own"
    )
    shape: str | None = _of(
        lambda report: report.shape, "the shape it lies in here; null for the rule's own"
    )
    lower_bound: float | None = _of(
        lambda report: packing_bound(report.rule), "proved: no smaller ratio closes it", SEARCHED
    )
    common_aspect_ratio: CommonFigures | None = _of(
        lambda report: common_of(report.rule), "makers' range; null where the rule gives none"
    )
    kept_minimums: KeptFigures | None = _of(
        lambda report: kept_of(report.kept),
        "what the rule's file keeps; null for nothing, or nothing that holds for these rings",
    )
    working_min_aspect_ratio: float | None = _of(
        lambda report: report.limits.working,
        "the smallest at which every ring can be put in; null if unknown",
        SEARCHED_WORKING,
    )
    limit_aspect_ratios: tuple[float, float] = _of(
        lambda report: report.limits.limit_range,
        "below the first no ring sold so closes it, from the second every one does",
        SEARCHED,
    )
    working_aspect_ratios: tuple[float, float] | None = _of(
        lambda report: working_span(report.limits), "the working range; null if empty", SEARCHED
    )
    working_inner_mm: tuple[float, float] | None = _of(
        _buying_inner, "inner diameters of this wire in the working range", _MM
    )
    working_wire_mm: tuple[float, float] | None = _of(
        _buying_wire, "wires of this inner diameter in the working range", _MM
    )
    repeat_mm: float | None = _of(
        lambda report: report.repeat_mm, "one repeat, pulled straight", EXACT_MM
    )
    rings_per_repeat: int = _of(lambda report: report.rule.rings_per_repeat, "in a repeat", RINGS)
    rings_per_cm: float | None = _of(
        lambda report: report.rings_per_cm, "in a centimetre of the chain", EXACT
    )
    width_mm: float | None = _of(lambda report: report.width_mm, "across it", MEASURED_MM)
    thickness_mm: float | None = _of(
        lambda report: report.thickness_mm, "from the table up", MEASURED_MM
    )
    links: tuple[LinkFigures, ...] = _of(
        lambda report: tuple(
            LinkFigures.of(_Linked(report.rule, link)) for link in report.rule.links
        ),
        "which rings run through one another",
    )
    collisions: tuple[CollisionFigures, ...] = _of(
        lambda report: tuple(
            CollisionFigures.of(_Collided(report.rule, found)) for found in report.collisions
        ),
        "which rings are in each other's way where it cannot be woven",
    )
    starts_agreed: tuple[int, int] = _of(
        lambda report: (report.tightest.agreed, report.tightest.starts),
        "how many starts of the search came to the smallest ratio, and of how many",
    )
    needs_passing_through: bool = _of(
        lambda report: report.needs_passing_through,
        "whether makers weave it of tighter rings than close in the rule's lay",
    )
    confirmed_by: tuple[str, ...] = _of(
        lambda report: report.confirmed_by, "the second looks that agreed"
    )
    second_rings: tuple[ClosingFigures, ...] = _of(
        lambda report: tuple(
            ClosingFigures.of(Beside(own, report.size, report.partners))
            for own in report.rule.sizes
        ),
        "rings of other sizes",
    )
    main_closes_inner_mm: SpanFigures | LeftOut | None = _of(
        _main_closes,
        "inner diameters of the first size that close it; null for none, or one size",
    )
    kkt_residual: float | None = _of(
        lambda report: report.settled.certificate.residual if report.settled else None,
        "the share of the pull that contact forces do not balance",
    )
    how_found: Mapping[str, str] = _of(
        lambda report: dict(how_found(report)), "where figures come from, by their keys"
    )
