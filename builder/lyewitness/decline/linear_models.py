"""Linear models of log lives: least squares, and the normal likelihood where some lives are bounds only.

In: a design matrix, one row a column, with a log life or its lower bound. Out: contrasts with t intervals.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, inf, log, sqrt

import numpy as np
import scipy
from numpy.typing import NDArray

from lyewitness.decline import distributions as stats
from lyewitness.decline.small_samples import LEAST_SHARE, TINY, Difference
from lyewitness.words.arrays import FloatArray

FARTHEST = log(1e6)
"""An end of an interval this far from nought (a ratio of a million) is open."""


@dataclass(frozen=True, eq=False, slots=True)
class LinearModel:
    """Observed values with their design; right-censored where only a lower bound is known."""

    design: FloatArray
    """(n, p) of full rank."""
    value: FloatArray
    """(n,) observed values, or lower bounds."""
    censored: NDArray[np.bool_]
    """(n,) whether a value is a lower bound."""
    own_error: FloatArray
    """(n,) standard error of each value from its own data; 0 where not known."""

    @property
    def freedom(self) -> int:
        """Return the degrees of freedom of the scatter: known values less what they can fit."""
        known = self.design[~self.censored]
        return len(known) - (int(np.linalg.matrix_rank(known)) if len(known) else 0)


@dataclass(frozen=True, slots=True)
class Contrast:
    """A linear combination of coefficients with its interval; open ends where the data have none."""

    value: float | None
    low: float | None
    high: float | None
    p_value: float


def contrast(model: LinearModel, weights: FloatArray, confidence: float) -> Contrast:
    """Return `weights` (p,) · coefficients; ValueError where no degree of freedom is left.

    Least squares with Student's t where all values are known (any textbook of linear models); else by the
    profile likelihood.
    """
    if model.freedom < 1:
        raise ValueError("no degree of freedom is left for the scatter")
    if model.censored.any():
        return _profiled(model, weights, confidence)
    found = least_squares(model, weights)
    low, high = found.interval(confidence)
    return Contrast(
        found.value, low if low > -FARTHEST else None, high if high < FARTHEST else None, found.p_value
    )


def least_squares(model: LinearModel, weights: FloatArray) -> Difference:
    """Return the contrast by ordinary least squares, all values known.

    Where by luck the values agree far better than their own errors let them, a share of those stands in for
    the scatter, as in the comparison of two groups.
    """
    x, y = model.design, model.value
    coefficients = np.linalg.lstsq(x, y, rcond=None)[0]
    squares = float(((y - x @ coefficients) ** 2).sum()) / model.freedom
    variance = max(squares, LEAST_SHARE * float((model.own_error**2).mean()), TINY)
    spread = float(weights @ np.linalg.pinv(x.T @ x) @ weights)
    return Difference(float(weights @ coefficients), sqrt(variance * spread), float(model.freedom))


def _profiled(model: LinearModel, weights: FloatArray, confidence: float) -> Contrast:
    """Return the contrast by the profile likelihood of a normal scatter.

    The threshold is the one that gives the exact t interval where nothing is censored. An end is open where
    the likelihood never falls below it: the values on that side are bounds.
    """
    n, freedom = len(model.value), model.freedom
    along = model.design @ (weights / float(weights @ weights))
    others = model.design @ _orthogonal_to(weights)
    least_sd = _least_sd(model)

    def height(at: float) -> float:
        return _top(model.value - at * along, others, model.censored, least_sd)

    found = scipy.optimize.minimize_scalar(
        lambda at: -height(at), bounds=(-FARTHEST, FARTHEST), method="bounded", options={"xatol": 1e-4}
    )
    best, peak = float(found.x), -float(found.fun)
    quantile = float(stats.t.ppf(0.5 + confidence / 2, freedom))
    floor = peak - n * log(1 + quantile**2 / freedom) / 2
    low, high = (_crossing(height, floor, best, end) for end in (-FARTHEST, FARTHEST))
    drop = max(0.0, peak - height(0.0))
    p_value = float(2 * stats.t.sf(sqrt(freedom * (exp(2 * drop / n) - 1)), freedom))
    return Contrast(best if low is not None and high is not None else None, low, high, p_value)


def _crossing(height: Callable[[float], float], floor: float, best: float, end: float) -> float | None:
    """Return where the profile falls to `floor` between its peak and `end`; None where it does not."""
    inside, step = best, 0.2
    while abs(inside - best) < abs(end - best):
        outside = best + (step if end > best else -step)
        if height(outside) < floor:
            return float(scipy.optimize.brentq(lambda at: height(at) - floor, inside, outside, xtol=1e-5))
        inside, step = outside, 2 * step
    return None


def _least_sd(model: LinearModel) -> float:
    """Return the scatter that the values' own errors make sure of."""
    own = LEAST_SHARE * float((model.own_error[~model.censored] ** 2).mean())
    return sqrt(max(own, 1e-8))


