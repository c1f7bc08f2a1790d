"""Lengths, gauges and ratios as a maker types them, turned into millimetres.

Only the name of a unit is ever shown to pint; the number is read here. A
maker's text is never evaluated as an expression.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NoReturn

from ringwright.base.errors import BadInput
from ringwright.base.wording import either

if TYPE_CHECKING:
    import pint

MM_PER_INCH = 25.4
# Metres per second squared, by the third General Conference on Weights and Measures, 1901.
STANDARD_FALL = 9.80665
SHORTEST_MM = 0.001
LONGEST_MM = 10_000.0
LOWEST_RATIO = 1.0
HIGHEST_RATIO = 50.0

# How rings of a second size are typed, and what every command says of it.
SECOND_FORM = "[NAME=]WIRE/INNER"
SECOND_HELP = (
    "your own second rings, e.g. 1mm/4.1mm; of several sizes each by its name: small=1mm/4.1mm"
)

_LONGEST_TEXT = 40
_LOADS = "5N, 2kg or 1lbf"
_TIMES = "6s or 1.5min"
_EXAMPLES = "1.2mm, 0.048in, 3/16in or 16awg"

_DECIMAL = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_UNIT = '(?:[A-Za-zµμ]*|["″])'
_NUMBER_AND_UNIT = re.compile(rf"(?P<number>{_DECIMAL})\s*(?P<unit>{_UNIT})")
_FRACTION_AND_UNIT = re.compile(
    r"(?P<number>(?:(?P<whole>[0-9]+)[\s-]\s*)?(?P<top>[0-9]+)\s*/\s*(?P<bottom>[0-9]+))"
    rf"\s*(?P<unit>{_UNIT})"
)
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)(?:\s*(?:mm|cm|m|in|inch))?", re.IGNORECASE)

_GAUGE = re.compile(r"(?P<label>[0-9]{1,7}|[1-7]/0)\s*(?P<table>awg|swg)", re.IGNORECASE)

_INCH_MARKS = {'"': "inch", "″": "inch"}
_INCH_NAMES = frozenset({"in", "inch", "inches"})
_GAUGE_WORDS = frozenset({"g", "ga", "gauge", "gauges", "gage"})

# Standard wire gauge in inches, BS 3737 (from memory); 0 is 1/0, -1 is 2/0, ... -6 is 7/0.
_SWG_INCHES = dict(
    enumerate(
        (
            *(0.500, 0.464, 0.432, 0.400, 0.372, 0.348, 0.324),
            *(0.300, 0.276, 0.252, 0.232, 0.212, 0.192, 0.176, 0.160, 0.144, 0.128),
            *(0.116, 0.104, 0.092, 0.080, 0.072, 0.064, 0.056, 0.048, 0.040, 0.036),
            *(0.032, 0.028, 0.024, 0.022, 0.020, 0.018, 0.0164, 0.0148, 0.0136, 0.0124),
            *(0.0116, 0.0108, 0.0100, 0.0092, 0.0084, 0.0076, 0.0068, 0.0060, 0.0052, 0.0048),
            *(0.0044, 0.0040, 0.0036, 0.0032, 0.0028, 0.0024, 0.0020, 0.0016, 0.0012, 0.0010),
        ),
        start=-6,
    )
)

# How to say what a unit measures, where pint's own dimension would not read as English.
_DIMENSION_NAMES = {
    "dimensionless": "a plain number or an angle",
    "[mass]": "a mass",
    "[time]": "a time",
    "[temperature]": "a temperature",
    "[current]": "an electric current",
    "[length] ** 2": "an area",
    "[length] ** 3": "a volume",
    "[length] / [time]": "a speed",
    "[mass] * [length] / [time] ** 2": "a force",
}


@dataclass(frozen=True)
class RingSize:
    """A ring by its wire and its inner diameter.

    Attributes
    ----------
    wire_mm : diameter of the wire, mm
    inner_mm : inner diameter of the ring, mm

    Raises
    ------
    BadInput
        When one of them is not a finite number above zero.

    Examples
    --------
    >>> RingSize(0.9, 3.2).outer_mm
    5.0
    """

    wire_mm: float
    inner_mm: float

    def __post_init__(self) -> None:
        """Refuse what no ring has."""
        for what, value_mm in (("wire", self.wire_mm), ("inner diameter", self.inner_mm)):
            if not 0.0 < value_mm < math.inf:
                raise BadInput(
                    f"{what} {format_mm(value_mm)} is not a length above zero: give it in "
                    "millimetres, e.g. 0.9"
                )

    @property
    def aspect_ratio(self) -> float:
        """Inner diameter over wire diameter."""
        return self.inner_mm / self.wire_mm

    @property
    def outer_mm(self) -> float:
        """Outer diameter."""
        return self.inner_mm + 2.0 * self.wire_mm

    @property
    def core_radius_mm(self) -> float:
        """Radius of the circle that the middle of the wire follows."""
        return (self.inner_mm + self.wire_mm) / 2.0

    @property
    def wire_radius_mm(self) -> float:
        """Half the wire's diameter."""
        return self.wire_mm / 2.0

    def checked(self) -> RingSize:
        """The ring itself; raises ``BadInput`` if its aspect ratio is outside 1 to 50."""
        _check_ratio_from_diameters(self.wire_mm, self.inner_mm)
        return self

    @classmethod
    def from_text(
        cls, wire: str, inner: str | None, ratio: str | None, outer: str | None = None
    ) -> RingSize:
        """Read a ring size from the wire and exactly one of inner, outer diameter and ratio.

        Raises ``BadInput`` if a text cannot be read, if not exactly one of ``inner``,
        ``ratio`` and ``outer`` is given, or if the aspect ratio is outside 1 to 50.
        """
        wire_mm = parse_length(wire, "wire")
        if outer is not None:
            if inner is not None or ratio is not None:
                raise BadInput(
                    "an outer diameter was given together with an inner diameter or an aspect "
                    "ratio, but one follows from the other: leave one of them out"
                )
            return cls.from_outer(wire_mm, parse_length(outer, "outer diameter"))
        if inner is not None and ratio is not None:
            raise BadInput(
                "both an inner diameter and an aspect ratio were given, but one follows from "
                "the other: leave one of them out"
            )
        if inner is not None:
            inner_mm = parse_length(inner, "inner diameter")
            _check_ratio_from_diameters(wire_mm, inner_mm)
            return cls(wire_mm, inner_mm)
        if ratio is not None:
            value = parse_ratio(ratio)
            _check_ratio_alone(value)
            product = f"{ratio.strip()} x {wire.strip()}"
            return cls(wire_mm, _checked_mm(product, "inner diameter", value * wire_mm))
        raise BadInput(
            "neither an inner diameter nor an aspect ratio was given: give one of them, "
            "such as an inner diameter of 5mm"
        )

    @classmethod
    def from_pair(cls, text: str, what: str) -> RingSize:
        """Read a ring written as wire/inner diameter, such as ``1mm/4.1mm`` or ``18swg/3/16in``.

        ``what`` names the ring in the error sentence. Raises ``BadInput`` if the text is not
        two lengths with a slash between, or the aspect ratio is outside 1 to 50.
        """
        parts = split_pair(text)
        if parts is None:
            raise BadInput(
                f"{what} {text.strip()[:_LONGEST_TEXT]!r} is not a wire and an inner diameter with "
                "a slash between: write it like 1mm/4.1mm or 18swg/3/16in"
            )
        return cls.from_text(*parts, None)

    @classmethod
    def from_outer(cls, wire_mm: float, outer_mm: float) -> RingSize:
        """A ring by its outer diameter, which some sellers give instead of the inner one.

        Raises ``BadInput`` if nothing is left inside, or the aspect ratio is outside 1 to 50.
        """
        inner_mm = outer_mm - 2.0 * wire_mm
        if inner_mm <= 0.0:
            raise BadInput(
                f"an outer diameter of {format_mm(outer_mm)} leaves no hole in a ring of "
                f"{format_mm(wire_mm)} wire: give more than twice the wire diameter, or give it "
                "as the inner diameter if that is what it is"
            )
        _check_ratio_from_diameters(wire_mm, inner_mm)
        return cls(wire_mm, inner_mm)


