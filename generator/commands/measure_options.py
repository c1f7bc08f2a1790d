"""Options about what a piece is to fit, which several commands share."""

from __future__ import annotations

import argparse

_PLACES = ("length", "wrist", "ankle", "neck", "finger")


def add_measure(parser: argparse.ArgumentParser) -> None:
    """Give a command the length, or the measure round the body, with ease and clasp."""
    parser.add_argument(
        "--length", metavar="LENGTH", help="finished length, the clasp included, e.g. 180mm"
    )
    for place in _PLACES[1:]:
        parser.add_argument(
            f"--{place}", metavar="LENGTH", help=f"or the bare measure round the {place}"
        )
    parser.add_argument(
        "--ease",
        metavar="LENGTH",
        help="room over the bare measure (default: wrist 12mm, ankle 15mm, neck 25mm, finger 2mm; "
        "common practice, no source)",
    )
    parser.add_argument(
        "--clasp",
        metavar="LENGTH",
        help="what the closed clasp and its rings add to the length (none: a body measure is "
        "closed into itself)",
    )
