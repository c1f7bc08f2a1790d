"""Coil-winding guide: a hand-cranked winder for one mandrel and wire, or the guide alone.

x runs along the mandrel, its axis is y = z = 0, z is up. As designed the crank is at the
lower end of x, the coil grows towards higher x and the wire comes in from the front, -y,
under the mandrel: that winds a left-hand coil. The other three ways of working are mirror
images in x, in y, or in both.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.jigs.parts.jig import SEEN_FROM, Jig
from ringwright.jigs.parts.printing import Printer
from ringwright.jigs.winding.guide import DRAWN_TURNS, drag, guide_on_mandrel
from ringwright.jigs.winding.size import (
    SUPPORT_MM,
    USUAL_CRANK,
    USUAL_HAND,
    USUAL_METAL,
    USUAL_TEMPER,
    WindingGuide,
    dimensions,
)
from ringwright.jigs.winding.way import way_of
from ringwright.jigs.winding.winder import winder
from ringwright.jigs.winding.words import cautions, facts, remarks, use
from ringwright.metals.metal_names import metal_named

NAME = "winding-guide"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give the command this jig's options."""
    from ringwright.jigs.parts.options import add_ring

    add_ring(parser)
    parser.add_argument(
        "--mandrel",
        metavar="SIZE",
        help="diameter of the steel rod (default: the ring's inner diameter; wire springs back, "
        "so a slightly thinner rod is usual)",
    )
    parser.add_argument(
        "--coil-length",
        default=defaults.typed(defaults.COIL_MM),
        metavar="SIZE",
        help="longest coil (default %(default)s)",
    )
    parser.add_argument(
        "--hand",
        choices=("right", "left"),
        default=USUAL_HAND,
        help="direction in which the coil winds (default %(default)s)",
    )
    parser.add_argument(
        "--crank",
        choices=("right", "left"),
        default=USUAL_CRANK,
        help="hand that turns the crank (default %(default)s)",
    )
    parser.add_argument(
        "--drive",
        choices=("crank", "drill"),
        default="crank",
        help="crank: a whole winder (the default); drill: the wire guide alone, with a handle, "
        "for a mandrel in a drill",
    )
    parser.add_argument(
        "--metal",
        default=USUAL_METAL,
        metavar="NAME",
        help="metal of the wire (default %(default)s)",
    )
    parser.add_argument(
        "--temper",
        default=USUAL_TEMPER,
        metavar="NAME",
        help="temper of the wire (default %(default)s)",
    )
    parser.add_argument(
        "--yield-mpa",
        type=float,
        metavar="NUMBER",
        help="yield stress of the wire, in MPa, in place of the metal's",
    )


def from_options(options: argparse.Namespace, printer: Printer) -> Jig:
    """The jig that was asked for."""
    from ringwright.base.sizes import parse_length
    from ringwright.jigs.parts.options import asked_mandrel

    mandrel_mm, wire_mm = asked_mandrel(options)
    yield_mpa = options.yield_mpa
    if yield_mpa is None:
        metal = metal_named(options.metal)
        if not metal.tempers:
            raise BadInput(
                f"no strength of {metal.name} is listed; give --yield-mpa, the stress at which "
                "your wire bends."
            )
        yield_mpa = metal.bending_mpa(options.temper, wire_mm)
    return build(
        dimensions(
            mandrel_mm,
            wire_mm,
            printer,
            coil_mm=parse_length(options.coil_length, "coil length"),
            hand=options.hand,
            crank=options.crank if options.drive == "crank" else "none",
            yield_mpa=yield_mpa,
        ),
        printer,
    )


def build(size: WindingGuide, printer: Printer) -> Jig:
    """The jig of these dimensions."""
    way = way_of(size)
    x = _layout(size)
    made = guide_on_mandrel(size, way, x) + drag(size, way, x["guide"])
    alone = size.crank == "none"
    if not alone:
        made += winder(size, way, x)
    return Jig(
        name=NAME,
        title="Coil-winding guide",
        parts=made.parts,
        bought=made.bought,
        placed=made.placed,
        mating=made.mating,
        use=use(size, way),
        cautions=cautions(size),
        remarks=remarks(size),
        facts=facts(size),
        # From the side that the wire comes from.
        seen_from=(0.55, -0.78 * way.y, 0.55) if alone else SEEN_FROM,
    )


def _layout(size: WindingGuide) -> Mapping[str, float]:
    """Where things begin along the mandrel; the left support's inner face is zero."""
    anchor = 1.0
    coil = anchor + size.hub_mm + 2.0
    # So far that the guide is clear of the anchor, and a few turns show behind it.
    shown = max(DRAWN_TURNS * size.wire_mm, size.coil_room_mm + 3.0 * size.wire_mm)
    crank = -SUPPORT_MM - 1.0
    return {
        "anchor": anchor,
        "coil": coil,
        "guide": coil + shown,
        "crank": crank,
        "mandrel": crank - size.hub_mm - 2.0 if size.crank != "none" else coil - 40.0,
    }