@dataclass(frozen=True)
class GaugeTwin:
    """A gauge number in the table that a maker did not name.

    Attributes
    ----------
    name : such as ``18swg`` where 18awg was typed
    wire_mm : its diameter
    """

    name: str
    wire_mm: float


def gauge_twin(text: str) -> GaugeTwin | None:
    """The same gauge number in the other table, American or British.

    ``text`` is a wire as it was typed. None when it is no gauge, or one that the other
    table does not have.
    """
    match = _GAUGE.fullmatch(text.strip())
    if match is None:
        return None
    other = "swg" if match["table"].lower() == "awg" else "awg"
    diameter_mm = _gauge_diameter_mm(match["label"], other)
    return None if diameter_mm is None else GaugeTwin(f"{match['label']}{other}", diameter_mm)


def parse_length(text: str, what: str) -> float:
    """Read a length that a person typed and return it in millimetres.

    Takes a number with a unit of length (``1.25mm``, ``0.048 in``, ``48thou``), an
    inch fraction (``3/16in``, ``1 1/8 in``) or a gauge (``16awg``, ``4/0awg``,
    ``18swg``). ``what`` names the length in the error sentence.

    Raises ``BadInput`` for anything else: no unit, another kind of unit, a comma,
    and lengths outside 0.001 mm to 10 m.
    """
    text = _tidied(text, what, _EXAMPLES)
    if "," in text:
        raise BadInput(f"{what} {text!r} has a comma: write decimals with a point, as in 1.25mm")
    if _NOT_FINITE.fullmatch(text):
        raise BadInput(f"{what} {text!r} is not a finite number: write it like {_EXAMPLES}")
    if match := _NUMBER_AND_UNIT.fullmatch(text):
        return _length_mm(text, what, match["number"], match["unit"], float(match["number"]))
    if match := _FRACTION_AND_UNIT.fullmatch(text):
        return _fraction_mm(text, what, match)
    raise BadInput(f"{what} {text!r} is not a number and a unit: write it like {_EXAMPLES}")


