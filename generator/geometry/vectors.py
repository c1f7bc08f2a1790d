"""Products and lengths of many small vectors, without what a general routine spends on axes."""

from __future__ import annotations

import numpy as np

from ringwright.base.arrays import Floats


def cross(a: Floats, b: Floats) -> Floats:
    """Vector products, to the last bit those of ``numpy.cross``.

    That one spends most of its time on which axes the coordinates lie along, and here
    there are hundreds of thousands of calls with a few dozen vectors each.

    Parameters
    ----------
    a, b : (..., 3), of shapes that go together

    Returns
    -------
    (..., 3)

    Examples
    --------
    >>> import numpy as np
    >>> cross(np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])).tolist()
    [0.0, 0.0, 1.0]
    """
    a0, a1, a2 = a[..., 0], a[..., 1], a[..., 2]
    b0, b1, b2 = b[..., 0], b[..., 1], b[..., 2]
    first = a1 * b2 - a2 * b1
    product = np.empty((*np.shape(first), 3))
    product[..., 0] = first
    product[..., 1] = a2 * b0 - a0 * b2
    product[..., 2] = a0 * b1 - a1 * b0
    return product


def lengths(vectors: Floats) -> Floats:
    """Lengths of (..., 3) vectors, to the last bit those of ``numpy.linalg.norm``; (...).

    Examples
    --------
    >>> import numpy as np
    >>> lengths(np.array([[3.0, 4.0, 0.0]])).tolist()
    [5.0]
    """
    return np.asarray(np.sqrt(np.add.reduce(vectors * vectors, axis=-1)))


def lengths_along(points: Floats) -> Floats:
    """How far it is to each of (n, 3) points from the first, from point to point; (n,).

    Examples
    --------
    >>> import numpy as np
    >>> lengths_along(np.array([[0.0, 0.0, 0.0], [3.0, 4.0, 0.0], [3.0, 4.0, 1.0]])).tolist()
    [0.0, 5.0, 6.0]
    """
    return np.concatenate([[0.0], np.cumsum(lengths(np.diff(points, axis=0)))])
