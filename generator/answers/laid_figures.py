"""The figures of a piece in the state that was asked for, and how that is said."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.figures import Figures, Unit, read_from
from ringwright.rest.laid import Laid
from ringwright.weaves.rest_states import ON_TABLE

_of = read_from(Laid)
_MM = Unit("mm", 4)
# A length that a ruler tells from another.
_SEEN_MM = 0.1


@dataclass(frozen=True)
class LaidFigures(Figures[Laid]):
    """How a piece lies or hangs."""

    state: str = _of(lambda laid: laid.state.name, "as --laid has it")
    length_mm: float = _of(
        lambda laid: laid.lying.size_mm()[0], "over all of it as it lies; hung, from top down", _MM
    )
    width_mm: float = _of(lambda laid: laid.lying.size_mm()[1], "across it as it lies", _MM)
    thickness_mm: float = _of(lambda laid: laid.lying.size_mm()[2], "from the table up", _MM)
    smallest_gap_mm: float = _of(
        lambda laid: laid.checked.smallest_gap_mm,
        "between any two rings as they lie",
        Unit("mm", 9),
    )
    residual: float = _of(
        lambda laid: laid.lying.residual, "what forces leave of the pull, as a share of it"
    )
    settled: bool = _of(
        lambda laid: laid.lying.settled, "whether it is at rest: the residual is at most 1e-6"
    )


def laid_lines(laid: Laid) -> list[tuple[str, str]]:
    """How a piece lies or hangs, as names and texts."""
    long, wide, thick = laid.lying.size_mm()
    # Pulled straight, end rings lie as all others do; here they are drawn out.
    drawn_out = laid.state == ON_TABLE and long > laid.pulled.length_mm() + _SEEN_MM
    ends = " with its ends drawn out" if drawn_out else ""
    said = f"{long:.1f} mm long{ends}, {wide:.2f} mm wide, {thick:.2f} mm thick"
    name = "as it hangs" if laid.state.hangs else "as it lies"
    lines = [(name, f"{laid.state.said}: {said}")]
    if not laid.lying.settled:
        lines.append(("not quite at rest", unsettled(laid)))
    return lines


def title_words(laid: Laid) -> str:
    """The state in a few words, and that it is not quite one of rest, where it is not."""
    return laid.state.said + ("" if laid.lying.settled else ", not quite at rest")


def unsettled(laid: Laid) -> str:
    """That a piece has not come to rest, as a sentence."""
    return (
        f"after {laid.lying.rounds} rounds forces are still off by {laid.lying.residual:.1g} of "
        "the pull, so rings may yet shift a little"
    )