def split_pair(text: str) -> tuple[str, str] | None:
    """The wire and the inner diameter in a text such as ``18swg/3/16in``; None if it is none."""
    parts = text.split("/")
    if len(parts) == 2:
        return parts[0], parts[1]
    for place in range(1, len(parts)):
        # Inch fractions and gauges such as 4/0 have slashes of their own.
        wire, inner = "/".join(parts[:place]), "/".join(parts[place:])
        if _is_length(wire) and _is_length(inner):
            return wire, inner
    return None


def _is_length(text: str) -> bool:
    try:
        parse_length(text, "length")
    except BadInput:
        return False
    return True


def parse_allowance(text: str, what: str) -> float:
    """Read a length that may also be nothing, such as ``12mm`` or ``0mm``; millimetres.

    Raises ``BadInput`` as :func:`parse_length` does for anything else.
    """
    match = _NUMBER_AND_UNIT.fullmatch(text.strip()[:_LONGEST_TEXT])
    nothing = match is not None and match["unit"] and float(match["number"]) == 0.0
    if match is None or not nothing or match["unit"].lower() in _GAUGE_TABLES:
        return parse_length(text, what)
    # Nothing of what is no length is still wrong.
    parse_length(f"1{match['unit']}", what)
    return 0.0


def parse_percent(text: str, what: str) -> float:
    """Read a share that a person typed, such as ``5%`` or ``2.5 %``, and return it per cent.

    Raises ``BadInput`` for anything else, and for what is not from 0 to 100.
    """
    text = _tidied(text, what, "5%")
    number = text.removesuffix("%").rstrip()
    if number == text or not re.fullmatch(_DECIMAL, number):
        raise BadInput(f"{what} {text!r} is not a percentage: write it like 5%")
    value = float(number)
    if not 0.0 <= value <= 100.0:
        raise BadInput(f"{what} {text!r} is outside 0 to 100 %: write it like 5%")
    return value + 0.0


