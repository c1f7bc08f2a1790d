"""How a plan says lengths: in millimetres, beside what was typed, and beside inches if asked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ringwright.base.errors import BadInput
from ringwright.base.figures import Unit, in_print, number
from ringwright.base.sizes import MM_PER_INCH
from ringwright.base.wording import either, quoted

MM, BOTH = "mm", "both"
UNITS = (MM, BOTH)
_INCH_MARKS = ("in", "inch", "inches", '"', "\N{DOUBLE PRIME}")
_INCHES_IN_FOOT = 12
# Of an inch: a thousandth is 0.025 mm, and a hundredth a quarter of a millimetre.
_FEWEST_PLACES, _MOST_PLACES = 2, 4


def asked_units(name: str) -> str:
    """One of ``UNITS``, as it was typed.

    Raises
    ------
    BadInput
        When it is none of them.
    """
    if name in UNITS:
        return name
    raise BadInput(f"--units {quoted(name)} is no way to say lengths; give {either(UNITS)}.")


@dataclass(frozen=True)
class Lengths:
    """How lengths are said.

    Attributes
    ----------
    units : one of ``UNITS``
    typed : what was typed, if not in millimetres, by the name of the option
    """

    units: str = MM
    typed: Mapping[str, str] = field(default_factory=dict)

    @property
    def measured(self) -> str:
        """What stands in a table without its unit, in words."""
        return "in mm" if self.units == MM else "in mm / inches"

    def said(self, value_mm: float | None, unit: Unit, option: str = "") -> str:
        """A length with its unit.

        What was typed stands first.

        Parameters
        ----------
        unit : of the figure, which says to how many places
        option : by which it was typed, if it was
        """
        told = [f"{number(value_mm)} mm"]
        typed = self.typed.get(option, "")
        in_inches = typed.endswith(_INCH_MARKS)
        if self.units == BOTH and value_mm is not None and not in_inches:
            told.append(f"{_inches(value_mm, unit)} in")
        if typed:
            told.insert(0, typed)
        return told[0] if len(told) == 1 else f"{told[0]} ({', '.join(told[1:])})"

    def long(self, metres: float) -> str:
        """A length of wire."""
        feet = 1000.0 * metres / MM_PER_INCH / _INCHES_IN_FOOT
        return f"{number(metres)} m" + ("" if self.units == MM else f" ({feet:.2f} ft)")

    def cell(self, value: Any, unit: Unit) -> str:
        """A figure of a table, without its unit."""
        if self.units == MM or unit.name != "mm" or value is None:
            return in_print(value, unit)
        return f"{in_print(value, unit)} / {_inches(value, unit)}"


def _inches(value_mm: float, unit: Unit) -> str:
    """Inches to one place more than millimetres are said to."""
    places = min(_MOST_PLACES, max(_FEWEST_PLACES, (unit.places or 0) + 1))
    return f"{value_mm / MM_PER_INCH:.{places}f}"
