"""A further figure is one line of its record: words, tables, CSV, JSON and the page follow."""

import ast
import dataclasses
import importlib
import typing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import ringwright
from ringwright.answers.check_figures import CheckFigures
from ringwright.answers.limits import Limits
from ringwright.answers.limits_figures import LimitsFigures
from ringwright.answers.report import report_text
from ringwright.answers.report_limits import limits_text
from ringwright.answers.verdict import Report, check
from ringwright.base.figures import GRAMS, MONEY, Figures, Unit, heads, read_from
from ringwright.base.sizes import MM_PER_INCH, RingSize
from ringwright.base.terminal import figure_line
from ringwright.commands.json_schema import OUTPUTS
from ringwright.making.plan.piece_figures import CoilFigures, Counted, RingFigures
from ringwright.making.plan.piece_size import checked_measure, sized
from ringwright.making.plan.plan import Asked, Batch, Coil, Rings, plan
from ringwright.making.plan.plan_figures import PlanFigures, plan_figures
from ringwright.making.plan.report_plan import coil_table, csv_rows, plan_text, ring_table
from ringwright.making.ring.coil import SHEARS
from ringwright.making.ring.made_ring import bought_ring
from ringwright.making.ring.report_ring import ring_text
from ringwright.making.ring.ring_figures import Loaded, OneRingFigures
from ringwright.making.ring.wire import bending
from ringwright.making.shop.regauge import Regauged
from ringwright.making.shop.regauge_figures import WireFigures
from ringwright.making.shop.report_regauge import regauge_text
from ringwright.metals.metal_names import metal_named
from ringwright.page.main_view.counted_rows import rows, tables
from ringwright.page.panels.compare_panel import Found, figures_of
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.units import INCH, Units
from ringwright.page.worked_out.solve import Answer
from ringwright.weaves import load_rule

SIZE = RingSize(1.0, 4.0)
_HOLE_MM2, _ROUND_MM = Unit("mm2", 6, shown=2), Unit("mm", 6, shown=2)


@pytest.fixture(scope="module")
def checked() -> Report:
    return check(load_rule("one-in-one"), SIZE)


# --- figures that no record has yet -----------------------------------------------------

_checked, _limits, _ring = read_from(Report), read_from(Limits), read_from(Loaded)
_wire, _batch, _coil, _piece = (read_from(one) for one in (Regauged, Batch, Coil, Counted))


@dataclass(frozen=True)
class MoreChecked(CheckFigures):
    hole_mm2: float = _checked(
        lambda report: 0.25 * 3.14159 * report.size.inner_mm**2, "m", _HOLE_MM2, head="hole"
    )
    round_mm: float = _checked(
        lambda report: 3.14159 * report.size.outer_mm, "m", _ROUND_MM, head="way round a ring"
    )


@dataclass(frozen=True)
class MoreLimits(LimitsFigures):
    sag_mm: float = _limits(lambda found: 12.3456, "m", _ROUND_MM, head="sag of a span")


@dataclass(frozen=True)
class MoreRing(OneRingFigures):
    hole_mm2: float = _ring(lambda one: 12.566, "m", _HOLE_MM2, head="hole of it")


@dataclass(frozen=True)
class MoreWire(WireFigures):
    hole_mm2: float = _wire(lambda one: 12.566, "m", _HOLE_MM2, head="hole mm2")


@dataclass(frozen=True)
class MoreBatch(RingFigures):
    each_g: float = _batch(lambda batch: 0.25, "m", GRAMS, head="g a ring", csv="rings")


@dataclass(frozen=True)
class MoreCoil(CoilFigures):
    coil_g: float = _coil(lambda coil: 2.5, "m", GRAMS, head="g a coil", csv="coils")
    price: float = _coil(lambda coil: 0.5, "m", MONEY, head="price of it", csv="coils")


@dataclass(frozen=True)
class MorePlan(PlanFigures):
    rope_mm: float = _piece(
        lambda made: 100 * MM_PER_INCH, "m", _ROUND_MM, head="rope of it", csv="piece"
    )


# --- where they stand -------------------------------------------------------------------


