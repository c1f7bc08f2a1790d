"""Options about what a piece is to fit, which several commands share."""

from __future__ import annotations

import argparse

_PLACES = ("length", "wrist", "ankle", "neck", "finger")


def add_measure(parser: argparse.ArgumentParser) -> None:
    """Give a command the length, or the measure round the body, with ease and clasp."""
    parser.add_argument(
        "--length", metavar="LENGTH", help="finished length, clasp included, e.g. 180mm"
    )
    for place in _PLACES[1:]:
        parser.add_argument(
            f"--{place}", metavar="LENGTH", help=f"in place of --length: the {place}, measured bare"
        )
    parser.add_argument(
        "--ease",
        metavar="LENGTH",
        help="room added to the bare measure (default: wrist 12mm, ankle 15mm, neck 25mm, finger "
        "2mm; common practice, no source)",
    )
    parser.add_argument(
        "--clasp",
        metavar="LENGTH",
        help="length that the closed clasp and its rings add (left out: no clasp; a piece for a "
        "body measure is closed into itself)",
    )
