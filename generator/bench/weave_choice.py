"""Choosing the weave."""

from __future__ import annotations

from nicegui import ui

from generator.bench.elements import heading, words
from generator.bench.session import Session
from generator.report import common_text
from weaves import WeaveRule, list_rules


def build(session: Session) -> None:
    """The weaves of the library, as a list of pictures of which one is chosen."""
    heading("Weave")
    rows = {}
    find = ui.element("input").props(
        "type=search placeholder='Find by name' aria-label='Find a weave'"
    )
    with ui.element("div").classes("weaves").props("role=radiogroup aria-label='Weave'"):
        for rule in list_rules():
            rows[rule.name] = _row(session, rule)

    def narrow(text: str) -> None:
        for rule in list_rules():
            said = " ".join((rule.name, *rule.trade_names, rule.family)).lower()
            rows[rule.name].set_visibility(text.strip().lower() in said)

    find.on(
        "input", lambda event: narrow(str(event.args)), js_handler="(e) => emit(e.target.value)"
    )


def _row(session: Session, rule: WeaveRule) -> ui.element:
    with ui.element("label").classes("weave") as row:
        choice = ui.element("input").props("type=radio name=weave")
        choice.props["value"] = rule.name
        if rule.name == session.wanted.weave:
            choice.props["checked"] = True
        with ui.element("span"):
            words(rule.name.replace("-", " "), "b")
            words(f"ratio {common_text(rule)}", "small")
    choice.on("change", lambda _: session.change(weave=rule.name))
    return row
