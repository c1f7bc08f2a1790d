"""The figures of a check: the verdict, the limits, what was measured and how it was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.answers.advice import inner_span_mm, pairs_in_the_way, wire_span_mm
from ringwright.answers.how_found import how_found
from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.second_figures import (
    Beside,
    ClosingFigures,
    SpanFigures,
    closing,
    closing_words,
    own_figures,
    second_words,
)
from ringwright.answers.verdict import Collision, Report
from ringwright.answers.weave_figures import (
    CommonFigures,
    KeptFigures,
    common_of,
    common_text,
    kept_of,
)
from ringwright.base.figures import (
    EXACT_MM,
    PER_CM,
    RINGS,
    WIRE_MM,
    Figures,
    LeftOut,
    Said,
    Unit,
    head_of,
    read_from,
    with_unit,
)
from ringwright.base.wording import counted
from ringwright.solver.packing_bound import packing_bound
from ringwright.solver.shapes import said as said_shape
from ringwright.weaves.rule import CommonRange, Image, Link, WeaveRule

# Of aspect ratios that are searched for, and of what is measured on the rings laid out.
SEARCHED, SEARCHED_WORKING = Unit("", 7, shown=3), Unit("", 4, shown=3)
MEASURED_MM = Unit("mm", 6, shown=2)
_SPAN, _SHOWN, _SHOWN_MM = Unit("", 7, shown=2), Unit("", 9, shown=3), Unit("mm", 9, shown=3)
_MM = Unit("mm")
_KEPT = "kept in the rule's file"


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


def _other_shape(report: Report) -> str | None:
    """The shape in which the weave closes in the tightest rings, if that is not the rule's own."""
    if report.shape is not None or report.known is None or report.known.shape is None:
        return report.shape
    return said_shape(report.rule, report.known.shape)


# --- in words -------------------------------------------------------------------------


def working_words(
    span: tuple[float, float] | None, common: CommonRange | CommonFigures | None
) -> str:
    """The aspect ratios in the working range."""
    if span is None:
        return f"none (makers' range ends at {common.high:g})" if common else "none"
    return " to ".join(map(_SPAN.text, span))


def is_next(image: int | tuple[int, ...]) -> bool:
    """Whether a ring stands in another repeat than the one it is counted from."""
    return any(image) if isinstance(image, tuple) else image != 0


def _alike(figures: CheckFigures, _: Said = with_unit) -> str:
    """What a ratio is for in a weave of more sizes than one."""
    return ", with rings of all sizes in this proportion" if figures.second_rings else ""


def _smallest(figures: CheckFigures, said: Said) -> str:
    found = said(figures.min_aspect_ratio, SEARCHED)
    if figures.tightest_shape is None:
        return found
    as_laid = said(figures.straight_min_aspect_ratio, SEARCHED)
    return f"{found} {figures.tightest_shape}, {as_laid} as laid here"


def _smallest_from(figures: CheckFigures, said: Said) -> str:
    bound = figures.lower_bound
    proved = "" if bound is None else f"; proved: not below {said(bound, SEARCHED)}"
    return f" (geometry{proved}){_alike(figures)}"


def _working(figures: CheckFigures, said: Said) -> str:
    working = figures.working_min_aspect_ratio
    return "none known" if working is None else said(working, SEARCHED_WORKING)


def _working_from(figures: CheckFigures, _: Said) -> str:
    working, kept = figures.working_min_aspect_ratio, figures.kept_minimums
    if working is None:
        return " for these rings ('ringwright limits' looks for one)"
    is_kept = kept is not None and working == SEARCHED_WORKING.rounded(
        kept.working_min_aspect_ratio
    )
    return f" ({_KEPT if is_kept else 'computed now'})"


def _range(figures: CheckFigures, _: Said) -> str:
    return working_words(figures.working_aspect_ratios, figures.common_aspect_ratio)


