"""Figures as typed records, from which JSON, its schema, CSV and tables are made.

A record names each figure once: its key, its type, where it comes from, what it is, its unit and
its places, and for print its head and its words. Whoever prints one reads it from the record as it
was rounded there, so that no two outputs can differ. A further figure is one more line in a record:

>>> @dataclass(frozen=True)
... class Hoop:
...     inner_mm: float
>>> _hoop = read_from(Hoop)
>>> @dataclass(frozen=True)
... class HoopFigures(Figures[Hoop]):
...     inner_mm: float = _hoop(lambda hoop: hoop.inner_mm, "inner", RING_MM, head="inside")
>>> figures = HoopFigures.of(Hoop(3.20004))
>>> figures.inner_mm
3.2
>>> figures.facts()
{'inner_mm': 3.2}
>>> heads(HoopFigures), cells(figures)
(('inside',), ('3.2',))
>>> lines(figures)
[('inside', ('3.2 mm',))]
"""

from __future__ import annotations

import types
import typing
from collections.abc import Callable, Mapping, Sequence
from dataclasses import Field, dataclass, field, fields
from enum import Enum
from typing import Any, Generic, Literal, Self, TypeAlias, TypeVar, cast

Source = TypeVar("Source")
Value = TypeVar("Value")
Part = TypeVar("Part")
Missing = TypeVar("Missing")
_KEY = "figure"
_SCHEMA = "https://json-schema.org/draft/2020-12/schema"
_JSON_TYPES = {float: "number", int: "integer", str: "string", bool: "boolean"}


@dataclass(frozen=True)
class Unit:
    """What a figure is measured in, and to how many places.

    Attributes
    ----------
    name : as CSV and schema have it; empty for a ratio
    places : that the figure is rounded to; None leaves it as it is
    shown : the places that print has, noughts too, so that columns line up; None prints the
        figure as it is
    is_wire : whether it is a wire's diameter, which may be said as a gauge
    """

    name: str = ""
    places: int | None = None
    shown: int | None = None
    is_wire: bool = False

    def rounded(self, value: Any) -> Any:
        """The figure as all outputs have it, or each of several; what is no float stays."""
        if isinstance(value, tuple):
            return tuple(map(self.rounded, value))
        if isinstance(value, Mapping):
            return {key: self.rounded(one) for key, one in value.items()}
        if self.places is None or not isinstance(value, float):
            return value
        return _round(value, self.places)

    def text(self, value: Any) -> str:
        """The figure in print; a dash for none."""
        if isinstance(value, float) and self.shown is not None:
            return f"{_round(value, self.shown):.{self.shown}f}"
        return value if isinstance(value, str) else number(value)


def _round(value: float, places: int) -> float:
    # No minus before a nought.
    return round(value, places) + 0.0


PLAIN = Unit()
# To what the bench can tell apart: wire, rings and tools; coils and pieces.
RING_MM, PIECE_MM = Unit("mm", 3), Unit("mm", 1, shown=1)
# Below any meaning: only so that last bits never show.
EXACT, EXACT_MM, WIRE_MM = Unit("", 9), Unit("mm", 9), Unit("mm", 9, is_wire=True)
RATIO, LIMIT, PERCENT, GRAMS = Unit("", 2), Unit("", 3), Unit("%", 2), Unit("g", 2)
METRES, SECONDS, MINUTES = Unit("m", 3), Unit("s", 2), Unit("min")
# In the currency that stands beside it.
MONEY = Unit("currency", 2)
PER_CM = Unit("1/cm", 9, shown=2)
RINGS, REPEATS, COILS, TURNS = Unit("rings"), Unit("repeats"), Unit("coils"), Unit("turns")
PART_TURNS = Unit("turns", 1)
# What is no figure.
WORDS = Unit("words")

_NAMED_BY_THEIR_HEAD = (RINGS, REPEATS, COILS, TURNS, PART_TURNS, WORDS)

# How a value is said, from it and its unit.
Said: TypeAlias = Callable[[Any, Unit], str]
# How a figure is put in words, from its record and how values are said.
Words: TypeAlias = Callable[[Any, Said], str | Sequence[str]]


@dataclass(frozen=True)
class _Figure:
    """What a record knows of one of its figures; see :func:`read_from`."""

    of: Callable[[Any], Any]
    what: str
    unit: Unit
    head: str
    csv: str
    key: str
    summed: bool
    words: Words | None
    more: Callable[[Any, Said], str] | None


