"""``ringwright regauge``: the same look in another wire."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from ringwright.api.making import asked_bending, asked_cut, asked_metal
from ringwright.base.errors import BadInput
from ringwright.base.exit_status import NOT_WOVEN, WOVEN
from ringwright.commands.making_options import add_metal
from ringwright.commands.shared import SIZES, add_json, add_size, asked_size, progress, show

if TYPE_CHECKING:
    from ringwright.commands.shared import Commands


def add(commands: Commands) -> None:
    """Describe the command."""
    regauge = commands.add_parser(
        "regauge",
        help="list what changes when a weave is made in another wire with the same look",
        description="Keep the aspect ratio and list what changes with the wire: inner diameter, "
        "mandrel, repeat, width, number of rings and mass.",
        epilog=SIZES,
    )
    add_size(regauge)
    regauge.add_argument(
        "--to", required=True, metavar="SIZES", help="the other wires, e.g. 20awg,1.2mm"
    )
    regauge.add_argument(
        "--length", metavar="LENGTH", help="also count the rings of a piece of this length"
    )
    add_metal(regauge)
    add_json(regauge)
    regauge.set_defaults(run=run)


def run(options: argparse.Namespace) -> int:
    """Run the command; returns its exit status."""
    from ringwright.base.sizes import parse_length
    from ringwright.weaves.second import in_proportion

    rule, size = asked_size(options)
    rule = in_proportion(rule, size.wire_mm, size.inner_mm)
    metal = asked_metal(options)
    bends, cut = asked_bending(options, metal), asked_cut(options)
    if metal is not None and options.temper is not None and bends is None:
        raise BadInput(f"{metal.untried}.")
    length_mm = None if options.length is None else parse_length(options.length, "length")

    from ringwright.making.shop.regauge import listed_wires, regauge
    from ringwright.making.shop.regauge_figures import RegaugeFigures, Wires
    from ringwright.making.shop.report_regauge import regauge_text

    wires = [(options.wire.strip(), size.wire_mm), *listed_wires(options.to, parse_length)]
    density = metal.density_g_per_cm3 if metal else None
    with progress() as step:
        found = regauge(rule, wires, size.aspect_ratio, density, bends, cut, length_mm, step)
    show(options, RegaugeFigures.of(Wires(found)).facts(), lambda: regauge_text(found))
    return WOVEN if found[0].report.can_be_woven else NOT_WOVEN
