"""The shapes of data that every stage hands on.

In: nothing. Out: names for array types.
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
"""Numbers as they were measured or computed, double precision."""
BoolArray = NDArray[np.bool_]
"""Truth values, one for each row or point."""
