"""The wires, mandrels and trial rings of the shop as tables, each to be used or taken away."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from nicegui import ui

from ringwright.making.ring.trials import Trial
from ringwright.making.shop.shop import Shop
from ringwright.page.session import Session
from ringwright.page.shop.shop_forms import changed
from ringwright.page.state.shop_edits import without_table
from ringwright.page.state.units import typed_in_full
from ringwright.page.widgets.elements import button, words


@dataclass(frozen=True)
class _Row:
    """What a row is called, its other cells, and what its buttons do; ``use`` where it has one."""

    name: str
    cells: tuple[str, ...]
    remove: Callable[[], object]
    use: Callable[[], object] | None = None


class Shelf:
    """Wires, mandrels and trial rings as tables, each to be used or taken away."""

    def __init__(self, session: Session, on_removed: Callable[[], object]) -> None:
        """Draw them as the shop is now, and whenever it changes."""
        self._session, self._on_removed = session, on_removed
        self._drawn: object = None
        self._holder = ui.element("div")
        self._said = words("").classes("hint wrong").props("role=status")
        session.on_shop.listen(self.refresh)
        session.on_wanted.listen(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Draw them anew if there is anything new."""
        wanted = self._session.wanted
        drawn = self._session.shop, wanted.units
        if drawn == self._drawn:
            return
        self._drawn = drawn
        self._holder.clear()
        with self._holder:
            self._wires(self._session.shop)
            self._mandrels(self._session.shop)
            self._trials(self._session.shop)

    def _wires(self, shop: Shop) -> None:
        units = self._session.wanted.units
        rows = []
        for wire in shop.wires:
            price = _price(wire.price_per_kg, wire.price_per_m, shop.rates.currency)
            cells = (units.wire(wire.wire_mm), f"{wire.metal.name}, {wire.temper}", price)
            use = partial(self._session.change, shelf=wire.name)
            rows.append(_Row(wire.name, cells, partial(self._remove, "wire", wire.name), use))
        self._table("Wires", ("Wire", "Size", "Metal", "Price"), rows)

    def _mandrels(self, shop: Shop) -> None:
        units = self._session.wanted.units
        rows = []
        for one in shop.mandrels:
            use = partial(self._session.change, mandrel=typed_in_full(one.mandrel_mm))
            remove = partial(self._remove, "mandrel", one.name)
            rows.append(_Row(one.name, (units.length(one.mandrel_mm),), remove, use))
        self._table("Mandrels", ("Mandrel", "Size"), rows)

    def _trials(self, shop: Shop) -> None:
        length = self._session.wanted.units.length
        rows = []
        for place, (wire, trial) in enumerate(shop.trials):
            name = f"{wire}, trial {place + 1}"
            cells = (length(trial.mandrel_mm), f"{length(trial.inner_mm)}, {_measured(trial)}")
            rows.append(_Row(name, cells, partial(self._remove_at, "trial", place, name)))
        self._table("Trial rings", ("Wire", "Mandrel", "Inside"), rows)

    def _table(self, caption: str, headers: tuple[str, ...], rows: Sequence[_Row]) -> None:
        with ui.element("div").classes("wide"), ui.element("table").classes("shelf"):
            words(caption if rows else f"{caption}: none yet", "caption")
            if not rows:
                return
            with ui.element("thead"), ui.element("tr"):
                for header in (*headers, "What to do"):
                    words(header, "th").props("scope=col")
            with ui.element("tbody"):
                for row in rows:
                    with ui.element("tr"):
                        words(row.name, "th").props("scope=row")
                        for cell in row.cells:
                            words(cell, "td")
                        with ui.element("td"):
                            if row.use is not None:
                                _small("Use", f"Use {row.name}", row.use)
                            _small("Remove", f"Remove {row.name}", row.remove)

    def _remove(self, key: str, name: str) -> None:
        self._remove_at(key, _place(self._session.shop_text, key, name), name)

    def _remove_at(self, key: str, place: int, name: str) -> None:
        def edit(text: str) -> str:
            return without_table(text, key, place)

        trouble = changed(self._session, f"{name} removed", edit)
        self._said.set_text(trouble)
        if not trouble:
            self._on_removed()


def _measured(trial: Trial) -> str:
    """What was measured, in a word."""
    if trial.kerf_mm is None:
        return "coil"
    return "sawn" if trial.kerf_mm else "cut"


def _place(text: str, key: str, name: str) -> int:
    """Where in its file a wire or a mandrel of a name stands."""
    import tomllib

    def named(table: Mapping[str, object]) -> str:
        return str(table.get("name", table.get("size"))).strip()

    tables = tomllib.loads(text).get(key, [])
    return next((n for n, table in enumerate(tables) if named(table) == name), len(tables))


def _small(text: str, label: str, on_press: Callable[[], object]) -> None:
    made = button(text, on_press, kind="quiet")
    made.props["aria-label"] = label


def _price(per_kg: float | None, per_m: float | None, currency: str) -> str:
    if per_m is not None:
        return f"{per_m:g} {currency} per metre"
    return "" if per_kg is None else f"{per_kg:g} {currency} per kg"
