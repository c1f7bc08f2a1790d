"""Options about metal and cutting that several commands share."""

from __future__ import annotations

import argparse

from ringwright.base import defaults


def add_metal(parser: argparse.ArgumentParser) -> None:
    """Give a command the metal, its temper, a trial ring and the saw cut."""
    from ringwright.making.ring.coil import USUAL_CUT

    parser.add_argument(
        "--metal", metavar="NAME", help="metal of the wire, e.g. 'sterling silver' or copper"
    )
    parser.add_argument(
        "--temper", metavar="NAME", help="temper of the wire, e.g. soft, 'half hard' or hard"
    )
    parser.add_argument(
        "--trial",
        nargs=2,
        action="append",
        metavar=("MANDREL", "INNER"),
        help="a trial coil of this wire: the mandrel you wound it on, and the inner diameter it "
        "sprang back to; goes before the temper, and two or three from unlike mandrels are surer",
    )
    parser.add_argument(
        "--caliper",
        metavar="SIZE",
        help="how far your caliper's reading of a trial coil may be off (default "
        f"{defaults.typed(defaults.CALIPER_MM)})",
    )
    parser.add_argument(
        "--kerf",
        metavar="SIZE",
        help=f"width of the saw cut, e.g. {defaults.typed(defaults.KERF_MM)} (left out: "
        f"{USUAL_CUT.in_short})",
    )