def _orthogonal_to(weights: FloatArray) -> FloatArray:
    """Return a basis (p, p − 1) of what leaves the contrast as it is."""
    _, _, rows = np.linalg.svd(weights[None, :])
    return np.asarray(rows[1:].T)


def _top(value: FloatArray, design: FloatArray, censored: NDArray[np.bool_], least_sd: float) -> float:
    """Return the greatest log-likelihood of `value` (n,), censored ones as lower bounds.

    In Olsen's parameters (coefficient ÷ scatter, 1 ÷ scatter; Econometrica 1978, 46, 1211) it is concave, so
    that Newton's steps find the one top from any start; where it has none, its asymptote.
    """
    known = ~censored
    a = np.column_stack([-design, value])
    parameters = np.zeros(a.shape[1])
    coefficients = np.linalg.lstsq(design, value, rcond=None)[0]
    parameters[-1] = 1 / max(float(np.std(value - design @ coefficients)), 2 * least_sd)
    parameters[:-1] = coefficients * parameters[-1]
    best = _likelihood(a, parameters, known, least_sd)
    for _ in range(60):
        step, decrement = _newton_step(a, parameters, known, least_sd)
        share = 1.0
        while share > 1e-6:
            tried = parameters + share * step
            likelihood = _likelihood(a, tried, known, least_sd)
            if likelihood > best + 1e-4 * share * decrement:
                break
            share /= 2
        else:
            return best
        parameters, gained, best = tried, likelihood - best, likelihood
        if gained < 1e-7:
            return best
    return best


def _likelihood(a: FloatArray, parameters: FloatArray, known: NDArray[np.bool_], least_sd: float) -> float:
    """Return the log-likelihood; the least scatter adds to the squares, so that none can be nought."""
    theta = float(parameters[-1])
    if theta <= 0:
        return -inf
    z = a @ parameters
    number = int(known.sum())
    squares = float((z[known] ** 2).sum()) + number * (least_sd * theta) ** 2
    return (
        number * (log(theta) - log(2 * np.pi) / 2)
        - squares / 2
        + float(scipy.special.log_ndtr(-z[~known]).sum())
    )


def _newton_step(
    a: FloatArray, parameters: FloatArray, known: NDArray[np.bool_], least_sd: float
) -> tuple[FloatArray, float]:
    """Return Newton's step upwards, and by how much it should gain."""
    theta, z = float(parameters[-1]), a @ parameters
    hazard = np.exp(-(z**2) / 2 - log(2 * np.pi) / 2 - scipy.special.log_ndtr(-z))
    slope = np.where(known, -z, -hazard)
    bend = np.where(known, 1.0, hazard * (hazard - z))
    gradient = a.T @ slope
    curvature = (a.T * bend) @ a
    number = int(known.sum())
    gradient[-1] += number / theta - number * least_sd**2 * theta
    curvature[-1, -1] += number / theta**2 + number * least_sd**2
    # A direction in which the likelihood is all but flat gets a short step instead of a wild one.
    curvature += 1e-7 * np.trace(curvature) / len(curvature) * np.eye(len(curvature))
    step = np.linalg.solve(curvature, gradient)
    return np.asarray(step), float(gradient @ step)
