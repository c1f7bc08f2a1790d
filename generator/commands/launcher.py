"""``ringwright launcher``: a file to double-click that opens the page."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.base.exit_status import WOVEN
from ringwright.commands.shared import add_json, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    launcher = commands.add_parser(
        "launcher",
        help="put a file on the desktop that opens the page when double-clicked",
        description="Write a file that opens the page in the browser when it is double-clicked. "
        "It replaces an older one of the same name. Write it again after Python was updated or "
        "moved.",
    )
    launcher.add_argument("--out", metavar="FOLDER", help="where to put it (default: the desktop)")
    add_json(launcher)
    launcher.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from platformdirs import user_desktop_path

    from ringwright.base.system import kind
    from ringwright.page.launcher import launcher

    folder = user_desktop_path() if options.out is None else Path(options.out)
    written = launcher(kind(), sys.executable).write(folder)
    show(
        options,
        {"file": str(written)},
        lambda: (
            f"Written: {written}\nDouble-click it to open the page; close its window to stop "
            "the program."
        ),
    )
    return WOVEN