def parse_ratio(text: str) -> float:
    """Read an aspect ratio, a plain number such as ``4.2``.

    Raises ``BadInput`` if the text is not a positive finite number, or carries a unit.
    """
    what = "aspect ratio"
    text = _tidied(text, what, "4.2")
    if "," in text:
        raise BadInput(f"{what} {text!r} has a comma: write decimals with a point, as in 4.2")
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None:
        raise BadInput(f"{what} {text!r} is not a plain number: write it like 4.2")
    if match["unit"]:
        raise BadInput(
            f"{what} {text!r} has a unit, but an aspect ratio is a plain number, inner diameter "
            "divided by wire diameter: write it like 4.2, or give an inner diameter instead"
        )
    value = float(match["number"])
    if not math.isfinite(value) or value <= 0.0:
        raise BadInput(f"{what} {text!r} is not a number above zero: write it like 4.2")
    return value


def parse_load(text: str, what: str = "load") -> float:
    """Read a pull or a hanging mass that a person typed and return it in newtons.

    Takes a force (``5N``, ``2 kgf``, ``1lbf``) or a mass whose weight is meant (``500g``,
    ``2kg``), at the standard fall of 9.80665 m/s2.

    Raises ``BadInput`` for anything else, and for what is not more than zero.
    """
    value, unit = _amount(text, what, _LOADS)
    newtons = _factor(unit, "newton")
    if newtons is None and (kilograms := _factor(unit, "kilogram")) is not None:
        newtons = kilograms * STANDARD_FALL
    if newtons is None:
        raise BadInput(
            f"{what} {text.strip()!r} is neither a force nor a mass: write it like {_LOADS}"
        )
    return value * newtons


def parse_seconds(text: str, what: str) -> float:
    """Read a time that a person typed, such as ``6s`` or ``1.5 min``, and return seconds.

    Raises ``BadInput`` for anything else, and for what is not more than zero.
    """
    value, unit = _amount(text, what, _TIMES)
    seconds = _factor(unit, "second")
    if seconds is None:
        raise BadInput(f"{what} {text.strip()!r} is not a time: write it like {_TIMES}")
    return value * seconds


def awg_mm(gauge: int) -> float:
    """Wire diameter in millimetres of an American wire gauge, by the formula of ASTM B258.

    ``gauge`` is -3 for 0000, -2 for 000, -1 for 00, and 0 to 50 for the rest.
    Raises ``BadInput`` outside that range.
    """
    if not -3 <= gauge <= 50:
        raise BadInput(f"AWG has no gauge {gauge}: expected 0000 (as -3) to 50")
    # ASTM B258: 0000 is 0.46 in and 36 is 0.005 in, 39 equal ratios apart.
    return float(0.127 * 92.0 ** ((36 - gauge) / 39.0))


def swg_mm(gauge: int) -> float:
    """Wire diameter in millimetres of a standard (Imperial) wire gauge, by the BS 3737 table.

    ``gauge`` is -6 for 7/0, -5 for 6/0, ... -1 for 2/0, and 0 to 50 for the rest.
    Raises ``BadInput`` outside that range.
    """
    if gauge not in _SWG_INCHES:
        raise BadInput(f"SWG has no gauge {gauge}: expected 7/0 (as -6) to 50")
    return _SWG_INCHES[gauge] * MM_PER_INCH


