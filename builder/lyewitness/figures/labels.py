"""Words at the ends of lines that do not run into each other.

In: wanted positions along one axis. Out: positions with room between them.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

FloatArray = NDArray[np.float64]


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> FloatArray:
    """Return positions nearest to `wanted` (n,), at least `gap` apart, in the same order, in low … high.

    Subtracting each one's rank × gap makes 'apart by gap' into 'not decreasing', so the least-squares answer
    is an isotonic regression; clipping it keeps it the best within bounds. Where the bounds leave too little
    room, the gap shrinks.
    """
    positions = np.asarray(wanted, dtype=np.float64)
    if positions.size < 2:
        return np.clip(positions, low, high)
    gap = min(gap, (high - low) / (positions.size - 1))
    order = np.argsort(positions, kind="stable")
    steps = gap * np.arange(positions.size)
    level = isotonic_regression(positions[order] - steps).x
    placed = np.empty_like(positions)
    placed[order] = np.clip(level, low, high - steps[-1]) + steps
    return placed
