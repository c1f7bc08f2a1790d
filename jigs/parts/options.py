"""Options that several jigs share."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput

if TYPE_CHECKING:
    from ringwright.answers.verdict import Report
    from ringwright.base.sizes import RingSize


def add_ring(parser: argparse.ArgumentParser) -> None:
    """Wire, and the ring by inner diameter or ratio."""
    parser.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, e.g. 0.9mm")
    parser.add_argument("--inner", metavar="SIZE", help="inner diameter of the rings, e.g. 3.2mm")
    parser.add_argument(
        "--ratio",
        metavar="NUMBER",
        help="in place of --inner: aspect ratio, inner diameter / wire diameter, e.g. 3.6",
    )


def asked_ring(options: argparse.Namespace) -> RingSize:
    """The ring size that was typed."""
    from ringwright.base.sizes import RingSize

    return RingSize.from_text(options.wire, options.inner, options.ratio)


def asked_mandrel(options: argparse.Namespace) -> tuple[float, float]:
    """Mandrel and wire in mm: ``--mandrel``, or else the ring's inner diameter.

    Raises
    ------
    BadInput
        When neither was given, or a text cannot be read.
    """
    from ringwright.base.sizes import parse_length

    if options.mandrel is None:
        size = asked_ring(options)
        return size.inner_mm, size.wire_mm
    if options.inner is not None or options.ratio is not None:
        raise BadInput(
            "both a mandrel and a ring size were given: give --mandrel, or --inner or --ratio."
        )
    return parse_length(options.mandrel, "mandrel"), parse_length(options.wire, "wire")


def add_woven(parser: argparse.ArgumentParser) -> None:
    """The weave, its main ring, and rings of a second size."""
    from ringwright.base.sizes import SECOND_FORM, SECOND_HELP

    parser.add_argument("weave", metavar="WEAVE", help="a weave's name, or the path of a rule file")
    add_ring(parser)
    parser.add_argument(
        "--second", action="append", default=[], metavar=SECOND_FORM, help=SECOND_HELP
    )


def asked_weave(options: argparse.Namespace) -> Report:
    """The weave that was typed, settled at the ring size that was typed.

    Raises
    ------
    BadInput
        When it cannot be woven of such rings.
    """
    from ringwright.answers.advice import advice
    from ringwright.answers.second import asked_second
    from ringwright.answers.verdict import check
    from ringwright.weaves import load_rule

    rule, size = asked_second(load_rule(options.weave), options.second), asked_ring(options)
    report = check(rule, size, workers=vars(options).get("workers"))
    if not report.can_be_woven:
        # What to do comes first; the rest is for who asks 'ringwright check'.
        todo = advice(report)[0]
        raise BadInput(
            f"{rule.name} does not close with rings of just aspect ratio {size.aspect_ratio:.4g} "
            f"({report.verdict}): {todo[:1].lower()}{todo[1:]}"
        )
    return report
