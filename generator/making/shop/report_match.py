"""What is on the shelf for a weave, as a table for a maker."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.check_figures import limit_lines, own_lines
from ringwright.answers.ratio_limits import AT_LIMIT, VERY_TIGHT, WORKING
from ringwright.base.figures import cells, heads, of_words, or_blank
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import figure_line, table_lines, wrapped
from ringwright.base.wording import counted, listed
from ringwright.making.shop.mandrel_figures import ChoiceFigures
from ringwright.making.shop.match import Match
from ringwright.making.shop.match_figures import FitFigures, LeftOutFigures, MatchFigures

_NONE_WORKS = "Nothing on the shelf is in the working range. Nearest to it would be:"


def match_text(found: Match) -> str:
    """A match in plain words."""
    figures = MatchFigures.of(found)
    fits = figures.fits
    lines = [
        f"{found.rule.name}, {format_mm(figures.length_mm)}: "
        f"{counted(len(fits), 'choice')} of rings, best first; lengths in mm",
        *(figure_line(*line) for line in (*own_lines(found.rule), *_limits(found))),
        "",
        *_table(figures),
    ]
    for remark in _remarks(found, fits):
        lines += _wrapped(remark)
    if figures.to_buy or figures.rings_to_buy:
        lines += ["", _NONE_WORKS]
        for choice in figures.to_buy:
            lines += _wrapped(f"- {_to_buy_text(choice)}")
        for rings in figures.rings_to_buy:
            lines += _wrapped(
                f"- ready rings of {format_mm(rings.wire_mm)} wire, {rings.lowest_mm:.2f} to "
                f"{rings.highest_mm:.2f} mm inside"
            )
    if figures.mandrels and not figures.to_buy:
        lines += ["", "Which mandrel"]
        for choice in figures.mandrels:
            lines += _wrapped(f"- {choice.wire}: {_choice_text(choice)}")
    lines += _listed("Not laid out", [*_notes(fits), *map(_left_out, figures.left_out)])
    lines += _listed("Take care", figures.cautions)
    lines += ["", "How this was found"]
    for name, key in (("inner", "inner_mm"), ("mass", "mass_g"), ("cost", "cost")):
        lines += wrapped(figures.how_found[key], f"  {name:<12}", " " * 14)
    return "\n".join(lines)


def _limits(found: Match) -> list[tuple[str, str]]:
    """The limits, where all choices have the same."""
    kinds = {fit.limits for fit in found.fits}
    if len(kinds) != 1 or found.rule.has_fixed_rings:
        return []
    limits = kinds.pop()
    source = "from the room left between rings"
    if limits.common is not None:
        source = f"makers' range: {limits.common.provenance}"
    *others, (name, working) = limit_lines(limits)
    return [*others, (name, f"{working} ({source})")]


def _table(figures: MatchFigures) -> list[str]:
    rows = [cells(fit, or_blank) for fit in figures.fits]
    return table_lines((heads(FitFigures, figures.currency), *rows), of_words(FitFigures))


def _remarks(found: Match, fits: Sequence[FitFigures]) -> list[str]:
    """What some verdicts, and the wire and its cost, mean."""
    said = []
    if found.shares:
        said.append(
            f"The piece is of {listed(found.shares)}: rings, wire, mass and cost are those of the "
            "rings of each metal alone. Take rings of one inside for all of them."
        )
    if not all(fit.sure for fit in fits):
        said.append(
            "~ depends on the springback, which is not known exactly enough: wind a trial ring "
            "first and put it into the shop file."
        )
    if any(fit.verdict == AT_LIMIT for fit in fits):
        said.append(
            "At the limit: it closes or not by hundredths of a millimetre; 'ringwright check' says "
            "what such rings have to measure."
        )
    if any(fit.verdict == VERY_TIGHT for fit in fits):
        said.append(
            "Very tight: below the working minimum or what makers use; expect to spring or force "
            "some rings."
        )
    if any(ring.size is not None for ring in found.rule.rings):
        said.append(
            "The wire, and the cost of bought rings, are for rings of the first size; for wound "
            "rings the cost includes the metal of the other sizes at the same price."
        )
    if found.rule.has_fixed_rings:
        said.append(
            "The second rings are fixed, so each first ring has limits of its own: 'ringwright "
            "check' says which first and second rings close the weave together."
        )
    return said


def _notes(fits: Sequence[FitFigures]) -> list[str]:
    """Why there is no piece of some rings."""
    return [
        f"{', '.join(fit.rings_from for fit in fits if fit.note == note)}: {note}"
        for note in sorted({fit.note for fit in fits if fit.note})
    ]


def _left_out(figures: LeftOutFigures) -> str:
    return f"{figures.what}: {figures.why}"


def _listed(title: str, texts: Sequence[str]) -> list[str]:
    """Texts below their title; nothing for none."""
    lines = ["", title] if texts else []
    for text in texts:
        lines += _wrapped(f"- {text}")
    return lines


def _wrapped(text: str) -> list[str]:
    return wrapped(text, "  ", "    ")


def _choice_text(choice: ChoiceFigures) -> str:
    """A choice of mandrel in a few sentences."""
    said = f"{choice.mandrel_wanted_mm:.2f} mm would give AR {choice.aspect_ratio_wanted:.2f}"
    if choice.works_from_mm is None or choice.works_to_mm is None:
        said += "; no mandrel surely works, as the springback is not known well enough. "
    else:
        said += f"; anything from {choice.works_from_mm:.2f} to {choice.works_to_mm:.2f} mm works. "
    return said + choice.why


def _to_buy_text(choice: ChoiceFigures) -> str:
    """Which mandrel to buy for a wire."""
    chosen = choice.chosen
    if chosen is not None and chosen.verdict == WORKING:
        buy = f"for {choice.wire}, a mandrel of {format_mm(chosen.mandrel_mm)}"
    elif choice.works_from_mm is not None and choice.works_to_mm is not None:
        buy = (
            f"for {choice.wire}, a mandrel of {choice.works_from_mm:.2f} to "
            f"{choice.works_to_mm:.2f} mm (turned, or an odd size)"
        )
    else:
        buy = f"for {choice.wire}, first a trial ring"
    return f"{buy}. {_choice_text(choice)}"
