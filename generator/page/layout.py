"""The page: what stands where, and which session belongs to which tab."""

from __future__ import annotations

from pathlib import Path

from fastapi import Request
from nicegui import Client, app, ui

from ringwright.base.errors import BadInput
from ringwright.page import tabs
from ringwright.page.choosing import choose_units, metal, sizes, weave_choice
from ringwright.page.main_view import answer_view, model
from ringwright.page.session import Desk, Session
from ringwright.page.state.chosen import Wanted, beside_from_query, from_query
from ringwright.page.state.place import Place, place_from_query
from ringwright.page.widgets import kept_tab, way_back
from ringwright.page.widgets.elements import button, heading, words

_STYLE = Path(__file__).parent / "style"
# So long a browser may take until it has drawn the page.
_PATIENCE_S = 60.0
_FULL = (
    "As many pages as this computer can serve are open already. Close one, and load this one again."
)


def add_page(desk: Desk) -> None:
    """Have the page built for every tab that opens it."""
    weave_choice.serve_pictures()
    desk.rooms.serve(app)

    @ui.page("/", title="ringwright")
    async def page(request: Request, client: Client) -> None:
        trouble = ""
        try:
            wanted = from_query(request.url.query)
            kept = beside_from_query(request.url.query)
            place = place_from_query(request.url.query)
        except BadInput as said:
            wanted, kept, place, trouble = Wanted(), (), Place(), str(said)
        for sheet in sorted(_STYLE.glob("*.css")):
            ui.add_css(sheet)
        if not desk.admits_another():
            words(_FULL)
            return
        session = Session(client.id, desk, wanted, kept)
        client.on_delete(session.gone)
        with session.layout:
            stage = _build(session)
        # Nothing is worked out for who only fetches the page, as another site's page could.
        await client.connected(timeout=_PATIENCE_S)
        if not await kept_tab.take_up(session, request.url.query, place):
            stage.first_visit.hide()
        session.want(session.wanted)
        if trouble:
            session.say_busy(trouble)


def _build(session: Session) -> model.Stage:
    with ui.element("header").classes("top"):
        heading("ringwright", 1)
        words("Try a weave before you buy the wire.").classes("motto")
        state = words("").classes("state").props("role=status")
        session.on_busy.listen(state.set_text)
        way_back.build(session)
        share = button("Share", lambda: None, kind="quiet").classes("share")
        to_help = button(tabs.HELP, lambda: None, kind="quiet")
    with ui.element("div").classes("bench"):
        # Where the model stands above all this, it stays in sight while it is scrolled, but not
        # below it.
        with ui.element("div").classes("choose"):
            with ui.element("section").classes("wish").props("aria-label='Weave and ring'"):
                weave_choice.build(session)
                sizes.build(session)
                metal.build(session)
                choose_units.build(session)
            with ui.element("section").classes("look").props("aria-label='Model'"):
                stage = model.Stage(session)
            with ui.element("section").classes("answer").props("aria-label='Answer'"):
                answer_view.build(session)
            with ui.element("section").classes("shown").props("aria-label='What is looked at'"):
                stage.dress()
        with ui.element("section").classes("more").props("aria-label='More'"):
            open_panel = tabs.build(session)
    to_help.on("click", lambda _: open_panel(tabs.HELP))
    share.on("click", lambda _: open_panel(tabs.SHARE))
    return stage
