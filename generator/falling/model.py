"""What a step costs by the curvature of the contacts, made convex without filling in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ringwright.base.arrays import Floats, Ints
from ringwright.falling.gaps import Gaps, free_block
from ringwright.falling.programme import FINEST

# Directions that cost nothing are held by so much.
HELD = 1e-6
# Weight of the square of what is left of a loaded gap, in shares of its force.
_FIRMNESS = 100.0
# A shift this large is no better than each contact's own curvature without what bends up.
_MOST_SHIFT = 0.5
# Where more than this is too stiff, the weight is made larger, if so much less will do then.
_LARGE, _FIRMER, _MUCH = 1e-3, 1e4, 1e3
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
    shift : how much had to be added all along the diagonal under the lesser weight
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
    stiff: bool = False,
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
    stiff : whether the last model was too stiff. Rings that slide far for little gain creep under
        a shift that is there for contacts that carry little; then a hundred times the weight is
        put on the loaded gaps, if that needs next to no shift
    """
    from scipy.sparse import identity

    accuracy = min(max(_EXACTNESS * promised, FINEST), _COARSEST)
    bent, one = _Bent(gaps, forces, free, bend), identity(gaps.unknowns, format="csc")
    shift, found = max(last / _FINER, HELD), None
    while shift < _MOST_SHIFT and found is None:
        found = bent.held(_FIRMNESS, shift)
        shift *= 1.0 if found else _COARSER
    shift = min(shift, _MOST_SHIFT)
    if stiff and shift > _LARGE:
        found = bent.held(_FIRMER, shift / _MUCH) or found
    if found is not None:
        return replace(found, shift=shift, accuracy=accuracy)
    soft = bold * gaps.bend(forces, _downhill)
    return Model(soft + (bend + HELD) * one, np.zeros(gaps.unknowns), _MOST_SHIFT, accuracy)


class _Bent:
    """The curvature as it is, held by weights on the loaded gaps."""

    def __init__(self, gaps: Gaps, forces: Floats, free: Ints, bend: float) -> None:
        self._used = np.flatnonzero(forces)
        self._gap, self._forces = gaps.gap[self._used], forces[self._used]
        self._across, self._free = gaps.slopes[self._used], free
        self._exact, self._bend = gaps.bend(forces, _as_it_is), bend
        self._weighted: dict[float, tuple[Any, Floats, Floats]] = {}

    def held(self, firmness: float, shift: float) -> Model | None:
        """The model of some weights and shift, None where it is not positive definite."""
        if firmness not in self._weighted:
            self._weighted[firmness] = self._with_weights(firmness)
        matrix, level, extra = self._weighted[firmness]
        matrix = matrix.copy()
        # From shift to shift nothing but the diagonal changes.
        matrix.setdiag(level + (self._bend + shift))
        if not _is_definite(free_block(matrix, self._free)):
            return None
        return Model(matrix, extra, shift, FINEST)

    def _with_weights(self, firmness: float) -> tuple[Any, Floats, Floats]:
        """The curvature with a whole diagonal; what is on that; and what goes with the weights."""
        from scipy.sparse import diags, identity

        firm = firmness * self._forces
        bent = self._exact + self._across.T @ diags(firm) @ self._across
        matrix = (bent + identity(bent.shape[0])).tocsc()
        matrix.sort_indices()
        return matrix, bent.diagonal(), self._across.T @ (firm * self._gap)


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
