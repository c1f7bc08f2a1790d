"""The shop file: what a maker has on the shelf, what it costs, and how her wire behaves.

A TOML file of the maker's own, read as carefully as a stranger's: bounded before it is
parsed, nothing in it is evaluated, and every complaint names the key, what was found there
and what was expected. Lengths are texts with a unit, as on the command line; prices are
plain numbers in the one currency of ``[rates]``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from ringwright.base import defaults
from ringwright.base.errors import BadInput
from ringwright.base.sizes import RingSize, parse_length, parse_percent, parse_seconds
from ringwright.base.toml_file import Node, read_toml, text_of, toml_of
from ringwright.base.wording import quoted
from ringwright.making.ring.coil import USUAL_CUT, Cut, saw
from ringwright.making.ring.ring_mass import ring_mass_g, wire_mass_g
from ringwright.making.ring.trials import MOST_TRIALS as MOST_OF_A_SPOOL
from ringwright.making.ring.trials import WORST_CALIPER_MM, Trial
from ringwright.making.ring.wire import Bending, bending
from ringwright.metals.metal import ALLOYED, NONE, PLAIN, TRACES, Metal
from ringwright.metals.metal_names import metal_named
from ringwright.metals.temper import Temper, one_strength, temper_key

_KIND = "shop file"
MOST_BYTES = 256 * 1024
MOST_WIRES = 100
MOST_MANDRELS = 100
MOST_STOCK_RINGS = 200
MOST_METALS = 40
MOST_TRIALS = 200
MOST_PRICE = 1e7
MOST_IN_PACK = 100_000
# Diameters that differ by less are typed alike.
_SAME_MM = 1e-6

CURRENCY = "EUR"
# Seconds that nobody has to time: common practice, no source.
USUAL_PACE_S: Mapping[str, float] = {
    "setup": 300.0,
    "deburr": 0.5,
    "tumble": 600.0,
    "sort": 0.5,
    "clasp": 180.0,
    "pack": 300.0,
}
# Shops sell for twice what they pay: common practice, no source.
USUAL_RETAIL = 2.0


@dataclass(frozen=True)
class ShopWire:
    """A wire on the shelf.

    Attributes
    ----------
    size_text : the diameter as the maker wrote it, such as ``18awg``
    price_per_kg, price_per_m : at most one of them; None where no price is known
    colour : as the maker calls it; empty if not given
    bending : by the maker's trial rings, or else by the table
    """

    name: str
    size_text: str
    wire_mm: float
    metal: Metal
    temper: str
    price_per_kg: float | None
    price_per_m: float | None
    colour: str
    bending: Bending

    def price(self, length_mm: float) -> float | None:
        """What a length of it costs; None where no price is known."""
        if self.price_per_m is not None:
            return self.price_per_m * length_mm / 1000.0
        if self.price_per_kg is not None:
            return self.price_per_kg * self.mass_g(length_mm) / 1000.0
        return None

    def mass_g(self, length_mm: float) -> float:
        """What a length of it weighs."""
        return wire_mass_g(length_mm, self.wire_mm, self.metal.density_g_per_cm3)


@dataclass(frozen=True)
class ShopMandrel:
    """A mandrel on the shelf."""

    name: str
    mandrel_mm: float


@dataclass(frozen=True)
class StockRing:
    """Rings bought ready cut; ``size`` is that of the closed ring.

    Attributes
    ----------
    price_per_100, price_per_pack : at most one of them; None where no price is known
    pack_of : how many are in a pack; None where they are sold by the piece
    """

    name: str
    size: RingSize
    metal: Metal
    temper: str
    price_per_100: float | None
    colour: str
    pack_of: int | None = None
    price_per_pack: float | None = None

    def packs(self, rings: int) -> int | None:
        """Whole packs that hold so many; None where they are sold by the piece."""
        return None if self.pack_of is None else math.ceil(rings / self.pack_of)

    def price(self, rings: int) -> float | None:
        """What so many cost, in whole packs where they are sold so; None without a price."""
        packs = self.packs(rings)
        if packs is not None and self.price_per_pack is not None:
            return packs * self.price_per_pack
        if self.price_per_100 is None:
            return None
        bought = rings if packs is None or self.pack_of is None else packs * self.pack_of
        return self.price_per_100 * bought / 100.0

    def mass_g(self) -> float:
        """What one weighs."""
        return ring_mass_g(self.size, self.metal.density_g_per_cm3)


@dataclass(frozen=True)
class ShopPrinter:
    """The maker's printer; None for what the file leaves out."""

    bed_mm: tuple[float, float, float] | None = None
    nozzle_mm: float | None = None
    layer_height_mm: float | None = None
    clearance_mm: float | None = None


