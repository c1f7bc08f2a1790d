"""Options that several jigs share."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from generator.sizes import RingSize


def add_ring(parser: argparse.ArgumentParser) -> None:
    """Wire, and the ring by inner diameter or ratio."""
    parser.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, as 0.9mm")
    parser.add_argument("--inner", metavar="SIZE", help="the ring's inner diameter, as 3.2mm")
    parser.add_argument(
        "--ratio", metavar="NUMBER", help="aspect ratio, inner / wire, in place of --inner"
    )


def asked_ring(options: argparse.Namespace) -> RingSize:
    """The ring size that was typed."""
    from generator.sizes import RingSize

    return RingSize.from_text(options.wire, options.inner, options.ratio)