def _room(figures: CheckFigures, said: Said) -> str:
    room = said(abs(figures.room_mm), _SHOWN_MM)
    if figures.room_mm < 0.0:
        pairs = [(*pair.rings, is_next(pair.image)) for pair in figures.collisions]
        return f"none: {pairs_in_the_way(pairs, 1)} overlap by {room}"
    return f"{room} ({figures.room_mm / figures.wire_mm:.2f} of a wire)"


def _gap(figures: CheckFigures, said: Said) -> str:
    gap_mm = figures.smallest_gap_mm
    return said(abs(gap_mm) if figures.can_be_woven else gap_mm, _SHOWN_MM)


def _gap_why(figures: CheckFigures, _: Said) -> str:
    return " (pulled straight, loaded rings touch)" if figures.can_be_woven else ""


def _repeat(figures: CheckFigures, said: Said) -> str:
    if not figures.can_be_woven:
        return ""
    rings = counted(figures.rings_per_repeat, "ring")
    if figures.repeat_mm is None or figures.rings_per_cm is None:
        return f"{rings}, a piece without repeats"
    return f"{said(figures.repeat_mm, _SHOWN_MM)}, {rings} ({said(figures.rings_per_cm, PER_CM)})"


def _seconds(figures: CheckFigures, said: Said) -> list[str]:
    return [
        f"{second_words(ring, said)} ({ring.whose}; the plan uses these)"
        for ring in figures.second_rings
    ]


def _closes(figures: CheckFigures, said: Said) -> list[str]:
    if not figures.second_rings:
        return []
    first = figures.main_closes_inner_mm
    return [
        closing_words(None, figures.wire_mm, first, said),
        *(
            closing_words(ring.size, ring.wire_mm, ring.closes_inner_mm, said)
            for ring in figures.second_rings
        ),
    ]


_of = read_from(Report)


