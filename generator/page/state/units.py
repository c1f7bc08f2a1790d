"""The units that a maker reads lengths and wires in.

What is typed keeps its own unit; these are for what the page says.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ringwright.base.errors import BadInput
from ringwright.base.figures import METRES, MONEY, PER_CM, Figures, Unit, lines, with_unit
from ringwright.base.sizes import MM_PER_INCH, awg_mm, format_mm, swg_mm

MM, INCH, AWG, SWG = "mm", "inch", "awg", "swg"
LENGTH_UNITS = {MM: "millimetres", INCH: "inches"}
WIRE_UNITS = {**LENGTH_UNITS, AWG: "AWG", SWG: "SWG"}

# The gauges that jewellery is made of, thin to thick: common practice, no source.
GAUGES = {AWG: range(32, 7, -1), SWG: range(35, 9, -1)}
_GAUGE_MM = {AWG: awg_mm, SWG: swg_mm}
# A wire so near to a gauge is that gauge: wire is drawn to some hundredths of a millimetre.
_SAME_MM = 0.0006
# A number alone, and an inch fraction alone.
_BARE = re.compile(r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+")
_BARE_FRACTION = re.compile(r"(?:[0-9]+[\s-]\s*)?[0-9]+\s*/\s*[0-9]+")
# An inch rule has sixty-fourths.
_PARTS = 64
_SAME_INCH = 2e-5


@dataclass(frozen=True)
class Units:
    """How wires and other lengths are said: one of the names above each."""

    wires: str = MM
    lengths: str = MM

    def __post_init__(self) -> None:
        """Refuse other names."""
        for what, name, known in (
            ("wires", self.wires, WIRE_UNITS),
            ("lengths", self.lengths, LENGTH_UNITS),
        ):
            if name not in known:
                raise BadInput(f"{what} are given in {' or '.join(known)}, not {name[:20]!r}.")

    def wire(self, wire_mm: float) -> str:
        """A wire's diameter: a gauge beside its diameter, and what is near where it is none."""
        if self.wires not in GAUGES:
            return said_length(wire_mm, self.wires)
        near = nearest_gauge(wire_mm, self.wires)
        gauge_mm = _GAUGE_MM[self.wires](near)
        across = said_length(wire_mm, self.lengths)
        if abs(gauge_mm - wire_mm) <= _SAME_MM:
            return f"{near} {self.wires.upper()} ({across})"
        return f"{across} (near {near} {self.wires.upper()})"

    def length(self, length_mm: float) -> str:
        """A length of a ring, a repeat or a piece."""
        return said_length(length_mm, self.lengths)

    def exact(self, length_mm: float, digits: int = 3) -> str:
        """A length with all its places, for a column of figures.

        Parameters
        ----------
        digits : behind the point in millimetres; an inch gets one more
        """
        if self.lengths == INCH:
            return f"{length_mm / MM_PER_INCH:.{digits + 1}f} in"
        return f"{length_mm:.{digits}f} mm"

    def with_unit(self, text: str) -> str:
        """A length as it was typed; a number alone is in the unit that lengths are said in."""
        return _completed(text, self.lengths)

    def wire_with_unit(self, text: str) -> str:
        """A wire as it was typed; a number alone is in the unit that wires are said in.

        A number that may be a gauge is left alone, and so is every one where wires are said in
        gauges: whoever reads it asks for its unit.
        """
        bare = text.strip()
        may_be_gauge = bare.isdigit() and any(int(bare[:9]) in one for one in GAUGES.values())
        return bare if may_be_gauge else _completed(text, self.wires)

    def said(self, value: Any, unit: Unit, currency: str = "") -> str:
        """Any figure of a record, with its unit; nothing where it is not known."""
        if value is None:
            return ""
        if unit.is_wire:
            return self.wire(value)
        if unit.name == "mm":
            return self.length(value) if unit.shown is None else self.exact(value, unit.shown)
        if unit is METRES:
            return self.wire_long(1000.0 * value)
        if unit is MONEY:
            return f"{value:.2f} {currency}"
        if unit is PER_CM and self.lengths == INCH:
            return f"{unit.text(value * MM_PER_INCH / 10.0)} per inch"
        return with_unit(value, unit)

    def rows(self, figures: Figures[Any], currency: str = "") -> list[tuple[str, str]]:
        """The figures of a record that have a head and are known, as rows of a table."""

        def said(value: Any, unit: Unit) -> str:
            return self.said(value, unit, currency)

        found = lines(figures, said, in_full=False)
        return [(as_label(head), "; ".join(texts)) for head, texts in found]

    def wire_long(self, length_mm: float) -> str:
        """Wire by the metre or the foot."""
        if self.lengths == INCH:
            return f"{length_mm / MM_PER_INCH / 12.0:.2f} ft"
        return f"{length_mm / 1000.0:.2f} m"


def _completed(text: str, unit: str) -> str:
    text = text.strip()
    if _BARE.fullmatch(text) and unit in LENGTH_UNITS:
        return f"{text}in" if unit == INCH else f"{text}mm"
    # Only inches are typed as fractions.
    return f"{text}in" if unit == INCH and _BARE_FRACTION.fullmatch(text) else text


def as_label(head: str) -> str:
    """The head of a figure as the page writes it."""
    return f"{head[:1].upper()}{head[1:]}"


def said_length(length_mm: float, unit: str) -> str:
    """A length in millimetres, or in inches: a fraction where it is one."""
    if unit == MM:
        return format_mm(length_mm)
    inches = length_mm / MM_PER_INCH
    part = Fraction(round(inches * _PARTS), _PARTS)
    if part and abs(inches - float(part)) <= _SAME_INCH:
        whole, rest = divmod(part, 1)
        return " ".join(str(one) for one in (whole, rest) if one) + " in"
    written = f"{inches:.4f}".rstrip("0").rstrip(".")
    return "0 in" if written == "-0" else f"{written} in"


def typed(length_mm: float, unit: str) -> str:
    """A length as it would be typed, to the nearest thousandth of a millimetre."""
    if unit == INCH:
        return f"{length_mm / MM_PER_INCH:.5f}".rstrip("0").rstrip(".") + "in"
    return f"{length_mm:.3f}".rstrip("0").rstrip(".") + "mm"


def typed_in_full(length_mm: float) -> str:
    """A length as it would be typed with all its digits, so that it is read as nothing else."""
    return f"{length_mm!r}mm"


def nearest_gauge(wire_mm: float, table: str) -> int:
    """The gauge of the table, among those in use, whose ratio to a wire is nearest to one."""
    return min(GAUGES[table], key=lambda one: abs(math.log(_GAUGE_MM[table](one) / wire_mm)))


def gauge_mm(gauge: int, table: str) -> float:
    """The diameter of a gauge."""
    return float(_GAUGE_MM[table](gauge))
