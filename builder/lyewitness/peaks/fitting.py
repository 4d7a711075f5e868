"""Exponentially modified Gaussians on a straight baseline, fitted to all clusters of a study at once.

In: `Cluster`s, a stretch of signal with rough tops each. Out: `ClusterFit`s: area, centre, σ and τ of every
top with their covariance. Clusters with equally many tops go through Levenberg and Marquardt's method
together, as arrays, so that no loop over peaks is needed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lyewitness.peaks.emg import emg, emg_with_slopes
from lyewitness.peaks.starting import apex_behind_center

FloatArray = NDArray[np.float64]

PER_TOP = 4
"""Area, centre, log σ, τ."""
MOST_STEPS = 30
GAIN = 3e-4
"""A fit has arrived when a step makes the sum of squares smaller by less than this share."""
LARGEST_TAIL = 12.0
"""|τ| is kept below this many σ."""


@dataclass(frozen=True, eq=False, slots=True)
class Cluster:
    """A stretch of one trace that holds overlapping peaks, thinned to a few hundred points."""

    time: FloatArray
    """(n,) minutes."""
    signal: FloatArray
    """(n,) signal unit."""
    weight: FloatArray
    """(n,) 0 leaves a point out (the detector at its end), 1 counts."""
    starts: FloatArray
    """(k, 4) rough height, apex, σ and τ of each top."""
    bin_variance: float = 0.0
    """What averaging neighbouring points adds to σ², min²."""
    pull: FloatArray | None = None
    """(k, 4) spreads about the starts of log area, centre, log σ and τ, where they are known from elsewhere
    (infinite for free); None for a plain fit."""
    target: FloatArray | None = None
    """(k, 4) as `starts`: what `pull` draws to, where that is not the start itself."""
    noise: float = 0.0
    """Standard deviation of the points; needed with `pull` only."""


@dataclass(frozen=True, eq=False, slots=True)
class ClusterFit:
    """Fitted tops of one cluster, in the order of their starts."""

    area: FloatArray
    """(k,) signal unit × minute."""
    center: FloatArray
    """(k,) minutes."""
    sigma: FloatArray
    """(k,) minutes."""
    tau: FloatArray
    """(k,) minutes; negative for a fronting peak."""
    error: FloatArray
    """(k, 4) standard errors of area, centre, σ, τ; NaN where they cannot be had."""
    baseline: tuple[float, float, float, float]
    """Start and end time of the straight baseline, and its values there."""
    residual_sd: float
    """Standard deviation of signal − model over the (thinned) points."""
    misfit: float
    """The same with what the pull adds: what the fit made small."""

    def curve(self, time: FloatArray, tops: Sequence[int] | None = None) -> FloatArray:
        """Return the sum of the fitted `tops` (all by default) at `time`, without the baseline."""
        chosen = list(range(len(self.area))) if tops is None else list(tops)
        if not chosen:
            return np.zeros_like(time)
        parts = emg(time[None, :], *(p[chosen][:, None] for p in (self.center, self.sigma, self.tau)))
        return np.asarray(self.area[chosen] @ parts)


def fit_clusters(clusters: Sequence[Cluster]) -> tuple[ClusterFit, ...]:
    """Return the fit of each cluster, in order."""
    fits: list[ClusterFit | None] = [None] * len(clusters)
    for places in _batches(clusters):
        batch = [clusters[place] for place in places]
        for place, fit in zip(places, _fit_batch(batch), strict=True):
            fits[place] = fit
    return tuple(fit for fit in fits if fit is not None)


def _batches(clusters: Sequence[Cluster], most: int = 96) -> list[list[int]]:
    """Return indices grouped by the number of tops and similar length, at most `most` in a group."""
    groups: dict[int, list[int]] = {}
    for place, cluster in enumerate(clusters):
        groups.setdefault(len(cluster.starts), []).append(place)
    batches = []
    for places in groups.values():
        places.sort(key=lambda place: len(clusters[place].time))
        batches += [places[first : first + most] for first in range(0, len(places), most)]
    return batches


@dataclass(slots=True)
class _Batch:
    """Clusters padded to one length; signal scaled to unit height, time from the first point."""

    time: FloatArray
    signal: FloatArray
    weight: FloatArray
    line: FloatArray
    """(c, 2, n) rows of the straight baseline."""
    target: FloatArray
    """(c, 4k + 2) parameters that the fit is drawn to …"""
    pull: FloatArray
    """… and how strongly, in units of the sum of squares; 0 for free."""


def _fit_batch(clusters: Sequence[Cluster]) -> list[ClusterFit]:
    """Fit clusters with equally many tops together."""
    batch, scale = _pad(clusters)
    theta = _starting_values(clusters, scale)
    batch.target = theta.copy()
    if any(cluster.target is not None for cluster in clusters):
        drawn = [replace(c, starts=c.target) if c.target is not None else c for c in clusters]
        batch.target = _starting_values(drawn, scale)
    batch.pull = _pulls(clusters, batch.target, scale)
    theta = _descend(batch, theta)
    model, slopes = _model(batch, theta)
    residual = batch.weight * (batch.signal - model)
    points = batch.weight.sum(axis=1)
    freedom = np.maximum(points - theta.shape[1], 1.0)
    variance = (residual**2).sum(axis=1) / freedom
    pulled = variance + (batch.pull * (batch.target - theta) ** 2).sum(axis=1) / freedom
    covariance = _covariance(slopes * batch.weight[:, None, :], variance, batch.pull)
    return [
        _unpack(
            cluster, theta[i], np.sqrt(np.abs(np.diag(covariance[i]))), scale[i], (variance[i], pulled[i])
        )
        for i, cluster in enumerate(clusters)
    ]


def _pad(clusters: Sequence[Cluster]) -> tuple[_Batch, FloatArray]:
    """Return the padded batch and the (c,) signal scales; padding has weight 0."""
    shape = (len(clusters), max(len(cluster.time) for cluster in clusters))
    time, signal, weight = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    scale = np.ones(shape[0])
    for i, cluster in enumerate(clusters):
        n = len(cluster.time)
        scale[i] = max(float(cluster.starts[:, 0].max()), 1e-300)
        time[i, :n], time[i, n:] = cluster.time, cluster.time[-1]
        signal[i, :n], weight[i, :n] = cluster.signal / scale[i], cluster.weight
    span = time[:, -1:] - time[:, :1]
    line = np.stack([np.ones(shape), (time - time[:, :1]) / span - 0.5], axis=1)
    none = np.zeros((shape[0], 0))
    return _Batch(time, signal, weight, line, none, none), scale


def _pulls(clusters: Sequence[Cluster], theta: FloatArray, scale: FloatArray) -> FloatArray:
    """Return (c, 4k + 2) noise² ÷ spread², in the scaled units of the batch."""
    pulls = np.zeros_like(theta)
    for i, cluster in enumerate(clusters):
        if cluster.pull is not None:
            spread = cluster.pull.copy()
            spread[:, 0] *= theta[i, :-2].reshape(-1, PER_TOP)[:, 0]
            pulls[i, :-2] = ((cluster.noise / scale[i]) ** 2 / spread**2).ravel()
    return pulls


def _starting_values(clusters: Sequence[Cluster], scale: FloatArray) -> FloatArray:
    """Return (c, 4k + 2) parameters: the unit-area curve at the apex turns heights into areas."""
    starts = np.stack([cluster.starts for cluster in clusters])
    height, apex, sigma, tau = (starts[:, :, i] for i in range(PER_TOP))
    center = apex - apex_behind_center(sigma, tau)
    at_apex = emg(apex, center, sigma, tau)
    first = np.stack([height / scale[:, None] / at_apex, center, np.log(sigma), tau], axis=2)
    ends = [[cluster.signal[:3].mean(), cluster.signal[-3:].mean()] for cluster in clusters]
    lines = np.asarray(ends) / scale[:, None]
    level, slope = lines.mean(axis=1, keepdims=True), lines[:, 1:] - lines[:, :1]
    return np.concatenate([first.reshape(len(clusters), -1), level, slope], axis=1)


def _model(batch: _Batch, theta: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the model (c, n) and its slopes (c, 4k + 2, n)."""
    tops = theta[:, :-2].reshape(len(theta), -1, PER_TOP)
    area, center, log_sigma, tau = (tops[:, :, i, None] for i in range(PER_TOP))
    unit, by_center, by_sigma, by_tau = emg_with_slopes(
        batch.time[:, None, :], center, np.exp(log_sigma), tau
    )
    slopes = np.stack([unit, area * by_center, area * by_sigma, area * by_tau], axis=2)
    slopes = slopes.reshape(len(theta), -1, batch.time.shape[1])
    model = (area * unit).sum(axis=1) + np.einsum("cp,cpn->cn", theta[:, -2:], batch.line)
    return model, np.concatenate([slopes, batch.line], axis=1)


