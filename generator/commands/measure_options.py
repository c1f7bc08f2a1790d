"""Options about what a piece is to fit, which several commands share."""

from __future__ import annotations

import argparse

from ringwright.base import defaults


def add_measure(parser: argparse.ArgumentParser) -> None:
    """Give a command the length, or the measure round the body, with ease and clasp."""
    parser.add_argument(
        "--length", metavar="LENGTH", help="finished length, clasp included, e.g. 180mm"
    )
    eases = ", ".join(f"{at} {defaults.typed(mm)}" for at, mm in defaults.EASE_MM.items())
    for place in defaults.EASE_MM:
        parser.add_argument(
            f"--{place}", metavar="LENGTH", help=f"in place of --length: the {place}, measured bare"
        )
    parser.add_argument(
        "--ease",
        metavar="LENGTH",
        help=f"room added to the bare measure (default: {eases}; common practice, no source)",
    )
    parser.add_argument(
        "--clasp",
        metavar="LENGTH",
        help="length that the closed clasp and its rings add (left out: no clasp; a piece for a "
        "body measure is closed into itself)",
    )
