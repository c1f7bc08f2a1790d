"""The figures of a piece in the state that was asked for, and how that is said."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.base.figures import LEFT_OUT, Figures, LeftOut, Unit, read_from
from ringwright.rest.fit import Fit
from ringwright.rest.laid import Laid
from ringwright.weaves.rest_states import ON_TABLE

_of = read_from(Laid)
_body = _of.part(lambda laid: laid.state.body, LEFT_OUT)
_fit = _of.part(lambda laid: laid.fit, LEFT_OUT)
_MM = Unit("mm", 4)
# A length that a ruler tells from another.
_SEEN_MM = 0.1


@dataclass(frozen=True)
class LaidFigures(Figures[Laid]):
    """How a piece lies or hangs."""

    state: str = _of(lambda laid: laid.state.name, "as --laid has it")
    length_mm: float = _of(
        lambda laid: laid.size_mm()[0],
        "over all of it as it lies; hung, from top down; worn, from repeat to repeat",
        _MM,
    )
    width_mm: float = _of(lambda laid: laid.size_mm()[1], "across it as it lies", _MM)
    thickness_mm: float = _of(
        lambda laid: laid.size_mm()[2], "from the table up; worn, away from the form", _MM
    )
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
    worn_on: str | LeftOut = _body(
        lambda body: body.part, "wrist, finger or neck; where it is worn"
    )
    girth_mm: float | LeftOut = _body(lambda body: body.girth_mm, "round that", _MM)
    oval: float | LeftOut = _body(lambda body: body.ratio, "its width by its depth")
    closed: bool | LeftOut = _fit(lambda fit: fit.closed, "whether it is closed into itself")
    goes_round: bool | LeftOut = _fit(
        lambda fit: fit.goes_round, "whether no further repeat has room between its ends"
    )
    open_for_clasp_mm: float | LeftOut = _fit(
        lambda fit: LEFT_OUT if fit.open_mm is None else fit.open_mm, "left between its ends", _MM
    )
    inside_length_mm: float | LeftOut = _fit(
        lambda fit: fit.inside_mm, "all round inside; where it has ends, from one to the other", _MM
    )
    room_mm: float | LeftOut = _fit(
        lambda fit: LEFT_OUT if fit.room_mm is None else fit.room_mm,
        "how much longer that is than the form is round",
        _MM,
    )
    sag_mm: float | LeftOut = _fit(
        lambda fit: fit.sag_mm,
        "how far its inside hangs off the form; of a necklace, how far it falls below its ends",
        _MM,
    )


def laid_lines(laid: Laid) -> list[tuple[str, str]]:
    """How a piece lies or hangs, as names and texts."""
    if laid.fit is not None:
        lines = [("as it is worn", _worn_words(laid, laid.fit))]
        return lines + _unsettled_lines(laid)
    long, wide, thick = laid.size_mm()
    # Pulled straight, end rings lie as all others do; here they are drawn out.
    drawn_out = laid.state == ON_TABLE and long > laid.pulled.length_mm() + _SEEN_MM
    ends = " with its ends drawn out" if drawn_out else ""
    said = f"{long:.1f} mm long{ends}, {wide:.2f} mm wide, {thick:.2f} mm thick"
    lines = [(f"as it {laid.state.does}", f"{laid.state.said}: {said}")]
    return lines + _unsettled_lines(laid)


def _unsettled_lines(laid: Laid) -> list[tuple[str, str]]:
    return [] if laid.lying.settled else [("not quite at rest", unsettled(laid))]


def _worn_words(laid: Laid, fit: Fit) -> str:
    return (
        f"{laid.state.said}: {fit_words(fit)}; {fit.width_mm:.2f} mm wide, "
        f"{fit.thickness_mm:.2f} mm thick"
    )


def fit_words(fit: Fit) -> str:
    """Whether a worn piece goes round, how long it is inside, and how far it hangs off."""
    hangs = f"hangs {fit.sag_mm:.1f} mm below it"
    if fit.room_mm is not None:
        return (
            f"closed into itself, {fit.inside_mm:.1f} mm round inside, {fit.room_mm:.1f} mm more "
            f"than it goes round; {hangs}"
        )
    if fit.open_mm is None:
        return f"held behind by its ends, its lowest ring {fit.sag_mm:.1f} mm below them"
    if fit.goes_round:
        return f"goes round but for {fit.open_mm:.1f} mm between its ends, for the clasp"
    return f"does not go round: {fit.open_mm:.1f} mm are left between its ends"


def title_words(laid: Laid) -> str:
    """The state in a few words, and that it is not quite one of rest, where it is not."""
    return laid.state.said + ("" if laid.lying.settled else ", not quite at rest")


def unsettled(laid: Laid) -> str:
    """That a piece has not come to rest, as a sentence."""
    return (
        f"after {laid.lying.rounds} rounds forces are still off by {laid.lying.residual:.1g} of "
        "the pull, so rings may yet shift a little"
    )
