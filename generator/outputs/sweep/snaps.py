"""Where a figure of a sweep changes at once, as it does where rings snap into another lay."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

# From one size to the next, a snap changes a figure by more than so many times what is usual
# there, and by more than such a share of the wire.
_TIMES, _WIRES = 6.0, 0.2
# With fewer sizes there is nothing usual.
_FEWEST = 5


def snaps(figures: Sequence[float | None], wire_mm: float) -> list[int]:
    """The places after which a figure jumps.

    Parameters
    ----------
    figures : in millimetres, one for each size in equal steps; None where there is none
    wire_mm : the same at all sizes

    Examples
    --------
    >>> snaps([5.0, 5.1, 5.2, 6.9, 7.0, 7.1], wire_mm=1.0)
    [2]
    >>> snaps([5.0, 5.2, 5.5, 5.9, 6.4, 7.0], wire_mm=1.0)
    []
    """
    known = np.array([np.nan if figure is None else figure for figure in figures])
    change = np.diff(known)
    there = np.isfinite(change)
    if there.sum() < _FEWEST - 1:
        return []
    usual = float(np.median(change[there]))
    spread = float(np.median(np.abs(change[there] - usual)))
    least = max(_WIRES * wire_mm, _TIMES * spread)
    return np.flatnonzero(there & (np.abs(change - usual) > least)).tolist()
