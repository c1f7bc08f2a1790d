"""In which state a piece is counted, what it takes hung, and what is safe to buy by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.base.figures import REPEATS, RINGS, Figures, Unit, read_from
from ringwright.rest.counts import Count
from ringwright.rest.hanging import UNTOLD
from ringwright.weaves.rule import WeaveRule

_of = read_from(Count)


@dataclass(frozen=True)
class HungFigures(Figures[Count]):
    """What a sheet takes that is to be so long and wide as it hangs flat by one of its edges."""

    state: str = _of(lambda count: count.state.name, "which edge it hangs by, as --laid has it")
    said: str = _of(lambda count: count.state.said, "the same in words")
    repeats: int | None = _of(
        lambda count: count.repeats, "along its rows; null where that cannot be told", REPEATS
    )
    rows: int | None = _of(lambda count: count.rows, "across them", Unit("rows"))
    rings: int | None = _of(lambda count: count.rings, "end rings included", RINGS)
    why_untold: str | None = _of(
        lambda count: UNTOLD if count.rings is None else None, "why a count is missing, or null"
    )


def for_either(counted: int, hung: Sequence[int | None]) -> int | None:
    """What is enough in all states; None where that cannot be told of one."""
    known = [one for one in hung if one is not None]
    return max([counted, *known]) if len(known) == len(hung) else None


def safe_words(rule: WeaveRule, what: str, counted: int, hung: Sequence[int | None]) -> str:
    """Which count is safe to buy by, as a sentence without its stop.

    Parameters
    ----------
    what : is counted, in the plural
    counted : of it in the state that the piece is counted in
    hung : of it for each way of hanging; none for what is no sheet
    """
    if not rule.family.repeats:
        return "the piece as it is: it has one size"
    if not rule.family.has_rows:
        return "the longer piece: pulled straight is as long as it gets, and slack shortens it"
    enough = for_either(counted, hung)
    if enough is not None:
        return f"{enough} {what}, enough for it spread or hung by either edge"
    return (
        f"{max([counted, *(one for one in hung if one is not None)])} {what} and some to spare; "
        "hang a sample before you buy for a piece that is to hang"
    )


def hung_lines(hung: Sequence[HungFigures], with_rows: bool = True) -> list[str]:
    """What a sheet takes hung: a sentence for each edge, and one for why a count is missing.

    Parameters
    ----------
    with_rows : whether its width was asked for too; else repeats along its rows alone are told
    """
    lines = []
    for one in hung:
        counts = [(one.repeats, "repeats")]
        counts += [(one.rows, "rows"), (one.rings, "rings")] if with_rows else []
        known = [f"{count} {what}" for count, what in counts if count is not None]
        said = f"as large {one.said}" if with_rows else one.said
        lines.append(f"{said}: {', '.join(known) or 'no count'}")
    wanted = [one.rings if with_rows else one.repeats for one in hung]
    return lines + ([f"no count: {UNTOLD}"] if None in wanted else [])