@dataclass(frozen=True)
class Rates:
    """What an hour costs and what is added on top, in the maker's currency.

    Attributes
    ----------
    per_hour : None where the file gives none
    overhead_percent : of material, clasp and work: rent, tools, power, fees
    markup : the wholesale price over the cost, overhead included
    retail : the retail price over the wholesale price
    retail_is_own : whether the maker said so; else it is common practice, no source
    """

    currency: str = CURRENCY
    per_hour: float | None = None
    overhead_percent: float = 0.0
    markup: float = 1.0
    retail: float = USUAL_RETAIL
    retail_is_own: bool = False


@dataclass(frozen=True)
class Pace:
    """The maker's own seconds; None for what the file leaves out.

    Attributes
    ----------
    wind_s, cut_s, deburr_s, sort_s, close_s, open_s, weave_s : for one ring
    setup_s : for one wire on one mandrel, until the first coil is begun
    tumble_s : for one load, of one metal, that somebody stands by
    clasp_s, pack_s : for one piece
    """

    wind_s: float | None = None
    cut_s: float | None = None
    open_s: float | None = None
    close_s: float | None = None
    weave_s: float | None = None
    setup_s: float | None = None
    deburr_s: float | None = None
    tumble_s: float | None = None
    sort_s: float | None = None
    clasp_s: float | None = None
    pack_s: float | None = None

    def of(self, step: str) -> tuple[float | None, bool]:
        """Seconds for a step, and whether they are the usual ones in place of the maker's own."""
        own: float | None = getattr(self, f"{step}_s")
        return (USUAL_PACE_S.get(step), step in USUAL_PACE_S) if own is None else (own, False)


@dataclass(frozen=True)
class Shop:
    """A shop file, read and checked.

    Attributes
    ----------
    cut : how rings come off a coil; shears where the file has no ``[saw]``
    coil_mm : longest coil that is wound at a time
    trials : with the name of the wire each was made of
    caliper_mm : how far its reading may be off
    """

    wires: tuple[ShopWire, ...]
    mandrels: tuple[ShopMandrel, ...]
    stock_rings: tuple[StockRing, ...]
    metals: tuple[Metal, ...]
    trials: tuple[tuple[str, Trial], ...]
    cut: Cut
    coil_mm: float
    caliper_mm: float
    printer: ShopPrinter
    rates: Rates
    pace: Pace
    path: Path

    def wire(self, name: str) -> ShopWire:
        """The wire of a name.

        Raises
        ------
        BadInput
            When the shop has none of that name.
        """
        if (found := self.wire_named(name)) is not None:
            return found
        known = ", ".join(repr(wire.name) for wire in self.wires[:8])
        raise BadInput(f"the shop file has no wire {quoted(name)}: expected one of {known}")

    def wire_named(self, name: str) -> ShopWire | None:
        """The wire of a name; None where the shop has none."""
        return next((wire for wire in self.wires if wire.name == name), None)

    def wire_like(
        self, size_text: str, metal: str | None = None, temper: str | None = None
    ) -> ShopWire | None:
        """The only wire of a diameter, and of a metal and a temper where these are named.

        Raises
        ------
        BadInput
            When there are several, or the diameter or the metal cannot be read.
        """
        wire_mm = parse_length(size_text, "wire")
        fits = [wire for wire in self.wires if abs(wire.wire_mm - wire_mm) < _SAME_MM]
        if metal is not None:
            name = metal_named(metal, self.metals).name
            fits = [wire for wire in fits if wire.metal.name == name]
        if temper is not None:
            key = temper_key(temper)
            fits = [wire for wire in fits if temper_key(wire.temper) == key]
        if len(fits) > 1:
            known = " or ".join(repr(wire.name) for wire in fits[:8])
            raise BadInput(f"the shop file has several wires of {size_text}: name one, {known}")
        return fits[0] if fits else None


