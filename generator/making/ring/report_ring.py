"""One ring, in words for a maker."""

from __future__ import annotations

from collections.abc import Callable

from ringwright.base.sizes import STANDARD_FALL, RingSize, format_mm
from ringwright.base.terminal import wrapped
from ringwright.making.ring.made_ring import BenchRing
from ringwright.making.ring.ring_figures import ring_cautions
from ringwright.making.ring.strength import NOT_FOR_LOADS, RingStrength
from ringwright.metals.metal import Metal


def ring_text(ring: BenchRing, load_n: float | None = None) -> str:
    """A ring in plain words."""
    size = ring.size
    lines = [
        f"Ring: wire {format_mm(size.wire_mm)}, inner {format_mm(size.inner_mm)}, outer "
        f"{format_mm(size.outer_mm)}, aspect ratio {size.aspect_ratio:.3f}"
    ]

    def add(name: str, text: str) -> None:
        lines.extend(wrapped(text, f"  {name:<20}", " " * 22))

    if ring.twin is not None and ring.twin_ratio is not None:
        more = ring.twin_ratio - size.aspect_ratio
        add(
            "other gauge table",
            f"{ring.twin.name} is {format_mm(ring.twin.wire_mm)}: with the same inside AR "
            f"{ring.twin_ratio:.3f}, {more:+.3f}",
        )
    add("wire in it", f"{ring.wire_in_ring_mm:.2f} mm along its middle")
    add("surface, volume", f"{ring.surface_mm2:.2f} mm2, {ring.volume_mm3:.3f} mm3")
    if ring.metal is not None and ring.mass_g is not None:
        add("mass", _mass_text(ring.metal, ring.mass_g))
    if ring.made is not None:
        lines += ["", "How it is made"]
        _made_lines(ring, add)
    if ring.strength is not None:
        lines += ["", "What it holds, closed but not soldered"]
        _strength_lines(ring.strength, load_n, add)
    lines += ["", "Take care"]
    for caution in ring_cautions(ring):
        lines += wrapped(caution, "  - ", "    ")
    return "\n".join(lines)


def _mass_text(metal: Metal, mass_g: float) -> str:
    return (
        f"{mass_g:.4f} g in {metal.name} of {metal.density_g_per_cm3:g} g/cm3 "
        f"({metal.density_source}); {100 * mass_g:.2f} g per hundred"
    )


def _made_lines(ring: BenchRing, add: Callable[[str, str], None]) -> None:
    made, span, bends = ring.made, ring.span_mm, ring.bends
    if made is None or span is None or bends is None:
        return
    add("mandrel", f"{made.mandrel_mm:.3f} mm")
    add("coil, let go", f"{made.coil_inner_mm:.3f} mm inside; {bends.source}")
    add("a turn of it", f"{made.turn_mm:.2f} mm of wire, wound close")
    add("cut", ring.cut.remark)
    ratios = [RingSize(made.wire_mm, end).aspect_ratio for end in span]
    add(
        "closed ring",
        f"{made.ring.inner_mm:.3f} mm inside, {span[0]:.3f} to {span[1]:.3f} mm as the wire "
        f"springs (AR {ratios[0]:.3f} to {ratios[1]:.3f})",
    )
    if ring.torque_nmm is not None:
        add("torque to wind it", f"{ring.torque_nmm / 1000.0:.3f} N m, before friction")


def _strength_lines(
    strength: RingStrength, load_n: float | None, add: Callable[[str, str], None]
) -> None:
    def hung(newtons: float) -> str:
        return f"{newtons:.2f} N (as {newtons / STANDARD_FALL:.2f} kg hung on it)"

    add("begins to spread", f"at {hung(strength.begins_n)}")
    add(
        "not annealed",
        f"widens a little, unseen, already at {hung(strength.begins_as_wound_n)}, as winding "
        "leaves stresses in it",
    )
    add("comes open", f"at {hung(strength.opens_n)}; winding hardens soft wire, which adds to it")
    if load_n is not None:
        factor = strength.safety_factor(load_n)
        add("safety factor", f"{factor:.2f} for {hung(load_n)}")
    add("", NOT_FOR_LOADS)
