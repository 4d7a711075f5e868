"""The baseline of a trace: smooth through what is left where no peak stands, straight under each cluster.

In: trace, the sum of its fitted peaks, a mask of where they matter. Out: the baseline at every point.
Because the fitted tails are taken off first, the baseline does not climb into a tailing peak.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

from lyewitness.peaks.finding import binned

FloatArray = NDArray[np.float64]

BINS = 240
"""The smooth baseline is computed on about this many bins."""
STIFFNESSES = (1e2, 1e4, 1e6, 1e8)
"""Penalties on the second difference tried; generalised cross-validation takes one."""


@dataclass(frozen=True, eq=False, slots=True)
class Baseline:
    """Support points of a baseline that is straight between them."""

    time: FloatArray
    value: FloatArray

    def at(self, time: FloatArray) -> FloatArray:
        """Return the baseline at `time` (minutes), level beyond the ends."""
        return np.interp(time, self.time, self.value)


def smooth_baseline(time: FloatArray, rest: FloatArray, free: FloatArray) -> Baseline:
    """Return the penalised least-squares baseline of `rest` where `free` is 1.

    `rest` is the signal less its fitted peaks. Minimises Σ w (y − b)² + λ Σ (Δ²b)² over bins; λ by
    generalised cross-validation (Eilers, Anal. Chem. 2003, 75, 3631, from memory).
    """
    size = max(1, len(time) // BINS)
    weight = binned(free, size)
    mean = binned(rest * free, size) / np.maximum(weight, 1e-12)
    if np.count_nonzero(weight) < 3:
        return Baseline(time[[0, -1]], np.full(2, float(np.median(rest))))
    best = min((_penalised(mean, weight, stiffness) for stiffness in STIFFNESSES), key=lambda pair: pair[0])
    return Baseline(binned(time, size), best[1])


def _penalised(mean: FloatArray, weight: FloatArray, stiffness: float) -> tuple[float, FloatArray]:
    """Return the cross-validation score and the smooth curve for one penalty."""
    n = len(mean)
    bands = np.zeros((3, n))
    bands[2] = 6.0
    bands[2, [0, -1]], bands[2, [1, -2]] = 1.0, 5.0
    bands[1, 1:] = -4.0
    bands[1, [1, -1]] = -2.0
    bands[0, 2:] = 1.0
    bands *= stiffness
    bands[2] += weight + 1e-9
    smooth = solveh_banded(bands, weight * mean, check_finite=False)
    # Degrees of freedom of a second-order smoother on n bins: Σ 1/(1 + λ ω⁴), ω = πk/n.
    omega = np.pi * np.arange(n) / n
    freedom = float(np.sum(1.0 / (1.0 + stiffness * omega**4)))
    counted = float(np.count_nonzero(weight))
    misfit = float(np.sum(weight * (mean - smooth) ** 2))
    return misfit / max(1.0 - freedom / counted, 0.05) ** 2, np.asarray(smooth)


def straight_under(baseline: Baseline, start_min: float, end_min: float) -> Baseline:
    """Return `baseline` with a straight piece between two times."""
    outside = (baseline.time < start_min) | (baseline.time > end_min)
    ends = np.array([start_min, end_min])
    time = np.concatenate([baseline.time[outside], ends])
    value = np.concatenate([baseline.value[outside], baseline.at(ends)])
    order = np.argsort(time, kind="stable")
    return Baseline(time[order], value[order])
