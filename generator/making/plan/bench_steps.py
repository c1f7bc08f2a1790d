"""What to do on the bench, step by step, each with its cautions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ringwright.base.figures import PIECE_MM, RING_MM, number
from ringwright.base.wording import capitalised, counted
from ringwright.making.plan.lengths import Lengths
from ringwright.making.plan.piece_figures import (
    TOOL_MM,
    WHOLE_MM,
    WIRE_MM,
    CoilFigures,
    Counted,
    PieceFigures,
    RingFigures,
)
from ringwright.making.plan.plan import MAIN
from ringwright.making.ring.annealed import how_to_anneal
from ringwright.making.ring.cautions import (
    ALWAYS,
    ANNEAL,
    CLASP,
    CLOSE,
    DEBURR,
    METAL,
    OPEN,
    SAW,
    SHEAR,
    SORT,
    STEPS,
    WEAR,
    WEAVE,
    WIND,
    Caution,
    cautions_for,
)
from ringwright.metals.metal import DEBURR as USUAL_DEBURR
from ringwright.metals.metal import Metal
from ringwright.piece.end_kinds import BAR, ONE

TITLES = {
    METAL: "The metal",
    ANNEAL: "Anneal",
    WIND: "Wind",
    SAW: "Saw",
    SHEAR: "Cut",
    DEBURR: "Deburr",
    CLOSE: "Close",
    OPEN: "Leave open",
    SORT: "Sort",
    WEAVE: "Weave",
    CLASP: "Fit the clasp",
    WEAR: "Wearing it",
    ALWAYS: "Above all",
}


@dataclass(frozen=True)
class Step:
    """One step at the bench.

    Attributes
    ----------
    step : one of :data:`ringwright.making.ring.cautions.STEPS`
    do : sentences
    cautions : of this step
    """

    step: str
    do: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def title(self) -> str:
        """In one or two words."""
        return TITLES[self.step]


def bench_steps(
    made: Counted, figures: PieceFigures
) -> tuple[tuple[Step, ...], tuple[Caution, ...]]:
    """What to do in bench order, each step with its cautions; and all cautions in order."""
    plan = made.plan
    todo = _todo(made, figures)
    worn = plan.sizing.measure.place if plan.sizing else None
    # Each caution once, however many metals share it.
    said = sorted(
        dict.fromkeys(
            one for metal in plan.metals or (None,) for one in cautions_for(list(todo), metal, worn)
        ),
        key=lambda one: STEPS.index(one.step),
    )
    steps = tuple(
        Step(step, tuple(lines), tuple(one.text for one in said if one.step == step))
        for step, lines in todo.items()
    )
    return steps, tuple(said)


def _todo(made: Counted, figures: PieceFigures) -> dict[str, list[str]]:
    plan, rings = made.plan, figures.rings
    todo: dict[str, list[str]] = {}
    if figures.cut is not None:
        if plan.asked.anneal:
            todo[ANNEAL] = _annealing_lines(plan.metals)
        todo[WIND] = [
            line
            for batch in rings
            for line in _winding_lines(batch, kind_in_words(batch, rings), figures.lengths)
        ]
        todo[SAW if figures.cut.tool == "saw" else SHEAR] = [_cutting_line(figures)]
        todo[DEBURR] = _deburring_lines(plan.metals)
    if figures.rings_closed:
        todo[CLOSE] = [f"Close {_by_size(rings, _closed)}, ends flush."]
    if figures.rings_to_open:
        todo[OPEN] = [
            f"Open {_by_size(rings, _to_open)} with a sideways twist, never by pulling the ends "
            "apart, and leave open."
        ]
    kinds = {"closed": _closed, "open": _to_open, "spare": _spares}
    piles = [f"{kind}: {_by_size(rings, count)}" for kind, count in kinds.items()]
    todo[SORT] = [f"Sort into piles. {capitalised('; '.join(piles))}."]
    todo[WEAVE] = [_weaving_line(figures)]
    if plan.clasp and figures.fit is not None:
        todo[CLASP] = [
            *_ending_lines(figures, plan.report.rule.family.closes_round),
            "The piece then measures "
            f"{figures.lengths.said(figures.fit.planned.finished_mm, PIECE_MM)}.",
        ]
    return todo


def _deburring_lines(metals: Sequence[Metal]) -> list[str]:
    """How cut ends are smoothed, metal by metal where these are not treated alike."""
    ways: dict[str, list[str]] = {}
    for metal in metals:
        ways.setdefault(metal.deburr, []).append(metal.name)
    if len(ways) < 2:
        return list(ways) or [USUAL_DEBURR]
    return [f"{capitalised(', '.join(names))}: {how}" for how, names in ways.items()]


def _annealing_lines(metals: Sequence[Metal]) -> list[str]:
    """How each metal is softened, named where there are several."""
    lines = []
    for metal in metals:
        first, *more = how_to_anneal(metal).steps
        name = f"{capitalised(metal.name)}: " if len(metals) > 1 else ""
        lines += [f"{name}{first}", *more]
    return lines


def kind_in_words(batch: RingFigures, batches: Sequence[RingFigures]) -> str:
    """What tells rings apart from those of other sizes and metals; nothing where all are alike.

    The first size has no name in the rule.
    """
    if len(batches) == 1:
        return ""
    size = "first-size" if batch.size == MAIN else batch.size
    if batch.metal is None or len({one.metal for one in batches}) == 1:
        return size
    return batch.metal if len({one.size for one in batches}) == 1 else f"{size} {batch.metal}"


def _closed(batch: RingFigures) -> int:
    return batch.closed


def _to_open(batch: RingFigures) -> int:
    return batch.open + batch.clasp


def _spares(batch: RingFigures) -> int:
    return batch.spares


def _ending_lines(figures: PieceFigures, is_tube: bool) -> list[str]:
    """How the ends take the clasp."""
    rings = counted(figures.rings_clasp, "ring")
    if figures.ends is None or figures.ends.kind == ONE:
        return [f"Fit the clasp with {rings}."]
    ends = figures.ends
    if ends.kind == BAR and is_tube:
        return [
            f"Fit the clasp with {rings}, one for each ring of the ends: {ends.first} at the "
            f"beginning and {ends.last} at the end stand too far apart for one ring. Bring those "
            "of an end together in the clasp's loop, under a cap if you like (common practice, no "
            "source)."
        ]
    if ends.kind == BAR:
        return [
            f"Fit a bar or slide clasp with {rings}, one for each ring of the ends: {ends.first} "
            f"at the beginning and {ends.last} at the end lie too far apart for one ring. A bar "
            "of as many loops, in the same distances, keeps the piece flat."
        ]
    lines = [
        f"Taper {at}: weave on as before, but with fewer rings each time, "
        f"{', then '.join(map(str, layers))}. Leave out each ring that only one other would hold."
        for at, layers in zip(("the beginning", "the end"), ends.tapers, strict=True)
        if layers
    ]
    return [*lines, f"Fit the clasp with {rings}, through the last ring of each taper."]


def _by_size(batches: Sequence[RingFigures], kind: Callable[[RingFigures], int]) -> str:
    """A count of rings, by size and metal where there are several."""
    there = [(kind_in_words(batch, batches), kind(batch)) for batch in batches if kind(batch)]
    total = counted(sum(count for _, count in there), "ring")
    if len(batches) == 1 or not there:
        return total
    if len(there) == 1:
        size, count = there[0]
        return counted(count, f"{size} ring")
    return f"{total} ({', '.join(f'{count} {size}' for size, count in there)})"


def _winding_lines(batch: RingFigures, kind: str, lengths: Lengths) -> list[str]:
    several = f"For {kind} rings: " if kind else ""
    lines = [several + _winding_line(batch, coil, lengths) for coil in batch.coils]
    if (nearest := batch.nearest_mandrel) is not None:
        lines.append(
            f"The nearest of your mandrels, {lengths.said(nearest.mandrel_mm, RING_MM)}, would "
            f"make rings of {lengths.said(nearest.inner_mm, TOOL_MM)} inside, aspect ratio "
            f"{number(nearest.aspect_ratio)}: to use it, plan again for it."
        )
    return lines


def _winding_line(batch: RingFigures, coil: CoilFigures, lengths: Lengths) -> str:
    plural, long, each = ("s", "each", "each ") if coil.coils > 1 else ("", "long", "")
    wire = lengths.said(batch.wire_diameter_mm, WIRE_MM, "wire" if batch.size == MAIN else "")
    it = "each" if coil.coils > 1 else "it"
    cut = (
        f"Cut {coil.coils} piece{plural} of {wire} wire, "
        f"{lengths.said(coil.wire_length_mm, WHOLE_MM)} {long}."
    )
    rings, long_mm = counted(coil.rings, "ring"), lengths.said(coil.length_mm, PIECE_MM)
    if coil.turns_wound is None or coil.length_wound_mm is None:
        return (
            f"{cut} Wind {each}so that the coil, let go, is "
            f"{lengths.said(batch.coil_inner_mm, TOOL_MM)} inside and has {coil.turns} close "
            f"turns, {long_mm} long, with {rings}: on the "
            "mandrel it has more turns, as it springs open."
        )
    return (
        f"{cut} Wind {each}on the {lengths.said(batch.mandrel_mm, TOOL_MM)} mandrel: "
        f"{number(coil.turns_wound)} close turns, {lengths.said(coil.length_wound_mm, PIECE_MM)} "
        f"long. Let go, {it} opens to {coil.turns} turns, {long_mm} long, with {rings}."
    )


def _cutting_line(figures: PieceFigures) -> str:
    made = counted(figures.rings_to_make, "ring")
    if figures.cut is not None and figures.cut.tool == "saw":
        return (
            "Saw along every coil in one straight line with a blade of "
            f"{figures.lengths.said(figures.cut.kerf_mm, RING_MM, 'kerf')} kerf, and discard the "
            f"part turns at its ends: {made}."
        )
    return f"Cut turn by turn, and discard the part turns at the ends: {made}."


def _weaving_line(figures: PieceFigures) -> str:
    if figures.repeats is None or figures.fit is None:
        return f"Weave the {figures.weave}: {counted(figures.rings_in_piece, 'ring')}."
    across = f" in {figures.rows} rows" if figures.rows > 1 else ""
    plural = "" if figures.repeats == 1 else "s"
    said = f"Weave {figures.repeats} repeat{plural} of {figures.weave}{across}"
    if figures.closed_into_itself:
        return (
            f"{said} and join the last to the first. Closed, it measures "
            f"{figures.lengths.said(figures.fit.planned.inside_mm, PIECE_MM)} round the inside. It "
            "has to slip over the widest place on the way to where it is worn."
        )
    long_mm = figures.lengths.said(figures.flat_mm, PIECE_MM)
    return f"{said}: {long_mm} {figures.fit.counted}, end rings included."
