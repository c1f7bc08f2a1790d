"""The same look in another gauge: the aspect ratio stays, everything else follows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ringwright.answers.minimums import with_other_shapes
from ringwright.answers.verdict import Report, check
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress
from ringwright.base.sizes import RingSize, format_mm
from ringwright.making.ring.coil import Cut
from ringwright.making.ring.wire import Bending
from ringwright.making.shop.mandrel_choice import MandrelChoice, mandrel_choice
from ringwright.making.shop.piece_counts import Layout, laid_out
from ringwright.outputs.sweep.sweep import metal
from ringwright.solver.tightest import has_one_limit, known_tightest
from ringwright.weaves.rule import WeaveRule

MOST_WIRES = 20


@dataclass(frozen=True, eq=False)
class Regauged:
    """The weave in one wire.

    Attributes
    ----------
    wire_text : as it was typed
    rings_per_m, mass_g_per_m : of the weave pulled straight (of a sheet: of one row of
        repeats); None for a piece without repeats, and the mass where no metal was named
    layout : the piece of the length asked for; None if none was asked for
    mandrel : the mandrel for exactly this ring and its neighbours; None where no metal and
        temper were named or no mandrel makes it
    """

    wire_text: str
    report: Report
    rings_per_m: float | None
    mass_g_per_m: float | None
    layout: Layout | None
    mandrel: MandrelChoice | None


def regauge(
    rule: WeaveRule,
    wires: Sequence[tuple[str, float]],
    aspect_ratio: float,
    density_g_per_cm3: float | None,
    bends: Bending | None,
    cut: Cut,
    length_mm: float | None,
    on_progress: Progress,
) -> tuple[Regauged, ...]:
    """A weave of one aspect ratio in several wires, the first being what is now.

    Parameters
    ----------
    wires : as typed, and in millimetres
    density_g_per_cm3 : of the metal; None where none was named
    bends : how the first wire springs back, and so the others of its metal and temper; None where
        that is not known
    length_mm : of a piece to count the rings of; None for none

    Raises
    ------
    BadInput
        When the rule's placement does not have its links, or the length does not fit.
    NoRest
        When the solver finds no resting place at that ratio.
    """
    sizes = [RingSize(wire_mm, aspect_ratio * wire_mm) for _, wire_mm in wires]
    limit = None
    if has_one_limit(rule):
        limit = known_tightest(
            rule, sizes[0], on_progress=lambda done, of: on_progress("tightest ring", done, of)
        )
        limit = with_other_shapes(rule, sizes, limit)
    found = []
    for n, ((text, _), size) in enumerate(zip(wires, sizes, strict=True)):
        on_progress("wires", n, len(sizes))
        report = check(rule, size, limit=limit)
        rings, mass_g = _per_metre(report, density_g_per_cm3)
        piece = None
        if length_mm is not None and report.can_be_woven:
            piece = laid_out(report, length_mm)
        # What is known of the wire at hand is less sure of the others.
        mandrel = _mandrel(
            report, bends if n == 0 or not bends else bends.of_wire(size.wire_mm), cut
        )
        found.append(Regauged(text, report, rings, mass_g, piece, mandrel))
    on_progress("wires", len(sizes), len(sizes))
    return tuple(found)


def _per_metre(
    report: Report, density_g_per_cm3: float | None
) -> tuple[float | None, float | None]:
    """Rings, and grams of metal, in a metre."""
    if report.repeat_mm is None:
        return None, None
    repeats = 1000.0 / report.repeat_mm
    rings = len(report.rule.rings) * report.rule.around * repeats
    if density_g_per_cm3 is None:
        return rings, None
    _, volume_mm3 = metal(report.rule, report.size)
    return rings, report.rule.around * volume_mm3 * repeats * density_g_per_cm3 / 1000.0


def _mandrel(report: Report, bends: Bending | None, cut: Cut) -> MandrelChoice | None:
    if bends is None:
        return None
    target = report.size.aspect_ratio
    try:
        return mandrel_choice(report.size.wire_mm, bends, cut, report.limits, target=target)
    except BadInput:
        # Wire that thin and hard is bent round no mandrel; the ring can still be bought.
        return None


def listed_wires(texts: str, parse: Callable[[str, str], float]) -> list[tuple[str, float]]:
    """Wires of a list with commas, as typed and in millimetres.

    Raises
    ------
    BadInput
        When one cannot be read or is there twice, or there are more than 20.
    """
    wires: dict[float, str] = {}
    for text in map(str.strip, texts.split(",")):
        wire_mm = parse(text, "wire")
        if wire_mm in wires:
            raise BadInput(
                f"wire {text!r} is in the list twice ({format_mm(wire_mm)}); leave one out."
            )
        wires[wire_mm] = text
    if len(wires) > MOST_WIRES:
        raise BadInput(
            f"--to has {len(wires)} wires, but takes at most {MOST_WIRES}; ask for fewer."
        )
    return [(text, wire_mm) for wire_mm, text in wires.items()]
