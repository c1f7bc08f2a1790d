"""The answer beside the model: verdict, scale, advice and figures."""

from __future__ import annotations

from collections.abc import Callable

from nicegui import ui

from ringwright.answers.advice import advice
from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.ratio_limits import WORKING
from ringwright.answers.report import how_found_named
from ringwright.answers.verdict import Report
from ringwright.making.shop.nearest import nearest, nearest_text
from ringwright.page.main_view import counted_rows, overlap_list, scale
from ringwright.page.session import Session
from ringwright.page.state.units import as_label
from ringwright.page.widgets.elements import heading, table, words


def build(session: Session) -> None:
    """The verdict in words, where the size stands, and the figures as tables."""
    heading("Answer")
    verdict = words("").classes("verdict").props("role=status")
    motion = words("").classes("motion").props("role=status")
    session.on_motion.listen(lambda: motion.set_text(session.motion))
    scale.build_key(session)
    holder = ui.element("div")
    counted_rows.build(session)

    def wait() -> None:
        if session.answer is None:
            verdict.set_text(session.trouble or "Checking …")
            # Figures of another size than is wanted now.
            holder.classes(add="stale")

    def show() -> None:
        holder.clear()
        holder.classes(remove="stale")
        found = session.answer
        if found is None:
            verdict.set_text(session.trouble)
            return
        verdict.set_text(f"{found.figures.verdict.capitalize()}.")
        with holder:
            said = advice(found.report, session.wanted.units)
            for paragraph in (*said, *_shelf(session, found.report)):
                words(paragraph).classes("advice")
            overlap_list.build(session, found.shown)
            table("Figures of this size", (), session.wanted.units.rows(found.figures))
            _how_found(found.figures)

    session.on_wanted.listen(wait)
    session.on_answer.listen(show)


def build_short(session: Session, at_hand: Callable[[], str]) -> None:
    """The verdict once more, on the model, which stays in sight where the answer does not.

    For the eye alone: it is said aloud where the answer is.

    Parameters
    ----------
    at_hand : a verdict and what the size is, by what is known before an answer is there
    """
    with ui.element("div").classes("chip").props("aria-hidden=true"):
        said = words("", "span")

    def show() -> None:
        if session.guest is not None:
            said.set_text(session.guest.said)
        elif session.motion:
            said.set_text("Moving, not settled")
        elif session.trouble and session.answer is None:
            said.set_text("Cannot be read")
        else:
            is_sure = session.answer is not None
            said.set_text(f"{at_hand() or 'Checking'}{'' if is_sure else ' …'}")

    session.on_wanted.listen(show)
    session.on_answer.listen(show)
    session.on_motion.listen(show)
    session.on_guest.listen(show)


def _how_found(figures: CheckFigures) -> None:
    """What ``ringwright check --why`` says, folded."""
    with ui.element("details").classes("key"):
        words("How this was found", "summary")
        with ui.element("ul"):
            for name, text in how_found_named(figures):
                words(f"{as_label(name)}: {text}", "li")


def _shelf(session: Session, report: Report) -> list[str]:
    """The nearest ring of the shop, where the rings asked for do not just work."""
    found = None if report.verdict == WORKING else nearest(report, session.shop)
    return [] if found is None else [nearest_text(found)]
