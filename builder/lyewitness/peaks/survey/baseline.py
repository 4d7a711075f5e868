"""The baseline of a trace: smooth through what is left where no peak stands, straight under each cluster.

In: trace, the sum of its fitted peaks, a mask of where they matter. Out: the baseline at every point.
Because the fitted tails are taken off first, the baseline does not climb into a tailing peak.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.linalg.lapack import dpbsv

from lyewitness.peaks.emg import emg
from lyewitness.peaks.survey.free_bins import Curve, FreeBins, free_bins
from lyewitness.words.arrays import FloatArray

BINS = 200
"""The smooth baseline is computed on about this many bins."""
STIFFNESSES = (1e2, 1e4, 1e6)
"""Penalties on the second difference tried; generalised cross-validation takes one."""
LEAST_BINS = 3
"""Fewer free bins than this tell nothing but a level."""


@dataclass(frozen=True, eq=False, slots=True)
class Baseline:
    """Support points of a baseline that is straight between them."""

    time: FloatArray
    value: FloatArray

    def at(self, time: FloatArray) -> FloatArray:
        """Return the baseline at `time` (minutes), level beyond the ends."""
        return np.interp(time, self.time, self.value)


def smooth_baseline(time: FloatArray, signal: FloatArray, peaks: Sequence[Curve]) -> Baseline:
    """Return the penalised least-squares baseline through what no peak of one trace reaches."""
    return smooth_baselines([time], [signal], [peaks])[0]


def smooth_baselines(
    times: Sequence[FloatArray], signals: Sequence[FloatArray], peaks: Sequence[Sequence[Curve]]
) -> list[Baseline]:
    """Return the penalised least-squares baseline of each trace through what none of its peaks reaches.

    The fitted curves, small there, are taken off first. Minimises Σ w (y − b)² + λ Σ (Δ²b)² over bins, λ by
    generalised cross-validation (Eilers, Anal. Chem. 2003, 75, 3631, from memory).
    """
    alike: dict[int, list[int]] = {}
    for place, time in enumerate(times):
        alike.setdefault(len(time), []).append(place)
    baselines: dict[int, Baseline] = {}
    for places in alike.values():
        own = [times[i] for i in places], [signals[i] for i in places], [peaks[i] for i in places]
        baselines.update(zip(places, _smooth_alike(*own), strict=True))
    return [baselines[place] for place in range(len(times))]


def _smooth_alike(
    times: Sequence[FloatArray], signals: Sequence[FloatArray], peaks: Sequence[Sequence[Curve]]
) -> list[Baseline]:
    """Return the baselines of traces of equally many samples."""
    free = free_bins(times, signals, peaks, max(1, len(times[0]) // BINS))
    mean = free.mean - _small_there(free, peaks)
    smooth = _penalised(mean, free.weight)
    return [
        Baseline(time, curve)
        if np.count_nonzero(weight) >= LEAST_BINS
        else Baseline(whole[[0, -1]], np.full(2, float(np.median(signal))))
        for time, curve, weight, whole, signal in zip(
            free.time, smooth, free.weight, times, signals, strict=True
        )
    ]


def _small_there(free: FreeBins, peaks: Sequence[Sequence[Curve]]) -> FloatArray:
    """Return (r, b) the sum of the fitted curves in the free bins beside them, 0 elsewhere."""
    total = np.zeros_like(free.mean)
    most = max(len(own) for own in peaks)
    if not most:
        return total
    shapes = np.array([_shapes(own, most) for own in peaks])
    area, center, sigma, tau, start, end = shapes.transpose(2, 0, 1)[..., None]
    reach = 0.5 * (end - start)
    middle = free.middle[:, None, :]
    near = ((middle > start - reach) & (middle < end + reach)).any(axis=1) & (free.weight > 0)
    rows, bins = np.nonzero(near)
    curves = emg(free.middle[rows, bins, None], center[rows, :, 0], sigma[rows, :, 0], tau[rows, :, 0])
    total[rows, bins] = (area[rows, :, 0] * curves).sum(axis=1)
    return total


def _shapes(peaks: Sequence[Curve], most: int) -> list[list[float]]:
    """Return the parameters of `most` curves, those beyond the peaks without an area and nowhere near."""
    nothing = [0.0, 0.0, 1.0, 1.0, np.inf, -np.inf]
    own = [[p.area, p.center_min, p.sigma_min, p.tau_min, p.free_until_min, p.free_from_min] for p in peaks]
    return own + [nothing] * (most - len(own))


def _penalised(mean: FloatArray, weight: FloatArray) -> FloatArray:
    """Return (r, b) the smooth curves, each with the penalty of the best cross-validation score.

    All rows and penalties are one banded system of blocks that do not touch.
    """
    rows, bins = mean.shape
    bands = np.empty((rows, len(STIFFNESSES), bins, 3))
    bands[:] = np.array(STIFFNESSES)[:, None, None] * _second_differences(bins)
    bands[..., 2] += weight[:, None, :] + 1e-9
    right = np.broadcast_to((weight * mean)[:, None, :], bands.shape[:3]).ravel()
    # The solver beneath scipy.linalg.solveh_banded: a penalty is cheaper to solve than to check.
    _, solved, failed = dpbsv(bands.reshape(-1, 3).T, right, overwrite_ab=1, overwrite_b=1)
    if failed:
        raise ArithmeticError("the penalised matrix is not positive definite")
    smooth = solved.reshape(bands.shape[:3])
    misfit = (weight[:, None, :] * (mean[:, None, :] - smooth) ** 2).sum(axis=2)
    freedom = np.array([_freedom(bins, stiffness) for stiffness in STIFFNESSES])
    counted = np.maximum(np.count_nonzero(weight, axis=1), 1)[:, None]
    score = misfit / np.maximum(1.0 - freedom / counted, 0.05) ** 2
    return np.asarray(smooth[np.arange(rows), score.argmin(axis=1)])


@cache
def _second_differences(n: int) -> FloatArray:
    """Return (n, 3) the upper bands of DᵀD, D the second difference of n values."""
    bands = np.zeros((n, 3))
    bands[:, 2] = 6.0
    bands[[0, -1], 2], bands[[1, -2], 2] = 1.0, 5.0
    bands[1:, 1] = -4.0
    bands[[1, -1], 1] = -2.0
    bands[2:, 0] = 1.0
    return bands


@cache
def _freedom(n: int, stiffness: float) -> float:
    """Return the degrees of freedom of a second-order smoother: Σ 1/(1 + λ ω⁴), ω = πk/n."""
    omega = np.pi * np.arange(n) / n
    return float(np.sum(1.0 / (1.0 + stiffness * omega**4)))


def straight_under(baseline: Baseline, stretches: Sequence[tuple[float, float]]) -> Baseline:
    """Return `baseline` with a straight piece in each stretch (start, end), which rise and do not overlap."""
    if not stretches:
        return baseline
    ends = np.array(stretches).ravel()
    values = baseline.at(ends)
    before = baseline.time.searchsorted(ends[::2]).tolist()
    behind = baseline.time.searchsorted(ends[1::2], side="right").tolist()
    times, heights, last = [], [], 0
    for place, (first, beyond) in enumerate(zip(before, behind, strict=True)):
        edges = slice(2 * place, 2 * place + 2)
        times += [baseline.time[last:first], ends[edges]]
        heights += [baseline.value[last:first], values[edges]]
        last = beyond
    return Baseline(
        np.concatenate([*times, baseline.time[last:]]), np.concatenate([*heights, baseline.value[last:]])
    )
