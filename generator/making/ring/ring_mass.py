"""Mass, volume and surface of a ring, by Pappus: a torus with core radius R and wire radius r."""

from __future__ import annotations

import math

from ringwright.base.sizes import RingSize


def ring_volume_mm3(size: RingSize) -> float:
    """Volume of a closed ring: the wire's section times the way of its middle, 2 pi^2 R r^2."""
    return 2.0 * math.pi**2 * size.core_radius_mm * size.wire_radius_mm**2


def ring_surface_mm2(size: RingSize) -> float:
    """Surface of a closed ring, for plating and anodising: 4 pi^2 R r."""
    return 4.0 * math.pi**2 * size.core_radius_mm * size.wire_radius_mm


def ring_wire_mm(size: RingSize) -> float:
    """Wire in a closed ring, along its middle: 2 pi R."""
    return 2.0 * math.pi * size.core_radius_mm


def ring_mass_g(size: RingSize, density_g_per_cm3: float) -> float:
    """Mass of a closed ring."""
    return ring_volume_mm3(size) * density_g_per_cm3 / 1000.0


def wire_mass_g(length_mm: float, wire_mm: float, density_g_per_cm3: float) -> float:
    """Mass of a length of round wire."""
    return math.pi * wire_mm**2 / 4.0 * length_mm * density_g_per_cm3 / 1000.0
