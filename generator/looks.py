"""How the two roles of ring are told apart in models and pictures."""

from __future__ import annotations

from dataclasses import dataclass

RGB = tuple[float, float, float]


@dataclass(frozen=True)
class Look:
    """A role's colour (sRGB, 0 to 1), and the metal that it looks like."""

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