def _part(batch: _Batch, rows: NDArray[np.intp]) -> _Batch:
    """Return only some clusters of the batch."""
    parts = (batch.time, batch.signal, batch.weight, batch.line, batch.target, batch.pull)
    return _Batch(*(part[rows] for part in parts))


def _descend(batch: _Batch, theta: FloatArray) -> FloatArray:
    """Return the parameters at the least sum of squares; clusters that have arrived drop out."""
    theta = theta.copy()
    active = np.arange(len(theta))
    work, now = batch, theta
    cost, gradient, curvature = _quadratic(work, now)
    damping = np.full(len(theta), 2e-3)
    for _ in range(MOST_STEPS):
        trial = _step(now, gradient, curvature, damping)
        new_cost, new_gradient, new_curvature = _quadratic(work, trial)
        better = new_cost < cost
        # A small gain counts as arrival only where the step was hardly damped.
        arrived = ((np.abs(cost - new_cost) < GAIN * cost) & (damping < 1e-3)) | (damping > 1e3)
        now = np.where(better[:, None], trial, now)
        gradient = np.where(better[:, None], new_gradient, gradient)
        curvature = np.where(better[:, None, None], new_curvature, curvature)
        cost = np.where(better, new_cost, cost)
        damping = np.where(better, np.maximum(damping / 8.0, 1e-6), damping * 10.0)
        theta[active] = now
        if arrived.any():
            keep = np.flatnonzero(~arrived)
            if not len(keep):
                break
            active, now, work = active[keep], now[keep], _part(work, keep)
            cost, damping = cost[keep], damping[keep]
            gradient, curvature = gradient[keep], curvature[keep]
    return theta


