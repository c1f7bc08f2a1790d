"""What a check or a preview found, as words for a maker and as JSON for a script."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.advice import (
    advice,
    answers,
    pairs_in_the_way,
    remarks,
)
from ringwright.answers.ratio_limits import RatioLimits
from ringwright.answers.report_second import (
    HOW_FOUND,
    closing_lines,
    second_lines,
)
from ringwright.answers.verdict import Report
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import FURTHER, figure_line, wrapped
from ringwright.base.wording import counted
from ringwright.movement.assembly import MODEL
from ringwright.solver.packing_bound import packing_bound
from ringwright.solver.shapes import said
from ringwright.weaves.rule import Minimums, WeaveRule

# What the check's lines call the figures that JSON names by key.
_PLAIN_NAMES = {
    "min_aspect_ratio": "smallest aspect ratio",
    "common_aspect_ratio": "common aspect ratio",
    "kept_minimums": "working minimum",
    "room_mm": "room between rings",
    "repeat_mm": "one repeat",
    "second_rings": "closes with",
}


_KEPT = "kept in the rule's file"
# An answer in short is no longer than this.
_MOST_LINES = 8


def other_shape(report: Report) -> str | None:
    """The shape in which the weave closes in the tightest rings, if that is not the rule's own."""
    if report.shape is not None or report.known is None or report.known.shape is None:
        return report.shape
    return said(report.rule, report.known.shape)


def how_found(report: Report) -> list[tuple[str, str]]:
    """Where each figure comes from."""
    settled = report.settled
    kept = report.kept
    lines = [
        (
            "min_aspect_ratio",
            f"computed: {_grown_from(report)}. This is geometry only; hands and pliers need more.",
        ),
        (
            "common_aspect_ratio",
            _provenance(report.rule, kept),
        ),
        (
            "room_mm",
            "computed: the gap between rings when all are spaced as evenly as they can be",
        ),
    ]
    if kept is not None and kept.working is not None:
        lines.insert(
            1,
            (
                "kept_minimums",
                "kept in the rule's file, not computed now ('ringwright limits' looks for a way in "
                f"at this size): {MODEL}",
            ),
        )
    if report.partners:
        lines.append(("second_rings", HOW_FOUND))
    if settled is not None:
        lines.append(
            (
                "repeat_mm",
                "computed: the rings are moved until the chain, pulled straight, gets no longer; "
                f"{settled.agreed} of {settled.starts} starting placements agree, and the forces "
                f"between rings balance to within {settled.certificate.residual:.1e} of the pull. "
                f"Confirmed by {' and '.join(report.confirmed_by)}.",
            )
        )
    return lines


def how_found_named(report: Report) -> list[tuple[str, str]]:
    """The same, by the names that a maker knows the figures by."""
    return [(_PLAIN_NAMES[key], text) for key, text in how_found(report)]


def _grown_from(report: Report) -> str:
    """How the smallest aspect ratio was found, in this shape or the rule's own."""
    limit = report.tightest
    grown = (
        "the wire is thickened, the middle line of each ring kept, until no ring can give way any "
        "more"
    )
    ways = "winding, curling, doubling and random walks"
    if report.shape is not None and report.kept is not None:
        return (
            f"{grown}, starting from the weave {report.shape} as the rule's file keeps it, which "
            f"a longer search by {ways} found, no ring passing through another"
        )
    if report.shape is not None:
        return (
            f"{grown}, starting from the weave {report.shape}, which a search by {ways} found "
            "now, no ring passing through another"
        )
    searched = ""
    if limit.searched is not None and limit.searched.shape is None:
        searched = f". A search by {ways}, made now, found no other shape that closes tighter"
    when = (
        "Kept from a search, and at rest when looked at again now" if limit.kept else "Searched now"
    )
    return (
        f"{grown}. {when}: {limit.agreed} of {limit.starts} starting placements came within "
        f"0.0001 of this value, the worst ended at {limit.spread[-1]:.4f}{searched}"
    )


def _provenance(rule: WeaveRule, kept: Minimums | None) -> str:
    """Where the range comes from, and why it begins where it does, if that is about these rings."""
    common = rule.common_aspect_ratio
    if rule.has_own_second:
        return (
            "the rule's range is for its own second rings, so the verdict is taken from the room "
            "between rings"
        )
    if common is None:
        return "the rule gives none, so the verdict is taken from the room between rings"
    if common.note is None or kept is None:
        return common.provenance
    return f"{common.provenance}. {common.note}"


def report_text(report: Report, more: Sequence[str] = (), why: bool = False) -> str:
    """A check in plain words.

    Parameters
    ----------
    more : advice that follows from a shop file
    why : every figure there is, and how each was found
    """
    size, rule = report.size, report.rule
    lines = [
        f"{rule.name}: wire {format_mm(size.wire_mm)}, inner diameter {format_mm(size.inner_mm)}, "
        f"aspect ratio {size.aspect_ratio:.3f}",
        f"Verdict: {report.verdict}.",
    ]
    lines += _in_full(report, more) if why else _in_short(report, more, _MOST_LINES - len(lines))
    return "\n".join(lines)


def _in_full(report: Report, more: Sequence[str]) -> list[str]:
    """All advice, every figure, and how each was found."""
    lines = [""]
    for paragraph in (*advice(report), *more):
        lines += [*wrapped(paragraph), ""]
    measures = _measures(report) if report.can_be_woven else []
    lines += [figure_line(*figure) for figure in (*_limits(report), *measures)]
    lines += ["", "How this was found"]
    for named, text in how_found_named(report):
        lines += wrapped(figure_line(named, text), further=FURTHER)
    return lines