_A_LENGTH = "a length with its unit in quotes"
_A_PRICE = f"a price, a number from 0 to {MOST_PRICE:g}"
_SHOP_KEYS = {
    "wire": "a [[wire]] table for each wire",
    "mandrel": "a [[mandrel]] table for each mandrel",
    "stock_ring": "a [[stock_ring]] table for each kind of bought ring",
    "metal": "a [[metal]] table for each price or metal of your own",
    "trial": "a [[trial]] table for each trial ring",
    "caliper": "a [caliper] table with its error",
    "saw": "a [saw] table with its kerf",
    "printer": "a [printer] table",
    "rates": "a [rates] table",
    "pace": "a [pace] table",
}
_WIRE_KEYS = {
    "name": "a name of its own",
    "size": f'{_A_LENGTH} or a gauge, e.g. "0.9mm" or "18awg"',
    "metal": "the name of a metal",
    "temper": 'how hard it is drawn, e.g. "soft" or "half hard"',
    "price_per_kg": _A_PRICE,
    "price_per_m": _A_PRICE,
    "colour": "a colour",
}
_MANDREL_KEYS = {"name": "a name", "size": f'{_A_LENGTH}, e.g. "3.2mm"'}
_STOCK_KEYS = {
    "name": "a name of its own",
    "wire": f'{_A_LENGTH} or a gauge, e.g. "0.9mm" or "18awg"',
    "inner": f'{_A_LENGTH}, e.g. "3.2mm"',
    "outer": f'{_A_LENGTH}, e.g. "5mm"',
    "metal": "the name of a metal",
    "temper": 'how hard it is, e.g. "soft" or "half hard"',
    "price_per_100": _A_PRICE,
    "pack_of": f"a whole number from 1 to {MOST_IN_PACK}",
    "price_per_pack": _A_PRICE,
    "colour": "a colour",
}
_METAL_KEYS = {
    "name": "the name of a metal",
    "price_per_kg": _A_PRICE,
    "density_g_per_cm3": "a number from 1 to 25",
    "youngs_modulus_mpa": "a number from 10000 to 500000",
    "tempers": "a list of { name, yield_mpa, tensile_mpa }",
    "nickel": f'"{NONE}", "{TRACES}" or "{ALLOYED}"',
    "lead": f'"{NONE}", "{TRACES}" or "{ALLOYED}"',
}
_OWN_METAL = ("density_g_per_cm3", "youngs_modulus_mpa", "tempers")
_TEMPER_KEYS = {
    "name": "a name",
    "yield_mpa": "a number from 1 to 5000",
    "tensile_mpa": "a number from 1 to 5000",
}
COIL, SAWN, SHEARED = "coil", "sawn ring", "sheared ring"
_TRIAL_KEYS = {
    "wire": "the name of one of your wires",
    "mandrel": f'{_A_LENGTH}, e.g. "3.2mm"',
    "inner": f"{_A_LENGTH}, what you measured inside",
    "measured": f'"{COIL}", "{SAWN}" or "{SHEARED}"',
    "kerf": f'{_A_LENGTH}, e.g. "0.3mm"',
    "error": f'{_A_LENGTH}, how far that may be off, e.g. "0.03mm"',
}
_CALIPER_KEYS = {"error": f'{_A_LENGTH}, how far its reading may be off, e.g. "0.03mm"'}
_SAW_KEYS = {
    "kerf": f'{_A_LENGTH}, e.g. "0.3mm"',
    "coil": f'{_A_LENGTH}, the longest coil you wind, e.g. "100mm"',
}
_PRINTER_KEYS = {
    "bed": f"a list of three: {_A_LENGTH}",
    "nozzle": f'{_A_LENGTH}, e.g. "0.4mm"',
    "layer_height": f'{_A_LENGTH}, e.g. "0.2mm"',
    "clearance": f'{_A_LENGTH}, e.g. "0.2mm"',
}
_RATES_KEYS = {
    "currency": "a sign or short name for money",
    "per_hour": _A_PRICE,
    "overhead": 'a share, e.g. "15%"',
    "markup": "a number from 1 to 100",
    "retail": "a number from 1 to 100",
}
_PACE_KEYS = dict.fromkeys(
    (
        *("setup", "wind", "cut", "deburr", "tumble", "sort"),
        *("open", "close", "weave", "clasp", "pack"),
    ),
    'a time, e.g. "6s"',
)


