"""A reader of options whose complaints are one sentence, as everywhere else."""

from __future__ import annotations

import argparse
import difflib
from typing import Any, NoReturn

from ringwright.base.errors import BadInput

# So many letters of what was typed are repeated.
_SHOWN = 40


class Parser(argparse.ArgumentParser):
    """A parser that reports a mistake as one sentence instead of printing its usage."""

    def error(self, message: str) -> NoReturn:
        """Raise BadInput with argparse's message."""
        raise BadInput(f"{message}; see '{self.prog} --help'.")

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Refuse a word that is none of those to choose from, and name the nearest."""
        if action.choices is None or value in action.choices:
            return
        words = [str(choice) for choice in action.choices]
        near = difflib.get_close_matches(str(value)[:_SHOWN], words, n=3)
        said = f"{str(value)[:_SHOWN]!r} is not known"
        if near:
            raise argparse.ArgumentError(action, f"{said}; perhaps {' or '.join(near)} is meant")
        raise argparse.ArgumentError(action, f"{said}; expected one of {', '.join(words)}")
