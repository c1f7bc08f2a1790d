"""Colours that are nearly alike, as those of a picture that was saved, scaled or filtered."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from ringwright.base.wording import either
from ringwright.metals.metal import RGB

HEX = re.compile(r"#[0-9a-f]{6}")
# In steps of CIELAB: about two are just seen side by side (from memory).
_NEAR = 6.0
# Another colour is out of the question if it is at least so many times as far.
_CLEARLY = 2.0
# White of the light that sRGB is seen in, D65 (from memory).
_WHITE = (0.95047, 1.0, 1.08883)


def rgb_of(text: str) -> RGB:
    """A colour as #rrggbb, each part 0 to 1."""
    red, green, blue = (int(text[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def apart(one: RGB, other: RGB) -> float:
    """How far two colours are apart to the eye: the distance in CIELAB of 1976 (from memory)."""
    return math.dist(_lab(one), _lab(other))


def nearly(colour: RGB, known: Mapping[str, RGB]) -> str | None:
    """The one of some colours that another one is meant for; None if that is not clear."""
    first, *others = sorted((apart(colour, one), name) for name, one in known.items())
    if first[0] > _NEAR or (others and others[0][0] < _CLEARLY * first[0]):
        return None
    return first[1]


def why_not(colour: RGB, known: Mapping[str, RGB]) -> str:
    """Why it is not clear: ``is near to none of ...`` or ``may be ... or ...``."""
    near = sorted((apart(colour, one), name) for name, one in known.items())
    may_be = [name for far, name in near if far <= max(_NEAR, _CLEARLY * near[0][0])]
    if near[0][0] <= _NEAR and len(may_be) > 1:
        return f"may be {either(may_be[:4])}"
    return f"is near to none of {', '.join(known)}"


def _lab(colour: RGB) -> tuple[float, float, float]:
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in colour
    )
    x = 0.4124 * red + 0.3576 * green + 0.1805 * blue
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = 0.0193 * red + 0.1192 * green + 0.9505 * blue
    far = [
        math.cbrt(part) if part > 0.008856 else 7.787 * part + 16.0 / 116.0
        for part in (x / _WHITE[0], y / _WHITE[1], z / _WHITE[2])
    ]
    return 116.0 * far[1] - 16.0, 500.0 * (far[0] - far[1]), 200.0 * (far[1] - far[2])