class _Node(Node):
    """A value of a shop file."""

    TABLES = ("wire", "mandrel", "stock_ring", "metal", "trial")

    def read(self, reader: Callable[[str], _T]) -> _T:
        """A text with a unit; what the reader refuses is said with its place in the file."""
        text = self.text(_A_LENGTH, 40)
        try:
            return reader(text)
        except BadInput as error:
            raise BadInput(
                f"{self.file}: {error.within} (at {self.key}{self._ordinal()})"
            ) from None

    def length_mm(self) -> float:
        """A length."""
        what = self.key.rpartition(".")[2].replace("_", " ")
        return self.read(lambda text: parse_length(text, what))

    def error_mm(self) -> float:
        """How far a caliper's reading may be off."""
        found_mm = self.length_mm()
        if found_mm > WORST_CALIPER_MM:
            raise self.wrong(f"a length up to {WORST_CALIPER_MM:g} mm")
        return found_mm

    def seconds(self) -> float:
        """A time."""
        what = self.key.rpartition(".")[2]
        return self.read(lambda text: parse_seconds(text, what))

    def percent(self) -> float:
        """A share, per cent."""
        what = self.key.rpartition(".")[2]
        return self.read(lambda text: parse_percent(text, what))

    def price(self) -> float:
        """A price."""
        return self.number(0.0, MOST_PRICE)

    def own_name(self, taken: Collection[str]) -> str:
        """A name that is not among those already taken."""
        name = self.text("a name", 60).strip()
        if name in taken:
            raise self.fault(f"is {quoted(name)} again: expected a name of its own")
        return name


_T = TypeVar("_T")


def load_shop(path: Path) -> Shop:
    """Read a shop file.

    Raises
    ------
    BadInput
        When it cannot be read, or says something that cannot be.
    """
    file = f"shop file {quoted(str(path), longest=300)}"
    return _shop(_Node(file, "", read_toml(path, file, MOST_BYTES, _KIND)), path)


def shop_from_text(text: str, path: Path) -> Shop:
    """Read what a shop file says, or would say, from its text.

    Parameters
    ----------
    path : what the file is called, for complaints; nothing is read from there

    Raises
    ------
    BadInput
        When it says something that cannot be.
    """
    file = f"shop file {quoted(path.name, longest=300)}"
    return _shop(_Node(file, "", toml_of(text, file, MOST_BYTES, _KIND)), path)


def shop_text(path: Path) -> str:
    """The text of a shop file, which need not be right.

    Raises
    ------
    BadInput
        When it cannot be read.
    """
    return text_of(path, f"shop file {quoted(str(path), longest=300)}", MOST_BYTES, _KIND)


def _shop(document: _Node, path: Path) -> Shop:
    table = document.table(_SHOP_KEYS, optional=_SHOP_KEYS)
    metals, prices = _metals(table)
    cut, coil_mm = _saw(table["saw"]) if "saw" in table else (USUAL_CUT, defaults.COIL_MM)
    rough = _rough_wires(table, metals, prices)
    error_mm = _error_mm(table["caliper"]) if "caliper" in table else defaults.CALIPER_MM
    trials = _trials(table, rough, cut, error_mm)
    return Shop(
        wires=tuple(_wire(wire, rough, trials) for wire in rough.values()),
        mandrels=_mandrels(table),
        stock_rings=_stock_rings(table, metals),
        metals=metals,
        trials=trials,
        cut=cut,
        coil_mm=coil_mm,
        caliper_mm=error_mm,
        printer=_printer(table["printer"]) if "printer" in table else ShopPrinter(),
        rates=_rates(table["rates"]) if "rates" in table else Rates(),
        pace=_pace(table["pace"]) if "pace" in table else Pace(),
        path=path,
    )


