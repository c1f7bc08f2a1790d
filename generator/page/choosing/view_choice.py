"""What is looked at, a few repeats or the whole piece, and in which colours."""

from __future__ import annotations

from collections.abc import Mapping

from nicegui import ui
from nicegui.element import Element

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.colour.looks import COLOUR_WORDS, one_paint
from ringwright.metals.all_metals import METALS
from ringwright.page.session import Session
from ringwright.page.state.chosen import (
    BY_ROLE,
    REPEATS,
    WHOLE,
)
from ringwright.page.widgets.elements import VALUE, Choice, Field, words
from ringwright.page.worked_out.colours import Entry, legend
from ringwright.weaves import WeaveRule

_VIEWS = {REPEATS: "A few repeats", WHOLE: "The whole piece"}
# Ways of colouring that are typed, and what stands in the field at first.
_PARTS, _TURNS = "parts", "turns"
_TYPED = {_PARTS: "open=copper,closed=steel", _TURNS: "copper,copper,brass"}
_HINTS = {
    _PARTS: "by role or ring, e.g. open=copper,closed=steel/brass; metals with a / between them "
    "take turns",
    _TURNS: "from ring to ring in the order of weaving, e.g. 3*copper,brass",
}


class Told:
    """What is said of the whole piece and of the colours."""

    def __init__(self, session: Session) -> None:
        """Fields, a choice, and a legend below them."""
        self._session = session
        self._entries: tuple[Entry, ...] = ()
        with ui.element("div").classes("dress"):
            with ui.element("div").classes("switches"):
                _switch(session, "Look at", "view", _VIEWS)
            with ui.element("div").classes("dress-row"):
                self._length = Field(
                    "Length",
                    session.wanted.length,
                    lambda text: session.change(length=text.strip(), view=WHOLE),
                    complete=session.length_typed,
                    hint="of the whole piece, e.g. 180mm or 7in",
                    autocomplete="off",
                )
                with ui.element("div") as self._across:
                    self._width = Field(
                        "Width",
                        session.wanted.width,
                        lambda text: session.change(width=text.strip(), view=WHOLE),
                        complete=session.length_typed,
                        hint=f"of the sheet, across its rows; {defaults.WIDTH_MM:g} mm if empty",
                        autocomplete="off",
                    )
            self._piece = words("").classes("hint").props("role=status")
            with ui.element("div").classes("dress-row"):
                self._kinds = Choice(
                    "Colour of the rings", _kinds(), _kind(session.wanted.paint), self._choose
                )
                with ui.element("div") as self._typed:
                    self._metals = Field(
                        "Metals",
                        "",
                        lambda text: session.change(paint=text.strip() or BY_ROLE),
                        autocomplete="off",
                        spellcheck="false",
                    )
            self._legend = ui.element("div").classes("legend")
        session.on_wanted.listen(self._refresh)
        session.on_seen.listen(self._explain)
        self._refresh()

    def piece(self, said: str, *, is_trouble: bool = False) -> None:
        """Say what the whole piece is, or why it is not there."""
        self._piece.set_text(said)
        self._piece.classes(add="wrong" if is_trouble else "", remove="" if is_trouble else "wrong")

    def colours(self, trouble: str) -> None:
        """Say what is wrong with the colours; nothing when all is well."""
        self._metals.complain(trouble)

    def _choose(self, kind: str) -> None:
        self._session.change(paint=_TYPED.get(kind, kind))

    def _refresh(self) -> None:
        wanted = self._session.wanted
        self._length.put(wanted.length)
        self._width.put(wanted.width)
        _judge(self._length, wanted.length_mm)
        _judge(self._width, wanted.width_mm)
        is_sheet = _is_sheet(self._session)
        self._across.set_visibility(is_sheet)
        kind = _kind(wanted.paint)
        self._kinds.put(kind)
        self._typed.set_visibility(kind in _TYPED)
        if kind in _TYPED:
            self._metals.put(wanted.paint)
            self._metals.complain("", _HINTS[kind])

    def _explain(self) -> None:
        seen = self._session.seen
        entries = () if seen is None else legend(seen)
        if entries == self._entries:
            return
        self._entries = entries
        self._legend.clear()
        with self._legend:
            _table(entries)


def build(session: Session) -> Told:
    """Build it for a page."""
    return Told(session)


def _switch(session: Session, legend: str, field: str, options: Mapping[str, str]) -> Element:
    """Round buttons of which one is chosen, for one respect of what is wanted."""
    with ui.element("fieldset").classes("switch") as made:
        words(legend, "legend")
        for value, said in options.items():
            with ui.element("label").classes("switch-one"):
                one = ui.element("input").props(f"type=radio name={field}-{made.id}")
                one.props["value"] = value
                words(said, "span")
            _follow(session, one, field, value)
            one.on(
                "change",
                lambda event: session.change(**{field: str(event.args)}),
                js_handler=VALUE,
            )
    return made


def _follow(session: Session, one: Element, field: str, value: str) -> None:
    def refresh() -> None:
        is_chosen = getattr(session.wanted, field) == value
        if one.props.get("checked", False) != is_chosen:
            one.props["checked"] = is_chosen
            one.update()

    session.on_wanted.listen(refresh)
    refresh()


def _kinds() -> dict[str, str]:
    return {
        BY_ROLE: "By role",
        **{word: f"All {word.replace('-', ' ')}" for word in COLOUR_WORDS},
        **{metal.name: f"All {metal.name}" for metal in METALS if metal.name not in COLOUR_WORDS},
        _PARTS: "Metals by role or ring ...",
        _TURNS: "Metals that take turns ...",
    }


def _kind(paint: str) -> str:
    if paint == BY_ROLE:
        return paint
    # A colour as #rrggbb is one paint too, but stands in no list.
    one = one_paint(paint)
    if one is not None and not one.startswith("#"):
        return one
    return _PARTS if "=" in paint else _TURNS


def _judge(field: Field, length: object) -> None:
    assert callable(length)
    try:
        length()
    except BadInput as trouble:
        field.complain(str(trouble))
    else:
        field.complain("")


def _is_sheet(session: Session) -> bool:
    try:
        rule: WeaveRule = session.rule
    except BadInput:
        return False
    return rule.family.has_rows


def _table(entries: tuple[Entry, ...]) -> None:
    with ui.element("table"):
        words(f"Colours of the {sum(one.rings for one in entries)} rings that are shown", "caption")
        with ui.element("thead"), ui.element("tr"):
            for header in ("Colour", "These rings are", "Rings"):
                words(header, "th").props("scope=col")
        with ui.element("tbody"):
            for entry in entries:
                _row(entry)


def _row(entry: Entry) -> None:
    with ui.element("tr"):
        with ui.element("th").props("scope=row"):
            mark = ui.element("span").classes("swatch").props("aria-hidden=true")
            mark.style(f"background:{entry.colour}")
            words(entry.name.replace("-", " "), "span")
        words(entry.roles, "td").classes("in-words")
        words(str(entry.rings), "td")
