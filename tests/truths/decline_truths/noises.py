"""Noises: what the measurement adds to the noise-free metric, in per cent of the start (additive).

A noise is a sum of Gaussian parts (independent, AR(1), by day, random walk in time, straight drift), of
which some are common to all columns measured in one run, and of outliers.  ``multiplicative`` and
``growing`` scale the independent part with the state of the metric.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Noise:
    """Sizes of the parts of a noise, as standard deviations in per cent of the start.

    ``independent``: new at each injection and column.  ``multiplicative``: the independent part is per
    cent of the current value instead.  ``growing``: the independent part is multiplied by 1 + growing *
    |loss| / 20.  ``ar_sd``, ``ar_rho``: stationary AR(1) by the number of the injection.  ``day``: one
    offset for each 24 h.  ``walk``: Brownian in time, the sd given is that at the end.  ``drift``: a
    straight line from 0, the sd given is that at the end.  ``common`` and ``common_day``: as independent
    and day, but one error for all columns of a run.  ``outlier_rate``: share of injections that are moved
    by 5 to 15 %; ``outlier_side``: 0 either side, 1 towards the limit, -1 away from it.
    """

    name: str
    independent: float = 0.0
    multiplicative: bool = False
    growing: float = 0.0
    ar_sd: float = 0.0
    ar_rho: float = 0.0
    day: float = 0.0
    walk: float = 0.0
    drift: float = 0.0
    common: float = 0.0
    common_day: float = 0.0
    outlier_rate: float = 0.0
    outlier_side: int = 0

    @property
    def typical_sd(self) -> float:
        """Return the standard deviation at the start, outliers left out, walk and drift at the end."""
        parts = (self.independent, self.ar_sd, self.day, self.walk, self.drift, self.common, self.common_day)
        return float(np.sqrt(sum(part * part for part in parts)))

    def _own_sd(self, noise_free: FloatArray) -> FloatArray:
        """Return the standard deviation of the independent part at each value."""
        sd = np.full(noise_free.shape, self.independent)
        if self.multiplicative:
            sd = sd * np.abs(noise_free) / 100.0
        return np.asarray(sd * (1.0 + self.growing * np.abs(noise_free - 100.0) / 20.0))

    def draw(self, rng: np.random.Generator, exposures: FloatArray, noise_free: FloatArray) -> FloatArray:
        """Draw the errors of all columns (rows of ``noise_free``) measured at the same exposures."""
        columns, n = noise_free.shape
        end = float(exposures[-1])
        falling = bool(np.mean(noise_free[:, -1]) < 100.0)
        errors = rng.standard_normal((columns, n)) * self._own_sd(noise_free)
        if self.ar_sd > 0.0:
            errors += self.ar_sd * _ar1(rng.standard_normal((columns, n)), self.ar_rho)
        days = np.floor(exposures / 24.0).astype(int)
        if self.day > 0.0:
            errors += self.day * rng.standard_normal((columns, int(days[-1]) + 1))[:, days]
        if self.walk > 0.0:
            steps = np.sqrt(np.diff(exposures, prepend=exposures[0]) / end)
            errors += self.walk * np.cumsum(rng.standard_normal((columns, n)) * steps, axis=1)
        if self.drift > 0.0:
            errors += self.drift * rng.standard_normal((columns, 1)) * exposures / end
        if self.common > 0.0:
            errors += self.common * rng.standard_normal(n)
        if self.common_day > 0.0:
            errors += self.common_day * rng.standard_normal(int(days[-1]) + 1)[days]
        if self.outlier_rate > 0.0:
            hit = rng.random((columns, n)) < self.outlier_rate
            side = rng.choice([-1.0, 1.0], size=(columns, n))
            if self.outlier_side != 0:
                side = np.full((columns, n), float(-self.outlier_side if falling else self.outlier_side))
            errors += hit * side * rng.uniform(5.0, 15.0, (columns, n))
        return np.asarray(errors)

    def covariance(self, exposures: FloatArray, noise_free: FloatArray) -> FloatArray:
        """Return the covariance of the errors of one column, outliers left out."""
        n, end = exposures.size, float(exposures[-1])
        cov = np.diag(self._own_sd(noise_free) ** 2) + self.common**2 * np.eye(n)
        index = np.arange(n)
        if self.ar_sd > 0.0:
            cov = cov + self.ar_sd**2 * self.ar_rho ** np.abs(index[:, None] - index[None, :])
        days = np.floor(exposures / 24.0)
        cov = cov + (self.day**2 + self.common_day**2) * (days[:, None] == days[None, :])
        cov = cov + self.walk**2 * np.minimum(exposures[:, None], exposures[None, :]) / end
        return np.asarray(cov + self.drift**2 * np.outer(exposures, exposures) / end**2)


def _ar1(white: FloatArray, rho: float) -> FloatArray:
    """Turn white noise of unit variance into stationary AR(1) noise of unit variance, row by row."""
    out = np.empty_like(white)
    out[:, 0] = white[:, 0]
    for k in range(1, white.shape[1]):
        out[:, k] = rho * out[:, k - 1] + np.sqrt(1.0 - rho * rho) * white[:, k]
    return out


_ALL = (
    Noise("none"),
    Noise("indep_0.3", independent=0.3),
    Noise("indep_1", independent=1.0),
    Noise("indep_3", independent=3.0),
    Noise("mult_1", independent=1.0, multiplicative=True),
    Noise("ar_0.6", independent=0.2, ar_sd=1.0, ar_rho=0.6),
    Noise("ar_0.9", independent=0.2, ar_sd=1.0, ar_rho=0.9),
    Noise("days", independent=0.5, day=1.0),
    Noise("growing", independent=0.6, growing=1.0),
    Noise("outliers", independent=1.0, outlier_rate=1.0 / 12.0),
    Noise("outliers_toward", independent=1.0, outlier_rate=1.0 / 12.0, outlier_side=1),
    Noise("outliers_away", independent=1.0, outlier_rate=1.0 / 12.0, outlier_side=-1),
    Noise("walk", independent=0.5, walk=1.5),
    Noise("common", independent=0.5, common=1.0),
    Noise("common_day", independent=0.5, common_day=1.0),
    Noise("drift", independent=0.7, drift=1.5),
)

NOISES: dict[str, Noise] = {noise.name: noise for noise in _ALL}
"""The registry: name -> noise."""
