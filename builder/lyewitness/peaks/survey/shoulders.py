"""Shoulders: tops that one curve does not describe are tried as two.

In: clusters and their fits. Out: better fits where a second curve explains what is left, stands out of it and
really bends the outline; all others as they were.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lyewitness.peaks.emg import apex_behind_center, emg
from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, baseline_terms, fit_clusters
from lyewitness.words.arrays import FloatArray

MISFIT_IN_NOISE = 3.0
"""What a fit leaves is suspect above this many standard deviations of the noise …"""
MISFIT_SHARE = 0.004
"""… and this share of the cluster's height."""
BEFORE, BEHIND = 3.0, 5.0
"""Widths at half height that a narrow window goes beyond the tops: on less a bend cannot be told from a
tail."""
# A fit that has run away three times, from starts of a third of the width at last, is given up.
BENT_ROUNDS = 3
# Half of the width in two rounds: a fit that ran away on a hump begins anew so much narrower.
SHRINKING = 0.7
# Leaving out one of more tops costs more fits than all else, and a hump under five peaks is no bend.
MOST_LEFT_OUT = 4
MUST_SHRINK = 0.5
"""A second curve must bring the misfit below this share."""
TAILS = ((0.7, 1.5), (0.9, -0.5))
"""(share of the sharpest σ, τ ÷ σ) of other starts."""
# A smaller curve is no marker's beside the largest, and is not parted.
LEAST_AREA_SHARE = 0.04
LEAST_GAP = 0.9
"""Widths at half height between two tops (resolution 0.53): nearer ones make no shoulder, but describe one
peak with a steep front or a long tail."""
# One for a shoulder, one more for what stands behind it once it is parted.
ROUNDS = 2
MOST_TOPS = 6
"""Clusters of more tops are not looked at: they are no peaks of markers."""
PLACES = ((-0.45, 0.45), (0.0, 1.0), (-1.0, 0.0))
"""Where the two curves start, in half-height widths from the apex."""


def part_shoulders(clusters: Sequence[Cluster], fits: Sequence[ClusterFit]) -> tuple[ClusterFit, ...]:
    """Return the fits, with a curve more where a shoulder asks for it."""
    best = list(fits)
    suspects = [
        i for i in range(len(fits)) if len(fits[i].area) <= MOST_TOPS and is_suspect(clusters[i], best[i])
    ]
    _on_bent_baselines(clusters, best, suspects)
    suspects = [i for i in suspects if is_suspect(clusters[i], best[i])]
    again = [(i, trial) for i in suspects for trial in _other_starts(clusters[i])]
    for (i, _), fit in zip(again, fit_clusters([trial for _, trial in again]), strict=True):
        if fit.residual_sd < best[i].residual_sd:
            best[i] = fit
    suspects = [i for i in suspects if is_suspect(clusters[i], best[i])]
    for _ in range(ROUNDS):
        trials = [(i, trial) for i in suspects for trial in _trials(clusters[i], best[i])]
        before = {i: best[i] for i in suspects}
        for (i, _), fit in zip(trials, fit_clusters([trial for _, trial in trials]), strict=True):
            enough = fit.residual_sd < MUST_SHRINK * before[i].residual_sd
            if enough and fit.residual_sd < best[i].residual_sd and _are_two(fit, clusters[i]):
                best[i] = fit
        suspects = [i for i in suspects if best[i] is not before[i] and is_suspect(clusters[i], best[i])]
    return tuple(best)


def _on_bent_baselines(clusters: Sequence[Cluster], best: list[ClusterFit], suspects: Sequence[int]) -> None:
    """Put a fit on a bent baseline in place of those whose misfit a background explains as well.

    Each is looked at in windows that shrink with what is found in them, with all tops and with one of them
    left out: that may have been a bend of the background.
    """
    tried = [(i, starts) for i in suspects for starts in without_one(clusters[i].starts)]
    for _ in range(BENT_ROUNDS):
        narrow = [_narrowed(clusters[i], starts) for i, starts in tried]
        fits = fit_clusters(narrow)
        for (i, _), cluster, fit in zip(tried, narrow, fits, strict=True):
            if _explains_more(fit, best[i], cluster, clusters[i].starts[:, 1]):
                best[i] = fit
        tried = [
            (i, _not_wider(as_starts(fit), starts))
            for (i, starts), fit in zip(tried, fits, strict=True)
            if not _is_good(fit) and not _is_good(best[i])
        ]
        if not tried:
            break


def _not_wider(now: FloatArray, before: FloatArray) -> FloatArray:
    """Return fitted tops as starts, each narrower than at the last start: a fit may run away on a hump."""
    wide, was = widths_of(now), widths_of(before)
    lost = ~np.isfinite(now).all(axis=1) | (wide > SHRINKING * was) | (np.abs(now[:, 1] - before[:, 1]) > was)
    again = before * np.array([1.0, 1.0, SHRINKING, SHRINKING])
    return np.where(lost[:, None], again, now)


def widths_of(starts: FloatArray) -> FloatArray:
    """Return rough widths at half height of rough tops."""
    return np.asarray(2.355 * starts[:, 2] + 0.7 * np.abs(starts[:, 3]))


def without_one(starts: FloatArray) -> list[FloatArray]:
    """Return the tops, and where they are a few, all of them but one."""
    if not 1 < len(starts) <= MOST_LEFT_OUT:
        return [starts]
    return [starts, *(np.delete(starts, place, axis=0) for place in range(len(starts)))]


