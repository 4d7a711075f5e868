"""Words at the ends of lines that do not run into each other.

In: wanted positions along one axis. Out: positions with room between them.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import isotonic_regression

FloatArray = NDArray[np.float64]


def spread(wanted: Sequence[float], sizes: float | Sequence[float], low: float, high: float) -> FloatArray:
    """Return positions nearest to `wanted` (n,) in low … high, in the same order, that do not touch.

    `sizes` is what each word takes along the axis, one for all or (n,); neighbours keep half of both apart.
    Subtracting the room needed up to each one turns 'apart' into 'not decreasing', so the least-squares
    answer is an isotonic regression; clipping it keeps it the best within bounds. Where the bounds leave too
    little room, the words shrink together.
    """
    positions = np.asarray(wanted, dtype=np.float64)
    if positions.size < 2:
        return np.clip(positions, low, high)
    order = np.argsort(positions, kind="stable")
    taken = np.broadcast_to(np.asarray(sizes, dtype=np.float64), positions.shape)[order]
    room = np.concatenate([[0.0], np.cumsum((taken[1:] + taken[:-1]) / 2)])
    room *= min(1.0, (high - low) / room[-1]) if room[-1] > 0 else 1.0
    level = isotonic_regression(positions[order] - room).x
    placed = np.empty_like(positions)
    placed[order] = np.clip(level, low, high - room[-1]) + room
    return placed
