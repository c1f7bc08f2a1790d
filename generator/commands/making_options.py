"""Options about metal and cutting that several commands share."""

from __future__ import annotations

import argparse


def add_metal(parser: argparse.ArgumentParser) -> None:
    """Give a command the metal, its temper, a trial ring and the saw cut."""
    parser.add_argument("--metal", metavar="NAME", help="e.g. 'sterling silver' or copper")
    parser.add_argument("--temper", metavar="NAME", help="e.g. soft, 'half hard' or hard")
    parser.add_argument(
        "--trial",
        nargs=2,
        metavar=("MANDREL", "INNER"),
        help="a coil you wound of this wire: its mandrel, and what it measured inside when let "
        "go; overrides the temper",
    )
    parser.add_argument(
        "--kerf", metavar="SIZE", help="width of the saw cut, e.g. 0.3mm (none: cut with shears)"
    )
