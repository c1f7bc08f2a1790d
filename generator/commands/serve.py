"""``ringwright serve``: the bench in the browser."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands

USUAL_PORT = 8765


def add(commands: Commands) -> None:
    """Describe the command."""
    serve = commands.add_parser(
        "serve",
        help="open the bench in the browser: choose a weave, drag its sizes and see what closes",
        description="Serve a page on this machine and open it in the browser: choose a weave, drag "
        "its sizes, and see what closes, with the figures of 'ringwright check'. Ctrl-C ends it.",
    )
    serve.add_argument(
        "--address",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="address of this machine to serve at; any but the default lets other machines in, "
        "with a token that is printed",
    )
    serve.add_argument(
        "--port",
        type=int,
        metavar="NUMBER",
        help=f"port; 0 takes any that is free (default: {USUAL_PORT} if that is free)",
    )
    serve.add_argument(
        "--no-browser", action="store_true", help="only print where the page is, do not open it"
    )
    serve.add_argument(
        "--shop", metavar="FILE", help="your shop file (see shop-file), to use and to change there"
    )
    serve.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status once the page is closed."""
    if options.port is not None and not 0 <= options.port <= 65535:
        raise BadInput(f"--port {options.port} is outside 0 to 65535; give a number between.")

    from ringwright.page.server import Doors, serve

    shop = None if options.shop is None else Path(options.shop)
    ports = (USUAL_PORT, 0) if options.port is None else (options.port,)
    serve(Doors(options.address, ports, not options.no_browser, shop))
    return WOVEN