def _listed(table: Mapping[str, _Node], key: str, most: int) -> list[_Node]:
    if key not in table:
        return []
    return table[key].items(f"a list of at most {most} [[{key}]] tables", 0, most)


# --- metals ---------------------------------------------------------------------------


def _metals(table: Mapping[str, _Node]) -> tuple[tuple[Metal, ...], dict[str, float]]:
    """Metals of the maker's own, and prices per kilogram by the metal's name."""
    own: list[Metal] = []
    prices: dict[str, float] = {}
    for item in _listed(table, "metal", MOST_METALS):
        keys = item.table(_METAL_KEYS, optional=set(_METAL_KEYS) - {"name"})
        if any(key in keys for key in (*_OWN_METAL, "nickel", "lead")):
            own.append(_own_metal(item, [metal.name for metal in own]))
            name = own[-1].name
        else:
            name = _known_metal(keys["name"], own).name
        if name in prices:
            raise keys["name"].fault(f"has a price already, as {quoted(name)}: leave one out")
        if "price_per_kg" in keys:
            prices[name] = keys["price_per_kg"].price()
    return tuple(own), prices


def _own_metal(item: _Node, taken: Collection[str]) -> Metal:
    """A metal described in the file; all figures are needed, as none can be guessed."""
    table = item.table(_METAL_KEYS, optional=("price_per_kg", "nickel", "lead"))
    source = "your shop file"
    tempers: list[Temper] = []
    for listed in table["tempers"].items("a list of 1 to 8 tempers", 1, 8):
        keys = listed.table(_TEMPER_KEYS)
        name = keys["name"].own_name([temper.name for temper in tempers])
        low = keys["yield_mpa"].number(1.0, 5000.0)
        high = keys["tensile_mpa"].number(low, 5000.0, f"a number from {low:g} (yield) to 5000")
        tempers.append(one_strength(name, low, high, source))
    flags = (NONE, TRACES, ALLOYED)
    return Metal(
        name=table["name"].own_name(taken),
        also=(),
        alloy=(),
        alloy_source=source,
        surface=PLAIN,
        density_g_per_cm3=table["density_g_per_cm3"].number(1.0, 25.0),
        density_source=source,
        youngs_modulus_mpa=table["youngs_modulus_mpa"].number(1e4, 5e5),
        modulus_source=source,
        tempers=tuple(tempers),
        nickel=table["nickel"].one_of(flags) if "nickel" in table else NONE,
        lead=table["lead"].one_of(flags) if "lead" in table else NONE,
    )


def _known_metal(node: _Node, own: Collection[Metal]) -> Metal:
    return node.read(lambda text: metal_named(text, own))


# --- wires, mandrels, rings -----------------------------------------------------------


@dataclass(frozen=True)
class _RoughWire:
    """A wire before its trials are known."""

    node: _Node
    name: str
    size_text: str
    wire_mm: float
    metal: Metal
    temper: str
    price_per_kg: float | None
    price_per_m: float | None
    colour: str


def _rough_wires(
    table: Mapping[str, _Node], metals: Collection[Metal], prices: Mapping[str, float]
) -> dict[str, _RoughWire]:
    wires: dict[str, _RoughWire] = {}
    for item in _listed(table, "wire", MOST_WIRES):
        keys = item.table(_WIRE_KEYS, optional=("name", "price_per_kg", "price_per_m", "colour"))
        size_text = keys["size"].text(_WIRE_KEYS["size"], 40).strip()
        metal = _known_metal(keys["metal"], metals)
        temper = keys["temper"].text(_WIRE_KEYS["temper"], 40)
        name = f"{size_text} {metal.name}, {temper}"
        if "name" in keys:
            name = keys["name"].own_name(wires)
        elif name in wires:
            raise item.fault(f"is {quoted(name)} again: give one of them a name of its own")
        per_kg = keys["price_per_kg"].price() if "price_per_kg" in keys else None
        per_m = keys["price_per_m"].price() if "price_per_m" in keys else None
        if per_kg is not None and per_m is not None:
            raise item.fault("has a price per kilogram and one per metre: leave one out")
        if per_kg is None and per_m is None:
            per_kg = prices.get(metal.name)
        colour = keys["colour"].text("a colour", 40) if "colour" in keys else ""
        wires[name] = _RoughWire(
            item, name, size_text, keys["size"].length_mm(), metal, temper, per_kg, per_m, colour
        )
    return wires


