"""Options about metal and cutting that several commands share."""

from __future__ import annotations

import argparse
from collections.abc import Collection
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput

if TYPE_CHECKING:
    from ringwright.making.ring.coil import Cut
    from ringwright.making.ring.materials import Material
    from ringwright.making.ring.wire import Bending


def add_metal(parser: argparse.ArgumentParser) -> None:
    """Give a command the metal, its temper, a trial ring and the saw cut."""
    parser.add_argument("--metal", metavar="NAME", help="as 'sterling silver' or copper")
    parser.add_argument("--temper", metavar="NAME", help="as soft, 'half hard' or hard")
    parser.add_argument(
        "--trial",
        nargs=2,
        metavar=("MANDREL", "INNER"),
        help="a coil you wound of this wire: its mandrel, and what it measured inside when let "
        "go; goes before the temper",
    )
    parser.add_argument(
        "--kerf", metavar="SIZE", help="width of the saw cut, as 0.3mm (none: cut with shears)"
    )


def asked_metal(options: argparse.Namespace, extra: Collection[Material] = ()) -> Material | None:
    """The metal that was named, if any; of the maker's own or of the table."""
    from ringwright.making.ring.materials import material

    if options.metal is None:
        if options.temper is not None:
            raise BadInput("--temper says nothing without --metal; name the metal too.")
        return None
    return material(options.metal, extra)


def asked_bending(options: argparse.Namespace, metal: Material | None) -> Bending | None:
    """How the wire springs back: by its trial, else by metal and temper; None without either."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.wire import Trial, bending, tried

    if options.trial is not None:
        mandrel, inner = options.trial
        return tried(
            [
                Trial(
                    parse_length(options.wire, "wire"),
                    parse_length(mandrel, "mandrel of the trial"),
                    parse_length(inner, "inner diameter of the trial"),
                    None,
                )
            ]
        )
    if metal is None or options.temper is None:
        return None
    return bending(metal, options.temper)


def asked_cut(options: argparse.Namespace) -> Cut:
    """The saw of that kerf, or shears."""
    from ringwright.base.sizes import parse_length
    from ringwright.making.ring.coil import SHEARS, saw

    return SHEARS if options.kerf is None else saw(parse_length(options.kerf, "kerf"))
