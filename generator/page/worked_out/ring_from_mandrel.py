"""The ring of a choice, from its wire and mandrel: what ``ringwright ring`` says of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ringwright.base.errors import BadInput
from ringwright.base.sizes import gauge_twin, parse_length
from ringwright.making.ring.coil import Cut, made_ring, saw
from ringwright.making.ring.made_ring import BenchRing, bought_ring, wound_ring
from ringwright.making.ring.wire import Bending, bending
from ringwright.making.shop.shop import Shop, ShopWire
from ringwright.metals.metal import Metal
from ringwright.metals.metal_names import metal_named
from ringwright.page.state.chosen import Wanted
from ringwright.page.state.units import typed_in_full


@dataclass(frozen=True)
class OwnWire:
    """A wire and how it bends and is cut.

    Attributes
    ----------
    size_text : as typed, or as the shop file has it
    bends : None where no strength of the metal is listed
    """

    size_text: str
    metal: Metal
    temper: str
    bends: Bending | None

    def known_bending(self) -> Bending:
        """How it springs back; raises ``BadInput`` where that is not known."""
        if self.bends is None:
            raise BadInput(f"{self.metal.untried}.")
        return self.bends

    cut: Cut


def own_wire(wanted: Wanted, shop: Shop) -> OwnWire:
    """The wire of a choice: of the shop file, or by metal and temper.

    Raises
    ------
    BadInput
        When there is no such wire, metal or temper, or the kerf is none.
    """
    cut = saw(parse_length(wanted.kerf, "kerf")) if wanted.kerf else shop.cut
    wire = shelf_wire(wanted, shop)
    if wire is not None:
        size_text = wire.size_text if wanted.shelf else wanted.wire
        return OwnWire(size_text, wire.metal, wire.temper, wire.bending, cut)
    metal = metal_named(wanted.metal, shop.metals)
    bends = None
    if metal.tempers:
        bends = bending(metal, wanted.temper, parse_length(wanted.wire, "wire"))
    return OwnWire(wanted.wire, metal, wanted.temper, bends, cut)


def shelf_wire(wanted: Wanted, shop: Shop) -> ShopWire | None:
    """The wire of the shop file that a choice is of, by its name or, as ``plan`` does, by its size.

    Raises
    ------
    BadInput
        When there is none of that name, or several of that size, metal and temper.
    """
    if wanted.shelf:
        return shop.wire(wanted.shelf)
    return shop.wire_like(wanted.wire, wanted.metal, wanted.temper)


def with_ring(wanted: Wanted, shop: Shop) -> Wanted:
    """A choice whose wire and inner diameter are those of its shelf and mandrel.

    Raises
    ------
    BadInput
        When there is no such wire, or the mandrel makes no ring of it.
    """
    if not wanted.shelf and not wanted.mandrel:
        return wanted
    wire = own_wire(wanted, shop)
    told = replace(wanted, wire=wire.size_text, metal=wire.metal.name, temper=wire.temper)
    if not wanted.mandrel:
        return told
    wire_mm = parse_length(wire.size_text, "wire")
    mandrel_mm = parse_length(wanted.mandrel, "mandrel")
    ring = made_ring(mandrel_mm, wire_mm, wire.known_bending().flow, wire.cut).ring
    return replace(told, inner=typed_in_full(ring.inner_mm))


def ring_of(wanted: Wanted, shop: Shop) -> BenchRing:
    """All about the ring of a choice.

    Raises
    ------
    BadInput
        As :func:`with_ring` does, and when no mandrel makes the ring that was typed.
    """
    wire = own_wire(wanted, shop)
    twin = gauge_twin(wire.size_text)
    if not wanted.mandrel:
        size = replace(wanted, wire=wire.size_text).size()
        return bought_ring(size, twin, wire.metal, wire.temper, wire.bends, wire.cut)
    wire_mm = parse_length(wire.size_text, "wire")
    mandrel_mm = parse_length(wanted.mandrel, "mandrel")
    bends = wire.known_bending()
    return wound_ring(wire_mm, mandrel_mm, twin, wire.metal, wire.temper, bends, wire.cut)
