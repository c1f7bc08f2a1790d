"""Where the rings of a piece in several metals come from; what cannot be planned is refused."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ringwright.base.errors import BadInput
from ringwright.base.wording import either, quoted
from ringwright.colour.looks import named_colour
from ringwright.colour.metals import Colouring, paints_of, recoloured
from ringwright.metals.metal_names import metal_named, metals_called

if TYPE_CHECKING:
    from ringwright.base.sizes import RingSize
    from ringwright.making.plan.plan import Mix, Rings
    from ringwright.making.ring.coil import Cut
    from ringwright.making.shop.piece_counts import Share
    from ringwright.making.shop.shop import Shop, ShopWire, StockRing
    from ringwright.metals.metal import Metal

# Bought rings as near as this are of one size.
_SAME_MM = 0.005
_ONE_METAL = {
    "metal": "the metals say what every ring is of",
    "trial": "a trial ring is of one wire; put it into a shop file, with the name of its wire",
    "caliper": "it is about trial rings; put [caliper] into a shop file",
    "mandrel": "each metal springs back in its own way, so one mandrel makes rings of several "
    "sizes; give --inner, and the plan names a mandrel for each metal",
}


@dataclass(frozen=True)
class Wires:
    """How rings are made that are of several metals.

    Attributes
    ----------
    size : of all of them
    wire_text : their wire as it was typed, by which it is looked for on the shelf
    named : the wire that was named, if one was
    temper : of all wires that are not on the shelf; None if none was given
    anneal : whether all of them are annealed first
    """

    size: RingSize
    wire_text: str
    named: ShopWire | None
    temper: str | None
    shop: Shop | None
    cut: Cut
    coil_mm: float
    anneal: bool = False


def refuse_one_metal(options: argparse.Namespace) -> None:
    """Refuse what is said of one metal where there are several; raises ``BadInput``."""
    for name, why in _ONE_METAL.items():
        if getattr(options, name) is not None:
            raise BadInput(f"--{name} is not for a piece in several metals: {why}.")


def mix_of_wires(colouring: Colouring, wires: Wires) -> Mix:
    """Rings of several metals, all wound from wire.

    Raises
    ------
    BadInput
        When a colour is no metal, a wire is not clear, or the wire that was named is of none of
        the metals.
    """
    from ringwright.making.plan.plan import Mix

    colouring, taken = _with_metals(colouring)
    metals = _metals(colouring, wires.shop)
    named = wires.named
    if named is not None and named.metal.name not in [one.name for one in metals.values()]:
        raise BadInput(
            f"the wire {quoted(named.name)} is of {named.metal.name}, of which the piece has no "
            "ring; give its diameter, or a wire of one of its metals."
        )
    sources = {paint: _wound(metal, wires) for paint, metal in metals.items()}
    return Mix(colouring, sources, taken)


def mix_of_stock(colouring: Colouring, stock: StockRing, shop: Shop) -> Mix:
    """Rings of several metals, all bought, of the size of those that were named.

    Raises
    ------
    BadInput
        When a colour is no metal, or the shop file has not just one kind of such rings.
    """
    from ringwright.making.plan.plan import Mix, bought

    colouring, taken = _with_metals(colouring)
    sources = {
        paint: bought(_stock_like(stock, metal, shop), stock.size, shop)
        for paint, metal in _metals(colouring, shop).items()
    }
    return Mix(colouring, sources, taken)


def shares_of(colouring: Colouring, shop: Shop) -> dict[str, Share]:
    """The rings of each metal, by its name.

    Raises
    ------
    BadInput
        When a colour is no metal.
    """
    from ringwright.making.shop.piece_counts import Share

    colouring, _ = _with_metals(colouring)
    paints: dict[str, list[str]] = {}
    for paint, metal in _metals(colouring, shop).items():
        paints.setdefault(metal.name, []).append(paint)
    return {name: Share(colouring, tuple(some)) for name, some in paints.items()}


def _with_metals(colouring: Colouring) -> tuple[Colouring, dict[str, str]]:
    """The same with a metal for every colour as #rrggbb that nearly is one, and which it is.

    Raises
    ------
    BadInput
        When it is not clear which.
    """
    try:
        named = {paint: named_colour(paint) for paint in paints_of(colouring)}
    except BadInput as error:
        raise BadInput(
            f"a plan needs a metal for every ring: {error.within}; give the metal's name in its "
            "place, or for a grid --legend, as colours alone have no mass, no springback and no "
            "price."
        ) from None
    taken = {paint: word for paint, word in named.items() if word != paint}
    return recoloured(colouring, taken), taken


def _metals(colouring: Colouring, shop: Shop | None) -> Mapping[str, Metal]:
    return {paint: _metal_of(paint, shop) for paint in paints_of(colouring)}


def _metal_of(paint: str, shop: Shop | None) -> Metal:
    """The metal that a paint means: of several, the one that is on the shelf."""
    own = shop.metals if shop else ()
    may_be = metals_called(paint, own)
    shelf = {wire.metal.name for wire in shop.wires} if shop else set()
    shelf |= {ring.metal.name for ring in shop.stock_rings} if shop else set()
    there = [metal for metal in may_be if metal.name in shelf]
    if len(may_be) > 1 and len(there) == 1:
        return there[0]
    try:
        return metal_named(paint, own)
    except BadInput as error:
        raise BadInput(
            f"a plan needs a metal for every ring: {error.within}; colours alone have no mass, no "
            "springback and no price."
        ) from None


def _wound(metal: Metal, wires: Wires) -> Rings:
    from ringwright.making.plan.plan import Rings
    from ringwright.making.ring.annealed import annealed_as_known
    from ringwright.making.ring.wire import bending

    size, cut, coil_mm, shop = wires.size, wires.cut, wires.coil_mm, wires.shop
    wire = wires.named
    if wire is None or wire.metal.name != metal.name:
        wire = shop.wire_like(wires.wire_text, metal.name, wires.temper) if shop else None
    temper, bends = wires.temper, None
    if wire is not None:
        metal, temper, bends = wire.metal, wire.temper, wire.bending
    if wires.anneal:
        temper, bends = annealed_as_known(metal, size.wire_mm, temper, bends)
    elif wire is None and temper is not None and metal.tempers:
        bends = bending(metal, temper, size.wire_mm)
    return Rings(size, None, cut, coil_mm, metal, temper, bends, wire, shop=shop)


def _stock_like(stock: StockRing, metal: Metal, shop: Shop) -> StockRing:
    """Bought rings of another metal and the same size."""
    if stock.metal.name == metal.name:
        return stock
    there = [
        ring
        for ring in shop.stock_rings
        if ring.metal.name == metal.name
        and abs(ring.size.wire_mm - stock.size.wire_mm) < _SAME_MM
        and abs(ring.size.inner_mm - stock.size.inner_mm) < _SAME_MM
    ]
    if len(there) == 1:
        return there[0]
    if there:
        raise BadInput(
            f"the shop file has several rings of {metal.name} in the size of "
            f"{quoted(stock.name)}, {either([quoted(ring.name) for ring in there[:8]])}; leave one "
            "of them in it."
        )
    raise BadInput(
        f"the shop file has no rings of {metal.name} in the size of {quoted(stock.name)}; add "
        "them, or plan rings of your own from --wire and --inner."
    )
