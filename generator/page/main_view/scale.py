"""Where a size stands between the limits of its weave, drawn and in words."""

from __future__ import annotations

from dataclasses import dataclass

from nicegui import ui
from nicegui.element import Element

from ringwright.answers.ratio_limits import (
    AT_LIMIT,
    CANNOT,
    LOOSE,
    VERY_TIGHT,
    WORKING,
    RatioLimits,
)
from ringwright.base.errors import BadInput
from ringwright.page.session import Session
from ringwright.page.widgets.elements import words
from ringwright.page.worked_out.ring_from_mandrel import ring_of

# How far the axis goes beyond the limits, in parts of what lies between them.
_BELOW, _ABOVE = 0.35, 0.5
_LEAST_SPAN = 0.5
_ZONES = {
    CANNOT: "cannot",
    AT_LIMIT: "limit",
    VERY_TIGHT: "tight",
    WORKING: "working",
    LOOSE: "loose",
}


@dataclass(frozen=True)
class Axis:
    """What a size is placed between, and how that is told."""

    limits: RatioLimits

    @property
    def ends(self) -> tuple[float, float]:
        """The lowest and the highest ratio that is drawn."""
        limits = self.limits
        high = max(limits.minimum, *limits.working_range)
        span = max(high - limits.minimum, _LEAST_SPAN)
        return max(1.0, limits.minimum - _BELOW * span), high + _ABOVE * span

    def place(self, ratio: float) -> float:
        """Where a ratio stands on the axis, in per cent; at its end if it is further out."""
        low, high = self.ends
        return 100.0 * min(max((ratio - low) / (high - low), 0.0), 1.0)

    def said(self, ratio: float) -> str:
        """A ratio among the limits, in a sentence."""
        least, name = self.limits.minimum, "geometric"
        if self.limits.working is not None:
            least, name = self.limits.working, "working"
        off = ratio - least
        away = f"{abs(off):.2f} {'below' if off < 0 else 'above'} the {name} minimum"
        return f"Aspect ratio {ratio:.2f}: {self.limits.verdict(ratio)}, {away}."

    def said_of_span(self, span: tuple[float, float]) -> str:
        """How far springback may take a ring, and what that means."""
        found = [self.limits.verdict(end) for end in span]
        meaning = found[0] if found[0] == found[1] else f"from {found[0]} to {found[1]}"
        return f"With the springback, {span[0]:.2f} to {span[1]:.2f}: {meaning}."


def build(session: Session) -> None:
    """The scale; a size that is dragged moves on it where the limits hold for all sizes."""
    figure = ui.element("figure").classes("scale")
    figure.set_visibility(False)
    drawn: _Scale | None = None
    of: object = None

    def answered() -> None:
        nonlocal drawn, of
        if session.answer is None:
            return
        report = session.answer.report
        if drawn is None or report.limits != drawn.axis.limits:
            figure.clear()
            with figure:
                drawn = _Scale(Axis(report.limits))
        of = session.rule if session.desk.limit(session.rule) is not None else None
        figure.set_visibility(True)
        drawn.move(report.size.aspect_ratio, _span(session))

    def moved() -> None:
        try:
            same = drawn is not None and of is not None and session.rule == of
            ratio = session.wanted.size().aspect_ratio
        except BadInput:
            same = False
        if same and drawn is not None:
            drawn.move(ratio, _span(session))
        elif session.answer is None:
            figure.set_visibility(False)

    session.on_answer.listen(answered)
    session.on_wanted.listen(moved)


def _span(session: Session) -> tuple[float, float] | None:
    """The ratios that springback may lead to; None for a ring that is given as it is."""
    if not session.wanted.mandrel:
        return None
    try:
        ring = ring_of(session.wanted, session.shop)
    except BadInput:
        return None
    if ring.span_mm is None:
        return None
    low, high = (end / ring.size.wire_mm for end in ring.span_mm)
    return low, high


class _Scale:
    """The drawn scale, and its key, which says the same in words."""

    def __init__(self, axis: Axis) -> None:
        self.axis = axis
        limits = axis.limits
        self._said = words("", "figcaption")
        with ui.element("div").classes("scale-bar").props("aria-hidden=true"):
            for zone in limits.zones:
                self._span(f"scale-zone zone-{_ZONES[zone.verdict]}", zone.low, zone.high)
            if limits.common is not None:
                self._span("scale-common", limits.common.low, limits.common.high)
            self._mark("mark-minimum", "\u25b2", limits.minimum)
            if limits.working is not None:
                self._mark("mark-working", "\u25b3", limits.working)
            self._may_be = ui.element("div").classes("scale-span")
            self._here = self._mark("mark-here", "\u25c6", limits.minimum)
        with ui.element("ul").classes("scale-key"):
            for sign, text in _key(limits):
                with ui.element("li"):
                    one = words(sign if len(sign) == 1 else "", "span")
                    one.classes("sign" if len(sign) == 1 else f"sign {sign}")
                    one.props["aria-hidden"] = "true"
                    words(text, "span")

    def move(self, ratio: float, span: tuple[float, float] | None) -> None:
        """Show another size, and what springback may make of it."""
        axis = self.axis
        self._here.style(f"left:{axis.place(ratio):.2f}%")
        self._may_be.set_visibility(span is not None)
        said = axis.said(ratio)
        if span is not None:
            left, right = map(axis.place, span)
            self._may_be.style(f"left:{left:.2f}%;width:{right - left:.2f}%")
            said += " " + axis.said_of_span(span)
        self._said.set_text(said)

    def _span(self, classes: str, low: float | None, high: float | None) -> None:
        left = 0.0 if low is None else self.axis.place(low)
        right = 100.0 if high is None else self.axis.place(high)
        ui.element("div").classes(classes).style(f"left:{left:.2f}%;width:{right - left:.2f}%")

    def _mark(self, name: str, sign: str, ratio: float) -> Element:
        made = words(sign, "span").classes(f"scale-mark {name}")
        return made.style(f"left:{self.axis.place(ratio):.2f}%")


def _key(limits: RatioLimits) -> list[tuple[str, str]]:
    """Signs, or classes of swatches, with what they mean."""
    key = [("\u25c6", "this size"), ("\u25b2", f"geometric minimum, {limits.minimum:.2f}")]
    if limits.working is not None:
        key.append(("\u25b3", f"working minimum, {limits.working:.2f}: rings can be put in"))
    if limits.common is not None:
        span = f"{limits.common.low:g} to {limits.common.high:g}"
        key.append(("swatch-common", f"common range, {span}"))
    for zone in limits.zones:
        if zone.low is None:
            span = f"below {zone.high:.2f}"
        elif zone.high is None:
            span = f"above {zone.low:.2f}"
        else:
            span = f"{zone.low:.2f} to {zone.high:.2f}"
        key.append((f"scale-swatch zone-{_ZONES[zone.verdict]}", f"{zone.verdict}, {span}"))
    return key
