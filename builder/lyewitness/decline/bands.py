"""The fitted curve with its band.

In: a `Choice` and scaled exposures. Out: `Band`: the curve of the chosen shape, its standard error
with and without the uncertainty of the reference, and the degrees of freedom.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.decline.choosing import Choice, ShapeFit
from lyewitness.words.arrays import FloatArray

WORTH_A_LOOK = 0.01
"""Rivals with a smaller Akaike weight add nothing to the band."""


@dataclass(frozen=True, eq=False, slots=True)
class Band:
    """The curves of S series at m scaled exposures, % of the reference."""

    curve: FloatArray
    """(S, m)"""
    error: FloatArray
    """(S, m) standard error of the curve, the reference taken as exact: for a limit in absolute units."""
    error_of_percent: FloatArray
    """(S, m) standard error of the curve ÷ true reference: for a limit in % of the reference."""
    freedom: FloatArray
    """(S,) degrees of freedom."""
    fitted: FloatArray
    """(S, n) the curve at the injections, % of the reference."""


def band(choice: Choice, u: FloatArray, injected: FloatArray) -> Band:
    """Return the mean curve of the shapes at the scaled exposures `u` (m,), with its band.

    `injected` (n,) are the scaled exposures of the injections.

    Every shape counts with its Akaike weight, and to the variance within the shapes is added the spread
    of their curves about the mean (Buckland, Burnham and Augustin 1997): choosing a shape is a guess too,
    and where two shapes fit alike, their mean errs less than either. A rival's own variance counts at most
    as at the injections: one that hides a step between two of them would leave the curve unknown there.
    """
    weight = np.where(choice.weight > WORTH_A_LOOK, choice.weight, 0.0)
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1e-300)
    curves, mean = _mean_curve(choice, weight, u)
    apart = np.einsum("sk,skm->sm", weight, (curves - mean[:, None]) ** 2)
    variance, relative = np.zeros_like(mean), np.zeros_like(mean)
    freedom = np.zeros(len(mean))
    for index, fit in enumerate(choice.fits.values()):
        counts = weight[:, index] > 0
        if counts.any():
            share = weight[counts, index]
            own, carried = _variances(fit, u, counts)
            rival = choice.best[counts] != index
            if rival.any():
                most = [cap.max(axis=1, keepdims=True) for cap in _variances(fit, injected, counts)]
                own = np.where(rival[:, None], np.minimum(own, most[0]), own)
                carried = np.where(rival[:, None], np.minimum(carried, most[1]), carried)
            variance[counts] += share[:, None] * own
            relative[counts] += share[:, None] * carried
            freedom[counts] += share * (fit.residual.shape[1] - fit.shape.parameters)
    _, fitted = _mean_curve(choice, weight, injected)
    return Band(mean, np.sqrt(variance + apart), np.sqrt(relative + apart), freedom, fitted)


def _mean_curve(choice: Choice, weight: FloatArray, u: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the curves (S, shapes, m) at `u` (m,), and their mean (S, m) with `weight` (S, shapes)."""
    curves = np.stack([fit.shape.curve(fit.theta, u) for fit in choice.fits.values()], axis=1)
    return curves, np.asarray(np.einsum("sk,skm->sm", weight, curves))


def _variances(fit: ShapeFit, u: FloatArray, rows: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return the variance of the curve, and of the curve ÷ reference, for `rows`; delta method."""
    theta, noise = fit.theta[rows], fit.noise
    jacobian = fit.shape.jacobian(theta, u)
    share = fit.shape.curve(theta, u) / 100.0
    variance = np.einsum("smp,spq,smq->sm", jacobian, noise.covariance[rows], jacobian)
    shared = np.einsum("smp,sp->sm", jacobian, noise.with_reference[rows])
    relative = variance - 2 * share * shared + share**2 * noise.reference_variance[rows, None]
    return np.maximum(variance, 1e-12), np.maximum(relative, 1e-12)
