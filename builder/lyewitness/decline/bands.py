"""The fitted curve with its band.

In: a `Choice` and scaled exposures. Out: `Band`: the curve of the chosen shape, its standard error
with and without the uncertainty of the reference, and the degrees of freedom.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lyewitness.decline.choosing import Choice, ShapeFit

FloatArray = NDArray[np.float64]

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


def band(choice: Choice, u: FloatArray) -> Band:
    """Return the band of the chosen shape at the scaled exposures `u` (m,).

    To the variance of the curve within its shape is added the spread of the rivals' curves about it,
    each with its Akaike weight (Buckland, Burnham and Augustin 1997): choosing a shape is a guess too.
    """
    curves = np.stack([fit.shape.curve(fit.theta, u) for fit in choice.fits.values()], axis=1)
    rows = np.arange(len(curves))
    chosen = curves[rows, choice.best]
    weight = np.where(choice.weight > WORTH_A_LOOK, choice.weight, 0.0)
    apart = np.einsum("sk,skm->sm", weight, (curves - chosen[:, None]) ** 2)
    variance, relative = np.empty_like(chosen), np.empty_like(chosen)
    freedom = np.empty(len(chosen))
    for index, name in enumerate(choice.names):
        mine = choice.best == index
        if mine.any():
            fit = choice.fits[name]
            variance[mine], relative[mine] = _variances(fit, u, mine)
            freedom[mine] = fit.residual.shape[1] - fit.shape.parameters
    return Band(chosen, np.sqrt(variance + apart), np.sqrt(relative + apart), freedom)


def _variances(fit: ShapeFit, u: FloatArray, rows: NDArray[np.bool_]) -> tuple[FloatArray, FloatArray]:
    """Return the variance of the curve, and of the curve ÷ reference, for `rows`; delta method."""
    theta, noise = fit.theta[rows], fit.noise
    jacobian = fit.shape.jacobian(theta, u)
    share = fit.shape.curve(theta, u) / 100.0
    variance = np.einsum("smp,spq,smq->sm", jacobian, noise.covariance[rows], jacobian)
    shared = np.einsum("smp,sp->sm", jacobian, noise.with_reference[rows])
    relative = variance - 2 * share * shared + share**2 * noise.reference_variance[rows, None]
    return np.maximum(variance, 1e-12), np.maximum(relative, 1e-12)
