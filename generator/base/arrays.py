"""The kinds of numpy array that functions take and give, so that each kind has one name."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

# The red, green and blue of a picture, and how opaque it is.
Levels = NDArray[np.uint8]
# What a process that draws is sent: arrays of any kind by name, as ``numpy.savez`` keeps them.
NamedArrays = dict[str, NDArray[Any]]
