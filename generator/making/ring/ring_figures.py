"""The figures of one ring: its size, its metal, how it is made and what it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.base.figures import EXACT, EXACT_MM, Figures, Unit, read_from
from ringwright.base.sizes import GaugeTwin
from ringwright.making.ring.cautions import SMALL_PARTS, WINDING
from ringwright.making.ring.coil import Cut, MadeRing
from ringwright.making.ring.made_ring import BenchRing
from ringwright.making.ring.strength import NOT_FOR_LOADS, RingStrength
from ringwright.making.ring.wire import Bending

HOW_FOUND = {
    "springback": "elastic, then perfectly plastic bending of a round wire, at a stress half way "
    "from yield to tensile strength; the range is from the one to the other, or between trials",
    "kerf": "the saw takes its width off the mean circumference of every turn of the helix",
    "strength": "curved bar of round section after Winkler and Bach, as in Roark's Formulas for "
    "Stress and Strain (from memory), pulled across with the seam to the side, where it is worst",
}
_FORCE = Unit("N", 6)


def ring_cautions(ring: BenchRing) -> tuple[str, ...]:
    """What to take care of with this ring."""
    said = (*(ring.metal.cautions() if ring.metal else ()), SMALL_PARTS)
    return (WINDING, *said) if ring.made else said


@dataclass(frozen=True)
class Loaded:
    """A ring, and what is hung on it; None for nothing."""

    ring: BenchRing
    load_n: float | None = None


@dataclass(frozen=True)
class _Twin:
    twin: GaugeTwin
    inner_mm: float


_twin = read_from(_Twin)


@dataclass(frozen=True)
class TwinFigures(Figures[_Twin]):
    """The wire of the same gauge number in the other table."""

    name: str = _twin(lambda one: one.twin.name, "the gauge")
    wire_mm: float = _twin(lambda one: one.twin.wire_mm, "its diameter", EXACT_MM)
    aspect_ratio: float = _twin(
        lambda one: one.inner_mm / one.twin.wire_mm, "with the same inner diameter", EXACT
    )


@dataclass(frozen=True)
class _Made:
    made: MadeRing
    bends: Bending
    span_mm: tuple[float, float]
    cut: Cut
    torque_nmm: float | None


_made = read_from(_Made)


@dataclass(frozen=True)
class MadeFigures(Figures[_Made]):
    """How a ring is wound and cut."""

    mandrel_mm: float = _made(lambda one: one.made.mandrel_mm, "to wind on", EXACT_MM)
    coil_inner_mm: float = _made(
        lambda one: one.made.coil_inner_mm, "inside of the coil, let go", EXACT_MM
    )
    turn_mm: float = _made(lambda one: one.made.turn_mm, "wire in a turn of it", EXACT_MM)
    cut: str = _made(lambda one: one.cut.tool, "saw or shears")
    kerf_mm: float = _made(lambda one: one.cut.kerf_mm, "that the blade takes", Unit("mm"))
    inner_mm_range: tuple[float, float] = _made(
        lambda one: one.span_mm,
        "of the closed ring, with the least and the most springback",
        EXACT_MM,
    )
    bending_strain: float = _made(
        lambda one: one.bends.strain, "flow stress over Young's modulus", Unit("", 12)
    )
    springback_from: str = _made(lambda one: one.bends.source, "where it is known from")
    winding_torque_nmm: float | None = _made(
        lambda one: one.torque_nmm, "at the mandrel, before friction", Unit("N mm", 9)
    )


def _made_figures(ring: BenchRing) -> MadeFigures | None:
    if ring.made is None or ring.bends is None or ring.span_mm is None:
        return None
    return MadeFigures.of(_Made(ring.made, ring.bends, ring.span_mm, ring.cut, ring.torque_nmm))


@dataclass(frozen=True)
class _Strong:
    strength: RingStrength
    load_n: float | None


_strong = read_from(_Strong)


@dataclass(frozen=True)
class StrengthFigures(Figures[_Strong]):
    """What a plain closed ring holds."""

    begins_to_spread_n: float = _strong(
        lambda one: one.strength.begins_n, "it begins to spread, annealed", _FORCE
    )
    begins_as_wound_n: float = _strong(
        lambda one: one.strength.begins_as_wound_n, "the same, not annealed", _FORCE
    )
    opens_n: float = _strong(lambda one: one.strength.opens_n, "it comes open", _FORCE)
    load_n: float | None = _strong(lambda one: one.load_n, "that was asked about", _FORCE)
    safety_factor: float | None = _strong(
        lambda one: None if one.load_n is None else one.strength.safety_factor(one.load_n),
        "how many times the load fits into the pull at which it begins to spread",
        Unit("", 6),
    )
    warning: str = _strong(lambda _: NOT_FOR_LOADS, "what not to trust it with")


_of = read_from(Loaded)
_metal = _of.part(lambda one: one.ring.metal, None)


@dataclass(frozen=True)
class OneRingFigures(Figures[Loaded]):
    """One ring."""

    wire_mm: float = _of(lambda one: one.ring.size.wire_mm, "wire diameter", EXACT_MM)
    inner_mm: float = _of(lambda one: one.ring.size.inner_mm, "inner diameter", EXACT_MM)
    outer_mm: float = _of(lambda one: one.ring.size.outer_mm, "outer diameter", EXACT_MM)
    aspect_ratio: float = _of(lambda one: one.ring.size.aspect_ratio, "inner by wire", EXACT)
    other_gauge: TwinFigures | None = _of(
        lambda one: (
            TwinFigures.of(_Twin(one.ring.twin, one.ring.size.inner_mm)) if one.ring.twin else None
        ),
        "the same number in the other gauge table; null for wire in millimetres",
    )
    wire_in_ring_mm: float = _of(
        lambda one: one.ring.wire_in_ring_mm, "along the wire's middle", EXACT_MM
    )
    volume_mm3: float = _of(lambda one: one.ring.volume_mm3, "metal", Unit("mm3", 9))
    surface_mm2: float = _of(lambda one: one.ring.surface_mm2, "to plate", Unit("mm2", 9))
    metal: str | None = _metal(lambda metal: metal.name, "null for none named")
    temper: str | None = _of(lambda one: one.ring.temper, "how hard the wire is")
    density_g_per_cm3: float | None = _metal(
        lambda metal: metal.density_g_per_cm3,
        "of the metal",
        Unit("g/cm3"),
    )
    mass_g: float | None = _of(lambda one: one.ring.mass_g, "of the ring", Unit("g", 9))
    made: MadeFigures | None = _of(
        lambda one: _made_figures(one.ring), "null where the springback is not known"
    )
    strength: StrengthFigures | None = _of(
        lambda one: (
            StrengthFigures.of(_Strong(one.ring.strength, one.load_n))
            if one.ring.strength
            else None
        ),
        "null where the yield stress is not known",
    )
    cautions: tuple[str, ...] = _of(lambda one: ring_cautions(one.ring), "what to take care of")
    how_found: Mapping[str, str] = _of(lambda _: HOW_FOUND, "where figures come from")