def _explains_more(fit: ClusterFit, before: ClusterFit, cluster: Cluster, tops: FloatArray) -> bool:
    """Tell whether a fit on a bent baseline leaves much less of its window than the one before it."""
    terms = baseline_terms(
        cluster.time, np.array(before.baseline[0]), np.array(before.baseline[1]), len(before.line)
    )
    rest = cluster.weight * (cluster.signal - before.line @ terms - before.curve(cluster.time))
    left = float(np.sqrt((rest**2).sum() / max(cluster.weight.sum(), 1.0)))
    inside = (fit.center > cluster.time[0]) & (fit.center < cluster.time[-1]) & (fit.area > 0)
    # A top that was left out has to be explained, too.
    seen = (tops > cluster.time[0]) & (tops < cluster.time[-1])
    return bool(inside.all() and seen.all()) and fit.residual_sd < MUST_SHRINK * left


def _is_good(fit: ClusterFit) -> bool:
    """Tell whether a fit leaves nothing but noise."""
    return fit.residual_sd < MISFIT_IN_NOISE * fit.noise


def _narrowed(cluster: Cluster, starts: FloatArray) -> Cluster:
    """Return the cluster with these tops on a free bent baseline, no wider than they ask for."""
    wide = widths_of(starts)
    start, end = (starts[:, 1] - BEFORE * wide).min(), (starts[:, 1] + BEHIND * wide).max()
    kept = (cluster.time >= start) & (cluster.time <= end)
    if np.count_nonzero(kept) < 6 * len(starts) + 6:
        kept = np.ones(len(kept), dtype=np.bool_)
    free = np.full(3, np.inf)
    return replace(
        cluster,
        time=cluster.time[kept],
        signal=cluster.signal[kept],
        weight=cluster.weight[kept],
        starts=starts,
        line_spread=free,
    )


def is_suspect(cluster: Cluster, fit: ClusterFit) -> bool:
    """Tell whether a fit leaves more than noise."""
    height = float(cluster.starts[:, 0].max())
    return fit.residual_sd > max(MISFIT_IN_NOISE * cluster.noise, MISFIT_SHARE * height)


def _other_starts(cluster: Cluster) -> list[Cluster]:
    """Return the cluster with all tops equally sharp and with other tails: a fit may have lost its way."""
    sigma = cluster.starts[:, 2].min()
    trials = []
    for narrower, tail in TAILS:
        starts = cluster.starts.copy()
        starts[:, 2], starts[:, 3] = narrower * sigma, narrower * tail * sigma
        trials.append(replace(cluster, starts=starts))
    return trials


def _trials(cluster: Cluster, fit: ClusterFit) -> list[Cluster]:
    """Return the cluster with its worst top replaced by two, at each of `PLACES`."""
    starts = as_starts(fit)
    line = np.interp(cluster.time, fit.baseline[:2], fit.baseline[2:])
    rest = np.abs(cluster.weight * (cluster.signal - line - fit.curve(cluster.time)))
    width = 2.355 * starts[:, 2] + 0.7 * np.abs(starts[:, 3])
    near = np.abs(cluster.time[None, :] - starts[:, 1:2]) < 1.5 * width[:, None]
    worst = int(np.argmax((near * rest).sum(axis=1)))
    kept = np.delete(starts, worst, axis=0)
    height, apex, sigma, _ = starts[worst]
    trials = []
    for places in PLACES:
        pair = np.array(
            [[0.6 * height, apex + place * width[worst], 0.6 * sigma, 0.5 * sigma] for place in places]
        )
        trials.append(replace(cluster, starts=np.concatenate([kept, pair])))
    return trials


def as_starts(fit: ClusterFit) -> FloatArray:
    """Return fitted tops as rough height, apex, σ and τ."""
    apex = fit.center + apex_behind_center(fit.sigma, fit.tau)
    height = fit.area * emg(apex, fit.center, fit.sigma, fit.tau)
    return np.stack([height, apex, fit.sigma, fit.tau], axis=1)


def _are_two(fit: ClusterFit, cluster: Cluster) -> bool:
    """Tell whether every curve is large enough and makes a bend of its own in the outline.

    A bend is a minimum of the second derivative: a single tailing peak has one, a shoulder adds one.
    """
    starts = as_starts(fit)
    inside = (starts[:, 1] > cluster.time[0]) & (starts[:, 1] < cluster.time[-1])
    large = (fit.area > LEAST_AREA_SHARE * fit.area.max()) & (starts[:, 0] > 6.0 * cluster.noise)
    if not np.all(inside & large & (fit.sigma < 4.0 * fit.sigma.min() + np.abs(fit.tau))):
        return False
    order = np.argsort(starts[:, 1])
    gaps, wide = np.diff(starts[order, 1]), widths_of(starts)[order]
    if np.any(gaps < LEAST_GAP * 0.5 * (wide[1:] + wide[:-1])):
        return False
    return _bends(fit, cluster) >= len(fit.area)


def _bends(fit: ClusterFit, cluster: Cluster) -> int:
    """Return how many separate minima the second derivative of the fitted outline has."""
    time = np.linspace(cluster.time[0], cluster.time[-1], 800)
    bend = np.gradient(np.gradient(fit.curve(time), time), time)
    lowest = (bend[1:-1] < bend[:-2]) & (bend[1:-1] <= bend[2:]) & (bend[1:-1] < 0.01 * bend.min())
    return int(np.count_nonzero(lowest))
