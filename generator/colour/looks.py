"""How rings are told apart in models and pictures: by role, or by their metal."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from ringwright.base.errors import BadInput
from ringwright.colour.near import HEX, nearly, rgb_of, why_not
from ringwright.metals.all_metals import METALS
from ringwright.metals.metal import PLAIN, POLISHED, RGB, Metal, Surface
from ringwright.metals.metal_names import listed, metal_named, metals_called
from ringwright.metals.name_keys import name_key


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


def _surface_of(name: str) -> Surface:
    return metal_named(name).surface


# Words for colours, whatever the alloy; those that name no one alloy have a look of their own, by
# eye. Steel is bluer than it is, so that everyone tells it from copper.
COLOUR_WORDS: dict[str, Surface] = {
    "copper": _surface_of("copper"),
    "bronze": _surface_of("bronze"),
    "brass": _surface_of("brass"),
    "gold": Surface((0.93, 0.75, 0.35)),
    "rose-gold": Surface((0.89, 0.62, 0.52)),
    "silver": Surface((0.91, 0.90, 0.87)),
    "steel": Surface((0.56, 0.72, 0.86)),
    "aluminium": _surface_of("aluminium"),
    "titanium": _surface_of("titanium"),
    "niobium": _surface_of("niobium"),
    "black": Surface((0.16, 0.16, 0.18), 0.16),
}
# In the light of the studio, steel as it is, and black not so dark that no light shows its shape.
_IN_STUDIO: dict[str, RGB] = {
    "steel": _surface_of("stainless steel").colour,
    "black": (0.29, 0.29, 0.31),
}
_WORDS = {name_key(word): word for word in COLOUR_WORDS}


def paint_named(text: str, where: str, own: Collection[Metal] = ()) -> str:
    """How a ring is painted, from what was typed.

    A colour word, else a metal's name as it is listed, else a colour as #rrggbb.

    Parameters
    ----------
    text : such a word or colour, or any name of a metal
    where : what complaints call it
    own : metals of the maker's own, which go before all others

    Raises
    ------
    BadInput
        When it is none of these, or can be several metals.
    """
    name = text.strip().lower()
    for metal in own:
        if name_key(metal.name) == name_key(name):
            return metal.name
    if HEX.fullmatch(name):
        return name
    if word := _WORDS.get(name_key(name)):
        return word
    found = metals_called(name)
    if len(found) == 1:
        return found[0].name
    said = f"{where} has {text.strip()[:40]!r}, which"
    if found:
        raise BadInput(f"{said} can be {listed(found)}; give one of these.")
    raise BadInput(
        f"{said} is not a metal known here; give one of {', '.join(COLOUR_WORDS)}, an alloy such "
        "as sterling silver, or a colour, e.g. #d86e33."
    )


def one_paint(text: str) -> str | None:
    """The same, or None where a text is not one paint."""
    try:
        return paint_named(text, "")
    except BadInput:
        return None


def has_slash(name: str) -> bool:
    """Whether a name with a / in it is one of a metal's own, such as 70/30 brass."""
    return _spelt(name) in _SLASHED


def _spelt(name: str) -> str:
    return "".join(mark for mark in name.casefold() if mark.isalnum() or mark == "/")


_SLASHED = {_spelt(name) for metal in METALS for name in metal.also if "/" in name}


def surface_of(paint: str) -> Surface:
    """Colour and polish of a paint, as :func:`paint_named` gives it."""
    if paint in COLOUR_WORDS:
        return COLOUR_WORDS[paint]
    if found := metals_called(paint):
        return found[0].surface
    if not HEX.fullmatch(paint):
        # A metal of the maker's own.
        return PLAIN
    return Surface(rgb_of(paint), POLISHED)


def studio_surface_of(paint: str) -> Surface:
    """The same, as it is lit for stills."""
    surface = surface_of(paint)
    return replace(surface, colour=_IN_STUDIO.get(paint, surface.colour))


def look_of(paint: str) -> Look:
    """The look of a role, or of a paint as :func:`paint_named` gives it."""
    return LOOKS[paint] if paint in LOOKS else Look(surface_of(paint).colour, paint)


def paint_of_pixel(red: int, green: int, blue: int) -> str:
    """The colour word of just that colour, and else the colour itself as #rrggbb."""
    for name, surface in COLOUR_WORDS.items():
        if tuple(round(255 * part) for part in surface.colour) == (red, green, blue):
            return name
    return hex_of(red, green, blue)


def hex_of(red: int, green: int, blue: int) -> str:
    """A pixel as #rrggbb."""
    return f"#{red:02x}{green:02x}{blue:02x}"


def named_colour(paint: str) -> str:
    """The colour word that a colour as #rrggbb is nearly; any other paint as it is.

    Raises
    ------
    BadInput
        When it is not clear which.
    """
    if not HEX.fullmatch(paint):
        return paint
    words = {word: surface.colour for word, surface in COLOUR_WORDS.items()}
    word = nearly(rgb_of(paint), words)
    if word is None:
        raise BadInput(f"the colour {paint} {why_not(rgb_of(paint), words)}")
    return word
