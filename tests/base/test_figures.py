"""Records of figures: their example, JSON, tables, CSV, and the schema that is made of them."""

import doctest
from dataclasses import dataclass
from typing import Literal

import jsonschema
import pytest

from ringwright.base import figures as figures_module
from ringwright.base.figures import (
    LEFT_OUT,
    MONEY,
    PIECE_MM,
    RING_MM,
    RINGS,
    Figures,
    LeftOut,
    cells,
    csv_cells,
    heads,
    json_schema,
    read_from,
    sums,
)


@dataclass(frozen=True)
class Hoop:
    inner_mm: float
    rings: int
    price: float | None = None
    colour: str | None = None


_hoop = read_from(Hoop)


@dataclass(frozen=True)
class HoopFigures(Figures[Hoop]):
    kind: Literal["round", "square"] = _hoop(lambda _: "round", "kind", head="kind", key="is")
    inner_mm: float = _hoop(lambda hoop: hoop.inner_mm, "inner", RING_MM, head="inside", csv="all")
    long_mm: float = _hoop(lambda hoop: 100 * hoop.inner_mm, "long", PIECE_MM, head="long")
    rings: int = _hoop(
        lambda hoop: hoop.rings, "rings", RINGS, head="rings", csv="all", summed=True
    )
    price: float | None = _hoop(lambda hoop: hoop.price, "price", MONEY, csv="all")
    colour: str | LeftOut = _hoop(lambda hoop: hoop.colour or LEFT_OUT, "colour")
    pair: tuple[float, float] | None = _hoop(lambda _: None, "two numbers")
    each: tuple[int, ...] = _hoop(lambda hoop: tuple(range(hoop.rings)), "any number of numbers")


@dataclass(frozen=True)
class Shelf:
    hoops: tuple[Hoop, ...]


_shelf = read_from(Shelf)


@dataclass(frozen=True)
class ShelfFigures(Figures[Shelf]):
    hoops: tuple[HoopFigures, ...] = _shelf(
        lambda shelf: tuple(map(HoopFigures.of, shelf.hoops)), "all of them"
    )


HOOP = Hoop(3.20049, 2)
SCHEMA = json_schema("shelf", ShelfFigures)


def test_the_example_does_what_it_says():
    done = doctest.testmod(figures_module)
    assert done.attempted > 5
    assert done.failed == 0


def test_json_is_rounded_as_the_record_and_leaves_out_what_was_not_asked_for():
    record = HoopFigures.of(HOOP)
    assert record.facts() == {
        **{"is": "round", "inner_mm": record.inner_mm, "long_mm": 320.0, "rings": 2},
        **{"price": None, "pair": None, "each": [0, 1]},
    }
    assert record.inner_mm == 3.2
    assert HoopFigures.of(Hoop(3.2, 1, colour="red")).facts()["colour"] == "red"


def test_a_nought_has_no_minus():
    assert str(HoopFigures.of(Hoop(-0.0001, 1)).inner_mm) == "0.0"


def test_a_table_has_the_figures_that_have_a_head_and_sums_what_is_counted():
    rows = [HoopFigures.of(Hoop(3.2, 2)), HoopFigures.of(Hoop(4.0, 5))]
    assert heads(HoopFigures) == ("kind", "inside", "long", "rings")
    assert cells(rows[0]) == ("round", "3.2", "320.0", "2")
    assert sums(rows) == ("", "", "", "7")


def test_a_sum_is_as_rounded_as_its_parts_and_none_where_one_is_not_known():
    @dataclass(frozen=True)
    class PricedFigures(Figures[Hoop]):
        price: float | None = _hoop(
            lambda hoop: hoop.price, "price", MONEY, head="price", summed=True
        )

    def row(price):
        return PricedFigures.of(Hoop(3.2, 1, price=price))

    # 0.1 + 0.2 is 0.30000000000000004 to a computer.
    assert sums([row(0.1), row(0.2)], lambda value, _: str(value)) == ("0.3",)
    assert sums([row(0.1), row(None)]) == ("-",)


def test_csv_has_what_is_known_with_its_unit():
    assert csv_cells(HoopFigures.of(HOOP), "all", "EUR") == [
        ("inner", "3.2", "mm"),
        ("rings", "2", "rings"),
    ]
    priced = HoopFigures.of(Hoop(3.2, 2, price=0.5))
    assert csv_cells(priced, "all", "EUR")[-1] == ("price", "0.5", "EUR")
    assert csv_cells(priced, "other") == []


def test_the_schema_is_a_sound_one_and_says_unit_and_meaning():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    hoop = SCHEMA["properties"]["hoops"]["items"]
    inner = {"description": "inner", "type": "number", "unit": "mm"}
    assert hoop["properties"]["inner_mm"] == inner
    assert "colour" not in hoop["required"]
    assert "price" in hoop["required"]


def test_the_schema_takes_what_the_record_says():
    shelf = Shelf((HOOP, Hoop(3.2, 0, 1.0, "red")))
    jsonschema.validate(ShelfFigures.of(shelf).facts(), SCHEMA)


@pytest.mark.parametrize(
    "change",
    [
        {"rings": 2.5}, {"is": "oval"}, {"price": "dear"}, {"pair": [1.0]}, {"colour": None},
        {"each": ["a"]}, {"more": 1},
    ],
)  # fmt: skip
def test_the_schema_refuses_anything_else(change):
    hoop = {**HoopFigures.of(HOOP).facts(), **change}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"hoops": [hoop]}, SCHEMA)


def test_the_schema_refuses_an_object_without_one_of_its_figures():
    hoop = HoopFigures.of(HOOP).facts()
    del hoop["price"]
    with pytest.raises(jsonschema.ValidationError, match="price"):
        jsonschema.validate({"hoops": [hoop]}, SCHEMA)


@dataclass(frozen=True)
class Hook:
    hoop: Hoop | None


_hook = read_from(Hook)
_null = _hook.part(lambda hook: hook.hoop, None)
_absent = _hook.part(lambda hook: hook.hoop, LEFT_OUT)


@dataclass(frozen=True)
class HookFigures(Figures[Hook]):
    inner_mm: float | None = _null(lambda hoop: hoop.inner_mm, "null without a hoop", RING_MM)
    rings: int | LeftOut = _absent(lambda hoop: hoop.rings, "left out without a hoop", RINGS)


def test_figures_of_a_part_that_is_not_there_are_null_or_left_out():
    assert HookFigures.of(Hook(HOOP)).facts() == {"inner_mm": 3.2, "rings": 2}
    assert HookFigures.of(Hook(None)).facts() == {"inner_mm": None}
    assert json_schema("hook", HookFigures)["required"] == ["inner_mm"]
