"""``rw.check``: whether a wire and ring size closes a weave."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.lying_figures import Looked, LyingFigures, lying_text
from ringwright.answers.partners import Partner, partners
from ringwright.answers.report import report_text
from ringwright.answers.verdict import Report
from ringwright.answers.verdict import check as checked
from ringwright.api.asked import (
    USUAL_CHORD_ERROR,
    Length,
    Second,
    WeaveLike,
    asked_rule,
    asked_shown_state,
    asked_size,
    asked_state,
)
from ringwright.base.figures import joined
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import RingSize, format_mm
from ringwright.making.shop.shelf_figures import ShelfFigures, shelf_figures
from ringwright.rest.measures import LyingMeasures, lying_measures
from ringwright.weaves.rest_states import PULLED
from ringwright.weaves.rule import WeaveRule

if TYPE_CHECKING:
    from ringwright.api.piece import WholePiece
    from ringwright.making.shop.shop import Shop
    from ringwright.solver.climb import Unit
    from ringwright.solver.tightest import Tightest


@dataclass(frozen=True, eq=False, repr=False)
class Check:
    """What there is to say of a weave in rings of one size; lengths in millimetres.

    Attributes
    ----------
    report : everything that was found out
    shelf : what a shop file adds
    lying : how it measures in another state than pulled straight, where that was asked for and it
        can be woven
    """

    report: Report
    shelf: ShelfFigures
    lying: LyingMeasures | None = None

    @property
    def weave(self) -> str:
        """The weave's name."""
        return self.report.rule.name

    @property
    def size(self) -> RingSize:
        """The main ring."""
        return self.report.size

    @property
    def verdict(self) -> str:
        """In words, such as ``in the working range``."""
        return self.report.verdict

    @property
    def can_be_woven(self) -> bool:
        """Whether the weave closes at just this size."""
        return self.report.can_be_woven

    @property
    def repeat_mm(self) -> float | None:
        """One repeat pulled straight; None where it cannot be woven, or has no repeat."""
        return self.report.repeat_mm

    @property
    def width_mm(self) -> float | None:
        """Across the weave; None where it cannot be woven."""
        return self.report.width_mm

    @property
    def thickness_mm(self) -> float | None:
        """From the table up; None where it cannot be woven."""
        return self.report.thickness_mm

    @property
    def room_mm(self) -> float:
        """The gap between all rings, spaced as evenly as they can be; negative: they overlap."""
        return self.report.room_mm

    @property
    def rings_per_cm(self) -> float | None:
        """Rings in a centimetre; None where it cannot be woven, or has no repeat."""
        return self.report.rings_per_cm

    @property
    def min_aspect_ratio(self) -> float:
        """The smallest aspect ratio by geometry."""
        return self.report.limits.minimum

    @property
    def working_aspect_ratios(self) -> tuple[float, float]:
        """The working range, from smallest to largest."""
        return self.report.limits.working_range

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright check --json``."""
        return joined(CheckFigures.of(self.report), self.shelf, LyingFigures.of(Looked(self.lying)))

    def text(self, why: bool = False) -> str:
        """What ``ringwright check`` prints.

        Parameters
        ----------
        why : whether to say how it was found, as after ``--why``
        """
        said = report_text(self.report, self.shelf.said, why)
        return said if self.lying is None else f"{said}\n{lying_text(self.lying)}"

    def piece(
        self,
        length: Length,
        width: Length | None = None,
        *,
        metals: str | None = None,
        pattern: str | None = None,
        grid: str | Path | None = None,
        legend: str | None = None,
        chord_error: Length = USUAL_CHORD_ERROR,
        laid: str | None = None,
        wrist: Length | None = None,
        finger: Length | None = None,
        neck: Length | None = None,
        oval: str | float | None = None,
        on_progress: Progress = quiet,
    ) -> WholePiece:
        """The whole piece, laid out with its end rings, every pair of rings measured again.

        Parameters
        ----------
        length, width : least length, and for a sheet least width (25 mm when left out)
        metals, pattern, grid : which ring is of which metal, at most one of them: by role
            or ring, in turns, or from a picture or table of a sheet
        legend : what the colours or marks of the grid stand for, as ``"#b46a3c=copper"``
        chord_error : farthest the triangles may lie from the true ring
        laid : ``"pulled"`` straight, ``"on-table"``, a sheet ``"spread"``, ``"hung"`` or
            ``"worn"``; when left out on a table, a sheet as if spread, and pulled straight what
            would take long
        wrist, finger, neck, oval : what it is worn on, a wrist of 165 mm when left out; and
            how many times as wide as deep that is
        on_progress : called with (what, done, of)

        Returns
        -------
        WholePiece
            Its rings, and the files that can be saved of it; lengths in millimetres.

        Raises
        ------
        BadInput
            When something cannot be read, or the piece would have too many rings.
        NoRest
            When the weave cannot be woven of these rings, or does not come to rest so.

        Examples
        --------
        >>> import ringwright as rw
        >>> rw.check("one-in-one", wire="1mm", inner="4mm").piece(length="50mm")
        <WholePiece one-in-one: 13 rings, 54.0 mm long, lying on a table>
        """
        from ringwright.api.piece import asked_piece
        from ringwright.api.piece import laid as laid_piece

        wanted = asked_piece(
            self.report.rule, length, width, metals, pattern, grid, legend, chord_error,
            asked_shown_state(self.report.rule, laid, wrist, finger, neck, oval),
        )  # fmt: skip
        return laid_piece(self.report, wanted, on_progress)

    def __repr__(self) -> str:
        size = self.size
        figures = [
            f"{name} {value:.3f} mm"
            for name, value in (
                ("repeat", self.repeat_mm),
                ("width", self.width_mm),
                ("thickness", self.thickness_mm),
            )
            if value is not None
        ]
        return (
            f"<Check {self.weave}, wire {format_mm(size.wire_mm)}, inner "
            f"{format_mm(size.inner_mm)}, aspect ratio {size.aspect_ratio:.3f}: {self.verdict}"
            + (f";\n {', '.join(figures)}" if figures else "")
            + ">"
        )

    def _repr_html_(self) -> str:
        """For a notebook: a model to turn, and its figures."""
        from ringwright.outputs.gallery.write_gallery import framed_report

        return framed_report(self.report)


def check(
    weave: WeaveLike,
    wire: Length | RingSize | None = None,
    inner: Length | None = None,
    outer: Length | None = None,
    ratio: str | float | None = None,
    second: Second | None = None,
    *,
    shop: str | Path | None = None,
    laid: str = PULLED.name,
    wrist: Length | None = None,
    finger: Length | None = None,
    neck: Length | None = None,
    oval: str | float | None = None,
    meshes: bool = False,
    workers: int | None = 0,
    on_progress: Progress = quiet,
) -> Check:
    """Settle one repeat of a weave and say whether it closes, and how it measures.

    Parameters
    ----------
    weave : a name, the path of a rule file, or what ``rw.load_rule`` gave
    wire : wire diameter, as ``"0.9mm"``, ``"18awg"`` or a pint quantity; or a ``RingSize``
    inner, outer, ratio : inner diameter, outer diameter or aspect ratio; one of them
    second : rings of the second size, where the weave has one; as ``"1mm/4.1mm"``
    shop : your shop file, to name the nearest ring on your shelf
    laid : a state to measure it in besides: ``"on-table"``, a sheet ``"spread"``, ``"hung"`` or
        ``"worn"``
    wrist, finger, neck, oval : what it is worn on, a wrist of 165 mm when left out; and how many
        times as wide as deep that is
    meshes : also have the rings confirmed as triangle meshes (needs python-fcl)
    workers : processes to share the work out to; 0 is this process alone, None one per core
    on_progress : called with (what, done, of)

    Returns
    -------
    Check
        The verdict and the measures; all lengths in millimetres.

    Raises
    ------
    BadInput
        When a weave or size cannot be used: one sentence that says what to do.
    NoRest
        When the weave exists at this size, but no resting place was found.

    Notes
    -----
    Rings are rigid tori of round wire. They are pulled straight without friction until the forces
    at their contacts balance (``ringwright.solver.certify``). What is added to the smallest aspect
    ratio for wire and rings that are not quite what they are called, and where that is from, stands
    in ``ringwright.answers.ratio_limits``.

    Examples
    --------
    >>> import ringwright as rw
    >>> found = rw.check("one-in-one", wire="1mm", ratio=4)
    >>> found.verdict, round(found.repeat_mm, 6)
    ('in the working range', 8.0)
    >>> rw.check("one-in-one", wire="1", inner="4mm")
    Traceback (most recent call last):
        ...
    ringwright.base.errors.BadInput: wire '1' has no unit and could be 1 mm, 1 in (25.4 mm), \