def test_a_further_figure_of_a_check_is_in_words_on_the_page_and_beside_others(
    checked: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("ringwright.answers.report.CheckFigures", MoreChecked)
    said = report_text(checked, why=True).splitlines()
    assert figure_line("hole", "12.57 mm2") in said
    assert figure_line("way round a ring", "18.85 mm") in said
    figures = MoreChecked.of(checked)
    found = Found(_answer(checked, figures))
    for told in (dict(Units().rows(figures)), figures_of(Wanted(), found, Units())):
        assert told["Hole"] == "12.57 mm2"
        assert told["Way round a ring"] == "18.85 mm"
    # In the maker's own unit, with one place more.
    inches = f"{3.14159 * 6.0 / MM_PER_INCH:.3f} in"
    assert dict(Units(INCH, INCH).rows(figures))["Way round a ring"] == inches


def test_whatever_a_check_says_in_full_is_a_row_of_the_page_that_begins_alike(
    checked: Report,
) -> None:
    said = report_text(checked, why=True).partition("How this was found")[0].splitlines()
    told = {head.lower(): text for head, text in Units().rows(CheckFigures.of(checked))}
    figures = [line for line in said if line.startswith("  ")]
    assert len(figures) > 7
    for line in figures:
        name, text = line[2:26].strip(), line[26:]
        assert text.startswith(told[name])


def test_a_further_figure_of_the_limits_is_in_their_words(
    checked: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = Limits(checked, None, None, (), (), (), (), (), (), (), (), False)
    monkeypatch.setattr("ringwright.answers.report_limits.LimitsFigures", MoreLimits)
    assert figure_line("sag of a span", "12.35 mm") in limits_text(found).splitlines()


def test_a_further_figure_of_a_ring_is_in_its_words() -> None:
    ring = bought_ring(SIZE, None, None, None, None, SHEARS)
    assert figure_line("hole of it", "12.57 mm2") in ring_text(MoreRing.of(Loaded(ring)))


def test_a_further_figure_of_a_wire_is_a_column(
    checked: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in ("regauge_figures", "report_regauge"):
        monkeypatch.setattr(f"ringwright.making.shop.{module}.WireFigures", MoreWire)
    said = regauge_text([Regauged("1mm", checked, None, None, None, None)]).splitlines()
    heads_, cells_ = (line.split() for line in said[2:4])
    assert (heads_[-2:], cells_[-1]) == (["hole", "mm2"], "12.57")


def test_further_figures_of_a_plan_are_on_terminal_paper_page_and_in_csv(
    checked: Report, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = "ringwright.making.plan"
    monkeypatch.setattr(f"{package}.piece_figures.RingFigures", MoreBatch)
    monkeypatch.setattr(f"{package}.piece_figures.CoilFigures", MoreCoil)
    monkeypatch.setattr(f"{package}.plan_figures.PlanFigures", MorePlan)
    metal = metal_named("copper")
    rings = Rings(SIZE, None, SHEARS, 100.0, metal, "soft", bending(metal, "soft", 0.9))
    sizing = sized(checked, checked_measure("length", 120.0, None, None))
    found = plan_figures(plan(checked, rings, sizing, Asked()))
    text = plan_text(found)
    assert all(head in text for head in ("g a ring", "g a coil", "price of it"))
    # The tables that paper prints too.
    assert dict(zip(ring_table(found).heads, ring_table(found).rows[0], strict=True))[
        "g a ring"
    ] == ("0.25")
    assert coil_table(found).heads[-2:] == ("g a coil", "price of it")
    assert {row[-2:] for row in coil_table(found).rows} == {("2.5", "0.5")}
    by_ring, by_coil = tables(found, Units())
    assert ("G a ring", "0.25 g") in by_ring.rows
    upright = {head: set(texts) for head, *texts in by_coil.rows}
    assert (upright["G a coil"], upright["Price of it"]) == ({"2.5 g"}, {"0.50 EUR"})
    kept = figures_of(Wanted(), Found(_answer(checked, CheckFigures.of(checked)), found), Units())
    for told in (dict(rows(found, Units())), kept):
        assert told["Rope of it"] == "2540.00 mm"
    assert dict(rows(found, Units(INCH, INCH)))["Rope of it"] == "100.000 in"
    assert {row[2:] for row in csv_rows(found)} >= {
        ("each", "0.25", "g"),
        ("coil", "2.5", "g"),
        ("price", "0.5", "EUR"),
        ("rope", "2540", "mm"),
    }


def _answer(checked: Report, figures: CheckFigures) -> Answer:
    """An answer of the page without what it draws."""
    nothing: Any = None
    return Answer(figures, nothing, nothing, checked)


# --- that no label is written twice -----------------------------------------------------


def records() -> set[type[Figures[Any]]]:
    """The records of every command's JSON, and those within them."""
    found: set[type[Figures[Any]]] = set()
    paths = {path for paths in OUTPUTS.values() for path in paths}
    waiting: list[Any] = []
    for path in paths:
        module, _, name = path.rpartition(".")
        waiting.append(getattr(importlib.import_module(f"ringwright.{module}"), name))
    while waiting:
        one = waiting.pop()
        if isinstance(one, type) and issubclass(one, Figures) and one not in found:
            found.add(one)
            waiting += typing.get_type_hints(one).values()
        waiting += typing.get_args(one)
    return found


def own_heads(record: type[Figures[Any]]) -> set[str]:
    """The heads that a record and those it is made from declare."""
    return {head for one in record.__mro__ if dataclasses.is_dataclass(one) for head in heads(one)}


def texts(path: Path) -> set[str]:
    """The texts of a module."""
    tree = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    values = [node.value for node in tree if isinstance(node, ast.Constant)]
    return {text.lower() for text in values if isinstance(text, str)}


# What prints figures that have a record.
PRINTING = (
    *("**/report*.py", "**/*_report.py", "**/*_pdf.py", "outputs/gallery/*.py"),
    *("search/write_candidates.py", "page/state/units.py", "page/panels/*.py"),
    *("page/main_view/answer_view.py", "page/main_view/counted_rows.py"),
)


def test_no_label_of_a_figure_is_written_where_it_is_printed() -> None:
    labels = {head for record in records() for head in own_heads(record)}
    # A word alone, such as "rings", may be a key.
    labels = {label for label in labels if " " in label}
    assert {"smallest aspect ratio", "wire to cut, with spares", "rings each"} <= labels
    root = Path(ringwright.__file__).parent
    modules = {path for pattern in PRINTING for path in root.glob(pattern)}
    assert len(modules) > 20
    assert {path.name: found for path in modules if (found := labels & texts(path))} == {}
