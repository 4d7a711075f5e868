"""What the scatter of the injections is like, and what that means for a fitted curve.

In: residuals and Jacobian of a fit, in the order of exposure. Out: `NoiseView`: likelihoods, covariances
and tests, averaged over how serial the noise is and how much it grows with exposure.

Injections that follow each other err alike, and a dying column scatters more. Both are uncertain when
24 injections are all there is, and a single best guess of them makes intervals too short. So the noise
is described by its lag-one correlation and by the growth of its standard deviation as the metric
changes, and everything is averaged over a grid of both, each node weighted by its restricted likelihood
(Patterson and Thompson 1971), which is not fooled by the parameters that the curve took up.
"""

from dataclasses import dataclass

import numpy as np

from lyewitness.decline import distributions as stats
from lyewitness.words.arrays import FloatArray

CORRELATIONS = np.array([-0.4, -0.25, -0.1, 0.0, 0.1, 0.2, 0.3, 0.45, 0.6, 0.72, 0.84, 0.94])
"""Lag-one correlations that are averaged over, injection to injection.

With these, simulated intervals hold the truth as often as they say (`tests/calibration.py`).
"""
GROWTHS = np.log(np.array([0.5, 1.0, 2.0, 4.0, 9.0]))
"""Logarithms of the ratio of the noise where the metric has changed most to that at its start.

A dying column scatters more; but noise that is a share of the value shrinks with it.
"""
POINTS_FOR_NOISE = 12
"""With fewer points the noise cannot be told from the curve, and the likelihood assumes independent noise."""


@dataclass(frozen=True, eq=False, slots=True)
class NoiseView:
    """One model's fit seen through the noise; S series, p parameters."""

    log_likelihood: FloatArray
    """(S, growth, correlation) log-likelihood of the fit at every node of the grid."""
    weight: FloatArray
    """(S, growth, correlation) share of every node by its restricted likelihood."""
    covariance: FloatArray
    """(S, p, p) of the curve's parameters."""
    shift: FloatArray
    """(S, p) step from the given parameters to their mean over the grid."""
    with_reference: FloatArray
    """(S, p) covariance of the parameters with the mean of the reference injections."""
    reference_variance: FloatArray
    """(S,) variance of the mean of the reference injections."""
    correlation: FloatArray
    """(S,) mean lag-one correlation."""
    growth: FloatArray
    """(S,) mean logarithm of the growth of the noise."""
    correlation_p: FloatArray
    """(S,) p value of 'the noise is not serial'."""
    growth_p: FloatArray
    """(S,) p value of 'the noise does not grow'."""


def progress(u: FloatArray, curve: FloatArray) -> FloatArray:
    """Return how far each series (S, n) has come, 0 … 1: the share of the greatest change of its curve.

    A dying column scatters more as it dies, not as the clock runs. Where the curve is steady, the share of
    the exposure `u` (n,) stands in.
    """
    change = np.abs(curve - curve[:, :1])
    most = change.max(axis=1, keepdims=True)
    moved = most > 1e-6 * np.maximum(np.abs(curve[:, :1]), 1e-12)
    return np.where(moved, change / np.where(moved, most, 1.0), u)


def noise_scale(way: FloatArray, growth: FloatArray) -> FloatArray:
    """Return the relative standard deviation (S, n) at `way` (S, n) for a log growth (S,) of each series."""
    return np.asarray(np.exp(growth[:, None] * way))


