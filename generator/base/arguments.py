"""A reader of options whose complaints are one sentence, as everywhere else."""

from __future__ import annotations

import argparse
import sys
from typing import Any, NoReturn

from ringwright.base.errors import BadInput
from ringwright.base.wording import SHOWN, perhaps


class Parser(argparse.ArgumentParser):
    """A parser that reports a mistake as one sentence instead of printing its usage."""

    def error(self, message: str) -> NoReturn:
        """Raise BadInput with argparse's message."""
        raise BadInput(f"{message}; see '{self.prog} --help'.")

    def _print_message(self, message: str, file: Any = None) -> None:
        """Print help or version; where that fails, say so, as argparse does not."""
        if message:
            print(message, end="", file=file or sys.stderr)

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Refuse a word that is none of those to choose from, and name the nearest."""
        if action.choices is None or value in action.choices:
            return
        words = [str(choice) for choice in action.choices]
        hint = perhaps(str(value), words) or f"expected one of {', '.join(words)}"
        raise argparse.ArgumentError(action, f"{str(value)[:SHOWN]!r} is not known; {hint}")
