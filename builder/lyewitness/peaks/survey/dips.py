"""Dips of the solvent: where the signal goes below its baseline beside a peak, a curve of its own goes down.

In: clusters and their fits. Out: the same, with such a curve, and perhaps the lobe that rises on its other
side, where this explains what a fit of peaks alone leaves.

What the sample's solvent does to the refraction of the mobile phase passes the cell as a band of its own: a
dip, or a dip and a rise (a lens). No line, slope or bend under the peak holds it. No column retains it: it
lies with the first peaks of a trace, and what goes down later is a wave of the background.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, fit_clusters
from lyewitness.peaks.survey.shoulders import MOST_TOPS, as_starts, is_suspect, widths_of, without_one
from lyewitness.peaks.survey.tops import binned, mean_of_few
from lyewitness.words.arrays import FloatArray

DEPTH = 0.012
"""Share of the cluster's height: a dip of 3 % in front of a peak changes its symmetry factor by 7 % …"""
DEPTH_IN_NOISE = 8.0
"""… and it is one above so many times the noise of a point: what is wider is sought in means of a few."""
FEW = 3
"""Points in such a mean."""
ENDS = 3
"""Points at either end of a cluster that tell its level."""
MUST_EXPLAIN = 0.5
"""A dip must bring the misfit below this share: a quarter of the sum of squares."""
WIDEST = 2.2
"""A dip is no wider than this many widths of the widest peak beside it: what is wider is background."""
STAYS = 1.5
"""Widths by which a fitted dip may lie beside where the signal is lowest."""
ROUNDS = 2
"""More hardly ever brings a slow fit on."""
AS_DEEP = 4.0
"""A fitted dip is no deeper than this many times what is seen of it below the baseline: so much a peak may
hide; beyond that two curves cancel each other to make a tail."""
LOBE = 2.0
"""The two lobes of a lens are two of its standard deviations apart."""


def with_dips(
    clusters: Sequence[Cluster], fits: Sequence[ClusterFit], are_first: Sequence[bool]
) -> tuple[list[Cluster], list[ClusterFit]]:
    """Return clusters and fits, with a curve that goes down where one explains what is left.

    Looked for in those that `are_first` on their trace.
    """
    better, best = list(clusters), list(fits)
    trials = [
        (i, trial)
        for i, (cluster, fit, is_first) in enumerate(zip(clusters, fits, are_first, strict=True))
        if is_first and len(fit.area) <= MOST_TOPS and is_suspect(cluster, fit)
        for trial in _trials(cluster)
    ]
    tried: dict[int, list[tuple[Cluster, ClusterFit]]] = {}
    for (i, trial), fit in zip(trials, _settled([trial for _, trial in trials]), strict=True):
        if fit.residual_sd < MUST_EXPLAIN * fits[i].residual_sd and _is_sane(fit, trial):
            tried.setdefault(i, []).append((trial, fit))
    for i, own in tried.items():
        better[i], best[i] = min(own, key=lambda one: _dearness(*one))
    return better, best


def _dearness(cluster: Cluster, fit: ClusterFit) -> tuple[float, float]:
    """Return a rank: of fits down to the noise that with the fewest curves, else that which leaves least."""
    many = float("inf") if is_suspect(cluster, fit) else float(len(fit.area))
    return many, fit.residual_sd


def _settled(trials: Sequence[Cluster]) -> list[ClusterFit]:
    """Return the fits; those that are not down to the noise once more from where they ended.

    A peak and a dip of nearly its place and size take many steps.
    """
    fits = list(fit_clusters(trials))
    for _ in range(ROUNDS):
        slow = [
            i
            for i, trial in enumerate(trials)
            if is_suspect(trial, fits[i]) and np.isfinite(as_starts(fits[i])).all()
        ]
        again = [replace(trials[i], starts=as_starts(fits[i])) for i in slow]
        for i, fit in zip(slow, fit_clusters(again), strict=True):
            if fit.residual_sd < fits[i].residual_sd:
                fits[i] = fit
    return fits


def _trials(cluster: Cluster) -> list[Cluster]:
    """Return the cluster with a dip where its signal is lowest, or a lens to either side; none without."""
    net = cluster.signal - np.linspace(
        mean_of_few(cluster.signal[:ENDS]), mean_of_few(cluster.signal[-ENDS:]), len(cluster.signal)
    )
    if len(net) < 2 * FEW:
        return []
    few = binned(net, FEW)
    depth = -float(few.min())
    if depth < max(DEPTH * float(net.max()), DEPTH_IN_NOISE * cluster.noise):
        return []
    lowest = FEW * int(few.argmin()) + FEW // 2
    sigma = _half_width(cluster.time, net, lowest) / 1.177
    dip = np.array([-depth, cluster.time[lowest], sigma, 0.1 * sigma])
    apart = dip[1] + np.array([-LOBE, LOBE]) * sigma
    lobes = [np.array([depth, at, sigma, 0.1 * sigma]) for at in apart.tolist()]
    # The rim of a dip looks like a top of its own.
    return [
        replace(cluster, starts=np.concatenate([tops, np.stack(more)]))
        for tops in without_one(cluster.starts)
        for more in ([dip], *([dip, lobe] for lobe in lobes))
    ]


def _half_width(time: FloatArray, net: FloatArray, lowest: int) -> float:
    """Return half of the width at half depth, on the steeper side, of the dip at a point."""
    half = 0.5 * net[lowest]
    before, behind = np.flatnonzero(net[:lowest] > half), np.flatnonzero(net[lowest:] > half)
    sides = [float(time[lowest] - time[one[at]]) for one, at in ((before, -1),) if len(one)]
    sides += [float(time[lowest + one[at]] - time[lowest]) for one, at in ((behind, 0),) if len(one)]
    return max(min(sides, default=0.0), float(time[1] - time[0]))


def _is_sane(fit: ClusterFit, trial: Cluster) -> bool:
    """Tell whether the curves of a fit are where they were thought to be, none wider than a dip may be."""
    now, was = as_starts(fit), trial.starts
    wide, goes_down = widths_of(now), was[:, 0] < 0.0
    deep = now[goes_down, 0] > AS_DEEP * was[goes_down, 0]
    stays = np.abs(now[:, 1] - was[:, 1]) < STAYS * np.maximum(wide, widths_of(was))
    return bool(
        np.isfinite(now).all()
        and stays.all()
        and deep.all()
        and wide[goes_down].max() < WIDEST * wide[~goes_down].max()
    )
