"""The figures of a search for placements: each lay that was found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.answers.check_figures import MEASURED_MM, SEARCHED
from ringwright.base.figures import EXACT_MM, Figures, read_from
from ringwright.base.sizes import RingSize
from ringwright.search.candidates import Candidate, Candidates

# Paths by kind, or by the candidate's number for what there is of each.
CandidateFiles = Mapping[str, Mapping[int, str] | str | None]

_one = read_from(Candidate)
_report = _one.part(lambda one: one.report, None)


@dataclass(frozen=True)
class CandidateFigures(Figures[Candidate]):
    """One lay; null figures where it came to no rest."""

    number: int = _one(lambda one: one.number, "counted from 1")
    mirror_image_of: int | None = _one(
        lambda one: one.mirror_of, "the number of the candidate that it mirrors; null for none"
    )
    starts_that_came_here: int = _one(lambda one: one.found, "random starts, mirror images too")
    no_rest: str | None = _one(lambda one: one.trouble, "why it came to no rest")
    verdict: str | None = _report(lambda report: report.verdict, "whether it can be woven")
    min_aspect_ratio: float | None = _report(
        lambda report: report.tightest.aspect_ratio,
        "the smallest at which this lay exists; geometry only",
        SEARCHED,
    )
    repeat_mm: float | None = _report(
        lambda report: report.repeat_mm,
        "one repeat, pulled straight",
        EXACT_MM,
    )
    width_mm: float | None = _report(lambda report: report.width_mm, "across it", MEASURED_MM)
    thickness_mm: float | None = _report(
        lambda report: report.thickness_mm,
        "from the table up",
        MEASURED_MM,
    )


@dataclass(frozen=True)
class Listed:
    """What a search found, for which ring, and its files."""

    found: Candidates
    size: RingSize | None
    files: CandidateFiles


_of = read_from(Listed)
_size = _of.part(lambda listed: listed.size, None)


@dataclass(frozen=True)
class CandidatesFigures(Figures[Listed]):
    """The lays that were found."""

    weave: str = _of(lambda listed: listed.found.listed[0].rule.name, "the weave's name")
    wire_mm: float | None = _size(lambda size: size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float | None = _size(lambda size: size.inner_mm, "inner diameter", EXACT_MM)
    tries: int = _of(lambda listed: listed.found.tries, "random starts")
    placed: int = _of(lambda listed: listed.found.placed, "of these with the right links")
    lays: int = _of(lambda listed: listed.found.lays, "different lays among the best of them")
    candidates: tuple[CandidateFigures, ...] = _of(
        lambda listed: tuple(map(CandidateFigures.of, listed.found.listed)),
        "the lays, that with the smallest aspect ratio first",
    )
    files: CandidateFiles = _of(
        lambda listed: listed.files,
        "the files written, by kind; by number where there are more",
    )