@dataclass(frozen=True)
class Gauge:
    """A gauge by its name, such as ``18 AWG``, and its diameter."""

    name: str
    wire_mm: float


def gauges_between(low_mm: float, high_mm: float) -> list[Gauge]:
    """The gauges from 1 on of both tables whose wire is between two diameters, thick to thin."""
    found = [
        Gauge(f"{number} {table.upper()}", diameter(number))
        for table, (diameter, _, last, _) in _GAUGE_TABLES.items()
        for number in range(1, last + 1)
    ]
    inside = [gauge for gauge in found if low_mm <= gauge.wire_mm <= high_mm]
    return sorted(inside, key=lambda gauge: (-gauge.wire_mm, gauge.name))


def format_mm(value_mm: float) -> str:
    """Write millimetres for a person, to the nearest 0.001 mm, such as ``1.25 mm``."""
    written = (
        f"{value_mm:.3f}".rstrip("0").rstrip(".") if math.isfinite(value_mm) else str(value_mm)
    )
    return "0 mm" if written == "-0" else f"{written} mm"


# Per table: the diameter of a gauge, its first and last gauge, and how makers write these.
_GAUGE_TABLES = {
    "awg": (awg_mm, -3, 50, "0000 to 50"),
    "swg": (swg_mm, -6, 50, "7/0 to 50"),
}


# The program's own unit, and the one that its fractions and gauges are in. Nothing is left to be
# looked up for these, and importing pint takes a good part of the time of a whole check.
_KNOWN_MM = {"mm": 1.0, "in": MM_PER_INCH, "inch": MM_PER_INCH}
_USUAL_UNITS = ("cm", "m")
_USUAL_UNIT_LINES = ("meter = [length] = m", "milli- = 1e-3 = m-", "centi- = 1e-2 = c-")


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    # Building it takes a good part of a second, so only unusual units are looked up in it.
    import pint

    return pint.UnitRegistry()


@functools.cache
def _usual_registry() -> pint.UnitRegistry[float]:
    """The other units that a length is often given in, which are quick to build."""
    import pint

    units: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for line in _USUAL_UNIT_LINES:
        units.define(line)
    return units


def _tidied(text: str, what: str, example: str) -> str:
    if len(text) > _LONGEST_TEXT:
        raise BadInput(
            f"{what} is {len(text)} characters long, but at most {_LONGEST_TEXT} are expected: "
            f"write it like {example}"
        )
    text = text.strip()
    if not text:
        raise BadInput(f"{what} is empty: write it like {example}")
    return text


def _length_mm(text: str, what: str, number: str, unit: str, value: float) -> float:
    """Millimetres of a number that was already read, whatever its unit turns out to be."""
    if unit.lower() in _GAUGE_TABLES:
        return _gauge_mm(text, what, number, unit.lower())
    if unit.lower() in _GAUGE_WORDS:
        _refuse_bare_gauge(text, what, number, unit)
    if not unit:
        _refuse_bare_number(text, what, number, value)
    if unit.lower() in {"mil", "mils"}:
        _checked_mm(text, what, value)
        # In workshop talk a mil is a millimetre, in engineering a thousandth of an inch.
        raise BadInput(
            f"{what} {text!r} could be {number} mm or {number} thou "
            f"({format_mm(value * MM_PER_INCH / 1000)}): write {number}mm or {number}thou"
        )
    return _checked_mm(text, what, value * _unit_mm(text, what, unit))


