"""Where a size stands between the limits of its weave, drawn and in words."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from nicegui import ui
from nicegui.element import Element
from nicegui.events import GenericEventArguments

from ringwright.answers.ratio_limits import (
    AT_LIMIT,
    CANNOT,
    LOOSE,
    VERY_TIGHT,
    WORKING,
    RatioLimits,
)
from ringwright.base.errors import BadInput
from ringwright.base.sizes import parse_length
from ringwright.page.session import Session
from ringwright.page.state.units import typed
from ringwright.page.widgets.elements import Slider, button, words
from ringwright.page.worked_out.ring_from_mandrel import ring_of
from ringwright.page.worked_out.stops import Stop, limits_at_hand, stops, that_works
from ringwright.weaves.rule import WeaveRule

# How far the axis goes beyond the limits, in parts of what lies between them.
_BELOW, _ABOVE = 0.35, 0.5
_LEAST_SPAN = 0.5
# What is dragged where the limits of a weave are not known yet.
_RATIOS = (1.5, 12.0)
# Ratios that are as near to one another are of one size.
_SAME_RATIO = 2e-3
_ZONES = {
    CANNOT: "cannot",
    AT_LIMIT: "limit",
    VERY_TIGHT: "tight",
    WORKING: "working",
    LOOSE: "loose",
}

# Words within the broadest zones.
_SHORT = {CANNOT: "too tight", WORKING: "works", LOOSE: "loose"}


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


def build_key(session: Session) -> None:
    """What the signs of the scale mean, in words; for an answer."""
    with ui.element("details").classes("key scale-meaning") as fold:
        words("What the scale shows", "summary")
        key = ui.element("ul").classes("scale-key")
    fold.set_visibility(False)
    told: RatioLimits | None = None

    def tell() -> None:
        nonlocal told
        if session.answer is None or session.answer.report.limits == told:
            return
        told = session.answer.report.limits
        key.clear()
        with key:
            for sign, text in _key(told):
                with ui.element("li"):
                    one = words(sign if len(sign) == 1 else "", "span")
                    one.classes("sign" if len(sign) == 1 else f"sign {sign}")
                    one.props["aria-hidden"] = "true"
                    words(text, "span")
        fold.set_visibility(True)

    session.on_answer.listen(tell)


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


class Scale:
    """The scale of the weave that is chosen, which is dragged, and a way to what works."""

    def __init__(self, session: Session) -> None:
        """Put it on the page."""
        self._session = session
        self._limits: RatioLimits | None = None
        self._of: WeaveRule | None = None
        self._drawn: tuple[RatioLimits | None, tuple[Stop, ...]] | None = None
        self._stops: tuple[Stop, ...] = ()
        self._stops_of: tuple[object, ...] = ()
        self._any_size = False
        with ui.element("figure").classes("scale"):
            with ui.element("div").classes("scale-head"):
                self._said = words("", "figcaption")
                self._works = button("Make it work:", self._make_it_work, kind="main")
                with self._works:
                    self._works_said = words("", "span")
            with ui.element("div").classes("scale-bar"):
                self._bar = ui.element("div").props("aria-hidden=true")
                with ui.element("div").classes("scale-drag"):
                    self._slider = Slider(
                        *("Aspect ratio", *_RATIOS, 0.001, session.wanted.ratio or 4.0),
                        self._dragged,
                        lambda ratio: f"{ratio:.2f}",
                    )
        session.on_answer.listen(self.follow)
        session.on_wanted.listen(self.follow)
        session.on_shop.listen(self.follow)
        self.follow()

    def follow(self) -> None:
        """Show what is wanted, among the limits of its weave as far as they are known."""
        self._take_limits()
        self._take_stops()
        axis = None if self._limits is None else Axis(self._limits)
        shown = self._limits, self._stops
        if shown != self._drawn:
            self._drawn = shown
            self._bar.clear()
            if axis is not None:
                with self._bar:
                    self._may_be = _draw(axis, self._stops)
        ratio = self._session.wanted.ratio
        self._offer()
        if ratio is None:
            return
        low, high = _RATIOS if axis is None else axis.ends
        self._slider.bounds(round(low, 3), round(high, 3), 0.001)
        stops = [] if self._any_size else [one.ratio for one in self._stops]
        self._slider.stop_at([round(one, 4) for one in stops if low <= one <= high])
        span = _span(self._session)
        said = f"Aspect ratio {ratio:.2f}."
        if axis is not None:
            said = axis.said(ratio)
            if span is not None:
                said += " " + axis.said_of_span(span)
                left, right = map(axis.place, span)
                self._may_be.style(f"left:{left:.2f}%;width:{right - left:.2f}%")
            self._may_be.set_visibility(span is not None)
        self._said.set_text(said)
        self._slider.put(round(ratio, 3), f"{ratio:.2f}. {self._means(ratio)}")

    def verdict(self) -> str:
        """The verdict on what is wanted, and which size that is; nothing while neither is known."""
        answer, ratio = self._session.answer, self._session.wanted.ratio
        if ratio is None or self._limits is None:
            return ""
        verdict = self._limits.verdict(ratio) if answer is None else answer.figures.verdict
        stop = self._stop_at(ratio)
        size = f"ratio {ratio:.2f}" if stop is None else f"ratio {ratio:.2f}, {stop.said}"
        return f"{verdict.capitalize()}: {size}"

    def _stop_at(self, ratio: float) -> Stop | None:
        near = min(self._stops, key=lambda one: abs(one.ratio - ratio), default=None)
        return near if near is not None and abs(near.ratio - ratio) < _SAME_RATIO else None

    def _take_limits(self) -> None:
        """Of the answer; of what the weave's file keeps while there is none."""
        session = self._session
        try:
            rule = session.rule
        except BadInput:
            self._limits = self._of = None
            return
        answer = session.answer
        if answer is not None and answer.report.rule.name == rule.name:
            self._limits, self._of = answer.report.limits, rule
        elif rule != self._of:
            # Another answer's limits hold on while its weave is dragged.
            self._limits, self._of = limits_at_hand(rule), rule

    def _take_stops(self) -> None:
        session, wanted = self._session, self._session.wanted
        of = (wanted.wire, wanted.lengths, wanted.metal, wanted.temper, wanted.kerf, wanted.shelf)
        if (*of, session.shop) != self._stops_of:
            self._stops_of = (*of, session.shop)
            self._stops = stops(wanted, session.shop)

    def _means(self, ratio: float) -> str:
        """What a size is that is stopped at, and the verdict on it."""
        stop = self._stop_at(ratio)
        said = [] if stop is None else [stop.said]
        if self._limits is not None:
            said.append(self._limits.verdict(ratio))
        return ", ".join(said)

    def _dragged(self, ratio: float) -> None:
        session, stop = self._session, None if self._any_size else self._stop_at(ratio)
        if stop is not None:
            session.change(**stop.wanted)
            return
        with suppress(BadInput):
            wire_mm = parse_length(session.wanted.wire, "wire")
            session.change(inner=typed(ratio * wire_mm, session.wanted.lengths), mandrel="")

    def build_free(self) -> None:
        """A tick for who wants any size."""
        with ui.element("label").classes("tick scale-free"):
            free = ui.element("input").props("type=checkbox")
            words("Any size", "span")
        free.on("change", self._set_free, js_handler="(event) => emit(event.target.checked)")

    def _set_free(self, event: GenericEventArguments) -> None:
        self._any_size = bool(event.args)
        self.follow()

    def _works_by(self) -> Stop | None:
        """The ring to take where the one that is chosen is not in the working range."""
        ratio, limits = self._session.wanted.ratio, self._limits
        if limits is None or ratio is None or limits.verdict(ratio) == WORKING:
            return None
        return that_works(limits, self._stops)

    def _offer(self) -> None:
        found = self._works_by()
        self._works.set_visibility(found is not None)
        if found is not None:
            self._works_said.set_text(f" {found.said}")

    def _make_it_work(self) -> None:
        found = self._works_by()
        if found is not None:
            self._session.change(**found.wanted)


