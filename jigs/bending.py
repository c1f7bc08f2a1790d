"""How stiff a wire is to wind: yield stress by metal, and the moment that bends it fully."""

from __future__ import annotations

# Yield stress of half-hard wire in MPa, from memory; makes and tempers differ by half.
YIELD_MPA = {
    "aluminium": 150.0,
    "copper": 250.0,
    "brass": 350.0,
    "bronze": 400.0,
    "silver": 280.0,
    "gold": 280.0,
    "niobium": 250.0,
    "titanium": 450.0,
    "steel": 450.0,
    "stainless": 600.0,
}


def plastic_moment_n_mm(wire_mm: float, yield_mpa: float) -> float:
    """The moment at which all of a round wire yields, N mm.

    The plastic section modulus of a full circle is d^3 / 6 (textbook strength of materials,
    from memory).
    """
    return yield_mpa * wire_mm**3 / 6.0