def _quadratic(batch: _Batch, theta: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the sum of squares, its gradient JᵀWr and curvature JᵀWJ."""
    model, slopes = _model(batch, theta)
    residual = batch.weight * (batch.signal - model)
    weighted = slopes * batch.weight[:, None, :]
    gradient = np.matmul(weighted, residual[:, :, None])[:, :, 0]
    curvature = np.matmul(weighted, weighted.transpose(0, 2, 1))
    away = batch.target - theta
    cost = (residual**2).sum(axis=1) + (batch.pull * away**2).sum(axis=1)
    np.einsum("cpp->cp", curvature)[...] += batch.pull
    return cost, gradient + batch.pull * away, curvature


def _step(theta: FloatArray, gradient: FloatArray, curvature: FloatArray, damping: FloatArray) -> FloatArray:
    """Return the damped step, none longer than a peak's width, inside the bounds."""
    diagonal = np.einsum("cpp->cp", curvature)
    # Scaled to a unit diagonal, so that the damping makes any matrix regular, whatever its units.
    scale = np.sqrt(np.maximum(diagonal, 1e-30 * diagonal.max(axis=1, keepdims=True)) + 1e-300)
    scaled = _finite(curvature / scale[:, :, None] / scale[:, None, :])
    damped = scaled + (damping + 1e-10)[:, None, None] * np.eye(theta.shape[1])
    downhill = _finite(gradient / scale)
    step = np.linalg.solve(damped, downhill[:, :, None])[:, :, 0] / scale
    new: FloatArray = theta + step
    tops, old = new[:, :-2].reshape(len(theta), -1, PER_TOP), theta[:, :-2].reshape(len(theta), -1, PER_TOP)
    sigma = np.exp(old[:, :, 2])
    reach = sigma + 0.5 * np.abs(old[:, :, 3])
    tops[:, :, 0] = np.maximum(tops[:, :, 0], 0.02 * np.abs(old[:, :, 0]))
    tops[:, :, 1] = np.clip(tops[:, :, 1], old[:, :, 1] - reach, old[:, :, 1] + reach)
    tops[:, :, 2] = np.clip(tops[:, :, 2], old[:, :, 2] - 0.5, old[:, :, 2] + 0.5)
    limit = LARGEST_TAIL * np.exp(tops[:, :, 2])
    tops[:, :, 3] = np.clip(tops[:, :, 3], np.maximum(old[:, :, 3] - reach, -limit), limit)
    tops[:, :, 3] = np.minimum(tops[:, :, 3], old[:, :, 3] + reach)
    new[:, :-2] = tops.reshape(len(theta), -1)
    return new


def _finite(values: FloatArray) -> FloatArray:
    """Return the values with 0 for what is not finite; a sum tells cheaply whether anything is not."""
    return values if np.isfinite(values.sum()) else np.where(np.isfinite(values), values, 0.0)


def _covariance(weighted: FloatArray, variance: FloatArray, pull: FloatArray) -> FloatArray:
    """Return s² (JᵀWJ)⁻¹, of the matrix scaled to a unit diagonal and made regular by a trace of it."""
    curvature = np.matmul(weighted, weighted.transpose(0, 2, 1))
    np.einsum("cpp->cp", curvature)[...] += pull
    diagonal = np.einsum("cpp->cp", curvature)
    scale = np.sqrt(np.maximum(diagonal, 1e-30 * diagonal.max(axis=1, keepdims=True)) + 1e-100)
    scaled = curvature / scale[:, :, None] / scale[:, None, :]
    inverse = np.linalg.inv(_finite(scaled) + 1e-12 * np.eye(scaled.shape[1]))
    covariance: FloatArray = variance[:, None, None] * inverse / scale[:, :, None] / scale[:, None, :]
    return covariance


def _unpack(
    cluster: Cluster, theta: FloatArray, error: FloatArray, scale: float, variances: tuple[float, float]
) -> ClusterFit:
    """Return one cluster's fit in the units of its signal."""
    tops, errors = theta[:-2].reshape(-1, PER_TOP), error[:-2].reshape(-1, PER_TOP).copy()
    sigma = np.exp(tops[:, 2])
    # Averaging over bins widens the Gaussian part; take that back.
    true_sigma = np.sqrt(np.maximum(sigma**2 - cluster.bin_variance, 0.25 * sigma**2))
    errors[:, 0] *= scale
    errors[:, 2] *= sigma
    level, slope = theta[-2] * scale, theta[-1] * scale
    line = (float(cluster.time[0]), float(cluster.time[-1]), level - slope / 2, level + slope / 2)
    plain, pulled = (float(np.sqrt(variance)) * scale for variance in variances)
    return ClusterFit(tops[:, 0] * scale, tops[:, 1], true_sigma, tops[:, 3], errors, line, plain, pulled)
