"""Outer dimensions of rings, exact for tori."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings, in_images
from ringwright.solver.climb import Unit

_DIRECTIONS = 720
# Between two of these so many are looked along, and again between two of those, so often: that is
# quicker than to load a library for it. A size counts as less by more than this.
_BETWEEN, _CLOSER, _LESS = 128, 5, 1e-9
# Ways through are equally thin to this; which of them is the least is only rounding.
_AS_THIN = 1e-7
# Repeats of a turning chain that show its whole cross-section.
_TURNS = 72


def extent(rings: Rings, direction: Floats) -> tuple[float, float]:
    """Lowest and highest point of the rings along a unit direction.

    A torus reaches R sqrt(1 - (axis . direction)^2) + r to either side of its
    centre: the support of its core circle plus the wire radius.

    Parameters
    ----------
    rings : n rings
    direction : (3,) unit vector
    """
    low, high = _ends(rings, direction)
    return float(low), float(high)


def _ends(rings: Rings, directions: Floats) -> tuple[Floats, Floats]:
    """The same along a direction (3,), or along each of several (3, k)."""
    lean = np.clip(rings.axes @ directions, -1.0, 1.0)
    half = (rings.core_radii * np.sqrt(1.0 - lean**2).T + rings.wire_radii).T
    along = rings.centres @ directions
    return np.asarray((along - half).min(axis=0)), np.asarray((along + half).max(axis=0))


def all_round(unit: Unit) -> Rings:
    """The rings of a unit in every way a whole piece turns them; the unit's own if it does not."""
    lattice, rings = unit.lattice, unit.rings
    if lattice.kind.is_flat:
        return rings
    images = [(k1, k2) for k1 in range(_TURNS) for k2 in range(lattice.beside)]
    return in_images(rings, np.array(images, np.intp), lattice)


def width_and_thickness(rings: Rings) -> tuple[float, float]:
    """Size across a chain along x: the thinnest way through it, and the size at right angles.

    The thickness is how high the chain stands when it lies flat on a table. Where it is as thin
    over a range of angles, the width is the least of them.

    Returns
    -------
    width, thickness : in the rings' unit of length
    """
    best = flattest(rings)
    return _through(rings, best + np.pi / 2), _through(rings, best)


def flattest(rings: Rings) -> float:
    """The angle about x, from z towards -y, along which rings are thinnest, in radians.

    Of angles along which they are equally thin, the one across which they are narrowest.
    """
    # Flat ways through are often the exact directions of the rule, so ties go to these.
    angles = np.asarray(np.arange(_DIRECTIONS) * (np.pi / _DIRECTIONS), dtype=float)
    step = np.pi / _DIRECTIONS
    best = float(angles[np.argmin(_sizes_through(rings, angles).round(9))])
    best = _refined(lambda at: _sizes_through(rings, at), best, step)
    thinnest = _through(rings, best)

    def widths(at: Floats) -> Floats:
        flat = _sizes_through(rings, at) < thinnest + _AS_THIN
        return np.asarray(np.where(flat, _sizes_through(rings, at + np.pi / 2), np.inf))

    every = np.append(angles, best)
    narrowest = float(every[np.argmin(widths(every).round(9))])
    return _refined(widths, narrowest, step)


def _through(rings: Rings, angle: float) -> float:
    """Size along a direction across x."""
    low, high = extent(rings, np.array([0.0, -np.sin(angle), np.cos(angle)]))
    return high - low


def _sizes_through(rings: Rings, angles: Floats) -> Floats:
    """The same along many directions at once, (k,)."""
    directions = np.stack([np.zeros_like(angles), -np.sin(angles), np.cos(angles)])
    low, high = _ends(rings, directions)
    return high - low


def _refined(sizes: Callable[[Floats], Floats], angle: float, step: float) -> float:
    """The angle of the least size within one step of ``angle``, if it is truly less than there."""
    middle, span = angle, step
    for _ in range(_CLOSER):
        between = middle + np.linspace(-span, span, _BETWEEN + 1)
        middle, span = float(between[np.argmin(sizes(between))]), 2.0 * span / _BETWEEN
    refined, before = sizes(np.array([middle, angle]))
    return middle if refined < before - _LESS else angle
