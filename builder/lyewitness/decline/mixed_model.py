"""A linear mixed model by restricted likelihood: columns differ at random in level and, if wanted, in slope.

In: values and designs, column by column. Out: fixed effects with their covariance, and the variances. Source:
Laird and Ware, Biometrics 1982, 38, 963; restricted likelihood with the residual variance profiled out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from lyewitness.words.arrays import FloatArray

START = 1.0
"""Ratio of the random standard deviations to that of the noise from which the search sets out."""


@dataclass(frozen=True, eq=False, slots=True)
class MixedFit:
    """What the model says."""

    effects: FloatArray
    """(p,) fixed effects."""
    covariance: FloatArray
    """(p, p) of the fixed effects."""
    random_variance: FloatArray
    """(q,) variances of the random level and slope between columns."""
    residual_variance: float


def fit_mixed(
    values: Sequence[FloatArray], fixed: Sequence[FloatArray], random: Sequence[FloatArray]
) -> MixedFit:
    """Return the fit; for each column (n,) values, an (n, p) fixed and an (n, q) random design, q 1 or 2.

    The random effects are taken as uncorrelated at the mean of their designs. Raises ValueError where there
    are no more values than effects.
    """
    total, effects = sum(len(one) for one in values), fixed[0].shape[1]
    if total <= effects:
        raise ValueError("no more values than effects")
    sums = _Sums.of(values, fixed, random)
    width = random[0].shape[1]

    def criterion(log_ratio: FloatArray) -> float:
        return _solved(sums, _bounded(log_ratio), total)[0]

    search = optimize.minimize(
        criterion, np.full(width, np.log(START)), method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9}
    )
    ratio = _bounded(search.x)
    _, beta, unscaled, variance = _solved(sums, ratio, total)
    return MixedFit(beta, unscaled * variance, ratio**2 * variance, variance)


def _bounded(log_ratio: FloatArray) -> FloatArray:
    """Return the ratios of standard deviations, kept from running away where a variance is zero."""
    return np.asarray(np.exp(np.clip(log_ratio, -30.0, 30.0)), dtype=np.float64)


@dataclass(frozen=True, eq=False, slots=True)
class _Sums:
    """All that the likelihood needs of the data: products of the designs (c columns, p fixed, q random)."""

    fixed: FloatArray
    """(p + 1, p + 1) of fixed design and values, over all columns."""
    random: FloatArray
    """(c, q, q) of the random design."""
    mixed: FloatArray
    """(c, q, p + 1) of random design with fixed design and values."""

    @classmethod
    def of(
        cls, values: Sequence[FloatArray], fixed: Sequence[FloatArray], random: Sequence[FloatArray]
    ) -> "_Sums":
        """Return the products of these columns."""
        both = [np.column_stack([x, y]) for x, y in zip(fixed, values, strict=True)]
        return cls(
            np.sum([one.T @ one for one in both], axis=0),
            np.array([z.T @ z for z in random]),
            np.array([z.T @ one for z, one in zip(random, both, strict=True)]),
        )


def _solved(sums: _Sums, ratio: FloatArray, total: int) -> tuple[float, FloatArray, FloatArray, float]:
    """Return −2 × the restricted log likelihood (less a constant), effects, (X'V⁻¹X)⁻¹ and noise variance.

    With V = I + ZDZ', Woodbury's identity leaves matrices of the size of the random effects alone.
    """
    inner = np.eye(len(ratio)) + sums.random * np.outer(ratio, ratio)
    scaled = sums.mixed * ratio[:, None]
    white = sums.fixed - np.einsum("cqi,cqj->ij", scaled, np.linalg.solve(inner, scaled))
    normal, right, square = white[:-1, :-1], white[:-1, -1], float(white[-1, -1])
    beta = np.linalg.solve(normal, right)
    freedom = total - len(beta)
    variance = max((square - float(beta @ right)) / freedom, 1e-300)
    log_det = float(np.linalg.slogdet(inner)[1].sum() + np.linalg.slogdet(normal)[1])
    return log_det + freedom * float(np.log(variance)), beta, np.linalg.inv(normal), variance