def _in_short(report: Report, more: Sequence[str], most: int) -> list[str]:
    """What to do, and then those figures, the first asked for first, for which there is room."""
    said: list[str] = []
    for paragraph in (*answers(report), *more, *remarks(report)):
        lines = wrapped(paragraph)
        said += lines if len(said) + len(lines) <= most else []
    said += [""] if len(said) < most - 1 else []
    figures = _first_figures(report, bool(answers(report)))[: most - len(said)]
    return [*said, *(figure_line(*figure) for figure in figures)]


def common_text(rule: WeaveRule) -> str:
    """The aspect ratios makers usually choose, in words."""
    common = rule.common_aspect_ratio
    return "none given" if common is None else f"{common.low:g} to {common.high:g}"


def _first_figures(report: Report, is_advised: bool) -> list[tuple[str, str]]:
    """The figures in the order in which a maker asks for them.

    Parameters
    ----------
    is_advised : whether rings in the working range have been named already
    """
    smallest = f"{report.limits.minimum:.3f}"
    if report.limits.working is not None:
        smallest += f"; every ring can be put in from {report.limits.working:.3f}"
    working = ("working range", f"{working_text(report.limits)}{_alike(report)}")
    facts = [("smallest aspect ratio", smallest), ("room between rings", _room(report))]
    if not report.can_be_woven:
        return [facts[1], *second_lines(report), facts[0], working]
    named = dict(_measures(report))
    across = ("width and thickness", f"{report.width_mm:.2f} by {report.thickness_mm:.2f} mm")
    repeat = [("one repeat", named["one repeat"])] if "one repeat" in named else []
    measures = [*second_lines(report), *repeat, across]
    return [*measures, *facts, working] if is_advised else [*measures, working, *facts]


def _room(report: Report) -> str:
    room_mm = abs(report.room_mm)
    if report.room_mm >= 0.0:
        return f"{room_mm:.3f} mm ({room_mm / report.size.wire_mm:.2f} of a wire)"
    return f"none: {pairs_in_the_way(report, 1)} overlap by {room_mm:.3f} mm"


def _limits(report: Report) -> list[tuple[str, str]]:
    span = common_text(report.rule)
    gap = f"{report.smallest_gap_mm + 0.0:.3f} mm"
    if report.can_be_woven:
        gap = f"{abs(report.smallest_gap_mm):.3f} mm (pulled straight, loaded rings touch)"
    return [
        *second_lines(report),
        *closing_lines(report),
        ("smallest aspect ratio", smallest_text(report)),
        *working_facts(report),
        ("common aspect ratio", span),
        ("working range", f"{working_text(report.limits)}{_alike(report)}"),
        ("room between rings", _room(report)),
        ("smallest gap", gap),
    ]


def smallest_text(report: Report) -> str:
    """The smallest aspect ratio at which the weave exists, in words."""
    other, bound = other_shape(report), packing_bound(report.rule)
    found = f"{report.limits.minimum:.3f}"
    if other is not None:
        found += f" {other}, {report.as_laid:.3f} as laid here"
    proved = "" if bound is None else f"; proved: not below {bound:.3f}"
    return f"{found} (geometry{proved}){_alike(report)}"


def _alike(report: Report) -> str:
    """What a ratio is for in a weave of more sizes than one."""
    return ", with rings of all sizes in this proportion" if report.rule.sizes else ""


def working_facts(report: Report) -> list[tuple[str, str]]:
    """The working minimum that the verdict uses, as a line with its name."""
    working, kept = report.limits.working, report.kept
    if working is None:
        return [
            ("working minimum", "none known for these rings ('ringwright limits' looks for one)")
        ]
    from_file = kept is not None and kept.working == working
    return [("working minimum", f"{working:.3f} ({_KEPT if from_file else 'computed now'})")]


def working_text(limits: RatioLimits) -> str:
    """The aspect ratios in the working range, in words."""
    low, high = limits.working_range
    if low > high:
        return f"none (makers' range ends at {high:g})"
    return f"{low:.2f} to {high:.2f}"


def _measures(report: Report) -> list[tuple[str, str]]:
    rings = report.rule.rings_per_repeat
    said = counted(rings, "ring")
    repeat = f"{said}, a piece without repeats"
    if report.repeat_mm is not None and report.rings_per_cm is not None:
        repeat = f"{report.repeat_mm:.3f} mm, {said} ({report.rings_per_cm:.2f} per cm)"
    return [
        ("one repeat", repeat),
        ("width", f"{report.width_mm:.2f} mm"),
        ("thickness", f"{report.thickness_mm:.2f} mm"),
    ]


def rules_text(rules: Sequence[WeaveRule]) -> str:
    """The list of weaves for a maker."""
    lines = []
    column = max((len(rule.name) for rule in rules), default=0) + 2
    for rule in rules:
        common = rule.common_aspect_ratio
        span = "" if common is None else f", common AR {common.low:g} to {common.high:g}"
        lines.append(f"{rule.name:<{column}}{rule.rings_per_repeat} rings per repeat{span}")
        lines += [f"{'':<{column}}{text}" for text in _computed_lines(rule)]
        lines.append(f"{'':<{column}}{rule.summary}")
        if rule.trade_names:
            lines.append(f"{'':<{column}}also called: {', '.join(rule.trade_names)}")
    return "\n".join(lines)


def _computed_lines(rule: WeaveRule) -> list[str]:
    """What was computed, in a few words to stand below the range of makers."""
    kept = rule.computed
    if kept is None:
        return []
    working = "" if kept.working is None else f", can be put together from {kept.working:.2f}"
    size = ""
    if kept.wire_mm is not None and kept.inner_mm is not None:
        size = f", with {format_mm(kept.wire_mm)} wire and {format_mm(kept.inner_mm)} inside"
    return [f"computed: closes from AR {kept.geometric:.2f}{working}{size}"]
