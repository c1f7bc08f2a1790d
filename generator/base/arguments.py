"""A reader of options whose complaints are one sentence, as everywhere else."""

from __future__ import annotations

import argparse
from typing import NoReturn

from ringwright.base.errors import BadInput


class Parser(argparse.ArgumentParser):
    """A parser that reports a mistake as one sentence instead of printing its usage."""

    def error(self, message: str) -> NoReturn:
        """Raise BadInput with argparse's message."""
        # A misspelt command gets the near names argparse lists itself.
        raise BadInput(f"{message}; see '{self.prog} --help'.")
