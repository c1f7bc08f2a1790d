"""The server of the page: its processes, its doors, and how it ends."""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import signal
import socket
import webbrowser
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ringwright.base.errors import BadInput
from ringwright.base.system import bind_alone
from ringwright.page.serving.guard import MOST_BYTES, Guard, checked_host, is_loopback, own_hosts
from ringwright.page.serving.jobs import Quick, Slow
from ringwright.page.state.shop_file import ShopFile

# A tab that is closed is forgotten after so many seconds, one that loses the line is not.
_LINE_LOST_S = 20.0


@dataclass(frozen=True)
class Doors:
    """Where the page is served.

    Attributes
    ----------
    address
    ports : the first that is free is taken; 0 is any
    browse : open the page in this machine's browser
    shop : the shop file that the page may read and change
    """

    address: str
    ports: tuple[int, ...]
    browse: bool
    shop: Path | None = None


def serve(doors: Doors) -> None:
    """Serve the page until Ctrl-C.

    Raises
    ------
    BadInput
        When the address is none of this machine's, the port is taken or the shop file
        cannot be read.
    """
    shop_file = None
    if doors.shop is not None:
        shop_file = ShopFile(doors.shop)
        # One that cannot be read is found out now; one that is wrong is mended on the page.
        shop_file.read()

    import uvicorn
    from fastapi import FastAPI
    from nicegui import app as pages
    from nicegui import ui
    from platformdirs import user_state_path

    from ringwright.page.layout import add_page
    from ringwright.page.session import Desk

    listening = _listen(checked_host(doors.address), doors.ports)
    port = listening.getsockname()[1]
    cores = multiprocessing.cpu_count()
    quick = Quick(cores)
    app = FastAPI(openapi_url=None)
    desk = Desk(quick, Slow(cores), shop_file, user_state_path("ringwright") / "pages")
    add_page(desk)
    pages.on_shutdown(desk.close)
    # A bar without a name for every request says nothing; the page tells itself what it does.
    pages.config.quasar_config["loadingBar"]["skipHijack"] = True
    ui.run_with(
        app,
        title="ringwright",
        dark=None,
        language="en-US",
        tailwind=False,
        reconnect_timeout=_LINE_LOST_S,
        show_welcome_message=False,
    )
    guard = Guard(app, own_hosts(doors.address, port), with_token=not is_loopback(doors.address))
    settings = uvicorn.Config(
        guard,
        log_level="warning",
        ws_max_size=MOST_BYTES,
        # To this machine itself packing takes longer than sending.
        ws_per_message_deflate=False,
        server_header=False,
        timeout_graceful_shutdown=2,
    )
    logging.getLogger("nicegui").setLevel(logging.ERROR)
    # Asked to end, by Ctrl-C or a service manager, the server closes and passes the signal on;
    # only as an exception does it leave time to end the processes too.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        # From here on Ctrl-C closes the page, before the server listens to it as well.
        _say_where(doors, port, guard.token)
        uvicorn.Server(settings).run(sockets=[listening])
    except KeyboardInterrupt:
        print("The page is closed.")
    finally:
        quick.close()
        listening.close()


def _listen(address: str, ports: Sequence[int]) -> socket.socket:
    """A socket at the first of these ports that is free."""
    *earlier, last = ports
    for port in earlier:
        with contextlib.suppress(OSError):
            return _listen_at(address, port)
    try:
        return _listen_at(address, last)
    except OSError as trouble:
        raise BadInput(
            f"the page cannot be served at {address}, port {last} ({trouble.strerror}); give "
            "another --port, or --port 0 for any that is free."
        ) from None


def _listen_at(address: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM)
    try:
        bind_alone(listening, (address, port))
        # From now on the page may be asked for; it answers as soon as it can.
        listening.listen(128)
    except OSError:
        listening.close()
        raise
    return listening


def _say_where(doors: Doors, port: int, token: str) -> None:
    host = f"[{doors.address}]" if ":" in doors.address else doors.address
    place = f"http://{host}:{port}/" + (f"?token={token}" if token else "")
    if token:
        print(
            f"Anyone who can reach {doors.address} and knows the address below can use this page, "
            "unencrypted. The token in it is good for one visit.",
            flush=True,
        )
    print(f"The page is open at {place}  (Ctrl-C closes it)", flush=True)
    if doors.browse:
        webbrowser.open(place)
