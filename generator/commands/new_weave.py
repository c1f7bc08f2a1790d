"""``ringwright new-weave``: a commented rule file to start from."""

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
    new = commands.add_parser(
        "new-weave",
        help="write a rule file, with comments, to make your own weave from",
        description="Write the rule file of a small chain that works, with comments that say "
        "what each part is for. No file is ever overwritten.",
    )
    new.add_argument("name", metavar="NAME", help="name of your weave")
    new.add_argument(
        "--out", metavar="FILE", help="where to write it (default: NAME.toml in this folder)"
    )
    add_json(new)
    new.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.files import write_new
    from ringwright.weaves import checked_name
    from ringwright.weaves.starting import starting_text

    name = checked_name(options.name)
    path = Path(name.replace(" ", "_") + ".toml" if options.out is None else options.out)
    if path.suffix.lower() != ".toml" or not str(path).isprintable():
        raise BadInput(
            f"--out {quoted_path(options.out)} is not the name of a rule file; let it end in "
            ".toml, e.g. ./my_weave.toml."
        )
    write_new(path, starting_text(name, path.name))
    said = str(path) if path.parent != Path() else f"./{path}"
    show(
        options,
        {"weave": name, "file": str(path)},
        lambda: f"Written: {path}\nTry it: ringwright check {said} --wire 0.9mm --inner 3.2mm",
    )
    return WOVEN
