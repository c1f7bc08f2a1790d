"""The printer a jig is made for, and the rules that every printed part follows."""

from __future__ import annotations

import argparse
import math
import re
from dataclasses import dataclass
from pathlib import Path

from ringwright.base import defaults
from ringwright.base.errors import BadInput

# Common practice for filament printers, no source: steeper than this prints without support,
# and a flat roof between two walls this far apart sags no more than a layer.
OVERHANG_DEG = 45.0
BRIDGE_MM = 10.0
# Common practice, no source: raised letters are read at arm's length from this height on.
LETTER_MM = 5.0
# Share of the nozzle that a bead is wider than it. Common practice, no source.
_BEAD = 1.125


@dataclass(frozen=True)
class Printer:
    """A filament printer and how it is set; the defaults are common practice, no source.

    Attributes
    ----------
    bed_mm : room along x, y and z
    nozzle_mm : bore of the nozzle
    extrusion_width_mm : width of one bead
    layer_height_mm : height of one layer
    clearance_mm : gap, per side, at which two printed parts move freely on one another
    density_g_cm3 : of the filament; PLA (from memory)
    walls : beads around every layer
    infill : share of the inside that is filled
    speed_mm_s : mean speed while the nozzle lays a bead
    """

    bed_mm: tuple[float, float, float] = defaults.BED_MM
    nozzle_mm: float = defaults.NOZZLE_MM
    extrusion_width_mm: float = round(_BEAD * defaults.NOZZLE_MM, 4)
    layer_height_mm: float = defaults.LAYER_MM
    clearance_mm: float = defaults.CLEARANCE_MM
    density_g_cm3: float = 1.24
    walls: int = 3
    infill: float = 0.25
    speed_mm_s: float = 50.0

    def __post_init__(self) -> None:
        """Raise ``BadInput`` for figures no filament printer has."""
        _within("nozzle", self.nozzle_mm, 0.1, 1.5)
        _within("extrusion width", self.extrusion_width_mm, self.nozzle_mm, 2.0 * self.nozzle_mm)
        _within("layer height", self.layer_height_mm, 0.04, 0.8 * self.nozzle_mm)
        _within("clearance", self.clearance_mm, 0.05, 0.6)
        for axis, room_mm in zip("xyz", self.bed_mm, strict=True):
            _within(f"bed along {axis}", room_mm, 50.0, 2000.0)

    @property
    def least_wall_mm(self) -> float:
        """The thinnest wall that is allowed: two beads."""
        return 2.0 * self.extrusion_width_mm

    @property
    def least_stroke_mm(self) -> float:
        """The thinnest stroke of a letter that is allowed: one nozzle."""
        return self.nozzle_mm

    def running_bore_mm(self, shaft_mm: float) -> float:
        """The bore in which a shaft turns freely."""
        return shaft_mm + 2.0 * self.clearance_mm

    def whole_layers_mm(self, height_mm: float) -> float:
        """The height, rounded up to whole layers."""
        layers = math.ceil(height_mm / self.layer_height_mm - 1e-9)
        return round(layers * self.layer_height_mm, 6)


def add_printer(parser: argparse.ArgumentParser) -> None:
    """Give a command the printer's options."""
    usual = Printer()
    group = parser.add_argument_group("printer (defaults: common practice, no source)")
    group.add_argument(
        "--shop",
        metavar="FILE",
        help="take the printer from your shop file ('ringwright shop-file' writes one)",
    )
    group.add_argument(
        "--bed",
        metavar="SIZES",
        help=f"size of the bed and height, e.g. 180x180x180mm (default {_sides(usual.bed_mm)})",
    )
    group.add_argument(
        "--nozzle",
        metavar="SIZE",
        help=f"diameter of the nozzle (default {usual.nozzle_mm}mm); a bead is taken to be {_BEAD} "
        "times as wide",
    )
    group.add_argument(
        "--layer",
        metavar="SIZE",
        help=f"layer height (default {usual.layer_height_mm}mm)",
    )
    group.add_argument(
        "--clearance",
        metavar="SIZE",
        help=f"gap per side at which printed parts move freely (default {usual.clearance_mm}mm; "
        "print two parts to try it)",
    )


def printer_from(options: argparse.Namespace) -> Printer:
    """The printer of the options that :func:`add_printer` gave.

    An option goes before the shop file, and that before what is usual.

    Raises
    ------
    BadInput
        When a text or the shop file cannot be read, or no printer is like that.
    """
    from ringwright.base.sizes import parse_length
    from ringwright.making.shop.shop import ShopPrinter, load_shop

    usual = Printer()
    shop = ShopPrinter() if options.shop is None else load_shop(Path(options.shop)).printer

    def length_mm(text: str | None, what: str, kept: float | None, otherwise: float) -> float:
        return parse_length(text, what) if text is not None else kept or otherwise

    nozzle_mm = length_mm(options.nozzle, "nozzle", shop.nozzle_mm, usual.nozzle_mm)
    return Printer(
        bed_mm=_bed_mm(options.bed) if options.bed else shop.bed_mm or usual.bed_mm,
        nozzle_mm=nozzle_mm,
        extrusion_width_mm=round(_BEAD * nozzle_mm, 4),
        layer_height_mm=length_mm(
            options.layer, "layer height", shop.layer_height_mm, usual.layer_height_mm
        ),
        clearance_mm=length_mm(
            options.clearance, "clearance", shop.clearance_mm, usual.clearance_mm
        ),
    )


def _sides(bed_mm: tuple[float, float, float]) -> str:
    return "x".join(f"{side:g}" for side in bed_mm) + "mm"


def _bed_mm(text: str) -> tuple[float, float, float]:
    from ringwright.base.sizes import parse_length

    match = re.fullmatch(r"\s*([0-9.]+)\s*x\s*([0-9.]+)\s*x\s*([0-9.]+)\s*([a-z]+)\s*", text)
    if match is None:
        raise BadInput(
            f"bed {text!r} is not three lengths and a unit: write it like "
            f"{_sides(defaults.BED_MM)}."
        )
    x_mm, y_mm, z_mm = (parse_length(match[side] + match[4], "bed") for side in (1, 2, 3))
    return x_mm, y_mm, z_mm


def _within(what: str, value_mm: float, least_mm: float, most_mm: float) -> None:
    if not least_mm - 1e-9 <= value_mm <= most_mm + 1e-9:
        raise BadInput(
            f"{what} {value_mm:g} mm is outside {least_mm:g} to {most_mm:g} mm; give what your "
            "printer and nozzle are set to."
        )
