"""Proof that a settled unit is at rest: contact forces and what is left unexplained.

At a true optimum the goal's slope is a sum of the contacts' slopes with factors
that are zero or positive (the Karush-Kuhn-Tucker conditions); these factors are
the forces in the contacts. Ashton, Cantarella, Piatek and Rawdon, "Knot
Tightening by Constrained Gradient Descent", Experimental Mathematics 20 (2011),
use the part of the slope that no such sum explains as the measure of how far a
tightened knot is from its optimum; so does this.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ringwright.base.arrays import Floats
from ringwright.geometry.contact import Pairs, close_pairs
from ringwright.geometry.linearise import Rows, gap_gradients, gap_rows
from ringwright.solver.climb import Goal, Unit

# Places farther apart than this carry no force.
_NEAR = 1e-3
# The motions considered, in core radii: a force across a gap g counts as g / _MOTION.
_MOTION = 1e-2


@dataclass(frozen=True, eq=False)
class Balance:
    """How far contact forces hold the goal's pull in balance.

    Attributes
    ----------
    rows : places where rings touch or nearly do
    forces : (m,) the force in each, for a pull of 1 along the goal
    residual : as in :class:`Certificate`
    """

    rows: Rows
    forces: Floats
    residual: float


@dataclass(frozen=True, eq=False)
class _Conditions:
    """What forces have to balance: the goal's slope, by the gaps' slopes at the places."""

    rows: Rows
    slope: Floats
    gradients: Floats

    @cached_property
    def balance(self) -> Balance:
        """The forces that do it best."""
        rows, slope, gradients = self.rows, self.slope, self.gradients
        forces = _forces(slope, gradients, rows.gap / _MOTION)
        fitted = _fitted(forces, slope, gradients)
        found = [
            Balance(rows, f, _residual(f, rows.gap, slope, gradients)) for f in (forces, fitted)
        ]
        return min(found, key=lambda held: held.residual)


@dataclass(frozen=True, eq=False)
class Certificate:
    """Contact forces of a unit at rest, and the largest violation of the KKT conditions.

    Attributes
    ----------
    conditions : what the forces are worked out from when they are asked for
    residual : the largest of: slope left unexplained by the forces, overlap, and
        force across a gap (all in units of the goal per core radius)
    """

    conditions: _Conditions
    residual: float

    @property
    def pairs(self) -> Pairs:
        """(k,) the touching rings."""
        return self._summed[0]

    @property
    def forces(self) -> Floats:
        """(k,) the force in each pair for a pull of 1 along the goal."""
        return self._summed[1]

    @cached_property
    def _summed(self) -> tuple[Pairs, Floats]:
        held = self.conditions.balance
        return _summed(held.rows.pairs, held.forces)


def certify(unit: Unit, goal: Goal, explained: float | None = None) -> Certificate:
    """The KKT residual of ``unit`` for ``goal``, and the forces in its contacts.

    Parameters
    ----------
    explained : the residual with forces that were found on the way here. Those of the
        certificate, which a linear programme takes longer to find, are then left until they
        are asked for
    """
    conditions = _conditions(unit, goal)
    if explained is None:
        return Certificate(conditions, conditions.balance.residual)
    return Certificate(conditions, max(explained, -float(conditions.rows.gap.min(initial=0.0))))


def balance(unit: Unit, goal: Goal) -> Balance:
    """The forces at every single place, and the KKT residual.

    A linear programme over all small motions, solved by HiGHS: maximise the goal's
    slope along a motion that lets no gap fall below zero. Its value is zero at an
    optimum, and its dual values are the forces.
    """
    return _conditions(unit, goal).balance


def _conditions(unit: Unit, goal: Goal) -> _Conditions:
    rows = gap_rows(unit.rings, close_pairs(unit.rings, _NEAR, unit.lattice), unit.lattice, 1.0)
    rows = rows.of(rows.gap <= _NEAR)
    growth = np.zeros(len(unit.rings.centres)) if goal.growth is None else goal.growth(unit)
    gradients = gap_gradients(unit.rings, rows, unit.lattice, growth)
    slope, free = goal.slope(unit), goal.freedom(unit) > 0.0
    return _Conditions(rows, slope[free], gradients[:, free])


def _residual(forces: Floats, gap: Floats, slope: Floats, gradients: Floats) -> float:
    unexplained = np.abs(slope + forces @ gradients).max(initial=0.0)
    across = np.abs(forces * gap).max(initial=0.0)
    return float(max(unexplained, across, -gap.min(initial=0.0)))


def _fitted(forces: Floats, slope: Floats, gradients: Floats) -> Floats:
    """The same places loaded, to the last digits: what a linear programme leaves is squared out.

    Forces a hundred times the pull keep only some digits of it in a linear programme.
    """
    loaded = forces > 0.0
    missing = slope + forces @ gradients
    fitted = forces.copy()
    fitted[loaded] -= np.linalg.lstsq(gradients[loaded].T, missing, rcond=None)[0]
    return np.maximum(fitted, 0.0)


def _forces(slope: Floats, gradients: Floats, room: Floats) -> Floats:
    """Dual values of: maximise slope . x with gradients x >= -room and |x| <= 1."""
    from scipy.optimize import linprog
    from scipy.sparse import csr_array

    # A row has entries for two rings and the lattice only, however many rings there are.
    rows = csr_array(-gradients)
    # At the finest tolerance HiGHS now and then gives up on many rows alike.
    for tolerance in (1e-10, 1e-9, 1e-7):
        found = linprog(
            -slope,
            A_ub=rows,
            b_ub=np.maximum(room, 0.0),
            bounds=(-1.0, 1.0),
            method="highs",
            options={
                "primal_feasibility_tolerance": tolerance,
                "dual_feasibility_tolerance": tolerance,
            },
        )
        if found.status == 0:
            return np.asarray(np.maximum(-found.ineqlin.marginals, 0.0), dtype=float)
    # No forces then explain nothing, and the residual says so.
    return np.zeros(len(gradients))


def _summed(pairs: Pairs, forces: Floats) -> tuple[Pairs, Floats]:
    """Forces added up for each pair of rings."""
    keys = np.column_stack([pairs.first, pairs.second, pairs.image])
    unique, which = np.unique(keys, axis=0, return_inverse=True)
    total = np.bincount(which.ravel(), weights=forces, minlength=len(unique))
    return Pairs(unique[:, 0], unique[:, 1], unique[:, 2:]), np.asarray(total)