def _fraction_mm(text: str, what: str, match: re.Match[str]) -> float:
    """Millimetres of an inch fraction, or of a gauge such as 4/0 that looks like one."""
    number, unit = match["number"], match["unit"]
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if unit.lower() in _GAUGE_TABLES:
        return _gauge_mm(text, what, number, unit.lower())
    if unit.lower() in _GAUGE_WORDS:
        _refuse_bare_gauge(text, what, number, unit)
    if not unit and (readings := _gauge_readings(number)):
        raise BadInput(
            f"{what} {text!r} has no unit and could be {either(readings)}: write the unit with it"
        )
    if bottom == 0:
        raise BadInput(f"{what} {text!r} is a fraction over zero: write it like 3/16in")
    if _INCH_MARKS.get(unit, unit.lower()) not in _INCH_NAMES:
        found = f"has the unit {unit!r}" if unit else "has no unit"
        raise BadInput(
            f"{what} {text!r} {found}, but only inches are taken as a fraction: write it like "
            "3/16in, or as a decimal such as 1.2mm"
        )
    return _checked_mm(text, what, (whole + top / bottom) * MM_PER_INCH)


def _unit_mm(text: str, what: str, unit: str) -> float:
    """Millimetres in one of a unit of length."""
    found = _length_or_dimension(unit)
    if isinstance(found, float):
        return found
    if found is None:
        raise BadInput(
            f"{what} {text!r} has the unit {unit!r}, which is not known: use mm, cm, in, thou, "
            "awg or swg"
        )
    measured = _DIMENSION_NAMES.get(found, f"of the dimension {found}")
    raise BadInput(
        f"{what} {text!r} is {measured}, but a length is expected: write it like {_EXAMPLES}"
    )


@functools.lru_cache(maxsize=64)
def _length_or_dimension(unit: str) -> float | str | None:
    """Millimetres in one of a unit of length, else its dimension, or None for no unit at all.

    Kept, since a size that is dragged is read many times a second.
    """
    unit = _INCH_MARKS.get(unit, unit)
    if unit in _KNOWN_MM:
        return _KNOWN_MM[unit]
    import pint

    registry = _usual_registry() if unit in _USUAL_UNITS else _registry()
    first_dimension = None
    # Capitals mean something to pint (mM is no length), but a maker may well type MM or IN.
    for spelling in (unit, unit.lower()):
        try:
            parsed = registry.parse_units(spelling)
        except (pint.PintError, AssertionError, AttributeError, ValueError):
            continue
        if parsed.dimensionality == {"[length]": 1}:
            # pint multiplies its way down to the metre, which costs 25.4 its last digit.
            return float(f"{registry.convert(1.0, parsed, registry.millimeter):.12g}")
        first_dimension = first_dimension or str(parsed.dimensionality)
    return first_dimension


def _amount(text: str, what: str, examples: str) -> tuple[float, str]:
    """The number and the unit of a positive finite amount."""
    text = _tidied(text, what, examples)
    if "," in text:
        raise BadInput(f"{what} {text!r} has a comma: write decimals with a point, as in 1.5")
    match = _NUMBER_AND_UNIT.fullmatch(text)
    if match is None or not match["unit"]:
        raise BadInput(f"{what} {text!r} is not a number and a unit: write it like {examples}")
    value = float(match["number"])
    if not math.isfinite(value) or value <= 0.0:
        raise BadInput(f"{what} {text!r} is not a number above zero: write it like {examples}")
    return value, match["unit"]


def _factor(unit: str, target: str) -> float | None:
    """How many of a pint unit are in one of ``unit``; None where they measure different things."""
    import pint

    registry = _registry()
    try:
        parsed, wanted = registry.parse_units(unit), registry.parse_units(target)
        if parsed.dimensionality != wanted.dimensionality:
            return None
        return float(f"{registry.convert(1.0, parsed, wanted):.12g}")
    except (pint.PintError, AssertionError, AttributeError, ValueError):
        return None


def _checked_mm(text: str, what: str, value_mm: float) -> float:
    if not math.isfinite(value_mm):
        raise BadInput(f"{what} {text!r} is not a finite number: write it like {_EXAMPLES}")
    if value_mm <= 0.0:
        raise BadInput(f"{what} {text!r} is not more than zero: write it like {_EXAMPLES}")
    if value_mm < SHORTEST_MM:
        raise BadInput(
            f"{what} {text!r} is less than {format_mm(SHORTEST_MM)}: check the number and the unit"
        )
    if value_mm > LONGEST_MM:
        raise BadInput(f"{what} {text!r} is more than 10 m: check the number and the unit")
    return value_mm