class _Reader(Generic[Source]):
    """Declares the figures of records that are read from one kind of object."""

    def __call__(
        self,
        of: Callable[[Source], Value],
        what: str,
        unit: Unit = PLAIN,
        *,
        head: str = "",
        csv: str = "",
        key: str = "",
        summed: bool = False,
        words: Words | None = None,
        more: Callable[[Any, Said], str] | None = None,
    ) -> Value:
        """One figure.

        Parameters
        ----------
        of : reads it
        what : it is, for the schema
        unit : it is measured in, and its places
        head : its name in print: of its column or row in a table, or before it in a list
        csv : the part of the CSV file that it has a row in
        key : in JSON, where that is no name in Python
        summed : whether a table ends with its sum
        words : put it in words where value and unit do not say it all; several texts are lines
            below one another, and none leaves it out
        more : what a list in full says behind that
        """
        figure = _Figure(of, what, unit, head, csv, key, summed, words, more)
        # A type checker is to see the figure's own type.
        return cast(Value, field(metadata={_KEY: figure}))

    def part(
        self, part: Callable[[Source], Part | None], missing: Missing
    ) -> _PartReader[Source, Part, Missing]:
        """What declares figures of a part that may not be there; then they are ``missing``."""
        return _PartReader(self, part, missing)


@dataclass(frozen=True)
class _PartReader(Generic[Source, Part, Missing]):
    """Declares figures that are read from a part of an object; see :meth:`_Reader.part`."""

    whole: _Reader[Source]
    part: Callable[[Source], Part | None]
    missing: Missing

    def __call__(
        self,
        of: Callable[[Part], Value],
        what: str,
        unit: Unit = PLAIN,
        *,
        head: str = "",
        words: Words | None = None,
    ) -> Value | Missing:
        """One figure of the part; parameters as of the whole's."""

        def read(source: Source) -> Value | Missing:
            part = self.part(source)
            return self.missing if part is None else of(part)

        return self.whole(read, what, unit, head=head, words=words)


def read_from(source: type[Source]) -> _Reader[Source]:
    """What declares figures that are read from a ``source``."""
    return _Reader[Source]()


class LeftOut(Enum):
    """The value of a figure that JSON leaves out, as it was not asked for; null says more."""

    LEFT_OUT = 0


LEFT_OUT = LeftOut.LEFT_OUT


class Figures(Generic[Source]):
    """A frozen dataclass, each of whose fields is declared by what :func:`read_from` returns."""

    @classmethod
    def of(cls, source: Source) -> Self:
        """All figures of one object."""
        found = {name: figure.unit.rounded(figure.of(source)) for name, figure in _declared(cls)}
        return cls(**found)

    def facts(self) -> dict[str, Any]:
        """The record as a JSON object."""
        found = {figure.key or name: getattr(self, name) for name, figure in _declared(type(self))}
        return {key: _plain(value) for key, value in found.items() if value is not LEFT_OUT}


def joined(*records: Figures[Any]) -> dict[str, Any]:
    """Several records as one JSON object; a later one overrides the figures of an earlier one."""
    return {key: value for record in records for key, value in record.facts().items()}


def _declared(record: type[Figures[Any]]) -> tuple[tuple[str, _Figure], ...]:
    """The figures of a record in their order, by their names in Python."""
    declared: tuple[Field[Any], ...] = fields(cast(Any, record))
    return tuple((one.name, one.metadata[_KEY]) for one in declared)


def _plain(value: Any) -> Any:
    """A value as JSON has it."""
    if isinstance(value, Figures):
        return value.facts()
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return value


def number(value: float | None) -> str:
    """A figure without needless noughts; a dash for none."""
    if value is None:
        return "-"
    return str(value) if isinstance(value, int) else f"{value:.3f}".rstrip("0").rstrip(".")


# --- in words -------------------------------------------------------------------------


def with_unit(value: Any, unit: Unit) -> str:
    """A figure with its unit; nothing for none."""
    if value is None:
        return ""
    named = "" if unit in _NAMED_BY_THEIR_HEAD else unit.name.replace("1/", "per ")
    return f"{unit.text(value)} {named}".strip()


def lines(
    figures: Figures[Any],
    said: Said = with_unit,
    only: Sequence[str] = (),
    in_full: bool = True,
) -> list[tuple[str, tuple[str, ...]]]:
    """The figures that have a head and are known, each by its head, with the lines it takes.

    Parameters
    ----------
    said : how values are said
    only : the names in Python of those that are wanted, in their order; none for all
    in_full : whether with what there is to say behind a figure
    """
    declared = dict(_headed(type(figures)))
    found = [
        (declared[name].head, _texts(figures, name, said, in_full)) for name in only or declared
    ]
    return [(head, texts) for head, texts in found if texts]


def head_of(record: type[Figures[Any]], name: str) -> str:
    """What one figure is called in print."""
    return dict(_declared(record))[name].head


def _texts(figures: Figures[Any], name: str, said: Said, in_full: bool = False) -> tuple[str, ...]:
    """What is said of a figure; nothing where it is not known."""
    figure, value = dict(_declared(type(figures)))[name], getattr(figures, name)
    if value is LEFT_OUT:
        return ()
    found = said(value, figure.unit) if figure.words is None else figure.words(figures, said)
    texts = tuple(filter(None, (found,) if isinstance(found, str) else found))
    if figure.more is None or not texts or not in_full:
        return texts
    return (*texts[:-1], texts[-1] + figure.more(figures, said))


