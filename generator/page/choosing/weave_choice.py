"""Choosing the weave."""

from __future__ import annotations

from nicegui import app, ui

from ringwright.answers.weave_figures import common_text
from ringwright.page.choosing.draw_weaves import FOLDER, picture_name
from ringwright.page.session import Session
from ringwright.page.widgets.elements import VALUE, heading, words
from ringwright.weaves import WeaveRule, list_rules, other_weave, rules_named_like

# Where the pictures are on the server.
PICTURES = "/weave-pictures"
# Scrolls the list, and nothing else, to the weave that is chosen if it is out of sight.
_IN_SIGHT = """requestAnimationFrame(() => {
  const list = document.querySelector(".weaves");
  const row = list?.querySelector(".weave:has(input:checked)");
  if (!row) return;
  const seen = list.getBoundingClientRect(), at = row.getBoundingClientRect();
  if (at.top < seen.top || at.bottom > seen.bottom)
    list.scrollTop += at.top - seen.top - (seen.height - at.height) / 2;
  if (at.left < seen.left || at.right > seen.right)
    list.scrollLeft += at.left - seen.left - (seen.width - at.width) / 2;
})"""


def serve_pictures() -> None:
    """Have the pictures of the weaves served."""
    app.add_static_files(PICTURES, FOLDER)


def build(session: Session) -> None:
    """The weaves of the library, as a list of pictures of which one is chosen."""
    heading("Weave")
    rows, choices, followed = {}, {}, ""
    find = ui.element("input").props(
        "type=search placeholder='Find by name' aria-label='Find a weave'"
    )
    elsewhere = words("").props("role=status")
    elsewhere.set_visibility(False)
    with ui.element("div").classes("weaves").props("role=radiogroup aria-label='Weave'"):
        own = _OwnRow(session)
        for rule in list_rules():
            rows[rule.name], choices[rule.name] = _row(session, rule)

    def narrow(text: str) -> None:
        other = other_weave(text)
        like = rules_named_like(text)
        # Of a weave that is not here, those that come near are shown.
        shown = {rule.name for rule in like} if other is None else set(other.near)
        for name, row in rows.items():
            row.set_visibility(name in shown)
        elsewhere.set_visibility(other is not None or not like)
        elsewhere.set_text(
            f"{text.strip()} {other.said}." if other else "No weave here goes by this name."
        )

    def follow() -> None:
        """Choose what is wanted, as when the page goes back to a choice that was kept."""
        nonlocal followed
        for name, choice in choices.items():
            is_chosen = name == session.wanted.weave
            if choice.props.get("checked", False) != is_chosen:
                choice.props["checked"] = is_chosen
                choice.update()
        own.follow()
        if session.wanted.weave != followed:
            followed = session.wanted.weave
            with session.layout:
                ui.run_javascript(_IN_SIGHT)

    session.on_wanted.listen(follow)
    find.on("input", lambda event: narrow(str(event.args)), js_handler=VALUE)


def _row(session: Session, rule: WeaveRule) -> tuple[ui.element, ui.element]:
    with ui.element("label").classes("weave") as row:
        choice = ui.element("input").props("type=radio name=weave")
        choice.props["value"] = rule.name
        if rule.name == session.wanted.weave:
            choice.props["checked"] = True
        picture = ui.element("img").props("alt='' loading=lazy width=90 height=60")
        picture.props["src"] = f"{PICTURES}/{picture_name(rule)}"
        with ui.element("span"):
            words(rule.name.replace("-", " "), "b")
            words(f"ratio {common_text(rule.common_aspect_ratio)}", "small")
    choice.on("change", lambda _: session.change(weave=rule.name))
    return row, choice


class _OwnRow:
    """The maker's own weave, once one was opened."""

    def __init__(self, session: Session) -> None:
        self._session = session
        with ui.element("label").classes("weave") as self._row:
            self._choice = ui.element("input").props("type=radio name=weave value=own")
            with ui.element("span"):
                self._name = words("", "b")
                words("your own", "small")
        self._choice.on("change", lambda _: self._choose())
        self.follow()

    def follow(self) -> None:
        """Show its name, and whether it is what is wanted."""
        rule = self._session.own_rule
        self._row.set_visibility(rule is not None)
        if rule is not None:
            self._name.set_text(rule.name)
            self._choice.props["checked"] = rule.name == self._session.wanted.weave
            self._choice.update()

    def _choose(self) -> None:
        rule = self._session.own_rule
        if rule is not None:
            self._session.change(weave=rule.name)
