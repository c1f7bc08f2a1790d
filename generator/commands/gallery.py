"""``ringwright gallery``: every weave in one picture and on one page."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import (
    add_body,
    add_json,
    add_out,
    body_options,
    progress,
    show,
    target,
)
from ringwright.weaves.rest_states import ON_TABLE, PULLED, WORN

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.weaves.rest_states import Body


def add(commands: Commands) -> None:
    """Describe the command."""
    gallery = commands.add_parser(
        "gallery",
        help="write pictures of every weave on one page, each a model to turn",
        description="Work out every weave in rings that makers use for it and write NAME.png, "
        "with a picture of each, and NAME.html, a page of models to turn, which needs no "
        "network. It takes a few seconds for each weave.",
    )
    gallery.add_argument(
        "weaves",
        metavar="WEAVE",
        nargs="*",
        help="only these weaves, by name or rule file (default: all)",
    )
    add_out(gallery)
    gallery.add_argument(
        "--wire", default="0.9mm", metavar="SIZE", help="wire diameter (default %(default)s)"
    )
    gallery.add_argument(
        "--laid",
        choices=(PULLED.name, ON_TABLE.name, WORN.name),
        help="how the pieces lie: pulled straight, or on a table as they come to rest, sheets "
        "spread, or worn, as much as goes round (default: on-table, sheets as if spread)",
    )
    add_body(gallery)
    add_json(gallery)
    gallery.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import parse_length
    from ringwright.weaves import list_rules, load_rule

    wire_mm = parse_length(options.wire, "wire")
    rules = [load_rule(name) for name in options.weaves] or list_rules()
    body = _body(options)
    folder, name = target(options.out)

    from ringwright.outputs.gallery.gallery import exhibits
    from ringwright.outputs.gallery.gallery_figures import GalleryFigures, Shown
    from ringwright.outputs.gallery.write_gallery import gallery_text, write_gallery

    with progress() as step:
        on_table = None if options.laid is None else options.laid == ON_TABLE.name
        shown = exhibits(rules, wire_mm, step, None if body else on_table, body)
        files, no_picture = write_gallery(shown, folder, name, step)
    if no_picture:
        print(f"ringwright: {no_picture}", file=sys.stderr)
    show(
        options, GalleryFigures.of(Shown(shown, files)).facts(), lambda: gallery_text(shown, files)
    )
    return WOVEN


def _body(options: argparse.Namespace) -> Body | None:
    """What pieces are worn on; None where they are not."""
    from ringwright.api.asked import asked_body, refuse_body

    body = body_options(options)
    if options.laid == WORN.name:
        return asked_body(**body)
    refuse_body(**body)
    return None
