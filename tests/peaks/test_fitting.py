"""The batched fit against lmfit and against known curves."""

from dataclasses import replace

import numpy as np
import pytest
from lmfit.models import ExponentialGaussianModel, LinearModel

from lyewitness.peaks.survey.fitting import Cluster, ClusterFit, fit_clusters
from tests.peaks.signals import TruePeak, reference_curve

PEAKS: list[TruePeak] = [(3.0, 1.2, 0.012, 0.006), (4.0, 2.4, 0.022, 0.05), (0.5, 0.9, 0.02, 0.02)]


def cluster(peaks: list[TruePeak], noise: float, seed: int = 1) -> Cluster:
    """Return a cluster on a sloping baseline, with starts that are a third off."""
    first = min(center - 10 * sigma for _, center, sigma, _ in peaks)
    last = max(center + 10 * sigma + 8 * tau for _, center, sigma, tau in peaks)
    time = np.arange(first, last, 1.0 / 1200.0)
    signal = sum((reference_curve(time, peak) for peak in peaks), 2.0 + 0.5 * time)
    signal = signal + np.random.default_rng(seed).normal(0.0, noise, len(time))
    starts = []
    for peak in peaks:
        curve = reference_curve(time, peak)
        starts.append([curve.max(), time[curve.argmax()], 1.3 * peak[2], 0.7 * peak[3]])
    return Cluster(time, signal, np.ones_like(time), np.array(starts))


@pytest.mark.parametrize("peak", PEAKS)
def test_parameters_and_their_errors_agree_with_lmfit(peak: TruePeak) -> None:
    """A single peak gets lmfit's area, centre, σ and τ, and its standard errors within 3 %."""
    one = cluster([peak], noise=0.2)
    fit = fit_clusters([one])[0]
    model = ExponentialGaussianModel() + LinearModel()
    parameters = model.make_params(
        amplitude=peak[0], center=peak[1], sigma=peak[2], gamma=1.0 / peak[3], slope=0.5, intercept=2.0
    )
    parameters["gamma"].max = np.inf  # Bounded at 20 by default, which is a tail of 3 s.
    theirs = model.fit(one.signal, parameters, x=one.time)
    best, error = theirs.best_values, {name: p.stderr for name, p in theirs.params.items()}
    ours = (fit.area[0], fit.center[0], fit.sigma[0], fit.tau[0])
    reference = (best["amplitude"], best["center"], best["sigma"], 1.0 / best["gamma"])
    errors = (error["amplitude"], error["center"], error["sigma"], error["gamma"] / best["gamma"] ** 2)
    for value, expected, spread, own in zip(ours, reference, errors, fit.error[0], strict=True):
        assert abs(value - expected) < 0.02 * spread
        assert own == pytest.approx(spread, rel=0.03)


def test_standard_errors_cover_the_truth() -> None:
    """Over 200 noisy peaks the deviations in units of the standard error spread about one."""
    peak = PEAKS[1]
    fits = fit_clusters([cluster([peak], noise=0.5, seed=seed) for seed in range(200)])
    values = np.array([[f.area[0], f.center[0], f.sigma[0], f.tau[0]] for f in fits])
    deviations = (values - np.array(peak)) / np.array([f.error[0] for f in fits])
    assert np.all(np.abs(deviations.std(axis=0) - 1.0) < 0.2)
    assert np.all(np.abs(deviations.mean(axis=0)) < 0.25)


def test_overlapping_peaks_are_separated() -> None:
    """Two curves at a resolution of 0.8, one a fourth of the other, come out with their own areas."""
    pair: list[TruePeak] = [(3.0, 1.20, 0.012, 0.006), (0.8, 1.245, 0.012, 0.006)]
    fit = fit_clusters([cluster(pair, noise=0.05)])[0]
    assert np.allclose(fit.area, [3.0, 0.8], rtol=0.01)
    assert np.allclose(fit.center, [1.20, 1.245], atol=5e-4)


def test_clusters_fitted_together_or_alone_come_out_alike() -> None:
    """The batch is only a matter of speed: order and company do not change a fit beyond its tolerance."""
    clusters = [cluster([peak], 0.2, seed) for seed in range(4) for peak in PEAKS]
    together = fit_clusters(clusters)
    for one, fit in zip(clusters, together, strict=True):
        alone = fit_clusters([one])[0]
        assert np.allclose(fit.area, alone.area, rtol=1e-6)
        assert np.allclose(fit.tau, alone.tau, atol=1e-4 * alone.sigma)


def test_a_free_baseline_in_the_company_frees_no_other() -> None:
    """A cluster whose baseline is drawn to zero comes out alike beside one whose baseline is free."""
    one, other = cluster([PEAKS[0]], noise=0.2), cluster([PEAKS[1]], noise=0.2)
    held = replace(one, noise=0.2, line_spread=np.array([0.5, 0.5, 0.5]))
    free = replace(other, noise=0.2, line_spread=np.array([np.inf, np.inf, 1e-9]))
    alone, beside = fit_clusters([held])[0], fit_clusters([free, held])[1]
    assert np.allclose(beside.area, alone.area, rtol=1e-6)
    assert np.allclose(beside.line, alone.line, atol=1e-5)


def test_points_without_weight_do_not_count() -> None:
    """A cut top that carries no weight leaves the area as it is."""
    whole = cluster([PEAKS[0]], noise=0.05)
    cut = np.minimum(whole.signal, 60.0)
    fit = fit_clusters([Cluster(whole.time, cut, (cut < 60.0).astype(float), whole.starts)])[0]
    assert fit.area[0] == pytest.approx(3.0, rel=0.01)


def test_a_known_curve_draws_the_fit() -> None:
    """Two curves on one place share the area as their pull says, which the signal alone cannot tell."""
    twins: list[TruePeak] = [(2.0, 1.2, 0.012, 0.006), (1.0, 1.2, 0.012, 0.006)]
    plain = cluster(twins, noise=0.05)
    pull = np.array([[0.05, 0.002, 0.1, 0.002]] * 2)
    starts = plain.starts.copy()
    starts[:, 2:] = [0.012, 0.006]
    fit: ClusterFit = fit_clusters(
        [Cluster(plain.time, plain.signal, plain.weight, starts, 0.0, pull, noise=0.05)]
    )[0]
    assert np.allclose(fit.area, [2.0, 1.0], rtol=0.06)
    assert fit.area.sum() == pytest.approx(3.0, rel=0.005)
