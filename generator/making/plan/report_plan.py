"""A cutting plan in words, tables and lines for a maker, made of its figures alone."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any

from ringwright.base.figures import (
    Figures,
    Said,
    cell,
    cells,
    csv_cells,
    heads,
    in_print,
    number,
    sums,
)
from ringwright.base.terminal import COLUMNS, table_lines, wrapped
from ringwright.base.wording import counted
from ringwright.making.plan.bench_steps import size_in_words
from ringwright.making.plan.piece_figures import CoilFigures, CutFigures
from ringwright.making.plan.piece_size import LENGTH
from ringwright.making.plan.plan_figures import PlanFigures
from ringwright.making.plan.size_figures import FitFigures, SizedFigures, TakenFigures

# What rings are called where they are those of all sizes.
_ALL = "all"
_FEWER_SECONDS = "give your seconds per ring under [pace] in a shop file"


def money(value: float | None, currency: str) -> str:
    """An amount with two places."""
    return "-" if value is None else f"{value:.2f} {currency}"


def heading_lines(figures: PlanFigures) -> list[str]:
    """What it is, in a few lines: size and verdict, limits, and what it is to fit."""
    metal = f", {figures.rings_from}" if figures.rings_from else ""
    lines = [
        f"wire {number(figures.wire_diameter_mm)} mm, inside {number(figures.inner_mm)} mm, "
        f"aspect ratio {number(figures.aspect_ratio)}: {figures.verdict}{metal}",
        limits_line(figures),
    ]
    if fit := figures.fit:
        lines += [fit_line(fit), counted_line(fit)]
    return lines


def limits_line(figures: PlanFigures) -> str:
    """What the verdict is taken from."""
    working, span = figures.working_min_aspect_ratio, figures.working_aspect_ratios
    return (
        f"smallest aspect ratio {number(figures.min_aspect_ratio)} (geometry), working minimum "
        f"{number(working) if working else 'not computed'}, working range "
        f"{' to '.join(map(number, span)) if span else 'none'}"
    )


def fit_line(fit: FitFigures) -> str:
    """What the piece is to fit."""
    clasp = "" if fit.clasp_mm is None else f", clasp of {number(fit.clasp_mm)} mm included"
    if fit.place == LENGTH:
        return f"at least {number(fit.measure_mm)} mm long{clasp}"
    closed = clasp or ", closed into itself"
    return (
        f"for a {fit.place} of {number(fit.measure_mm)} mm and {number(fit.ease_mm)} mm of "
        f"ease: {number(fit.wanted_mm)} mm inside{closed}"
    )


def counted_line(fit: FitFigures) -> str:
    """The state in which lengths are counted."""
    return f"lengths are counted {fit.counted}"


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


def size_table(fit: FitFigures) -> Table:
    """The two neighbours of a measure."""
    taken = fit.taken if isinstance(fit, TakenFigures) else None
    rows = [
        (f"{which}, this plan" if which == taken else which, *cells(sized))
        for which, sized in (("shorter", fit.shorter), ("longer", fit.longer))
        if sized is not None
    ]
    return Table("Size", "in mm", ("", *heads(SizedFigures)), tuple(rows))


def ring_table(figures: PlanFigures, said: Said = in_print) -> Table:
    """Counts by size, and their sums where there are several."""
    batches, names = figures.rings, size_names(figures)
    rows = [(name, *cells(batch, said)) for name, batch in zip(names, batches, strict=True)]
    rows += [(_ALL, *sums(batches, said))] if len(rows) > 1 else []
    return Table("Rings", "sizes in mm", ("rings", *heads(type(batches[0]))), tuple(rows))


def coil_table(figures: PlanFigures, said: Said = in_print) -> Table:
    """The coils to wind, the longer ones of each size first."""
    rows = [
        (name, cell(batch, "mandrel_mm", said), *cells(coil, said))
        for name, batch in zip(size_names(figures), figures.rings, strict=True)
        for coil in batch.coils
    ]
    record = next((type(coil) for batch in figures.rings for coil in batch.coils), CoilFigures)
    return Table("Coils", "lengths in mm", ("rings", "mandrel", *heads(record)), tuple(rows))


def size_names(figures: PlanFigures) -> list[str]:
    """What the rings of each size are called in a table."""
    if len(figures.rings) == 1:
        return [_ALL]
    return [size_in_words(batch.size) for batch in figures.rings]


def ring_note(figures: PlanFigures) -> str:
    """What the counts mean."""
    ends = figures.rings_end
    told = (
        f" Of these, {ends} {'is an end ring' if ends == 1 else 'are end rings'}." if ends else ""
    )
    return (
        f"{counted(figures.rings_in_piece, 'ring')} in the weave.{told} Spares: "
        f"{number(figures.spares_percent)} %, rounded up."
    )


def coil_note(cut: CutFigures) -> str:
    """What limits the coils and what is lost of them."""
    return (
        f"No coil is wound longer than {number(cut.longest_coil_mm)} mm "
        f"({cut.longest_coil_from}). "
        f"{cut.end_turns} turn of each is lost at its ends, and {cut.tail_mm} mm of wire is held "
        "as a tail."
    )


def metal_line(figures: PlanFigures) -> str:
    """Wire and mass in a sentence."""
    said = []
    if figures.wire_m is not None:
        said.append(f"Wire {number(figures.wire_m)} m")
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
        f"{step.step} {counted(step.rings, 'ring')} at {number(step.seconds_each)} s: "
        f"{step.minutes} min"
        for step in time.steps
        if step.minutes is not None
    ]
    if time.missing:
        return [*lines, f"not known: {', '.join(time.missing)}; {_FEWER_SECONDS}"]
    return [*lines, f"in all {time.in_words}"]


def cost_lines(figures: PlanFigures) -> list[str]:
    """Money by item, what it comes to, and a price."""
    cost = figures.cost
    sign = cost.currency
    items = [("material", cost.material, ""), ("clasp", cost.clasp, "")]
    items.append(("work", cost.work, f" at {money(cost.per_hour, sign)} per hour"))
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
        f"suggested price, at {number(cost.markup)} times the cost: {money(cost.price, sign)}",
    ]


def plan_text(figures: PlanFigures) -> str:
    """A plan in plain words and tables."""
    lines = [f"Plan: {figures.weave}", *(f"  {line}" for line in heading_lines(figures))]
    if figures.warning:
        lines += wrapped(figures.warning, "  ! ", "    ")
    if figures.fit:
        lines += _table_lines(size_table(figures.fit))
        lines += _wrapped(figures.fit.planned.how)
    lines += _table_lines(ring_table(figures))
    lines += _wrapped(ring_note(figures))
    if figures.cut:
        lines += _table_lines(coil_table(figures))
        lines += _wrapped(coil_note(figures.cut))
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
    for batch in figures.rings:
        parts.append(("rings", batch.size, batch))
        parts += [("coils", f"{batch.size} {n}", coil) for n, coil in enumerate(batch.coils, 1)]
    parts.append(("metal", "all", figures))
    parts += [("time", work.step, work) for work in figures.time.steps]
    return [*parts, ("time", "all", figures.time), ("cost", "all", figures.cost)]