def _trials(
    table: Mapping[str, _Node], wires: Mapping[str, _RoughWire], cut: Cut, error_mm: float
) -> tuple[tuple[str, Trial], ...]:
    found = []
    for item in _listed(table, "trial", MOST_TRIALS):
        found.append(_trial(item, wires, cut, error_mm))
        name = found[-1][0]
        if sum(other == name for other, _ in found) > MOST_OF_A_SPOOL:
            raise item.fault(f"is one more trial of {quoted(name)}: keep {MOST_OF_A_SPOOL} of them")
    return tuple(found)


def _error_mm(node: _Node) -> float:
    keys = node.table(_CALIPER_KEYS)
    return keys["error"].error_mm()


def _trial(
    item: _Node, wires: Mapping[str, _RoughWire], cut: Cut, error_mm: float
) -> tuple[str, Trial]:
    keys = item.table(_TRIAL_KEYS, optional=("measured", "kerf", "error"))
    name = keys["wire"].text(_TRIAL_KEYS["wire"], 60).strip()
    if name not in wires:
        known = ", ".join(quoted(wire) for wire in list(wires)[:8]) or "a [[wire]], of which none"
        raise keys["wire"].wrong(f"the name of one of your wires, {known}")
    measured = COIL
    if "measured" in keys:
        measured = keys["measured"].one_of((COIL, SAWN, SHEARED))
    if "kerf" in keys and measured != SAWN:
        raise keys["kerf"].fault(f'is for measured = "{SAWN}" only: leave it out')
    kerf_mm = None if measured == COIL else 0.0
    if measured == SAWN:
        kerf_mm = _kerf_mm(keys["kerf"]) if "kerf" in keys else cut.kerf_mm
        if kerf_mm == 0.0:
            raise item.fault("is of a sawn ring, but no kerf is known: add kerf or a [saw] table")
    trial = Trial(
        wires[name].wire_mm,
        keys["mandrel"].length_mm(),
        keys["inner"].length_mm(),
        kerf_mm,
        keys["error"].error_mm() if "error" in keys else error_mm,
    )
    try:
        trial.coil_mm()
    except BadInput as error:
        raise item.fault(f"cannot be right: {error.within}") from None
    return name, trial


def _wire(
    wire: _RoughWire,
    wires: Mapping[str, _RoughWire],
    trials: Collection[tuple[str, Trial]],
) -> ShopWire:
    """A wire with its springback: its own trials, else those of the same metal and temper."""

    def kind(name: str) -> tuple[str, str]:
        return wires[name].metal.name, temper_key(wires[name].temper)

    own = [trial for name, trial in trials if name == wire.name]
    alike = [trial for name, trial in trials if kind(name) == kind(wire.name)]
    try:
        found = bending(wire.metal, wire.temper, wire.wire_mm, own or alike)
    except BadInput as error:
        raise wire.node.fault(f"cannot be used: {error.within}") from None
    if alike and not own:
        found = found.of_another_spool()
    return ShopWire(
        wire.name,
        wire.size_text,
        wire.wire_mm,
        wire.metal,
        wire.temper,
        wire.price_per_kg,
        wire.price_per_m,
        wire.colour,
        found,
    )


def _mandrels(table: Mapping[str, _Node]) -> tuple[ShopMandrel, ...]:
    mandrels: dict[float, ShopMandrel] = {}
    for item in _listed(table, "mandrel", MOST_MANDRELS):
        keys = item.table(_MANDREL_KEYS, optional=("name",))
        size_mm = keys["size"].length_mm()
        if size_mm in mandrels:
            raise item.fault("is a mandrel of the same size again: leave one out")
        text = keys["size"].text(_A_LENGTH, 40).strip()
        name = keys["name"].text("a name", 60).strip() if "name" in keys else text
        mandrels[size_mm] = ShopMandrel(name, size_mm)
    return tuple(mandrels[size_mm] for size_mm in sorted(mandrels))


