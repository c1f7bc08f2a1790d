"""What a check or a preview found, as words for a maker and as JSON for a script."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.answers.advice import advice, answers, remarks
from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.verdict import Report
from ringwright.base.figures import head_of, lines
from ringwright.base.sizes import format_mm
from ringwright.base.terminal import figure_line, figure_lines, wrapped
from ringwright.weaves.rule import WeaveRule

# By what figure's name it is said how some were found.
_NAMED_BY = {
    "kept_minimums": "working_min_aspect_ratio",
    "second_rings": "main_closes_inner_mm",
}
# What stands beside the weave's name.
_SIZE = ("wire_mm", "inner_mm", "aspect_ratio")
# An answer in short is no longer than this.
_MOST_LINES = 8


def how_found_named(figures: CheckFigures) -> list[tuple[str, str]]:
    """How figures were found, by the names that a maker knows them by."""
    return [
        (head_of(CheckFigures, _NAMED_BY.get(key, key)), text)
        for key, text in figures.how_found.items()
    ]


def report_text(report: Report, more: Sequence[str] = (), why: bool = False) -> str:
    """A check in plain words.

    Parameters
    ----------
    more : advice that follows from a shop file
    why : every figure there is, and how each was found
    """
    figures = CheckFigures.of(report)
    size = [f"{name} {text}" for name, (text,) in lines(figures, only=_SIZE)]
    told = [f"{figures.weave}: {', '.join(size)}", f"Verdict: {figures.verdict}."]
    if why:
        told += _in_full(figures, [*advice(report), *more])
    else:
        first = answers(report)
        paragraphs = [*first, *more, *remarks(report)]
        told += _in_short(figures, paragraphs, bool(first), _MOST_LINES - len(told))
    return "\n".join(told)


def _in_full(figures: CheckFigures, paragraphs: Sequence[str]) -> list[str]:
    """All advice, every figure, and how each was found."""
    said = [""]
    for paragraph in paragraphs:
        said += [*wrapped(paragraph), ""]
    above = lines(figures, only=_SIZE)
    said += figure_lines(line for line in lines(figures) if line not in above)
    said += ["", "How this was found"]
    return said + figure_lines((name, (text,)) for name, text in how_found_named(figures))


def _in_short(
    figures: CheckFigures, paragraphs: Sequence[str], is_advised: bool, most: int
) -> list[str]:
    """What to do, and then those figures, the first asked for first, for which there is room."""
    said: list[str] = []
    for paragraph in paragraphs:
        told = wrapped(paragraph)
        said += told if len(said) + len(told) <= most else []
    said += [""] if len(said) < most - 1 else []
    return [*said, *_first_figures(figures, is_advised)[: most - len(said)]]


def _first_figures(figures: CheckFigures, is_advised: bool) -> list[str]:
    """The figures in the order in which a maker asks for them, each on a line.

    Parameters
    ----------
    is_advised : whether rings in the working range have been named already
    """
    facts = [_smallest(figures)]
    room, seconds = lines(figures, only=("room_mm",)), lines(figures, only=("second_rings",))
    working = lines(figures, only=("working_aspect_ratios",))
    if not figures.can_be_woven:
        told = [*room, *seconds, *facts, *working]
    else:
        measures = [*seconds, *lines(figures, only=("repeat_mm",)), _across(figures)]
        facts += room
        told = [*measures, *facts, *working] if is_advised else [*measures, *working, *facts]
    return [
        figure_line(name if n == 0 else "", text)
        for name, texts in told
        for n, text in enumerate(texts)
    ]


def _smallest(figures: CheckFigures) -> tuple[str, tuple[str, ...]]:
    """The smallest ratio at which it exists, and that at which it can be put together."""
    working, said = figures.working_min_aspect_ratio, f"{figures.min_aspect_ratio:.3f}"
    if working is not None:
        said += f"; every ring can be put in from {working:.3f}"
    return head_of(CheckFigures, "min_aspect_ratio"), (said,)


def _across(figures: CheckFigures) -> tuple[str, tuple[str, ...]]:
    """Width and thickness on one line."""
    names = [head_of(CheckFigures, name) for name in ("width_mm", "thickness_mm")]
    return " and ".join(names), (f"{figures.width_mm:.2f} by {figures.thickness_mm:.2f} mm",)


def rules_text(rules: Sequence[WeaveRule]) -> str:
    """The list of weaves for a maker."""
    lines = []
    column = max((len(rule.name) for rule in rules), default=0) + 2
    for rule in rules:
        common = rule.common_aspect_ratio
        span = "" if common is None else f", common AR {common.low:g} to {common.high:g}"
        lines.append(f"{rule.name:<{column}}{rule.rings_per_repeat} rings per repeat{span}")
        lines += [f"{'':<{column}}{text}" for text in _computed_lines(rule)]
        lines.append(f"{'':<{column}}{rule.summary}")
        if rule.trade_names:
            lines.append(f"{'':<{column}}also called: {', '.join(rule.trade_names)}")
    return "\n".join(lines)


def _computed_lines(rule: WeaveRule) -> list[str]:
    """What was computed, in a few words to stand below the range of makers."""
    kept = rule.computed
    if kept is None:
        return []
    working = "" if kept.working is None else f", can be put together from {kept.working:.2f}"
    size = ""
    if kept.wire_mm is not None and kept.inner_mm is not None:
        size = f", with {format_mm(kept.wire_mm)} wire and {format_mm(kept.inner_mm)} inside"
    return [f"computed: closes from AR {kept.geometric:.2f}{working}{size}"]
