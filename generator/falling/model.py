"""What a step costs by the curvature of the contacts, made convex without filling in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.falling.gaps import Gaps
from ringwright.falling.programme import FINEST

# Directions that cost nothing are held by so much.
HELD = 1e-6
# Weight of the square of what is left of a loaded gap, in shares of its force.
_FIRMNESS = 100.0
# A shift this large is no better than each contact's own curvature without what bends up.
_MOST_SHIFT = 0.5
_FINER, _COARSER = 64.0, 4.0
# A step is worked out to such a share of what the last one promised, and no coarser than this.
_EXACTNESS, _COARSEST = 1e-4, 1e-6


@dataclass(frozen=True, eq=False)
class Model:
    """Minimise x.matrix.x / 2 + extra.x beside what pulls.

    Attributes
    ----------
    matrix : sparse (5 n, 5 n), positive definite
    extra : (5 n,) what goes with the weight on loaded gaps
    shift : how much was added all along the diagonal
    accuracy : to which a step is worth working out
    """

    matrix: Any
    extra: Floats
    shift: float
    accuracy: float


def straight(size: int, bend: float = 0.0, accuracy: float = _COARSEST) -> Model:
    """A model for the first look, when no forces are known."""
    from scipy.sparse import identity

    matrix = (bend + HELD) * identity(size, format="csc")
    return Model(matrix, np.zeros(size), _MOST_SHIFT, accuracy)


def curved(
    gaps: Gaps,
    forces: Floats,
    free: Ints,
    last: float,
    bold: float,
    promised: float,
    bend: float = 0.0,
) -> Model:
    """The contacts' curvature under some forces, made positive definite.

    At first as it is, with a weight on the loaded gaps, which changes neither steps nor forces
    at rest (an augmented Lagrangian; Nocedal and Wright, *Numerical Optimization*, 2nd ed., 2006,
    chapter 17), and the smallest shift of the diagonal that will do. Where that would be large,
    contact by contact: the block of each through its own eigenvectors, less what bends up. In
    both no two rings are coupled that do not touch.

    Parameters
    ----------
    forces : (m,)
    free : which unknowns may change
    last : the shift of the last round, from where the next is looked for
    bold : share of the second kind of model that is believed
    promised : what the last step was to gain
    bend : what the goal itself bends by
    """
    from scipy.sparse import diags, identity

    accuracy = min(max(_EXACTNESS * promised, FINEST), _COARSEST)
    used = np.flatnonzero(forces)
    firm, across = _FIRMNESS * forces[used], gaps.slopes[used]
    exact = (gaps.bend(forces, _as_it_is) + across.T @ diags(firm) @ across).tocsc()
    one = identity(gaps.unknowns, format="csc")
    shift = max(last / _FINER, HELD)
    while shift < _MOST_SHIFT:
        matrix = exact + (bend + shift) * one
        if _is_definite(matrix[free][:, free]):
            return Model(matrix, across.T @ (firm * gaps.gap[used]), shift, accuracy)
        shift *= _COARSER
    soft = bold * gaps.bend(forces, _downhill)
    return Model(soft + (bend + HELD) * one, np.zeros(gaps.unknowns), _MOST_SHIFT, accuracy)


def _as_it_is(blocks: Floats) -> Floats:
    return blocks


def _downhill(blocks: Floats) -> Floats:
    size, along = np.linalg.eigh(blocks)
    return np.asarray((along * np.maximum(size, 0.0)[:, None, :]) @ along.transpose(0, 2, 1))


def _is_definite(matrix: Any) -> bool:
    """Whether a sparse symmetric matrix is positive definite: by the signs of its pivots."""
    from scipy.sparse.linalg import splu

    try:
        parts = splu(
            matrix,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError:
        return False
    return bool((parts.U.diagonal() > 0.0).all())
