"""A sweep as a picture: curves over the aspect ratio, or a map of wires and inner diameters."""

from __future__ import annotations

import math
import textwrap
import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from ringwright.answers.ratio_limits import AT_LIMIT, CANNOT, LOOSE, VERY_TIGHT, WORKING
from ringwright.base.sizes import format_mm
from ringwright.outputs.sweep.sweep import NO_REST, Row, Sweep, limits_of_all, one_limit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Sign:
    """How a verdict looks: marker on a curve, word in a map, colour of both, colour on it."""

    marker: str
    word: str
    colour: str
    ink: str = "black"


# From the palette of Okabe and Ito (from memory), which stays apart in every common kind of
# colour blindness, the limit's darkened; they have different lightness too, for print in grey.
SIGNS = {
    CANNOT: Sign("X", "no", "#000000", "white"),
    AT_LIMIT: Sign("D", "limit", "#994400", "white"),
    VERY_TIGHT: Sign("v", "tight", "#f0e442"),
    WORKING: Sign("o", "works", "#009e73"),
    LOOSE: Sign("s", "loose", "#56b4e9"),
    NO_REST: Sign("P", "?", "#ffffff"),
}
_DEEP_GREEN = "#00583f"
_PAPER = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.5}
_LINE, _LIMIT, _WORKS = "#0072b2", "#d55e00", "#009e73"
_STYLE = {
    # Nothing a maker's rule says is taken for a formula, and the same sweep gives the same bytes.
    "text.parse_math": False,
    "svg.hashsalt": "ringwright",
    "axes.formatter.useoffset": False,
    "font.size": 10.0,
    "hatch.linewidth": 0.6,
}
_DOTS_PER_INCH = 150
# Shares of a panel's width that a range's name takes across, and upright.
_NARROW, _NARROWEST = 0.15, 0.025


def plot_sweep(sweep: Sweep, rows: Sequence[Row], paths: Iterable[Path]) -> None:
    """Draw a sweep; each path's ending (.svg, .png) says in which format."""
    import matplotlib

    with matplotlib.rc_context(), warnings.catch_warnings():
        # A letter that the font lacks is drawn as a box; there is nothing to do about it.
        warnings.simplefilter("ignore", UserWarning)
        # A maker's own settings may be made for other plots.
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_STYLE)
        figure = sweep_figure(sweep, rows)
        for path in paths:
            kind = path.suffix[1:]
            about = {"Date": None} if kind == "svg" else {"Software": None}
            figure.savefig(path, format=kind, dpi=_DOTS_PER_INCH, metadata=about)


