"""How rings are told apart in models and pictures: by role, or by their metal."""

from __future__ import annotations

import re
from dataclasses import dataclass

RGB = tuple[float, float, float]


@dataclass(frozen=True)
class Look:
    """A colour (sRGB, 0 to 1), and the metal that it looks like."""

    colour: RGB
    metal: str

    def linear(self) -> RGB:
        """The colour in linear light, as glTF and renderers want it.

        Transfer function of sRGB, IEC 61966-2-1 (from memory).
        """
        red, green, blue = (
            part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
            for part in self.colour
        )
        return red, green, blue


# A copper and a lighter steel, to either side of the orange-blue axis after the palette of Okabe
# and Ito (from memory): the pair stays apart in all common kinds of colour blindness, and in grey.
LOOKS = {
    "open": Look((0.85, 0.43, 0.20), "copper"),
    "closed": Look((0.56, 0.72, 0.86), "steel"),
}

# For lessons, where pictures and prints have to match: orange and sky blue of the palette of Okabe
# and Ito (from memory).
ROLE_COLOURS = {
    "open": Look((230 / 255, 159 / 255, 0.0), "orange"),
    "closed": Look((86 / 255, 180 / 255, 233 / 255), "sky blue"),
}

# How metals look is a matter of alloy, polish and light: these are approximations by eye.
METALS = {
    "copper": (0.85, 0.43, 0.20),
    "bronze": (0.69, 0.46, 0.24),
    "brass": (0.85, 0.69, 0.33),
    "gold": (0.93, 0.75, 0.35),
    "rose-gold": (0.89, 0.62, 0.52),
    "silver": (0.91, 0.90, 0.87),
    "steel": (0.56, 0.72, 0.86),
    "aluminium": (0.82, 0.84, 0.86),
    "titanium": (0.56, 0.55, 0.53),
    "niobium": (0.47, 0.47, 0.52),
    "black": (0.16, 0.16, 0.18),
}
_HEX = re.compile(r"#[0-9a-f]{6}")


def is_paint(name: str) -> bool:
    """Whether a ring can be painted like that: a metal's name, or a colour as #rrggbb."""
    return name in METALS or _HEX.fullmatch(name) is not None


def look_of(paint: str) -> Look:
    """The look of a role, a metal, or a colour written as #rrggbb."""
    if paint in LOOKS:
        return LOOKS[paint]
    if paint in METALS:
        return Look(METALS[paint], paint)
    red, green, blue = (int(paint[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return Look((red, green, blue), paint)


def paint_of_pixel(red: int, green: int, blue: int) -> str:
    """The metal of just that colour, and else the colour itself as #rrggbb."""
    for name, colour in METALS.items():
        if tuple(round(255 * part) for part in colour) == (red, green, blue):
            return name
    return f"#{red:02x}{green:02x}{blue:02x}"