def _gauge_number(label: str) -> int | None:
    """The gauge that a label such as 16, 0, 00 or 4/0 stands for, if it stands for one."""
    if re.fullmatch("0{1,7}", label):
        return 1 - len(label)
    if re.fullmatch("[1-7]/0", label):
        return 1 - int(label[0])
    if re.fullmatch("[1-9][0-9]?", label):
        return int(label)
    return None


def _gauge_diameter_mm(label: str, table: str) -> float | None:
    """The wire diameter of a gauge as written, or None if the table has no such gauge."""
    gauge = _gauge_number(label)
    table_mm, first, last, _ = _GAUGE_TABLES[table]
    return table_mm(gauge) if gauge is not None and first <= gauge <= last else None


def _gauge_mm(text: str, what: str, label: str, table: str) -> float:
    diameter_mm = _gauge_diameter_mm(label, table)
    if diameter_mm is None:
        raise BadInput(
            f"{what} {text!r} is not a gauge of {table.upper()}, a whole number from "
            f"{_GAUGE_TABLES[table][-1]}: write it like 16{table}, or in millimetres"
        )
    return diameter_mm


def _gauge_readings(label: str) -> list[str]:
    """What a gauge without a table may mean, such as ``16awg (1.291 mm)``."""
    return [
        f"{label}{table} ({format_mm(diameter_mm)})"
        for table in _GAUGE_TABLES
        if (diameter_mm := _gauge_diameter_mm(label, table)) is not None
    ]


def _refuse_bare_gauge(text: str, what: str, label: str, unit: str) -> None:
    """Refuse a gauge without its table; a weight such as 1.5g is left to the caller."""
    readings = _gauge_readings(label)
    if readings:
        raise BadInput(
            f"{what} {text!r} is a gauge that could be {either(readings)}: write which one it is"
        )
    if unit.lower() != "g":
        raise BadInput(
            f"{what} {text!r} is not a gauge of AWG (0000 to 50) or SWG (7/0 to 50): write it "
            "like 16awg or 16swg, or in millimetres"
        )


def _refuse_bare_number(text: str, what: str, number: str, value: float) -> NoReturn:
    """Refuse a number without a unit, showing everything it might have meant."""
    gauges = _gauge_readings(number)
    if not gauges:
        _checked_mm(text, what, value)
    lengths = [f"{number} mm", f"{number} in ({format_mm(value * MM_PER_INCH)})"]
    readings = (lengths if value > 0.0 else []) + gauges
    raise BadInput(
        f"{what} {text!r} has no unit and could be {either(readings)}: write the unit with it"
    )


def _check_ratio_from_diameters(wire_mm: float, inner_mm: float) -> None:
    value = inner_mm / wire_mm
    if LOWEST_RATIO <= value <= HIGHEST_RATIO:
        return
    swapped = LOWEST_RATIO <= 1.0 / value <= HIGHEST_RATIO
    hint = "perhaps wire and inner diameter are swapped" if swapped else "check both and their unit"
    raise BadInput(
        f"inner diameter {format_mm(inner_mm)} over wire {format_mm(wire_mm)} is an aspect ratio "
        f"of {value:.4g}, outside 1 to 50: {hint}"
    )


def _check_ratio_alone(value: float) -> None:
    if LOWEST_RATIO <= value <= HIGHEST_RATIO:
        return
    inverse = 1.0 / value
    hint = "it is inner diameter over wire"
    if LOWEST_RATIO <= inverse <= HIGHEST_RATIO:
        hint += f", so perhaps wire and inner diameter are swapped and {inverse:.4g} is meant"
    raise BadInput(f"aspect ratio {value:.4g} is outside 1 to 50: {hint}")
