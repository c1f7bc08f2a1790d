"""How much of a heap of rings is metal."""

from __future__ import annotations

from ringwright.base.errors import BadInput

SOURCE = (
    "simulated: 100 closed rings poured at random into a square box 4 rings wide, by the "
    "rigid-body engine MuJoCo 4.0.0, friction 0.3, 3 pours at each of 7 aspect ratios from 2.5 "
    "to 8, script tests/benchmarks/packing.py"
)
SIMULATED = (2.5, 8.0)
# Walls loosen a heap: in a box 6 rings wide, at ratio 3.5, it is 5 per cent denser. So wells,
# which are wider than 4 rings, come out a little roomy.
# fill = FACTOR (AR + 1)^POWER, the least squares of the logarithms; every pour is within 7 per cent
# of it.
FACTOR, POWER = 0.897, -0.789
LEAST_FILL, MOST_FILL = 0.02, 0.7


def fill_share(aspect_ratio: float) -> float:
    """The share of a poured heap's volume that is metal; thin rings lie loosely.

    A power of outer-to-wire proportion, fitted to what :data:`SOURCE` says; beyond the ratios
    that were simulated it is drawn on.
    """
    share: float = FACTOR * (aspect_ratio + 1.0) ** POWER
    return max(LEAST_FILL, min(MOST_FILL, share))


def checked_fill(text: str) -> float:
    """The maker's own share, typed as ``0.22`` or ``22%``.

    Raises
    ------
    BadInput
        When it is no number, or no heap of rings is like that.
    """
    try:
        value = float(text.rstrip("% ")) / (100.0 if text.strip().endswith("%") else 1.0)
    except ValueError:
        value = -1.0
    if not LEAST_FILL <= value <= MOST_FILL:
        raise BadInput(
            f"fill {text!r} is not between {LEAST_FILL:g} and {MOST_FILL:g}: weigh the rings that "
            "fill a measured cup level, and give their metal's volume over the cup's, e.g. 0.25."
        )
    return value
