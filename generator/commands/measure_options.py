"""Options about what a piece is to fit, which several commands share."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput

if TYPE_CHECKING:
    from ringwright.making.plan.piece_size import Measure
    from ringwright.weaves.rule import WeaveRule

_PLACES = ("length", "wrist", "ankle", "neck", "finger")


def add_measure(parser: argparse.ArgumentParser) -> None:
    """Give a command the length, or the measure round the body, with ease and clasp."""
    parser.add_argument(
        "--length", metavar="LENGTH", help="finished length, the clasp included, as 180mm"
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


def asked_measure(options: argparse.Namespace, rule: WeaveRule) -> Measure | None:
    """What the piece is to fit; None for a finished piece, which has one size only."""
    from ringwright.base.sizes import parse_allowance, parse_length
    from ringwright.making.plan.piece_size import checked_measure

    given = [place for place in _PLACES if getattr(options, place) is not None]
    if rule.family == "piece":
        extra = [*given, *(name for name in ("ease", "clasp") if getattr(options, name))]
        if extra:
            raise BadInput(
                f"{rule.name} is a finished piece without repeats, so it has one size only; leave "
                f"out {', '.join(f'--{name}' for name in extra)}."
            )
        return None
    if len(given) != 1:
        found = " and ".join(f"--{place}" for place in given) or "none of them"
        raise BadInput(
            "expected one of --length, --wrist, --ankle, --neck and --finger, but found "
            f"{found}; say what the piece is to fit."
        )
    place = given[0]
    return checked_measure(
        place,
        parse_length(getattr(options, place), place),
        None if options.ease is None else parse_allowance(options.ease, "ease"),
        None if options.clasp is None else parse_length(options.clasp, "clasp"),
    )
