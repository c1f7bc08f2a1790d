"""The figures of one ring: its size, its metal, how it is made and what it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ringwright.base.figures import EXACT_MM, WIRE_MM, Figures, Said, Unit, read_from
from ringwright.base.sizes import STANDARD_FALL, GaugeTwin, RingSize
from ringwright.base.wording import spanned
from ringwright.making.ring.cautions import SMALL_PARTS, WINDING
from ringwright.making.ring.coil import Cut, MadeRing
from ringwright.making.ring.made_ring import BenchRing
from ringwright.making.ring.strength import NOT_FOR_LOADS, RingStrength
from ringwright.making.ring.wire import Bending

HOW_FOUND = {
    "springback": "bending of a round wire, elastic and then hardening as its yield and tensile "
    "strength tell, let go with a modulus lower than Young's; the range is from the weakest wire "
    "of the temper, pulled hard, to the strongest, not pulled, or what trial rings leave open",
    "kerf": "the saw takes its width off the mean circumference of every turn of the helix",
    "strength": "curved bar of round section after Winkler and Bach, as in Roark's Formulas for "
    "Stress and Strain (from memory), pulled across with the seam to the side, where it is worst",
}
_DENSITY, _GRAMS = Unit("g/cm3"), Unit("g", 9, shown=4)
_FACTOR = Unit("", 6, shown=2)
_TORQUE = Unit("N m", shown=3)
_FORCE, _RATIO = Unit("N", 6, shown=2), Unit("", 9, shown=3)
_RING_MM, _LONG_MM = Unit("mm", 9, shown=3), Unit("mm", 9, shown=2)


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
    wire_mm: float = _twin(lambda one: one.twin.wire_mm, "its diameter", WIRE_MM)
    aspect_ratio: float = _twin(
        lambda one: one.inner_mm / one.twin.wire_mm, "with the same inner diameter", _RATIO
    )


@dataclass(frozen=True)
class _Made:
    made: MadeRing
    bends: Bending
    span_mm: tuple[float, float]
    mandrel_span_mm: tuple[float, float] | None
    cut: Cut
    torque_nmm: float | None


_made = read_from(_Made)


def _mandrel(made: MadeFigures, said: Said) -> str:
    if made.mandrel_mm_range is None:
        return said(made.mandrel_mm, _RING_MM)
    low, high = (said(end, _RING_MM) for end in made.mandrel_mm_range)
    return f"{said(made.mandrel_mm, _RING_MM)}, {spanned(low, high)} as the wire springs"


def _coil(made: MadeFigures, said: Said) -> str:
    return f"{said(made.coil_inner_mm, _RING_MM)} inside; {made.springback_from}"


def _closed(made: MadeFigures, said: Said) -> str:
    low, high = made.inner_mm_range
    ends = spanned(said(low, _RING_MM), said(high, _RING_MM))
    ratios = " to ".join(said(ratio, _RATIO) for ratio in made.aspect_ratio_range)
    inner = said(made.inner_mm, _RING_MM)
    return f"{inner} inside, {ends} as the wire springs (AR {ratios})"


def _torque(made: MadeFigures, said: Said) -> str:
    if made.winding_torque_nmm is None:
        return ""
    return f"{said(made.winding_torque_nmm / 1000.0, _TORQUE)}, before friction"


@dataclass(frozen=True)
class MadeFigures(Figures[_Made]):
    """How a ring is wound and cut."""

    mandrel_mm: float = _made(
        lambda one: one.made.mandrel_mm, "to wind on", _RING_MM, head="mandrel", words=_mandrel
    )
    mandrel_mm_range: tuple[float, float] | None = _made(
        lambda one: one.mandrel_span_mm,
        "that make the ring with the most and the least springback; null where one was given",
        _RING_MM,
    )
    coil_inner_mm: float = _made(
        lambda one: one.made.coil_inner_mm,
        "inside of the coil, let go",
        _RING_MM,
        head="coil, let go",
        words=_coil,
    )
    turn_mm: float = _made(
        lambda one: one.made.turn_mm,
        "wire in a turn of it",
        _LONG_MM,
        head="a turn of it",
        words=lambda made, said: f"{said(made.turn_mm, _LONG_MM)} of wire, wound close",
    )
    cut: str = _made(lambda one: one.cut.tool, "saw or shears")
    cut_ends: str = _made(lambda one: one.cut.remark, "what that does to the ends", head="cut")
    kerf_mm: float = _made(lambda one: one.cut.kerf_mm, "that the blade takes", Unit("mm"))
    inner_mm_range: tuple[float, float] = _made(
        lambda one: one.span_mm,
        "of the closed ring, with the least and the most springback",
        _RING_MM,
        head="closed ring",
        words=_closed,
    )
    inner_mm: float = _made(lambda one: one.made.ring.inner_mm, "and as it likely is", _RING_MM)
    aspect_ratio_range: tuple[float, float] = _made(
        lambda one: (
            RingSize(one.made.wire_mm, one.span_mm[0]).aspect_ratio,
            RingSize(one.made.wire_mm, one.span_mm[1]).aspect_ratio,
        ),
        "with the least and the most springback",
        _RATIO,
    )
    bending_strain: float = _made(
        lambda one: one.bends.flow.at_tenth,
        "true stress at a strain of a tenth over the modulus it unbends with",
        Unit("", 12),
    )
    hardening: float = _made(
        lambda one: one.bends.flow.hardening,
        "exponent with which that stress rises with the strain",
        Unit("", 6),
    )
    trials: int = _made(lambda one: one.bends.trials, "trial rings it rests on; 0 for the table")
    springback_from: str = _made(lambda one: one.bends.source, "where it is known from")
    winding_torque_nmm: float | None = _made(
        lambda one: one.torque_nmm,
        "at the mandrel, before friction",
        Unit("N mm", 9),
        head="torque to wind it",
        words=_torque,
    )


def _made_figures(ring: BenchRing) -> MadeFigures | None:
    if ring.made is None or ring.bends is None or ring.span_mm is None:
        return None
    return MadeFigures.of(
        _Made(
            ring.made,
            ring.bends,
            ring.span_mm,
            ring.mandrel_span_mm,
            ring.cut,
            ring.torque_nmm,
        )
    )


@dataclass(frozen=True)
class _Strong:
    strength: RingStrength
    load_n: float | None


_strong = read_from(_Strong)


def _hung(newtons: float, said: Said) -> str:
    return f"{said(newtons, _FORCE)} (as {newtons / STANDARD_FALL:.2f} kg hung on it)"


def _safety(strength: StrengthFigures, said: Said) -> str:
    if strength.safety_factor is None or strength.load_n is None:
        return ""
    return f"{said(strength.safety_factor, _FACTOR)} for {_hung(strength.load_n, said)}"


@dataclass(frozen=True)
class StrengthFigures(Figures[_Strong]):
    """What a plain closed ring holds."""

    begins_to_spread_n: float = _strong(
        lambda one: one.strength.begins_n,
        "it begins to spread, annealed",
        _FORCE,
        head="begins to spread",
        words=lambda one, said: f"at {_hung(one.begins_to_spread_n, said)}",
    )
    begins_as_wound_n: float = _strong(
        lambda one: one.strength.begins_as_wound_n,
        "the same, not annealed",
        _FORCE,
        head="not annealed",
        words=lambda one, said: (
            f"widens a little, unseen, already at {_hung(one.begins_as_wound_n, said)}, as winding "
            "leaves stresses in it"
        ),
    )
    opens_n: float = _strong(
        lambda one: one.strength.opens_n,
        "it comes open",
        _FORCE,
        head="comes open",
        words=lambda one, said: (
            f"at {_hung(one.opens_n, said)}; winding hardens soft wire, which adds to it"
        ),
    )
    load_n: float | None = _strong(lambda one: one.load_n, "that was asked about", _FORCE)
    safety_factor: float | None = _strong(
        lambda one: None if one.load_n is None else one.strength.safety_factor(one.load_n),
        "how many times the load fits into the pull at which it begins to spread",
        _FACTOR,
        head="safety factor",
        words=_safety,
    )
    warning: str = _strong(
        lambda _: NOT_FOR_LOADS, "what not to trust it with", head="not for loads"
    )


_of = read_from(Loaded)
_metal = _of.part(lambda one: one.ring.metal, None)


def _other_gauge(ring: OneRingFigures, said: Said) -> str:
    other = ring.other_gauge
    if other is None:
        return ""
    more = other.aspect_ratio - ring.aspect_ratio
    return (
        f"{other.name} is {said(other.wire_mm, WIRE_MM)}: with the same inside AR "
        f"{said(other.aspect_ratio, _RATIO)}, {more:+.3f}"
    )


def _mass(ring: OneRingFigures, said: Said) -> str:
    if ring.mass_g is None:
        return ""
    return (
        f"{said(ring.mass_g, _GRAMS)} in {ring.metal} of {ring.density_g_per_cm3:g} g/cm3 "
        f"({ring.density_from}); {100.0 * ring.mass_g:.2f} g per hundred"
    )


@dataclass(frozen=True)
class OneRingFigures(Figures[Loaded]):
    """One ring."""

    wire_mm: float = _of(lambda one: one.ring.size.wire_mm, "wire diameter", WIRE_MM)
    inner_mm: float = _of(lambda one: one.ring.size.inner_mm, "inner diameter", EXACT_MM)
    outer_mm: float = _of(lambda one: one.ring.size.outer_mm, "outer diameter", EXACT_MM)
    aspect_ratio: float = _of(lambda one: one.ring.size.aspect_ratio, "inner by wire", _RATIO)
    other_gauge: TwinFigures | None = _of(
        lambda one: (
            TwinFigures.of(_Twin(one.ring.twin, one.ring.size.inner_mm)) if one.ring.twin else None
        ),
        "the same number in the other gauge table; null for wire in millimetres",
        head="other gauge table",
        words=_other_gauge,
    )
    wire_in_ring_mm: float = _of(
        lambda one: one.ring.wire_in_ring_mm,
        "along the wire's middle",
        _LONG_MM,
        head="wire in it",
        words=lambda ring, said: f"{said(ring.wire_in_ring_mm, _LONG_MM)} along its middle",
    )
    volume_mm3: float = _of(
        lambda one: one.ring.volume_mm3, "metal", Unit("mm3", 9, shown=3), head="volume"
    )
    surface_mm2: float = _of(
        lambda one: one.ring.surface_mm2, "to plate", Unit("mm2", 9, shown=2), head="surface"
    )
    metal: str | None = _metal(lambda metal: metal.name, "null for none named")
    temper: str | None = _of(lambda one: one.ring.temper, "how hard the wire is")
    density_g_per_cm3: float | None = _metal(
        lambda metal: metal.density_g_per_cm3,
        "of the metal",
        _DENSITY,
    )
    density_from: str | None = _metal(
        lambda metal: metal.density_source, "where that is known from"
    )
    mass_g: float | None = _of(
        lambda one: one.ring.mass_g, "of the ring", _GRAMS, head="mass", words=_mass
    )
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