def _stock_rings(table: Mapping[str, _Node], metals: Collection[Metal]) -> tuple[StockRing, ...]:
    rings: dict[str, StockRing] = {}
    for item in _listed(table, "stock_ring", MOST_STOCK_RINGS):
        optional = set(_STOCK_KEYS) - {"wire", "metal"}
        keys = item.table(_STOCK_KEYS, optional=optional)
        size = _stock_size(item, keys)
        metal = _known_metal(keys["metal"], metals)
        temper = keys["temper"].text(_STOCK_KEYS["temper"], 40) if "temper" in keys else ""
        wire_text = keys["wire"].text(_A_LENGTH, 40).strip()
        name = f"{wire_text} x {size.inner_mm:.4g}mm {metal.name} rings"
        if "name" in keys:
            name = keys["name"].own_name(rings)
        elif name in rings:
            raise item.fault(f"is {quoted(name)} again: give one of them a name of its own")
        price, pack_of, per_pack = _stock_price(item, keys)
        colour = keys["colour"].text("a colour", 40) if "colour" in keys else ""
        rings[name] = StockRing(name, size, metal, temper, price, colour, pack_of, per_pack)
    return tuple(rings.values())


def _stock_price(
    item: _Node, keys: Mapping[str, _Node]
) -> tuple[float | None, int | None, float | None]:
    """Of a hundred rings, how many are in a pack, and of a pack."""
    per_100, per_pack = (
        keys[key].price() if key in keys else None for key in ("price_per_100", "price_per_pack")
    )
    if per_100 is not None and per_pack is not None:
        raise item.fault("has a price per 100 and one per pack: leave one out")
    if per_pack is not None and "pack_of" not in keys:
        raise item.fault("has a price per pack: say how many are in it with pack_of")
    pack_of = keys["pack_of"].whole(1, MOST_IN_PACK) if "pack_of" in keys else None
    return per_100, pack_of, per_pack


def _stock_size(item: _Node, keys: Mapping[str, _Node]) -> RingSize:
    wire = keys["wire"].text(_A_LENGTH, 40)
    inner, outer = (keys[k].text(_A_LENGTH, 40) if k in keys else None for k in ("inner", "outer"))
    if (inner is None) == (outer is None):
        raise item.fault("needs either inner or outer, the diameter that the seller states")
    try:
        return RingSize.from_text(wire, inner, None, outer)
    except BadInput as error:
        raise item.fault(f"is of no size: {error.within}") from None


# --- tools, money and time ------------------------------------------------------------


def _saw(node: _Node) -> tuple[Cut, float]:
    keys = node.table(_SAW_KEYS, optional=("coil",))
    coil_mm = keys["coil"].length_mm() if "coil" in keys else defaults.COIL_MM
    return saw(_kerf_mm(keys["kerf"])), coil_mm


def _kerf_mm(node: _Node) -> float:
    return node.read(lambda text: saw(parse_length(text, "kerf")).kerf_mm)


def _printer(node: _Node) -> ShopPrinter:
    keys = node.table(_PRINTER_KEYS, optional=_PRINTER_KEYS)
    bed = None
    if "bed" in keys:
        x, y, z = (item.length_mm() for item in keys["bed"].items(_PRINTER_KEYS["bed"], 3, 3))
        bed = (x, y, z)
    nozzle, layer, clearance = (
        keys[key].length_mm() if key in keys else None
        for key in ("nozzle", "layer_height", "clearance")
    )
    return ShopPrinter(bed, nozzle, layer, clearance)


def _rates(node: _Node) -> Rates:
    keys = node.table(_RATES_KEYS, optional=_RATES_KEYS)
    return Rates(
        keys["currency"].text(_RATES_KEYS["currency"], 8) if "currency" in keys else CURRENCY,
        keys["per_hour"].price() if "per_hour" in keys else None,
        keys["overhead"].percent() if "overhead" in keys else 0.0,
        keys["markup"].number(1.0, 100.0) if "markup" in keys else 1.0,
        keys["retail"].number(1.0, 100.0) if "retail" in keys else USUAL_RETAIL,
        "retail" in keys,
    )


def _pace(node: _Node) -> Pace:
    keys = node.table(_PACE_KEYS, optional=_PACE_KEYS)
    return Pace(**{f"{key}_s": keys[key].seconds() for key in keys})
