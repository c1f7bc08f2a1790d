"""``rw.place``: placements of a weave known by its order of assembly alone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringwright.api.asked import Length, asked_out, asked_size
from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.base.sizes import RingSize
from ringwright.base.wording import counted
from ringwright.search.candidate_figures import CandidateFiles, CandidatesFigures, Listed
from ringwright.search.candidates import Candidate, Candidates, find_candidates
from ringwright.search.write_candidates import (
    candidates_text,
    keep_own_file,
    write_candidates,
)
from ringwright.weaves import StepsRule, load_steps


@dataclass(frozen=True, eq=False, repr=False)
class Placed:
    """The lays that were found.

    Attributes
    ----------
    rule : the steps they follow
    size : the main ring
    found : the candidates, and how they were found
    files : paths by kind; empty before they are saved
    no_picture : why there are no pictures, or None
    """

    rule: StepsRule
    size: RingSize
    found: Candidates
    files: CandidateFiles
    no_picture: str | None = None

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """Those with the smallest aspect ratio first."""
        return self.found.listed

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright place --json``."""
        return CandidatesFigures.of(Listed(self.found, self.size, self.files)).facts()

    def text(self) -> str:
        """What ``ringwright place`` prints."""
        return candidates_text(self.found, self.size, self.files)

    def __repr__(self) -> str:
        count = len(self.candidates)
        return f"<Placed {self.rule.name}: {counted(count, 'candidate')}>"


def place(
    weave: str | Path,
    wire: Length | RingSize | None = None,
    inner: Length | None = None,
    outer: Length | None = None,
    ratio: str | float | None = None,
    *,
    out: str | Path | None = None,
    candidates: int = defaults.CANDIDATES,
    tries: int = defaults.RANDOM_STARTS,
    keep: int | None = None,
    workers: int | None = 0,
    on_progress: Progress = quiet,
) -> Placed:
    """Find placements whose rings are linked just as the steps of a rule file link them.

    Parameters
    ----------
    weave : a name, or the path of a rule file
    wire, inner, outer, ratio, workers, on_progress : as in ``rw.check``
    out : ``folder/name`` to write ``name-1.png``, ``name-1.toml`` and so on, and ``name.json``;
        no files when left out
    candidates, tries : at most so many candidates, from so many random starts
    keep : the candidate that is also written as ``name.toml``

    Returns
    -------
    Placed
        The lays, that with the smallest aspect ratio first; lengths in millimetres.

    Raises
    ------
    BadInput
        When something cannot be read, or no start came to the right links.

    Examples
    --------
    >>> import ringwright as rw
    >>> rw.place("one-in-one", wire="1mm", inner="4mm", candidates=1, tries=4)
    <Placed one-in-one: 1 candidate>
    """
    rule, size = load_steps(weave), asked_size(wire, inner, ratio, outer)
    where = None if out is None else asked_out(out)
    if keep is not None and not 1 <= keep <= candidates:
        raise BadInput(
            f"--keep {keep} is not among at most {candidates} candidates; give "
            f"1 to {candidates}, or ask for more --candidates."
        )
    if keep is not None and where is None:
        raise BadInput("keep says which candidate is written: give out, where the files go, too.")
    if where is None:
        return Placed(
            rule, size, find_candidates(rule, size, on_progress, candidates, tries, workers), {}
        )
    keep_own_file(rule, *where, max(candidates, 0))
    found = find_candidates(rule, size, on_progress, candidates, tries, workers)
    files, no_picture = write_candidates(rule, found, *where, keep, on_progress)
    return Placed(rule, size, found, files, no_picture)
