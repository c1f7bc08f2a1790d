"""The studio that stills are taken in: its light from every direction, finishes, the film.

Everything here is by eye: how metal looks is a matter of alloy, polish and light.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.colour.looks import Look, studio_surface_of
from ringwright.metals.metal import RGB, Surface

LIGHT, DARK, TRANSPARENT = "light", "dark", "transparent"
BACKGROUNDS = (LIGHT, DARK, TRANSPARENT)

# By the roles of rings instead of a metal: vermilion and sky blue of the palette of Okabe and Ito
# (from memory). One is polished and the other satin, so that not the colour alone tells.
ROLES = "roles"
_ROLE_LOOKS = {
    "open": Look((0.835, 0.369, 0.0), "vermilion"),
    "closed": Look((0.337, 0.706, 0.914), "sky blue"),
}
_ROLE_ROUGHNESS = {"open": 0.16, "closed": 0.44}

# The wrist's form, in linear light: a plain grey that no metal is taken for.
FORM = (0.66, 0.64, 0.62)

# Rows of the picture of all directions that metal mirrors; twice as many columns.
_ROWS = 256
# Light beyond white that is still told apart before it burns out.
HEADROOM = 4.0
_SHOULDER = 0.62


@dataclass(frozen=True)
class Finish:
    """What a ring's surface is like: colour in linear light, and how blurred it mirrors."""

    colour: RGB
    roughness: float


def colour_of(paint: str) -> RGB:
    """The colour (sRGB, 0 to 1) of a role, a metal, or a colour written as #rrggbb."""
    return _surface_of(paint).colour


def finish_of(paint: str) -> Finish:
    """The finish of a role, a metal, or a colour written as #rrggbb."""
    surface = _surface_of(paint)
    return Finish(Look(surface.colour, paint).linear(), surface.roughness)


def _surface_of(paint: str) -> Surface:
    if paint in _ROLE_LOOKS:
        return Surface(_ROLE_LOOKS[paint].colour, _ROLE_ROUGHNESS[paint])
    return studio_surface_of(paint)


def role_words(role: str) -> str:
    """How rings of a role look, in words."""
    kind = "polished" if _ROLE_ROUGHNESS[role] < 0.3 else "satin"
    return f"{kind} {_ROLE_LOOKS[role].metal}"


def light_from(toward: Floats, dark: bool) -> Floats:
    """Light that comes from each direction, (n, 3) unit vectors; 1 is a white sheet in full light.

    Large soft boxes to the left, above and behind, a strip to the right, and between them
    walls dark enough for metal to have shape.

    Parameters
    ----------
    dark : whether the piece lies on a dark ground
    """
    up = np.arcsin(np.clip(toward[:, 2], -1.0, 1.0))
    around = np.arctan2(toward[:, 1], toward[:, 0])

    def box(azimuth: float, elevation: float, wide: float, tall: float) -> Floats:
        off = (around - azimuth + np.pi) % (2.0 * np.pi) - np.pi
        outside = np.hypot(off * np.cos(up) / wide, (up - elevation) / tall) ** 3
        soft: Floats = 1.0 / (1.0 + np.exp(np.clip(7.0 * (outside - 1.0), -50.0, 50.0)))
        return soft

    ground, wall, ceiling = (0.10, 0.11, 0.34) if dark else (0.62, 0.16, 0.42)
    below = 1.0 / (1.0 + np.exp(np.clip(12.0 * (up + 0.06), -50.0, 50.0)))
    light = below * ground + (1.0 - below) * (wall + (ceiling - wall) * np.sin(up).clip(0.0) ** 1.5)
    light = light + 3.0 * box(-2.3, 0.80, 0.60, 0.36)
    light = light + 2.3 * box(1.1, 0.95, 0.70, 0.34)
    light = light + 1.7 * box(-0.25, 0.45, 0.16, 0.60)
    light = light + 0.9 * box(2.7, 0.40, 0.35, 0.50)
    # A low fill from in front, for metal that stands upright.
    light = light + 0.9 * box(-1.45, 0.22, 0.50, 0.15)
    return np.asarray(light)


def light_all_round(dark: bool) -> Floats:
    """The light from all directions, (rows, columns): the first row from straight below."""
    up = (np.arange(_ROWS) + 0.5) / _ROWS * np.pi - np.pi / 2.0
    around = (np.arange(2 * _ROWS) + 0.5) / (2 * _ROWS) * 2.0 * np.pi - np.pi
    up, around = np.meshgrid(up, around, indexing="ij")
    level = np.cos(up)
    toward = np.stack([level * np.cos(around), level * np.sin(around), np.sin(up)], axis=-1)
    return light_from(toward.reshape(-1, 3), dark).reshape(_ROWS, 2 * _ROWS)


def film() -> Floats:
    """What becomes of each of 256 levels of the drawn picture, (256,) in linear light, 0 to 1.

    The picture is drawn ``HEADROOM`` times too dark in the usual power of 2.2; highlights are
    rolled off instead of cut.
    """
    light = HEADROOM * (np.arange(256) / 255.0) ** 2.2
    over = np.maximum(light - _SHOULDER, 0.0)
    left = 1.0 - _SHOULDER
    rolled: Floats = np.minimum(light, _SHOULDER) + left * (1.0 - np.exp(-over / left))
    return np.asarray(rolled / rolled[-1])


def encoded(linear: Floats) -> Floats:
    """Linear light, 0 to 1, as sRGB, 0 to 1 (IEC 61966-2-1, from memory)."""
    curve: Floats = np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )
    return curve


def ground(rows: int, columns: int, background: str) -> Floats:
    """The background behind everything, (rows, columns, 3) in linear light: a sweep of paper."""
    down = np.linspace(0.0, 1.0, rows)[:, None]
    across = np.linspace(-1.0, 1.0, columns)[None, :]
    if background == DARK:
        level = 0.020 + 0.030 * np.exp(-((across / 0.9) ** 2) - ((down - 0.55) / 0.5) ** 2)
        tint = np.array([0.92, 0.97, 1.08])
    else:
        level = 0.86 - 0.16 * (1.0 - down) ** 2 - 0.05 * across**2
        tint = np.array([1.0, 0.995, 0.985])
    return np.asarray(level[:, :, None] * tint)
