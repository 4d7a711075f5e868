"""The baseline of a trace: smooth through what is left where no peak stands, straight under each cluster.

In: trace, the sum of its fitted peaks, a mask of where they matter. Out: the baseline at every point.
Because the fitted tails are taken off first, the baseline does not climb into a tailing peak.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Protocol

import numpy as np
import scipy

from lyewitness.peaks.emg import emg
from lyewitness.peaks.survey.tops import binned
from lyewitness.words.arrays import FloatArray


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
class FreeBins:
    """Means over bins of r traces, each (r, b)."""

    time: FloatArray
    """Mean time of a bin, minutes."""
    middle: FloatArray
    """Mean time of its free samples; that of the bin where it has none."""
    mean: FloatArray
    """Mean signal of its free samples; of all where it has none."""
    weight: FloatArray
    """Share of its samples that are free."""


def free_bins(
    times: Sequence[FloatArray],
    signals: Sequence[FloatArray],
    peaks: Sequence[Sequence[Curve]],
    size: int,
) -> FreeBins:
    """Return the bins of `size` samples of traces of one length, free of what their `peaks` reach."""
    time = np.stack([binned(own, size) for own in times])
    mean = np.stack([binned(own, size) for own in signals])
    covered = [_covered(own, curves) for own, curves in zip(times, peaks, strict=True)]
    most = max(len(own) for own in covered)
    edges = np.array([own + [(0, 0)] * (most - len(own)) for own in covered]).reshape(len(times), most, 2)
    first, last = edges[..., 0, None], edges[..., 1, None]
    start = size * np.arange(time.shape[1])
    inside = np.minimum(last, start + size) - np.maximum(first, start)
    weight = 1.0 - np.maximum(inside, 0).sum(axis=1) / size
    # Of bins that a peak covers in part only the free samples count.
    rows, bins = np.nonzero((weight > 0) & (weight < 1))
    middle = time.copy()
    if len(rows):
        places = (start[bins, None] + np.arange(size))[:, None, :]
        free = ~((places >= first[rows]) & (places < last[rows])).any(axis=1)
        share = free / free.sum(axis=1, keepdims=True)
        for means, samples in ((middle, times), (mean, signals)):
            parts = [
                samples[row][a : a + size] for row, a in zip(rows.tolist(), start[bins].tolist(), strict=True)
            ]
            means[rows, bins] = (np.stack(parts) * share).sum(axis=1)
    return FreeBins(time, middle, mean, weight)


def _covered(time: FloatArray, peaks: Sequence[Curve]) -> list[tuple[int, int]]:
    """Return the stretches of samples that the peaks reach, by index; those that meet are joined."""
    edges = time.searchsorted([(peak.free_until_min, peak.free_from_min) for peak in peaks])
    joined: list[tuple[int, int]] = []
    for first, last in sorted(edges.tolist()):
        if joined and first <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(last, joined[-1][1])
        else:
            joined.append((first, last))
    return joined


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
    _, solved, failed = scipy.linalg.lapack.dpbsv(
        bands.reshape(-1, 3).T, right, overwrite_ab=1, overwrite_b=1
    )
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
