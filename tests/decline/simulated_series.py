"""Series with known lives, for the tests and the calibration of the decline stage.

In: a random generator and what the columns are like. Out: `Series` and the exposures at which the
noise-free columns passed their limit.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, log

import numpy as np
from scipy import optimize

from lyewitness.decline.records import Series
from lyewitness.study.records import Limit
from lyewitness.words.arrays import FloatArray

Law = Callable[[FloatArray, float], FloatArray]

LIMIT = Limit("plate_number_half_height", at_least_percent=80.0)


def first_order(hours: FloatArray, life_h: float) -> FloatArray:
    """Fall by a constant share per hour, to 80 % at `life_h`."""
    return np.asarray(np.exp(log(0.8) * hours / life_h))


def straight_line(hours: FloatArray, life_h: float) -> FloatArray:
    """Fall by a constant amount per hour, to 80 % at `life_h`."""
    return np.asarray(np.maximum(1.0 - 0.2 * hours / life_h, 0.02))


def delayed(hours: FloatArray, life_h: float) -> FloatArray:
    """Stay for 55 % of the life, then fall by a constant share per hour, to 80 % at `life_h`."""
    return np.asarray(np.exp(log(0.8) * np.maximum(hours / life_h - 0.55, 0.0) / 0.45))


def steady(hours: FloatArray, life_h: float) -> FloatArray:
    """Stay for ever."""
    return np.ones_like(hours)


def sigmoid(hours: FloatArray, life_h: float) -> FloatArray:
    """Fall along a logistic curve from 100 % to 30 %, to 80 % at `life_h`."""
    width = life_h / 6.0
    middle = life_h + width * log(0.5 / 0.2)
    start = 1 / (1 + np.exp(middle / width))
    return np.asarray(1.0 - 0.7 * (1 / (1 + np.exp(-(hours - middle) / width)) - start))


@dataclass(frozen=True, slots=True)
class Noise:
    """What an injection's value scatters by."""

    percent: float = 1.0
    correlation: float = 0.5
    """Injection to injection."""
    growth: float = 2.0
    """Standard deviation at the end ÷ at the start."""
    outlier_share: float = 0.0
    """Of injections thrown off by eight standard deviations."""


@dataclass(frozen=True, eq=False, slots=True)
class Simulated:
    """One column."""

    series: Series
    life_h: float
    """Where the noise-free column passes 80 % of its noise-free reference; inf for never."""
    typical_h: float
    """Life of the typical column of its group."""


def exposures(times: int = 24, end_h: float = 120.0, reference_n: int = 3) -> FloatArray:
    """Return `reference_n` injections before the stress and the rest evenly over the test, hours."""
    return np.concatenate([np.zeros(reference_n - 1), np.linspace(0.0, end_h, times - reference_n + 1)])


def simulate_column(
    rng: np.random.Generator,
    law: Law,
    typical_h: float,
    group: str = "a",
    column: str = "a1",
    hours: FloatArray | None = None,
    spread: float = 0.12,
    noise: Noise | None = None,
    marker: str = "m",
) -> Simulated:
    """Return one column of a group whose columns' lives scatter log-normally by `spread`."""
    hours = exposures() if hours is None else hours
    noise = Noise() if noise is None else noise
    life = typical_h * float(np.exp(spread * rng.standard_normal()))
    clean = law(hours, life)
    scatter = _serial(rng, len(hours), noise.correlation) * noise.growth ** (hours / hours[-1])
    thrown = rng.random(len(hours)) < noise.outlier_share
    scatter = scatter + thrown * 8.0 * rng.choice([-1.0, 1.0], len(hours))
    value = 12_000.0 * clean * (1 + noise.percent / 100 * scatter)
    names = tuple(f"{column}-{index:03d}" for index in range(len(hours)))
    series = Series(column, group, marker, LIMIT.metric, names, hours, hours * 10.0, value)
    return Simulated(series, true_life(law, life, hours), typical_h if law is not steady else inf)


def true_life(law: Law, life_h: float, hours: FloatArray, reference_n: int = 3) -> float:
    """Return where the noise-free law passes 80 % of its own noise-free reference."""
    if law is steady:
        return inf
    target = 0.8 * float(law(hours[:reference_n], life_h).mean())
    return float(
        optimize.brentq(lambda at: float(law(np.array([at]), life_h)[0]) - target, 0.0, 3.5 * life_h)
    )


def _serial(rng: np.random.Generator, n: int, correlation: float) -> FloatArray:
    """Return first-order autoregressive noise of unit variance."""
    shocks = rng.standard_normal(n)
    noise = np.empty(n)
    noise[0] = shocks[0]
    for index in range(1, n):
        noise[index] = correlation * noise[index - 1] + np.sqrt(1 - correlation**2) * shocks[index]
    return noise