def view_noise(way: FloatArray, jacobian: FloatArray, residual: FloatArray, reference_n: int) -> NoiseView:
    """Return how the fit with `jacobian` (S, n, p) and `residual` (S, n) looks through the noise.

    `way` (S, n) is the series' `progress`; the first `reference_n` points are the reference.
    """
    n, p = jacobian.shape[1:]
    gram = _grams(way, np.concatenate([jacobian, residual[:, :, None]], axis=2))
    normal = (
        gram[..., :p, :p] + 1e-10 * np.eye(p) * gram[..., range(p), range(p)].max(axis=-1)[..., None, None]
    )
    inverse = np.linalg.inv(normal)
    shift = np.einsum("...pq,...q->...p", inverse, gram[..., :p, p])
    squares = np.maximum(gram[..., p, p] - np.einsum("...p,...p->...", shift, gram[..., :p, p]), 1e-12)
    spread = _log_determinant(way)
    restricted = -0.5 * ((n - p) * np.log(squares) + np.linalg.slogdet(normal)[1] + spread)
    weight = np.exp(restricted - restricted.max(axis=(1, 2), keepdims=True))
    weight /= weight.sum(axis=(1, 2), keepdims=True)
    variance = weight * squares / max(n - p, 1)
    mean_shift = np.einsum("sgr,sgrp->sp", weight, shift)
    apart = shift - mean_shift[:, None, None, :]
    covariance = np.einsum("sgr,sgrpq->spq", variance, inverse)
    covariance += np.einsum("sgr,sgrp,sgrq->spq", weight, apart, apart)
    middle = jacobian[:, :reference_n].mean(axis=1)
    full = -0.5 * (n * np.log(squares / n) + n * (1.0 + np.log(2 * np.pi)) + spread)
    flat, even = int(np.argmin(np.abs(CORRELATIONS))), int(np.argmin(np.abs(GROWTHS)))
    return NoiseView(
        log_likelihood=full,
        weight=weight,
        covariance=covariance,
        shift=mean_shift,
        with_reference=np.einsum("sgr,sgrpq,sq->sp", variance, inverse, middle),
        reference_variance=np.einsum("sgr,sgr->s", variance, _reference_variance(way, reference_n)),
        correlation=weight.sum(axis=1) @ CORRELATIONS,
        growth=weight.sum(axis=2) @ GROWTHS,
        correlation_p=_ratio_test(restricted.max(axis=(1, 2)), restricted[:, :, flat].max(axis=1)),
        growth_p=_ratio_test(restricted.max(axis=(1, 2)), restricted[:, even, :].max(axis=1)),
    )


def _grams(way: FloatArray, rows: FloatArray) -> FloatArray:
    """Return (S, growth, correlation, q, q) products of the whitened `rows` (S, n, q) with themselves.

    For a first-order autoregression they are a quadratic in the correlation, so three products serve all.
    """
    scaled = rows[:, None] / _scales(way)[:, :, :, None]
    turned = np.swapaxes(scaled, 2, 3)
    whole = turned @ scaled
    lagged = turned[..., 1:] @ scaled[..., :-1, :]
    inner = turned[..., 1:-1] @ scaled[..., 1:-1, :]
    rho = CORRELATIONS[:, None, None]
    both = lagged + np.swapaxes(lagged, 2, 3)
    return np.asarray(whole[:, :, None] - rho * both[:, :, None] + rho**2 * inner[:, :, None])


def _scales(way: FloatArray) -> FloatArray:
    """Return the relative standard deviations (S, growth, n) at every growth of the grid."""
    return np.asarray(np.exp(GROWTHS[None, :, None] * way[:, None, :]))


def _log_determinant(way: FloatArray) -> FloatArray:
    """Return (S, growth, correlation) log-determinants of the covariance, innovations of unit variance."""
    grown = 2 * GROWTHS * way.sum(axis=1)[:, None]
    return np.asarray(grown[:, :, None] - np.log(1 - CORRELATIONS**2))


def _reference_variance(way: FloatArray, reference_n: int) -> FloatArray:
    """Return (S, growth, correlation) variances of the reference mean, innovations of unit variance."""
    scale = _scales(way[:, :reference_n])
    lag = np.abs(np.subtract.outer(np.arange(reference_n), np.arange(reference_n)))
    correlated = CORRELATIONS[:, None, None] ** lag / (1 - CORRELATIONS[:, None, None] ** 2)
    return np.asarray(np.einsum("sgi,rij,sgj->sgr", scale, correlated, scale) / reference_n**2)


def _ratio_test(best: FloatArray, plain: FloatArray) -> FloatArray:
    """Return p values of the likelihood ratio test with one degree of freedom."""
    return np.asarray(stats.chi2.sf(2 * np.maximum(best - plain, 0.0), 1))


def whitener(way: FloatArray, correlation: FloatArray, growth: FloatArray) -> "Whitener":
    """Return what makes noise of that correlation and growth (S,) independent."""
    return Whitener(noise_scale(way, growth), correlation)


@dataclass(frozen=True, eq=False, slots=True)
class Whitener:
    """Turns correlated rows (S, n, …) into independent ones of equal variance."""

    scale: FloatArray
    """(S, n)"""
    correlation: FloatArray
    """(S,)"""

    def __call__(self, rows: FloatArray) -> FloatArray:
        """Return the whitened rows."""
        extra = (1,) * (rows.ndim - 2)
        scaled = rows / self.scale.reshape(self.scale.shape + extra)
        rho = self.correlation.reshape((-1, 1, *extra))
        first = scaled[:, :1] * np.sqrt(1 - rho**2)
        return np.concatenate([first, scaled[:, 1:] - rho * scaled[:, :-1]], axis=1)
