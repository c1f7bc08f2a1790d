"""The answer beside the model: verdict, advice and figures."""

from __future__ import annotations

from nicegui import ui

from generator.bench.elements import heading, table, words
from generator.bench.session import Session


def build(session: Session) -> None:
    """The verdict in words and the figures as a table."""
    heading("Answer")
    verdict = words("").classes("verdict").props("role=status")
    holder = ui.element("div")

    def wait() -> None:
        verdict.set_text(session.trouble or "Checking …")

    def show() -> None:
        holder.clear()
        found = session.answer
        if found is None:
            verdict.set_text(session.trouble)
            return
        verdict.set_text(f"{found.facts['verdict'].capitalize()}.")
        with holder:
            for advice in found.advice:
                words(advice).classes("advice")
            table("Figures of this size", (), rows(found.facts))

    session.on_wanted.append(wait)
    session.on_answer.append(show)


def rows(facts: dict[str, object]) -> list[tuple[str, str]]:
    """The figures of a check, in words."""
    told = [
        ("Aspect ratio", facts["aspect_ratio"], "{:.3f}"),
        ("Smallest aspect ratio", facts["min_aspect_ratio"], "{:.3f}"),
        ("Room between rings", facts["room_mm"], "{:.3f} mm"),
        ("One repeat", facts["repeat_mm"], "{:.3f} mm"),
        ("Rings a repeat", facts["rings_per_repeat"], "{}"),
        ("Rings per cm", facts["rings_per_cm"], "{:.2f}"),
        ("Width", facts["width_mm"], "{:.2f} mm"),
        ("Thickness", facts["thickness_mm"], "{:.2f} mm"),
    ]
    return [(name, how.format(value)) for name, value, how in told if value is not None]