def _draw(axis: Axis, stops: Sequence[Stop]) -> Element:
    """Draw what does not move; returns the mark of what springback may make of a size."""
    limits = axis.limits
    for zone in limits.zones:
        place = _from_to(axis, f"scale-zone zone-{_ZONES[zone.verdict]}", zone.low, zone.high)
        if zone.verdict in _SHORT:
            with place:
                words(_SHORT[zone.verdict], "span")
    if limits.common is not None:
        _from_to(axis, "scale-common", limits.common.low, limits.common.high)
    _mark(axis, "mark-minimum", "\u25b2", limits.minimum)
    if limits.working is not None:
        _mark(axis, "mark-working", "\u25b3", limits.working)
    low, high = axis.ends
    for stop in stops:
        if low <= stop.ratio <= high:
            _mark(axis, "mark-stop", "", stop.ratio)
    may_be = ui.element("div").classes("scale-span")
    may_be.set_visibility(False)
    return may_be


def _from_to(axis: Axis, classes: str, low: float | None, high: float | None) -> Element:
    left = 0.0 if low is None else axis.place(low)
    right = 100.0 if high is None else axis.place(high)
    made = ui.element("div").classes(classes)
    return made.style(f"left:{left:.2f}%;width:{right - left:.2f}%")


def _mark(axis: Axis, name: str, sign: str, ratio: float) -> None:
    made = words(sign, "span").classes(f"scale-mark {name}")
    made.style(f"left:{axis.place(ratio):.2f}%")


def _key(limits: RatioLimits) -> list[tuple[str, str]]:
    """Signs, or classes of swatches, with what they mean."""
    key = [
        ("\u25c6", "this size"),
        ("|", "sizes you have, or that are sold"),
        ("\u25b2", f"geometric minimum, {limits.minimum:.2f}"),
    ]
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
