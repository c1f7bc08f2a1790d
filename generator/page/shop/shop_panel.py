"""The shop on the page: what is on the shelf, changed by forms or as text."""

from __future__ import annotations

import asyncio

from nicegui import ui

from ringwright.base.errors import BadInput
from ringwright.making.shop.shop import MOST_BYTES, shop_from_text
from ringwright.making.shop.starting_shop import STARTING_SHOP
from ringwright.page.session import Session
from ringwright.page.shop.shop_forms import Singles, adding
from ringwright.page.shop.shop_shelf import Shelf
from ringwright.page.widgets.elements import VALUE, Typed, button, heading, words
from ringwright.page.widgets.open_file_button import file_pick
from ringwright.page.widgets.way_back import focus_undo


def build(session: Session) -> None:
    """All of the panel."""
    heading("Shop")
    words(_where(session)).classes("panel-lead")
    _Bar(session)
    with ui.element("div").classes("shop"):
        with ui.element("div"):
            Shelf(session, lambda: focus_undo(session))
            adding(session)
            Singles(session)
        with ui.element("div"):
            _Text(session)


def _where(session: Session) -> str:
    told = "Your wires, mandrels and prices, as the commands read them with --shop."
    file = session.desk.shop_file
    if file is None:
        return (
            f"{told} No file was named when the page was opened, so download the shop to keep it."
        )
    return f"{told} Save writes to {file.path.name}."


class _Bar:
    """Keep and open, and a line that says how things stand."""

    def __init__(self, session: Session) -> None:
        self._session = session
        with ui.element("div").classes("row wrap"):
            if session.desk.shop_file is not None:
                self._save = button("Save", lambda: session.begin(self._saved()), kind="main")
                button("Read the file again", self._read_again, kind="quiet")
            button("Download", self._download, kind="quiet")
            file_pick("Open a file", MOST_BYTES, self._opened, self._complain)
            button("Start from an example", self._begin, kind="quiet")
        self._said = words("").classes("hint shop-said").props("role=status")
        session.on_shop.listen(self.refresh)
        self.refresh()

    def say(self, what: str, *, is_trouble: bool = False) -> None:
        self._said.set_text(what)
        self._said.classes(add="wrong" if is_trouble else "", remove="" if is_trouble else "wrong")

    def refresh(self) -> None:
        session = self._session
        if session.desk.shop_file is not None and session.shop_text != session.shop_on_disk:
            self.say("Not saved yet.")
        else:
            self.say("")

    async def _saved(self) -> None:
        session, file = self._session, self._session.desk.shop_file
        if file is None:
            return
        text = session.shop_text
        try:
            await asyncio.to_thread(file.save, text, session.shop_on_disk)
        except BadInput as trouble:
            self.say(f"Not saved: {trouble}", is_trouble=True)
            return
        session.shop_on_disk = text
        # What is kept of this tab tells that it is saved.
        session.on_history.tell()
        self.say(f"Saved to {file.path.name}.")

    def _read_again(self) -> None:
        session, file = self._session, self._session.desk.shop_file
        if file is None:
            return
        try:
            session.shop_on_disk = file.read()
        except BadInput as trouble:
            self.say(str(trouble), is_trouble=True)
            return
        session.put_shop(session.shop_on_disk, f"{file.path.name} read again")
        self.say(f"This is what {file.path.name} holds.")

    def _download(self) -> None:
        with self._session.layout:
            ui.download.content(self._session.shop_text, "shop.toml", "application/toml")

    def _complain(self, trouble: str) -> None:
        self.say(trouble, is_trouble=True)

    def _opened(self, text: str, _: str) -> None:
        try:
            shop_from_text(text, self._session.shop.path)
        except BadInput as trouble:
            self.say(f"Not opened: {trouble}", is_trouble=True)
            return
        self._session.put_shop(text, "a file was opened")

    def _begin(self) -> None:
        self._session.put_shop(STARTING_SHOP, "the example was taken")


class _Text:
    """The text itself."""

    def __init__(self, session: Session) -> None:
        self._session = session
        with ui.element("div").classes("field"):
            self._area = Typed().props("tall")
            with ui.element("label").props(f"for=c{self._area.id}") as label:
                words("The shop as text (TOML)", "span")
            label.move(target_index=0)
            self._note = words("").classes("hint")
        self._area.props(f"id=c{self._area.id} rows=26 spellcheck=false autocomplete=off")
        self._area.props["maxlength"] = MOST_BYTES
        self._area.props["aria-describedby"] = self._note.props["id"] = f"n{self._area.id}"
        self._area.on(
            "change",
            lambda event: session.put_shop(str(event.args), "text changed"),
            js_handler=VALUE,
        )
        session.on_shop.listen(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        session = self._session
        self._area.props["value"] = session.shop_text
        self._area.props["aria-invalid"] = "true" if session.shop_trouble else "false"
        self._area.update()
        trouble = session.shop_trouble
        self._note.set_text(
            trouble or "Changes are taken when you leave the field. Comments are kept."
        )
        self._note.classes(add="wrong" if trouble else "", remove="" if trouble else "wrong")
