"""Rings brought to other core circles without any passing through another.

A weave is the same weave with larger or smaller rings of one size only while links and
lay stay what they are. Lengths are in units of the main ring's core radius.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Rings, close_pairs, contacts
from ringwright.solver.climb import Unit, climb, thickest

# Wire so thin (in core radii) that it is in nobody's way.
THREAD = 1e-3
# Of the way that no two core circles can meet on, so much is gone in one step.
_SAFE_SHARE = 0.9
# Less than this share of the way in one step is no way at all.
_LEAST_SHARE = 1e-3
# How sure a state on the way is to be; it is only there for room.
_ON_THE_WAY = 1e-5


def in_thread(unit: Unit, wires: Floats) -> Unit:
    """The same core circles in hair-thin wires of these proportions."""
    return unit.with_wire_radii(wires * (THREAD / wires.max()))


def with_cores(unit: Unit, core_radii: Floats) -> Unit:
    """The same centres and axes with other core circles."""
    return Unit(replace(unit.rings, core_radii=core_radii), unit.lattice)


def resized(unit: Unit, core_radii: Floats, wires: Floats, tolerance: float = 1e-8) -> Unit | None:
    """The thickest wires on other core circles, come to from a unit step by step.

    In each step the wires are grown as thick as they get, which makes room; then no core
    circle changes by as much as the wire that it is in the middle of, so that no two can meet.

    Parameters
    ----------
    unit : the start, its core circles apart from one another; its wires are not looked at
    core_radii : (n,) what the core circles become
    wires : (n,) wire radii in proportion to which all wires grow
    tolerance : of the last step, as for :func:`ringwright.solver.climb.climb`

    Returns
    -------
    Unit or None
        None where the rings get into each other's way before they are of that size, however
        thin their wires are.
    """
    while True:
        left = core_radii - unit.rings.core_radii
        last = not np.any(left)
        thin = in_thread(unit, wires)
        grown = climb(thin, thickest(thin), tolerance=tolerance if last else _ON_THE_WAY).unit
        if last:
            return grown
        room = _SAFE_SHARE * grown.rings.wire_radii
        share = float((room[left != 0.0] / np.abs(left[left != 0.0])).min())
        if share < _LEAST_SHARE:
            return None
        cores = core_radii if share >= 1.0 else grown.rings.core_radii + share * left
        unit = with_cores(grown, cores)


def meets_nothing(unit: Unit, core_radii: Floats, least: float) -> bool:
    """Whether core circles may change their size where they lie, keeping ``least`` apart.

    Parameters
    ----------
    unit : the rings, with the core circles that they have
    core_radii : (n,) what the core circles become, growing all at once and evenly
    """
    change = core_radii - unit.rings.core_radii
    speed = np.abs(change)
    if not np.any(speed):
        return True
    done = 0.0
    while True:
        rings = replace(
            unit.rings,
            core_radii=unit.rings.core_radii + done * change,
            wire_radii=np.zeros(len(change)),
        )
        reach = (1.0 - done) * 2.0 * float(speed.max()) + least
        found = contacts(rings, close_pairs(rings, reach, unit.lattice), unit.lattice, reach)
        nearing = speed[found.pairs.first] + speed[found.pairs.second]
        gap, nearing = found.gap[nearing > 0.0], nearing[nearing > 0.0]
        if np.any(gap < least):
            return False
        if done == 1.0:
            return True
        done = min(1.0, done + float((np.maximum(gap, least) / nearing).min(initial=1.0)))


def stretched(placed: Unit, unit: Unit) -> Rings:
    """The rings of a placement moved apart as far as its repeat has to grow to be the unit's."""
    stretch = np.ones(3)
    ours, theirs = placed.lattice, unit.lattice
    for way, value in enumerate(ours.kind.distances):
        stretch[way] = theirs.values[value] / ours.values[value]
    return replace(placed.rings, centres=placed.rings.centres * stretch)
