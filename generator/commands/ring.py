"""``ringwright ring``: one ring as it is bought or made."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from ringwright.api.making import asked_bending, asked_cut, asked_metal
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import WOVEN
from ringwright.commands.making_options import add_metal
from ringwright.commands.shared import SIZES, add_json, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands
    from ringwright.making.ring.coil import Cut
    from ringwright.making.ring.made_ring import BenchRing
    from ringwright.making.ring.wire import Bending
    from ringwright.metals.metal import Metal


def add(commands: Commands) -> None:
    """Describe the command."""
    ring = commands.add_parser(
        "ring",
        help="describe one ring: its mandrel or its size, its mass, the pull it holds",
        description="Describe one ring: the ring that a wire makes on a mandrel, after "
        "springback and saw cut, or the mandrel for a ring; its mass and surface; the pull at "
        "which it starts to open.",
        epilog=SIZES + " Exit status: 0, 2 something typed could not be used, 3 the "
        "answer could not be printed.",
    )
    ring.add_argument("--wire", required=True, metavar="SIZE", help="wire diameter, e.g. 0.9mm")
    ring.add_argument("--mandrel", metavar="SIZE", help="the mandrel it is wound on, e.g. 3mm")
    ring.add_argument(
        "--inner",
        metavar="SIZE",
        help="in place of --mandrel: the ring's inner diameter, e.g. 3.2mm",
    )
    ring.add_argument(
        "--outer", metavar="SIZE", help="in place of --mandrel: its outer diameter, e.g. 5mm"
    )
    ring.add_argument(
        "--ratio",
        metavar="NUMBER",
        help="in place of --mandrel: its aspect ratio, inner diameter / wire diameter",
    )
    ring.add_argument(
        "--load", metavar="LOAD", help="a pull to compare with what the ring holds, e.g. 5N or 500g"
    )
    ring.add_argument(
        "--shop",
        metavar="FILE",
        help="your shop file; --wire is then the name of a wire in it, which gives metal, "
        "temper, trial rings and saw cut",
    )
    add_metal(ring)
    add_json(ring)
    ring.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import parse_load
    from ringwright.making.ring.report_ring import ring_text
    from ringwright.making.ring.ring_figures import Loaded, OneRingFigures

    ring = _asked_ring(options)
    load_n = None if options.load is None else parse_load(options.load)
    if load_n is not None and ring.strength is None:
        raise BadInput(
            "--load needs to know how hard the wire is; give --metal, and a --temper that is "
            "listed for it."
        )
    figures = OneRingFigures.of(Loaded(ring, load_n))
    show(options, figures.facts(), lambda: ring_text(figures))
    return WOVEN


@dataclass(frozen=True)
class _Wire:
    """The wire that was asked for, and how it is cut."""

    text: str
    metal: Metal | None
    temper: str | None
    bends: Bending | None
    cut: Cut


def _asked_wire(options: argparse.Namespace) -> _Wire:
    """The wire of the options, or one from the shop file."""
    if options.shop is None:
        metal = asked_metal(options)
        bends = asked_bending(options, metal)
        return _Wire(options.wire, metal, options.temper, bends, asked_cut(options))
    for name in ("metal", "temper", "trial", "caliper"):
        if getattr(options, name) is not None:
            raise BadInput(
                "with --shop, the file gives the metal, temper and springback of the "
                f"wire; leave out --{name}."
            )

    from ringwright.making.shop.shop import load_shop

    shop = load_shop(Path(options.shop))
    wire = shop.wire(options.wire)
    cut = shop.cut if options.kerf is None else asked_cut(options)
    return _Wire(wire.size_text, wire.metal, wire.temper, wire.bending, cut)


def _asked_ring(options: argparse.Namespace) -> BenchRing:
    from ringwright.base.sizes import RingSize, gauge_twin, parse_length
    from ringwright.making.ring.made_ring import bought_ring, wound_ring

    wire = _asked_wire(options)
    twin = gauge_twin(wire.text)
    if options.mandrel is None:
        size = RingSize.from_text(wire.text, options.inner, options.ratio, options.outer)
        return bought_ring(size, twin, wire.metal, wire.temper, wire.bends, wire.cut)
    if any(text is not None for text in (options.inner, options.outer, options.ratio)):
        raise BadInput(
            "--mandrel decides how large the ring is; leave out --inner, --outer and --ratio."
        )
    if wire.bends is None:
        raise BadInput(
            "--mandrel needs to know how far the wire springs back; give --metal and --temper, "
            "or --trial."
        )
    wire_mm = parse_length(wire.text, "wire")
    mandrel_mm = parse_length(options.mandrel, "mandrel")
    return wound_ring(wire_mm, mandrel_mm, twin, wire.metal, wire.temper, wire.bends, wire.cut)
