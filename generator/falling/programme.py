"""Quadratic programmes of a whole piece: sparse, by an interior-point method."""

from __future__ import annotations

from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Ints

# Shares of an overlap to undo in one step, tried in turn.
_EASINGS = (1.0, 0.3, 0.0)
FINEST = 1e-9
# What rounding leaves grows with the unknowns: a finer solution is not to be had.
_ROUNDING = 1e-12
# Where one cannot be had, one so much coarser will do.
_COARSER = 100.0
_BALANCED = (1e-13, 1e-11, 1e-9)
_MOST_ROUNDS = 60
# Programmes of more unknowns stall where they are scaled at all.
_MANY = 2_000
# Rows are looked at first up to this gap, in core radii, and the others where a step breaks them,
# so many times.
_NEAR, _LOOKS = 0.05, 3
# A force across a gap is taxed by this share of the gap.
_TAX = 1e-6


def best_step(
    pull: Floats,
    model: Any,
    slopes: Any,
    gap: Floats,
    limit: Floats,
    accuracy: float = FINEST,
) -> tuple[Floats, Floats] | None:
    """Maximise pull.x - x.model.x / 2 with gap + slopes.x >= 0 and |x| <= limit.

    Rings that overlap may not come free in one step; then as much of the overlap as a step can
    undo is asked for.

    Parameters
    ----------
    model : sparse (n, n), positive definite
    slopes : sparse (m, n), in rows
    accuracy : what may be left of the pull, of the gaps and of the maximum

    Returns
    -------
    None where no solution is found, or else

    x : (n,)
    forces : (m,) multipliers of the rows, zero or positive
    """
    # Rows that no step within the limits makes bind would only slow it down.
    binds = abs(slopes) @ limit > gap
    near = binds & (gap < _NEAR)
    for _ in range(_LOOKS):
        found = _eased(pull, model, slopes, gap, limit, np.flatnonzero(near), accuracy)
        if found is None:
            return None
        # Few of the others bind; each couples rings that would not be.
        more = binds & ~near & (gap + slopes @ found[0] < 0.0)
        if not more.any():
            return found
        near |= more
    return _eased(pull, model, slopes, gap, limit, np.flatnonzero(binds), accuracy)


def _eased(
    pull: Floats,
    model: Any,
    slopes: Any,
    gap: Floats,
    limit: Floats,
    used: Ints,
    accuracy: float,
) -> tuple[Floats, Floats] | None:
    """The best step by some rows, with as much of their overlap undone as can be."""
    rows, need = slopes[used].tocsc(), -gap[used]
    accuracy = max(accuracy, _ROUNDING * len(pull))
    accuracies = (accuracy, _COARSER * accuracy)
    for share in _EASINGS:
        least = np.where(need > 0.0, need * share, need)
        found = _solved(model, -pull, rows, least, (-limit, limit), accuracies)
        if found is not None:
            forces = np.zeros(len(gap))
            forces[used] = np.maximum(found[1], 0.0)
            return np.clip(found[0], -limit, limit), forces
    return None


def balancing_forces(pull: Floats, slopes: Any, gap: Floats) -> Floats:
    """The forces, zero or positive, that come nearest to balancing a pull; (m,).

    The least of |pull + forces.slopes|^2 / 2, with forces across gaps taxed.

    Parameters
    ----------
    slopes : sparse (m, n), in rows
    gap : (m,) of places that touch or nearly do
    """
    from scipy.sparse import csc_matrix, identity

    count = len(gap)
    if not count:
        return np.zeros(0)
    model = (slopes @ slopes.T + 1e-13 * identity(count)).tocsc()
    cost = slopes @ pull + np.maximum(gap, 0.0) * _TAX
    none = csc_matrix((0, count)), np.zeros(0)
    box = np.zeros(count), np.full(count, np.inf)
    found = _solved(model, cost, *none, box, _BALANCED)
    return np.zeros(count) if found is None else np.maximum(found[0], 0.0)


def _solved(
    model: Any,
    cost: Floats,
    rows: Any,
    least: Floats,
    box: tuple[Floats, Floats],
    accuracies: tuple[float, ...],
) -> tuple[Floats, Floats] | None:
    """Minimise cost.x + x.model.x / 2 with rows.x >= least in a box; x and the multipliers."""
    import piqp

    none = np.full(len(least), np.inf)
    for accuracy in accuracies:
        solver = piqp.SparseSolver()
        solver.settings.eps_abs, solver.settings.eps_rel = accuracy, 0.0
        solver.settings.eps_duality_gap_abs, solver.settings.eps_duality_gap_rel = accuracy, 0.0
        solver.settings.max_iter = _MOST_ROUNDS
        # With many more rows than unknowns this one keeps what it factors small.
        solver.settings.kkt_solver = piqp.KKTSolver.sparse_ldlt_ineq_cond
        # All unknowns are lengths; scaled on and on, rows of little meaning come to count.
        solver.settings.preconditioner_iter = 2 if len(cost) < _MANY else 0
        if len(least):
            solver.setup(model, cost, None, None, rows, least, none, *box)
        else:
            solver.setup(model, cost, None, None, None, None, None, *box)
        status = solver.solve()
        info = solver.result.info
        left = max(info.primal_res, info.dual_res, info.duality_gap)
        if status == piqp.PIQP_SOLVED or left <= _COARSER * accuracy:
            return np.asarray(solver.result.x), np.asarray(solver.result.z_l)
        if status == piqp.PIQP_PRIMAL_INFEASIBLE:
            break
    return None