def sweep_figure(sweep: Sweep, rows: Sequence[Row]) -> Figure:
    """The picture itself: two panels over the aspect ratio, or the map of a grid."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(layout="constrained")
    FigureCanvasAgg(figure)
    (_map if sweep.is_grid else _curves)(figure, sweep, rows)
    return figure


def _title(sweep: Sweep, rows: Sequence[Row]) -> str:
    """What the plot is about, with the two figures a maker looks for first."""
    limit, common = one_limit(rows), sweep.rule.common_aspect_ratio
    said = [] if limit is None else [f"closes from AR {limit:.3f} (geometry)"]
    if common is not None:
        source = textwrap.shorten(common.provenance, 60)
        said.append(f"common range AR {common.low:g} to {common.high:g} ({source})")
    wire = "" if sweep.is_grid else f", wire {format_mm(sweep.sizes[0].wire_mm)}"
    return f"{sweep.rule.name}{wire}\n" + "; ".join(said)


def _curves(figure: Figure, sweep: Sweep, rows: Sequence[Row]) -> None:
    from matplotlib.ticker import MaxNLocator

    figure.set_size_inches(8.0, 7.5)
    upper, lower = figure.subplots(2, sharex=True)
    figure.suptitle(_title(sweep, rows), fontsize=11)
    # A finished piece has no repeat; there the width is what grows with the ring.
    key = "repeat_mm" if sweep.rule.repeat_vectors else "width_mm"
    upper.set_ylabel(f"{'one repeat' if key == 'repeat_mm' else 'width'} / inner diameter")
    _curve(upper, rows, [_over(getattr(row, key), row.inner_mm) for row in rows])
    lower.axhline(0.0, color="black", linewidth=1.0)
    lower.set_ylabel("room between rings / wire")
    _curve(lower, rows, [_over(row.room_mm, row.wire_mm) for row in rows])
    lower.set_xlabel("aspect ratio (AR) = inner diameter / wire")
    margin = 0.02 * (rows[-1].aspect_ratio - rows[0].aspect_ratio)
    lower.set_xlim(rows[0].aspect_ratio - margin, rows[-1].aspect_ratio + margin)
    wire_mm = rows[0].wire_mm
    inner = upper.secondary_xaxis(
        "top", functions=(lambda ratio: ratio * wire_mm, lambda inner_mm: inner_mm / wire_mm)
    )
    inner.set_xlabel("inner diameter, mm")
    for axes in (upper, lower):
        axes.grid(color="0.9", linewidth=0.6)
        axes.set_axisbelow(True)
        axes.yaxis.set_major_locator(MaxNLocator(8))
        _mark_ranges(axes, sweep, rows, named=axes is upper)
    figure.legend(*_legend(rows), loc="outside lower center", ncols=4, frameon=False)


def _over(length_mm: float | None, unit_mm: float) -> float | None:
    return None if length_mm is None else length_mm / unit_mm


def _curve(axes: Axes, rows: Sequence[Row], heights: Sequence[float | None]) -> None:
    points = [
        (row.aspect_ratio, height, SIGNS[row.verdict])
        for row, height in zip(rows, heights, strict=True)
        if height is not None
    ]
    axes.plot([x for x, _, _ in points], [y for _, y, _ in points], color=_LINE, linewidth=1.6)
    for x, y, sign in points:
        axes.plot(x, y, **_dot(sign), zorder=3)
    low, high = axes.get_ylim()
    # A length that is the same at every ratio shall look flat, not like rounding magnified.
    short = max(0.0, 0.2 - (high - low)) / 2
    # Above and below the curve there is space for the names of ranges.
    space = high - low + 2 * short
    axes.set_ylim(low - short - 0.1 * space, high + short + 0.18 * space)


class _Dot(TypedDict):
    """How a point of a plot is drawn, as the drawing library's own arguments."""

    marker: str
    markerfacecolor: str
    markeredgecolor: str
    markeredgewidth: float
    markersize: float
    linestyle: str


def _dot(sign: Sign) -> _Dot:
    return {
        "marker": sign.marker,
        "markerfacecolor": sign.colour,
        "markeredgecolor": "black",
        "markeredgewidth": 0.8,
        "markersize": 7.0,
        "linestyle": "none",
    }


def _mark_ranges(axes: Axes, sweep: Sweep, rows: Sequence[Row], named: bool) -> None:
    """Show where the weave does not close, where it begins to, and the working range."""
    left, right = axes.get_xlim()
    starts, limits = _starts_to_exist(rows), limits_of_all(sweep, rows)
    if starts > left:
        dead = (left, min(starts, right))
        axes.axvspan(*dead, facecolor="0.93", edgecolor="0.6", hatch="///", linewidth=0)
        share = (dead[1] - dead[0]) / (right - left)
        if named and share > _NARROWEST:
            # No curve is in the way of a name that stands upright.
            _name(axes, dead, "does not\nclose", "black", upright=share < _NARROW)
    if left < starts < right:
        axes.axvline(starts, color=_LIMIT, linewidth=2.0, linestyle="--")
        if named:
            _name_start(axes, starts)
    if limits is None:
        return
    low, high = limits.working_range
    if low < min(high, right) and high > left:
        works = (max(low, left), min(high, right))
        axes.axvspan(*works, facecolor=_WORKS, alpha=0.15, linewidth=0)
        for edge in (low, high):
            if left < edge < right:
                axes.axvline(edge, color=_WORKS, linewidth=1.2, linestyle=":")
        if named:
            _name(axes, works, f"working range\n{low:.2f} to {high:.2f}", _DEEP_GREEN)


