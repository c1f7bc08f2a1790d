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
        help="open the page in the browser: choose a weave, drag its sizes and see what closes",
        description="Open a page in the browser: choose a weave, drag its sizes, and see what "
        "closes, with the same figures as 'ringwright check'. It is served by this computer and "
        "needs no network. Ctrl-C stops it.",
    )
    serve.add_argument(
        "--address",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="address of this computer to serve the page at (default %(default)s: this computer "
        "only); with any other, other computers can open the page with a token, which is printed",
    )
    serve.add_argument(
        "--port",
        type=int,
        metavar="NUMBER",
        help=f"port to serve the page at; 0 takes any free one (default {USUAL_PORT}, or a free "
        "one if that is taken)",
    )
    serve.add_argument(
        "--no-browser", action="store_true", help="print the address of the page and do not open it"
    )
    serve.add_argument(
        "--shop",
        metavar="FILE",
        help="your shop file, which the page uses and can change "
        "('ringwright shop-file' writes one)",
    )
    serve.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status once the page is closed."""
    if options.port is not None and not 0 <= options.port <= 65535:
        raise BadInput(f"--port {options.port} is outside 0 to 65535; give a number in between.")

    from ringwright.page.server import Doors, serve

    shop = None if options.shop is None else Path(options.shop)
    ports = (USUAL_PORT, 0) if options.port is None else (options.port,)
    serve(Doors(options.address, ports, not options.no_browser, shop))
    return WOVEN
