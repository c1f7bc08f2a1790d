"""``rw.limits``: how far a weave goes at one size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.limits import Limits, helpers
from ringwright.answers.limits import limits as found_limits
from ringwright.answers.limits_figures import limits_facts
from ringwright.answers.report import report_text
from ringwright.answers.report_limits import limits_text
from ringwright.answers.verdict import Report
from ringwright.api.asked import Length, Second, WeaveLike, asked_rule, asked_size
from ringwright.api.check import settled, with_partners
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import RingSize

MOST_REPEATS = 1000


@dataclass(frozen=True, eq=False, repr=False)
class HowFar:
    """How far a weave goes: pulled, pushed, bent, put together, loaded.

    Attributes
    ----------
    report : of the size
    limits : None where it cannot be woven
    """

    report: Report
    limits: Limits | None

    @property
    def verdict(self) -> str:
        """In words, such as ``in the working range``."""
        return self.report.verdict

    @property
    def can_be_woven(self) -> bool:
        """Whether the weave closes at just this size."""
        return self.report.can_be_woven

    @property
    def working_aspect_ratio(self) -> float | None:
        """The smallest at which a way in was found for every ring; None where none was."""
        return None if self.limits is None else self.limits.working_aspect_ratio

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright limits --json``."""
        if self.limits is None:
            return CheckFigures.of(self.report).facts()
        return limits_facts(self.limits)

    def text(self, why: bool = False) -> str:
        """What ``ringwright limits`` prints.

        Parameters
        ----------
        why : whether to say how it was found, as after ``--why``
        """
        said = report_text(self.report, why=why)
        return said if self.limits is None else f"{said}\n\n{limits_text(self.limits)}"

    def __repr__(self) -> str:
        ways = () if self.limits is None else self.limits.steps
        put = sum(step.way is not None for step in ways)
        which = "every ring" if put == len(ways) else f"{put} of {len(ways)} rings"
        return (
            f"<HowFar {self.report.rule.name}, aspect ratio {self.report.size.aspect_ratio:.3f}: "
            f"{self.verdict}{f'; a way in for {which}' if ways else ''}>"
        )


def limits(
    weave: WeaveLike,
    wire: Length | RingSize | None = None,
    inner: Length | None = None,
    outer: Length | None = None,
    ratio: str | float | None = None,
    second: Second | None = None,
    *,
    repeats: int | None = None,
    meshes: bool = False,
    workers: int | None = 0,
    on_progress: Progress = quiet,
) -> HowFar:
    """Settle a weave and ask how far it goes.

    Parameters
    ----------
    weave, wire, inner, outer, ratio, second, meshes, workers, on_progress : as in ``rw.check``
    repeats : also close a chain of so many repeats into a bracelet, 3 to 1000

    Returns
    -------
    HowFar
        What was found, lengths in millimetres and angles in degrees in its ``facts()``.

    Raises
    ------
    BadInput
        When a weave or size cannot be used.
    NoRest
        When no resting place was found.

    Notes
    -----
    Rings are rigid and without friction; what each figure means, and how it is found, is told in
    ``ringwright.movement``, one module for each. A way in that was found is one; that none was
    found proves nothing.

    Examples
    --------
    >>> import ringwright as rw
    >>> rw.limits("one-in-one", wire="1mm", inner="4mm")
    <HowFar one-in-one, aspect ratio 4.000: in the working range; a way in for every ring>
    """
    rule, size = asked_rule(weave, second), asked_size(wire, inner, ratio, outer)
    if repeats is not None and not 3 <= repeats <= MOST_REPEATS:
        raise BadInput(f"--repeats {repeats} does not make a bracelet; give 3 to {MOST_REPEATS}.")
    with helpers(rule, size, workers) as helping:
        report = settled(rule, size, on_progress, meshes, workers=workers)
        report = with_partners(report, on_progress)
        woven = report.can_be_woven
        found = found_limits(report, on_progress, helping, repeats) if woven else None
    return HowFar(report, found)
