"""What is sent to somebody else at one press: a picture, a page that turns, or the address."""

from __future__ import annotations

from nicegui import ui

from ringwright.answers.check_figures import CheckFigures
from ringwright.base.errors import BadInput
from ringwright.base.figures import head_of
from ringwright.base.wording import capitalised
from ringwright.outputs.gallery.write_gallery import turnable_page
from ringwright.page.session import Session
from ringwright.page.state.caption import Caption
from ringwright.page.state.chosen import BY_ROLE, WHOLE
from ringwright.page.widgets.elements import button, heading, words
from ringwright.page.worked_out.colours import legend

_COPY = """(event) => {
  const address = location.origin + "/?" + event.currentTarget.dataset.query;
  if (navigator.clipboard) navigator.clipboard.writeText(address).then(() => emit());
}"""
_NOTHING = "There is nothing to share yet: the weave is still being worked out."
_SAVED = "It is where your browser keeps downloads."


class Sharing:
    """The buttons, and a line that says how it went."""

    def __init__(self, session: Session) -> None:
        """Put them on the page."""
        self._session = session
        heading("Share")
        words(
            "The model as it is seen now, in its colours: as a picture with its size, or as one "
            "file that turns in any browser, without this program and without a network."
        ).classes("hint")
        with ui.element("div").classes("row wrap"):
            button("Save a picture", self._picture, kind="main")
            button("Save a page that turns", self._page, kind="main")
            self._copy = button("Copy the address", lambda: None, kind="quiet")
            self._copy.on("click", self._copied, js_handler=_COPY)
        self._said = words("").classes("said").props("role=status")
        session.on_wanted.listen(self._follow)
        self._follow()

    def _copied(self, _: object) -> None:
        self._said.set_text("The address is copied; it opens this weave and ring here.")

    def _follow(self) -> None:
        self._copy.props["data-query"] = self._session.wanted.short_query()
        self._copy.update()

    def _picture(self) -> None:
        session = self._session
        if session.drawn is None:
            self._said.set_text(_NOTHING)
            return
        name = f"{self._slug()}.png"
        session.on_picture.tell(
            Caption(name, _title(session), tuple(_lines(session)), session.wanted.short_query())
        )
        self._said.set_text(f"{name} is a picture of the model. {_SAVED}")

    def _page(self) -> None:
        session = self._session
        piece, seen = session.drawn, session.seen
        if piece is None or seen is None:
            self._said.set_text(_NOTHING)
            return
        rows = [*_rows(session)]
        if session.wanted.paint != BY_ROLE:
            rows += [("colour", f"{one.name}: {one.rings} rings") for one in legend(seen)]
        whole = session.wanted.view == WHOLE
        said = "The whole piece." if whole else f"A part of it: {len(piece)} rings."
        name = f"{self._slug()}.html"
        with session.layout:
            text = turnable_page(_title(session), said, piece, rows)
            ui.download.content(text, name, "text/html")
        self._said.set_text(f"{name} opens in any browser. {_SAVED}")

    def _slug(self) -> str:
        try:
            return self._session.chosen().slug
        except BadInput:
            return "weave"


def _title(session: Session) -> str:
    return capitalised(session.wanted.weave.replace("-", " "))


def _rows(session: Session) -> list[tuple[str, str]]:
    """The ring in the maker's units, and the piece where all of it is looked at."""
    wanted, units = session.wanted, session.wanted.units
    size = wanted.size()
    rows = [
        ("wire", units.wire(size.wire_mm)),
        (head_of(CheckFigures, "inner_mm"), units.length(size.inner_mm)),
        (head_of(CheckFigures, "aspect_ratio"), f"{size.aspect_ratio:.2f}"),
    ]
    if session.answer is not None:
        rows.append(("verdict", session.answer.figures.verdict))
    return rows


def _lines(session: Session) -> list[str]:
    wire, inner, ratio, *more = _rows(session)
    line = capitalised(", ".join(f"{name} {text}" for name, text in (wire, inner, ratio)))
    return [line, *(capitalised(text) for _, text in more)]