1awg (7.348 mm) or 1swg (7.62 mm): write the unit with it.
    """
    rule, size = asked_rule(weave, second), asked_size(wire, inner, ratio, outer)
    state = asked_state(rule, laid, wrist, finger, neck, oval)
    shelf = None if shop is None else _shop(Path(shop))
    report = with_partners(settled(rule, size, on_progress, meshes, workers=workers), on_progress)
    lying = None
    if state != PULLED and report.can_be_woven:
        lying = lying_measures(
            rule, report.unit, size.core_radius_mm, state, on_progress, in_full=True
        )
    return Check(report, shelf_figures(report, shelf), lying)


def _shop(path: Path) -> Shop:
    from ringwright.making.shop.shop import load_shop

    return load_shop(path)


def settled(
    rule: WeaveRule,
    size: RingSize,
    on_progress: Progress = quiet,
    meshes: bool = False,
    on_settled: Callable[[Unit], None] | None = None,
    workers: int | None = None,
    limit: Tightest | None = None,
) -> Report:
    """A size checked, with its progress called by its name; see :func:`check`.

    ``limit`` is the tightest ring, where it is known already.
    """
    return checked(
        rule,
        size,
        on_progress=lambda done, of: on_progress("tightest ring", done, of),
        meshes=meshes,
        on_settled=on_settled,
        workers=workers,
        limit=limit,
    )


def with_partners(report: Report, on_progress: Progress = quiet) -> Report:
    """A check that also says which rings of one size work with those of the others."""
    return replace(report, partners=found_partners(report, on_progress))


def found_partners(report: Report, on_progress: Progress = quiet) -> tuple[Partner, ...]:
    """Which rings of one size work with those of the others."""
    return partners(
        report.rule,
        report.size,
        report.tightest.unit,
        lambda done, of: on_progress("rings of other sizes", done, of),
    )