# --- tables ---------------------------------------------------------------------------


def in_print(value: Any, unit: Unit) -> str:
    """A figure without its unit; a dash for none."""
    return unit.text(value)


def or_blank(value: Any, unit: Unit) -> str:
    """A figure without its unit; nothing for none."""
    return "" if value is None else unit.text(value)


def heads(record: type[Figures[Any]], currency: str = "") -> tuple[str, ...]:
    """The heads of the figures that stand in a table, that of an amount with its currency."""
    return tuple(
        f"{figure.head} {currency}".strip() if figure.unit.name == MONEY.name else figure.head
        for _, figure in _headed(record)
    )


def cells(figures: Figures[Any], said: Said = in_print) -> tuple[str, ...]:
    """These figures as ``said``, under :func:`heads`."""
    return tuple(cell(figures, name, said) for name, _ in _headed(type(figures)))


def cell(figures: Figures[Any], name: str, said: Said = in_print) -> str:
    """One figure as ``said``, whether it has a head or not."""
    return "; ".join(_texts(figures, name, said))


def of_words(record: type[Figures[Any]]) -> tuple[int, ...]:
    """Which of these columns hold words, and so begin at the left."""
    return tuple(n for n, (_, one) in enumerate(_headed(record)) if one.unit is WORDS)


def sums(rows: Sequence[Figures[Any]], said: Said = in_print) -> tuple[str, ...]:
    """A last row under :func:`heads`: the sums of what is summed, and nothing for the others."""
    return tuple(
        said(_sum([getattr(row, name) for row in rows], one.unit), one.unit) if one.summed else ""
        for name, one in _headed(type(rows[0]))
    )


def _sum(values: Sequence[Any], unit: Unit) -> Any:
    """The sum, as rounded as its parts; None where one of them is not known."""
    return None if None in values else unit.rounded(sum(values))


def _headed(record: type[Figures[Any]]) -> tuple[tuple[str, _Figure], ...]:
    return tuple((name, figure) for name, figure in _declared(record) if figure.head)


# --- CSV ------------------------------------------------------------------------------


def csv_cells(figures: Figures[Any], part: str, currency: str = "") -> list[tuple[str, str, str]]:
    """What is known of a part of the CSV file: what each figure is, the figure, and its unit."""
    found = []
    for name, figure in _declared(type(figures)):
        value = getattr(figures, name)
        if figure.csv == part and value is not None:
            unit = currency if figure.unit is MONEY else figure.unit.name
            what = (figure.key or name).removesuffix(f"_{unit}").replace("_", " ")
            found.append((what, value if isinstance(value, str) else number(value), unit))
    return found


# --- schema ---------------------------------------------------------------------------


def json_schema(title: str, *records: type[Figures[Any]]) -> dict[str, Any]:
    """The JSON Schema (2020-12) of an object that :func:`joined` makes of such records."""
    parts = [_object(record) for record in records]
    properties = {key: said for part in parts for key, said in part["properties"].items()}
    needed = {key for part in parts for key in part["required"]}
    return {
        "$schema": _SCHEMA,
        "title": title,
        **parts[0],
        "properties": properties,
        "required": [key for key in properties if key in needed],
    }


def _object(record: type[Figures[Any]]) -> dict[str, Any]:
    hints = typing.get_type_hints(record)
    properties, required = {}, []
    for name, figure in _declared(record):
        key, hint = figure.key or name, hints[name]
        properties[key] = {"description": figure.what, **_shape(hint)}
        if figure.unit.name:
            properties[key]["unit"] = figure.unit.name
        if LeftOut not in typing.get_args(hint):
            required.append(key)
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def _shape(hint: Any) -> dict[str, Any]:
    """What a type is in JSON."""
    outer, inner = typing.get_origin(hint), typing.get_args(hint)
    if outer in (typing.Union, types.UnionType):
        shapes = [_shape(one) for one in inner if one is not LeftOut]
        return shapes[0] if len(shapes) == 1 else {"anyOf": shapes}
    if outer is Literal:
        return {"enum": list(inner)}
    if outer is tuple:
        return _array(inner)
    if outer is Sequence:
        return _array((*inner, ...))
    if outer is not None and issubclass(outer, Mapping):
        return {"type": "object", "additionalProperties": _shape(inner[1])}
    if hint is type(None):
        return {"type": "null"}
    return _object(hint) if issubclass(hint, Figures) else {"type": _JSON_TYPES[hint]}


def _array(items: tuple[Any, ...]) -> dict[str, Any]:
    if items[-1] is ...:
        return {"type": "array", "items": _shape(items[0])}
    ends = {"minItems": len(items), "maxItems": len(items)}
    return {"type": "array", "prefixItems": [_shape(one) for one in items], **ends}
