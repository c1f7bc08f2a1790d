"""What a tab was about, taken up again when it is loaded anew, and kept as it changes."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import json
from dataclasses import replace

from nicegui import Client, ui

from ringwright.page.files.works import Kept, Work
from ringwright.page.session import Session
from ringwright.page.state.place import Place

# What the browser keeps the key under, as a script has it.
STORED_AS = json.dumps("ringwright work")
_PATIENCE_S = 5.0
# What changes so soon after another change is kept with it.
_PAUSE_S = 0.5
# A page that is loaded anew has left the line by then; one that was doubled has not.
_LEAVING_S, _LOOK_S = 1.0, 0.1
_FIRST = f"[sessionStorage.getItem({STORED_AS}), localStorage.getItem({STORED_AS})]"


async def take_up(session: Session, query: str, place: Place) -> bool:
    """Go on with what this tab, or the last one, was about, and keep it from now on.

    Returns whether this is a first visit: nothing was ever done here, and nothing is asked for.

    Parameters
    ----------
    query : of the address, which goes before what was kept; empty where it tells nothing
    place : that it tells
    """
    own, last = None, None
    with session.layout, contextlib.suppress(TimeoutError):
        own, last = await ui.run_javascript(_FIRST, timeout=_PATIENCE_S)
    # Another tab has work of its own, which this one only begins with if nothing else is asked.
    key = str(own or ("" if query else last) or "")
    other = await _left(session, key)
    work = session.desk.works.work("" if other else key)
    if other is None:
        kept = await asyncio.to_thread(work.read)
    else:
        kept = _of(other) if own else None
    session.desk.at_work[work.key] = session
    with session.layout:
        ui.run_javascript(f"sessionStorage.setItem({STORED_AS}, {json.dumps(work.key)})")
    if kept is not None:
        _go_on(session, kept, query)
        place = place if query else kept.place
    if work.folder is not None:
        # A doubled tab makes its files itself.
        mine = None if other else kept
        session.room.keep_in(work.folder, *((mine.runs, mine.unfinished) if mine else ({}, ())))
    _Keeping(session, work)
    session.go_to(place)
    return not (own or last or query)


def _go_on(session: Session, kept: Kept, query: str) -> None:
    """Have the history that was kept; what the address tells besides is one more change."""
    now, told = kept.history.now.project, session.now
    if now.shop_text == kept.on_disk != session.shop_on_disk:
        # Nothing was unsaved, and the file is another one by now.
        now = replace(now, shop_text=session.shop_on_disk)
    if query:
        now = replace(now, wanted=told.wanted, beside=told.beside)
    session.take_up(kept.history.put(now, "the page was opened anew"))


async def _left(session: Session, key: str) -> Session | None:
    """The session that a doubled tab was doubled from; one whose tab has left is ended."""
    before = session.desk.at_work.get(key)
    for _ in range(round(_LEAVING_S / _LOOK_S)):
        if before is None or not _is_open(before):
            break
        await asyncio.sleep(_LOOK_S)
    if before is None or _is_open(before):
        return before
    before.gone()
    return None


def _is_open(session: Session) -> bool:
    client = Client.instances.get(session.client)
    return client is not None and client.has_socket_connection


def _of(session: Session) -> Kept:
    room = session.room
    return Kept(
        *(session.history, session.place, session.shop_on_disk, room.kept(), room.unfinished)
    )


class _Keeping:
    """Keeps a tab's work, a moment after it has changed and when the tab is closed."""

    def __init__(self, session: Session, work: Work) -> None:
        self._session, self._work = session, work
        self._due: asyncio.TimerHandle | None = None
        self._count = itertools.count()
        session.on_history.listen(self._soon)
        session.on_place.listen(self._soon)
        session.room.on_change = self._soon
        session.on_gone.listen(self._end)

    def _soon(self) -> None:
        if self._due is None:
            self._due = asyncio.get_running_loop().call_later(_PAUSE_S, self._save)

    def _save(self) -> None:
        self._due = None
        self._session.begin(
            asyncio.to_thread(self._work.save, _of(self._session), next(self._count))
        )
        with self._session.layout:
            key = json.dumps(self._work.key)
            ui.run_javascript(f"localStorage.setItem({STORED_AS}, {key})")

    def _end(self) -> None:
        if self._due is not None:
            self._due.cancel()
            self._work.save(_of(self._session), next(self._count))
        at_work = self._session.desk.at_work
        if at_work.get(self._work.key) is self._session:
            del at_work[self._work.key]
