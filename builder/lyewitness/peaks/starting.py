"""Where a fit starts: the curve that has these two half-widths at half height.

In: front and back half-width. Out: σ and τ, read from a table of exact curves, so that a fit of one peak has
little left to do.
"""

from functools import cache

import numpy as np

from lyewitness.peaks.emg import emg
from lyewitness.words.arrays import FloatArray

RATIOS = np.concatenate([np.linspace(0.0, 4.0, 81), np.geomspace(4.2, 12.0, 20)])
"""τ ÷ σ of the table."""
SMALLEST_TAIL = 0.4
"""Start with at least this τ ÷ σ: at τ = 0 mean and variance can make up for any small tail, and a fit that
comes near stays there."""


@cache
def _table() -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return apex − centre, front and back half-width over `RATIOS`, in σ."""
    time = np.linspace(-4.0, 16.0, 20001)
    rows = []
    for ratio in RATIOS:
        curve = emg(time, np.array(0.0), np.array(1.0), np.array(ratio))
        top = int(curve.argmax())
        above = np.flatnonzero(curve > 0.5 * curve[top])
        rows.append((time[top], time[top] - time[above[0]], time[above[-1]] - time[top]))
    table = np.array(rows).T
    return table[0], table[1], table[2]


def shapes_from_half_widths(front: FloatArray, back: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return σ and τ of the curves with these half-widths, with a small tail at least."""
    _, fronts, backs = _table()
    ratio = np.maximum(np.interp(back / front, backs / fronts, RATIOS), SMALLEST_TAIL)
    sigma = (front + back) / np.interp(ratio, RATIOS, fronts + backs)
    return sigma, ratio * sigma


def apex_behind_center(sigma: FloatArray, tau: FloatArray) -> FloatArray:
    """Return apex − centre of curves, minutes; negative for a fronting peak."""
    behind, _, _ = _table()
    return np.sign(tau) * sigma * np.interp(np.abs(tau) / sigma, RATIOS, behind)
