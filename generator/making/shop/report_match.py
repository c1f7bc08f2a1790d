"""What is on the shelf for a weave, as a table for a maker."""

from __future__ import annotations

from ringwright.answers.ratio_limits import AT_LIMIT, VERY_TIGHT, WORKING
from ringwright.answers.report import working_text
from ringwright.answers.second import own_said
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import figure_line, wrapped
from ringwright.base.wording import counted
from ringwright.making.shop.mandrel_choice import MandrelChoice
from ringwright.making.shop.match import Fit, Match
from ringwright.making.shop.match_figures import HOW_FOUND
from ringwright.making.shop.shop import ShopWire

_NONE_WORKS = "Nothing on the shelf is in the working range. Nearest to it would be:"


_HEADS = ("", "rings from", "inner", "AR", "repeat", "width", "rings", "wire m", "mass g")


def match_text(found: Match) -> str:
    """A match in plain words."""
    ways = len(found.fits)
    lines = [
        f"{found.rule.name}, {format_mm(found.length_mm)}: "
        f"{counted(ways, 'choice')} of rings, best first; lengths in mm",
        *(figure_line("second rings", f"{said} (your own)") for said in own_said(found.rule)),
        *_limit_lines(found),
        "",
        *_table(found),
    ]
    unsure = [fit for fit in found.fits if not fit.sure]
    if unsure:
        lines += _wrapped(
            "~ depends on the springback, which is not known exactly enough: wind a trial ring "
            "first and put it into the shop file."
        )
    if any(fit.verdict == AT_LIMIT for fit in found.fits):
        lines += _wrapped(
            "At the limit: it closes or not by hundredths of a millimetre; 'ringwright check' says "
            "what such rings have to measure."
        )
    if any(fit.verdict == VERY_TIGHT for fit in found.fits):
        lines += _wrapped(
            "Very tight: below the working minimum or what makers use; expect to spring or force "
            "some rings."
        )
    if any(ring.size is not None for ring in found.rule.rings):
        lines += _wrapped(
            "The wire, and the cost of bought rings, are for rings of the first size; for wound "
            "rings the cost includes the metal of the other sizes at the same price."
        )
    if found.rule.has_fixed_rings:
        lines += _wrapped(
            "The second rings are fixed, so each first ring has limits of its own: 'ringwright "
            "check' says which first and second rings close the weave together."
        )
    if found.to_buy or found.rings_to_buy:
        lines += ["", _NONE_WORKS]
        for wire, choice in found.to_buy:
            lines += _wrapped(f"- {_to_buy_text(wire, choice)}")
        for rings in found.rings_to_buy:
            lines += _wrapped(
                f"- ready rings of {format_mm(rings.wire_mm)} wire, {rings.lowest_mm:.2f} to "
                f"{rings.highest_mm:.2f} mm inside"
            )
    if found.mandrels and not found.to_buy:
        lines += ["", "Which mandrel"]
        for wire, choice in found.mandrels:
            lines += _wrapped(f"- {wire.name}: {choice_text(choice)}")
    notes = sorted({fit.note for fit in found.fits if fit.note})
    left_out = [f"{what}: {why}" for what, why in found.left_out]
    if notes or left_out:
        lines += ["", "Not laid out"]
        for note in notes:
            names = ", ".join(fit.candidate.name for fit in found.fits if fit.note == note)
            lines += _wrapped(f"- {names}: {note}")
        for note in left_out:
            lines += _wrapped(f"- {note}")
    if found.cautions():
        lines += ["", "Take care"]
        for caution in found.cautions():
            lines += _wrapped(f"- {caution}")
    lines += ["", "How this was found"]
    for name, key in (("inner", "inner_mm"), ("mass", "mass_g"), ("cost", "cost")):
        lines += wrapped(HOW_FOUND[key], f"  {name:<12}", " " * 14)
    return "\n".join(lines)


def _limit_lines(found: Match) -> list[str]:
    kinds = {fit.limits for fit in found.fits}
    if len(kinds) != 1 or found.rule.has_fixed_rings:
        return []
    limits = kinds.pop()
    working = "none computed" if limits.working is None else f"{limits.working:.3f}"
    source = "from the room left between rings"
    if limits.common is not None:
        source = f"makers' range: {limits.common.provenance}"
    return [
        figure_line("smallest aspect ratio", f"{limits.minimum:.3f} (geometry)"),
        figure_line("working minimum", working),
        figure_line("working range", f"{working_text(limits)} ({source})"),
    ]


def _table(found: Match) -> list[str]:
    heads = (*_HEADS, f"cost {found.shop.rates.currency}", "verdict")
    rows: list[tuple[str, ...]] = [heads]
    rows += [_row(rank, fit) for rank, fit in enumerate(found.fits, start=1)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    # Words to the left, figures to the right.
    left = (1, len(widths) - 1)
    return [
        "  ".join(
            f"{cell:<{width}}" if column in left else f"{cell:>{width}}"
            for column, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _row(rank: int, fit: Fit) -> tuple[str, ...]:
    one, layout = fit.candidate, fit.layout
    ring = f"{one.size.inner_mm:.2f}", f"{one.size.aspect_ratio:.2f}{'' if fit.sure else '~'}"
    return (
        str(rank),
        one.name,
        *ring,
        _shown(layout.repeat_mm if layout else None, 2),
        _shown(layout.width_mm if layout else None, 1),
        str(layout.rings) if layout else "",
        _shown(None if fit.wire_mm is None else fit.wire_mm / 1000.0, 2),
        _shown(fit.mass_g, 1),
        _shown(fit.cost, 2),
        fit.verdict + ("" if fit.sure else " ~"),
    )


def _shown(value: float | None, places: int) -> str:
    return "" if value is None else f"{value:.{places}f}"


def _wrapped(text: str) -> list[str]:
    return wrapped(text, "  ", "    ")


def choice_text(choice: MandrelChoice) -> str:
    """A choice of mandrel in a few sentences."""
    said = f"{choice.exact_mm:.2f} mm would give AR {choice.target:.2f}"
    if choice.lowest_mm is None or choice.highest_mm is None:
        said += "; no mandrel surely works, as the springback is not known well enough. "
    else:
        said += f"; anything from {choice.lowest_mm:.2f} to {choice.highest_mm:.2f} mm works. "
    return said + choice.why


def _to_buy_text(wire: ShopWire, choice: MandrelChoice) -> str:
    """Which mandrel to buy for a wire."""
    chosen = choice.chosen
    if chosen is not None and chosen.verdict == WORKING:
        buy = f"for {wire.name}, a mandrel of {format_mm(chosen.mandrel_mm)}"
    elif choice.lowest_mm is not None and choice.highest_mm is not None:
        buy = (
            f"for {wire.name}, a mandrel of {choice.lowest_mm:.2f} to {choice.highest_mm:.2f} mm "
            "(turned, or an odd size)"
        )
    else:
        buy = f"for {wire.name}, first a trial ring"
    return f"{buy}. {choice_text(choice)}"
