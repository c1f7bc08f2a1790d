"""Quadratic programmes of a step: DAQP, or PIQP where that one cycles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.base.arrays import Bools, Floats

# Shares of an overlap to undo in one step, tried in turn.
_EASINGS = (1.0, 0.5, 0.1, 0.0)
# How accurate DAQP is to be, and how little two rows may differ: rings that lie along each other
# give many rows nearly alike, and where it takes these for the same it goes round in a circle.
_EXACT, _ALIKE = 1e-11, 1e-13
# How accurate the interior-point solver is to be, tried in turn: many rows alike can keep
# it from the last digits.
_ACCURACIES = (1e-12, 1e-9)


def quadratic_programme(
    slope: Floats, model: Floats, gradients: Floats, least: Floats, limit: Floats
) -> tuple[Floats, Floats] | None:
    """Maximise slope.x - x.model.x / 2 with gradients.x >= least and |x| <= limit.

    Rings that overlap may not come free in one step; then as much of the overlap
    as a step can undo is asked for.

    Returns
    -------
    None where neither solver finds a solution, or else

    x : (n,)
    forces : (m,) multipliers of the rows, zero or positive
    """
    import daqp

    n, m = len(slope), len(least)
    # Rows that no step within the limits makes bind only slow the solvers down.
    binds = np.abs(gradients) @ limit > -least
    gradients, least = np.ascontiguousarray(gradients[binds]), least[binds]
    kind = np.zeros(n + len(least), dtype=np.int32)
    upper = np.concatenate([limit, np.full(len(least), 1e30)])
    for share in _EASINGS:
        eased = np.where(least > 0.0, least * share, least)
        lower = np.concatenate([-limit, eased])
        x, _, flag, info = daqp.solve(
            model, -slope, gradients, upper, lower, kind, primal_tol=_EXACT, sing_tol=_ALIKE
        )
        found = None
        if flag == 1 and np.isfinite(x).all():
            found = x, -info["lam"][n:]
        elif flag != -1:
            found = _interior_point(slope, model, gradients, eased, limit)
        if found:
            forces = np.zeros(m)
            forces[binds] = np.maximum(found[1], 0.0)
            return np.clip(found[0], -limit, limit), forces
    return None


def _interior_point(
    slope: Floats, model: Floats, gradients: Floats, least: Floats, limit: Floats
) -> tuple[Floats, Floats] | None:
    """The same programme by PIQP, slower, for when many rows alike make DAQP cycle."""
    import piqp

    for accuracy in _ACCURACIES:
        solver = piqp.DenseSolver()
        solver.settings.eps_abs, solver.settings.eps_rel = accuracy, 0.0
        solver.settings.max_iter = 60
        none = np.full(len(least), np.inf)
        solver.setup(model, -slope, None, None, gradients, least, none, -limit, limit)
        if solver.solve() == piqp.PIQP_SOLVED:
            return solver.result.x, solver.result.z_l
    return None


@dataclass(frozen=True, eq=False)
class ConvexModel:
    """What stands in for a curvature that is not convex: minimise x.model.x / 2 + pull.x."""

    model: Floats
    pull: Floats


def convex_model(
    bend: Floats, across: Floats, gap: Floats, free: Bools, held: float
) -> ConvexModel:
    """A curvature made convex by a weight on the loaded gaps.

    Where loaded gaps are to be zero, the square of what a step leaves of them may be added
    to what is minimised: it changes neither the step nor the forces at rest (an augmented
    Lagrangian; Nocedal and Wright, *Numerical Optimization*, 2nd ed., 2006, chapter 17).
    What still bends up then counts as bending down as much.

    Parameters
    ----------
    bend : (n, n) the curvature
    across, gap : (k, n), (k,) the loaded rows and their gaps
    free : (n,) which unknowns may change
    held : directions that cost nothing are held by this share of the stiffest one
    """
    across = across * free
    bend = 0.5 * (bend + bend.T) * free * free[:, None]
    weight = max(1.0, float(np.abs(bend).sum(axis=1).max(initial=0.0)))
    size, along = np.linalg.eigh(bend + weight * across.T @ across)
    model = (along * np.maximum(np.abs(size), held * weight)) @ along.T
    return ConvexModel(model, weight * gap @ across)
