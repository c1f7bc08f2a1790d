"""``rw.match``: what of a shop's wires, mandrels and rings suits a weave."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ringwright.api.asked import Length, Second, WeaveLike, asked_mm, asked_rule, asked_width_mm
from ringwright.api.piece import asked_colouring
from ringwright.api.several_metals import shares_of
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress, quiet
from ringwright.making.shop.match import Fit, Match
from ringwright.making.shop.match import match as matched
from ringwright.making.shop.match_figures import match_facts
from ringwright.making.shop.report_match import match_text
from ringwright.making.shop.shop import load_shop

MOST_WORKERS = 256


@dataclass(frozen=True, eq=False, repr=False)
class Matched:
    """Everything on the shelf judged for a weave, best first.

    Attributes
    ----------
    found : the ranking, with what to buy where nothing fits
    """

    found: Match

    @property
    def best(self) -> Fit | None:
        """The first in the list, if it can be woven."""
        return self.found.best

    @property
    def fits(self) -> tuple[Fit, ...]:
        """Everything on the shelf, best first."""
        return self.found.fits

    def facts(self) -> dict[str, Any]:
        """The JSON object of ``ringwright match --json``."""
        return match_facts(self.found)

    def text(self) -> str:
        """What ``ringwright match`` prints."""
        return match_text(self.found)

    def __repr__(self) -> str:
        best = "nothing can be woven"
        if self.best is not None:
            best = f"best {self.best.candidate.name}, {self.best.verdict}"
        return f"<Matched {self.found.rule.name}: {len(self.fits)} tried; {best}>"


def match(
    weave: WeaveLike,
    shop: str | Path,
    length: Length,
    width: Length | None = None,
    second: Second | None = None,
    *,
    metals: str | None = None,
    pattern: str | None = None,
    grid: str | Path | None = None,
    legend: str | None = None,
    workers: int | None = 0,
    on_progress: Progress = quiet,
) -> Matched:
    """Work out every wire on every mandrel, and every bought ring, of a shop file for a weave.

    Parameters
    ----------
    weave, second : as in ``rw.check``
    shop : your shop file
    length, width : least length of the piece, and for a sheet its least width
    metals, pattern, grid, legend : which ring is of which metal, as in ``rw.plan``; else as the
        rule says
    workers : processes; 0 is this process alone, None one per core
    on_progress : called with (what, done, of)

    Returns
    -------
    Matched
        Everything on the shelf, best first; lengths in millimetres.

    Raises
    ------
    BadInput
        When something cannot be read, or the shop has no rings to try.

    Examples
    --------
    >>> import ringwright as rw
    >>> with open("shop.toml", "w", encoding="utf-8") as file:
    ...     _ = file.write('[[stock_ring]]\\nname = "bag"\\nwire = "1mm"\\ninner = "4mm"\\n'
    ...                    'metal = "copper"\\n')
    >>> rw.match("one-in-one", "shop.toml", length="180mm")
    <Matched one-in-one: 1 tried; best bag, in the working range>
    """
    rule, shelf = asked_rule(weave, second), load_shop(Path(shop))
    length_mm, width_mm = asked_mm(length, "length"), asked_width_mm(rule, width)
    if workers is not None and not 0 <= workers <= MOST_WORKERS:
        raise BadInput(f"--workers {workers} is outside 1 to {MOST_WORKERS}; give one per core.")
    colouring = asked_colouring(rule, metals, pattern, grid, legend, shelf.metals)
    shares = None if colouring is None else shares_of(colouring, shelf)
    return Matched(matched(rule, shelf, length_mm, width_mm, on_progress, workers, shares))
