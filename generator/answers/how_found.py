"""How the figures of a check were found, in words."""

from __future__ import annotations

from ringwright.answers.report_second import HOW_FOUND
from ringwright.answers.verdict import Report
from ringwright.movement.assembly import MODEL
from ringwright.weaves.rule import Minimums, WeaveRule


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
