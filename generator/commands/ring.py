"""``ringwright ring``: one ring as it is bought or made."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from generator.commands.making_options import add_metal, asked_bending, asked_cut, asked_metal
from generator.commands.shared import SIZES, WOVEN, add_json, show
from generator.errors import BadInput

if TYPE_CHECKING:
    from generator.commands.shared import Commands
    from generator.making.bench_ring import BenchRing


def add(commands: Commands) -> None:
    """Describe the command."""
    ring = commands.add_parser(
        "ring",
        help="say what a ring is: by its mandrel or its size, its mass, what it holds",
        description="One ring: what a mandrel makes of a wire after springback and saw cut, or "
        "which mandrel makes a ring; its mass and surface; the pull it begins to spread at.",
        epilog=SIZES + " Exit status: 0, or 2 if the input could not be used.",
    )
    ring.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, as 0.9mm")
    ring.add_argument("--mandrel", metavar="SIZE", help="what it is wound on, as 3mm")
    ring.add_argument("--inner", metavar="SIZE", help="or the ring's inner diameter, as 3.2mm")
    ring.add_argument("--outer", metavar="SIZE", help="or its outer diameter, as 5mm")
    ring.add_argument("--ratio", metavar="NUMBER", help="or its aspect ratio, inner / wire")
    ring.add_argument("--load", metavar="LOAD", help="a pull to compare with, as 5N or 500g")
    add_metal(ring)
    add_json(ring)
    ring.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from generator.making.report_ring import ring_facts, ring_text
    from generator.sizes import parse_load

    ring = _asked_ring(options)
    load_n = None if options.load is None else parse_load(options.load)
    if load_n is not None and ring.strength is None:
        raise BadInput("--load needs --metal and --temper; how hard the wire is decides.")
    show(options, ring_facts(ring, load_n), lambda: ring_text(ring, load_n))
    return WOVEN


def _asked_ring(options: argparse.Namespace) -> BenchRing:
    from generator.making.bench_ring import bought_ring, wound_ring
    from generator.sizes import RingSize, gauge_twin, parse_length

    metal = asked_metal(options)
    bends, cut = asked_bending(options, metal), asked_cut(options)
    twin = gauge_twin(options.wire)
    if options.mandrel is None:
        size = RingSize.from_text(options.wire, options.inner, options.ratio, options.outer)
        return bought_ring(size, twin, metal, options.temper, bends, cut)
    if any(text is not None for text in (options.inner, options.outer, options.ratio)):
        raise BadInput(
            "--mandrel makes the ring, so --inner, --outer and --ratio follow from it; leave "
            "them out."
        )
    if bends is None:
        raise BadInput(
            "--mandrel needs to know how the wire springs back; give --metal and --temper, or "
            "--trial."
        )
    wire_mm, mandrel_mm = (
        parse_length(options.wire, "wire"),
        parse_length(options.mandrel, "mandrel"),
    )
    return wound_ring(wire_mm, mandrel_mm, twin, metal, options.temper, bends, cut)