def _name_start(axes: Axes, starts: float) -> None:
    """Say at the foot of the line where the weave begins to exist, on the side with space."""
    on_the_right = starts < sum(axes.get_xlim()) / 2
    axes.annotate(
        f"closes from AR {starts:.3f}",
        (starts, 0.03),
        xycoords=axes.get_xaxis_transform(),
        xytext=(5 if on_the_right else -5, 0),
        textcoords="offset points",
        ha="left" if on_the_right else "right",
        color=_LIMIT,
        weight="bold",
        bbox=_PAPER,
    )


def _name(
    axes: Axes, span: tuple[float, float], said: str, colour: str, upright: bool = False
) -> None:
    """Name a range at the top of a panel."""
    axes.text(
        sum(span) / 2,
        0.97,
        said.replace("\n", " ") if upright else said,
        transform=axes.get_xaxis_transform(),
        rotation="vertical" if upright else "horizontal",
        ha="center",
        va="top",
        color=colour,
        weight="bold",
        bbox=_PAPER,
    )


def _starts_to_exist(rows: Sequence[Row]) -> float:
    """The aspect ratio at which room begins; -inf or inf where it does not in this sweep."""
    if rows[0].room_mm >= 0.0:
        return -math.inf
    limit = one_limit(rows)
    if limit is not None:
        return limit
    for one, other in pairwise(rows):
        if one.room_mm < 0.0 <= other.room_mm:
            share = one.room_mm / (one.room_mm - other.room_mm)
            return one.aspect_ratio + share * (other.aspect_ratio - one.aspect_ratio)
    return math.inf


def _legend(rows: Sequence[Row]) -> tuple[list[Any], list[str]]:
    """A sign for every verdict that occurs."""
    from matplotlib.lines import Line2D

    verdicts = [verdict for verdict in SIGNS if any(row.verdict == verdict for row in rows)]
    return [Line2D([], [], **_dot(SIGNS[verdict])) for verdict in verdicts], verdicts


def _map(figure: Figure, sweep: Sweep, rows: Sequence[Row]) -> None:
    from matplotlib.patches import Patch, Rectangle

    across, up = len(sweep.inners), len(sweep.wires)
    figure.set_size_inches(max(7.0, 2.0 + 0.95 * across), max(4.0, 2.2 + 0.7 * up))
    axes = figure.subplots()
    figure.suptitle(_title(sweep, rows), fontsize=11)
    for place, row in enumerate(rows):
        y, x = divmod(place, across)
        sign = SIGNS[row.verdict]
        axes.add_patch(
            Rectangle((x, y), 1, 1, facecolor=sign.colour, edgecolor="white", linewidth=2)
        )
        write = partial(axes.text, x + 0.5, ha="center", color=sign.ink)
        write(y + 0.5, sign.word, va="bottom", weight="bold")
        write(y + 0.44, f"AR {row.aspect_ratio:.2f}", va="top", fontsize=8)
    axes.set(xlim=(0, across), ylim=(0, up), xlabel="inner diameter", ylabel="wire")
    inners_mm = [row.inner_mm for row in rows[:across]]
    wires_mm = [row.wire_mm for row in rows[::across]]
    axes.set_xticks([x + 0.5 for x in range(across)], _size_names(sweep.inners, inners_mm))
    axes.set_yticks([y + 0.5 for y in range(up)], _size_names(sweep.wires, wires_mm))
    axes.tick_params(length=0)
    axes.spines[:].set_visible(False)
    verdicts = [verdict for verdict in SIGNS if any(row.verdict == verdict for row in rows)]
    figure.legend(
        [Patch(facecolor=SIGNS[v].colour, edgecolor="black") for v in verdicts],
        [v if v == SIGNS[v].word else f"{SIGNS[v].word}: {v}" for v in verdicts],
        loc="outside lower center",
        ncols=2,
        frameon=False,
    )


def _size_names(texts: Sequence[str], lengths_mm: Sequence[float]) -> list[str]:
    """Lengths as the maker wrote them, with their millimetres where these are not the same."""
    names = []
    for text, length_mm in zip(texts, lengths_mm, strict=True):
        plain = format_mm(length_mm)
        same = text.replace(" ", "").lower() == plain.replace(" ", "")
        names.append(plain if same else f"{text}\n{plain}")
    return names
