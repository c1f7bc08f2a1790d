"""A cutting plan in words, tables and lines for a maker, made of its figures alone."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

from ringwright.answers.count_figures import hung_lines
from ringwright.base.figures import (
    PIECE_MM,
    RING_MM,
    Figures,
    Said,
    cell,
    cells,
    csv_cells,
    heads,
    number,
    sums,
)
from ringwright.base.terminal import COLUMNS, table_lines, wrapped
from ringwright.base.wording import counted
from ringwright.making.plan.bench_steps import kind_in_words
from ringwright.making.plan.lengths import Lengths
from ringwright.making.plan.piece_figures import WHOLE_MM, WIRE_MM, CoilFigures
from ringwright.making.plan.piece_size import LENGTH
from ringwright.making.plan.plan_figures import PlanFigures, WorkFigures
from ringwright.making.plan.size_figures import FitFigures, SizedFigures, TakenFigures

# What rings are called where they are those of all sizes.
_ALL = "all"
# What steps are called that are no plain words.
_STEPS = {"setup": "set up"}
_FEWER_SECONDS = "give your seconds per ring under [pace] in a shop file"


_IN_MM = Lengths()


def money(value: float | None, currency: str) -> str:
    """An amount with two places."""
    return "-" if value is None else f"{value:.2f} {currency}"


def heading_lines(figures: PlanFigures) -> list[str]:
    """What it is, in a few lines: size and verdict, limits, and what it is to fit."""
    metal = f", {figures.rings_from}" if figures.rings_from else ""
    lines = [
        f"{_ring_line(figures)}: {figures.verdict}{metal}",
        limits_line(figures),
    ]
    if taken := figures.colours_taken:
        said = ", ".join(f"{colour} as {metal}" for colour, metal in taken.items())
        lines.append(f"colours taken for metals: {said}")
    if fit := figures.fit:
        lines += [fit_line(fit, figures.lengths), counted_line(fit), *hung_and_safe(figures)]
    return lines


def _ring_line(figures: PlanFigures) -> str:
    """The ring of the first size, with what was typed of it."""
    lengths, typed = figures.lengths, figures.typed
    outside = f", outside {typed['outer']}" if "outer" in typed else ""
    return (
        f"wire {lengths.said(figures.wire_diameter_mm, WIRE_MM, 'wire')}, inside "
        f"{lengths.said(figures.inner_mm, RING_MM, 'inner')}{outside}, aspect ratio "
        f"{number(figures.aspect_ratio)}"
    )


def limits_line(figures: PlanFigures) -> str:
    """What the verdict is taken from."""
    working, span = figures.working_min_aspect_ratio, figures.working_aspect_ratios
    return (
        f"smallest aspect ratio {number(figures.min_aspect_ratio)} (geometry), working minimum "
        f"{number(working) if working else 'not computed'}, working range "
        f"{' to '.join(map(number, span)) if span else 'none'}"
    )


def fit_line(fit: FitFigures, lengths: Lengths = _IN_MM) -> str:
    """What the piece is to fit."""
    said, measure = lengths.said, lengths.said(fit.measure_mm, PIECE_MM, fit.place)
    clasp = ""
    if fit.clasp_mm is not None:
        clasp = f", clasp of {said(fit.clasp_mm, PIECE_MM, 'clasp')} included"
    if fit.place == LENGTH:
        return f"at least {measure} long{clasp}"
    closed = clasp or ", closed into itself"
    return (
        f"for a {fit.place} of {measure} and {said(fit.ease_mm, PIECE_MM, 'ease')} of "
        f"ease: {said(fit.wanted_mm, PIECE_MM)} inside{closed}"
    )


def counted_line(fit: FitFigures) -> str:
    """The state in which lengths are counted."""
    return f"lengths are counted {fit.counted}"


def hung_and_safe(figures: PlanFigures) -> list[str]:
    """What a sheet of that size takes hung, and which count is safe to buy by."""
    return [*hung_lines(figures.if_hung), f"safe to buy by: {figures.safe_to_buy_by}"]


@dataclass(frozen=True)
class Table:
    """A table of a plan, on a terminal, on paper and on the page.

    Attributes
    ----------
    measured : what its lengths are in, where they stand without their unit
    """

    title: str
    measured: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def size_table(fit: FitFigures, lengths: Lengths = _IN_MM) -> Table:
    """The two neighbours of a measure."""
    taken = fit.taken if isinstance(fit, TakenFigures) else None
    rows = [
        (f"{which}, this plan" if which == taken else which, *cells(sized, lengths.cell))
        for which, sized in (("shorter", fit.shorter), ("longer", fit.longer))
        if sized is not None
    ]
    return Table("Size", lengths.measured, ("", *heads(SizedFigures)), tuple(rows))


def ring_table(figures: PlanFigures, said: Said | None = None) -> Table:
    """Counts by size, and their sums where there are several."""
    said = said or figures.lengths.cell
    batches, names = figures.rings, size_names(figures)
    rows = [(name, *cells(batch, said)) for name, batch in zip(names, batches, strict=True)]
    rows += [(_ALL, *sums(batches, said))] if len(rows) > 1 else []
    measured = f"sizes {figures.lengths.measured}"
    return Table("Rings", measured, ("rings", *heads(type(batches[0]))), tuple(rows))


def coil_table(figures: PlanFigures, said: Said | None = None) -> Table:
    """The coils to wind, the longer ones of each size first."""
    said = said or figures.lengths.cell
    rows = [
        (name, cell(batch, "mandrel_mm", said), *cells(coil, said))
        for name, batch in zip(size_names(figures), figures.rings, strict=True)
        for coil in batch.coils
    ]
    record = next((type(coil) for batch in figures.rings for coil in batch.coils), CoilFigures)
    measured = f"lengths {figures.lengths.measured}"
    return Table("Coils", measured, ("rings", "mandrel", *heads(record)), tuple(rows))


def size_names(figures: PlanFigures) -> list[str]:
    """What the rings of each size and metal are called in a table."""
    if len(figures.rings) == 1:
        return [_ALL]
    return [kind_in_words(batch, figures.rings) for batch in figures.rings]


def metal_table(figures: PlanFigures) -> Table:
    """What each of several metals takes."""
    currency = figures.cost.currency
    rows = [(share.metal, *cells(share)) for share in figures.metals]
    rows.append((_ALL, *sums(figures.metals)))
    heading = ("rings", *heads(type(figures.metals[0]), currency))
    return Table("Metals", "spares and waste included", heading, tuple(rows))


def ring_note(figures: PlanFigures) -> str:
    """What the counts mean."""
    ends = figures.rings_end
    told = (
        f" Of these, {ends} {'is an end ring' if ends == 1 else 'are end rings'}." if ends else ""
    )
    if figures.ends is not None and (tapered := sum(map(sum, figures.ends.tapers))):
        told += f" {counted(tapered, 'ring')} {'is' if tapered == 1 else 'are'} in its tapers."
    for batch in figures.rings:
        if batch.packs is not None:
            told += f" To buy of {batch.rings_from}: {counted(batch.packs, 'pack')}."
    return (
        f"{counted(figures.rings_in_piece, 'ring')} in the weave.{told} Spares: "
        f"{number(figures.spares_percent)} %, rounded up."
    )


def coil_note(figures: PlanFigures) -> str:
    """What limits the coils and what is lost of them; nothing for bought rings."""
    if (cut := figures.cut) is None:
        return ""
    said = figures.lengths.said
    return (
        f"No coil is wound longer than {said(cut.longest_coil_mm, PIECE_MM, 'coil')} "
        f"({cut.longest_coil_from}). "
        f"{cut.end_turns} turn of each is lost at its ends, and "
        f"{said(cut.tail_mm, WHOLE_MM)} of wire is held as a tail."
    )


def metal_line(figures: PlanFigures) -> str:
    """Wire and mass in a sentence."""
    said = []
    if figures.wire_m is not None:
        said.append(f"Wire {figures.lengths.long(figures.wire_m)}")
    if figures.wire_g is not None:
        said.append(
            f"{number(figures.wire_g)} g: {number(figures.piece_g)} g in the piece, "
            f"{number(figures.spares_g)} g in spares, {number(figures.waste_g)} g of waste"
        )
    elif figures.piece_g is not None:
        said.append(f"The piece weighs {number(figures.piece_g)} g without a clasp")
    return ", ".join(said) + ("" if figures.metal else " (give the metal to get the mass)") + "."


def time_lines(figures: PlanFigures) -> list[str]:
    """Time by step, and in all."""
    time = figures.time
    lines = [
        f"{_name(step)} {counted(step.times, step.done_to)} at {number(step.seconds_each)} s: "
        f"{step.minutes} min"
        for step in time.steps
        if step.minutes is not None and not step.is_usual
    ]
    usual = [f"{_name(step)} {step.minutes}" for step in time.steps if step.is_usual]
    if usual:
        lines.append(f"{', '.join(usual)} min: usual paces (common practice, no source)")
    if time.missing:
        return [*lines, f"not known: {', '.join(time.missing)}; {_FEWER_SECONDS}"]
    return [*lines, f"in all {time.in_words}"]


def _name(step: WorkFigures) -> str:
    return _STEPS.get(step.step, step.step)


def cost_lines(figures: PlanFigures) -> list[str]:
    """Money by item, what it comes to, and a price."""
    cost = figures.cost
    sign = cost.currency
    items = [("material", cost.material, ""), ("clasp", cost.clasp, "")]
    items.append(("work", cost.work, f" at {money(cost.per_hour, sign)} per hour"))
    if cost.overhead_percent:
        items.append(("overhead", cost.overhead, f", {number(cost.overhead_percent)} %"))
    lines = [
        f"{name}{more}: {money(value, sign)}" for name, value, more in items if value is not None
    ]
    if cost.missing:
        missing = ", ".join(cost.missing)
        return [
            *lines,
            f"no total, as these are not known: {missing} (give them in your shop "
            "file, or with --clasp-price)",
        ]
    return [
        *lines,
        f"total cost: {money(cost.total, sign)}",
        f"wholesale price, at {number(cost.markup)} times the cost: {money(cost.price, sign)}",
        f"retail price, at {number(cost.retail)} times that"
        f"{' (common practice, no source)' if cost.retail_is_usual else ''}: "
        f"{money(cost.retail_price, sign)}",
    ]


def _heads(figures: PlanFigures) -> list[str]:
    return [part for line in heading_lines(figures) for part in wrapped(line, "  ", "    ")]


def plan_text(figures: PlanFigures) -> str:
    """A plan in plain words and tables."""
    lines = [f"Plan: {figures.weave}", *_heads(figures)]
    if figures.warning:
        lines += wrapped(figures.warning, "  ! ", "    ")
    if figures.fit:
        lines += _table_lines(size_table(figures.fit, figures.lengths))
        lines += _wrapped(figures.fit.planned.how)
    lines += _table_lines(ring_table(figures))
    lines += _wrapped(ring_note(figures))
    if figures.cut:
        lines += _table_lines(coil_table(figures))
        lines += _wrapped(coil_note(figures))
    if len(figures.metals) > 1:
        lines += _table_lines(metal_table(figures))
    lines += _wrapped(metal_line(figures))
    lines += ["", "Step by step"]
    for step in figures.steps:
        for n, line in enumerate(step.do):
            head = step.title if n == 0 else ""
            lines += wrapped(line, f"  {head:<15}", " " * 17)
        for caution in step.cautions:
            lines += wrapped(caution, f"{'':<15}! ", " " * 17)
    for head, more in (("Time", time_lines(figures)), ("Money", cost_lines(figures))):
        lines += ["", head, *(part for line in more for part in _wrapped(line))]
    lines += ["", "Take care"]
    for caution in other_cautions(figures):
        lines += wrapped(caution, "  - ", "    ")
    return "\n".join(lines)


def other_cautions(figures: PlanFigures) -> list[str]:
    """The cautions that stand at no step."""
    shown = {step.step for step in figures.steps}
    return [one.text for one in figures.cautions if one.step not in shown]


def _table_lines(table: Table) -> list[str]:
    return ["", f"{table.title}, {table.measured}", *table_lines((table.heads, *table.rows))]


def _wrapped(text: str) -> list[str]:
    # A name such as --clasp-price stays whole.
    return textwrap.wrap(
        text, COLUMNS, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False
    )


# --- CSV ------------------------------------------------------------------------------

CSV_HEADS = ("part", "item", "what", "figure", "unit")


def csv_rows(figures: PlanFigures) -> list[tuple[str, str, str, str, str]]:
    """One figure a row, under ``CSV_HEADS``; what is not known is left out.

    Verdict and warning are no figures: their unit is ``words``.
    """
    currency = figures.cost.currency
    return [
        (part, item, *row)
        for part, item, record in _csv_parts(figures)
        for row in csv_cells(record, part, currency)
    ]


def _csv_parts(figures: PlanFigures) -> list[tuple[str, str, Figures[Any]]]:
    """The parts of the CSV file, the item each is about, and the record with its figures."""
    parts: list[tuple[str, str, Figures[Any]]] = [("piece", figures.weave, figures)]
    if (fit := figures.fit) is not None:
        parts.append(("size", fit.place, fit))
        for which, sized in (("shorter", fit.shorter), ("longer", fit.longer)):
            parts += [] if sized is None else [("size", which, sized)]
    several = len(figures.metals) > 1
    for batch in figures.rings:
        name = f"{batch.size} {batch.metal}" if several else batch.size
        parts.append(("rings", name, batch))
        parts += [("coils", f"{name} {n}", coil) for n, coil in enumerate(batch.coils, 1)]
    if several:
        parts += [("metal", share.metal, share) for share in figures.metals]
    parts.append(("metal", "all", figures))
    parts += [("time", work.step, work) for work in figures.time.steps]
    return [*parts, ("time", "all", figures.time), ("cost", "all", figures.cost)]
