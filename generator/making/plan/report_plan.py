"""A cutting plan as JSON for a script, and in words, tables and lines for a maker.

The JSON object comes first and holds every figure as it is shown, rounded to what the bench
can tell apart; terminal, CSV and PDF only print it, so that no two of them can differ.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from ringwright.answers.advice import warning
from ringwright.base.version import program_version
from ringwright.making.plan.piece_size import EASE_SOURCE, LENGTH, Sized, Sizing
from ringwright.making.plan.plan import Batch, Plan, Rings
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
    WEAR,
    WEAVE,
    WIND,
    Caution,
    cautions_for,
)
from ringwright.making.ring.coil import END_TURNS, TAIL_MM
from ringwright.making.shop.nearest import nearest_facts
from ringwright.making.shop.shop import COIL_MM

Facts = Mapping[str, Any]

_TITLES = {
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
HOW_FOUND = {
    "rings": "counted in the piece as it is laid out and drawn, plus clasp rings and spares",
    "coils": "helix of close turns; about one turn of each coil is lost at its ends, and the tail "
    "is held and never wound (common practice, no source)",
    "wire": "each coil's wire rounded up to a whole millimetre; mass from the metal's density",
    "time": "your own seconds a ring: every ring is wound and cut; closed rings are closed; open "
    "rings are opened and woven in, which includes closing them",
    "price": "markup times material and work",
}
_FEWER_SECONDS = "name your seconds a ring under [pace] in a shop file"


def _mm(value: float | None) -> float | None:
    """Millimetres of a ring, a wire or a tool: to 0.001."""
    return None if value is None else round(value, 3) + 0.0


def _long(value: float | None) -> float | None:
    """Millimetres of a coil or a piece: to 0.1."""
    return None if value is None else round(value, 1) + 0.0


def _fine(value: float | None) -> float | None:
    """Grams, money, ratios: to 0.01."""
    return None if value is None else round(value, 2) + 0.0


# --- facts ----------------------------------------------------------------------------


def plan_facts(plan: Plan, files: Mapping[str, str]) -> dict[str, Any]:
    """A plan as a JSON object; the keys are part of the interface."""
    report, rings = plan.report, plan.rings
    batches = [_batch_facts(plan, batch) for batch in plan.batches]
    bought = rings.stock is not None
    facts: dict[str, Any] = {
        "program": f"ringwright {program_version()}",
        "weave": report.rule.name,
        "summary": report.rule.summary,
        "verdict": report.verdict,
        "wire_mm": _mm(report.size.wire_mm),
        "inner_mm": _mm(report.size.inner_mm),
        "aspect_ratio": _fine(report.size.aspect_ratio),
        "min_aspect_ratio": _mm(report.limits.minimum),
        **_limit_facts(plan),
        "metal": rings.metal.name if rings.metal else None,
        "temper": rings.temper,
        "rings_from": _rings_from(plan),
        "fit": _taken_facts(plan),
        "repeats": plan.repeats,
        "rows": plan.rows,
        "flat_mm": _long(plan.piece.length_mm()),
        "width_mm": _long(plan.width_mm),
        "thickness_mm": _long(report.thickness_mm),
        "closed_into_itself": plan.endless,
        "rings_drawn": len(plan.piece),
        "rings_in_piece": sum(batch.in_piece for batch in plan.batches),
        "rings_open": sum(batch.rings_open for batch in plan.batches),
        "rings_closed": plan.rings_closed,
        "rings_end": sum(batch.end_rings for batch in plan.batches),
        "rings_clasp": sum(batch.clasp_rings for batch in plan.batches),
        "rings_to_open": plan.rings_to_open,
        "spares": sum(batch.spares for batch in plan.batches),
        "spares_percent": _fine(plan.asked.spares_percent),
        "rings_to_make": plan.to_make,
        "rings": batches,
        "cut": None if bought else _cut_facts(plan),
        **_metal_facts(plan),
    }
    facts["time"] = _time_facts(plan)
    facts["cost"] = _cost_facts(plan, facts["time"]["minutes"])
    facts["steps"], facts["cautions"] = _step_facts(plan, facts)
    facts["how_found"] = HOW_FOUND
    facts["files"] = dict(files)
    return facts


def _limit_facts(plan: Plan) -> dict[str, Any]:
    """The limits of the verdict, and what the paper has to say where rings are tight for it."""
    limits = plan.report.limits
    low, high = limits.working_range
    said = warning(plan.report)
    if said is not None:
        nearest = nearest_facts(plan.report, plan.rings.shop).get("nearest_said")
        said = " ".join(filter(None, [said, nearest]))
    return {
        "working_min_aspect_ratio": _mm(limits.working),
        "working_aspect_ratios": None if low > high else [_mm(low), _mm(high)],
        "warning": said,
    }


def _rings_from(plan: Plan) -> str:
    rings = plan.rings
    if rings.stock is not None:
        return rings.stock.name
    if rings.wire is not None:
        return rings.wire.name
    return ", ".join(filter(None, [rings.metal.name if rings.metal else None, rings.temper]))


def _batch_facts(plan: Plan, batch: Batch) -> dict[str, Any]:
    return {
        "size": batch.name,
        "wire_mm": _mm(batch.size.wire_mm),
        "inner_mm": _mm(batch.size.inner_mm),
        "aspect_ratio": _fine(batch.size.aspect_ratio),
        "open": batch.rings_open,
        "closed": batch.rings_closed,
        "end": batch.end_rings,
        "clasp": batch.clasp_rings,
        "spares": batch.spares,
        "to_make": batch.to_make,
        "mandrel_mm": _fine(batch.mandrel_mm),
        "coil_inner_mm": _fine(batch.made.coil_inner_mm) if batch.made else None,
        "nearest_mandrel": None
        if batch.nearest is None
        else {
            "mandrel_mm": _mm(batch.nearest.mandrel_mm),
            "inner_mm": _fine(batch.nearest.ring.inner_mm),
            "aspect_ratio": _fine(batch.nearest.ring.aspect_ratio),
        },
        "coils": [
            {
                "coils": coil.coils,
                "rings": coil.rings,
                "turns": coil.rings + int(END_TURNS),
                "wire_mm": int(coil.wire_mm),
                "length_mm": _long(coil.length_mm),
            }
            for coil in batch.coils
        ],
        "wire_m": round(batch.wire_mm / 1000.0, 3) if batch.coils else None,
        "wire_g": _fine(batch.wire_g),
        "cost": _fine(batch.cost),
    }


def _taken_facts(plan: Plan) -> dict[str, Any] | None:
    if plan.sizing is None:
        return None
    return {**fit_facts(plan.sizing), "taken": "shorter" if plan.asked.shorter else "longer"}


def fit_facts(sizing: Sizing) -> dict[str, Any]:
    """A measure and its two neighbours as a JSON object."""
    measure = sizing.measure
    return {
        "for": measure.place,
        "measure_mm": _long(measure.measure_mm),
        "ease_mm": _long(measure.ease_mm),
        "ease_from": EASE_SOURCE if measure.place != LENGTH else None,
        "clasp_mm": _long(measure.clasp_mm),
        "wanted_mm": _long(measure.wanted_mm),
        "shorter": _sized_facts(sizing.shorter),
        "longer": _sized_facts(sizing.longer),
    }


def _sized_facts(sized: Sized | None) -> dict[str, Any] | None:
    if sized is None:
        return None
    return {
        "repeats": sized.repeats,
        "flat_mm": _long(sized.flat_mm),
        "finished_mm": _long(sized.finished_mm),
        "inside_mm": _long(sized.inner_mm),
        "lost_mm": _long(sized.lost_mm),
        "how": sized.how,
    }


def _cut_facts(plan: Plan) -> dict[str, Any]:
    rings = plan.rings
    return {
        "tool": rings.cut.tool,
        "kerf_mm": _mm(rings.cut.kerf_mm),
        "longest_coil_mm": _long(rings.coil_mm),
        "longest_coil_from": _limit_from(rings),
        "end_turns": int(END_TURNS),
        "tail_mm": int(TAIL_MM),
    }


def _limit_from(rings: Rings) -> str:
    """Who says how long a coil may be."""
    if rings.shop is not None and rings.coil_mm == rings.shop.coil_mm:
        return "your shop file"
    return "common practice, no source" if rings.coil_mm == COIL_MM else "as you asked"


def _metal_facts(plan: Plan) -> dict[str, Any]:
    """Wire and grams; where the wire goes adds up to what is cut."""
    own = plan.rings.stock is None
    needed = [batch.ring_g and batch.ring_g * batch.needed for batch in plan.batches]
    spare = [batch.ring_g and batch.ring_g * batch.spares for batch in plan.batches]
    known = None not in needed
    piece_g = _fine(sum(part or 0.0 for part in needed)) if known else None
    spares_g = _fine(sum(part or 0.0 for part in spare)) if known else None
    wire_g = waste_g = None
    if own and piece_g is not None and spares_g is not None:
        wire_g = _fine(sum(batch.wire_g or 0.0 for batch in plan.batches)) or 0.0
        waste_g = _fine(wire_g - piece_g - spares_g)
    return {
        "wire_m": round(plan.wire_mm / 1000.0, 3) if own else None,
        "wire_g": wire_g,
        "piece_g": piece_g,
        "spares_g": spares_g,
        "waste_g": waste_g,
    }


def _time_facts(plan: Plan) -> dict[str, Any]:
    """Whole minutes for each step, and their sum."""
    each = [None if work.seconds is None else round(work.seconds / 60.0) for work in plan.work]
    known = [part for part in each if part is not None]
    minutes = sum(known) if len(known) == len(each) else None
    return {
        "steps": [
            {
                "step": work.step,
                "rings": work.rings,
                "seconds_each": _fine(work.seconds_each),
                "minutes": part,
            }
            for work, part in zip(plan.work, each, strict=True)
        ],
        "minutes": minutes,
        "in_words": None if minutes is None else _in_words(minutes),
        "missing": [work.step for work in plan.work if work.seconds is None],
    }


def _in_words(minutes: int) -> str:
    hours, left = divmod(minutes, 60)
    return f"{hours} h {left} min" if hours else f"{left} min"


def _cost_facts(plan: Plan, minutes: int | None) -> dict[str, Any]:
    """Money, each line rounded to a hundredth; sums are of what is shown."""
    rates = plan.rates
    material, clasp = _fine(plan.material_cost), _fine(plan.asked.clasp_price)
    work = None
    if minutes is not None and rates.per_hour is not None:
        work = _fine(minutes / 60.0 * rates.per_hour)
    parts = {"material": material, "work": work}
    if plan.clasp:
        parts["clasp"] = clasp
    total = price = None
    missing = [name for name, part in parts.items() if part is None]
    if not missing:
        total = _fine(sum(part or 0.0 for part in parts.values())) or 0.0
        # Half a hundredth goes up, as on paper.
        price = _fine(total * rates.markup + 1e-9)
    return {
        "currency": rates.currency,
        "material": material,
        "clasp": clasp if plan.clasp else None,
        "per_hour": _fine(rates.per_hour),
        "work": work,
        "total": total,
        "markup": _fine(rates.markup),
        "price": price,
        "missing": missing,
    }


# --- steps ----------------------------------------------------------------------------


def _step_facts(plan: Plan, facts: Facts) -> tuple[list[dict[str, Any]], list[dict[str, str]]]:
    """What to do in bench order, each step with its cautions; and all cautions in order."""
    todo = _todo(plan, facts)
    worn = plan.sizing.measure.place if plan.sizing else None
    said = cautions_for(list(todo), plan.rings.metal, worn)
    steps = [
        {
            "step": step,
            "title": _TITLES[step],
            "do": lines,
            "cautions": [caution.text for caution in said if caution.step == step],
        }
        for step, lines in todo.items()
    ]
    return steps, [_caution_facts(caution) for caution in said]


def _caution_facts(caution: Caution) -> dict[str, str]:
    return {"step": caution.step, "title": _TITLES[caution.step], "text": caution.text}


def _todo(plan: Plan, facts: Facts) -> dict[str, list[str]]:
    todo: dict[str, list[str]] = {}
    if plan.rings.stock is None:
        if plan.asked.anneal:
            todo[ANNEAL] = ["Anneal the wire until it is soft, let it cool, pickle and rinse it."]
        todo[WIND] = [line for batch in facts["rings"] for line in _winding_lines(batch, facts)]
        todo[SAW if plan.rings.cut.tool == "saw" else SHEAR] = [_cutting_line(facts)]
        todo[DEBURR] = ["Tumble or file the rings until no end catches on cloth."]
    rings = facts["rings"]
    if facts["rings_closed"]:
        todo[CLOSE] = [f"Close {_by_size(rings, ('closed',))}, ends flush."]
    if facts["rings_to_open"]:
        todo[OPEN] = [
            f"Open {_by_size(rings, ('open', 'clasp'))} with a sideways twist, never by pulling "
            "the ends apart, and leave open."
        ]
    kinds = {"closed": ("closed",), "open": ("open", "clasp"), "spare": ("spares",)}
    piles = [f"{kind}: {_by_size(rings, keys)}" for kind, keys in kinds.items()]
    todo[SORT] = [f"Sort into piles. {'; '.join(piles).capitalize()}."]
    todo[WEAVE] = [_weaving_line(plan, facts)]
    if plan.clasp:
        fit = facts["fit"]
        todo[CLASP] = [
            f"Fit the clasp with {_rings(facts['rings_clasp'])}. The piece then measures "
            f"{number(fit[fit['taken']]['finished_mm'])} mm."
        ]
    return todo


def _rings(count: int) -> str:
    return f"{count} ring{'' if count == 1 else 's'}"


def _by_size(batches: Sequence[Facts], kinds: Sequence[str]) -> str:
    """A count of rings, by size where there are several."""
    counts = [(batch["size"], sum(batch[kind] for kind in kinds)) for batch in batches]
    there = [(size, count) for size, count in counts if count]
    total = _rings(sum(count for _, count in there))
    if len(batches) == 1 or not there:
        return total
    if len(there) == 1:
        size, count = there[0]
        return f"{count} {size} ring{'' if count == 1 else 's'}"
    return f"{total} ({', '.join(f'{count} {size}' for size, count in there)})"


def _winding_lines(batch: Facts, facts: Facts) -> list[str]:
    several = f"For {batch['size']} rings: " if len(facts["rings"]) > 1 else ""
    mandrel = f"on the {number(batch['mandrel_mm'])} mm mandrel"
    if batch["mandrel_mm"] is None:
        mandrel = f"so that the coil, let go, is {number(batch['coil_inner_mm'])} mm inside"
    lines = []
    for coil in batch["coils"]:
        many = coil["coils"] > 1
        lines.append(
            f"{several}Cut {coil['coils']} piece{'s' if many else ''} of {number(batch['wire_mm'])}"
            f" mm wire, {coil['wire_mm']} mm {'each' if many else 'long'}. Wind "
            f"{'each ' if many else ''}{mandrel}: {coil['turns']} close turns make a coil of "
            f"{number(coil['length_mm'])} mm with {_rings(coil['rings'])}."
        )
    if nearest := batch["nearest_mandrel"]:
        lines.append(
            f"The nearest of your mandrels, {number(nearest['mandrel_mm'])} mm, would make rings "
            f"of {number(nearest['inner_mm'])} mm inside, aspect ratio "
            f"{number(nearest['aspect_ratio'])}: to use it, plan again with it."
        )
    return lines


def _cutting_line(facts: Facts) -> str:
    cut, made = facts["cut"], facts["rings_to_make"]
    if cut["tool"] == "saw":
        return (
            f"Saw along every coil in one straight line with a blade of {number(cut['kerf_mm'])} "
            f"mm kerf, and throw away the broken turns at its ends: {_rings(made)}."
        )
    return f"Cut turn by turn, and throw away the broken turns at the ends: {_rings(made)}."


def _weaving_line(plan: Plan, facts: Facts) -> str:
    if facts["repeats"] is None:
        return f"Weave the {facts['weave']}: {_rings(facts['rings_in_piece'])}."
    across = f" in {facts['rows']} rows" if facts["rows"] > 1 else ""
    said = f"Weave {facts['repeats']} repeats of {facts['weave']}{across}"
    if plan.endless:
        fit = facts["fit"]
        inside = number(fit[fit["taken"]]["inside_mm"])
        return (
            f"{said}, the last joined to the first instead of ends. Closed it measures {inside} mm "
            "round the inside. It has to pass over the widest place it is put on by."
        )
    return f"{said}: {number(facts['flat_mm'])} mm over the end rings, pulled straight."


# --- printing -------------------------------------------------------------------------


def number(value: float | None) -> str:
    """A figure as it stands in the facts, without needless noughts; a dash for none."""
    if value is None:
        return "-"
    return str(value) if isinstance(value, int) else f"{value:.3f}".rstrip("0").rstrip(".")


def tenths(value: float | None) -> str:
    """Millimetres of a coil or a piece, always with one place, so that they line up."""
    return "-" if value is None else f"{value:.1f}"


def money(value: float | None, currency: str) -> str:
    """An amount with two places."""
    return "-" if value is None else f"{value:.2f} {currency}"


def heading_lines(facts: Facts) -> list[str]:
    """What it is, in a few lines: size and verdict, limits, and what it is to fit."""
    metal = f", {facts['rings_from']}" if facts["rings_from"] else ""
    lines = [
        f"wire {number(facts['wire_mm'])} mm, inside {number(facts['inner_mm'])} mm, aspect ratio "
        f"{number(facts['aspect_ratio'])}: {facts['verdict']}{metal}",
        limits_line(facts),
    ]
    if fit := facts["fit"]:
        lines.append(fit_line(fit))
    return lines


def limits_line(facts: Facts) -> str:
    """What the verdict is taken from."""
    working, span = facts["working_min_aspect_ratio"], facts["working_aspect_ratios"]
    return (
        f"smallest AR {number(facts['min_aspect_ratio'])} (geometry), working minimum "
        f"{number(working) if working else 'not computed'}, working range "
        f"{' to '.join(map(number, span)) if span else 'none'}"
    )


def fit_line(fit: Facts) -> str:
    """What the piece is to fit."""
    clasp = "" if fit["clasp_mm"] is None else f", clasp of {number(fit['clasp_mm'])} mm included"
    if fit["for"] == LENGTH:
        return f"at least {number(fit['measure_mm'])} mm long{clasp}"
    closed = clasp or ", closed into itself"
    return (
        f"for a {fit['for']} of {number(fit['measure_mm'])} mm and {number(fit['ease_mm'])} mm of "
        f"ease: {number(fit['wanted_mm'])} mm inside{closed}"
    )


SIZE_HEADS = ("", "repeats", "lying flat", "finished", "inside, closed")


def size_rows(fit: Facts) -> list[tuple[str, ...]]:
    """The two neighbours as rows under ``SIZE_HEADS``, lengths in mm."""
    rows = []
    for which in ("shorter", "longer"):
        if sized := fit[which]:
            name = f"{which}, this plan" if fit.get("taken") == which else which
            lengths = [tenths(sized[key]) for key in ("flat_mm", "finished_mm", "inside_mm")]
            rows.append((name, str(sized["repeats"]), *lengths))
    return rows


RING_HEADS = ("rings", "wire", "inside", "AR", "open", "closed", "clasp", "spare", "make")


def ring_rows(facts: Facts) -> list[tuple[str, ...]]:
    """Counts by size as rows under ``RING_HEADS``, and their sums where there are several."""
    keys = ("open", "closed", "clasp", "spares", "to_make")
    rows = [
        (
            batch["size"],
            *(number(batch[key]) for key in ("wire_mm", "inner_mm", "aspect_ratio")),
            *(str(batch[key]) for key in keys),
        )
        for batch in facts["rings"]
    ]
    if len(rows) > 1:
        sums = ("rings_open", "rings_closed", "rings_clasp", "spares", "rings_to_make")
        rows.append(("all", "", "", "", *(str(facts[key]) for key in sums)))
    return rows


COIL_HEADS = ("rings", "mandrel", "coils", "rings each", "turns", "wire each", "coil long")


def coil_rows(facts: Facts) -> list[tuple[str, ...]]:
    """Coils as rows under ``COIL_HEADS``, lengths in mm."""
    return [
        (
            batch["size"],
            number(batch["mandrel_mm"]),
            *(str(coil[key]) for key in ("coils", "rings", "turns", "wire_mm")),
            tenths(coil["length_mm"]),
        )
        for batch in facts["rings"]
        for coil in batch["coils"]
    ]


def ring_note(facts: Facts) -> str:
    """What the counts mean."""
    ends = facts["rings_end"]
    told = f" Of these, {ends} {'ends' if ends == 1 else 'end'} the piece." if ends else ""
    return (
        f"{_rings(facts['rings_in_piece'])} in the weave.{told} Spares: "
        f"{number(facts['spares_percent'])} %, rounded up."
    )


def coil_note(facts: Facts) -> str:
    """What limits the coils and what is lost of them."""
    cut = facts["cut"]
    return (
        f"No coil longer than {number(cut['longest_coil_mm'])} mm ({cut['longest_coil_from']}). "
        f"{cut['end_turns']} turn of each is lost at its ends, {cut['tail_mm']} mm of tail is held."
    )


def metal_line(facts: Facts) -> str:
    """Wire and mass in a sentence."""
    said = []
    if facts["wire_m"] is not None:
        said.append(f"Wire {number(facts['wire_m'])} m")
    if facts["wire_g"] is not None:
        said.append(
            f"{number(facts['wire_g'])} g: {number(facts['piece_g'])} g in the piece, "
            f"{number(facts['spares_g'])} g in spares, {number(facts['waste_g'])} g of waste"
        )
    elif facts["piece_g"] is not None:
        said.append(f"The piece weighs {number(facts['piece_g'])} g without a clasp")
    return ", ".join(said) + ("" if facts["metal"] else " (name the metal for its mass)") + "."


def time_lines(facts: Facts) -> list[str]:
    """Time by step, and in all."""
    time = facts["time"]
    lines = [
        f"{step['step']} {_rings(step['rings'])} at {number(step['seconds_each'])} s: "
        f"{step['minutes']} min"
        for step in time["steps"]
        if step["minutes"] is not None
    ]
    if time["missing"]:
        return [*lines, f"not known: {', '.join(time['missing'])}; {_FEWER_SECONDS}"]
    return [*lines, f"in all {time['in_words']}"]


def cost_lines(facts: Facts) -> list[str]:
    """Money by item, what it comes to, and a price."""
    cost = facts["cost"]
    sign = cost["currency"]
    items = [("material", cost["material"], ""), ("clasp", cost["clasp"], "")]
    items.append(("work", cost["work"], f" at {money(cost['per_hour'], sign)} an hour"))
    lines = [
        f"{name}{more}: {money(value, sign)}" for name, value, more in items if value is not None
    ]
    if cost["missing"]:
        missing = ", ".join(cost["missing"])
        return [*lines, f"not known, so no price: {missing} (see your shop file and --clasp-price)"]
    return [
        *lines,
        f"costs in all: {money(cost['total'], sign)}",
        f"price suggested, times {number(cost['markup'])}: {money(cost['price'], sign)}",
    ]


def plan_text(facts: Facts) -> str:
    """A plan in plain words and tables."""
    lines = [f"Plan: {facts['weave']}", *(f"  {line}" for line in heading_lines(facts))]
    if facts["warning"]:
        lines += textwrap.wrap(
            facts["warning"], 98, initial_indent="  ! ", subsequent_indent="    "
        )
    if facts["fit"]:
        lines += ["", "Size, in mm", *table_lines((SIZE_HEADS, *size_rows(facts["fit"])))]
        lines += _wrapped(facts["fit"][facts["fit"]["taken"]]["how"])
    lines += ["", "Rings, sizes in mm", *table_lines((RING_HEADS, *ring_rows(facts)))]
    lines += _wrapped(ring_note(facts))
    if facts["cut"]:
        lines += ["", "Coils, lengths in mm", *table_lines((COIL_HEADS, *coil_rows(facts)))]
        lines += _wrapped(coil_note(facts))
    lines += _wrapped(metal_line(facts))
    lines += ["", "In bench order"]
    for step in facts["steps"]:
        for n, line in enumerate(step["do"]):
            head = step["title"] if n == 0 else ""
            lines += textwrap.wrap(
                line, 98, initial_indent=f"  {head:<15}", subsequent_indent=" " * 17
            )
        for caution in step["cautions"]:
            lines += textwrap.wrap(
                caution, 98, initial_indent=f"{'':<15}! ", subsequent_indent=" " * 17
            )
    for head, more in (("Time", time_lines(facts)), ("Money", cost_lines(facts))):
        lines += ["", head, *(part for line in more for part in _wrapped(line))]
    lines += ["", "Take care"]
    for caution in other_cautions(facts):
        lines += textwrap.wrap(caution, 98, initial_indent="  - ", subsequent_indent="    ")
    return "\n".join(lines)


def other_cautions(facts: Facts) -> list[str]:
    """The cautions that stand at no step."""
    shown = {step["step"] for step in facts["steps"]}
    return [one["text"] for one in facts["cautions"] if one["step"] not in shown]


def table_lines(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows in columns: the first to the left, figures to the right."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    return [
        "  "
        + "  ".join(
            f"{cell:<{width}}" if column == 0 else f"{cell:>{width}}"
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, 98, initial_indent="  ", subsequent_indent="    ")


# --- CSV ------------------------------------------------------------------------------

WORDS = "words"
CSV_HEADS = ("part", "item", "what", "figure", "unit")


def csv_rows(facts: Facts) -> list[tuple[str, str, str, str, str]]:
    """One figure a row, under ``CSV_HEADS``; what is not known is left out.

    Verdict and warning are no figures: their unit is ``WORDS``.
    """
    rows: list[tuple[str, str, str, str, str]] = []

    def add(part: str, item: str, figures: Facts, names: Mapping[str, str]) -> None:
        for key, unit in names.items():
            if figures[key] is not None:
                what = key.removesuffix(f"_{unit}").replace("_", " ")
                rows.append((part, item, what, number(figures[key]), unit))

    rows.append(("piece", facts["weave"], "verdict", facts["verdict"], WORDS))
    add("piece", facts["weave"], facts, _PIECE_UNITS)
    if facts["warning"]:
        rows.append(("piece", facts["weave"], "warning", facts["warning"], WORDS))
    if fit := facts["fit"]:
        add("size", fit["for"], fit, dict.fromkeys(("measure_mm", "ease_mm", "clasp_mm"), "mm"))
        for which in ("shorter", "longer"):
            if fit[which]:
                add("size", which, fit[which], _SIZED_UNITS)
    for batch in facts["rings"]:
        add("rings", batch["size"], batch, _RING_UNITS)
        for n, coil in enumerate(batch["coils"], start=1):
            add("coils", f"{batch['size']} {n}", coil, _COIL_UNITS)
    add("metal", "all", facts, {"wire_m": "m", **dict.fromkeys(_GRAMS, "g")})
    for step in facts["time"]["steps"]:
        add("time", step["step"], step, {"rings": "rings", "seconds_each": "s", "minutes": "min"})
    add("time", "all", facts["time"], {"minutes": "min"})
    sign = facts["cost"]["currency"]
    add("cost", "all", facts["cost"], dict.fromkeys(_MONEY, sign))
    return rows


_PIECE_UNITS = {
    **dict.fromkeys(("aspect_ratio", "min_aspect_ratio", "working_min_aspect_ratio"), ""),
    "repeats": "repeats",
    "rings_in_piece": "rings",
    "rings_to_make": "rings",
    **dict.fromkeys(("flat_mm", "width_mm", "thickness_mm"), "mm"),
}
_SIZED_UNITS = {
    "repeats": "repeats",
    **dict.fromkeys(("flat_mm", "finished_mm", "inside_mm", "lost_mm"), "mm"),
}
_RING_UNITS = {
    **dict.fromkeys(("wire_mm", "inner_mm", "mandrel_mm"), "mm"),
    "aspect_ratio": "",
    **dict.fromkeys(("open", "closed", "end", "clasp", "spares", "to_make"), "rings"),
}
_COIL_UNITS = {
    "coils": "coils",
    "rings": "rings",
    "turns": "turns",
    "wire_mm": "mm",
    "length_mm": "mm",
}
_GRAMS = ("wire_g", "piece_g", "spares_g", "waste_g")
_MONEY = ("material", "clasp", "work", "total", "price")
