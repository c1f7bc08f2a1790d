"""A settled weave on its way: states from pulled straight to pushed together, and to bent.

Every state is one that the solver came to at just that repeat, or just that bend, and that
was measured again: no two of its rings overlap. Between the two ends, which are as far as the
rings go, it is the state nearest to the straight way from the one end to the other, and so a
weave moves here as smoothly as it can. Lengths are in units of the core radius.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings, close_pairs, contacts
from ringwright.geometry.lattice import rotations
from ringwright.movement.bend import AXES, bent_tightly, bent_unit
from ringwright.movement.play import pushed
from ringwright.solver.climb import Goal, Unit, climb, nearest_to

# How far apart the states of a way are, at least so many of them.
STATES = 24
# A state may overlap by as much as the solver's own accuracy.
_TOUCHING = 1e-7
_ROUNDS, _TOLERANCE = 60, 1e-7
_X = np.array([1.0, 0.0, 0.0])


def pushing(unit: Unit, value: int = 0) -> list[Unit]:
    """States from pulled straight, which is ``unit`` itself, to pushed together.

    Parameters
    ----------
    unit : at rest, pulled straight
    value : 0 to push along x; for a sheet, 2 to push its rows together
    """
    ends = pushed(unit, value)
    if not ends:
        return [unit]
    return [unit, *_way(unit, _laid_upon(ends[0], unit), value)]


def bending(unit: Unit, direction: str, sense: int) -> list[Unit]:
    """States from straight to the tightest bend; their lattices are of the kind ``loop``.

    Parameters
    ----------
    unit : one repeat of a chain, at rest
    direction, sense : as for :func:`ringwright.movement.bend.bent_tightly`
    """
    straight = bent_unit(unit, sense * AXES[direction], 0.0)
    end = bent_tightly(unit, direction, sense)
    return [straight, *_way(straight, end.unit, 1)]


def _way(start: Unit, end: Unit, value: int) -> list[Unit]:
    """States from start to end, without the start, one of the lattice's values in even steps."""
    found: list[Unit] = []
    before = end
    # From the tight end on, where there is ever more room.
    for share in np.linspace(1.0, 0.0, STATES + 1)[:-1]:
        at = before if share == 1.0 else _between(start, end, float(share), value, before)
        if is_clear(at):
            found.append(at)
            before = at
    return found[::-1]


def _between(start: Unit, end: Unit, share: float, value: int, before: Unit) -> Unit:
    """The state nearest to a share of the way, from the one found before it."""
    values = start.lattice.values + share * (end.lattice.values - start.lattice.values)
    target = Unit(_blended(start.rings, end.rings, share), start.lattice.with_values(values))
    kept = before.lattice.values.copy()
    kept[value] = values[value]
    found = climb(
        Unit(before.rings, before.lattice.with_values(kept)),
        _towards(target, value),
        rounds=_ROUNDS,
        tolerance=_TOLERANCE,
    )
    return found.unit


def _towards(target: Unit, value: int) -> Goal:
    """As near to a unit as it gets, its lattice too; one of the lattice's values is kept."""
    near = nearest_to(target.rings)
    free = np.arange(len(target.lattice.values)) != value
    first = 5 * len(target.rings.centres)

    def away(unit: Unit) -> Floats:
        return np.where(free, target.lattice.values - unit.lattice.values, 0.0)

    def slope(unit: Unit) -> Floats:
        whole = near.slope(unit)
        whole[first : first + len(free)] = away(unit)
        return whole

    return replace(
        near,
        value=lambda unit: near.value(unit) - 0.5 * float(np.sum(away(unit) ** 2)),
        slope=slope,
        values_free=tuple(bool(one) for one in free),
    )


def _blended(one: Rings, other: Rings, share: float) -> Rings:
    axes = (1.0 - share) * one.axes + share * other.axes
    size = np.linalg.norm(axes, axis=1)[:, None]
    axes = np.where(size > 1e-6, axes / np.maximum(size, 1e-6), other.axes)
    centres = (1.0 - share) * one.centres + share * other.centres
    return Rings(centres, axes, one.core_radii, one.wire_radii)


def _laid_upon(unit: Unit, other: Unit) -> Unit:
    """The same state moved as a whole to where another lies."""
    rings, kind = unit.rings, unit.lattice.kind
    ours, theirs = rings.centres.mean(axis=0), other.rings.centres.mean(axis=0)
    if kind.turns:
        # About their own axis they may turn, but not leave it.
        ours, theirs = ours * _X, theirs * _X
    away, wanted = rings.centres - ours, other.rings.centres - theirs
    axes = rings.axes
    if kind.has_axis:
        across = (away[:, 1] * wanted[:, 2] - away[:, 2] * wanted[:, 1]).sum()
        along = (away[:, 1:] * wanted[:, 1:]).sum()
        ours_n, theirs_n = axes, other.rings.axes
        across += (ours_n[:, 1] * theirs_n[:, 2] - ours_n[:, 2] * theirs_n[:, 1]).sum()
        along += (ours_n[:, 1:] * theirs_n[:, 1:]).sum()
        turn = rotations(_X, np.array([np.arctan2(across, along)]))[0]
        away, axes = away @ turn.T, axes @ turn.T
    return Unit(Rings(away + theirs, axes, rings.core_radii, rings.wire_radii), unit.lattice)


def is_clear(unit: Unit) -> bool:
    """Whether no two rings of a weave overlap, each repeat with all others."""
    found = contacts(unit.rings, close_pairs(unit.rings, 0.0, unit.lattice), unit.lattice)
    return bool(found.gap.min(initial=0.0) >= -_TOUCHING)
