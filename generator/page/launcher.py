"""A file to double-click that opens the page, for makers who type no commands."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from pathlib import Path

from ringwright.base.files import WholeFiles

# -P: what lies in the folder it is started from cannot stand in the way of the program.
_OPENS = ("-P", "-m", "ringwright.cli", "serve")


@dataclass(frozen=True)
class Launcher:
    """A launcher for one kind of system, not yet written."""

    name: str
    text: str

    def write(self, folder: Path) -> Path:
        """Write it into a folder, in place of an older one; returns where it is.

        Raises
        ------
        BadInput
            When it cannot be written there.
        """
        with WholeFiles(folder) as batch:
            hidden = batch.new(self.name)
            hidden.write_text(self.text, encoding="utf-8", newline="")
            hidden.chmod(0o755)
        return folder / self.name


def launcher(kind: str, python: str) -> Launcher:
    """The launcher for a system.

    Parameters
    ----------
    kind : ``windows``, ``mac`` or ``linux``
    python : the interpreter that has ringwright installed
    """
    if kind == "windows":
        # A percent sign would begin a variable's name.
        line = f'"{python}" {" ".join(_OPENS)}'.replace("%", "%%")
        lines = ("@echo off", "chcp 65001 > nul", line, "if errorlevel 1 pause", "")
        return Launcher("ringwright.cmd", "\r\n".join(lines))
    if kind == "mac":
        return Launcher("ringwright.command", f"#!/bin/sh\nexec {shlex.join([python, *_OPENS])}\n")
    return Launcher(
        "ringwright.desktop",
        "[Desktop Entry]\n"
        "Type=Application\n"
        "Name=ringwright\n"
        "Comment=Preview a chainmail weave and plan it\n"
        f"Exec={_desktop_quoted(python)} {' '.join(_OPENS)}\n"
        "Terminal=true\n",
    )


def _desktop_quoted(word: str) -> str:
    """A word of an Exec line: quoted, then escaped as every value of such a file is.

    Source: freedesktop.org, Desktop Entry Specification 1.5, "The Exec key".
    """
    for letter in ("\\", '"', "`", "$"):
        word = word.replace(letter, f"\\{letter}")
    return '"' + word.replace("\\", "\\\\").replace("%", "%%") + '"'
