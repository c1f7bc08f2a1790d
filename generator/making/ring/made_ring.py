"""Everything about one ring: as it is bought or wound, its metal, and what it holds."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace

from ringwright.base.errors import BadInput
from ringwright.base.sizes import GaugeTwin, RingSize
from ringwright.making.ring.coil import Cut, MadeRing, made_ring, mandrel_mm_for_ring
from ringwright.making.ring.ring_mass import (
    ring_mass_g,
    ring_surface_mm2,
    ring_volume_mm3,
    ring_wire_mm,
)
from ringwright.making.ring.springback import plastic_moment_nmm
from ringwright.making.ring.strength import RingStrength, ring_strength
from ringwright.making.ring.wire import Bending
from ringwright.metals.metal import Metal


@dataclass(frozen=True)
class BenchRing:
    """A ring and how it is made; lengths in millimetres.

    Attributes
    ----------
    size : closed
    twin : the same gauge number in the other table; None for a wire in millimetres
    metal, temper : None where none was named
    bends : how the wire springs back; None where neither metal and temper nor a trial are known
    made : from the mandrel to the closed ring; None without ``bends``
    span_mm : inner diameter with the least and the most springback; None without ``bends``
    mandrel_span_mm : the mandrels that make it with the most and the least springback; None
        without ``bends``, where the mandrel was given, and where one of them is none
    strength : None where the yield stress is not known
    torque_nmm : at the mandrel while winding, before friction, with the wire hardened by the
        bend; None where its strength is not known
    """

    size: RingSize
    twin: GaugeTwin | None
    metal: Metal | None
    temper: str | None
    bends: Bending | None
    cut: Cut
    made: MadeRing | None
    span_mm: tuple[float, float] | None
    mandrel_span_mm: tuple[float, float] | None
    strength: RingStrength | None
    torque_nmm: float | None

    @property
    def wire_in_ring_mm(self) -> float:
        """Wire along its middle."""
        return ring_wire_mm(self.size)

    @property
    def volume_mm3(self) -> float:
        """Metal."""
        return ring_volume_mm3(self.size)

    @property
    def surface_mm2(self) -> float:
        """For plating and anodising."""
        return ring_surface_mm2(self.size)

    @property
    def mass_g(self) -> float | None:
        """None where no metal was named."""
        return None if self.metal is None else ring_mass_g(self.size, self.metal.density_g_per_cm3)


def bought_ring(
    size: RingSize,
    twin: GaugeTwin | None,
    metal: Metal | None,
    temper: str | None,
    bends: Bending | None,
    cut: Cut,
) -> BenchRing:
    """A ring of a known size; with ``bends``, also the mandrel that would make it.

    Raises
    ------
    BadInput
        When no mandrel makes it.
    """
    if bends is None:
        return _bench_ring(size, twin, metal, temper, bends, cut, None)
    mandrel_mm = mandrel_mm_for_ring(size, bends.flow, cut)
    made = _bench_ring(size, twin, metal, temper, bends, cut, mandrel_mm)
    with suppress(BadInput):
        return replace(made, mandrel_span_mm=mandrel_span_mm(size, bends, cut))
    return made


def made_span(
    mandrel_mm: float, wire_mm: float, bends: Bending, cut: Cut
) -> tuple[MadeRing, MadeRing, MadeRing]:
    """The rings of a mandrel with the least, the likeliest and the most springback.

    Raises
    ------
    BadInput
        When one of them is none.
    """
    least, most = bends.ends(mandrel_mm, wire_mm)
    low, likely, high = (
        made_ring(mandrel_mm, wire_mm, flow, cut) for flow in (least, bends.flow, most)
    )
    return low, likely, high


def mandrel_span_mm(ring: RingSize, bends: Bending, cut: Cut) -> tuple[float, float]:
    """The mandrels that make this closed ring with the most springback and with the least.

    Raises
    ------
    BadInput
        When one of them is none.
    """
    return mandrel_mm_at_most(ring, bends, cut), mandrel_mm_at_least(ring, bends, cut)


def mandrel_mm_at_least(ring: RingSize, bends: Bending, cut: Cut) -> float:
    """The mandrel that makes this closed ring with the least springback; raises ``BadInput``."""
    return _mandrel_mm_at(0, ring, bends, cut)


def mandrel_mm_at_most(ring: RingSize, bends: Bending, cut: Cut) -> float:
    """The mandrel that makes this closed ring with the most springback; raises ``BadInput``."""
    return _mandrel_mm_at(1, ring, bends, cut)


def _mandrel_mm_at(end: int, ring: RingSize, bends: Bending, cut: Cut) -> float:
    mandrel_mm = mandrel_mm_for_ring(ring, bends.flow, cut)
    # How sure the springback is depends on the bend; that of both mandrels is nearly the same.
    for _ in range(3):
        mandrel_mm = mandrel_mm_for_ring(ring, bends.ends(mandrel_mm, ring.wire_mm)[end], cut)
    return mandrel_mm


def wound_ring(
    wire_mm: float,
    mandrel_mm: float,
    twin: GaugeTwin | None,
    metal: Metal | None,
    temper: str | None,
    bends: Bending,
    cut: Cut,
) -> BenchRing:
    """The ring that a wire gives on a mandrel.

    Raises
    ------
    BadInput
        When it gives none.
    """
    size = made_ring(mandrel_mm, wire_mm, bends.flow, cut).ring
    return _bench_ring(size, twin, metal, temper, bends, cut, mandrel_mm)


def _bench_ring(
    size: RingSize,
    twin: GaugeTwin | None,
    metal: Metal | None,
    temper: str | None,
    bends: Bending | None,
    cut: Cut,
    mandrel_mm: float | None,
) -> BenchRing:
    made = span_mm = strength = torque_nmm = None
    if bends is not None and mandrel_mm is not None:
        low, made, high = made_span(mandrel_mm, size.wire_mm, bends, cut)
        span_mm = low.ring.inner_mm, high.ring.inner_mm
    if metal is not None and temper is not None and metal.has_temper(temper):
        listed = metal.temper(temper).of_wire(size.wire_mm)
        strength = ring_strength(size, listed.yield_mpa)
        torque_nmm = plastic_moment_nmm(size.wire_mm, metal.bending_mpa(temper, size.wire_mm))
    return BenchRing(
        size, twin, metal, temper, bends, cut, made, span_mm, None, strength, torque_nmm
    )
