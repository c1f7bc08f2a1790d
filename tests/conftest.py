"""Settings for all tests."""

import os

# The solver's matrices are small: a second BLAS thread only costs time. The command sets
# this too, but tests import numpy before it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