@dataclass(frozen=True)
class CheckFigures(Figures[Report]):
    """What there is to say of a weave in rings of one size; its keys stay as they are."""

    weave: str = _of(lambda report: report.rule.name, "the weave's name")
    wire_mm: float = _of(lambda report: report.size.wire_mm, "wire diameter", WIRE_MM, head="wire")
    inner_mm: float = _of(
        lambda report: report.size.inner_mm, "inner diameter", EXACT_MM, head="inner diameter"
    )
    aspect_ratio: float = _of(
        lambda report: report.size.aspect_ratio, "inner by wire", _SHOWN, head="aspect ratio"
    )
    verdict: str = _of(lambda report: report.verdict, "whether it can be woven, in words")
    can_be_woven: bool = _of(
        lambda report: report.can_be_woven, "whether it closes at just this size"
    )
    second_rings: tuple[ClosingFigures, ...] = _of(
        lambda report: tuple(
            ClosingFigures.of(Beside(own, report.size, report.partners))
            for own in report.rule.sizes
        ),
        "rings of other sizes",
        head="second rings",
        words=_seconds,
    )
    main_closes_inner_mm: SpanFigures | LeftOut | None = _of(
        _main_closes,
        "inner diameters of the first size that close it; null for none, or one size",
        head="closes with",
        words=_closes,
    )
    min_aspect_ratio: float = _of(
        lambda report: report.limits.minimum,
        "the smallest at which the weave exists; geometry only",
        SEARCHED,
        head="smallest aspect ratio",
        words=_smallest,
        more=_smallest_from,
    )
    minimum_from: str = _of(_minimum_from, "kept in the rule's file, or searched now")
    straight_min_aspect_ratio: float = _of(
        lambda report: report.as_laid, "the smallest in the shape of the rule's placement", SEARCHED
    )
    tightest_shape: str | None = _of(
        _other_shape, "the shape it closes in with the tightest rings; null for the rule's own"
    )
    shape: str | None = _of(
        lambda report: report.shape, "the shape it lies in here; null for the rule's own"
    )
    lower_bound: float | None = _of(
        lambda report: packing_bound(report.rule), "proved: no smaller ratio closes it", SEARCHED
    )
    kept_minimums: KeptFigures | None = _of(
        lambda report: kept_of(report.kept),
        "what the rule's file keeps; null for nothing, or nothing that holds for these rings",
    )
    working_min_aspect_ratio: float | None = _of(
        lambda report: report.limits.working,
        "the smallest at which every ring can be put in; null if unknown",
        SEARCHED_WORKING,
        head="working minimum",
        words=_working,
        more=_working_from,
    )
    common_aspect_ratio: CommonFigures | None = _of(
        lambda report: common_of(report.rule),
        "makers' range; null where the rule gives none",
        head="common aspect ratio",
        words=lambda figures, _: common_text(figures.common_aspect_ratio),
    )
    limit_aspect_ratios: tuple[float, float] = _of(
        lambda report: report.limits.limit_range,
        "below the first no ring sold so closes it, from the second every one does",
        SEARCHED,
    )
    working_aspect_ratios: tuple[float, float] | None = _of(
        lambda report: working_span(report.limits),
        "the working range; null if empty",
        _SPAN,
        head="working range",
        words=_range,
        more=_alike,
    )
    working_inner_mm: tuple[float, float] | None = _of(
        _buying_inner, "inner diameters of this wire in the working range", _MM
    )
    working_wire_mm: tuple[float, float] | None = _of(
        _buying_wire, "wires of this inner diameter in the working range", _MM
    )
    room_mm: float = _of(
        lambda report: report.room_mm,
        "the gap between all rings, spaced as evenly as they can be; below zero they overlap",
        _SHOWN_MM,
        head="room between rings",
        words=_room,
    )
    smallest_gap_mm: float = _of(
        lambda report: report.smallest_gap_mm,
        "between any two rings, pulled straight; below zero they overlap",
        _SHOWN_MM,
        head="smallest gap",
        words=_gap,
        more=_gap_why,
    )
    repeat_mm: float | None = _of(
        lambda report: report.repeat_mm,
        "one repeat, pulled straight",
        _SHOWN_MM,
        head="one repeat",
        words=_repeat,
    )
    rings_per_repeat: int = _of(lambda report: report.rule.rings_per_repeat, "in a repeat", RINGS)
    rings_per_cm: float | None = _of(
        lambda report: report.rings_per_cm, "in a centimetre of the chain", PER_CM
    )
    width_mm: float | None = _of(
        lambda report: report.width_mm, "across it", MEASURED_MM, head="width"
    )
    thickness_mm: float | None = _of(
        lambda report: report.thickness_mm, "from the table up", MEASURED_MM, head="thickness"
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
    kkt_residual: float | None = _of(
        lambda report: report.settled.certificate.residual if report.settled else None,
        "the share of the pull that contact forces do not balance",
    )
    how_found: Mapping[str, str] = _of(
        lambda report: dict(how_found(report)), "where figures come from, by their keys"
    )


def working_text(limits: RatioLimits) -> str:
    """The aspect ratios in the working range, in words."""
    return working_words(working_span(limits), limits.common)


def limit_lines(limits: RatioLimits) -> list[tuple[str, str]]:
    """The limits that all sizes of a table have in common, by the names that a check gives them."""
    working = "none computed" if limits.working is None else f"{limits.working:.3f}"
    texts = {
        "min_aspect_ratio": f"{limits.minimum:.3f} (geometry)",
        "working_min_aspect_ratio": working,
        "working_aspect_ratios": working_text(limits),
    }
    return [(head_of(CheckFigures, name), text) for name, text in texts.items()]


def own_lines(rule: WeaveRule) -> list[tuple[str, str]]:
    """The second rings that the maker named, by the name that a check gives them."""
    name = head_of(CheckFigures, "second_rings")
    return [(name, f"{second_words(ring)} (your own)") for ring in own_figures(rule)]
