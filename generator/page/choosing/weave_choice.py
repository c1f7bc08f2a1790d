"""Choosing the weave."""

from __future__ import annotations

from collections.abc import Sequence

from nicegui import app, ui

from ringwright.answers.ratio_limits import AT_LIMIT, CANNOT, LOOSE, VERY_TIGHT, WORKING
from ringwright.answers.weave_figures import common_text
from ringwright.base.errors import BadInput
from ringwright.making.shop.match import Candidate, candidates
from ringwright.making.shop.shop import Shop
from ringwright.page.choosing.draw_weaves import FOLDER, picture_name
from ringwright.page.choosing.tonight import Tonight
from ringwright.page.session import Session
from ringwright.page.widgets.elements import VALUE, heading, words
from ringwright.page.worked_out.stops import limits_at_hand
from ringwright.weaves import WeaveRule, list_rules, other_weave, rules_named_like
from ringwright.weaves.family import FAMILIES

# Where the pictures are on the server.
PICTURES = "/weave-pictures"
# Which are listed.
_ALL, _GOES, _SHELF = "all", "goes", "shelf"
_WHICH = {
    _ALL: "All weaves",
    _GOES: "Those this ring works in",
    _SHELF: "Those something in my shop works in",
    **{family.name: family.among for family in FAMILIES.values()},
}
# Whether a ring goes with a weave, by more than its colour.
_SIGNS = {
    WORKING: "\u2713 works",
    VERY_TIGHT: "\u25d1 very tight",
    AT_LIMIT: "\u25d0 at the limit",
    CANNOT: "\u2715 too tight",
    LOOSE: "\u25cb loose",
}
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
    rows, followed = {}, ""
    with ui.element("div").classes("finding"):
        find = ui.element("input").props(
            "type=search placeholder='Find by name' aria-label='Find a weave'"
        )
        which = ui.element("select").props("aria-label='Which weaves are listed'")
    with which:
        for value, said in _WHICH.items():
            words(said, "option").props["value"] = value
    tonight = Tonight(session, lambda: narrow())
    elsewhere = words("").props("role=status")
    elsewhere.set_visibility(False)
    with ui.element("div").classes("weaves").props("role=radiogroup aria-label='Weave'"):
        own = _OwnRow(session)
        for rule in list_rules():
            rows[rule.name] = _Row(session, rule)
    typed, listed = "", _ALL

    def narrow() -> None:
        other = other_weave(typed)
        like = rules_named_like(typed)
        # Of a weave that is not here, those that come near are shown.
        shown = {rule.name for rule in like} if other is None else set(other.near)
        shelf = _rings_of(session.shop) if listed == _SHELF else ()
        found = {
            name
            for name, row in rows.items()
            if name in shown and row.is_one_of(listed, shelf) and tonight.fits(name)
        }
        for name, row in rows.items():
            row.element.set_visibility(name in found)
            row.tell(tonight.said(name))
        elsewhere.set_visibility(other is not None or not found)
        if other:
            elsewhere.set_text(f"{typed.strip()} {other.said}.")
        elif like:
            elsewhere.set_text(f"None of {len(like)} is listed: {_WHICH[listed].lower()}.")
        else:
            elsewhere.set_text("No weave here goes by this name.")

    def find_typed(text: str) -> None:
        nonlocal typed
        typed = text
        narrow()

    def list_others(value: str) -> None:
        nonlocal listed
        listed = value
        narrow()

    def follow() -> None:
        """Choose what is wanted, as when the page goes back to a choice that was kept."""
        nonlocal followed
        ratio = session.wanted.ratio
        for name, row in rows.items():
            row.choose(name == session.wanted.weave)
            row.judge(ratio)
        own.follow()
        if listed == _GOES:
            narrow()
        if session.wanted.weave != followed:
            followed = session.wanted.weave
            with session.layout:
                ui.run_javascript(_IN_SIGHT)

    session.on_wanted.listen(follow)
    session.on_shop.listen(narrow)
    find.on("input", lambda event: find_typed(str(event.args)), js_handler=VALUE)
    which.on("change", lambda event: list_others(str(event.args)), js_handler=VALUE)
    follow()


class _Row:
    """A weave of the list, and whether the ring that is chosen goes with it."""

    def __init__(self, session: Session, rule: WeaveRule) -> None:
        self._rule = rule
        self._limits = limits_at_hand(rule)
        with ui.element("label").classes("weave") as self.element:
            self._choice = ui.element("input").props("type=radio name=weave")
            self._choice.props["value"] = rule.name
            picture = ui.element("img").props("alt='' loading=lazy width=90 height=60")
            picture.props["src"] = f"{PICTURES}/{picture_name(rule)}"
            with ui.element("span"):
                words(rule.name.replace("-", " "), "b")
                self._goes = words("", "small").classes("goes")
                self._takes = words("", "small").classes("goes")
                words(f"ratio {common_text(rule.common_aspect_ratio)}", "small")
        self._choice.on("change", lambda _: session.change(weave=rule.name))
        self._verdict = ""

    def choose(self, is_chosen: bool) -> None:
        """Show whether it is the one that is chosen."""
        if self._choice.props.get("checked", False) != is_chosen:
            self._choice.props["checked"] = is_chosen
            self._choice.update()

    def judge(self, ratio: float | None) -> None:
        """Say whether it goes with the ring that is chosen, as far as its file tells."""
        verdict = ""
        if self._limits is not None and ratio is not None:
            verdict = self._limits.verdict(ratio)
        if verdict != self._verdict:
            self._verdict = verdict
            self._goes.set_text(_SIGNS.get(verdict, ""))

    def tell(self, takes: str) -> None:
        """Say what a piece of it takes, where that is asked."""
        self._takes.set_text(takes)
        self._takes.set_visibility(bool(takes))

    def is_one_of(self, listed: str, shelf: Sequence[Candidate]) -> bool:
        """Whether it is among those that are listed; ``shelf`` is all that the shop makes."""
        if listed == _GOES:
            return self._verdict == WORKING
        if listed == _SHELF:
            limits = self._limits
            return limits is not None and any(one.judged(limits)[0] == WORKING for one in shelf)
        return listed in (_ALL, self._rule.family.name)


def _rings_of(shop: Shop) -> Sequence[Candidate]:
    """Every wire of the shop on every mandrel, and bought rings; none where none can be made."""
    try:
        found, _ = candidates(shop)
    except BadInput:
        return ()
    return found


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
