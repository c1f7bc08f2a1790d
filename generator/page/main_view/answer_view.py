"""The answer beside the model: verdict, scale, advice and figures."""

from __future__ import annotations

from nicegui import ui

from ringwright.answers.advice import advice
from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.ratio_limits import WORKING
from ringwright.answers.report import how_found_named
from ringwright.answers.second_figures import SpanFigures
from ringwright.answers.verdict import Report
from ringwright.base.figures import LEFT_OUT
from ringwright.making.shop.nearest import nearest, nearest_text
from ringwright.page.main_view import counted_rows, scale
from ringwright.page.session import Session
from ringwright.page.state.units import Units
from ringwright.page.widgets.elements import heading, table, words


def build(session: Session) -> None:
    """The verdict in words, where the size stands, and the figures as tables."""
    heading("Answer")
    verdict = words("").classes("verdict").props("role=status")
    scale.build(session)
    holder = ui.element("div")
    counted_rows.build(session)

    def wait() -> None:
        if session.answer is None:
            verdict.set_text(session.trouble or "Checking …")

    def show() -> None:
        holder.clear()
        found = session.answer
        if found is None:
            verdict.set_text(session.trouble)
            return
        verdict.set_text(f"{found.figures.verdict.capitalize()}.")
        with holder:
            said = advice(found.report, session.wanted.units)
            for paragraph in (*said, *_shelf(session, found.report)):
                words(paragraph).classes("advice")
            table("Figures of this size", (), rows(found.figures, session.wanted.units))
            _how_found(found.report)

    session.on_wanted.listen(wait)
    session.on_answer.listen(show)


def build_short(session: Session) -> None:
    """The verdict once more, where the model stays in sight and the answer does not.

    For the eye alone: it is said aloud where the answer is.
    """
    with ui.element("div").classes("chip").props("aria-hidden=true"):
        said = words("", "span")

    def show() -> None:
        found = session.answer
        if found is None:
            said.set_text("Cannot be read" if session.trouble else "Checking …")
            return
        ratio = found.figures.aspect_ratio
        said.set_text(f"{found.figures.verdict.capitalize()}, ratio {ratio:.2f}")

    session.on_wanted.listen(show)
    session.on_answer.listen(show)


def _how_found(report: Report) -> None:
    """What ``ringwright check --why`` says, folded."""
    with ui.element("details").classes("key"):
        words("How this was found", "summary")
        with ui.element("ul"):
            for name, text in how_found_named(report):
                words(f"{name.capitalize()}: {text}", "li")


def _shelf(session: Session, report: Report) -> list[str]:
    """The nearest ring of the shop, where the rings asked for do not just work."""
    found = None if report.verdict == WORKING else nearest(report, session.shop)
    return [] if found is None else [nearest_text(found)]


def rows(figures: CheckFigures, units: Units) -> list[tuple[str, str]]:
    """The figures of a check, in words."""
    room_mm = figures.room_mm
    told = [
        ("Aspect ratio", f"{figures.aspect_ratio:.3f}"),
        ("Smallest aspect ratio", f"{figures.min_aspect_ratio:.3f}"),
        ("Working minimum", _ratio(figures.working_min_aspect_ratio)),
        ("Working range", " to ".join(map(_ratio, figures.working_aspect_ratios or [None]))),
        ("Room between rings", units.exact(room_mm)),
        ("Room in wires", f"{room_mm / figures.wire_mm:.2f}"),
    ]
    lengths = (
        ("One repeat", figures.repeat_mm, 3),
        ("Width", figures.width_mm, 2),
        ("Thickness", figures.thickness_mm, 2),
    )
    told += [
        (name, units.exact(length_mm, digits))
        for name, length_mm, digits in lengths
        if length_mm is not None
    ]
    told += second_rows(figures, units)
    told.append(("Rings in a repeat", str(figures.rings_per_repeat)))
    if figures.rings_per_cm is not None:
        told.append(per_length(figures.rings_per_cm, units))
    return told


def _ratio(value: float | None) -> str:
    return "none" if value is None else f"{value:.2f}"


def second_rows(figures: CheckFigures, units: Units) -> list[tuple[str, str]]:
    """The rings of other sizes and, where it is known, which would do in their place."""
    told = []
    for ring in figures.second_rings:
        name = f"{ring.size.capitalize()} rings"
        told.append((f"{name}, wire", units.wire(ring.wire_mm)))
        told.append((f"{name}, inside", units.length(ring.inner_mm)))
        if ring.closes_inner_mm is not LEFT_OUT:
            told += _closing(name, ring.closes_inner_mm, units)
    if told and figures.main_closes_inner_mm is not LEFT_OUT:
        told += _closing("First-size rings", figures.main_closes_inner_mm, units)
    return told


def _closing(name: str, span: SpanFigures | None, units: Units) -> list[tuple[str, str]]:
    """From which to which inner diameter rings of this wire close the weave."""
    if span is None:
        return [(f"{name} that close", "none")]
    told = [(f"{name} close from", units.exact(span.smallest, 2))]
    if not span.larger_not_tried:
        told.append((f"{name} close to", units.exact(span.largest, 2)))
    return told


def per_length(rings_per_cm: float, units: Units) -> tuple[str, str]:
    """Rings by the centimetre or the inch."""
    if units.lengths == "inch":
        return "Rings per inch", f"{2.54 * rings_per_cm:.2f}"
    return "Rings per cm", f"{rings_per_cm:.2f}"
