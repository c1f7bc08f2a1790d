"""``ringwright shop-file``: a commented shop file to start from."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.base.wording import quoted_path
from ringwright.commands.shared import add_json, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    shop = commands.add_parser(
        "shop-file",
        help="write a shop file to fill in: your wires, mandrels, prices",
        description="Write a shop file with an example of everything it can hold, explained by "
        "comments. No file is ever overwritten.",
    )
    shop.add_argument("path", metavar="PATH", help="where to write it, e.g. ./shop.toml")
    add_json(shop)
    shop.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.files import write_new
    from ringwright.making.shop.starting_shop import STARTING_SHOP

    path = Path(options.path)
    if path.suffix.lower() != ".toml" or not str(path).isprintable():
        raise BadInput(
            f"{quoted_path(options.path)} is not the name of a shop file; let it end in .toml, "
            "e.g. ./shop.toml."
        )
    write_new(path, STARTING_SHOP)
    show(
        options,
        {"file": str(path)},
        lambda: (
            f"Written: {path}\nPut in your own wires and mandrels, then try it: ringwright match "
            f"barrel --shop {path} --length 180mm"
        ),
    )
    return WOVEN
