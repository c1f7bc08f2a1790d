"""A shop's text that is not saved yet, kept by the browser until the tab is closed.

A tablet that sleeps loses the line, and its page is then loaded anew; so is every page when the
server is started again.
"""

from __future__ import annotations

import contextlib
import json

from nicegui import ui

from ringwright.page.session import Session

_NAME = json.dumps("ringwright shop")
_PATIENCE_S = 5.0


async def take_up(session: Session) -> None:
    """Go on with the text that the browser kept, and have every later one kept."""
    text = None
    with session.layout, contextlib.suppress(TimeoutError):
        text = await ui.run_javascript(f"sessionStorage.getItem({_NAME})", timeout=_PATIENCE_S)
    if isinstance(text, str):
        session.put_shop(text, "taken up again after the page was loaded anew")
    session.on_shop.listen(lambda: keep(session))


def keep(session: Session) -> None:
    """Have the browser keep the text, if it is not what stands in the file."""
    act = f"removeItem({_NAME})"
    if session.shop_text != session.shop_on_disk:
        act = f"setItem({_NAME}, {json.dumps(session.shop_text)})"
    with session.layout:
        ui.run_javascript(f"sessionStorage.{act}")
