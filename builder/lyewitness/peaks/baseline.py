"""The baseline of a trace: smooth through what is left where no peak stands, straight under each cluster.

In: trace, the sum of its fitted peaks, a mask of where they matter. Out: the baseline at every point.
Because the fitted tails are taken off first, the baseline does not climb into a tailing peak.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dpbsv

from lyewitness.peaks.emg import emg
from lyewitness.peaks.sampling import binned

FloatArray = NDArray[np.float64]

BINS = 200
"""The smooth baseline is computed on about this many bins."""
STIFFNESSES = (1e2, 1e4, 1e6)
"""Penalties on the second difference tried; generalised cross-validation takes one."""


class Curve(Protocol):
    """What has to be known of a fitted curve: its parameters, and between which times it matters."""

    @property
    def area(self) -> float:
        """Signal unit × minute."""

    @property
    def center_min(self) -> float:
        """Of the Gaussian, minutes."""

    @property
    def sigma_min(self) -> float:
        """Of the Gaussian, minutes."""

    @property
    def tau_min(self) -> float:
        """Of the tail, minutes."""

    @property
    def free_until_min(self) -> float:
        """Before this the curve does not matter …"""

    @property
    def free_from_min(self) -> float:
        """… nor behind this."""


@dataclass(frozen=True, eq=False, slots=True)
class Baseline:
    """Support points of a baseline that is straight between them."""

    time: FloatArray
    value: FloatArray

    def at(self, time: FloatArray) -> FloatArray:
        """Return the baseline at `time` (minutes), level beyond the ends."""
        return np.interp(time, self.time, self.value)


def smooth_baseline(time: FloatArray, signal: FloatArray, peaks: Sequence[Curve]) -> Baseline:
    """Return the penalised least-squares baseline through what no peak reaches.

    The fitted curves, small there, are taken off first. Minimises Σ w (y − b)² + λ Σ (Δ²b)² over bins, λ by
    generalised cross-validation (Eilers, Anal. Chem. 2003, 75, 3631, from memory).
    """
    size = max(1, len(time) // BINS)
    free = np.ones(len(time))
    for peak in peaks:
        first, last = np.searchsorted(time, [peak.free_until_min, peak.free_from_min])
        free[first:last] = 0.0
    weight = binned(free, size)
    if np.count_nonzero(weight) < 3:
        return Baseline(time[[0, -1]], np.full(2, float(np.median(signal))))
    share = np.maximum(weight, 1e-12)
    middle, mean = binned(time * free, size) / share, binned(signal * free, size) / share
    near = np.zeros(len(middle), dtype=np.bool_)
    for peak in peaks:
        reach = 0.5 * (peak.free_from_min - peak.free_until_min)
        near |= (middle > peak.free_until_min - reach) & (middle < peak.free_from_min + reach)
    near &= weight > 0
    mean[near] -= _total(middle[near], peaks)
    best = min((_penalised(mean, weight, stiffness) for stiffness in STIFFNESSES), key=lambda pair: pair[0])
    return Baseline(binned(time, size), best[1])


def _total(time: FloatArray, peaks: Sequence[Curve]) -> FloatArray:
    """Return the sum of the fitted curves at `time`."""
    if not peaks:
        return np.zeros_like(time)
    shape = np.array([[peak.area, peak.center_min, peak.sigma_min, peak.tau_min] for peak in peaks])
    area, center, sigma, tau = shape.T
    return np.asarray(area @ emg(time[None, :], center[:, None], sigma[:, None], tau[:, None]))


def _penalised(mean: FloatArray, weight: FloatArray, stiffness: float) -> tuple[float, FloatArray]:
    """Return the cross-validation score and the smooth curve for one penalty."""
    bands = stiffness * _second_differences(len(mean))
    bands[2] += weight + 1e-9
    # The solver beneath scipy.linalg.solveh_banded: a penalty is cheaper to solve than to check.
    _, smooth, failed = dpbsv(bands, weight * mean, overwrite_ab=1)
    if failed:
        raise ArithmeticError("the penalised matrix is not positive definite")
    counted = float(np.count_nonzero(weight))
    misfit = float(np.sum(weight * (mean - smooth) ** 2))
    return misfit / max(1.0 - _freedom(len(mean), stiffness) / counted, 0.05) ** 2, np.asarray(smooth)


@cache
def _second_differences(n: int) -> FloatArray:
    """Return the upper bands of DᵀD, D the second difference of n values."""
    bands = np.zeros((3, n))
    bands[2] = 6.0
    bands[2, [0, -1]], bands[2, [1, -2]] = 1.0, 5.0
    bands[1, 1:] = -4.0
    bands[1, [1, -1]] = -2.0
    bands[0, 2:] = 1.0
    return bands


@cache
def _freedom(n: int, stiffness: float) -> float:
    """Return the degrees of freedom of a second-order smoother: Σ 1/(1 + λ ω⁴), ω = πk/n."""
    omega = np.pi * np.arange(n) / n
    return float(np.sum(1.0 / (1.0 + stiffness * omega**4)))


def straight_under(baseline: Baseline, stretches: Sequence[tuple[float, float]]) -> Baseline:
    """Return `baseline` with a straight piece in each stretch (start, end); they must not overlap."""
    if not stretches:
        return baseline
    edges = np.array(stretches)
    inside = (baseline.time >= edges[:, :1]) & (baseline.time <= edges[:, 1:])
    outside = ~inside.any(axis=0)
    ends = edges.ravel()
    time = np.concatenate([baseline.time[outside], ends])
    value = np.concatenate([baseline.value[outside], baseline.at(ends)])
    order = np.argsort(time, kind="stable")
    return Baseline(time[order], value[order])
